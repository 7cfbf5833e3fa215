//! When a job falls due: at the readings of a cron expression, or so long before each delivery. Rule: what is written
//! relative to a delivery follows the delivery days, whichever they are.

use super::dates::DeliveryDates;
use super::expression::{self, Expression};
use crate::clock::{LocalDate, UtcSeconds, instant_at};
use chrono::{Days, NaiveTime};
use chrono_tz::Tz;
use std::fmt;

/// Days before a delivery that can be named.
const DAYS_MOST: u64 = 14;

/// A time as the timetable names it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum When {
    /// Readings of the wall clock, whatever the delivery days.
    Cron(Box<Expression>),
    /// So many days before a delivery, at this reading.
    Before(Before),
}

/// So many days before a delivery, at a reading of the wall clock.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Before {
    pub days: u64,
    pub time: NaiveTime,
}

impl Before {
    /// The instant for the delivery on `date`.
    pub fn at(self, date: LocalDate, zone: Tz) -> UtcSeconds {
        instant_at(date.checked_sub_days(Days::new(self.days)).unwrap_or(date), self.time, zone)
    }
}

/// What makes a job fall due again and again.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Rhythm {
    Cron(Box<Expression>),
    /// So long before each of these dates.
    Dates(Before, DeliveryDates),
}

/// How far ahead a date is looked for, days: a farm that rests longer has nothing due.
const HORIZON_DAYS: usize = 420;

impl Rhythm {
    /// A time of the timetable, for these dates.
    pub fn of(when: &When, dates: DeliveryDates) -> Rhythm {
        match when {
            When::Cron(expression) => Rhythm::Cron(expression.clone()),
            When::Before(before) => Rhythm::Dates(*before, dates),
        }
    }

    /// The first instant it falls due after `after`; `None` when there is none within the horizon.
    pub fn next_after(&self, after: UtcSeconds, zone: Tz) -> Option<UtcSeconds> {
        match self {
            Rhythm::Cron(expression) => expression.next_after(after, zone),
            Rhythm::Dates(before, dates) => due(*before, dates, (after, zone)).next(),
        }
    }

    /// Every instant it falls due after `after` and not later than `until`, rising.
    pub fn fires_between(&self, after: UtcSeconds, until: UtcSeconds, zone: Tz) -> Vec<UtcSeconds> {
        match self {
            Rhythm::Cron(expression) => expression.fires_between(after, until, zone),
            Rhythm::Dates(before, dates) => {
                due(*before, dates, (after, zone)).take_while(|due_at| *due_at <= until).collect()
            }
        }
    }
}

fn due(
    before: Before,
    dates: &DeliveryDates,
    (after, zone): (UtcSeconds, Tz),
) -> impl Iterator<Item = UtcSeconds> + '_ {
    // A clock change may move an instant over midnight, so the day before counts too.
    let today = after.local_date(zone);
    let first = today.pred_opt().unwrap_or(today);
    let dates = first.iter_days().take(HORIZON_DAYS).filter(move |date| dates.has(*date));
    dates.map(move |date| before.at(date, zone)).filter(move |due_at| *due_at > after)
}

/// Why a text is no time of the timetable.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Error {
    #[error("{0}")]
    Cron(#[from] expression::Error),
    #[error(
        "`{0}` is neither a cron expression nor a time before a delivery; write \"the same day at 06:00\", \
         \"1 day before at 17:00\" or \"2 days before at 18:00\""
    )]
    NotBefore(String),
}

impl When {
    /// Reads "2 days before at 18:00", "1 day before at 17:00", "the same day at 06:00", or a cron expression.
    ///
    /// # Errors
    /// [`Error`], which says what can be written.
    pub fn parse(text: &str) -> Result<When, Error> {
        let Some((days, time)) = text.trim().split_once(" at ") else {
            return Ok(When::Cron(Box::new(Expression::parse(text)?)));
        };
        let days = match days.split_whitespace().collect::<Vec<_>>()[..] {
            ["the", "same", "day"] => Some(0),
            [count, "day" | "days", "before"] => count.parse().ok().filter(|days| *days <= DAYS_MOST),
            _ => None,
        };
        let time = NaiveTime::parse_from_str(time.trim(), "%H:%M").ok();
        let before = days.zip(time).map(|(days, time)| When::Before(Before { days, time }));
        before.ok_or_else(|| Error::NotBefore(text.to_owned()))
    }

    /// The last time it falls due for the delivery on `date` before the van leaves at `departs_at`.
    pub fn last_before(&self, date: LocalDate, departs_at: UtcSeconds, zone: Tz) -> Option<UtcSeconds> {
        match self {
            When::Cron(expression) => expression.last_before(departs_at, zone),
            When::Before(before) => Some(before.at(date, zone)).filter(|at| *at < departs_at),
        }
    }
}

impl fmt::Display for When {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            When::Cron(expression) => expression.fmt(f),
            When::Before(Before { days: 0, time }) => write!(f, "the same day at {}", time.format("%H:%M")),
            When::Before(Before { days: 1, time }) => write!(f, "1 day before at {}", time.format("%H:%M")),
            When::Before(Before { days, time }) => write!(f, "{days} days before at {}", time.format("%H:%M")),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use chrono_tz::America::Chicago;

    #[test]
    fn what_is_written_is_read_back() {
        for text in ["the same day at 06:00", "1 day before at 17:00", "2 days before at 18:00", "0 18 * * TUE"] {
            assert_eq!(When::parse(text).expect(text).to_string(), text);
        }
        for text in ["2 days at 18:00", "2 days before at 6 pm", "20 days before at 18:00", "tomorrow at 18:00"] {
            assert!(matches!(When::parse(text), Err(Error::NotBefore(_))), "{text}");
        }
        assert!(matches!(When::parse("0 18 * *"), Err(Error::Cron(_))));
    }

    #[test]
    fn it_follows_the_dates() {
        let dates = DeliveryDates { weekdays: vec![chrono::Weekday::Thu, chrono::Weekday::Fri], ..Default::default() };
        let rhythm = Rhythm::of(&When::parse("1 day before at 17:00").expect("a time"), dates);
        // From Tuesday 2026-06-02 00:00 to Tuesday 2026-06-09 00:00 in Chicago.
        let (from, to) = (UtcSeconds::new(1_780_376_400), UtcSeconds::new(1_780_981_200));
        let found: Vec<String> = rhythm.fires_between(from, to, Chicago).iter().map(ToString::to_string).collect();
        assert_eq!(found, ["2026-06-03T22:00:00Z", "2026-06-04T22:00:00Z"]);
        assert_eq!(rhythm.next_after(to, Chicago).map(|at| at.to_string()).as_deref(), Some("2026-06-10T22:00:00Z"));
    }

    /// The wall time stays over the change of 1 November 2026 (IANA data): 18:00 CST is 00:00Z.
    #[test]
    fn it_is_a_reading_of_the_wall_clock() {
        let before = Before { days: 2, time: NaiveTime::from_hms_opt(18, 0, 0).expect("a time") };
        let date = "2026-11-03".parse().expect("a date");
        assert_eq!(before.at(date, Chicago).to_string(), "2026-11-02T00:00:00Z");
    }
}
