//! Whether the messaging service answers, as the sender and the poller hear it. An outage is kept in the database, so that a
//! program that is started again meanwhile still knows when it began.

use crate::conversation::{Desk, outage};
use crate::engine::Engine;
use scheduler::clock::UtcSeconds;
use scheduler::store::{self, Tx, settings};
use std::sync::{Mutex, MutexGuard, PoisonError};

/// From then on a silence is an outage: those who cannot hear of something are not held to an answer.
const OUTAGE_SECONDS: i64 = 120;
/// From then on the keepers are told of it afterwards.
const TOLD_SECONDS: i64 = 600;
/// Since when the service does not answer.
const SINCE: &str = "outage_since";

/// Who calls the service.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ear {
    Sender,
    Poller,
}

#[derive(Debug, Default)]
struct Heard {
    /// Since when each hears nothing.
    sender: Option<UtcSeconds>,
    poller: Option<UtcSeconds>,
    /// Since when there was a silence without a break.
    since: Option<UtcSeconds>,
    is_kept: bool,
}

impl Heard {
    fn of(&mut self, ear: Ear) -> &mut Option<UtcSeconds> {
        match ear {
            Ear::Sender => &mut self.sender,
            Ear::Poller => &mut self.poller,
        }
    }
}

/// What is known of the line to the service.
#[derive(Debug, Default)]
pub struct Line(Mutex<Heard>);

impl Line {
    fn heard(&self) -> MutexGuard<'_, Heard> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// The service did not answer.
    pub fn failed(&self, ear: Ear, now: UtcSeconds) {
        let mut heard = self.heard();
        heard.of(ear).get_or_insert(now);
        heard.since.get_or_insert(now);
    }

    /// Since when the service has been silent, where that is an outage.
    pub fn down_since(&self, now: UtcSeconds) -> Option<UtcSeconds> {
        self.heard().since.filter(|since| now.since(*since) >= OUTAGE_SECONDS)
    }

    /// The service answered: whether this one had heard nothing before, and since when nobody had, where that is over.
    fn worked(&self, ear: Ear) -> (bool, Option<UtcSeconds>) {
        let mut heard = self.heard();
        let was_deaf = heard.of(ear).take().is_some();
        let is_over = heard.sender.is_none() && heard.poller.is_none();
        let since = if is_over { heard.since.take() } else { None };
        (was_deaf, since)
    }

    /// Keeps an outage in the database.
    ///
    /// # Errors
    /// Whatever the store fails with.
    pub async fn keep(&self, tx: &mut Tx, now: UtcSeconds) -> store::Result<()> {
        let Some(since) = self.down_since(now).filter(|_| !self.heard().is_kept) else { return Ok(()) };
        settings::put(tx, SINCE, &since.get().to_string()).await?;
        self.heard().is_kept = true;
        Ok(())
    }
}

impl Engine {
    /// Takes up an outage that the last run of the program noted.
    ///
    /// # Errors
    /// Whatever the store fails with.
    pub async fn recall_outage(&self) -> store::Result<()> {
        let mut tx = self.store.begin_reading().await?;
        let since = settings::get(&mut tx, SINCE).await?.and_then(|text| text.parse().ok()).map(UtcSeconds::new);
        drop(tx);
        if let Some(since) = since {
            let mut heard = self.line.heard();
            (heard.sender, heard.since, heard.is_kept) = (Some(since), Some(since), true);
        }
        Ok(())
    }

    /// The service has answered. After an outage everything that waited goes at once, times to answer are longer, and the
    /// keepers are told.
    pub async fn line_works(&self, ear: Ear) {
        let (was_deaf, since) = self.line.worked(ear);
        if !was_deaf && since.is_none() {
            return;
        }
        if let Err(error) = self.end_outage(ear, since).await {
            tracing::error!(%error, "the end of an outage is not recorded");
            if let Some(since) = since {
                let mut heard = self.line.heard();
                heard.since.get_or_insert(since);
                heard.sender.get_or_insert(since);
            }
        }
        self.outbox_filled.notify_one();
    }

    async fn end_outage(&self, ear: Ear, since: Option<UtcSeconds>) -> store::Result<()> {
        let now = self.clock.now();
        let mut tx = self.store.begin().await?;
        if ear == Ear::Poller || since.is_some_and(|since| now.since(since) >= OUTAGE_SECONDS) {
            store::outbox::hurry(&mut tx, now).await?;
        }
        let house = self.house.of(&mut tx).await?;
        let mut desk = Desk::new(tx, now, &house, None);
        if let Some(since) = since {
            settings::remove(&mut desk.tx, SINCE).await?;
            if now.since(since) >= OUTAGE_SECONDS {
                outage::stretch(&mut desk, since).await?;
            }
            if now.since(since) >= TOLD_SECONDS {
                desk.tx.caused_by(format!("outage@{since}"));
                outage::tell(&mut desk, since).await?;
            }
        }
        desk.tx.commit().await?;
        self.line.heard().is_kept = false;
        Ok(())
    }
}
