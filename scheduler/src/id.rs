//! Identifiers made by the application: sortable by the time they were made, unique across several running copies.

use crate::clock::UtcSeconds;
use serde::{Deserialize, Serialize};
use std::fmt;
use std::sync::atomic::{AtomicI64, Ordering};

/// 2024-01-01T00:00:00Z, where identifiers start counting.
const FIRST_SECOND: i64 = 1_704_067_200;
/// Bits below the time: a counter, then a number of the running copy.
const COUNTER_BITS: u32 = 14;
const COPY_BITS: u32 = 16;

/// Any row's identifier.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Id(i64);

impl Id {
    /// An identifier read back from where it was stored.
    pub const fn new(raw: i64) -> Id {
        Id(raw)
    }

    /// The number as stored.
    pub const fn get(self) -> i64 {
        self.0
    }
}

impl fmt::Display for Id {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.0)
    }
}

/// Makes identifiers. `copy` tells running copies apart: two copies with the same number could make the same identifier,
/// so it is drawn at random at start.
#[derive(Debug)]
pub struct IdMaker {
    copy: i64,
    last: AtomicI64,
}

impl IdMaker {
    pub fn new(copy: u16) -> IdMaker {
        IdMaker { copy: i64::from(copy) & ((1 << COPY_BITS) - 1), last: AtomicI64::new(0) }
    }

    /// One for another copy, going on behind this one's identifiers.
    pub fn as_copy(&self, copy: u16) -> IdMaker {
        let maker = IdMaker::new(copy);
        maker.last.store(self.last.load(Ordering::SeqCst), Ordering::SeqCst);
        maker
    }

    /// Goes on behind an identifier that an earlier run made, also where the clock has gone back since, or stands at the
    /// same second.
    pub fn go_on_after(&self, id: Id) {
        self.last.fetch_max(id.0 >> COPY_BITS, Ordering::SeqCst);
    }

    /// A new identifier, greater than every earlier one of this maker even when the clock stands or goes back.
    pub fn next(&self, now: UtcSeconds) -> Id {
        let floor = now.get().saturating_sub(FIRST_SECOND).max(0) << COUNTER_BITS;
        let mut made = 0;
        // The closure always returns a value, so the update cannot fail.
        let _ = self.last.fetch_update(Ordering::SeqCst, Ordering::SeqCst, |last| {
            made = floor.max(last + 1);
            Some(made)
        });
        Id((made << COPY_BITS) | self.copy)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two runs within one second: the second one's identifiers are behind the first one's, whatever its number.
    #[test]
    fn a_new_run_goes_on_behind_the_last_one() {
        let now = UtcSeconds::new(1_800_000_000);
        let first = IdMaker::new(9);
        first.next(now);
        let last = first.next(now);
        let second = IdMaker::new(3);
        second.go_on_after(last);
        let next = second.next(now.plus_minutes(-5));
        assert!(next > last);
        assert!(second.as_copy(1).next(now) > next);
    }

    #[test]
    fn identifiers_rise_even_when_the_clock_goes_back() {
        let maker = IdMaker::new(7);
        let mut last = maker.next(UtcSeconds::new(1_800_000_000));
        for second in (0..1000).rev() {
            let next = maker.next(UtcSeconds::new(1_799_999_000 + second));
            assert!(next > last && next.get() > 0);
            last = next;
        }
    }
}
