//! How much to promise while the harvest is still a forecast.
//!
//! Rule kept: a promise level is the chance that *every* promise of the share-out holds, counted on joint draws of all lots
//! together, never put together from one crop's quantile at a time.

use crate::allotment::claims::{Claim, Lot};
use crate::allotment::draw::Filling;
use crate::allotment::solve::{Allotment, Terms, solve};
use crate::clock::LocalDate;
use crate::quantity::Grams;
use statrs::distribution::{Continuous, ContinuousCDF, Normal};
use std::collections::BTreeMap;

/// The share `Cu / (Cu + Co)` of outcomes to cover when one unit too few costs `under` and one too many `over`, in any one unit of money.
/// `None` unless both are positive and finite.
pub fn critical_ratio(under: f64, over: f64) -> Option<f64> {
    let usable = |cost: f64| cost > 0.0 && cost.is_finite();
    (usable(under) && usable(over)).then(|| under / (under + over))
}

/// The promise level when the harvest is random: promising a gram that does not come costs `let_down`, a gram that came and was
/// not promised costs `unsold`. The best promise `P` has `F(P) = unsold / (unsold + let_down)` for the harvest's distribution `F`, so it
/// holds with chance `let_down / (unsold + let_down)` (the newsvendor's ratio with the roles swapped).
pub fn promise_level(let_down: f64, unsold: f64) -> Option<f64> {
    critical_ratio(let_down, unsold)
}

/// What to expect of stocking `quantity` against a normal demand. All in the demand's unit but `profit`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Expectation {
    pub quantity: f64,
    pub lost: f64,
    pub sales: f64,
    pub left: f64,
    /// `under * sales - over * left`.
    pub profit: f64,
    /// The chance that all demand is met.
    pub in_stock: f64,
}

/// A demand believed normal, and the cost of one unit too few and too many.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Newsvendor {
    pub mean: f64,
    pub standard_deviation: f64,
    pub under: f64,
    pub over: f64,
}

impl Newsvendor {
    /// The best quantity and what to expect of it: `Q = mean + sd * z`, `z` the normal quantile of the critical ratio
    /// (standard newsvendor formulas; Cachon & Terwiesch, *Matching Supply with Demand*, chapter 12). `None` for costs or a deviation
    /// that are not positive and finite.
    pub fn best(&self) -> Option<Expectation> {
        let ratio = critical_ratio(self.under, self.over)?;
        let normal = self.normal()?;
        // The tail beyond the best quantity is known exactly; the library's own is good to about 2e-11.
        Some(self.expect_with_tail(&normal, normal.inverse_cdf(ratio), 1.0 - ratio))
    }

    /// What to expect of `quantity`: `lost = sd * L(z)` with `L(z) = pdf(z) - z (1 - cdf(z))`.
    pub fn expect(&self, quantity: f64) -> Option<Expectation> {
        let normal = self.normal()?;
        Some(self.expect_with_tail(&normal, quantity, normal.sf(quantity)))
    }

    fn expect_with_tail(&self, normal: &Normal, quantity: f64, tail: f64) -> Expectation {
        let z = (quantity - self.mean) / self.standard_deviation;
        let density = normal.pdf(quantity) * self.standard_deviation;
        let lost = self.standard_deviation * (density - z * tail);
        let sales = self.mean - lost;
        let left = quantity - sales;
        let profit = self.under * sales - self.over * left;
        Expectation { quantity, lost, sales, left, profit, in_stock: 1.0 - tail }
    }

    fn normal(&self) -> Option<Normal> {
        Normal::new(self.mean, self.standard_deviation).ok().filter(|_| self.standard_deviation.is_finite())
    }
}

/// The smallest of `outcomes` (value, chance; values rising) by which the chances reach `ratio`: the best order against a demand
/// of few values. `None` when they never do.
pub fn discrete_quantile(outcomes: &[(i64, f64)], ratio: f64) -> Option<i64> {
    let mut sum = 0.0;
    let reaches = |&&(_, chance): &&(i64, f64)| {
        sum += chance;
        // Chances such as 0.1 + 0.2 + 0.3 do not add up exactly.
        sum >= ratio - 1e-12
    };
    outcomes.iter().find(reaches).map(|&(value, _)| value)
}

/// Joint draws of supply: one row a draw, grams of each lot in the order of `lots`. All lots of a row come from the same
/// imagined week, so what moves together in truth moves together here.
#[derive(Clone, Copy, Debug)]
pub struct SupplyDraws<'a> {
    /// Their `grams` are not read.
    pub lots: &'a [Lot],
    pub rows: &'a [Vec<Grams>],
}

/// What can be promised at a level.
#[derive(Clone, Debug, PartialEq)]
pub struct Promise {
    pub allotment: Allotment,
    /// The share of draws in which every promise of `allotment` can be filled, crop by crop as promised.
    pub holds: f64,
    /// The quantile of each lot's own supply that was shared out, 0 to 1.
    pub quantile: f64,
}

/// The largest promise that holds with a chance of at least `level` (0 to 1).
///
/// Supply is scaled along one line: every lot at the same quantile `u` of its own draws. [`solve`] shares that supply out, and the
/// promises are tried against every joint draw. The greatest `u` that still holds is found by bisection over the draws'
/// ranks; at `u = 0` every lot is at its lowest draw, which always holds. Whole packs can make the chance rise and fall a
/// little along the line, so the `u` found is one beyond which the next tried did not hold; the chance reported is the one counted
/// for the promise given. Without draws nothing is promised. Missing entries of a row count as nothing.
pub fn promise_at_level(draws: SupplyDraws, claims: &[Claim], level: f64, terms: &Terms) -> Promise {
    let ranked = rank_each_lot(&draws);
    let at = |rank: usize| {
        let with = |(lot, ranked): (&Lot, &Vec<Grams>)| Lot {
            grams: ranked.get(rank).copied().unwrap_or(Grams::ZERO),
            ..lot.clone()
        };
        let lots: Vec<Lot> = draws.lots.iter().zip(&ranked).map(with).collect();
        let allotment = solve(&lots, claims, terms);
        let holds = chance_all_hold(&draws, claims, &allotment);
        Promise { allotment, holds, quantile: quantile_of(rank, draws.rows.len()) }
    };
    highest(draws.rows.len(), level, at)
}

/// The promise of the highest rank, of so many, that holds with a chance of `level`; that of rank 0 where none does.
pub(crate) fn highest(ranks: usize, level: f64, at: impl Fn(usize) -> Promise) -> Promise {
    let mut best = at(0);
    let (mut holds, mut fails) = (0, ranks);
    while fails > holds + 1 {
        let middle = holds.midpoint(fails);
        let tried = at(middle);
        if tried.holds >= level {
            holds = middle;
            best = tried;
        } else {
            fails = middle;
        }
    }
    best
}

/// The share of draws in which every award can be filled with the crops it names; 0 without draws.
pub fn chance_all_hold(draws: &SupplyDraws, claims: &[Claim], allotment: &Allotment) -> f64 {
    if draws.rows.is_empty() {
        return 0.0;
    }
    let date_of: BTreeMap<_, LocalDate> = claims.iter().map(|claim| (claim.id, claim.date)).collect();
    let mut orders: BTreeMap<&str, BTreeMap<LocalDate, i64>> = BTreeMap::new();
    for award in &allotment.awards {
        for part in &award.parts {
            *orders.entry(&part.crop).or_default().entry(date_of[&award.claim]).or_default() += part.grams.get();
        }
    }
    let lots: Vec<&Lot> = draws.lots.iter().collect();
    let filling = |(crop, by_date): (&str, BTreeMap<LocalDate, i64>)| {
        Filling::new(crop, &lots, &by_date.into_iter().collect::<Vec<_>>())
    };
    let fillings: Vec<Filling> = orders.into_iter().map(filling).collect();
    let holds = |row: &&Vec<Grams>| fillings.iter().all(|filling| filling.is_full(row));
    draws.rows.iter().filter(holds).count() as f64 / draws.rows.len() as f64
}

/// Where a rank stands among so many draws, 0 to 1.
pub(crate) fn quantile_of(rank: usize, draws: usize) -> f64 {
    rank as f64 / (draws.max(2) - 1) as f64
}

/// Each lot's own draws, rising.
pub(crate) fn rank_each_lot(draws: &SupplyDraws) -> Vec<Vec<Grams>> {
    let of_lot = |lot: usize| {
        let mut grams: Vec<Grams> = draws.rows.iter().map(|row| row.get(lot).copied().unwrap_or(Grams::ZERO)).collect();
        grams.sort_unstable();
        grams
    };
    (0..draws.lots.len()).map(of_lot).collect()
}

#[cfg(test)]
mod tests;
