//! How far the timetable says it has been planned: a reading that lies ahead of the clock keeps every job from being planned.

use super::super::backup::file::Value;
use super::super::occurrences::PLANNED_UNTIL;
use super::super::{Result, Tx, settings};
use super::{Deed, Fault};
use crate::clock::UtcSeconds;

/// A clock may have been set back by so much since.
const AHEAD_MINUTES: i64 = 15;

pub(super) async fn faults(tx: &mut Tx, now: UtcSeconds) -> Result<Vec<Fault>> {
    let Some(text) = settings::get(tx, PLANNED_UNTIL).await? else { return Ok(Vec::new()) };
    let what = match text.parse().map(UtcSeconds::new) {
        Ok(until) if until <= now.plus_minutes(AHEAD_MINUTES) => return Ok(Vec::new()),
        Ok(until) => {
            format!("setting (name {PLANNED_UNTIL}): the timetable is planned until {until}, which is ahead of now")
        }
        Err(_) => format!("setting (name {PLANNED_UNTIL}): {text:?} is no instant"),
    };
    Ok(vec![Fault {
        what,
        mend: "`pinset check --mend` sets it to the present, and jobs are planned again from now on".into(),
        by_itself: Some(Deed::new(
            "UPDATE setting SET value = $1 WHERE name = $2",
            vec![Value::Text(now.get().to_string()), Value::Text(PLANNED_UNTIL.into())],
            "set the timetable to be planned from now on",
        )),
    }])
}
