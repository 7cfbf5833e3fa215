//! The early warning: as soon as a coming delivery will more likely than not be short, the keepers hear which, by how much
//! and what would help, once for each news. Rule: a warning that has passed and comes back is news of another day, and is
//! said to come back; at night nobody looks, so that what is read in the morning holds then.

pub mod told;

use super::event::{EarlyWarning, Event};
use super::{Farm, coming, expected, look_soon, plan};
use crate::allotment::warning::{Risk, add_starts, risks, short};
use crate::people::Role;
use crate::store;
use crate::store::{people, settings};
use told::{News, Told};

/// What has been told.
const TOLD: &str = "early_warning_told";
/// Deliveries looked ahead: what is soaked today is picked within them.
const DELIVERIES: usize = 4;
/// Shortages in one message, the nearest first: more than that nobody acts on at once.
const RISKS_MAX: usize = 12;

/// Looks now, or when the first of the keepers is awake.
///
/// # Errors
/// Whatever the store fails with.
pub async fn look(farm: &mut Farm<'_>) -> store::Result<Vec<Event>> {
    let (now, zone) = (farm.now, farm.zone());
    let keepers = people::with_role(farm.tx, Role::Keeper).await?;
    let awake_at = keepers.iter().map(|one| one.quiet.map_or(now, |quiet| quiet.awake_at(now, zone))).min();
    match awake_at.filter(|awake_at| *awake_at > now) {
        Some(awake_at) => look_soon::look_at(farm, awake_at).await.map(|()| Vec::new()),
        None => warn_early(farm).await,
    }
}

/// Warns the keepers of every open delivery for which more is asked than will likely be there.
///
/// # Errors
/// Whatever the store fails with.
pub async fn warn_early(farm: &mut Farm<'_>) -> store::Result<Vec<Event>> {
    let growth = expected::growth(farm).await?;
    let (mut open, mut found) = (Vec::new(), Vec::new());
    if let Some(coming) = coming::load(farm, &growth, DELIVERIES).await? {
        let level = farm.rules.promise.level();
        // What is often skipped alarms nobody; what is said of the shortage is what stands in the book.
        let probable = short(coming.futures.draws(), &coming.likely, &coming.owed);
        if !probable.is_empty() {
            found = risks(coming.futures.draws(), (&coming.claims, &coming.owed), level);
        }
        found.retain(|risk| probable.iter().any(|one| (one.day, &one.crop) == (risk.day, &risk.crop)));
        add_starts(&mut found, &plan::growths(farm, &growth.learned).await?, farm.today());
        open = coming.open;
    }
    let today = farm.today();
    let before = settings::get(farm.tx, TOLD).await?.unwrap_or_default();
    let mut told = Told::read(&before, today);
    let news: Vec<News> = found.iter().map(|risk| told.news_of(risk, today)).collect();
    told.settle(&found);
    let after = told.write();
    if after != before {
        settings::put(farm.tx, TOLD, &after).await?;
    }
    let is_news = |(_, news): &(Risk, News)| *news != News::Known;
    let fresh: Vec<(Risk, News)> = found.into_iter().zip(news).filter(is_news).take(RISKS_MAX).collect();
    if fresh.is_empty() {
        return Ok(Vec::new());
    }
    Ok(vec![Event::EarlyWarning(EarlyWarning { open, risks: fresh })])
}
