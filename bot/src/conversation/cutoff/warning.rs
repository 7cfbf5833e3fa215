//! The early warning: as soon as a coming delivery will more likely than not be short, the keepers hear which, by how much
//! and what would help, once for each news. Rule: a warning that has passed and comes back is news of another day, and is
//! said to come back; at night nobody looks, so that what is read in the morning holds then.

mod told;

use super::coming;
use crate::conversation::audience::Audience;
use crate::conversation::growing::plan;
use crate::conversation::{Desk, Letter, expected};
use crate::house::House;
use crate::wording::{Args, Voice};
use scheduler::allotment::warning::{Help, Risk, add_starts, risks, short};
use scheduler::clock::LocalDate;
use scheduler::farm::warning::look_at;
use scheduler::people::Role;
use scheduler::store;
use scheduler::store::{people, settings};
use told::{News, Told};

/// What has been told.
const TOLD: &str = "early_warning_told";
/// Deliveries looked ahead: what is soaked today is picked within them.
const DELIVERIES: usize = 4;
/// Shortages in one message, the nearest first: the service takes 4096 characters.
const RISKS_MAX: usize = 12;

/// Looks now, or when the first of the keepers is awake.
///
/// # Errors
/// Whatever the store fails with.
pub async fn look(desk: &mut Desk<'_>) -> store::Result<()> {
    let (now, zone) = (desk.now, desk.house.zone());
    let keepers = people::with_role(&mut desk.tx, Role::Keeper).await?;
    let awake_at = keepers.iter().map(|one| one.quiet.map_or(now, |quiet| quiet.awake_at(now, zone))).min();
    match awake_at.filter(|awake_at| *awake_at > now) {
        Some(awake_at) => look_at(&mut desk.farm(), awake_at).await,
        None => warn_early(desk).await,
    }
}

/// Warns the keepers of every open delivery for which more is asked than will likely be there.
///
/// # Errors
/// Whatever the store fails with.
pub async fn warn_early(desk: &mut Desk<'_>) -> store::Result<()> {
    let house = desk.house;
    let growth = expected::growth(desk).await?;
    let (mut open, mut found) = (Vec::new(), Vec::new());
    if let Some(coming) = coming::load(desk, &growth, DELIVERIES).await? {
        let level = house.config.rules.promise.level();
        // What is often skipped alarms nobody; what is said of the shortage is what stands in the book.
        let probable = short(coming.futures.draws(), &coming.likely, &coming.owed);
        if !probable.is_empty() {
            found = risks(coming.futures.draws(), (&coming.claims, &coming.owed), level);
        }
        found.retain(|risk| probable.iter().any(|one| (one.day, &one.crop) == (risk.day, &risk.crop)));
        add_starts(&mut found, &plan::growths(desk, &growth.learned).await?, desk.today());
        open = coming.open;
    }
    let today = desk.today();
    let before = settings::get(&mut desk.tx, TOLD).await?.unwrap_or_default();
    let mut told = Told::read(&before, today);
    let news: Vec<News> = found.iter().map(|risk| told.news_of(risk, today)).collect();
    told.settle(&found);
    let after = told.write();
    if after != before {
        settings::put(&mut desk.tx, TOLD, &after).await?;
    }
    let is_news = |(_, news): &(Risk, News)| *news != News::Known;
    let fresh: Vec<(Risk, News)> = found.into_iter().zip(news).filter(is_news).take(RISKS_MAX).collect();
    if fresh.is_empty() {
        return Ok(());
    }
    desk.tell_family(Audience::Keepers, |voice| {
        let mut lines = Vec::new();
        for delivery in &open {
            let of_day: Vec<&(Risk, News)> = fresh.iter().filter(|(risk, _)| risk.day == delivery.date).collect();
            if of_day.is_empty() {
                continue;
            }
            let cutoff_at = delivery.cutoff_at.unwrap_or(delivery.departs_at);
            let args = Args::new().date("day", delivery.date).day_time("cutoff", cutoff_at);
            lines.push(voice.say("warning-heading", &args));
            for (risk, news) in of_day {
                lines.extend(write(house, voice, (risk, *news), today));
            }
        }
        lines.push(voice.say("warning-help", &Args::new()));
        Letter::new(lines.join("\n"))
    })
    .await
}

fn write(house: &House, voice: &Voice, (risk, news): (&Risk, News), today: LocalDate) -> Vec<String> {
    let args = Args::new()
        .text("crop", house.crop_name(&risk.crop, voice))
        .weight("asked", risk.asked)
        .weight("likely", risk.likely())
        .weight("short", risk.short);
    let mut lines = vec![match news {
        News::Again => voice.say("warning-line-again", &args),
        News::Fresh | News::Known => voice.say("warning-line", &args),
    }];
    for help in &risk.helps {
        let args = Args::new();
        lines.push(match help {
            Help::Start { units, best_on, latest_on, .. } => {
                let args = plan::start_words(house, args, voice, (&risk.crop, *units));
                let args = args.day("best", *best_on, today).day("latest", *latest_on, today);
                voice.say("warning-start", &args)
            }
            Help::Swap { crop, grams } => {
                voice.say("warning-swap", &args.text("amount", house.amount(crop, *grams, voice)))
            }
            Help::Move { to, grams } => voice.say("warning-move", &args.date("day", *to).weight("weight", *grams)),
            Help::AskLess { each } => voice.say("warning-less", &args.weight("each", *each)),
        });
    }
    lines
}
