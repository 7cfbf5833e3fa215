//! Which lot fills which award: the oldest first, and never after its last day.
//!
//! Rule kept: day by day, each award takes from the lot of its crop that expires soonest. For lots that serve a span of
//! days this fills everything that can be filled (Glover, "Maximum matching in a convex bipartite graph", Naval Research
//! Logistics Quarterly 14, 1967).

use crate::allotment::claims::Lot;
use crate::allotment::solve::{Drawn, Table};
use crate::clock::LocalDate;
use crate::id::Id;
use crate::quantity::Grams;
use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// Lots of one crop opened day by day.
struct Cellar<'a> {
    /// By first day, the latest at the front, so that the next to open is at the end.
    closed: Vec<(LocalDate, usize)>,
    open: BinaryHeap<Reverse<(LocalDate, LocalDate, Id, usize)>>,
    left: &'a mut [i64],
}

impl Cellar<'_> {
    /// Takes up to `grams` on `date`; tells `taken` of each lot. Dates must not go back.
    fn take(&mut self, date: LocalDate, mut grams: i64, lots: &[&Lot], mut taken: impl FnMut(usize, i64)) -> i64 {
        while self.closed.last().is_some_and(|&(from, _)| from <= date) {
            let (_, number) = self.closed.pop().expect("just seen");
            let lot = lots[number];
            self.open.push(Reverse((lot.keeps_until, lot.available_from, lot.id, number)));
        }
        while grams > 0 {
            let Some(&Reverse((keeps_until, _, _, number))) = self.open.peek() else { break };
            if keeps_until < date || self.left[number] == 0 {
                self.open.pop();
                continue;
            }
            let here = grams.min(self.left[number]);
            self.left[number] -= here;
            grams -= here;
            taken(number, here);
        }
        grams
    }
}

fn cellar<'a>(crop: &str, lots: &[&Lot], left: &'a mut [i64]) -> Cellar<'a> {
    let of_crop = lots.iter().enumerate().filter(|(_, lot)| lot.crop == crop);
    let mut closed: Vec<(LocalDate, usize)> = of_crop.map(|(number, lot)| (lot.available_from, number)).collect();
    closed.sort_by_key(|&(from, number)| Reverse((from, number)));
    Cellar { closed, open: BinaryHeap::new(), left }
}

/// Fills every award of the table; what is left in each lot comes second.
pub(crate) fn draw_from_lots(table: &Table) -> (Vec<Drawn>, Vec<(Id, Grams)>) {
    let lots = &table.sifted.lots;
    let mut left: Vec<i64> = lots.iter().map(|lot| lot.counted_grams()).collect();
    let mut by_crop: Vec<Vec<(LocalDate, u8, usize, i64)>> = vec![Vec::new(); table.network.crops.len()];
    for (number, parts) in table.parts.iter().enumerate() {
        let claim = table.sifted.claims[number];
        for &(crop, grams) in parts {
            by_crop[crop].push((claim.date, claim.tier, number, grams));
        }
    }
    let mut drawn = Vec::with_capacity(table.parts.len());
    for (crop, mut line) in by_crop.into_iter().enumerate() {
        line.sort_unstable();
        let mut cellar = cellar(&table.network.crops[crop], lots, &mut left);
        for (date, _, number, grams) in line {
            let claim = table.sifted.claims[number].id;
            let missing = cellar.take(date, grams, lots, |lot, grams| {
                drawn.push(Drawn { claim, lot: lots[lot].id, grams: Grams::new(grams) });
            });
            assert!(missing == 0, "awards on the shelves fit the lots");
        }
    }
    drawn.sort_unstable();
    let left = lots.iter().zip(left).filter(|(_, left)| *left > 0);
    (drawn, left.map(|(lot, left)| (lot.id, Grams::new(left))).collect())
}

/// What each of `orders` of one crop, (day, grams) in order of days, lacks when lots with the grams given fill as much of all
/// of them as they can, the earlier first.
pub(crate) fn each_missing(crop: &str, lots: &[&Lot], mut grams: Vec<i64>, orders: &[(LocalDate, i64)]) -> Vec<i64> {
    let mut cellar = cellar(crop, lots, &mut grams);
    orders.iter().map(|&(date, grams)| cellar.take(date, grams, lots, |_, _| ())).collect()
}

/// The most of such orders that can be filled together.
pub(crate) fn most_filled(crop: &str, lots: &[&Lot], grams: Vec<i64>, orders: &[(LocalDate, i64)]) -> i64 {
    let missing = each_missing(crop, lots, grams, orders);
    orders.iter().zip(missing).map(|(&(_, grams), missing)| grams - missing).sum()
}

/// Whether lots with the grams given can fill `orders` of one crop: (day, grams) in order of days.
pub(crate) fn can_fill(crop: &str, lots: &[&Lot], mut grams: Vec<i64>, orders: &[(LocalDate, i64)]) -> bool {
    let mut cellar = cellar(crop, lots, &mut grams);
    orders.iter().all(|&(date, grams)| cellar.take(date, grams, lots, |_, _| ()) == 0)
}
