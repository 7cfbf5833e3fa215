//! What the timetable does by itself: which job goes to which task, and for how long each is still worth doing late.

use super::audience::Audience;
use super::{Desk, Letter, cutoff, giving, joining, packing, surplus, telling, views};
use crate::config::Config;
use crate::wording::Args;
use scheduler::farm::giving::filling;
use scheduler::farm::warning;
use scheduler::store::occurrences::Planned;
use scheduler::store::{self, buttons, inbox, outbox, people};
use scheduler::timetable::{Expression, Job};

/// The jobs with a cron expression of their own.
pub fn jobs(config: &Config) -> Vec<Job> {
    let useful_minutes = |key: &str| match key {
        // A late cut-off still has to close the orders before the van leaves.
        "cutoff" => 36 * 60,
        "picking" | "packing" | "morning" => 10 * 60,
        _ => 24 * 60,
    };
    let mut jobs: Vec<Job> = config
        .rules
        .timetable
        .expressions()
        .into_iter()
        .map(|(key, text)| Job {
            name: key.to_owned(),
            expression: Expression::parse(text).expect("expressions are checked when the file is read"),
            useful_minutes: useful_minutes(key),
        })
        .collect();
    jobs.push(Job {
        name: "tidying".into(),
        expression: Expression::parse("30 3 * * *").expect("a cron expression"),
        useful_minutes: 24 * 60,
    });
    jobs
}

/// Does what is due.
///
/// # Errors
/// Whatever the store fails with.
pub async fn act(desk: &mut Desk<'_>, due: &Planned) -> store::Result<()> {
    act_on(desk, due).await?;
    telling::tell(desk).await
}

async fn act_on(desk: &mut Desk<'_>, due: &Planned) -> store::Result<()> {
    match due.job.as_str() {
        "cutoff" => cutoff::close_due(desk).await,
        cutoff::ANSWERS_END => cutoff::answers_end(desk, due).await,
        warning::LOOK => cutoff::warning::look(desk).await,
        "morning" => {
            cutoff::close_due(desk).await?;
            cutoff::warning::warn_early(desk).await?;
            filling::plan_all(&mut desk.farm()).await?;
            views::morning(desk).await
        }
        "picking" => packing::eve::remind(desk).await,
        "packing" => packing::list::morning(desk).await,
        "tidying" => tidy(desk).await,
        "count" | "offer_wave" | "offer_end" | "collect_end" | "along_end" => surplus::due(desk, due).await,
        filling::JOB | "drop_answer_end" | "drop_eve" | "drop_leave" | "drop_close" => giving::due(desk, due).await,
        other => {
            tracing::warn!(job = other, "no such job");
            Ok(())
        }
    }
}

/// Tells the family of something that was not done because the program did not run.
///
/// # Errors
/// Whatever the store fails with.
pub async fn missed(desk: &mut Desk<'_>, due: &Planned) -> store::Result<()> {
    // The morning looks at the coming deliveries anyway.
    if due.job == "tidying" || due.job == warning::LOOK {
        return Ok(());
    }
    let due_at = due.due_at;
    let job = due.job.clone();
    desk.tell_family(Audience::Keepers, |voice| {
        Letter::new(voice.say("timetable-missed", &Args::new().text("job", job.clone()).day_time("at", due_at)))
    })
    .await
}

/// Forgets what can no longer matter. The service keeps updates for a day and never gives a number again within a week (Bot API
/// reference, "getUpdates" and "Update"); void buttons and sent messages are kept a month, messages set aside a year.
async fn tidy(desk: &mut Desk<'_>) -> store::Result<()> {
    joining::group::look_at_all(desk).await?;
    people::forget_knocks_before(&mut desk.tx, desk.now.plus_minutes(-60 * 24)).await?;
    inbox::forget_before(&mut desk.tx, desk.now.plus_minutes(-60 * 24 * 14)).await?;
    let month_ago = desk.now.plus_minutes(-60 * 24 * 30);
    buttons::forget_void_before(&mut desk.tx, month_ago).await?;
    outbox::forget_before(&mut desk.tx, month_ago, desk.now.plus_minutes(-60 * 24 * 365)).await?;
    Ok(())
}
