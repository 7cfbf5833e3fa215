//! A recurrence as RFC 5545 text. Rule: what counts is the *date* of each instance in the farm's zone; a start that
//! does not fit its own rule is not an instance; no text can make the program run away.
//!
//! Texts the program writes start at local noon, which no clock change touches. Texts whose times float (no zone, no
//! `Z`) are refused: they would mean whatever zone the machine happens to be in.

use crate::clock::{LocalDate, UtcSeconds, instant_at};
use chrono::{NaiveTime, Weekday};
use chrono_tz::Tz;
use rrule::{Frequency, NWeekday, RRuleSet};

#[cfg(test)]
mod rfc_5545;

/// Instances looked at in one question, counted from the start of the recurrence: more than 50 years of daily ones.
const INSTANCES_MAX: usize = 20_000;
/// The rarest rhythm a person may ask for, weeks.
const INTERVAL_WEEKS_MAX: u16 = 52;
/// Longest text read, bytes: a rule and several hundred skipped dates.
const TEXT_BYTES_MAX: usize = 16_384;
/// An instant as the program writes it (RFC 5545 3.3.5, form 2).
const UTC_FORM: &str = "%Y%m%dT%H%M%SZ";

/// Why a text or a rhythm is not a recurrence this program can keep.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Error {
    #[error("not an RFC 5545 recurrence: {0}")]
    Malformed(String),
    #[error("a time in the recurrence has neither a zone nor a Z")]
    Floating,
    #[error("a delivery recurs daily at most")]
    TooFrequent,
    #[error("the recurrence has too many instances to look through")]
    TooMany,
    #[error("a weekly rhythm needs at least one weekday")]
    NoWeekday,
    #[error("a rhythm of {0} weeks is outside 1 to {INTERVAL_WEEKS_MAX}")]
    Interval(u16),
    #[error("the recurrence ends before it starts")]
    EndsBeforeStart,
}

/// What a person says: every so many weeks, on these weekdays, from a date, perhaps until a date.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Rhythm {
    /// 1 = every week; weeks begin on Monday and are counted from the week of `from`.
    pub every_weeks: u16,
    pub weekdays: Vec<Weekday>,
    pub from: LocalDate,
    /// The last date that may count, itself included.
    pub until: Option<LocalDate>,
}

/// A recurrence and the text it is stored as.
#[derive(Clone, Debug, PartialEq)]
pub struct Recurrence {
    text: String,
    set: RRuleSet,
    zone: Tz,
}

impl Recurrence {
    /// Writes `rhythm` as RFC 5545 text. UNTIL is UTC and inclusive (RFC 5545 3.3.10), so it is the last second of the
    /// local date with the offset then in force.
    ///
    /// # Errors
    /// [`Error::NoWeekday`], [`Error::Interval`], [`Error::EndsBeforeStart`].
    pub fn of(rhythm: &Rhythm, zone: Tz) -> Result<Recurrence, Error> {
        if rhythm.weekdays.is_empty() {
            return Err(Error::NoWeekday);
        }
        if !(1..=INTERVAL_WEEKS_MAX).contains(&rhythm.every_weeks) {
            return Err(Error::Interval(rhythm.every_weeks));
        }
        if rhythm.until.is_some_and(|until| until < rhythm.from) {
            return Err(Error::EndsBeforeStart);
        }
        let mut weekdays = rhythm.weekdays.clone();
        weekdays.sort_by_key(Weekday::num_days_from_monday);
        weekdays.dedup();
        let weekdays: Vec<&str> = weekdays.into_iter().map(weekday_code).collect();
        let until = rhythm.until.map(|until| format!(";UNTIL={}", utc_text(end_of(until, zone)))).unwrap_or_default();
        let text = format!(
            "DTSTART;TZID={}:{}T120000\nRRULE:FREQ=WEEKLY;INTERVAL={};WKST=MO;BYDAY={}{until}",
            zone.name(),
            rhythm.from.format("%Y%m%d"),
            rhythm.every_weeks,
            weekdays.join(","),
        );
        Recurrence::parse(&text, zone)
    }

    /// Reads a stored text: one DTSTART, RRULE and EXDATE lines. `zone` is the farm's. Added dates and rules of
    /// exception (RDATE, EXRULE) are refused, because an end would not end them.
    ///
    /// # Errors
    /// [`Error`] when it is malformed, floats, or recurs more often than daily.
    pub fn parse(text: &str, zone: Tz) -> Result<Recurrence, Error> {
        if text.len() > TEXT_BYTES_MAX {
            return Err(Error::Malformed(format!("longer than {TEXT_BYTES_MAX} bytes")));
        }
        let starts_with =
            |line: &str, name: &str| line.get(..name.len()).is_some_and(|head| head.eq_ignore_ascii_case(name));
        if let Some(line) = text.lines().find(|line| starts_with(line, "RDATE") || starts_with(line, "EXRULE")) {
            return Err(Error::Malformed(format!("not read here: {line}")));
        }
        let set: RRuleSet = text.parse().map_err(|error: rrule::RRuleError| Error::Malformed(error.to_string()))?;
        let dates = set.get_exdate().iter().chain([set.get_dt_start()]);
        if dates.into_iter().any(|date| date.timezone().is_local()) {
            return Err(Error::Floating);
        }
        for rule in set.get_rrule() {
            if matches!(rule.get_freq(), Frequency::Hourly | Frequency::Minutely | Frequency::Secondly) {
                return Err(Error::TooFrequent);
            }
            if rule.get_interval() == 0 {
                return Err(Error::Malformed("INTERVAL=0".to_owned()));
            }
        }
        Ok(Recurrence { text: text.to_owned(), set, zone })
    }

    /// What a person would say; `None` when it is no plain weekly rhythm. Skipped dates do not show.
    pub fn rhythm(&self) -> Option<Rhythm> {
        let [rule] = self.set.get_rrule().as_slice() else { return None };
        let plain = |day: &NWeekday| match day {
            NWeekday::Every(weekday) => Some(*weekday),
            NWeekday::Nth(..) => None,
        };
        let weekdays = rule.get_by_weekday().iter().map(plain).collect::<Option<Vec<Weekday>>>()?;
        let has_more =
            rule.get_count().is_some() || !rule.get_by_month().is_empty() || !rule.get_by_set_pos().is_empty();
        (rule.get_freq() == Frequency::Weekly && !weekdays.is_empty() && !has_more).then(|| Rhythm {
            every_weeks: rule.get_interval(),
            weekdays,
            from: UtcSeconds::from(*self.set.get_dt_start()).local_date(self.zone),
            until: rule.get_until().map(|until| UtcSeconds::from(*until).local_date(self.zone)),
        })
    }

    /// The text to store.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// The dates of its instances from `from` to `to`, both included, rising, each once.
    ///
    /// # Errors
    /// [`Error::TooMany`] when more than 20,000 instances lie between its start and `to`.
    pub fn dates_between(&self, from: LocalDate, to: LocalDate) -> Result<Vec<LocalDate>, Error> {
        let mut dates: Vec<LocalDate> =
            self.instants_between(from, to)?.iter().map(|instant| instant.local_date(self.zone)).collect();
        dates.dedup();
        Ok(dates)
    }

    /// Dates taken out from `from` to `to`, both included, rising, each once.
    pub fn skipped_between(&self, from: LocalDate, to: LocalDate) -> Vec<LocalDate> {
        let dates = self.set.get_exdate().iter().map(|at| UtcSeconds::from(*at).local_date(self.zone));
        let mut dates: Vec<LocalDate> = dates.filter(|date| *date >= from && *date <= to).collect();
        dates.sort_unstable();
        dates.dedup();
        dates
    }

    /// The same without the instances on `date`, as an EXDATE line; `None` when it has none there.
    ///
    /// # Errors
    /// As [`Recurrence::dates_between`].
    pub fn without(&self, date: LocalDate) -> Result<Option<Recurrence>, Error> {
        let instants = self.instants_between(date, date)?;
        if instants.is_empty() {
            return Ok(None);
        }
        let skipped: Vec<String> = instants.into_iter().map(utc_text).collect();
        Recurrence::parse(&format!("{}\nEXDATE:{}", self.text, skipped.join(",")), self.zone).map(Some)
    }

    /// The same with `date` no longer taken out, as far as [`Recurrence::without`] took it out; `None` when it is not out.
    ///
    /// # Errors
    /// As [`Recurrence::parse`].
    pub fn with_again(&self, date: LocalDate) -> Result<Option<Recurrence>, Error> {
        let is_there = |value: &&str| {
            let local = chrono::NaiveDateTime::parse_from_str(value.trim(), UTC_FORM);
            !local.is_ok_and(|at| UtcSeconds::from(at.and_utc()).local_date(self.zone) == date)
        };
        let line = |line: &str| {
            let values = line.get(..7).filter(|name| name.eq_ignore_ascii_case("EXDATE:")).map(|_| &line[7..]);
            let Some(values) = values else { return Some(line.to_owned()) };
            let kept: Vec<&str> = values.split(',').filter(is_there).collect();
            (!kept.is_empty()).then(|| format!("EXDATE:{}", kept.join(",")))
        };
        let lines: Vec<String> = self.text.lines().filter_map(line).collect();
        let text = lines.join("\n");
        if text == self.text { Ok(None) } else { Recurrence::parse(&text, self.zone).map(Some) }
    }

    /// The same with `last` as the last date that may count. It never grows: one that ends earlier stays as it is.
    ///
    /// # Errors
    /// [`Error::EndsBeforeStart`] when `last` lies before its start; [`Error::TooMany`].
    pub fn ending(&self, last: LocalDate) -> Result<Recurrence, Error> {
        if end_of(last, self.zone) < UtcSeconds::from(*self.set.get_dt_start()) {
            return Err(Error::EndsBeforeStart);
        }
        if self.ends_by(last)? {
            return Ok(self.clone());
        }
        let until = format!("UNTIL={}", utc_text(end_of(last, self.zone)));
        let lines: Vec<String> = self.text.lines().map(|line| end_line(line, &until)).collect();
        Recurrence::parse(&lines.join("\n"), self.zone)
    }

    fn ends_by(&self, last: LocalDate) -> Result<bool, Error> {
        let mut seen = 0;
        for instance in self.set.clone().limit().into_iter().take(INSTANCES_MAX + 1) {
            seen += 1;
            if UtcSeconds::from(instance).local_date(self.zone) > last {
                return Ok(false);
            }
        }
        if seen > INSTANCES_MAX { Err(Error::TooMany) } else { Ok(true) }
    }

    fn instants_between(&self, from: LocalDate, to: LocalDate) -> Result<Vec<UtcSeconds>, Error> {
        let mut instants = Vec::new();
        for (seen, instance) in self.set.clone().limit().into_iter().enumerate() {
            let instant = UtcSeconds::from(instance);
            let date = instant.local_date(self.zone);
            if date > to {
                break;
            }
            if seen >= INSTANCES_MAX {
                return Err(Error::TooMany);
            }
            if date >= from {
                instants.push(instant);
            }
        }
        Ok(instants)
    }
}

/// An RRULE line with its own end replaced by `until`; any other line unchanged.
fn end_line(line: &str, until: &str) -> String {
    let is_rule = line.get(..6).is_some_and(|name| name.eq_ignore_ascii_case("RRULE:"));
    if !is_rule {
        return line.to_owned();
    }
    let is_end = |part: &&str| {
        let name = part.split('=').next().unwrap_or_default();
        name.eq_ignore_ascii_case("UNTIL") || name.eq_ignore_ascii_case("COUNT")
    };
    let mut parts: Vec<&str> = line[6..].split(';').filter(|part| !is_end(part)).collect();
    parts.push(until);
    format!("RRULE:{}", parts.join(";"))
}

fn end_of(date: LocalDate, zone: Tz) -> UtcSeconds {
    instant_at(date, NaiveTime::from_hms_opt(23, 59, 59).expect("a time of every day"), zone)
}

fn utc_text(instant: UtcSeconds) -> String {
    instant.to_utc().format(UTC_FORM).to_string()
}

fn weekday_code(weekday: Weekday) -> &'static str {
    match weekday {
        Weekday::Mon => "MO",
        Weekday::Tue => "TU",
        Weekday::Wed => "WE",
        Weekday::Thu => "TH",
        Weekday::Fri => "FR",
        Weekday::Sat => "SA",
        Weekday::Sun => "SU",
    }
}

#[cfg(test)]
mod tests {
    use super::rfc_5545::rfc;
    use super::*;
    use chrono_tz::America::Chicago;
    use proptest::prelude::*;

    fn date(text: &str) -> LocalDate {
        text.parse().expect("a date")
    }

    fn days(dates: &[LocalDate]) -> String {
        dates.iter().map(|date| date.format("%y-%m-%d").to_string()).collect::<Vec<_>>().join(" ")
    }

    fn thursdays(until: Option<&str>) -> Recurrence {
        let rhythm =
            Rhythm { every_weeks: 1, weekdays: vec![Weekday::Thu], from: date("2026-10-14"), until: until.map(date) };
        Recurrence::of(&rhythm, Chicago).expect("a recurrence")
    }

    /// 5 November 2026 ends at 05:59:59Z of the next day: standard time has begun (IANA data).
    #[test]
    fn until_is_inclusive_in_local_days() {
        let ended = thursdays(Some("2026-11-05"));
        assert_eq!(
            ended.text(),
            "DTSTART;TZID=America/Chicago:20261014T120000\n\
             RRULE:FREQ=WEEKLY;INTERVAL=1;WKST=MO;BYDAY=TH;UNTIL=20261106T055959Z"
        );
        let dates = ended.dates_between(date("2026-01-01"), date("2027-01-01")).expect("dates");
        assert_eq!(days(&dates), "26-10-15 26-10-22 26-10-29 26-11-05");
    }

    #[test]
    fn one_date_is_skipped_and_stays_skipped_in_the_text() {
        let skipped = thursdays(None).without(date("2026-11-05")).expect("readable").expect("an instance");
        let again = Recurrence::parse(skipped.text(), Chicago).expect("its own text");
        let dates = again.dates_between(date("2026-10-20"), date("2026-11-19")).expect("dates");
        assert_eq!(days(&dates), "26-10-22 26-10-29 26-11-12 26-11-19");
        assert_eq!(again.without(date("2026-11-05")), Ok(None));
        assert_eq!(again.without(date("2026-11-06")), Ok(None));
    }

    #[test]
    fn a_date_taken_out_comes_back() {
        let whole = thursdays(None);
        let (one, other) = (date("2026-11-05"), date("2026-11-12"));
        let out = |from: &Recurrence, day| from.without(day).expect("readable").expect("an instance");
        let both = out(&out(&whole, one), other);
        let back = both.with_again(one).expect("its own text").expect("it was out");
        assert_eq!(back.skipped_between(date("2026-10-01"), date("2026-12-31")), [other]);
        assert_eq!(back.with_again(other).expect("its own text").as_ref(), Some(&whole));
        assert_eq!(whole.with_again(one), Ok(None));
    }

    #[test]
    fn an_end_only_shortens() {
        let (from, far) = (date("2026-01-01"), date("2027-06-01"));
        let ended = thursdays(None).ending(date("2026-10-29")).expect("an end");
        assert_eq!(days(&ended.dates_between(from, far).expect("dates")), "26-10-15 26-10-22 26-10-29");
        assert_eq!(ended.ending(date("2026-12-31")).as_ref(), Ok(&ended));
        assert_eq!(ended.ending(date("2026-10-13")), Err(Error::EndsBeforeStart));
        let counted = rfc("19970902", "FREQ=WEEKLY;COUNT=4").ending(date("1997-09-10")).expect("an end");
        assert_eq!(days(&counted.dates_between(date("1997-01-01"), far).expect("dates")), "97-09-02 97-09-09");
    }

    #[test]
    fn a_plain_rhythm_is_read_back_as_it_was_said() {
        for until in [None, Some(date("2026-11-05"))] {
            let said =
                Rhythm { every_weeks: 2, weekdays: vec![Weekday::Mon, Weekday::Thu], from: date("2026-10-14"), until };
            assert_eq!(Recurrence::of(&said, Chicago).expect("a recurrence").rhythm(), Some(said));
        }
        for other in ["FREQ=DAILY", "FREQ=WEEKLY;COUNT=4;BYDAY=TU", "FREQ=MONTHLY;BYDAY=1FR"] {
            assert_eq!(rfc("19970902", other).rhythm(), None, "{other}");
        }
    }

    #[test]
    fn rhythms_that_make_no_sense_are_refused() {
        let good = Rhythm { every_weeks: 2, weekdays: vec![Weekday::Thu], from: date("2026-10-14"), until: None };
        assert_eq!(Recurrence::of(&Rhythm { weekdays: vec![], ..good.clone() }, Chicago), Err(Error::NoWeekday));
        assert_eq!(Recurrence::of(&Rhythm { every_weeks: 0, ..good.clone() }, Chicago), Err(Error::Interval(0)));
        assert_eq!(Recurrence::of(&Rhythm { every_weeks: 53, ..good.clone() }, Chicago), Err(Error::Interval(53)));
        let ended = Rhythm { until: Some(date("2026-10-13")), ..good };
        assert_eq!(Recurrence::of(&ended, Chicago), Err(Error::EndsBeforeStart));
    }

    #[test]
    fn texts_that_could_do_harm_are_refused() {
        let start = "DTSTART;TZID=America/Chicago:20261014T120000";
        let far = date("2100-01-01");
        for (text, expected) in [
            (String::new(), "not an RFC 5545 recurrence"),
            ("RRULE:FREQ=DAILY".to_owned(), "not an RFC 5545 recurrence"),
            (start.to_owned(), "not an RFC 5545 recurrence"),
            (format!("{start}\nRRULE:FREQ=SOMETIMES"), "not an RFC 5545 recurrence"),
            (format!("{start}\nRRULE:FREQ=DAILY;INTERVAL=0"), "not an RFC 5545 recurrence"),
            (format!("{start}\nRRULE:FREQ=WEEKLY;BYDAY=XX"), "not an RFC 5545 recurrence"),
            (format!("{start}\nRRULE:FREQ=DAILY;UNTIL=20250101T000000Z"), "not an RFC 5545 recurrence"),
            (
                "DTSTART;TZID=America/Atlantis:20261014T120000\nRRULE:FREQ=DAILY".to_owned(),
                "not an RFC 5545 recurrence",
            ),
            ("DTSTART:20261014T120000\nRRULE:FREQ=DAILY".to_owned(), "a time in the recurrence has neither"),
            (format!("{start}\nRRULE:FREQ=DAILY\nEXDATE:20261015T120000"), "a time in the recurrence has neither"),
            (format!("{start}\nRRULE:FREQ=DAILY\nRDATE:20261015T180000Z"), "not an RFC 5545 recurrence"),
            (format!("{start}\nRRULE:FREQ=DAILY;UNTIL=20271231"), "not an RFC 5545 recurrence"),
            (format!("{start}\nRRULE:FREQ=SECONDLY"), "a delivery recurs daily at most"),
            (format!("{start}\nRRULE:FREQ=HOURLY;INTERVAL=3"), "a delivery recurs daily at most"),
            ("DTSTART:00010101T120000Z\nRRULE:FREQ=DAILY".to_owned(), "the recurrence has too many instances"),
            (format!("{start}\nRRULE:FREQ=DAILY;BYHOUR=1,2,3,4,5,6,7,8,9"), "the recurrence has too many instances"),
            ("x".repeat(TEXT_BYTES_MAX + 1), "not an RFC 5545 recurrence"),
        ] {
            let found = Recurrence::parse(&text, Chicago).and_then(|one| one.dates_between(far, far));
            let error = found.expect_err(&text[..text.len().min(200)]).to_string();
            assert!(error.starts_with(expected), "{text:.200}: {error}");
        }
    }

    #[test]
    fn a_rule_that_never_fits_comes_to_an_end() {
        let never = rfc("20260101", "FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=30");
        assert_eq!(never.dates_between(date("2026-01-01"), date("2100-01-01")), Ok(vec![]));
    }

    const STARTS: &[&str] = &["20261014T120000Z", "00010101T000000Z", "20240229T235959Z", "99991231T000000Z"];
    const PARTS: &[&str] = &[
        "INTERVAL=65535",
        "INTERVAL=2",
        "COUNT=0",
        "COUNT=4294967295",
        "UNTIL=20270101T000000Z",
        "BYDAY=-53MO,53SU",
        "BYDAY=1MO,-1TU",
        "BYDAY=TH",
        "BYMONTHDAY=31,-31",
        "BYMONTHDAY=-128",
        "BYYEARDAY=366,-366",
        "BYWEEKNO=53,-53",
        "BYMONTH=2",
        "BYSETPOS=-366",
        "BYSETPOS=1",
        "BYHOUR=23",
        "WKST=SU",
        "BYEASTER=1",
        "BYDAY=",
        "=",
    ];

    proptest! {
        /// Whatever is stored, reading it and asking for dates comes to an end with a value or an error.
        #[test]
        fn no_text_stops_the_program(
            start in prop::sample::select(STARTS),
            frequency in prop::sample::select(&["DAILY", "WEEKLY", "MONTHLY", "YEARLY"][..]),
            parts in prop::collection::vec(prop::sample::select(PARTS), 0..5),
        ) {
            let text = format!("DTSTART:{start}\nRRULE:FREQ={frequency};{}", parts.join(";"));
            if let Ok(recurrence) = Recurrence::parse(&text, Chicago) {
                let (from, to) = (date("2027-01-01"), date("2027-03-01"));
                if let Ok(dates) = recurrence.dates_between(from, to) {
                    prop_assert!(dates.iter().all(|day| from <= *day && *day <= to));
                    prop_assert!(dates.windows(2).all(|pair| pair[0] < pair[1]));
                }
            }
        }

        /// A weekly rhythm is what counting weeks by hand gives.
        #[test]
        fn a_rhythm_is_what_counting_weeks_gives(
            every_weeks in 1u16..5, first in 0u8..7, second in 0u8..7, start in 0i64..700, length in 0i64..200,
        ) {
            let weekday = |number: u8| Weekday::try_from(number).expect("0 to 6");
            let from = date("2026-01-01") + chrono::Duration::days(start);
            let until = from + chrono::Duration::days(length);
            let weekdays = vec![weekday(first), weekday(second)];
            let rhythm = Rhythm { every_weeks, weekdays, from, until: Some(until) };
            let far = from + chrono::Duration::days(400);
            let recurrence = Recurrence::of(&rhythm, Chicago).expect("a recurrence");
            let found = recurrence.dates_between(from, far).expect("dates");
            let monday = crate::clock::monday_of(from);
            let fits = |day: &LocalDate| {
                (*day - monday).num_days() / 7 % i64::from(every_weeks) == 0
                    && rhythm.weekdays.contains(&chrono::Datelike::weekday(day))
            };
            let expected: Vec<LocalDate> = from.iter_days().take_while(|day| *day <= until).filter(fits).collect();
            prop_assert_eq!(found, expected);
        }
    }
}
