//! One falling-due of one job. Rule: it is known by its job's key, so it can be recorded and done only once; found late, it
//! is done while still useful and otherwise recorded as missed.

use super::{Job, Rhythm};
use crate::clock::UtcSeconds;
use chrono_tz::Tz;

/// A job that falls due again and again.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Recurring {
    pub job: Job,
    pub rhythm: Rhythm,
    /// Minutes after it fell due for which it is still worth doing, at least 0.
    pub useful_minutes: i64,
}

/// One falling-due.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Occurrence {
    pub job: Job,
    pub due_at: UtcSeconds,
    /// The last instant at which doing it still helps; afterwards it is recorded as missed.
    pub useful_until: UtcSeconds,
}

impl Occurrence {
    /// Unique for good.
    pub fn key(&self) -> String {
        self.job.key(self.due_at)
    }
}

/// What to do about an occurrence at some instant.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Lateness {
    /// It is not due yet.
    NotYet,
    DoNow,
    /// Too late to help: record it and tell the family.
    Missed,
}

/// Whether an occurrence is still worth doing at `now`. Both ends count as in time.
pub fn decide_late(now: UtcSeconds, due_at: UtcSeconds, useful_until: UtcSeconds) -> Lateness {
    if now < due_at {
        Lateness::NotYet
    } else if now <= useful_until.max(due_at) {
        Lateness::DoNow
    } else {
        Lateness::Missed
    }
}

/// Every occurrence of `jobs` due after `after` and not later than `until`, by due instant, then by name.
pub fn due_between(jobs: &[Recurring], after: UtcSeconds, until: UtcSeconds, zone: Tz) -> Vec<Occurrence> {
    let mut due: Vec<Occurrence> = jobs
        .iter()
        .flat_map(|one| {
            one.rhythm.fires_between(after, until, zone).into_iter().map(|due_at| Occurrence {
                job: one.job,
                due_at,
                useful_until: due_at.plus_minutes(one.useful_minutes),
            })
        })
        .collect();
    due.sort_by(|a, b| a.due_at.cmp(&b.due_at).then_with(|| a.job.name().cmp(b.job.name())));
    due
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::timetable::Expression;
    use chrono_tz::America::Chicago;

    #[test]
    fn late_occurrences_are_done_while_useful() {
        let (due, useful) = (UtcSeconds::new(1000), UtcSeconds::new(4600));
        for (now, expected) in
            [(999, Lateness::NotYet), (1000, Lateness::DoNow), (4600, Lateness::DoNow), (4601, Lateness::Missed)]
        {
            assert_eq!(decide_late(UtcSeconds::new(now), due, useful), expected, "{now}");
        }
    }

    /// After a day without power: what fell due meanwhile, in order, each with its own key.
    #[test]
    fn downtime_leaves_each_occurrence_once() {
        let recurring = |job, text: &str, useful_minutes| Recurring {
            job,
            rhythm: Rhythm::Cron(Box::new(Expression::parse(text).expect("an expression"))),
            useful_minutes,
        };
        let jobs = [recurring(Job::Picking, "0 6 * * *", 240), recurring(Job::Cutoff, "0 18 * * TUE", 1440)];
        // Tuesday 24 November 2026 05:00 in Chicago until Wednesday 07:00.
        let (down, up) = (UtcSeconds::new(1_795_518_000), UtcSeconds::new(1_795_611_600));
        let due = due_between(&jobs, down, up, Chicago);
        let keys: Vec<String> = due.iter().map(Occurrence::key).collect();
        assert_eq!(
            keys,
            ["picking@2026-11-24T12:00:00Z", "cutoff@2026-11-25T00:00:00Z", "picking@2026-11-25T12:00:00Z"]
        );
        let decided: Vec<Lateness> = due.iter().map(|one| decide_late(up, one.due_at, one.useful_until)).collect();
        assert_eq!(decided, [Lateness::Missed, Lateness::DoNow, Lateness::DoNow]);
        // The next look begins where this one ended: nothing twice.
        assert!(due_between(&jobs, up, up.plus_minutes(60), Chicago).is_empty());
    }
}
