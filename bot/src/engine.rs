//! The one way through: an update or a due occurrence goes in, one transaction with state, messages and its mark comes
//! out. Whoever calls may be killed anywhere: what was committed stays, what was not happens again.

use crate::conversation::{self, Desk, timetable};
use crate::house::House;
use crate::incoming::{Incoming, What};
use crate::watch::Watch;
use scheduler::clock::{Clock, UtcSeconds};
use scheduler::planted::{self, Bug};
use scheduler::store::occurrences::{self, Outcome, Planned};
use scheduler::store::{self, Store, Tx, inbox, settings};
use scheduler::timetable::{Job, Lateness, decide_late, due_between};
use std::sync::Arc;
use std::time::Duration;
use tokio::sync::Notify;
use tracing::Instrument;

/// Up to when the timetable has been planned.
const PLANNED_UNTIL: &str = "timetable_planned_until";
/// From then on an occurrence counts as done late: the timetable is looked at twice a minute.
const LATE_SECONDS: i64 = 120;
/// How often the clock is looked at where nothing is due: somebody may have set it.
const LOOK_EVERY: Duration = Duration::from_secs(30);
/// Times a failing update is tried before it is set aside.
const UPDATE_TRIES_MAX: u32 = 4;

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
    jobs: Vec<Job>,
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

    /// Plans what the cron expressions ask for up to now, and does everything that is due, oldest first.
    ///
    /// # Errors
    /// Whatever the store fails with; what is not done stays due.
    pub async fn do_due(&self) -> store::Result<usize> {
        self.plan_due().await?;
        let mut done = 0;
        while self.do_first_due().await? {
            done += 1;
        }
        if done > 0 {
            self.outbox_filled.notify_one();
        }
        Ok(done)
    }

    async fn plan_due(&self) -> store::Result<()> {
        let now = self.clock.now();
        let mut tx = self.store.begin_reading().await?;
        let seen_until = planned_until(&mut tx).await?;
        drop(tx);
        // Every update asks; only a job that has come due since, or a new farm, is worth a write.
        let is_news =
            seen_until.is_none_or(|then| !due_between(&self.jobs, then, now, self.timetable_zone()).is_empty());
        if !is_news {
            return Ok(());
        }
        let mut tx = self.store.begin().await?;
        // A new farm has nothing to catch up with.
        let planned_until = planned_until(&mut tx).await?.unwrap_or(now);
        for due in due_between(&self.jobs, planned_until, now, self.timetable_zone()) {
            let planned = Planned {
                key: due.key(),
                job: due.job,
                subject: None,
                due_at: due.due_at,
                useful_until: due.useful_until,
            };
            occurrences::plan(&mut tx, &planned).await?;
        }
        settings::put(&mut tx, PLANNED_UNTIL, &now.max(planned_until).get().to_string()).await?;
        tx.commit().await
    }

    /// The zone the timetable's expressions are read in.
    fn timetable_zone(&self) -> chrono_tz::Tz {
        if planted::is_on(Bug::TimetableInUtc) { chrono_tz::UTC } else { self.house.zone() }
    }

    async fn do_first_due(&self) -> store::Result<bool> {
        let now = self.clock.now();
        let mut tx = self.store.begin_reading().await?;
        let is_due = occurrences::first_due(&mut tx, now).await?.is_some();
        drop(tx);
        if !is_due {
            return Ok(false);
        }
        let mut tx = self.store.begin().await?;
        let house = self.house.of(&mut tx).await?;
        let mut desk = Desk::new(tx, now, &house, None);
        let Some(due) = occurrences::first_due(&mut desk.tx, now).await? else { return Ok(false) };
        let span = tracing::info_span!("occurrence", cause = due.key);
        self.act_on(desk, due).instrument(span).await?;
        Ok(true)
    }

    async fn act_on(&self, mut desk: Desk<'_>, due: Planned) -> store::Result<()> {
        let now = desk.now;
        desk.tx.caused_by(due.key.clone());
        let outcome = match decide_late(now, due.due_at, due.useful_until) {
            Lateness::Missed => {
                timetable::missed(&mut desk, &due).await?;
                Outcome::Missed
            }
            Lateness::DoNow | Lateness::NotYet => {
                timetable::act(&mut desk, &due).await?;
                Outcome::Done
            }
        };
        if planted::is_on(Bug::MarkOccurrenceApart) {
            desk.tx.commit().await?;
            desk.tx = self.store.begin().await?;
        }
        occurrences::finish(&mut desk.tx, &due.key, outcome, now).await?;
        desk.tx.commit().await?;
        let late_seconds = now.since(due.due_at);
        self.watch.occurrence_ended(match outcome {
            Outcome::Missed => "missed",
            _ if late_seconds > LATE_SECONDS => "late",
            _ => "in_time",
        });
        tracing::info!(job = due.job, due_at = %due.due_at, late_seconds, ?outcome, "committed");
        Ok(())
    }

    /// When the timetable next has something to do, if ever.
    ///
    /// # Errors
    /// Whatever the store fails with.
    pub async fn next_due(&self) -> store::Result<Option<UtcSeconds>> {
        let now = self.clock.now();
        let mut tx = self.store.begin_reading().await?;
        let planned = occurrences::next_due(&mut tx).await?;
        let by_cron = self.jobs.iter().filter_map(|job| job.expression.next_after(now, self.timetable_zone())).min();
        Ok(planned.into_iter().chain(by_cron).min())
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

/// Up to when the timetable has been planned; `None` on a new farm.
///
/// # Errors
/// Whatever the store fails with.
pub async fn planned_until(tx: &mut Tx) -> store::Result<Option<UtcSeconds>> {
    let text = settings::get(tx, PLANNED_UNTIL).await?;
    Ok(text.and_then(|text| text.parse().ok()).map(UtcSeconds::new))
}
