//! The growing plan: what to soak or open by when, so that what is asked for coming deliveries can be promised. Rule: an
//! earlier delivery takes first what expires first, in every imagined future alike, and what is missing then at the
//! farm's promise level is what has to be started.

use super::batches::{self, Shelf};
use super::expected::{self, Growth};
use super::{Crops, Farm, coming};
use crate::allotment::warning::lacking;
use crate::clock::LocalDate;
use crate::crop::Crop;
use crate::growing::plan::{self, Advice, Shortage, plan};
use crate::harvest::conjugate::NormalInverseGamma;
use crate::harvest::learn::Learned;
use crate::quantity::Grams;
use crate::store;
use chrono::Duration;

/// Deliveries looked ahead: a soak today is picked within two or three of them, an order book is seldom fuller.
const DELIVERIES: usize = 8;

/// What the plan says.
pub struct Plan {
    /// Batches that rest after a flush, and when they have probably rested enough.
    pub rested: Vec<(Shelf, LocalDate)>,
    /// What to start for each delivery that would be short.
    pub advised: Vec<(Shortage, Advice)>,
}

/// The whole plan.
///
/// # Errors
/// Whatever the store fails with.
pub async fn load(farm: &mut Farm<'_>) -> store::Result<Plan> {
    let growth = expected::growth(farm).await?;
    let shelves = waiting(farm).await?;
    let advised = advised_of(farm, &growth, &shelves).await?;
    let resting = shelves.into_iter().filter(|shelf| shelf.flush.number > 1);
    let rested = resting.filter_map(|shelf| Some((rest_over(&shelf, &growth.learned)?, shelf)));
    Ok(Plan { rested: rested.map(|(due, shelf)| (shelf, due)).collect(), advised })
}

/// What to start for each delivery that would be short.
///
/// # Errors
/// Whatever the store fails with.
pub async fn advised(farm: &mut Farm<'_>) -> store::Result<Vec<(Shortage, Advice)>> {
    let growth = expected::growth(farm).await?;
    let shelves = waiting(farm).await?;
    // Without a batch to start, no reckoning would find one.
    if shelves.is_empty() { Ok(Vec::new()) } else { advised_of(farm, &growth, &shelves).await }
}

async fn advised_of(farm: &mut Farm<'_>, growth: &Growth, waiting: &[Shelf]) -> store::Result<Vec<(Shortage, Advice)>> {
    let shortages = shortages(farm, growth).await?;
    let growths = growths_of(farm.crops, waiting, &growth.learned);
    Ok(plan(&shortages, &growths, farm.today()))
}

/// Batches not soaked or opened for their flush.
async fn waiting(farm: &mut Farm<'_>) -> store::Result<Vec<Shelf>> {
    let shelves = batches::active(farm).await?;
    Ok(shelves.into_iter().filter(|shelf| shelf.flush.initiated_on.is_none()).collect())
}

/// How each crop would grow that is started now.
///
/// # Errors
/// Whatever the store fails with.
pub async fn growths(farm: &mut Farm<'_>, learned: &Learned) -> store::Result<Vec<plan::Growth>> {
    let waiting = waiting(farm).await?;
    Ok(growths_of(farm.crops, &waiting, learned))
}

fn growths_of(crops: &Crops, waiting: &[Shelf], learned: &Learned) -> Vec<plan::Growth> {
    crops.iter().filter_map(|crop| growth_of(crop, waiting, learned)).collect()
}

/// When a resting batch has probably rested enough: the median of what the record teaches.
fn rest_over(shelf: &Shelf, learned: &Learned) -> Option<LocalDate> {
    let since = shelf.before.as_ref()?.rests_since()?;
    let crop = shelf.batch.crop.parse().ok()?;
    let belief = learned.belief(crop, u8::try_from(shelf.flush.number - 1).ok()?)?;
    let days = median(belief.rest?);
    Some(since + Duration::days(days.clamp(0.0, 3650.0).round() as i64))
}

fn median(ln_value: NormalInverseGamma) -> f64 {
    ln_value.predictive().quantile(0.5).exp()
}

/// How the first flush of a crop grows on this farm, with the units never started.
fn growth_of(crop: &Crop, waiting: &[Shelf], learned: &Learned) -> Option<plan::Growth> {
    let belief = learned.belief(crop.key, 1)?;
    let prior = learned.prior(crop.key)?.flush(1)?;
    let ready: Vec<&Shelf> =
        waiting.iter().filter(|shelf| shelf.batch.crop == crop.key.as_str() && shelf.before.is_none()).collect();
    let ready_units: i64 = ready.iter().map(|shelf| shelf.units_left()).sum();
    let dry: i64 = ready.iter().map(|shelf| shelf.batch.dry_per_unit.get().saturating_mul(shelf.units_left())).sum();
    let days = belief.days.predictive();
    Some(plan::Growth {
        crop: crop.key.as_str().to_owned(),
        // Without units the weight of one does not matter: the advice is that nothing is ready.
        dry_substrate: Grams::new(if ready_units > 0 { dry / ready_units } else { 1000 }),
        biological_efficiency: median(belief.efficiency),
        first_pick_days: median(belief.days),
        // Half the middle 68 %, which is one deviation of a normal.
        first_pick_sd_days: (days.quantile(0.8413).exp() - days.quantile(0.1587).exp()) / 2.0,
        spread_days: f64::from(prior.spread_days),
        cooling_days: u64::from(crop.cooling_hours.div_ceil(24)),
        ready_units: u32::try_from(ready_units).unwrap_or(u32::MAX),
    })
}

/// What will probably be asked beyond what can be promised, by crop and delivery.
async fn shortages(farm: &mut Farm<'_>, growth: &Growth) -> store::Result<Vec<Shortage>> {
    let Some(coming) = coming::load(farm, growth, DELIVERIES).await? else { return Ok(Vec::new()) };
    let level = farm.rules.promise.level();
    Ok(lacking(coming.futures.draws(), (&coming.likely, &coming.owed), level))
}
