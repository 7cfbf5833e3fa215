//! Updates in: each acted on once, several at a time where that is cheap. While the database does not answer nothing is given
//! up on; an update that fails although the database works is set aside with an apology, so that it holds up nobody.

use super::lanes::{self, Arrival, Work};
use super::{Engine, Failure, cause_of, guarded};
use crate::conversation::{self, Desk};
use crate::incoming::{Incoming, What};
use scheduler::planted::{self, Bug};
use scheduler::store::{self, Tx, inbox, people};
use std::collections::VecDeque;
use std::time::Duration;
use tracing::Instrument;

/// Times an update that fails by its own fault is tried before it is set aside.
const TRIES_MAX: u32 = 4;

/// Updates that came together and are not all committed yet.
#[derive(Debug, Default)]
pub struct Queue {
    arrivals: Vec<Arrival>,
    works: VecDeque<Work>,
}

impl Queue {
    /// Everything the service gave at once, as it came.
    pub fn of(arrivals: Vec<Arrival>) -> Queue {
        Queue { arrivals, works: VecDeque::new() }
    }
}

impl Engine {
    /// Takes one update.
    ///
    /// # Errors
    /// When the database does not answer; the update must then be taken again.
    pub async fn take(&self, incoming: &Incoming) -> store::Result<()> {
        self.take_all(&mut Queue::of(vec![incoming.clone().into()])).await
    }

    /// Takes everything in the queue: what is committed leaves it.
    ///
    /// # Errors
    /// When the database does not answer: what is still in the queue must be taken later, and nothing of it may be confirmed
    /// to the service before.
    pub async fn take_all(&self, queue: &mut Queue) -> store::Result<()> {
        let taken = self.work_off(queue).await;
        self.watch.database_answers(taken.is_ok());
        self.outbox_filled.notify_one();
        self.timetable_moved.notify_one();
        taken
    }

    async fn work_off(&self, queue: &mut Queue) -> store::Result<()> {
        if !queue.arrivals.is_empty() {
            let chats = people::chats(&mut self.store.begin_reading().await?).await?;
            let arrivals = std::mem::take(&mut queue.arrivals);
            queue.works.extend(lanes::order(arrivals, |chat_id| chats.contains(&chat_id)));
        }
        while let Some(work) = queue.works.front() {
            match work {
                Work::One(incoming) => {
                    self.take_one(incoming).await?;
                    queue.works.pop_front();
                }
                Work::Together(arrivals) => match guarded(self.take_together(arrivals)).await {
                    Ok(()) => {
                        queue.works.pop_front();
                    }
                    Err(Failure::Outage(error)) => return Err(error),
                    Err(Failure::Own(fault)) => {
                        tracing::warn!(
                            fault,
                            count = arrivals.len(),
                            "updates failed together; each is taken by itself"
                        );
                        // What means nothing is not worth another try.
                        let singles: Vec<Incoming> = arrivals.iter().filter_map(|one| one.incoming.clone()).collect();
                        queue.works.pop_front();
                        singles.into_iter().rev().for_each(|single| queue.works.push_front(Work::One(single)));
                    }
                },
            }
        }
        Ok(())
    }

    async fn take_one(&self, incoming: &Incoming) -> store::Result<()> {
        let span = tracing::info_span!("update", cause = cause_of(incoming.update_id));
        self.take_within(incoming).instrument(span).await
    }

    async fn take_within(&self, incoming: &Incoming) -> store::Result<()> {
        // Of what people write nothing is logged.
        tracing::info!(kind = kind_of(&incoming.what), "received");
        let mut tries = 1;
        loop {
            let failure = match guarded(self.try_take(incoming)).await {
                Ok(is_new) => {
                    self.watch.update_ended(if is_new { "done" } else { "repeated" });
                    tracing::info!(is_new, "committed");
                    return Ok(());
                }
                Err(failure) => failure,
            };
            match failure {
                // Planted: an update that meets a database which does not answer is given up on.
                Failure::Outage(error) if !planted::is_on(Bug::GiveUpInOutage) => return Err(error),
                Failure::Own(fault) if tries < TRIES_MAX => {
                    tracing::warn!(tries, fault, "update failed, trying again");
                    tokio::time::sleep(Duration::from_millis(50 << tries)).await;
                    tries += 1;
                }
                Failure::Own(_) | Failure::Outage(_) => {
                    tracing::error!(%failure, "update set aside");
                    self.set_aside(incoming).await?;
                    self.watch.update_ended("set_aside");
                    return Ok(());
                }
            }
        }
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

    /// Takes several in one transaction, in this order.
    async fn take_together(&self, arrivals: &[Arrival]) -> store::Result<()> {
        let now = self.clock.now();
        let mut tx = self.store.begin().await?;
        let house = self.house.of(&mut tx).await?;
        let mut ends = Vec::with_capacity(arrivals.len());
        for arrival in arrivals {
            tx.caused_by(cause_of(arrival.update_id));
            let is_new = inbox::mark_seen(&mut tx, arrival.update_id, now).await?;
            let incoming = arrival.incoming.as_ref().filter(|_| is_new);
            if let Some(incoming) = incoming {
                let span = tracing::info_span!("update", cause = cause_of(incoming.update_id));
                let mut desk = Desk::new(tx, now, &house, Some(incoming.chat_id));
                conversation::converse(&mut desk, incoming).instrument(span).await?;
                tx = desk.tx;
            }
            ends.push(match (&arrival.incoming, is_new) {
                (None, _) => "meaningless",
                (Some(_), true) => "done",
                (Some(_), false) => "repeated",
            });
        }
        tx.commit().await?;
        tracing::info!(count = arrivals.len(), "committed together");
        ends.into_iter().for_each(|end| self.watch.update_ended(end));
        Ok(())
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
