//! The early warning: as soon as a coming delivery will more likely than not be short, the keepers hear which, by how much
//! and what would help, once for each news.

use super::coming;
use crate::conversation::desk::Audience;
use crate::conversation::growing::plan;
use crate::conversation::{Desk, Letter, expected};
use crate::house::House;
use crate::wording::{Args, Voice};
use scheduler::allotment::warning::{Help, Risk, add_starts, risks, short};
use scheduler::clock::{LocalDate, UtcSeconds};
use scheduler::store;
use scheduler::store::occurrences::{self, Planned};
use scheduler::store::settings;
use std::collections::BTreeSet;

/// What was last told.
const TOLD: &str = "early_warning_told";
/// Deliveries looked ahead: what is soaked today is picked within them.
const DELIVERIES: usize = 4;
/// Shortages in one message, the nearest first: the service takes 4096 characters.
const RISKS_MAX: usize = 12;

/// The occurrence that looks at the coming deliveries once orders have changed.
pub const LOOK: &str = "early_warning";
/// Orders of as many seconds are looked at together: a forecast is no work for every message.
const LOOK_SECONDS: i64 = 15 * 60;
/// Minutes for which a late look is still worth it.
const LOOK_USEFUL_MINUTES: i64 = 12 * 60;

/// Looks at the coming deliveries at the end of this quarter of an hour, since orders have changed.
///
/// # Errors
/// Whatever the store fails with.
pub async fn look_soon(desk: &mut Desk<'_>) -> store::Result<()> {
    let due_at = UtcSeconds::new((desk.now.get().div_euclid(LOOK_SECONDS) + 1) * LOOK_SECONDS);
    let planned = Planned {
        key: format!("{LOOK}@{due_at}"),
        job: LOOK.into(),
        subject: None,
        due_at,
        useful_until: due_at.plus_minutes(LOOK_USEFUL_MINUTES),
    };
    occurrences::plan(&mut desk.tx, &planned).await
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
        let level = house.config.promise.level();
        // What is often skipped alarms nobody; what is said of the shortage is what stands in the book.
        let probable = short(coming.futures.draws(), &coming.likely, &coming.owed);
        if !probable.is_empty() {
            found = risks(coming.futures.draws(), (&coming.claims, &coming.owed), level);
        }
        found.retain(|risk| probable.iter().any(|one| (one.day, &one.crop) == (risk.day, &risk.crop)));
        add_starts(&mut found, &plan::growths(desk, &growth.learned).await?, desk.today());
        open = coming.open;
    }
    let told = settings::get(&mut desk.tx, TOLD).await?.unwrap_or_default();
    let news: Vec<String> = found.iter().map(news_of).collect();
    if news.join("\n") == told {
        return Ok(());
    }
    settings::put(&mut desk.tx, TOLD, &news.join("\n")).await?;
    let told: BTreeSet<&str> = told.lines().collect();
    let is_new = |(_, news): &(Risk, String)| !told.contains(news.as_str());
    let fresh: Vec<Risk> = found.into_iter().zip(news).filter(is_new).map(|(risk, _)| risk).take(RISKS_MAX).collect();
    if fresh.is_empty() {
        return Ok(());
    }
    let today = desk.today();
    desk.tell_family(Audience::Keepers, |voice| {
        let mut lines = Vec::new();
        for delivery in &open {
            let of_day: Vec<&Risk> = fresh.iter().filter(|risk| risk.day == delivery.date).collect();
            if of_day.is_empty() {
                continue;
            }
            let cutoff_at = delivery.cutoff_at.unwrap_or(delivery.departs_at);
            let args = Args::new().date("day", delivery.date).day_time("cutoff", cutoff_at);
            lines.push(voice.say("warning-heading", &args));
            for risk in of_day {
                lines.extend(write(house, voice, risk, today));
            }
        }
        lines.push(voice.say("warning-help", &Args::new()));
        Letter::new(lines.join("\n"))
    })
    .await
}

/// The forecast moves a little every day: what has become another quarter of the order is news.
fn news_of(risk: &Risk) -> String {
    let quarters = i128::from(risk.short.get()) * 4 / i128::from(risk.asked.get().max(1));
    format!("{} {} {quarters}", risk.day, risk.crop)
}

fn write(house: &House, voice: &Voice, risk: &Risk, today: LocalDate) -> Vec<String> {
    let args = Args::new()
        .text("crop", house.crops.name(&risk.crop, voice))
        .weight("asked", risk.asked)
        .weight("likely", risk.likely())
        .weight("short", risk.short);
    let mut lines = vec![voice.say("warning-line", &args)];
    for help in &risk.helps {
        let args = Args::new();
        lines.push(match help {
            Help::Start { units, best_on, latest_on, .. } => {
                let args = plan::start_words(house, args, voice, (&risk.crop, *units));
                let args = args.day("best", *best_on, today).day("latest", *latest_on, today);
                voice.say("warning-start", &args)
            }
            Help::Swap { crop, grams } => {
                voice.say("warning-swap", &args.text("amount", house.crops.amount(crop, *grams, voice)))
            }
            Help::Move { to, grams } => voice.say("warning-move", &args.date("day", *to).weight("weight", *grams)),
            Help::AskLess { each } => voice.say("warning-less", &args.weight("each", *each)),
        });
    }
    lines
}
