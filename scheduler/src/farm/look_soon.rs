//! When the coming deliveries are looked at again for the early warning.

use super::Farm;
use crate::clock::UtcSeconds;
use crate::store;
use crate::store::occurrences;
use crate::timetable::{Job, Occurrence};

/// Orders of as many seconds are looked at together: a forecast is no work for every message.
const LOOK_SECONDS: i64 = 15 * 60;
/// Minutes for which a late look is still worth it.
const LOOK_USEFUL_MINUTES: i64 = 12 * 60;

/// Looks at the coming deliveries at the end of this quarter of an hour, since orders have changed.
///
/// # Errors
/// Whatever the store fails with.
pub async fn look_soon(farm: &mut Farm<'_>) -> store::Result<()> {
    let due_at = UtcSeconds::new((farm.now.get().div_euclid(LOOK_SECONDS) + 1) * LOOK_SECONDS);
    look_at(farm, due_at).await
}

/// Looks at the coming deliveries at `due_at`.
///
/// # Errors
/// Whatever the store fails with.
pub async fn look_at(farm: &mut Farm<'_>, due_at: UtcSeconds) -> store::Result<()> {
    let useful_until = due_at.plus_minutes(LOOK_USEFUL_MINUTES);
    occurrences::plan(farm.tx, &Occurrence { job: Job::EarlyWarning, due_at, useful_until }).await
}
