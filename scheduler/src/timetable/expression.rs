//! One cron expression. Rule: weekdays go by name, so that nobody has to know whether Sunday is 0, 1 or 7.
//!
//! Fields: `[second] minute hour day-of-month month weekday [year]`. Day of month *and* weekday must both fit.

use crate::clock::{UtcSeconds, instant_of};
use chrono::{DateTime, Duration, NaiveDateTime, TimeZone, Utc};
use chrono_tz::Tz;
use std::fmt;
use std::str::FromStr;

/// Why a text is not an expression the timetable can keep.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Error {
    #[error("a timetable expression has 5, 6 or 7 fields, this one has {0}")]
    FieldCount(usize),
    #[error("weekday `{0}` is a number; dialects of cron disagree on its meaning, write MON to SUN")]
    WeekdayNumber(String),
    #[error("`{text}` is not a timetable expression: {reason}")]
    NotCron { text: String, reason: String },
    #[error("`{0}` names no date that exists")]
    NeverFires(String),
}

/// A parsed cron expression.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Expression {
    /// As it was written.
    text: String,
    schedule: cron::Schedule,
}

impl Expression {
    /// Reads `minute hour day month weekday`, the same with seconds before, or with seconds before and years after.
    ///
    /// # Errors
    /// [`Error`] when the text has another shape, a value out of range, a weekday by number, or can never fire.
    pub fn parse(text: &str) -> Result<Expression, Error> {
        let fields: Vec<&str> = text.split_whitespace().collect();
        let (weekday, with_seconds) = match fields.len() {
            5 => (fields[4], format!("0 {}", fields.join(" "))),
            6 | 7 => (fields[5], fields.join(" ")),
            count => return Err(Error::FieldCount(count)),
        };
        // A step ("*/2") is a count, not a weekday.
        if weekday
            .split(',')
            .any(|part| part.split('/').next().is_some_and(|day| day.contains(|c: char| c.is_ascii_digit())))
        {
            return Err(Error::WeekdayNumber(weekday.to_owned()));
        }
        let schedule = cron::Schedule::from_str(&with_seconds)
            .map_err(|error| Error::NotCron { text: text.to_owned(), reason: error.to_string() })?;
        let expression = Expression { text: text.to_owned(), schedule };
        if expression.readings_after(DateTime::UNIX_EPOCH.naive_utc() - Duration::seconds(1)).next().is_none() {
            return Err(Error::NeverFires(text.to_owned()));
        }
        Ok(expression)
    }

    /// The expression as it was written.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// Every instant it fires after `after` and not later than `until`, rising, each once. The caller bounds the span;
    /// an expression with seconds can fire 86,400 times a day.
    pub fn fires_between(&self, after: UtcSeconds, until: UtcSeconds, zone: Tz) -> Vec<UtcSeconds> {
        self.fires_after(after, zone).take_while(|fire| *fire <= until).collect()
    }

    /// The first instant it fires after `after`; `None` when the years it names are over.
    pub fn next_after(&self, after: UtcSeconds, zone: Tz) -> Option<UtcSeconds> {
        self.fires_after(after, zone).next()
    }

    /// The last instant it fires before `before`; `None` when there is none since 1970.
    pub fn last_before(&self, before: UtcSeconds, zone: Tz) -> Option<UtcSeconds> {
        // In the second pass of a repeated hour, readings ahead of the clock already fired in the first pass. A whole
        // day ahead covers every repeat on record (islands that changed sides of the date line).
        let ahead = before.local(zone) + Duration::days(1) + Duration::seconds(1);
        let readings = self.schedule.after(&Utc.from_utc_datetime(&ahead)).rev();
        readings.map(|reading| instant_of(reading.naive_utc(), zone)).find(|fire| *fire < before)
    }

    fn fires_after(&self, after: UtcSeconds, zone: Tz) -> impl Iterator<Item = UtcSeconds> + '_ {
        // Reading to instant never falls, and the reading on the clock at `after` stands for `after` or earlier, so no
        // reading at or before it can fire later than `after`.
        let mut last = after;
        self.readings_after(after.local(zone)).map(move |reading| instant_of(reading, zone)).filter(move |fire| {
            let is_new = *fire > last;
            last = last.max(*fire);
            is_new
        })
    }

    /// Wall-clock readings after `reading`. The cron crate sees them as UTC, which has no clock changes.
    fn readings_after(&self, reading: NaiveDateTime) -> impl Iterator<Item = NaiveDateTime> + '_ {
        self.schedule.after(&Utc.from_utc_datetime(&reading)).map(|found| found.naive_utc())
    }
}

impl fmt::Display for Expression {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.text)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use chrono_tz::America::Chicago;
    use chrono_tz::Europe::Lisbon;
    use proptest::prelude::*;

    fn utc(text: &str) -> UtcSeconds {
        chrono::DateTime::parse_from_rfc3339(text).expect("an instant").into()
    }

    fn fires(expression: &str, after: &str, until: &str, zone: Tz) -> Vec<String> {
        let expression = Expression::parse(expression).expect("an expression");
        expression.fires_between(utc(after), utc(until), zone).iter().map(ToString::to_string).collect()
    }

    /// Clock changes of 2026 from the IANA time zone database, computed with Python zoneinfo, tzdata 2026.
    #[test]
    fn a_weekly_cut_off_keeps_its_wall_time_over_the_change() {
        let weekly = "0 16 * * THU";
        for (zone, from, until, expected) in [
            (Chicago, "2026-10-20T00:00:00Z", "2026-11-13T00:00:00Z", ["10-22T21", "10-29T21", "11-05T22", "11-12T22"]),
            (Chicago, "2026-02-25T00:00:00Z", "2026-03-20T00:00:00Z", ["02-26T22", "03-05T22", "03-12T21", "03-19T21"]),
            (Lisbon, "2026-10-14T00:00:00Z", "2026-11-06T00:00:00Z", ["10-15T15", "10-22T15", "10-29T16", "11-05T16"]),
            (Lisbon, "2026-03-18T00:00:00Z", "2026-04-10T00:00:00Z", ["03-19T16", "03-26T16", "04-02T15", "04-09T15"]),
        ] {
            let expected: Vec<String> = expected.iter().map(|hour| format!("2026-{hour}:00:00Z")).collect();
            assert_eq!(fires(weekly, from, until, zone), expected);
        }
    }

    #[test]
    fn a_missing_reading_fires_after_the_gap_and_a_repeated_one_once() {
        assert_eq!(
            fires("30 2 * * *", "2026-03-07T06:00:00Z", "2026-03-10T06:00:00Z", Chicago),
            ["2026-03-07T08:30:00Z", "2026-03-08T08:00:00Z", "2026-03-09T07:30:00Z"]
        );
        assert_eq!(
            fires("30 1 * * *", "2026-10-31T05:00:00Z", "2026-11-03T05:00:00Z", Chicago),
            ["2026-10-31T06:30:00Z", "2026-11-01T06:30:00Z", "2026-11-02T07:30:00Z"]
        );
        assert_eq!(
            fires("30 1 * * *", "2026-03-28T00:00:00Z", "2026-03-30T03:00:00Z", Lisbon),
            ["2026-03-28T01:30:00Z", "2026-03-29T01:00:00Z", "2026-03-30T00:30:00Z"]
        );
    }

    /// Readings at 02:00, 02:20, 02:40 and 03:00 on 8 March 2026 all stand for 08:00Z.
    #[test]
    fn readings_that_fall_together_fire_once() {
        assert_eq!(
            fires("*/20 1-3 * * *", "2026-03-08T07:30:00Z", "2026-03-08T08:30:00Z", Chicago),
            ["2026-03-08T07:40:00Z", "2026-03-08T08:00:00Z", "2026-03-08T08:20:00Z"]
        );
    }

    /// 01:15 for the second time (07:15Z): readings 01:30 and 01:45 fired in the first pass.
    #[test]
    fn in_the_second_pass_the_last_fire_is_of_the_first_pass() {
        let quarters = Expression::parse("*/15 * * * *").expect("an expression");
        let second_pass = utc("2026-11-01T07:15:00Z");
        assert_eq!(quarters.last_before(second_pass, Chicago), Some(utc("2026-11-01T06:45:00Z")));
        assert_eq!(quarters.next_after(second_pass, Chicago), Some(utc("2026-11-01T08:00:00Z")));
    }

    #[test]
    fn five_six_and_seven_fields_are_read() {
        let from = utc("2026-11-25T00:00:00Z");
        for (text, next) in [
            ("0 18 * * TUE", "2026-12-02T00:00:00Z"),
            ("30 0 18 * * Tue", "2026-11-25T00:00:30Z"),
            ("0 0 18 * * TUE-WED 2027", "2027-01-06T00:00:00Z"),
            ("0 9 1 JAN *", "2027-01-01T15:00:00Z"),
            ("0 9 * * MON,SAT", "2026-11-28T15:00:00Z"),
        ] {
            assert_eq!(Expression::parse(text).expect(text).next_after(from, Chicago), Some(utc(next)), "{text}");
        }
    }

    #[test]
    fn texts_that_are_not_expressions_are_refused() {
        for (text, expected) in [
            ("", "a timetable expression has 5, 6 or 7 fields, this one has 0"),
            ("0 18 * *", "a timetable expression has 5, 6 or 7 fields, this one has 4"),
            ("0 18 * * 2", "weekday `2` is a number"),
            ("0 18 * * MON,3", "weekday `MON,3` is a number"),
            ("0 25 * * TUE", "`0 25 * * TUE` is not a timetable expression"),
            ("0 18 * * TUESDY", "`0 18 * * TUESDY` is not a timetable expression"),
            ("*/0 * * * *", "`*/0 * * * *` is not a timetable expression"),
            ("30-10 * * * *", "`30-10 * * * *` is not a timetable expression"),
            ("0 9 * * FRI-MON", "`0 9 * * FRI-MON` is not a timetable expression"),
            ("99999999999 * * * *", "`99999999999 * * * *` is not a timetable expression"),
            ("0 0 30 FEB *", "`0 0 30 FEB *` names no date that exists"),
        ] {
            let error = Expression::parse(text).expect_err(text).to_string();
            assert!(error.starts_with(expected), "{text}: {error}");
        }
    }

    proptest! {
        /// Forwards, backwards and a plain minute-by-minute reading of the wall clock agree, through clock changes too.
        #[test]
        fn both_directions_agree_with_reading_the_clock(
            hour in 0u32..24, minute in 0u32..60, start in 1_772_800_000i64..1_826_000_000, lisbon in any::<bool>(),
        ) {
            let zone = if lisbon { Lisbon } else { Chicago };
            let expression = Expression::parse(&format!("{minute} {hour} * * *")).expect("an expression");
            let (after, until) = (UtcSeconds::new(start), UtcSeconds::new(start + 3 * 86_400));
            let found = expression.fires_between(after, until, zone);
            let days = (-1..6).map(|day| after.local_date(zone) + Duration::days(day));
            let expected: Vec<UtcSeconds> = days
                .map(|day| instant_of(day.and_hms_opt(hour, minute, 0).expect("a time"), zone))
                .filter(|fire| *fire > after && *fire <= until)
                .collect();
            prop_assert_eq!(&found, &expected);
            for pair in found.windows(2) {
                prop_assert_eq!(expression.last_before(pair[1], zone), Some(pair[0]));
                prop_assert_eq!(expression.next_after(pair[0], zone), Some(pair[1]));
            }
        }
    }
}
