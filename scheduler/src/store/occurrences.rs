//! What the timetable has to do and has done: each occurrence once, by its key. One that fails is put off and, when it keeps
//! failing, set aside; one whose job this program does not know is kept. Neither holds up the others.

use super::row::Columns;
use super::{Result, Tx};
use crate::clock::UtcSeconds;
use crate::id::Id;
use crate::timetable::job::Stored;
use crate::timetable::{Job, Occurrence};

/// The setting that says up to when the timetable has been planned, UTC seconds.
pub const PLANNED_UNTIL: &str = "timetable_planned_until";

/// An occurrence that is due.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Due {
    pub key: String,
    /// What is to be done; `None` for a job that this program does not know.
    pub occurrence: Option<Occurrence>,
    /// How often it has failed.
    pub tries: i64,
}

/// A failure to be recorded.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Failed<'a> {
    /// What went wrong, without anything that somebody wrote.
    pub fault: &'a str,
    pub tries: i64,
    /// When it is tried again.
    pub try_at: UtcSeconds,
    /// Set aside at this instant.
    pub aside_at: Option<UtcSeconds>,
}

/// An occurrence that was set aside.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Aside {
    pub key: String,
    /// The job's name as it is stored.
    pub job: String,
    pub due_at: UtcSeconds,
    pub since: UtcSeconds,
    pub fault: String,
}

/// How an occurrence ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outcome {
    Done,
    Missed,
    CalledOff,
}

/// Plans an occurrence; a key that is already there is left as it is.
pub async fn plan(tx: &mut Tx, occurrence: &Occurrence) -> Result<()> {
    let query = sqlx::query(
        "INSERT INTO occurrence (key, job, subject, day, due_at, useful_until) VALUES ($1, $2, $3, $4, $5, $6)
         ON CONFLICT (key) DO NOTHING",
    );
    let Stored { name, subject, day } = occurrence.job.stored();
    let query = query.bind(occurrence.key()).bind(name).bind(subject.map(Id::get)).bind(day.map(|day| day.to_string()));
    tx.execute(query.bind(occurrence.due_at.get()).bind(occurrence.useful_until.get())).await?;
    Ok(())
}

/// The occurrence that has been due the longest and is not put off, if any is due.
pub async fn first_due(tx: &mut Tx, now: UtcSeconds) -> Result<Option<Due>> {
    let query = sqlx::query(
        "SELECT key, job, subject, day, due_at, useful_until, tries FROM occurrence
         WHERE outcome IS NULL AND due_at <= $1 AND (try_at IS NULL OR try_at <= $1) ORDER BY due_at, key LIMIT 1",
    );
    let row = tx.optional(query.bind(now.get())).await?;
    row.map(|row| {
        // A day that cannot be read makes the job one that is not known: it is kept, and the others go on.
        let day = row.day_opt("day").unwrap_or_default();
        let job = Job::read(&Stored { name: row.text("job")?, subject: row.id_opt("subject")?, day });
        let (due_at, useful_until) = (row.instant("due_at")?, row.instant("useful_until")?);
        let occurrence = job.map(|job| Occurrence { job, due_at, useful_until });
        Ok(Due { key: row.text("key")?, occurrence, tries: row.integer("tries")? })
    })
    .transpose()
}

/// When the next occurrence is due or tried again, if one is planned.
pub async fn next_due(tx: &mut Tx) -> Result<Option<UtcSeconds>> {
    let query = sqlx::query(
        "SELECT MIN(CASE WHEN try_at > due_at THEN try_at ELSE due_at END) AS due FROM occurrence WHERE outcome IS NULL",
    );
    tx.one(query).await?.instant_opt("due")
}

/// When the occurrence of this key is or was due, if it was ever planned.
pub async fn due_of(tx: &mut Tx, key: &str) -> Result<Option<UtcSeconds>> {
    let query = sqlx::query("SELECT due_at FROM occurrence WHERE key = $1").bind(key.to_owned());
    tx.optional(query).await?.map(|row| row.instant("due_at")).transpose()
}

/// Records that an occurrence failed; it is tried again later.
pub async fn put_off(tx: &mut Tx, key: &str, failed: Failed<'_>) -> Result<()> {
    let query = sqlx::query(
        "UPDATE occurrence SET tries = $2, try_at = $3, fault = $4, aside_at = COALESCE(aside_at, $5)
         WHERE key = $1 AND outcome IS NULL",
    );
    let query = query.bind(key.to_owned()).bind(failed.tries).bind(failed.try_at.get()).bind(failed.fault.to_owned());
    tx.execute(query.bind(failed.aside_at.map(UtcSeconds::get))).await?;
    Ok(())
}

/// What is set aside, the oldest first.
pub async fn aside(tx: &mut Tx) -> Result<Vec<Aside>> {
    let query = sqlx::query(
        "SELECT key, job, due_at, aside_at, fault FROM occurrence
         WHERE outcome IS NULL AND aside_at IS NOT NULL ORDER BY aside_at, key",
    );
    let rows = tx.all(query).await?;
    rows.iter()
        .map(|row| {
            Ok(Aside {
                key: row.text("key")?,
                job: row.text("job")?,
                due_at: row.instant("due_at")?,
                since: row.instant("aside_at")?,
                fault: row.text_opt("fault")?.unwrap_or_default(),
            })
        })
        .collect()
}

/// Lets everything that was put off be tried at once: the program was started anew, or the clock was set.
pub async fn try_again(tx: &mut Tx) -> Result<u64> {
    tx.execute(sqlx::query("UPDATE occurrence SET try_at = NULL WHERE outcome IS NULL AND try_at IS NOT NULL")).await
}

/// Another time for an occurrence that has not been acted on; it stays useful until then at least.
pub async fn delay(tx: &mut Tx, key: &str, due_at: UtcSeconds) -> Result<()> {
    let query = sqlx::query(
        "UPDATE occurrence SET due_at = $2, useful_until = CASE WHEN useful_until < $2 THEN $2 ELSE useful_until END
         WHERE key = $1 AND outcome IS NULL",
    );
    tx.execute(query.bind(key.to_owned()).bind(due_at.get())).await?;
    Ok(())
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

/// Whether the occurrence with this key was planned and has ended.
pub async fn is_over(tx: &mut Tx, key: &str) -> Result<bool> {
    let query = sqlx::query("SELECT key FROM occurrence WHERE key = $1 AND outcome IS NOT NULL");
    Ok(tx.optional(query.bind(key.to_owned())).await?.is_some())
}

/// Every occurrence that was done, in the order it was: job, due instant, when.
pub async fn done(tx: &mut Tx) -> Result<Vec<(String, UtcSeconds, UtcSeconds)>> {
    let query = sqlx::query(
        "SELECT job, due_at, acted_at FROM occurrence WHERE outcome = 'done' AND acted_at IS NOT NULL ORDER BY acted_at, key",
    );
    let rows = tx.all(query).await?;
    rows.iter().map(|row| Ok((row.text("job")?, row.instant("due_at")?, row.instant("acted_at")?))).collect()
}
