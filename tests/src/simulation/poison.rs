//! A row that one job cannot read, and the job that is to read it: written past the program and taken away again.

use super::{Broken, failed};
use crate::poison::write;
use chrono_tz::Tz;
use scheduler::clock::UtcSeconds;
use scheduler::id::Id;
use scheduler::timetable::{Job, Look};

/// The identifier of what cannot be read; none of the program's own are so small.
const SUBJECT: i64 = 7;

pub(super) async fn put(url: &str, now: UtcSeconds, zone: Tz) -> Result<(), Broken> {
    let date = now.local_date(zone);
    let job = Job::DropFill { standing: Id::new(SUBJECT), date, look: Look::DayBefore };
    let (key, name, due_at) = (job.key(now), job.name(), now.get());
    for statement in [
        format!(
            "INSERT INTO standing_drop (id, partner_id, recurrence, opens_minute, state, proposed_at)
             SELECT {SUBJECT}, MIN(id), '', 540, 'mouldy', 0 FROM partner"
        ),
        format!(
            "INSERT INTO occurrence (key, job, subject, day, due_at, useful_until)
             VALUES ('{key}', '{name}', {SUBJECT}, '{date}', {due_at}, {due_at} + 600000)"
        ),
    ] {
        write(url, &statement).await.map_err(failed)?;
    }
    Ok(())
}

pub(super) async fn take_away(url: &str) -> Result<(), Broken> {
    for table in ["occurrence WHERE subject", "standing_drop WHERE id"] {
        write(url, &format!("DELETE FROM {table} = {SUBJECT}")).await.map_err(failed)?;
    }
    Ok(())
}
