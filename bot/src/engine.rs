//! The one way through: an update or a due occurrence goes in, one transaction with state, messages and its mark comes
//! out. Whoever calls may be killed anywhere: what was committed stays, what was not happens again.

mod due;

pub use due::planned_until;

use crate::conversation::{self, Desk, timetable};
use crate::house::House;
use crate::incoming::{Incoming, What};
use crate::watch::Watch;
use futures_util::FutureExt;
use scheduler::clock::Clock;
use scheduler::store::{self, Store, Tx, inbox};
use scheduler::timetable::Recurring;
use std::panic::AssertUnwindSafe;
use std::sync::Arc;
use std::time::Duration;
use tokio::sync::Notify;
use tracing::Instrument;

/// How often the clock is looked at where nothing is due: somebody may have set it.
const LOOK_EVERY: Duration = Duration::from_secs(30);
/// Times a failing update is tried before it is set aside.
const UPDATE_TRIES_MAX: u32 = 4;

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
    /// What is counted for whoever watches the bot.
    pub watch: Watch,
    /// Longest time between two looks at the clock, by the timetable and by the sender.
    pub look_every: Duration,
    jobs: Vec<Recurring>,
}

impl Engine {
    pub fn new(house: House, store: Store, clock: Arc<dyn Clock>) -> Engine {
        let jobs = timetable::jobs(&house.config);
        let (outbox_filled, timetable_moved) = (Notify::new(), Notify::new());
        Engine {
            house,
            store,
            clock,
            outbox_filled,
            timetable_moved,
            watch: Watch::new(),
            look_every: LOOK_EVERY,
            jobs,
        }
    }

    /// Acts on one update, once. An update that keeps failing is marked and apologised for, so that it does not hold up
    /// those behind it.
    ///
    /// # Errors
    /// When not even the mark can be stored; the update must then be asked for again.
    pub async fn take(&self, incoming: &Incoming) -> store::Result<()> {
        let span = tracing::info_span!("update", cause = cause_of(incoming.update_id));
        self.take_within(incoming).instrument(span).await
    }

    async fn take_within(&self, incoming: &Incoming) -> store::Result<()> {
        // Of what people write nothing is logged.
        tracing::info!(kind = kind_of(&incoming.what), "received");
        let mut tries = 1;
        loop {
            match self.try_take(incoming).await {
                Ok(is_new) => {
                    self.watch.update_ended(if is_new { "done" } else { "repeated" });
                    tracing::info!(is_new, "committed");
                    break;
                }
                Err(error) if tries < UPDATE_TRIES_MAX => {
                    tracing::warn!(tries, %error, "update failed, trying again");
                    tokio::time::sleep(Duration::from_millis(50 << tries)).await;
                    tries += 1;
                }
                Err(error) => {
                    tracing::error!(%error, "update set aside");
                    self.set_aside(incoming).await?;
                    self.watch.update_ended("set_aside");
                    break;
                }
            }
        }
        self.outbox_filled.notify_one();
        self.timetable_moved.notify_one();
        Ok(())
    }

    /// Whether the update was a new one.
    async fn try_take(&self, incoming: &Incoming) -> store::Result<bool> {
        let now = self.clock.now();
        let mut tx = self.begin_for(incoming).await?;
        let house = self.house.of(&mut tx).await?;
        let mut desk = Desk::new(tx, now, &house, Some(incoming.chat_id));
        let is_new = inbox::mark_seen(&mut desk.tx, incoming.update_id, now).await?;
        if is_new {
            conversation::converse(&mut desk, incoming).await?;
        }
        desk.tx.commit().await?;
        Ok(is_new)
    }

    async fn begin_for(&self, incoming: &Incoming) -> store::Result<Tx> {
        let mut tx = self.store.begin().await?;
        tx.caused_by(cause_of(incoming.update_id));
        Ok(tx)
    }

    async fn set_aside(&self, incoming: &Incoming) -> store::Result<()> {
        let now = self.clock.now();
        let mut tx = self.begin_for(incoming).await?;
        let house = self.house.of(&mut tx).await?;
        let mut desk = Desk::new(tx, now, &house, Some(incoming.chat_id));
        if inbox::mark_seen(&mut desk.tx, incoming.update_id, now).await? {
            conversation::apologise(&mut desk, incoming).await?;
        }
        desk.tx.commit().await
    }

    /// Marks an update that means nothing here.
    ///
    /// # Errors
    /// When the mark cannot be stored.
    pub async fn ignore(&self, update_id: i64) -> store::Result<()> {
        let mut tx = self.store.begin().await?;
        inbox::mark_seen(&mut tx, update_id, self.clock.now()).await?;
        tx.commit().await?;
        self.watch.update_ended("meaningless");
        Ok(())
    }
}

/// What an update is called in the log and beside the messages it causes.
pub fn cause_of(update_id: i64) -> String {
    format!("u{update_id}")
}

fn kind_of(what: &What) -> &'static str {
    match what {
        What::Said(_) => "said",
        What::Pressed { .. } => "pressed",
        What::Unreachable => "unreachable",
        What::Reachable => "reachable",
        What::LeftGroup => "left_group",
        What::MemberLeft { .. } => "member_left",
        What::GroupMoved { .. } => "group_moved",
    }
}
