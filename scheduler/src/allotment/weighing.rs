//! The same share-out again once the harvest is weighed, with promises standing.
//!
//! Rule kept: a promise is never lowered while stock exists to keep it. Promises of a crop that can all be kept are kept as they
//! were made; where they cannot, the promised amounts, and nothing more, are shared by the same rules as orders
//! are. Only then does unpromised stock top up cut lines, to fair levels that count what was promised.

use crate::allotment::claims::{Claim, Lot};
use crate::allotment::draw::Filling;
use crate::allotment::solve::{Allotment, Promised, Table, Terms};
use crate::clock::LocalDate;
use crate::id::Id;
use crate::quantity::Grams;
use std::collections::{BTreeMap, HashMap};

/// Shares weighed `lots` among `claims`, keeping `promised`. Promises for unknown claims, for crops a claim does not take, above an ask
/// or for part of a pack are kept only as far as the claim still asks for them.
pub fn resolve_after_weighing(lots: &[Lot], claims: &[Claim], promised: &[Promised], terms: &Terms) -> Allotment {
    let mut table = Table::of(lots, claims, *terms);
    let asks: Vec<i64> = table.wants.iter().map(|want| want.ask).collect();
    let promises = table.counted_promises(promised);
    table.hold_what_can_be_kept(&promises);
    for (want, promises) in table.wants.iter_mut().zip(&promises) {
        want.ask = promises.iter().map(|&(_, grams)| grams).sum();
    }
    if table.wants.iter().any(|want| want.held < want.ask) {
        table.share_all_tiers();
    }
    for (want, ask) in table.wants.iter_mut().zip(asks) {
        want.ask = ask;
    }
    table.share_all_tiers();
    table.into_allotment()
}

impl Table<'_> {
    /// (crop number, grams) promised to each claim, within its ask and in whole packs.
    fn counted_promises(&self, promised: &[Promised]) -> Vec<Vec<(usize, i64)>> {
        let number_of: HashMap<Id, usize> =
            self.sifted.claims.iter().enumerate().map(|(number, claim)| (claim.id, number)).collect();
        let mut sums: Vec<BTreeMap<usize, i64>> = vec![BTreeMap::new(); self.wants.len()];
        for promise in promised {
            let crop = self.network.crops.binary_search(&promise.crop);
            let (Some(&number), Ok(crop)) = (number_of.get(&promise.claim), crop) else { continue };
            let liking = self.network.places[self.wants[number].place].crops.iter().position(|&other| other == crop);
            if let Some(liking) = liking {
                let sum = sums[number].entry(liking).or_default();
                *sum = sum.saturating_add(promise.grams.get().max(0));
            }
        }
        let mut counted = Vec::with_capacity(sums.len());
        for (want, by_liking) in self.wants.iter().zip(sums) {
            let mut room = want.ask;
            let mut parts = Vec::new();
            for (liking, grams) in by_liking {
                let grams = grams.min(room) / want.step * want.step;
                room -= grams;
                if grams > 0 {
                    parts.push((self.network.places[want.place].crops[liking], grams));
                }
            }
            counted.push(parts);
        }
        counted
    }

    /// Crop by crop: when the lots can fill every promise of it, they are held.
    fn hold_what_can_be_kept(&mut self, promises: &[Vec<(usize, i64)>]) {
        let mut by_crop: Vec<BTreeMap<LocalDate, i64>> = vec![BTreeMap::new(); self.network.crops.len()];
        for (number, parts) in promises.iter().enumerate() {
            for &(crop, grams) in parts {
                let sum = by_crop[crop].entry(self.sifted.claims[number].date).or_default();
                *sum = sum.saturating_add(grams);
            }
        }
        let lots = &self.sifted.lots;
        let grams: Vec<Grams> = lots.iter().map(|lot| Grams::new(lot.counted_grams())).collect();
        let is_kept: Vec<bool> = by_crop
            .into_iter()
            .enumerate()
            .map(|(crop, orders)| {
                let orders: Vec<(LocalDate, i64)> = orders.into_iter().collect();
                Filling::new(&self.network.crops[crop], lots, &orders).is_full(&grams)
            })
            .collect();
        for (number, parts) in promises.iter().enumerate() {
            let date = self.network.places[self.wants[number].place].date;
            let kept = || parts.iter().filter(|part| is_kept[part.0]);
            // A part too small to be useful by itself is not held for a claim whose other parts fail.
            if kept().map(|part| part.1).sum::<i64>() < self.wants[number].minimum {
                continue;
            }
            for &(crop, grams) in kept() {
                let shelf = self.network.shelf(date, crop);
                self.give(number, (crop, shelf), grams);
                self.wants[number].held += grams;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::allotment::Why;
    use crate::allotment::explain::rows;
    use crate::allotment::solve;
    use crate::allotment::solve::tests::{claim, lot};
    use crate::quantity::Grams;

    fn given(allotment: &Allotment) -> Vec<i64> {
        allotment.awards.iter().map(|award| award.given.get()).collect()
    }

    /// An unequal promise (say, from an earlier tier order) stands; what is new lifts the lowest first.
    #[test]
    fn better_harvest_tops_up_the_cut_lines() {
        let claims = [claim(1, "oyster", 5, 5000), claim(2, "oyster", 5, 5000), claim(3, "oyster", 5, 800)];
        let promised = [(1, 3000), (2, 1000)].map(|(id, grams)| Promised {
            claim: Id::new(id),
            crop: "oyster".to_owned(),
            grams: Grams::new(grams),
        });
        for (weighed, expected) in
            [(4000, [3000, 1000, 0]), (4500, [3000, 1000, 500]), (6000, [3000, 2200, 800]), (9000, [4100, 4100, 800])]
        {
            let lots = [lot(1, "oyster", (1, 9), weighed)];
            let kept = resolve_after_weighing(&lots, &claims, &promised, &Terms::default());
            assert_eq!(given(&kept), expected, "{weighed} g");
        }
    }

    #[test]
    fn a_worse_harvest_shares_what_was_promised() {
        let claims = [claim(1, "oyster", 5, 5000), claim(2, "oyster", 5, 2000), claim(3, "shiitake", 5, 500)];
        let forecast = [lot(1, "oyster", (1, 9), 6000), lot(2, "shiitake", (1, 9), 500)];
        let promised = solve(&forecast, &claims, &Terms::default());
        assert_eq!(given(&promised), [4000, 2000, 500]);
        let weighed = [lot(1, "oyster", (1, 9), 3000), lot(2, "shiitake", (1, 9), 900)];
        let kept = resolve_after_weighing(&weighed, &claims, &promised.promises(), &Terms::default());
        assert_eq!(given(&kept), [1500, 1500, 500]);
        assert_eq!(kept.awards[2].why, Why::InFull { under_a_pack: Grams::ZERO });
        let rows = rows(&kept, |id| claims.iter().find(|claim| claim.id == id).map(|claim| claim.crop.as_str()));
        assert_eq!(rows.iter().map(|row| row.claims_cut).collect::<Vec<_>>(), [1, 1, 0]);
    }

    #[test]
    fn promises_that_make_no_sense_are_not_kept() {
        let claims = [claim(1, "oyster", 5, 500)];
        let lots = [lot(1, "oyster", (1, 9), 9000), lot(2, "shiitake", (1, 9), 9000)];
        let promised = [(1, "oyster", i64::MAX), (1, "shiitake", 300), (2, "oyster", 300), (1, "oyster", -5)];
        let promised = promised.map(|(id, crop, grams)| Promised {
            claim: Id::new(id),
            crop: crop.to_owned(),
            grams: Grams::new(grams),
        });
        assert_eq!(given(&resolve_after_weighing(&lots, &claims, &promised, &Terms::default())), [500]);
    }
}
