//! The database's faults: busy; a disk that is full or fails at a write or a sync; a commit that is done and reported as failed,
//! or reported as done and is not; and stopped before or after anything it does.

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
    /// Points at which nothing answers, from now on.
    out: u32,
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
        let state =
            State { chance: Chance::new(seed), left: 0, out: 0, happened: Mishaps::default(), asked: 0, one_in: 150 };
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

    /// Does not answer at so many points from now on.
    pub fn go_out(&self, points: u32) {
        let mut state = self.state.lock().expect("one thread");
        state.out = points;
        state.happened.note(Mishap::DatabaseOut);
    }

    /// No faults for now; what was to come.
    pub fn pause(&self) -> (u32, u32) {
        let mut state = self.state.lock().expect("one thread");
        (std::mem::take(&mut state.left), std::mem::take(&mut state.out))
    }

    /// Goes on with what was to come.
    pub fn go_on(&self, (left, out): (u32, u32)) {
        let mut state = self.state.lock().expect("one thread");
        (state.left, state.out) = (left, out);
    }

    pub fn happened(&self) -> Mishaps {
        self.state.lock().expect("one thread").happened.clone()
    }
}

impl Faults for Disk {
    fn at(&self, point: Point) -> Verdict {
        let mut state = self.state.lock().expect("one thread");
        state.asked += 1;
        if state.out > 0 && point != Point::Committed {
            state.out -= 1;
            return Verdict::Fail(ErrorKind::ResourceBusy);
        }
        let one_in = state.one_in;
        // Beginnings and ends of transactions are rarer than statements and more telling.
        let one_in = if point == Point::Statement { one_in } else { one_in / 5 };
        if state.left == 0 || !state.chance.one_in(one_in) {
            return Verdict::GoOn;
        }
        state.left -= 1;
        // A failure makes the program wait for a moment of real time, a crash does not; commits fail in the most ways.
        let is_failure = match point {
            Point::Begin | Point::Statement => state.chance.one_in(5),
            Point::Commit => state.chance.one_in(2),
            Point::Committed => false,
        };
        if is_failure {
            let (mishap, verdict) = failure(point, state.chance.below(4));
            state.happened.note(mishap);
            return verdict;
        }
        state.happened.note(match point {
            Point::Begin | Point::Statement => Mishap::StoppedAtStatement,
            Point::Commit | Point::Committed => Mishap::StoppedAtCommit,
        });
        self.crash.pull();
        Verdict::Halt
    }
}

/// The failure with this number, 0 to 3, at a point.
fn failure(point: Point, number: usize) -> (Mishap, Verdict) {
    match (point, number) {
        // Another writer is in the way.
        (Point::Begin, _) => (Mishap::DatabaseBusy, Verdict::Fail(ErrorKind::ResourceBusy)),
        // Only the statement is taken back.
        (Point::Statement, 0) => (Mishap::DiskFull, Verdict::Fail(ErrorKind::StorageFull)),
        (_, 0 | 1) => (Mishap::DiskFull, Verdict::TakeBack(ErrorKind::StorageFull)),
        (Point::Commit, 2) => (Mishap::CommitDoneAndFailed, Verdict::FailAfter(ErrorKind::Other)),
        (Point::Commit, 3) => (Mishap::CommitPretended, Verdict::Pretend),
        _ => (Mishap::DiskFailed, Verdict::TakeBack(ErrorKind::Other)),
    }
}
