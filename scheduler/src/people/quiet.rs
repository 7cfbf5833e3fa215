//! Hours in which a person is left alone. Rule: wall time of the farm's zone decides, on every day of the year.

use crate::clock::{UtcSeconds, instant_at};
use chrono::{NaiveTime, Timelike};
use chrono_tz::Tz;

/// Wall times between which nothing is sent that can wait; from evening to morning they cross midnight.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct QuietHours {
    pub from: NaiveTime,
    /// The first time that is no longer quiet.
    pub to: NaiveTime,
}

impl QuietHours {
    /// What holds until somebody chooses otherwise: 21:00 to 7:00 (judged: a kitchen has closed, or nobody there reads).
    pub const USUAL: QuietHours = QuietHours { from: at_hour(21), to: at_hour(7) };

    /// Between two minutes of the day, 0 to 1439; `None` where there is no time between them.
    pub fn between(from: u32, to: u32) -> Option<QuietHours> {
        let at = |minute: u32| NaiveTime::from_num_seconds_from_midnight_opt(minute.checked_mul(60)?, 0);
        (from != to).then_some(QuietHours { from: at(from)?, to: at(to)? })
    }

    /// The first minute of the day that is quiet and the first that no longer is.
    pub fn minutes(self) -> (u32, u32) {
        let of = |time: NaiveTime| time.num_seconds_from_midnight() / 60;
        (of(self.from), of(self.to))
    }

    /// `instant` itself, or the end of the quiet hours it falls into.
    pub fn awake_at(self, instant: UtcSeconds, zone: Tz) -> UtcSeconds {
        let local = instant.local(zone);
        let (time, day) = (local.time(), local.date());
        let crosses_midnight = self.to < self.from;
        let is_quiet =
            if crosses_midnight { time >= self.from || time < self.to } else { self.from <= time && time < self.to };
        if !is_quiet {
            return instant;
        }
        let ends_tomorrow = crosses_midnight && time >= self.from;
        let last_day = if ends_tomorrow { day.succ_opt().unwrap_or(day) } else { day };
        // Where the clock goes back at the end of the quiet hours, their first end may already be past.
        instant_at(last_day, self.to, zone).max(instant)
    }
}

const fn at_hour(hour: u32) -> NaiveTime {
    match NaiveTime::from_hms_opt(hour, 0, 0) {
        Some(time) => time,
        None => NaiveTime::MIN,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use chrono_tz::America::Chicago;

    fn utc(text: &str) -> UtcSeconds {
        chrono::DateTime::parse_from_rfc3339(text).expect("an instant").into()
    }

    fn time(text: &str) -> NaiveTime {
        text.parse().expect("a time")
    }

    #[test]
    fn quiet_hours_end_in_the_morning_they_belong_to() {
        let night = QuietHours { from: time("22:00:00"), to: time("07:00:00") };
        let siesta = QuietHours { from: time("14:00:00"), to: time("17:00:00") };
        for (quiet, at, awake) in [
            (night, "2026-11-25T03:59:59Z", "2026-11-25T03:59:59Z"),
            (night, "2026-11-25T04:00:00Z", "2026-11-25T13:00:00Z"),
            (night, "2026-11-25T12:59:00Z", "2026-11-25T13:00:00Z"),
            (night, "2026-11-25T13:00:00Z", "2026-11-25T13:00:00Z"),
            (siesta, "2026-11-25T20:30:00Z", "2026-11-25T23:00:00Z"),
            (siesta, "2026-11-25T23:00:00Z", "2026-11-25T23:00:00Z"),
        ] {
            assert_eq!(quiet.awake_at(utc(at), Chicago), utc(awake), "{at}");
        }
    }

    /// Chicago in 2026: the clock goes from 2:00 to 3:00 on 8 March and from 2:00 back to 1:00 on 1 November (IANA data).
    #[test]
    fn the_nights_the_clock_changes_end_at_their_wall_time() {
        let night = QuietHours { from: time("22:00:00"), to: time("06:00:00") };
        let to_the_gap = QuietHours { from: time("22:00:00"), to: time("02:30:00") };
        let to_the_fold = QuietHours { from: time("22:00:00"), to: time("01:30:00") };
        for (quiet, at, awake) in [
            (night, "2026-03-08T05:00:00Z", "2026-03-08T11:00:00Z"),
            (night, "2026-11-01T04:00:00Z", "2026-11-01T12:00:00Z"),
            // 2:30 does not exist that night: the first instant after the gap.
            (to_the_gap, "2026-03-08T05:00:00Z", "2026-03-08T08:00:00Z"),
            // 1:30 comes twice: the first.
            (to_the_fold, "2026-11-01T04:00:00Z", "2026-11-01T06:30:00Z"),
        ] {
            assert_eq!(quiet.awake_at(utc(at), Chicago), utc(awake), "{at}");
        }
    }

    #[test]
    fn minutes_of_the_day_and_back() {
        assert_eq!(QuietHours::USUAL.minutes(), (1260, 420));
        assert_eq!(QuietHours::between(1260, 420), Some(QuietHours::USUAL));
        assert_eq!(QuietHours::between(60, 60), None);
        assert_eq!(QuietHours::between(1440, 60), None);
    }
}
