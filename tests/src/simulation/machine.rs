//! The machine the program runs on: its clock may stand a month ahead, while passed time goes on as it is.

use super::{Broken, failed, setting};
use pinset::engine::Engine;
use scheduler::clock::{Clock, HandClock, UtcSeconds};
use scheduler::store::Store;
use std::sync::Arc;
use std::sync::atomic::{AtomicI64, Ordering};
use std::time::Duration;

/// How far a wrong clock is ahead.
const AHEAD_SECONDS: i64 = 30 * 24 * 3600;

/// A machine whose clock may be wrong.
#[derive(Debug)]
pub struct Machine {
    right: Arc<HandClock>,
    ahead: AtomicI64,
}

impl Machine {
    pub fn of(right: Arc<HandClock>) -> Machine {
        Machine { right, ahead: AtomicI64::new(0) }
    }

    /// Sets the clock a month ahead, or right again; whether it is ahead now.
    pub fn turn_ahead(&self) -> bool {
        let ahead = AHEAD_SECONDS - self.ahead.load(Ordering::SeqCst);
        self.ahead.store(ahead, Ordering::SeqCst);
        ahead > 0
    }
}

impl Clock for Machine {
    fn now(&self) -> UtcSeconds {
        self.right.now().plus_seconds(self.ahead.load(Ordering::SeqCst))
    }

    fn elapsed(&self) -> Duration {
        self.right.elapsed()
    }
}

/// Plans the timetable as a program does that believes a clock a month ahead.
pub(super) async fn plan_ahead(url: &str, start: UtcSeconds) -> Result<(), Broken> {
    let store = Store::open(url).await.map_err(failed)?.as_copy(setting::COPY);
    let clock = Arc::new(HandClock::at(start.plus_seconds(AHEAD_SECONDS)));
    let engine = Engine::new(setting::house(), store, clock);
    engine.do_due().await.map_err(failed)?;
    engine.store.close().await;
    Ok(())
}
