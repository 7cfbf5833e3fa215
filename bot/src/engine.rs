//! The one way through: an update or a due occurrence goes in, one transaction with state, messages and its mark comes
//! out. Whoever calls may be killed anywhere: what was committed stays, what was not happens again.

mod due;
mod lanes;
mod updates;

pub use due::planned_until;
pub use lanes::Arrival;
pub use updates::Queue;

use crate::conversation::trouble;
use crate::house::House;
use crate::line::Line;
use crate::watch::Watch;
use futures_util::FutureExt;
use scheduler::clock::{Clock, UtcSeconds};
use scheduler::store::{self, Store};
use scheduler::timetable::Recurring;
use std::panic::AssertUnwindSafe;
use std::sync::Arc;
use std::time::Duration;
use tokio::sync::{Notify, watch};

/// How often the clock is looked at where nothing is due: somebody may have set it.
const LOOK_EVERY: Duration = Duration::from_secs(30);

/// Something that was tried and did not work.
#[derive(Debug, thiserror::Error)]
enum Failure {
    /// The database does not answer: everything waits for it.
    #[error("the database does not answer: {0}")]
    Outage(store::Error),
    /// The database works; what was tried is at fault. Holds the reason without anybody's words.
    #[error("{0}")]
    Own(String),
}

impl From<store::Error> for Failure {
    fn from(error: store::Error) -> Failure {
        if error.is_outage() { Failure::Outage(error) } else { Failure::Own(error.in_brief()) }
    }
}

/// Does `work` and takes a panic in it as a failure: one update or one job must not end the program for everybody.
async fn guarded<T>(work: impl Future<Output = store::Result<T>>) -> Result<T, Failure> {
    match AssertUnwindSafe(work).catch_unwind().await {
        Ok(done) => Ok(done?),
        // The panic's text is not repeated: it may hold what somebody wrote.
        Err(_) => Err(Failure::Own("the program made a mistake (panic)".into())),
    }
}

/// Everything the update taker, the timetable and the sender share.
pub struct Engine {
    pub house: House,
    pub store: Store,
    pub clock: Arc<dyn Clock>,
    /// Told when messages may be waiting.
    pub outbox_filled: Notify,
    /// Told when the clock was moved or an occurrence was planned.
    pub timetable_moved: Notify,
    /// Whether the messaging service answers.
    pub line: Line,
    /// While everything that waits to be sent waits for the pace: until when, by the clock's passed time.
    pub paced_until: watch::Sender<Option<Duration>>,
    /// What is counted for whoever watches the bot.
    pub watch: Watch,
    /// Longest time between two looks at the clock, by the timetable and by the sender.
    pub look_every: Duration,
    jobs: Vec<Recurring>,
}

impl Engine {
    pub fn new(house: House, store: Store, clock: Arc<dyn Clock>) -> Engine {
        let jobs = scheduler::farm::jobs::recurring(&house.config.rules, house.zone());
        let (outbox_filled, timetable_moved) = (Notify::new(), Notify::new());
        Engine {
            house,
            store,
            clock,
            outbox_filled,
            timetable_moved,
            line: Line::default(),
            paced_until: watch::Sender::new(None),
            watch: Watch::new(),
            look_every: LOOK_EVERY,
            jobs,
        }
    }

    /// The messaging service has said what time it is; how far the machine's clock is from that is kept for who watches.
    pub fn service_said(&self, date: Option<UtcSeconds>) {
        if let Some(date) = date {
            self.watch.clock_is_off(self.clock.hear(date));
        }
    }

    /// Tells the keepers once when the machine's clock and the service's time part.
    async fn tell_of_clock(&self) -> store::Result<()> {
        let Some(seconds) = self.watch.clock_off_untold() else { return Ok(()) };
        tracing::error!(seconds, "the machine's clock is not the messaging service's; the service's time is gone by");
        let tx = self.store.begin().await?;
        trouble::clock_off(&self.house, tx, (self.clock.now(), seconds)).await?.commit().await?;
        self.watch.clock_off_is_told();
        Ok(())
    }

    /// Tells the keepers that somebody else has taken the webhook away.
    ///
    /// # Errors
    /// Whatever the store fails with.
    pub async fn tell_of_taken_webhook(&self) -> store::Result<()> {
        let tx = self.store.begin().await?;
        trouble::webhook_taken(&self.house, tx, self.clock.now()).await?.commit().await?;
        self.outbox_filled.notify_one();
        Ok(())
    }
}

/// What an update is called in the log and beside the messages it causes.
pub fn cause_of(update_id: i64) -> String {
    format!("u{update_id}")
}
