//! What a clock that was ahead for a while has left behind, pulled back to where it may be. Rule: nothing is put off for
//! longer than the program ever does by itself.

use super::{Result, Tx};
use crate::clock::UtcSeconds;

/// Longest a message is put off: the service's wish to wait, or the pause after a failure.
const MESSAGE_MINUTES: i64 = 6 * 60;
/// Longest a message is held for the end of somebody's quiet hours.
const HELD_MINUTES: i64 = 25 * 60;
/// Longest a sender holds a message.
const LEASE_MINUTES: i64 = 60;
/// Longest a job is put off.
const JOB_MINUTES: i64 = 6 * 60;
/// How long a question waits for a typed answer.
const QUESTION_MINUTES: i64 = 60;

/// Pulls back everything that lies further ahead of `now` than it may; how many rows.
///
/// What repeats and was marked as done for an instant that has not come yet will be done then.
pub async fn pull_back(tx: &mut Tx, now: UtcSeconds) -> Result<u64> {
    let mut count = 0;
    for (text, later_than, to) in [
        ("UPDATE outbox SET not_before = $2 WHERE sent_at IS NULL AND not_before > $1", MESSAGE_MINUTES, 0),
        ("UPDATE outbox SET leased_until = $2 WHERE sent_at IS NULL AND leased_until > $1", LEASE_MINUTES, 0),
        ("UPDATE held SET due_at = $2 WHERE due_at > $1", HELD_MINUTES, 0),
        ("UPDATE question SET asked_at = $1, expires_at = $2 WHERE asked_at > $1", 0, QUESTION_MINUTES),
        // A count that began in the future would go on until then.
        ("UPDATE knock SET first_at = $2, times = 0 WHERE first_at > $1", 0, 0),
        ("UPDATE occurrence SET try_at = $2 WHERE outcome IS NULL AND try_at > $1", JOB_MINUTES, 0),
    ] {
        let query = sqlx::query(text).bind(now.plus_minutes(later_than).get()).bind(now.plus_minutes(to).get());
        count += tx.execute(query).await?;
    }
    let done_early = sqlx::query(
        "DELETE FROM occurrence WHERE outcome IS NOT NULL AND subject IS NULL AND day IS NULL AND due_at > $1",
    );
    Ok(count + tx.execute(done_early.bind(now.get())).await?)
}
