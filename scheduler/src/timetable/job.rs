//! Everything the timetable can do by itself, with the day or the thing it is about inside.
//!
//! Rule: a job has one name and one key for good. The key is what makes it happen once; the name, the subject and the day
//! are what the store keeps, and [`Job::read`] takes them back. A name that this program does not know reads as `None`:
//! a newer program planned it, and it is kept for that one.

use crate::clock::{LocalDate, UtcSeconds};
use crate::id::Id;

/// When a regular drop is looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Look {
    /// On the day before.
    DayBefore,
    /// Before the driver leaves.
    BeforeLeaving,
}

/// One thing the timetable does.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Job {
    /// Close the orders of the coming delivery.
    Cutoff,
    /// Remind the family of what to pick.
    Picking,
    /// Send the packing list.
    Packing,
    /// Count what is left.
    Count,
    /// Say what the day brings.
    Morning,
    /// Forget what can no longer matter.
    Tidying,
    /// Look ahead for a shortage.
    EarlyWarning,
    /// End the time for answers to a shortage on this day.
    AnswersEnd(LocalDate),
    /// The van has left: what nobody called packed counts as packed.
    PackAssume(LocalDate),
    /// Ask how the run of this day went.
    RunAsk(LocalDate),
    /// The run of this day counts as delivered.
    RunAssume(LocalDate),
    /// Ask the buyers who were not asked first about this offer.
    OfferWave(Id),
    /// End this offer.
    OfferEnd(Id),
    /// Ask whether what was taken of this offer was fetched.
    CollectEnd(Id),
    /// Ask what became of this claim, which was to go along with a delivery.
    AlongEnd(Id),
    /// Fill this regular drop's date.
    DropFill { standing: Id, date: LocalDate, look: Look },
    /// End the time in which the food bank may answer about this drop.
    DropAnswerEnd(Id),
    /// Remind the driver of this drop the evening before.
    DropEve(Id),
    /// Remind the driver of this drop before leaving.
    DropLeave(Id),
    /// Ask what became of this drop.
    DropClose(Id),
}

/// A job as the store keeps it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stored {
    pub name: String,
    pub subject: Option<Id>,
    pub day: Option<LocalDate>,
}

impl Job {
    /// Its name, the same for good.
    pub const fn name(self) -> &'static str {
        match self {
            Job::Cutoff => "cutoff",
            Job::Picking => "picking",
            Job::Packing => "packing",
            Job::Count => "count",
            Job::Morning => "morning",
            Job::Tidying => "tidying",
            Job::EarlyWarning => "early_warning",
            Job::AnswersEnd(_) => "answers_end",
            Job::PackAssume(_) => "pack_assume",
            Job::RunAsk(_) => "run_ask",
            Job::RunAssume(_) => "run_assume",
            Job::OfferWave(_) => "offer_wave",
            Job::OfferEnd(_) => "offer_end",
            Job::CollectEnd(_) => "collect_end",
            Job::AlongEnd(_) => "along_end",
            Job::DropFill { look: Look::DayBefore, .. } => "drop_fill_eve",
            Job::DropFill { look: Look::BeforeLeaving, .. } => "drop_fill_leave",
            Job::DropAnswerEnd(_) => "drop_answer_end",
            Job::DropEve(_) => "drop_eve",
            Job::DropLeave(_) => "drop_leave",
            Job::DropClose(_) => "drop_close",
        }
    }

    /// What it is about, where it is about one thing.
    pub const fn subject(self) -> Option<Id> {
        match self {
            Job::OfferWave(id)
            | Job::OfferEnd(id)
            | Job::CollectEnd(id)
            | Job::AlongEnd(id)
            | Job::DropFill { standing: id, .. }
            | Job::DropAnswerEnd(id)
            | Job::DropEve(id)
            | Job::DropLeave(id)
            | Job::DropClose(id) => Some(id),
            Job::Cutoff
            | Job::Picking
            | Job::Packing
            | Job::Count
            | Job::Morning
            | Job::Tidying
            | Job::EarlyWarning
            | Job::AnswersEnd(_)
            | Job::PackAssume(_)
            | Job::RunAsk(_)
            | Job::RunAssume(_) => None,
        }
    }

    /// The day it is about, where it is about one.
    pub const fn day(self) -> Option<LocalDate> {
        match self {
            Job::AnswersEnd(day)
            | Job::PackAssume(day)
            | Job::RunAsk(day)
            | Job::RunAssume(day)
            | Job::DropFill { date: day, .. } => Some(day),
            _ => None,
        }
    }

    /// Whether it comes again and again: its due instant is then part of its key.
    pub const fn is_repeated(self) -> bool {
        self.subject().is_none() && self.day().is_none()
    }

    /// Unique for good: the job with its due instant in UTC, so that a change of zone cannot make two alike, or with what it
    /// is about.
    pub fn key(self, due_at: UtcSeconds) -> String {
        match self {
            Job::AnswersEnd(day) => format!("answers@{day}"),
            // Of what is due in one instant the least key goes first: a drop is filled before a reminder tells of it.
            Job::DropFill { standing, date, look: Look::DayBefore } => format!("drop_fill {standing} {date} eve"),
            Job::DropFill { standing, date, look: Look::BeforeLeaving } => format!("drop_fill {standing} {date} leave"),
            Job::PackAssume(day) | Job::RunAsk(day) | Job::RunAssume(day) => format!("{}@{day}", self.name()),
            _ => match self.subject() {
                Some(subject) => format!("{} {subject}", self.name()),
                None => format!("{}@{due_at}", self.name()),
            },
        }
    }

    /// What the store keeps of it.
    pub fn stored(self) -> Stored {
        Stored { name: self.name().to_owned(), subject: self.subject(), day: self.day() }
    }

    /// The job that was stored so; `None` when this program does not know it.
    pub fn read(stored: &Stored) -> Option<Job> {
        let about = |make: fn(Id) -> Job| stored.subject.map(make);
        let fill = |look| Some(Job::DropFill { standing: stored.subject?, date: stored.day?, look });
        match stored.name.as_str() {
            "cutoff" => Some(Job::Cutoff),
            "picking" => Some(Job::Picking),
            "packing" => Some(Job::Packing),
            "count" => Some(Job::Count),
            "morning" => Some(Job::Morning),
            "tidying" => Some(Job::Tidying),
            "early_warning" => Some(Job::EarlyWarning),
            "answers_end" => stored.day.map(Job::AnswersEnd),
            "pack_assume" => stored.day.map(Job::PackAssume),
            "run_ask" => stored.day.map(Job::RunAsk),
            "run_assume" => stored.day.map(Job::RunAssume),
            "offer_wave" => about(Job::OfferWave),
            "offer_end" => about(Job::OfferEnd),
            "collect_end" => about(Job::CollectEnd),
            "along_end" => about(Job::AlongEnd),
            "drop_fill_eve" => fill(Look::DayBefore),
            "drop_fill_leave" => fill(Look::BeforeLeaving),
            "drop_answer_end" => about(Job::DropAnswerEnd),
            "drop_eve" => about(Job::DropEve),
            "drop_leave" => about(Job::DropLeave),
            "drop_close" => about(Job::DropClose),
            _ => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn all() -> Vec<Job> {
        let (id, day) = (Id::new(77), "2026-06-06".parse().expect("a date"));
        vec![
            Job::Cutoff,
            Job::Picking,
            Job::Packing,
            Job::Count,
            Job::Morning,
            Job::Tidying,
            Job::EarlyWarning,
            Job::AnswersEnd(day),
            Job::PackAssume(day),
            Job::RunAsk(day),
            Job::RunAssume(day),
            Job::OfferWave(id),
            Job::OfferEnd(id),
            Job::CollectEnd(id),
            Job::AlongEnd(id),
            Job::DropFill { standing: id, date: day, look: Look::DayBefore },
            Job::DropFill { standing: id, date: day, look: Look::BeforeLeaving },
            Job::DropAnswerEnd(id),
            Job::DropEve(id),
            Job::DropLeave(id),
            Job::DropClose(id),
        ]
    }

    #[test]
    fn every_job_is_read_back_as_it_was_stored_and_has_a_key_of_its_own() {
        let due_at = UtcSeconds::new(1_795_518_000);
        let mut keys: Vec<String> = all().into_iter().map(|job| job.key(due_at)).collect();
        for job in all() {
            assert_eq!(Job::read(&job.stored()), Some(job));
        }
        keys.sort();
        keys.dedup();
        assert_eq!(keys.len(), all().len());
    }

    /// The keys of databases that exist: another key would let a job that was done happen once more.
    #[test]
    fn keys_are_those_of_databases_that_exist() {
        let due_at = UtcSeconds::new(1_795_518_000);
        let (id, day) = (Id::new(77), "2026-06-06".parse().expect("a date"));
        for (job, key) in [
            (Job::Cutoff, "cutoff@2026-11-24T11:00:00Z"),
            (Job::EarlyWarning, "early_warning@2026-11-24T11:00:00Z"),
            (Job::AnswersEnd(day), "answers@2026-06-06"),
            (Job::OfferEnd(id), "offer_end 77"),
            (Job::DropFill { standing: id, date: day, look: Look::DayBefore }, "drop_fill 77 2026-06-06 eve"),
            (Job::DropFill { standing: id, date: day, look: Look::BeforeLeaving }, "drop_fill 77 2026-06-06 leave"),
        ] {
            assert_eq!(job.key(due_at), key);
        }
        assert!("drop_fill 99" < "drop_leave 11", "the filling goes before the reminder that tells of it");
    }

    #[test]
    fn a_job_of_another_program_is_not_known() {
        let (id, day) = (Some(Id::new(1)), None);
        for name in ["bake_bread", "", "answers_end", "drop_fill_eve"] {
            assert_eq!(Job::read(&Stored { name: name.into(), subject: id, day }), None, "{name}");
        }
        assert_eq!(Job::read(&Stored { name: "offer_end".into(), subject: None, day }), None);
    }
}
