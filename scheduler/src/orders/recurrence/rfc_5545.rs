//! The published examples of RFC 5545 section 3.8.5.3, pages 123 to 132, all 09:00 in New York.

use super::Recurrence;
use crate::clock::LocalDate;
use chrono_tz::America::New_York;

/// An example's recurrence from its DTSTART date and its RRULE.
pub(super) fn rfc(start: &str, rule: &str) -> Recurrence {
    let text = format!("DTSTART;TZID=America/New_York:{start}T090000\nRRULE:{rule}");
    Recurrence::parse(&text, New_York).expect(rule)
}

fn date(text: &str) -> LocalDate {
    text.parse().expect("a date")
}

fn days(dates: &[LocalDate]) -> String {
    dates.iter().map(|date| date.format("%y-%m-%d").to_string()).collect::<Vec<_>>().join(" ")
}

/// DTSTART, RRULE, the last date looked at (of an open rule, the last one printed), the instances printed.
const EXAMPLES: [(&str, &str, &str, &str); 14] = [
    (
        "19970902",
        "FREQ=WEEKLY;COUNT=10",
        "2000-01-01",
        "97-09-02 97-09-09 97-09-16 97-09-23 97-09-30 97-10-07 97-10-14 97-10-21 97-10-28 97-11-04",
    ),
    (
        "19970902",
        "FREQ=WEEKLY;INTERVAL=2;WKST=SU",
        "1998-02-17",
        "97-09-02 97-09-16 97-09-30 97-10-14 97-10-28 97-11-11 97-11-25 97-12-09 97-12-23 98-01-06 98-01-20 \
         98-02-03 98-02-17",
    ),
    (
        "19970902",
        "FREQ=WEEKLY;UNTIL=19971007T000000Z;WKST=SU;BYDAY=TU,TH",
        "2000-01-01",
        "97-09-02 97-09-04 97-09-09 97-09-11 97-09-16 97-09-18 97-09-23 97-09-25 97-09-30 97-10-02",
    ),
    (
        "19970901",
        "FREQ=WEEKLY;INTERVAL=2;UNTIL=19971224T000000Z;WKST=SU;BYDAY=MO,WE,FR",
        "2000-01-01",
        "97-09-01 97-09-03 97-09-05 97-09-15 97-09-17 97-09-19 97-09-29 97-10-01 97-10-03 97-10-13 97-10-15 \
         97-10-17 97-10-27 97-10-29 97-10-31 97-11-10 97-11-12 97-11-14 97-11-24 97-11-26 97-11-28 97-12-08 \
         97-12-10 97-12-12 97-12-22",
    ),
    (
        "19970902",
        "FREQ=WEEKLY;INTERVAL=2;COUNT=8;WKST=SU;BYDAY=TU,TH",
        "2000-01-01",
        "97-09-02 97-09-04 97-09-16 97-09-18 97-09-30 97-10-02 97-10-14 97-10-16",
    ),
    (
        "19970905",
        "FREQ=MONTHLY;COUNT=10;BYDAY=1FR",
        "2000-01-01",
        "97-09-05 97-10-03 97-11-07 97-12-05 98-01-02 98-02-06 98-03-06 98-04-03 98-05-01 98-06-05",
    ),
    (
        "19970907",
        "FREQ=MONTHLY;INTERVAL=2;COUNT=10;BYDAY=1SU,-1SU",
        "2000-01-01",
        "97-09-07 97-09-28 97-11-02 97-11-30 98-01-04 98-01-25 98-03-01 98-03-29 98-05-03 98-05-31",
    ),
    (
        "19970922",
        "FREQ=MONTHLY;COUNT=6;BYDAY=-2MO",
        "2000-01-01",
        "97-09-22 97-10-20 97-11-17 97-12-22 98-01-19 98-02-16",
    ),
    ("19970928", "FREQ=MONTHLY;BYMONTHDAY=-3", "1998-02-26", "97-09-28 97-10-29 97-11-28 97-12-29 98-01-29 98-02-26"),
    (
        "19970930",
        "FREQ=MONTHLY;COUNT=10;BYMONTHDAY=1,-1",
        "2000-01-01",
        "97-09-30 97-10-01 97-10-31 97-11-01 97-11-30 97-12-01 97-12-31 98-01-01 98-01-31 98-02-01",
    ),
    (
        "19970929",
        "FREQ=MONTHLY;BYDAY=MO,TU,WE,TH,FR;BYSETPOS=-2",
        "1998-03-30",
        "97-09-29 97-10-30 97-11-27 97-12-30 98-01-29 98-02-26 98-03-30",
    ),
    (
        "19970805",
        "FREQ=WEEKLY;INTERVAL=2;COUNT=4;BYDAY=TU,SU;WKST=MO",
        "2000-01-01",
        "97-08-05 97-08-10 97-08-19 97-08-24",
    ),
    (
        "19970805",
        "FREQ=WEEKLY;INTERVAL=2;COUNT=4;BYDAY=TU,SU;WKST=SU",
        "2000-01-01",
        "97-08-05 97-08-17 97-08-19 97-08-31",
    ),
    ("20070115", "FREQ=MONTHLY;BYMONTHDAY=15,30;COUNT=5", "2010-01-01", "07-01-15 07-01-30 07-02-15 07-03-15 07-03-30"),
];

#[test]
fn the_printed_instances_are_found() {
    for (start, rule, to, expected) in EXAMPLES {
        let found = rfc(start, rule).dates_between(date("1997-01-01"), date(to)).expect(rule);
        assert_eq!(days(&found), expected, "{rule}");
    }
}

/// Daily until 24 December 1997 keeps 09:00 over the change of 26 October (13:00Z, then 14:00Z).
#[test]
fn instances_keep_their_wall_time_over_the_change() {
    let daily = rfc("19970902", "FREQ=DAILY;UNTIL=19971224T000000Z");
    let instants = daily.instants_between(date("1997-01-01"), date("1999-01-01")).expect("instants");
    assert_eq!(instants.len(), 113);
    for instant in instants {
        let hour = if instant.local_date(New_York) < date("1997-10-26") { "T13:00:00Z" } else { "T14:00:00Z" };
        assert!(instant.to_string().ends_with(hour), "{instant}");
    }
}

/// The standard prints this rule with an EXDATE for its start. A start that does not fit is no instance here, so
/// the list is the same with and without it.
#[test]
fn a_start_that_does_not_fit_its_rule_is_no_instance() {
    let plain = rfc("19970902", "FREQ=MONTHLY;BYDAY=FR;BYMONTHDAY=13");
    let text = format!("{}\nEXDATE;TZID=America/New_York:19970902T090000", plain.text());
    let printed = Recurrence::parse(&text, New_York).expect("a recurrence");
    for recurrence in [plain, printed] {
        let dates = recurrence.dates_between(date("1997-01-01"), date("2000-10-13")).expect("dates");
        assert_eq!(days(&dates), "98-02-13 98-03-13 98-11-13 99-08-13 00-10-13");
    }
}
