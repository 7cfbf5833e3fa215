//! Time: UTC seconds are what is stored, local wall time in the farm's one zone is what is meant.
//!
//! Rule for a local time that a clock change makes strange: one that does not exist stands for the first instant after
//! the gap, one that occurs twice stands for the first of the two.

mod checked;

pub use checked::CheckedClock;

use chrono::{DateTime, Datelike, Duration, LocalResult, NaiveDate, NaiveDateTime, NaiveTime, TimeZone, Utc};
use chrono_tz::Tz;
use serde::{Deserialize, Serialize};
use std::fmt;
use std::sync::LazyLock;
use std::sync::atomic::{AtomicI64, AtomicU64, Ordering};
use std::time::Instant;

/// A calendar day in the farm's zone.
pub type LocalDate = NaiveDate;

/// An instant: whole seconds since 1970-01-01T00:00:00Z.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct UtcSeconds(i64);

impl UtcSeconds {
    /// The instant so many seconds after the epoch.
    pub const fn new(seconds: i64) -> UtcSeconds {
        UtcSeconds(seconds)
    }

    /// Seconds since the epoch.
    pub const fn get(self) -> i64 {
        self.0
    }

    /// So many seconds later (earlier if negative); saturates.
    pub const fn plus_seconds(self, seconds: i64) -> UtcSeconds {
        UtcSeconds(self.0.saturating_add(seconds))
    }

    /// So many minutes later (earlier if negative); saturates.
    pub const fn plus_minutes(self, minutes: i64) -> UtcSeconds {
        self.plus_seconds(minutes.saturating_mul(60))
    }

    /// Seconds from `earlier` until `self`.
    pub const fn since(self, earlier: UtcSeconds) -> i64 {
        self.0.saturating_sub(earlier.0)
    }

    /// As a `chrono` instant; instants outside chrono's range become the epoch, which no stored value reaches.
    pub fn to_utc(self) -> DateTime<Utc> {
        DateTime::from_timestamp(self.0, 0).unwrap_or(DateTime::UNIX_EPOCH)
    }

    /// The wall clock in `zone` at this instant.
    pub fn local(self, zone: Tz) -> NaiveDateTime {
        self.to_utc().with_timezone(&zone).naive_local()
    }

    /// The calendar day in `zone` at this instant.
    pub fn local_date(self, zone: Tz) -> LocalDate {
        self.local(zone).date()
    }
}

impl<Z: TimeZone> From<DateTime<Z>> for UtcSeconds {
    fn from(instant: DateTime<Z>) -> UtcSeconds {
        UtcSeconds(instant.timestamp())
    }
}

impl fmt::Display for UtcSeconds {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.to_utc().format("%Y-%m-%dT%H:%M:%SZ"))
    }
}

/// The instant of a wall-clock reading in `zone`, by the rule in this module's header.
pub fn instant_of(local: NaiveDateTime, zone: Tz) -> UtcSeconds {
    match zone.from_local_datetime(&local) {
        LocalResult::Single(one) => one.into(),
        LocalResult::Ambiguous(first, second) => first.min(second).into(),
        LocalResult::None => first_after_gap(local, zone),
    }
}

/// The instant of `time` on `date` in `zone`.
pub fn instant_at(date: LocalDate, time: NaiveTime, zone: Tz) -> UtcSeconds {
    instant_of(date.and_time(time), zone)
}

/// Both ends of a gap are whole minutes in the IANA data of our time; step minute by minute from the missing reading.
fn first_after_gap(local: NaiveDateTime, zone: Tz) -> UtcSeconds {
    let whole_minute = local - Duration::seconds(i64::from(chrono::Timelike::second(&local)));
    // The longest skip on record is a whole day (islands that changed sides of the date line).
    for minute in 1..=26 * 60 {
        if let Some(found) = zone.from_local_datetime(&(whole_minute + Duration::minutes(minute))).earliest() {
            return found.into();
        }
    }
    Utc.from_utc_datetime(&local).into()
}

/// The time of day of a minute; midnight at the end of the day reads as midnight.
pub fn wall_time(minute: u16) -> NaiveTime {
    NaiveTime::from_hms_opt(u32::from(minute / 60 % 24), u32::from(minute % 60), 0).expect("a minute of the day")
}

/// The Monday of the ISO week of `date`.
pub fn monday_of(date: LocalDate) -> LocalDate {
    date - Duration::days(i64::from(date.weekday().num_days_from_monday()))
}

/// Where the program learns what time it is.
pub trait Clock: Send + Sync {
    /// Now.
    fn now(&self) -> UtcSeconds;

    /// Time that has passed since a fixed moment, with parts of a second. It never goes back, whoever sets the clock.
    fn elapsed(&self) -> std::time::Duration {
        static BEGAN: LazyLock<Instant> = LazyLock::new(Instant::now);
        BEGAN.elapsed()
    }

    /// Hears what time the messaging service says it is: by how many seconds the machine's clock is ahead of that, where it
    /// is more than a few minutes.
    fn hear(&self, _service: UtcSeconds) -> Option<i64> {
        None
    }
}

/// The machine's clock.
#[derive(Debug, Default)]
pub struct SystemClock;

impl Clock for SystemClock {
    fn now(&self) -> UtcSeconds {
        Utc::now().into()
    }
}

/// A clock moved by hand, for rehearsals and tests.
#[derive(Debug)]
pub struct HandClock {
    /// Milliseconds since the epoch.
    now_ms: AtomicI64,
    /// Milliseconds it was moved forward in all.
    elapsed_ms: AtomicU64,
}

impl HandClock {
    pub fn at(start: UtcSeconds) -> HandClock {
        HandClock { now_ms: AtomicI64::new(start.get().saturating_mul(1000)), elapsed_ms: AtomicU64::new(0) }
    }

    /// Sets the clock; it may also go back, as a machine's clock may.
    pub fn set(&self, now: UtcSeconds) {
        let now_ms = now.get().saturating_mul(1000);
        let before_ms = self.now_ms.swap(now_ms, Ordering::SeqCst);
        let forward_ms = u64::try_from(now_ms.saturating_sub(before_ms)).unwrap_or(0);
        self.elapsed_ms.fetch_add(forward_ms, Ordering::SeqCst);
    }

    /// Moves the clock forward, by whole milliseconds.
    pub fn advance(&self, by: std::time::Duration) {
        let ms = u64::try_from(by.as_millis()).unwrap_or(u64::MAX);
        self.now_ms.fetch_add(i64::try_from(ms).unwrap_or(i64::MAX), Ordering::SeqCst);
        self.elapsed_ms.fetch_add(ms, Ordering::SeqCst);
    }
}

impl Clock for HandClock {
    fn now(&self) -> UtcSeconds {
        UtcSeconds(self.now_ms.load(Ordering::SeqCst).div_euclid(1000))
    }

    fn elapsed(&self) -> std::time::Duration {
        std::time::Duration::from_millis(self.elapsed_ms.load(Ordering::SeqCst))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(zone: Tz, local: &str) -> UtcSeconds {
        instant_of(local.parse().expect("a local date and time"), zone)
    }

    /// Clock changes of 2026 and 2027 from the IANA time zone database (tzdata 2026).
    #[test]
    fn clock_changes_follow_the_iana_data() {
        use chrono_tz::America::Chicago;
        use chrono_tz::Europe::Lisbon;
        for (zone, local, utc) in [
            // Occurs twice: the first reading.
            (Chicago, "2026-11-01T01:30:00", "2026-11-01T06:30:00Z"),
            (Chicago, "2027-11-07T01:30:00", "2027-11-07T06:30:00Z"),
            (Lisbon, "2026-10-25T01:30:00", "2026-10-25T00:30:00Z"),
            // Just beside the overlap.
            (Chicago, "2026-11-01T00:59:00", "2026-11-01T05:59:00Z"),
            (Chicago, "2026-11-01T02:00:00", "2026-11-01T08:00:00Z"),
            // Does not exist: the first instant after the gap.
            (Chicago, "2026-03-08T02:30:00", "2026-03-08T08:00:00Z"),
            (Chicago, "2027-03-14T02:00:00", "2027-03-14T08:00:00Z"),
            (Lisbon, "2026-03-29T01:30:00", "2026-03-29T01:00:00Z"),
            // A weekly reading keeps its wall time over the change.
            (Chicago, "2026-10-29T16:00:00", "2026-10-29T21:00:00Z"),
            (Chicago, "2026-11-05T16:00:00", "2026-11-05T22:00:00Z"),
        ] {
            assert_eq!(at(zone, local).to_string(), utc, "{zone} {local}");
        }
    }

    #[test]
    fn passed_time_never_goes_back() {
        let clock = HandClock::at(UtcSeconds::new(1000));
        clock.advance(std::time::Duration::from_millis(1600));
        assert_eq!((clock.now().get(), clock.elapsed().as_millis()), (1001, 1600));
        clock.set(UtcSeconds::new(900));
        assert_eq!((clock.now().get(), clock.elapsed().as_millis()), (900, 1600));
        clock.set(UtcSeconds::new(910));
        assert_eq!((clock.now().get(), clock.elapsed().as_millis()), (910, 11_600));
    }

    #[test]
    fn weeks_begin_on_monday() {
        let sunday: LocalDate = "2027-01-03".parse().expect("a date");
        assert_eq!(monday_of(sunday).to_string(), "2026-12-28");
    }
}
