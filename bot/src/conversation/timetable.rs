//! What the timetable does by itself: which job goes to which task.

use super::audience::Audience;
use super::{Desk, Letter, cutoff, joining, packing, telling, views};
use crate::wording::{Args, key};
use scheduler::clock::UtcSeconds;
use scheduler::farm::giving::{answering, filling, handing_over};
use scheduler::farm::surplus::{claims, offering, rules};
use scheduler::farm::{closing, forgotten, warning};
use scheduler::store::{self, ages, occurrences};
use scheduler::surplus::drop::Reminder;
use scheduler::timetable::{Job, Occurrence};

/// Rows of one kind that a tidying takes away.
const TIDIED_AT_ONCE: i64 = 2000;

/// Does what is due.
///
/// # Errors
/// Whatever the store fails with.
pub async fn act(desk: &mut Desk<'_>, job: Job) -> store::Result<()> {
    // On the heap: what a job holds while it waits is large.
    Box::pin(act_on(desk, job)).await?;
    telling::tell(desk).await
}

async fn act_on(desk: &mut Desk<'_>, job: Job) -> store::Result<()> {
    let farm = &mut desk.farm();
    let events = match job {
        Job::Cutoff => return Box::pin(cutoff::close_due(desk)).await,
        Job::AnswersEnd(day) => Box::pin(closing::answers_end(farm, day)).await?,
        Job::PackAssume(day) => forgotten::assume_packed(farm, day).await?,
        Job::RunAsk(day) => forgotten::ask_run(farm, day).await?,
        Job::RunAssume(day) => Box::pin(forgotten::assume_delivered(farm, day)).await?,
        Job::EarlyWarning => Box::pin(warning::look(farm)).await?,
        Job::Morning => {
            Box::pin(cutoff::close_due(desk)).await?;
            let events = Box::pin(warning::warn_early(&mut desk.farm())).await?;
            desk.happened(events);
            telling::tell(desk).await?;
            filling::plan_all(&mut desk.farm()).await?;
            Box::pin(views::morning(desk)).await?;
            Box::pin(forgotten::each_morning(&mut desk.farm())).await?
        }
        Job::Picking => return Box::pin(packing::eve::remind(desk)).await,
        Job::Packing => return Box::pin(packing::list::morning(desk)).await,
        Job::Tidying => return tidy(desk).await,
        Job::Count => rules::count(farm).await?,
        Job::OfferWave(offer) => offering::next_wave(farm, offer).await?,
        Job::OfferEnd(offer) => offering::end(farm, offer).await?,
        Job::CollectEnd(offer) => claims::uncollected(farm, offer).await?,
        Job::AlongEnd(claim) => claims::left_behind(farm, claim).await?,
        Job::DropFill { .. } | Job::DropAnswerEnd(_) | Job::DropEve(_) | Job::DropLeave(_) | Job::DropClose(_) => {
            return Box::pin(give(desk, job)).await;
        }
    };
    desk.happened(events);
    Ok(())
}

/// The timetable's part in giving.
async fn give(desk: &mut Desk<'_>, job: Job) -> store::Result<()> {
    let farm = &mut desk.farm();
    let events = match job {
        Job::DropFill { standing, date, look } => filling::due(farm, standing, (date, look)).await?,
        Job::DropAnswerEnd(drop) => answering::silent(farm, drop).await?,
        Job::DropEve(drop) => handing_over::remind(farm, drop, Reminder::Evening).await?,
        Job::DropLeave(drop) => handing_over::remind(farm, drop, Reminder::Leaving).await?,
        Job::DropClose(drop) => handing_over::ask_after(farm, drop).await?,
        _ => return Ok(()),
    };
    desk.happened(events);
    Ok(())
}

/// Tells the keepers of something that was not done because the program did not run, or because it failed until it was of
/// no more use.
///
/// # Errors
/// Whatever the store fails with.
pub async fn missed(desk: &mut Desk<'_>, due: &Occurrence, has_failed: bool) -> store::Result<()> {
    // The morning looks at the coming deliveries anyway.
    if matches!(due.job, Job::Tidying | Job::EarlyWarning) {
        return Ok(());
    }
    let text_key = if has_failed { key("timetable-given-up") } else { key("timetable-missed") };
    tell_of(desk, (due.job, due.due_at), text_key).await
}

/// Tells the keepers that a job keeps failing and is set aside; the others go on.
///
/// # Errors
/// Whatever the store fails with.
pub async fn set_aside(desk: &mut Desk<'_>, due: &Occurrence) -> store::Result<()> {
    tell_of(desk, (due.job, due.due_at), key("timetable-aside")).await
}

async fn tell_of(desk: &mut Desk<'_>, (job, at): (Job, UtcSeconds), text_key: &'static str) -> store::Result<()> {
    desk.tell_family(Audience::Keepers, |voice| {
        let name = voice.say("job-name", &Args::new().text("job", job.name()));
        Letter::new(voice.say(text_key, &Args::new().said("job", name).day_time("at", at)))
    })
    .await
}

/// Takes away what has come of age, so many rows at a time: what is left is due again in a minute, and whoever orders
/// meanwhile is served in between.
async fn tidy(desk: &mut Desk<'_>) -> store::Result<()> {
    joining::group::look_at_all(desk).await?;
    let (now, zone) = (desk.now, desk.house.zone());
    if ages::tidy(&mut desk.tx, (now, zone), TIDIED_AT_ONCE).await? {
        let due_at = now.plus_minutes(1);
        let again = Occurrence { job: Job::Tidying, due_at, useful_until: due_at.plus_minutes(24 * 60) };
        occurrences::plan(&mut desk.tx, &again).await?;
    }
    Ok(())
}
