//! The early warning: as soon as a coming delivery will more likely than not be short, the keepers hear which, by how much
//! and what would help, once for each news.

use super::{futures, supply};
use crate::conversation::desk::Audience;
use crate::conversation::growing::plan;
use crate::conversation::{Desk, Letter, asked, expected};
use crate::house::House;
use crate::wording::{Args, Voice};
use scheduler::allotment::Claim;
use scheduler::allotment::warning::{Help, Risk, add_starts, risks};
use scheduler::clock::LocalDate;
use scheduler::delivery::calendar::Delivery;
use scheduler::id::Id;
use scheduler::quantity::Grams;
use scheduler::store;
use scheduler::store::settings;
use std::collections::BTreeSet;

/// What was last told.
const TOLD: &str = "early_warning_told";
/// Deliveries looked ahead: what is soaked today is picked within them.
const DELIVERIES: usize = 4;
/// Shortages in one message, the nearest first: the service takes 4096 characters.
const RISKS_MAX: usize = 12;

/// Warns the keepers of every open delivery for which more is asked than will likely be there.
///
/// # Errors
/// Whatever the store fails with.
pub async fn warn_early(desk: &mut Desk<'_>) -> store::Result<()> {
    let house = desk.house;
    let coming = house.calendar.upcoming(desk.now, DELIVERIES);
    let open: Vec<Delivery> = coming.into_iter().filter(|delivery| delivery.is_open(desk.now)).collect();
    let found = at_risk(desk, &open).await?;
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

async fn at_risk(desk: &mut Desk<'_>, open: &[Delivery]) -> store::Result<Vec<Risk>> {
    let (Some(first), Some(last)) = (open.first(), open.last()) else { return Ok(Vec::new()) };
    let asked = asked::between(desk, first.date, last.date).await?;
    // What is often skipped alarms nobody; what is said of the shortage is what stands in the book.
    let likely = asked::likely_between(desk, first.date, last.date).await?;
    let is_as_usual = asked == likely;
    let claims = claims(desk, asked);
    if claims.is_empty() {
        return Ok(Vec::new());
    }
    let owed = supply::spoken_for(desk, first.date).await?;
    let growth = expected::growth(desk).await?;
    let futures = futures::until(desk, &growth, last.date).await?;
    let level = desk.house.config.promise.level();
    let mut found = risks(futures.draws(), (&claims, &owed), level);
    if !is_as_usual {
        let probable = risks(futures.draws(), (&self::claims(desk, likely), &owed), level);
        found.retain(|risk| probable.iter().any(|one| (one.day, &one.crop) == (risk.day, &risk.crop)));
    }
    add_starts(&mut found, &plan::growths(desk, &growth.learned).await?, desk.today());
    Ok(found)
}

fn claims(desk: &Desk<'_>, lines: Vec<asked::AskedLine>) -> Vec<Claim> {
    let crops = &desk.house.crops;
    let claim = |(number, line): (i64, asked::AskedLine)| Claim {
        id: Id::new(number),
        buyer: line.buyer_id,
        date: line.day,
        smallest_useful: Grams::ZERO,
        pack_step: crops.get(&line.crop).map_or(Grams::new(1), |crop| crop.pack_step),
        crop: line.crop,
        grams: line.grams,
        swaps: Vec::new(),
        tier: 0,
        weight: 1,
    };
    (0..).zip(lines).map(claim).collect()
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
                let args = plan::start_words(args, voice, (&risk.crop, *units));
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
