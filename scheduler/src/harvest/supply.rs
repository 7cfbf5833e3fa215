//! What a delivery can count on: lots in the cold room that still keep on the day, first expired first out, and picks
//! early enough to have cooled before packing. The joint draws are kept, so that an allotment sees the same futures on
//! every day and crop.

use crate::clock::LocalDate;
use crate::crop::{Crop, CropKey};
use crate::harvest::forecast::HarvestForecast;
use crate::harvest::score::quantile;
use crate::id::Id;
use crate::quantity::Grams;
use chrono::{Duration, NaiveDateTime, NaiveTime};

/// Something in the cold room.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LotFacts {
    pub id: Id,
    pub crop: CropKey,
    pub left: Grams,
    /// The last day it may be delivered.
    pub keeps_until: LocalDate,
}

/// A delivery to be supplied.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct DeliveryTime {
    pub on: LocalDate,
    /// Local wall time at which packing begins.
    pub packing: NaiveDateTime,
}

/// How a crop is kept, and when a day's pick is in the cold room.
#[derive(Clone, Copy, Debug)]
pub struct Keeping<'a> {
    pub crop: &'a Crop,
    /// Local wall time by which a day's pick is done.
    pub picking_ends: NaiveTime,
}

/// The last day whose pick has cooled when packing begins.
pub fn last_pick_day(packing: NaiveDateTime, keeping: Keeping<'_>) -> LocalDate {
    let cooled_from = packing - Duration::hours(i64::from(keeping.crop.cooling_hours));
    let day = cooled_from.date();
    if keeping.picking_ends <= cooled_from.time() { day } else { day - Duration::days(1) }
}

/// Supply of one crop for one delivery.
#[derive(Clone, Debug, PartialEq)]
pub struct Supply {
    pub crop: CropKey,
    pub delivery: DeliveryTime,
    /// In the cold room and keeping until the day.
    pub in_stock: Grams,
    /// Picks from this day on keep until the delivery, as far as they are forecast.
    pub first_pick_day: LocalDate,
    /// The last day whose pick counts.
    pub last_pick_day: LocalDate,
    /// Grams available in each draw: the stock and the picks that count and keep, as if nothing is taken before.
    pub draws_g: Vec<f32>,
    /// The same, rising.
    sorted_g: Vec<f64>,
}

impl Supply {
    /// The amount of which less is available with probability `p` (0 to 1), whole grams rounded down.
    pub fn quantile(&self, p: f64) -> Grams {
        Grams::new(quantile(&self.sorted_g, p).unwrap_or(0.0).floor() as i64)
    }

    /// The most that can be promised so that the promise holds with probability `level`.
    pub fn promisable(&self, level: f64) -> Grams {
        self.quantile(1.0 - level)
    }

    /// Mean over the draws, whole grams rounded down.
    pub fn mean(&self) -> Grams {
        let mean = self.sorted_g.iter().sum::<f64>() / self.sorted_g.len().max(1) as f64;
        Grams::new(mean.floor() as i64)
    }

    /// The chance that less than `asked` is available.
    pub fn shortfall_chance(&self, asked: Grams) -> f64 {
        let below = self.sorted_g.partition_point(|&available| available < asked.get() as f64);
        below as f64 / self.sorted_g.len().max(1) as f64
    }

    /// The draws, rising, in grams.
    pub fn sorted(&self) -> &[f64] {
        &self.sorted_g
    }
}

/// Supply of one crop for each delivery, in the order given. Amounts are what the day could have if nothing of it goes
/// to an earlier delivery.
pub fn supply(
    forecast: &HarvestForecast,
    lots: &[LotFacts],
    deliveries: &[DeliveryTime],
    keeping: Keeping<'_>,
) -> Vec<Supply> {
    let crop = keeping.crop.key;
    let supply_for = |&delivery: &DeliveryTime| {
        let in_stock: Grams = lots
            .iter()
            .filter(|lot| lot.crop == crop && lot.keeps_until >= delivery.on && lot.left.is_positive())
            .map(|lot| lot.left)
            .sum();
        let oldest = delivery.on - Duration::days(i64::from(keeping.crop.storage_days));
        let first_pick_day = oldest.max(forecast.first_day);
        let last_pick_day = last_pick_day(delivery.packing, keeping);
        let mut draws_g = if last_pick_day >= first_pick_day {
            forecast.sums(crop, first_pick_day, last_pick_day)
        } else {
            vec![0.0; forecast.draws]
        };
        draws_g.iter_mut().for_each(|draw| *draw += in_stock.get() as f32);
        let mut sorted_g: Vec<f64> = draws_g.iter().map(|&draw| f64::from(draw)).collect();
        sorted_g.sort_unstable_by(f64::total_cmp);
        Supply { crop, delivery, in_stock, first_pick_day, last_pick_day, draws_g, sorted_g }
    };
    deliveries.iter().map(supply_for).collect()
}

/// Takes `wanted` from lots that keep until `on`, first expired first, ties by id; the lots are left with what remains.
/// What was taken from which lot; less than wanted when they do not hold it.
pub fn take_first_expired(lots: &mut [LotFacts], wanted: Grams, on: LocalDate) -> Vec<(Id, Grams)> {
    lots.sort_unstable_by_key(|lot| (lot.keeps_until, lot.id));
    let mut missing = wanted;
    let mut taken = Vec::new();
    for lot in lots.iter_mut().filter(|lot| lot.keeps_until >= on && lot.left.is_positive()) {
        let part = missing.at_most(lot.left);
        if !part.is_positive() {
            break;
        }
        lot.left -= part;
        missing -= part;
        taken.push((lot.id, part));
    }
    taken
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test stops where a step fails")]
mod tests {
    use super::*;
    use crate::harvest::prior::built_in;

    fn day(text: &str) -> LocalDate {
        text.parse().unwrap()
    }

    #[test]
    fn a_pick_counts_once_it_has_cooled() {
        let oyster = &built_in()[1].crop;
        for (packing, picking_ends, wanted) in [
            // Twelve hours in the cold room: Thursday 06:00 packing counts Wednesday's pick if done by 18:00.
            ("2027-03-11T06:00:00", "17:00:00", "2027-03-10"),
            ("2027-03-11T06:00:00", "18:00:00", "2027-03-10"),
            ("2027-03-11T06:00:00", "18:00:01", "2027-03-09"),
            ("2027-03-10T20:00:00", "17:00:00", "2027-03-09"),
            ("2027-03-10T20:00:00", "08:00:00", "2027-03-10"),
        ] {
            let keeping = Keeping { crop: oyster, picking_ends: picking_ends.parse().unwrap() };
            assert_eq!(last_pick_day(packing.parse().unwrap(), keeping), day(wanted), "{packing} {picking_ends}");
        }
    }

    #[test]
    fn the_first_to_expire_goes_first() {
        let crop = "oyster".parse().unwrap();
        let lot =
            |id, left, until: &str| LotFacts { id: Id::new(id), crop, left: Grams::new(left), keeps_until: day(until) };
        let mut lots =
            [lot(1, 500, "2027-03-15"), lot(2, 300, "2027-03-12"), lot(3, 900, "2027-03-10"), lot(4, 50, "2027-03-12")];
        let taken = take_first_expired(&mut lots, Grams::new(600), day("2027-03-11"));
        assert_eq!(
            taken,
            [(Id::new(2), Grams::new(300)), (Id::new(4), Grams::new(50)), (Id::new(1), Grams::new(250)),]
        );
        let rest = take_first_expired(&mut lots, Grams::new(600), day("2027-03-11"));
        assert_eq!(rest, [(Id::new(1), Grams::new(250))]);
    }
}
