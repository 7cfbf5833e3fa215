//! The cold room and the coming picks as joint draws: every lot and every day's pick of every crop, in the same imagined
//! futures, for promises and warnings that look at all crops and days together.

use super::Farm;
use super::expected::{self, Growth};
use crate::allotment::{Lot, SupplyDraws};
use crate::clock::LocalDate;
use crate::crop::Crop;
use crate::harvest::forecast::HarvestForecast;
use crate::harvest::supply::{Keeping, last_pick_day};
use crate::id::Id;
use crate::quantity::Grams;
use crate::store::{self, cold_room};
use chrono::Duration;

/// Days within which a pick has cooled, however long the crop cools.
const COOLING_DAYS_MAX: i64 = 30;

/// Joint draws of everything that can be delivered.
pub struct Futures {
    lots: Vec<Lot>,
    rows: Vec<Vec<Grams>>,
}

impl Futures {
    /// As the allotment takes them.
    pub fn draws(&self) -> SupplyDraws<'_> {
        SupplyDraws { lots: &self.lots, rows: &self.rows }
    }
}

/// What lies in the cold room and what will be picked until `last`. Made again from the same record on the same day, it is the
/// same.
///
/// # Errors
/// Whatever the store fails with.
pub async fn until(farm: &mut Farm<'_>, growth: &Growth, last: LocalDate) -> store::Result<Futures> {
    let harvest = expected::harvest_until(farm, growth, last);
    let stock = cold_room::lots(farm.tx).await?;
    let stock = stock.into_iter().filter(|lot| lot.left.is_positive());
    let mut lots: Vec<Lot> = stock
        .map(|lot| Lot {
            id: lot.id,
            crop: lot.crop,
            available_from: lot.ready_on,
            keeps_until: lot.keeps_until,
            grams: lot.left,
        })
        .collect();
    let there: Vec<Grams> = lots.iter().map(|lot| lot.grams).collect();
    let mut picks: Vec<Vec<Grams>> = Vec::new();
    for crop in farm.crops.iter() {
        for (lot, picked) in coming_picks(farm, &harvest, crop) {
            lots.push(Lot { id: Id::new(lots.len() as i64), ..lot });
            picks.push(picked);
        }
    }
    let row = |draw: usize| there.iter().copied().chain(picks.iter().map(|picked| picked[draw])).collect();
    let rows = (0..harvest.draws).map(row).collect();
    Ok(Futures { lots, rows })
}

/// The picks of a crop, a lot for each day with one, each with its grams in every draw.
fn coming_picks(farm: &Farm<'_>, harvest: &HarvestForecast, crop: &Crop) -> Vec<(Lot, Vec<Grams>)> {
    let Some(index) = harvest.crop_index(crop.key) else { return Vec::new() };
    let picking_ends = expected::picking_ends();
    let has_cooled = |picked_on: LocalDate, day: LocalDate| {
        let packing = expected::delivery_time(farm, day).packing;
        last_pick_day(packing, Keeping { crop, picking_ends }) >= picked_on
    };
    // Draw after draw is how they lie in memory.
    let mut by_day: Vec<Vec<Grams>> = vec![Vec::with_capacity(harvest.draws); harvest.days];
    for draw in 0..harvest.draws {
        for (picked, grams) in by_day.iter_mut().zip(harvest.daily(index, draw)) {
            picked.push(Grams::new(grams.floor() as i64));
        }
    }
    let pick = |(place, picked): (usize, Vec<Grams>)| {
        if !picked.iter().any(|grams| grams.is_positive()) {
            return None;
        }
        let picked_on = harvest.first_day + Duration::days(place as i64);
        let mut days = picked_on.iter_days().take(COOLING_DAYS_MAX as usize);
        let lot = Lot {
            id: Id::new(0),
            crop: crop.key.as_str().to_owned(),
            available_from: days.find(|day| has_cooled(picked_on, *day))?,
            keeps_until: picked_on + Duration::days(i64::from(crop.storage_days)),
            grams: Grams::ZERO,
        };
        Some((lot, picked))
    };
    by_day.into_iter().enumerate().filter_map(pick).collect()
}
