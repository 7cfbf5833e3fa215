//! The database's faults: full, busy, and stopped before or after anything it does.

use super::chance::Chance;
use super::counts::{Mishap, Mishaps};
use super::crash::Crash;
use scheduler::store::fault::{Faults, Point, Verdict};
use std::io::ErrorKind;
use std::sync::Mutex;

#[derive(Debug)]
struct State {
    chance: Chance,
    left: u32,
    happened: Mishaps,
    asked: u64,
    one_in: u32,
}

/// Decides at each point of each transaction.
#[derive(Debug)]
pub struct Disk {
    state: Mutex<State>,
    crash: Crash,
}

impl Disk {
    pub fn new(crash: Crash, seed: u64) -> Disk {
        let state = State { chance: Chance::new(seed), left: 0, happened: Mishaps::default(), asked: 0, one_in: 150 };
        Disk { state: Mutex::new(state), crash }
    }

    /// Lets so many faults happen from now on.
    pub fn allow_faults(&self, count: u32) {
        self.state.lock().expect("one thread").left = count;
    }

    /// Points that transactions have come to.
    pub fn asked(&self) -> u64 {
        self.state.lock().expect("one thread").asked
    }

    /// No faults for now; how many were allowed.
    pub fn pause(&self) -> u32 {
        std::mem::take(&mut self.state.lock().expect("one thread").left)
    }

    pub fn happened(&self) -> Mishaps {
        self.state.lock().expect("one thread").happened.clone()
    }
}

impl Faults for Disk {
    fn at(&self, point: Point) -> Verdict {
        let mut state = self.state.lock().expect("one thread");
        state.asked += 1;
        let one_in = state.one_in;
        // Beginnings and ends of transactions are rarer than statements and more telling.
        let one_in = if point == Point::Statement { one_in } else { one_in / 5 };
        if state.left == 0 || !state.chance.one_in(one_in) {
            return Verdict::GoOn;
        }
        state.left -= 1;
        // A failure makes the program wait for a moment of real time, a crash does not.
        if point != Point::Committed && state.chance.one_in(5) {
            // Another writer is in the way where the lock is taken; what is written later may find no room.
            let (mishap, kind) = match point {
                Point::Begin => (Mishap::DatabaseBusy, ErrorKind::ResourceBusy),
                _ => (Mishap::DiskFull, ErrorKind::StorageFull),
            };
            state.happened.note(mishap);
            return Verdict::Fail(kind);
        }
        state.happened.note(match point {
            Point::Begin | Point::Statement => Mishap::StoppedAtStatement,
            Point::Commit | Point::Committed => Mishap::StoppedAtCommit,
        });
        self.crash.pull();
        Verdict::Halt
    }
}
