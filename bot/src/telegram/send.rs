//! Messages out: the outbox's oldest of each chat, several chats at a time and at the published pace, each marked when the
//! service has answered. A message whose answer was lost is sent again; no other ever is.
//!
//! What is to be sent is looked at without being taken ([`Sender::prepare`]); a message is taken only when its turn has come,
//! so that until then a newer version can still take its place.

mod record;
mod said;

use super::pace::Pace;
use super::service::Service;
use crate::engine::Engine;
use said::{Outcome, Sent, try_to_send};
use scheduler::planted::{self, Bug};
use scheduler::store::outbox::{self, Begun, Lane, PutBack, Ready, Waiting};
use scheduler::store::{self, held};
use std::collections::{BTreeMap, BTreeSet, VecDeque};
use std::sync::Arc;
use std::time::Duration;
use tokio::sync::watch;
use tokio::task::JoinSet;
use tracing::Instrument;

/// How long a message that was taken is held before another sender may take it.
const LEASE_MINUTES: i64 = 5;
/// Messages taken at a time, at least as many as may be on their way.
const TAKEN_MAX: usize = 16;
/// Messages looked at: those of chats that must wait a little are among them.
const LOOKED_AT_MAX: i64 = 96;
/// A record that fails although the database answers is tried so often.
const RECORD_TRIES_MAX: u32 = 4;
/// While so many are looked at, an ended message is no reason to look again.
const LOOKED_AT_LEAST: usize = 8;

/// A message that has come to an end for now.
#[derive(Clone, Copy, Debug)]
struct Delivered {
    message: Ready,
    /// The service's wish, seconds, and whether it is about this chat alone.
    wish: Option<(u64, bool)>,
}

/// What goes out, in which order and when.
pub struct Sender<S> {
    service: Arc<S>,
    engine: Arc<Engine>,
    pace: Pace,
    /// May go as far as the outbox is concerned, in the order of going.
    next: Vec<Ready>,
    /// Whether there may be more than that.
    is_more: bool,
    /// Taken and not begun.
    taken: VecDeque<Waiting>,
    /// Taken before their turn; only where that fault is planted.
    early: Vec<Waiting>,
    /// Taken or on their way: a lease that ran out while its message was here lets nobody take it again.
    in_hand: BTreeSet<scheduler::id::Id>,
    /// Perhaps taken: the commit that took them failed, which may also mean that it was done.
    doubtful: Vec<scheduler::id::Id>,
}

/// What one round did.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Round {
    /// Messages tried.
    pub tried: usize,
    /// When the pace lets the next go, by [`scheduler::clock::Clock::elapsed`]; `None` when nothing waits for the pace.
    pub waits_until: Option<Duration>,
}

impl<S: Service> Sender<S> {
    pub fn new(service: S, engine: Arc<Engine>, pace: Pace) -> Sender<S> {
        Sender {
            service: Arc::new(service),
            engine,
            pace,
            next: Vec::new(),
            is_more: true,
            taken: VecDeque::new(),
            early: Vec::new(),
            in_hand: BTreeSet::new(),
            doubtful: Vec::new(),
        }
    }

    /// Sends what may go now, one after the other. For whoever drives the sender step by step.
    ///
    /// # Errors
    /// Whatever the store fails with; what was taken waits until its lease ends.
    pub async fn round(&mut self) -> store::Result<Round> {
        self.is_more = true;
        let mut tried = 0;
        loop {
            self.prepare().await?;
            if self.taken.is_empty() {
                return Ok(Round { tried, waits_until: self.waits_until() });
            }
            while let Some(waiting) = self.taken.pop_front() {
                let message = message_of(&waiting);
                let outcome = deliver_once(&*self.service, &self.engine, &waiting).instrument(span_of(&waiting)).await;
                let wish = outcome.as_ref().map_or(None, |outcome| wish_of(outcome, &waiting));
                self.ended(Delivered { message, wish });
                tried += 1;
                if let Err(error) = outcome {
                    for waiting in std::mem::take(&mut self.taken) {
                        self.ended(Delivered { message: message_of(&waiting), wish: None });
                    }
                    return Err(error);
                }
            }
        }
    }

    /// Looks at what waits, where that is needed, and takes what may go now.
    async fn prepare(&mut self) -> store::Result<()> {
        if !self.doubtful.is_empty() {
            self.give_back().await?;
        }
        if self.is_more {
            self.look().await?;
        }
        let now = self.engine.clock.elapsed();
        // At a pace no more than can go at once: what is asked for meanwhile may still hold the others back.
        let most = if self.pace.is_off() { TAKEN_MAX } else { self.pace.at_once() };
        let room = most.saturating_sub(self.in_hand.len());
        self.go_early(now);
        let (mut begun, mut kept) = (Vec::new(), Vec::new());
        for message in std::mem::take(&mut self.next) {
            if begun.len() < room && self.may_go(&message, now) {
                if message.lane == Lane::Chat {
                    self.pace.start(message.chat_id);
                }
                begun.push(message);
            } else {
                kept.push(message);
            }
        }
        self.next = kept;
        if planted::is_on(Bug::TakeBeforeTurn) {
            let waiting = std::mem::take(&mut self.next);
            let early = self.take(&waiting).await?;
            self.early.extend(early);
        }
        if begun.is_empty() {
            return Ok(());
        }
        let taken = self.take(&begun).await;
        for message in &begun {
            let is_taken = taken.as_ref().is_ok_and(|taken| taken.iter().any(|one| one.id == message.id));
            if !is_taken && message.lane == Lane::Chat {
                self.pace.call_off(message.chat_id);
                self.is_more = true;
            }
        }
        if taken.is_err() {
            self.doubtful.extend(begun.iter().map(|message| message.id));
        }
        let taken = taken?;
        self.in_hand.extend(taken.iter().map(|waiting| waiting.id));
        self.taken.extend(taken);
        Ok(())
    }

    fn may_go(&mut self, message: &Ready, now: Duration) -> bool {
        match message.lane {
            Lane::Chat => self.pace.room(now) > 0 && self.pace.chat_ready_at(message.chat_id, message.is_answer) <= now,
            Lane::Menu | Lane::Press => self.pace.paused_until() <= now,
        }
    }

    /// Gives back what is perhaps held and not in hand, so that nobody waits for the end of a lease.
    async fn give_back(&mut self) -> store::Result<()> {
        let mut tx = self.engine.store.begin().await?;
        for id in &self.doubtful {
            outbox::release_lease(&mut tx, *id).await?;
        }
        tx.commit().await?;
        self.doubtful.clear();
        self.is_more = true;
        Ok(())
    }

    /// Looks at what waits. Writes only where something held has come due.
    async fn look(&mut self) -> store::Result<()> {
        self.is_more = false;
        let now = self.engine.clock.now();
        let mut tx = self.engine.store.begin_reading().await?;
        if held::next_due(&mut tx).await?.is_some_and(|due| due <= now) {
            drop(tx);
            tx = self.engine.store.begin().await?;
            held::release_due(&mut tx, now).await?;
            tx.commit().await?;
            tx = self.engine.store.begin_reading().await?;
        }
        let ready = outbox::ready(&mut tx, now, LOOKED_AT_MAX).await?;
        drop(tx);
        self.next = ready.into_iter().filter(|message| !self.in_hand.contains(&message.id)).collect();
        Ok(())
    }

    /// Planted: what was taken before its turn goes when that has come, whatever has become of its lease.
    fn go_early(&mut self, now: Duration) {
        for waiting in std::mem::take(&mut self.early) {
            let message = message_of(&waiting);
            if self.may_go(&message, now) {
                if message.lane == Lane::Chat {
                    self.pace.start(message.chat_id);
                }
                self.in_hand.insert(waiting.id);
                self.taken.push_back(waiting);
            } else {
                self.early.push(waiting);
            }
        }
    }

    /// Takes these, if they are still there.
    async fn take(&self, messages: &[Ready]) -> store::Result<Vec<Waiting>> {
        let now = self.engine.clock.now();
        let mut tx = self.engine.store.begin().await?;
        let mut taken = Vec::new();
        for message in messages {
            match outbox::begin(&mut tx, message.id, (now, now.plus_minutes(LEASE_MINUTES))).await? {
                Begun::Taken(waiting) => {
                    if planted::is_on(Bug::MarkSentBeforeSending) {
                        outbox::mark_sent(&mut tx, waiting.id, now).await?;
                    }
                    taken.push(waiting);
                }
                Begun::TooLate => {
                    tracing::warn!(outbox_id = message.id.get(), "of use no more: left out");
                    self.engine.watch.message_ended("left_out");
                }
                Begun::Gone => {}
            }
        }
        tx.commit().await?;
        Ok(taken)
    }

    fn ended(&mut self, delivered: Delivered) {
        let Delivered { message, wish } = delivered;
        let now = self.engine.clock.elapsed();
        self.in_hand.remove(&message.id);
        if message.lane == Lane::Chat {
            self.pace.end(message.chat_id, now);
        }
        if let Some((seconds, is_of_chat)) = wish {
            self.pace.wish(is_of_chat.then_some(message.chat_id), (now, now + Duration::from_secs(seconds)));
        }
        self.is_more |= self.next.len() < LOOKED_AT_LEAST;
    }

    /// When the pace lets the next message go; `None` when none waits for it.
    fn waits_until(&mut self) -> Option<Duration> {
        let now = self.engine.clock.elapsed();
        let ready_at = |message: &Ready| match message.lane {
            Lane::Chat => self.pace.chat_ready_at(message.chat_id, message.is_answer),
            Lane::Menu | Lane::Press => self.pace.paused_until(),
        };
        let early = self.early.iter().map(|waiting| ready_at(&message_of(waiting)));
        let first = self.next.iter().map(ready_at).chain(early).min()?;
        let room_at = if self.pace.room(now) == 0 { self.pace.next_room() } else { Duration::ZERO };
        Some(first.max(room_at)).filter(|at| *at < Duration::MAX)
    }
}

/// Sends until `stop` says so.
pub async fn run<S: Service>(service: S, engine: Arc<Engine>, mut stop: watch::Receiver<bool>, pace: Pace) {
    if let Err(error) = release(&engine).await {
        tracing::error!(%error, "the outbox cannot be read");
    }
    let mut sender = Sender::new(service, Arc::clone(&engine), pace);
    // Tasks of their own: each holds the farm's write lock for a moment, and asking for more must not wait for it here.
    let mut in_flight = JoinSet::new();
    let mut by_task = BTreeMap::new();
    loop {
        engine.watch.sender_lives();
        let is_stopping = *stop.borrow();
        if is_stopping && in_flight.is_empty() {
            // What was taken and not begun is released by the next start.
            return;
        }
        if !is_stopping && let Err(error) = sender.prepare().await {
            tracing::error!(%error, "sending stopped at the database; trying again");
            sender.is_more = true;
            tokio::time::sleep(Duration::from_secs(1)).await;
        }
        while !is_stopping && in_flight.len() < sender.pace.at_once() {
            let Some(waiting) = sender.taken.pop_front() else { break };
            let message = message_of(&waiting);
            let span = span_of(&waiting);
            let (service, engine) = (Arc::clone(&sender.service), Arc::clone(&engine));
            let delivery = deliver(service, engine, waiting.clone(), stop.clone()).instrument(span);
            by_task.insert(in_flight.spawn(delivery).id(), (message, waiting));
        }
        let waits_until = sender.waits_until();
        let is_at_rest = in_flight.is_empty() && sender.taken.is_empty();
        engine.paced_until.send_replace(waits_until.filter(|_| is_at_rest));
        let wait = match waits_until {
            Some(at) => {
                at.saturating_sub(engine.clock.elapsed()).clamp(Duration::from_millis(1), Duration::from_secs(1))
            }
            None if is_at_rest => wait_for_next(&engine).await,
            None => Duration::from_secs(1),
        };
        let ended = tokio::select! {
            Some(ended) = in_flight.join_next_with_id(), if !in_flight.is_empty() => Some(ended),
            () = engine.outbox_filled.notified() => {
                sender.is_more = true;
                None
            }
            () = tokio::time::sleep(wait) => {
                sender.is_more |= sender.next.is_empty();
                None
            }
            _ = stop.wait_for(|stopping| *stopping), if !is_stopping => None,
        };
        let Some(ended) = ended else { continue };
        let task = ended.as_ref().map_or_else(tokio::task::JoinError::id, |(task, _)| *task);
        let Some((message, waiting)) = by_task.remove(&task) else { continue };
        let wish = match ended {
            Ok((_, wish)) => wish,
            Err(error) => {
                broke(&engine, waiting, &error).await;
                None
            }
        };
        sender.ended(Delivered { message, wish });
    }
}

/// A message broke the task that sent it. Whether it arrived is not known: it is set aside and told of rather than sent
/// again and again.
async fn broke(engine: &Engine, waiting: Waiting, error: &tokio::task::JoinError) {
    tracing::error!(outbox_id = waiting.id.get(), %error, "a message broke the sender");
    let outcome = Outcome { sent: Sent::Refused { reason: "it broke the sender".into() }, card: None };
    if let Err(error) = record::record(engine, &waiting, outcome).await {
        tracing::error!(%error, "what became of it is not recorded");
    }
}

fn message_of(waiting: &Waiting) -> Ready {
    Ready { id: waiting.id, chat_id: waiting.chat_id, lane: waiting.lane, is_answer: waiting.is_answer }
}

/// Every line about a message names it and what it was written for.
fn span_of(waiting: &Waiting) -> tracing::Span {
    tracing::info_span!("message", cause = waiting.cause, outbox_id = waiting.id.get())
}

/// Seconds the service asks to wait, and whether it means this chat: an answer to a press names none.
fn wish_of(outcome: &Outcome, waiting: &Waiting) -> Option<(u64, bool)> {
    if planted::is_on(Bug::IgnoreRetryAfter) {
        return None;
    }
    match &outcome.sent {
        // Menus have a limit of their own.
        Sent::Later { seconds, why: PutBack::Wish, .. } if waiting.lane != Lane::Menu => {
            Some((seconds.unsigned_abs(), waiting.lane == Lane::Chat))
        }
        _ => None,
    }
}

/// Sends one message and records what became of it; the service's wish, if it has one.
/// Sends a message and records what became of it, however long the database is out meanwhile: a message that is not recorded
/// as sent would be sent again. Ends before that only with the program.
async fn deliver<S: Service>(
    service: Arc<S>,
    engine: Arc<Engine>,
    waiting: Waiting,
    stop: watch::Receiver<bool>,
) -> Option<(u64, bool)> {
    let mut pauses = [50, 200, 800].into_iter().chain(std::iter::repeat(2000));
    let mut own_faults = 0;
    let mut outcome = None;
    loop {
        let done = match &outcome {
            // The service was not called yet.
            None => try_to_send(&*service, &engine, &waiting).await.map(|tried| outcome = Some(tried)),
            Some(outcome) => match record::record(&engine, &waiting, outcome.clone()).await {
                Ok(()) => break,
                error => error,
            },
        };
        let Err(error) = done else { continue };
        tracing::error!(%error, "what became of it is not recorded");
        own_faults += u32::from(!error.is_outage());
        if own_faults > RECORD_TRIES_MAX || matches!(error, store::Error::Lost { .. }) || *stop.borrow() {
            break;
        }
        tokio::time::sleep(Duration::from_millis(pauses.next().unwrap_or_default())).await;
    }
    outcome.as_ref().and_then(|outcome| wish_of(outcome, &waiting))
}

async fn deliver_once<S: Service>(service: &S, engine: &Engine, waiting: &Waiting) -> store::Result<Outcome> {
    let outcome = try_to_send(service, engine, waiting).await?;
    record::record(engine, waiting, outcome.clone()).await?;
    Ok(outcome)
}

/// Gives back what the last run had in hand; before the first sending, and only by whoever holds the database alone.
///
/// # Errors
/// Whatever the store fails with.
pub async fn release(engine: &Engine) -> store::Result<()> {
    let mut tx = engine.store.begin().await?;
    outbox::release_leases(&mut tx).await?;
    tx.commit().await
}

async fn wait_for_next(engine: &Engine) -> Duration {
    let due = async {
        let mut tx = engine.store.begin_reading().await?;
        outbox::next_due(&mut tx).await
    };
    match due.await {
        Ok(Some(due)) => {
            let seconds = due.since(engine.clock.now()).max(1);
            Duration::from_secs(seconds.unsigned_abs()).min(engine.look_every)
        }
        _ => engine.look_every,
    }
}
