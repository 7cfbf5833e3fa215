//! The timetable's turn: plans what the expressions ask for and does what is due, each in one transaction. One job that fails
//! is put off and the others go on.

use super::{Engine, Failure, guarded};
use crate::conversation::{Desk, outage, timetable};
use scheduler::clock::UtcSeconds;
use scheduler::planted::{self, Bug};
use scheduler::store::occurrences::{self, Due, Failed, Outcome, PLANNED_UNTIL};
use scheduler::store::{self, Tx, clock_back, settings};
use scheduler::timetable::{Lateness, Occurrence, decide_late, due_between, retry};
use tracing::Instrument;

/// From then on an occurrence counts as done late: the timetable is looked at twice a minute.
const LATE_SECONDS: i64 = 120;
/// A clock that was set back by so much was a little fast; planned further ahead than that, it was wrong.
const AHEAD_SECONDS: i64 = 15 * 60;
/// What `pinset check` says of a job whose name this program does not know.
const UNKNOWN: &str = "this version of the program does not know this job";

impl Engine {
    /// Plans what the cron expressions ask for up to now, and does everything that is due, oldest first. What fails by its
    /// own fault is put off.
    ///
    /// # Errors
    /// When the database does not answer; what is not done stays due.
    pub async fn do_due(&self) -> store::Result<usize> {
        self.tell_of_clock().await?;
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

    /// Lets every job that was put off be tried at once: whatever was wrong may have been mended before this start.
    ///
    /// # Errors
    /// Whatever the store fails with.
    pub async fn try_failed_again(&self) -> store::Result<()> {
        let mut tx = self.store.begin().await?;
        let count = occurrences::try_again(&mut tx).await?;
        tx.commit().await?;
        if count > 0 {
            tracing::info!(count, "jobs that failed before are tried again");
        }
        Ok(())
    }

    async fn plan_due(&self) -> store::Result<()> {
        let now = self.clock.now();
        let mut tx = self.store.begin_reading().await?;
        let mut seen_until = planned_until(&mut tx).await?;
        drop(tx);
        if let Some(ahead) = seen_until.filter(|then| then.since(now) > AHEAD_SECONDS) {
            self.go_back(ahead, now).await?;
            seen_until = Some(now);
        }
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
            occurrences::plan(&mut tx, &due).await?;
        }
        settings::put(&mut tx, PLANNED_UNTIL, &now.max(planned_until).get().to_string()).await?;
        tx.commit().await
    }

    /// The clock was ahead for a while: what is planned and put off by that reading is pulled back to the present.
    async fn go_back(&self, ahead: UtcSeconds, now: UtcSeconds) -> store::Result<()> {
        if planted::is_on(Bug::KeepPlannedUntil) {
            return Ok(());
        }
        let mut tx = self.store.begin().await?;
        let pulled_back = clock_back::pull_back(&mut tx, now).await?;
        settings::put(&mut tx, PLANNED_UNTIL, &now.get().to_string()).await?;
        tx.commit().await?;
        tracing::error!(planned_until = %ahead, pulled_back, "the clock was ahead; everything is planned anew from now on");
        self.outbox_filled.notify_one();
        Ok(())
    }

    /// The zone the timetable's expressions are read in.
    fn timetable_zone(&self) -> chrono_tz::Tz {
        if planted::is_on(Bug::TimetableInUtc) { chrono_tz::UTC } else { self.house.zone() }
    }

    /// Whether something was due.
    async fn do_first_due(&self) -> store::Result<bool> {
        let now = self.clock.now();
        let mut tx = self.store.begin_reading().await?;
        let first = occurrences::first_due(&mut tx, now).await?;
        drop(tx);
        let Some(first) = first else { return Ok(false) };
        let span = tracing::info_span!("occurrence", cause = first.key);
        self.try_due(first, now).instrument(span).await?;
        Ok(true)
    }

    async fn try_due(&self, due: Due, now: UtcSeconds) -> store::Result<()> {
        let Some(occurrence) = due.occurrence else {
            tracing::error!("{UNKNOWN}; it is kept");
            return self.put_off(&due, UNKNOWN, now).await;
        };
        match guarded(self.act_on(occurrence, &due, now)).await {
            Ok(()) => Ok(()),
            Err(Failure::Outage(error)) => Err(error),
            Err(Failure::Own(fault)) if planted::is_on(Bug::FailingJobBlocks) => {
                Err(store::Error::Unopened { why: fault })
            }
            Err(Failure::Own(fault)) => {
                tracing::error!(fault, tries = due.tries + 1, "a job failed; the others go on");
                self.watch.occurrence_ended("failed");
                self.put_off(&due, &fault, now).await
            }
        }
    }

    async fn put_off(&self, due: &Due, fault: &str, now: UtcSeconds) -> store::Result<()> {
        let tries = due.tries + 1;
        let next = retry::after(if due.occurrence.is_none() { retry::TRIES } else { tries });
        let mut tx = self.store.begin().await?;
        tx.caused_by(due.key.clone());
        let mut desk = Desk::new(tx, now, &self.house, None);
        let failed = Failed {
            fault,
            tries,
            try_at: now.plus_seconds(next.pause_seconds),
            aside_at: next.is_aside.then_some(now),
        };
        occurrences::put_off(&mut desk.tx, &due.key, failed).await?;
        if let Some(occurrence) = due.occurrence.filter(|_| next.is_aside && tries == retry::TRIES) {
            timetable::set_aside(&mut desk, &occurrence).await?;
        }
        desk.tx.commit().await
    }

    async fn act_on(&self, due: Occurrence, first: &Due, now: UtcSeconds) -> store::Result<()> {
        let mut tx = self.store.begin().await?;
        let house = self.house.of(&mut tx).await?;
        let mut desk = Desk::new(tx, now, &house, None);
        // Another copy of the program may have done it since it was looked for.
        if occurrences::first_due(&mut desk.tx, now).await?.is_none_or(|still| still.key != first.key) {
            return Ok(());
        }
        desk.tx.caused_by(first.key.clone());
        // Nobody is held to an answer while they cannot be reached.
        if self.line.down_since(now).is_some()
            && let Some(later) = outage::waits(&mut desk, due.job).await?
        {
            occurrences::delay(&mut desk.tx, &first.key, later).await?;
            return desk.tx.commit().await;
        }
        let outcome = match decide_late(now, due.due_at, due.useful_until) {
            Lateness::Missed => {
                timetable::missed(&mut desk, &due, first.tries > 0).await?;
                Outcome::Missed
            }
            Lateness::DoNow | Lateness::NotYet => {
                timetable::act(&mut desk, due.job).await?;
                Outcome::Done
            }
        };
        if planted::is_on(Bug::MarkOccurrenceApart) {
            desk.tx.commit().await?;
            desk.tx = self.store.begin().await?;
        }
        occurrences::finish(&mut desk.tx, &first.key, outcome, now).await?;
        desk.tx.commit().await?;
        let late_seconds = now.since(due.due_at);
        self.watch.occurrence_ended(match outcome {
            Outcome::Missed => "missed",
            _ if late_seconds > LATE_SECONDS => "late",
            _ => "in_time",
        });
        tracing::info!(job = due.job.name(), due_at = %due.due_at, late_seconds, ?outcome, "committed");
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
        let by_cron = self.jobs.iter().filter_map(|one| one.rhythm.next_after(now, self.timetable_zone())).min();
        Ok(planned.into_iter().chain(by_cron).min())
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
