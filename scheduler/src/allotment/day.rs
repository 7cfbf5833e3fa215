//! One delivery day's promise while the harvest is still a forecast.
//!
//! Rule kept: in every draw what was promised before, for any day, is served first, and the day has what that leaves. All
//! crops of the day are then promised together: the level is the chance that every promise of the day holds, and
//! whatever is still free may be promised too without the chance falling below it.

use crate::allotment::claims::{Claim, Lot};
use crate::allotment::draw::Filling;
use crate::allotment::promise::{Promise, SupplyDraws, chance_all_hold, highest, quantile_of, rank_each_lot};
use crate::allotment::solve::{Allotment, Promised, Terms};
use crate::allotment::weighing::resolve_after_weighing;
use crate::clock::LocalDate;
use crate::harvest::score;
use crate::id::Id;
use crate::quantity::Grams;
use std::collections::BTreeMap;

/// So much of a crop that is spoken for on a day.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Owed {
    pub crop: String,
    pub day: LocalDate,
    pub grams: Grams,
}

/// What one day can have, in each draw of the same joint futures.
#[derive(Clone, Debug, PartialEq)]
pub struct DayDraws {
    /// One a crop, good for the day alone; their `grams` are not read.
    lots: Vec<Lot>,
    /// One row a draw, grams of each crop in the order of `lots`.
    rows: Vec<Vec<Grams>>,
}

/// What is promised for one day.
#[derive(Clone, Debug, PartialEq)]
pub struct DayPromise {
    pub allotment: Allotment,
    /// What may be promised of each crop in all, what is given above included.
    pub supply: BTreeMap<String, Grams>,
    /// The chance, 0 to 1, that everything given above can be kept; 0 without draws.
    pub holds: f64,
}

impl DayDraws {
    /// What `draws` leave for `day` of each of `crops` once as much of `owed` as can be is kept. `owed` may come in any order.
    pub fn left_for(day: LocalDate, crops: &[String], draws: SupplyDraws, owed: &[Owed]) -> DayDraws {
        let lots: Vec<&Lot> = draws.lots.iter().collect();
        let fillings: Vec<(Filling, Filling)> = crops
            .iter()
            .map(|crop| {
                let of_crop = owed.iter().filter(|one| one.crop == *crop && one.grams.is_positive());
                let mut before: Vec<(LocalDate, i64)> = of_crop.map(|one| (one.day, one.grams.get())).collect();
                before.sort_unstable();
                let mut with_day = before.clone();
                with_day.insert(before.partition_point(|order| order.0 <= day), (day, i64::MAX));
                (Filling::new(crop, &lots, &before), Filling::new(crop, &lots, &with_day))
            })
            .collect();
        let row = |row: &Vec<Grams>| {
            // What is owed can always be part of the most that can be filled, so the rest is the day's.
            let left = |(before, with_day): &(Filling, Filling)| Grams::new(with_day.most(row) - before.most(row));
            fillings.iter().map(left).collect()
        };
        let rows = draws.rows.iter().map(row).collect();
        let lot = |(number, crop): (i64, &String)| Lot {
            id: Id::new(number),
            crop: crop.clone(),
            available_from: day,
            keeps_until: day,
            grams: Grams::ZERO,
        };
        DayDraws { lots: (0..).zip(crops).map(lot).collect(), rows }
    }

    /// The amount of a crop of which the day has less with probability `p` (0 to 1), whole grams rounded down.
    pub fn quantile(&self, crop: &str, p: f64) -> Grams {
        let Some(place) = self.lots.iter().position(|lot| lot.crop == crop) else { return Grams::ZERO };
        let mut sorted: Vec<f64> = self.rows.iter().map(|row| row[place].get() as f64).collect();
        sorted.sort_unstable_by(f64::total_cmp);
        Grams::new(score::quantile(&sorted, p).unwrap_or(0.0).floor() as i64)
    }

    fn supply(&self) -> SupplyDraws<'_> {
        SupplyDraws { lots: &self.lots, rows: &self.rows }
    }
}

/// The largest promise to `claims`, all for the day of `draws`, that holds with a chance of at least `level`; `promised` stands
/// whatever the chance, and nothing is added to it where the chance is below the level already.
///
/// As in [`crate::allotment::promise_at_level`], every crop is at the same quantile of its own draws.
pub fn promise_day(
    draws: &DayDraws,
    (claims, promised): (&[Claim], &[Promised]),
    level: f64,
    terms: &Terms,
) -> DayPromise {
    let ranked = rank_each_lot(&draws.supply());
    let before = |crop: &str| promised.iter().filter(|one| one.crop == crop).map(|one| one.grams).sum::<Grams>();
    let floor: Vec<Grams> = draws.lots.iter().map(|lot| before(&lot.crop)).collect();
    let at = |rank: usize| {
        let there = |place: usize| ranked[place].get(rank).copied().unwrap_or(Grams::ZERO).max(floor[place]);
        let lots = draws.lots.iter().enumerate().map(|(place, lot)| Lot { grams: there(place), ..lot.clone() });
        let allotment = resolve_after_weighing(&lots.collect::<Vec<_>>(), claims, promised, terms);
        let holds = chance_all_hold(&draws.supply(), claims, &allotment);
        Promise { allotment, holds, quantile: quantile_of(rank, draws.rows.len()) }
    };
    let Promise { allotment, holds, .. } = highest(draws.rows.len(), level, at);
    let supply = promisable(draws, &ranked, level, &allotment);
    DayPromise { allotment, supply, holds }
}

/// What may be promised of each crop in all: what is given, and more of each at the same quantile while all of it together still
/// holds at the level.
fn promisable(draws: &DayDraws, ranked: &[Vec<Grams>], level: f64, allotment: &Allotment) -> BTreeMap<String, Grams> {
    let parts = || allotment.awards.iter().flat_map(|award| &award.parts);
    let given: Vec<Grams> = draws
        .lots
        .iter()
        .map(|lot| parts().filter(|part| part.crop == lot.crop).map(|part| part.grams).sum())
        .collect();
    let at = |rank: usize| -> Vec<Grams> {
        given.iter().zip(ranked).map(|(&given, ranked)| given.max(ranked[rank])).collect()
    };
    let holds = |all: &[Grams]| {
        let kept = draws.rows.iter().filter(|row| row.iter().zip(all).all(|(there, promised)| there >= promised));
        kept.count() as f64 >= level * draws.rows.len() as f64
    };
    let (mut most, mut held, mut fails) = (given.clone(), 0, draws.rows.len());
    while held < fails {
        let middle = held.midpoint(fails);
        let tried = at(middle);
        if holds(&tried) {
            (most, held) = (tried, middle + 1);
        } else {
            fails = middle;
        }
    }
    draws.lots.iter().map(|lot| lot.crop.clone()).zip(most).collect()
}

#[cfg(test)]
mod tests;
