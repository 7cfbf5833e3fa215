//! What the timetable has to do and has done: each occurrence once, by its key.

use super::row::Columns;
use super::{Result, Tx};
use crate::clock::UtcSeconds;
use crate::id::Id;

/// One thing to do at one time.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Planned {
    /// Unique for good: the job with its due instant, or with its subject.
    pub key: String,
    pub job: String,
    /// What the job is about, where it is about one thing.
    pub subject: Option<Id>,
    pub due_at: UtcSeconds,
    /// Done late until then; afterwards recorded as missed.
    pub useful_until: UtcSeconds,
}

impl Planned {
    /// The one occurrence of `job` about `subject`.
    pub fn about(job: &str, subject: Id, due_at: UtcSeconds, useful_until: UtcSeconds) -> Planned {
        Planned { key: format!("{job} {subject}"), job: job.to_owned(), subject: Some(subject), due_at, useful_until }
    }
}

/// How an occurrence ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outcome {
    Done,
    Missed,
    CalledOff,
}

/// Plans an occurrence; a key that is already there is left as it is.
pub async fn plan(tx: &mut Tx, occurrence: &Planned) -> Result<()> {
    let query = sqlx::query(
        "INSERT INTO occurrence (key, job, subject, due_at, useful_until) VALUES ($1, $2, $3, $4, $5)
         ON CONFLICT (key) DO NOTHING",
    );
    let query = query.bind(occurrence.key.clone()).bind(occurrence.job.clone()).bind(occurrence.subject.map(Id::get));
    tx.execute(query.bind(occurrence.due_at.get()).bind(occurrence.useful_until.get())).await?;
    Ok(())
}

/// The occurrence that has been due the longest, if any is due.
pub async fn first_due(tx: &mut Tx, now: UtcSeconds) -> Result<Option<Planned>> {
    let query = sqlx::query(
        "SELECT key, job, subject, due_at, useful_until FROM occurrence
         WHERE outcome IS NULL AND due_at <= $1 ORDER BY due_at, key LIMIT 1",
    );
    let row = tx.optional(query.bind(now.get())).await?;
    row.map(|row| {
        Ok(Planned {
            key: row.text("key")?,
            job: row.text("job")?,
            subject: row.id_opt("subject")?,
            due_at: row.instant("due_at")?,
            useful_until: row.instant("useful_until")?,
        })
    })
    .transpose()
}

/// When the next occurrence is due, if one is planned.
pub async fn next_due(tx: &mut Tx) -> Result<Option<UtcSeconds>> {
    tx.one(sqlx::query("SELECT MIN(due_at) AS due FROM occurrence WHERE outcome IS NULL")).await?.instant_opt("due")
}

/// Records how an occurrence ended; `false` when that was recorded before.
pub async fn finish(tx: &mut Tx, key: &str, outcome: Outcome, now: UtcSeconds) -> Result<bool> {
    let query = sqlx::query("UPDATE occurrence SET acted_at = $2, outcome = $3 WHERE key = $1 AND outcome IS NULL");
    let outcome = match outcome {
        Outcome::Done => "done",
        Outcome::Missed => "missed",
        Outcome::CalledOff => "called_off",
    };
    Ok(tx.execute(query.bind(key.to_owned()).bind(now.get()).bind(outcome)).await? == 1)
}

/// Every occurrence that was done, in the order it was: job, due instant, when.
pub async fn done(tx: &mut Tx) -> Result<Vec<(String, UtcSeconds, UtcSeconds)>> {
    let query = sqlx::query(
        "SELECT job, due_at, acted_at FROM occurrence WHERE outcome = 'done' AND acted_at IS NOT NULL ORDER BY acted_at, key",
    );
    let rows = tx.all(query).await?;
    rows.iter().map(|row| Ok((row.text("job")?, row.instant("due_at")?, row.instant("acted_at")?))).collect()
}
