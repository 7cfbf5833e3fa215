//! The machine's clock, believed only as far as two witnesses let it: the time that has passed since, which nobody can set,
//! and the messaging service's own time.
//!
//! Rule: a reading that jumps is not believed until the service says the same. Meanwhile time goes on from the last reading
//! that was good. So a clock that is set a month ahead for a while moves nothing, and one that was wrong from the start is
//! put right by the first word of the service.

use super::{Clock, UtcSeconds};
use std::sync::{Arc, Mutex};
use std::time::Duration;

/// A jump up to this many seconds is somebody setting the clock right, or a slow machine.
const JUMP_MAX: i64 = 120;
/// From this many seconds on the machine and the service do not agree.
const APART_MAX: i64 = 300;
/// How long the service must keep saying what neither the clock nor the passed time say before it is believed.
const INSISTS: Duration = Duration::from_secs(300);

#[derive(Debug)]
struct State {
    /// A reading that was good, and the passed time then.
    good: (UtcSeconds, Duration),
    /// Whether the service has ever been heard.
    is_heard: bool,
    /// What the service says against both witnesses: seconds away from the time reckoned, and since when.
    insists: Option<(i64, Duration)>,
}

/// A clock beside two witnesses.
pub struct CheckedClock {
    machine: Arc<dyn Clock>,
    state: Mutex<State>,
}

impl CheckedClock {
    pub fn new(machine: Arc<dyn Clock>) -> CheckedClock {
        let good = (machine.now(), machine.elapsed());
        CheckedClock { machine, state: Mutex::new(State { good, is_heard: false, insists: None }) }
    }

    fn state(&self) -> std::sync::MutexGuard<'_, State> {
        self.state.lock().expect("nothing panics while it holds this")
    }
}

impl State {
    /// What time it should be, `passed` being the passed time.
    fn reckoned(&self, passed: Duration) -> UtcSeconds {
        let seconds = passed.saturating_sub(self.good.1).as_secs();
        self.good.0.plus_seconds(i64::try_from(seconds).unwrap_or(i64::MAX))
    }
}

fn is_near(one: UtcSeconds, other: UtcSeconds, most: i64) -> bool {
    one.since(other).abs() <= most
}

impl Clock for CheckedClock {
    fn now(&self) -> UtcSeconds {
        let (reading, passed) = (self.machine.now(), self.machine.elapsed());
        let mut state = self.state();
        let reckoned = state.reckoned(passed);
        if !is_near(reading, reckoned, JUMP_MAX) {
            return reckoned;
        }
        state.good = (reading, passed);
        reading
    }

    fn elapsed(&self) -> Duration {
        self.machine.elapsed()
    }

    fn hear(&self, service: UtcSeconds) -> Option<i64> {
        let (reading, passed) = (self.machine.now(), self.machine.elapsed());
        let mut state = self.state();
        let reckoned = state.reckoned(passed);
        let was_heard = std::mem::replace(&mut state.is_heard, true);
        if is_near(reading, service, APART_MAX) {
            // The machine may have slept, or somebody has set its clock right.
            state.good = (reading, passed);
            state.insists = None;
            return None;
        }
        if is_near(reckoned, service, APART_MAX) {
            state.insists = None;
        } else {
            let away = service.since(reckoned);
            let since =
                state.insists.filter(|(before, _)| (before - away).abs() <= 10).map_or(passed, |(_, since)| since);
            state.insists = Some((away, since));
            if !was_heard || passed.saturating_sub(since) >= INSISTS {
                state.good = (service, passed);
                state.insists = None;
            }
        }
        Some(reading.since(service))
    }
}

#[cfg(test)]
mod tests {
    use super::super::HandClock;
    use super::*;
    use std::sync::atomic::{AtomicI64, Ordering};

    const MONTH: i64 = 30 * 24 * 3600;
    const START: i64 = 1_780_000_000;

    /// A machine whose clock is wrong by so many seconds.
    struct Machine {
        right: HandClock,
        wrong_by: AtomicI64,
    }

    impl Clock for Machine {
        fn now(&self) -> UtcSeconds {
            self.right.now().plus_seconds(self.wrong_by.load(Ordering::SeqCst))
        }

        fn elapsed(&self) -> Duration {
            self.right.elapsed()
        }
    }

    fn machine(wrong_by: i64) -> (Arc<Machine>, CheckedClock) {
        let right = HandClock::at(UtcSeconds::new(START));
        let machine = Arc::new(Machine { right, wrong_by: AtomicI64::new(wrong_by) });
        let clock = CheckedClock::new(Arc::<Machine>::clone(&machine) as Arc<dyn Clock>);
        (machine, clock)
    }

    #[test]
    fn a_month_ahead_and_corrected_moves_nothing() {
        let (machine, clock) = machine(0);
        assert_eq!(clock.hear(machine.right.now()), None);
        machine.wrong_by.store(MONTH, Ordering::SeqCst);
        for _ in 0..100 {
            machine.right.advance(Duration::from_secs(60));
            assert_eq!(clock.now(), machine.right.now());
            assert_eq!(clock.hear(machine.right.now()), Some(MONTH), "and it is told by how much");
        }
        machine.wrong_by.store(0, Ordering::SeqCst);
        assert_eq!((clock.now(), clock.hear(machine.right.now())), (machine.right.now(), None));
    }

    #[test]
    fn a_clock_that_was_wrong_from_the_start_is_put_right_by_the_first_word() {
        for wrong_by in [MONTH, -MONTH] {
            let (machine, clock) = machine(wrong_by);
            assert_eq!(clock.hear(machine.right.now()), Some(wrong_by));
            machine.right.advance(Duration::from_secs(3600));
            assert_eq!(clock.now(), machine.right.now());
            // Somebody sets it right.
            machine.wrong_by.store(0, Ordering::SeqCst);
            assert_eq!((clock.hear(machine.right.now()), clock.now()), (None, machine.right.now()));
        }
    }

    /// A machine that slept: its passed time stood still, its clock did not.
    #[test]
    fn a_jump_that_the_service_confirms_is_believed() {
        let (machine, clock) = machine(0);
        clock.hear(machine.right.now());
        machine.wrong_by.store(8 * 3600, Ordering::SeqCst);
        assert_eq!(clock.now(), machine.right.now(), "not yet");
        let later = machine.right.now().plus_seconds(8 * 3600 + 3);
        assert_eq!((clock.hear(later), clock.now()), (None, later.plus_seconds(-3)));
    }

    #[test]
    fn small_corrections_are_followed_at_once_and_one_odd_word_is_not() {
        let (machine, clock) = machine(0);
        clock.hear(machine.right.now());
        for seconds in [-90, 30, 119] {
            machine.wrong_by.fetch_add(seconds, Ordering::SeqCst);
            assert_eq!(clock.now(), machine.now());
        }
        // An answer that somebody on the way had kept.
        let odd = machine.right.now().plus_seconds(-86_400);
        assert!(clock.hear(odd).is_some());
        assert_eq!(clock.now(), machine.now());
        // Said on and on it is the time.
        machine.wrong_by.store(0, Ordering::SeqCst);
        for _ in 0..20 {
            machine.right.advance(Duration::from_secs(20));
            clock.hear(machine.right.now().plus_seconds(-86_400));
        }
        assert_eq!(clock.now(), machine.right.now().plus_seconds(-86_400));
    }
}
