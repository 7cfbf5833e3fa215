//! The early warning: as soon as a coming delivery will more likely than not be short, the keepers hear of it, once for
//! each news.

use super::supply;
use crate::conversation::desk::Audience;
use crate::conversation::{Desk, Letter, asked};
use crate::wording::Args;
use scheduler::quantity::Grams;
use scheduler::store;
use scheduler::store::settings;
use std::collections::BTreeMap;

/// What was last told.
const TOLD: &str = "early_warning_told";

/// Warns the keepers when more will probably be asked for the next open delivery than its median expectation.
///
/// # Errors
/// Whatever the store fails with.
pub async fn warn_early(desk: &mut Desk<'_>) -> store::Result<()> {
    let house = desk.house;
    let Some(delivery) = house.calendar.next_open_delivery(desk.now) else { return Ok(()) };
    let day = delivery.date;
    let mut asked_of: BTreeMap<String, Grams> = BTreeMap::new();
    for line in asked::between(desk, day, day).await? {
        *asked_of.entry(line.crop).or_default() += line.grams;
    }
    let mut likely_of: BTreeMap<String, Grams> = BTreeMap::new();
    for line in asked::likely_between(desk, day, day).await? {
        *likely_of.entry(line.crop).or_default() += line.grams;
    }
    let median: BTreeMap<String, Grams> =
        supply::free_on(desk, day).await?.into_iter().map(|one| (one.crop, one.p50)).collect();
    let mut short = Vec::new();
    for (crop, asked) in asked_of {
        let median = median.get(&crop).copied().unwrap_or_default();
        let likely = likely_of.get(&crop).copied().unwrap_or_default();
        if likely > median && asked > median {
            short.push((crop, asked, median));
        }
    }
    // The forecast moves a little every day: what has become another quarter of the order is news.
    let news = short.iter().map(|(crop, asked, median)| {
        let quarters = asked.less(*median).get() * 4 / asked.get().max(1);
        format!("{day} {crop} {quarters}")
    });
    let news = news.collect::<Vec<_>>().join("\n");
    let told = settings::get(&mut desk.tx, TOLD).await?.unwrap_or_default();
    if news == told {
        return Ok(());
    }
    settings::put(&mut desk.tx, TOLD, &news).await?;
    if short.is_empty() {
        return Ok(());
    }
    desk.tell_family(Audience::Keepers, |voice| {
        let args = Args::new().date("day", day).day_time("cutoff", delivery.cutoff_at.unwrap_or(delivery.departs_at));
        let mut lines = vec![voice.say("warning-heading", &args)];
        for (crop, asked, median) in &short {
            let args = Args::new()
                .text("crop", house.crops.name(crop, voice))
                .weight("asked", *asked)
                .weight("likely", *median)
                .weight("short", asked.less(*median));
            lines.push(voice.say("warning-line", &args));
        }
        lines.push(voice.say("warning-help", &Args::new()));
        Letter::new(lines.join("\n"))
    })
    .await
}
