//! Which lot fills which order: the oldest first, and never after its last day.
//!
//! Rule kept: day by day, each order takes from the lot of its crop that expires soonest. For lots that serve a span of
//! days this fills everything that can be filled (Glover, "Maximum matching in a convex bipartite graph", Naval Research
//! Logistics Quarterly 14, 1967).

use crate::allotment::claims::Lot;
use crate::allotment::solve::{Drawn, Table};
use crate::clock::LocalDate;
use crate::id::Id;
use crate::quantity::Grams;

/// Orders of one crop and the lots that may fill them: worked out once, then tried against the grams of thousands of draws.
pub(crate) struct Filling {
    /// The crop's lots by their places in a row of grams, the soonest to expire first.
    lots: Vec<usize>,
    /// In order of days.
    days: Vec<Day>,
}

struct Day {
    date: LocalDate,
    /// Grams of each order.
    orders: Vec<i64>,
    /// Which of `Filling::lots` serve this day.
    usable: Vec<usize>,
}

impl Filling {
    /// `orders` are (day, grams) in order of days.
    pub(crate) fn new(crop: &str, lots: &[&Lot], orders: &[(LocalDate, i64)]) -> Filling {
        let mut of_crop: Vec<usize> = (0..lots.len()).filter(|&place| lots[place].crop == crop).collect();
        of_crop.sort_by_key(|&place| (lots[place].keeps_until, lots[place].available_from, lots[place].id));
        let mut days: Vec<Day> = Vec::new();
        for &(date, grams) in orders {
            if days.last().is_none_or(|day| day.date < date) {
                let serves = |&place: &usize| {
                    let lot = lots[of_crop[place]];
                    lot.available_from <= date && date <= lot.keeps_until
                };
                let usable = (0..of_crop.len()).filter(serves).collect();
                days.push(Day { date, orders: Vec::new(), usable });
            }
            days.last_mut().expect("just added").orders.push(grams);
        }
        Filling { lots: of_crop, days }
    }

    /// Tells of each order, in turn, what it takes from which lot: (order, place of the lot in the row, grams).
    fn fill(&self, row: &[Grams], mut taken: impl FnMut(usize, usize, i64)) {
        let there = |&place: &usize| row.get(place).map_or(0, |grams| grams.get().max(0));
        let mut left: Vec<i64> = self.lots.iter().map(there).collect();
        let mut order = 0;
        for day in &self.days {
            let mut usable = day.usable.iter().copied().peekable();
            for &grams in &day.orders {
                let mut missing = grams;
                while missing > 0 {
                    let Some(&lot) = usable.peek() else { break };
                    let here = missing.min(left[lot]);
                    if here > 0 {
                        left[lot] -= here;
                        missing -= here;
                        taken(order, self.lots[lot], here);
                    }
                    if left[lot] == 0 {
                        usable.next();
                    }
                }
                order += 1;
            }
        }
    }

    /// What each order lacks when lots with these grams fill as much of all of them as they can, the earlier first.
    pub(crate) fn missing(&self, row: &[Grams]) -> Vec<i64> {
        let mut missing: Vec<i64> = self.days.iter().flat_map(|day| &day.orders).copied().collect();
        self.fill(row, |order, _, grams| missing[order] -= grams);
        missing
    }

    /// The most of the orders that can be filled together.
    pub(crate) fn most(&self, row: &[Grams]) -> i64 {
        let mut most = 0;
        self.fill(row, |_, _, grams| most += grams);
        most
    }

    /// Whether all of them can be filled.
    pub(crate) fn is_full(&self, row: &[Grams]) -> bool {
        self.missing(row).into_iter().all(|missing| missing <= 0)
    }
}

/// Fills every award of the table; what is left in each lot comes second.
pub(crate) fn draw_from_lots(table: &Table) -> (Vec<Drawn>, Vec<(Id, Grams)>) {
    let lots = &table.sifted.lots;
    let there: Vec<Grams> = lots.iter().map(|lot| Grams::new(lot.counted_grams())).collect();
    let mut left = there.clone();
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
        let orders: Vec<(LocalDate, i64)> = line.iter().map(|&(date, _, _, grams)| (date, grams)).collect();
        let mut missing: i64 = orders.iter().map(|order| order.1).sum();
        Filling::new(&table.network.crops[crop], lots, &orders).fill(&there, |order, lot, grams| {
            let claim = table.sifted.claims[line[order].2].id;
            drawn.push(Drawn { claim, lot: lots[lot].id, grams: Grams::new(grams) });
            left[lot] = left[lot].less(Grams::new(grams));
            missing -= grams;
        });
        assert!(missing == 0, "awards on the shelves fit the lots");
    }
    drawn.sort_unstable();
    let left = lots.iter().zip(left).filter(|(_, left)| left.is_positive());
    (drawn, left.map(|(lot, left)| (lot.id, left)).collect())
}
