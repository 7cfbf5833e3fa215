//! Dividing one scarce amount among claims, in exact fractions.
//!
//! Rule kept: every division gives each claimant between nothing and its claim, and the awards sum exactly to what
//! there is, or to all claims when that is less. Definitions: Thomson, "Axiomatic and game-theoretic analysis of
//! bankruptcy and taxation problems", Mathematical Social Sciences 45 (2003). Claims and amounts below zero count as zero.

use crate::allotment::rotation::in_turn;
use num_rational::Ratio;

/// An exact amount of grams.
pub type Exact = Ratio<i128>;

/// The most claims [`random_arrival`] takes: it looks at every subset of them.
pub const MOST_ARRIVALS: usize = 16;

/// Everyone gets the same share of the claim.
pub fn proportional(claims: &[i64], amount: i64) -> Vec<Exact> {
    let claims = counted(claims);
    let sum: i128 = claims.iter().sum();
    let amount = i128::from(amount.max(0)).min(sum);
    claims.iter().map(|&claim| if sum == 0 { Exact::ZERO } else { Exact::new(claim * amount, sum) }).collect()
}

/// Everyone gets the same amount, but nobody more than the claim.
pub fn equal_awards(claims: &[i64], amount: i64) -> Vec<Exact> {
    weighted_equal_awards(&claims.iter().map(|&claim| (claim, 1)).collect::<Vec<_>>(), amount)
}

/// Everyone gets the same amount per unit of weight, but nobody more than the claim (weighted max-min fairness on one
/// resource). Each claim comes with its weight; a weight of zero gets nothing.
pub fn weighted_equal_awards(claims_and_weights: &[(i64, u32)], amount: i64) -> Vec<Exact> {
    let pairs: Vec<(i128, i128)> =
        claims_and_weights.iter().map(|&(claim, weight)| (i128::from(claim.max(0)), i128::from(weight))).collect();
    equal_awards_of(&pairs, i128::from(amount.max(0)))
}

/// Everyone goes without the same amount, but nobody below zero.
pub fn equal_losses(claims: &[i64], amount: i64) -> Vec<Exact> {
    let claims = counted(claims);
    let sum: i128 = claims.iter().sum();
    let missing = (sum - i128::from(amount.max(0))).max(0);
    let losses = equal_awards_of(&evenly(&claims), missing);
    claims.iter().zip(losses).map(|(&claim, loss)| Exact::from_integer(claim) - loss).collect()
}

/// The contested-garment-consistent rule, also called the Talmud rule: equal awards on half the claims while less than
/// half is there, equal losses on half the claims beyond (Aumann & Maschler, J. Econ. Theory 36, 1985).
pub fn contested_garment(claims: &[i64], amount: i64) -> Vec<Exact> {
    let claims = counted(claims);
    let sum: i128 = claims.iter().sum();
    let amount = i128::from(amount.max(0)).min(sum);
    // All in half grams, so that half a claim is whole.
    let halves = evenly(&claims);
    if amount * 2 <= sum {
        equal_awards_of(&halves, amount * 2).into_iter().map(|award| award / 2).collect()
    } else {
        let losses = equal_awards_of(&halves, (sum - amount) * 2);
        claims.iter().zip(losses).map(|(&claim, loss)| Exact::from_integer(claim) - loss / 2).collect()
    }
}

/// The average over every order of arrival, each served in full until nothing is left (O'Neill, Math. Soc. Sci. 2,
/// 1982). `None` for more than [`MOST_ARRIVALS`] claims.
pub fn random_arrival(claims: &[i64], amount: i64) -> Option<Vec<Exact>> {
    let claims = counted(claims);
    let count = claims.len();
    if count > MOST_ARRIVALS {
        return None;
    }
    let amount = i128::from(amount.max(0));
    let factorial: Vec<i128> = (0..=count as i128).map(|n| (1..=n).product()).collect();
    let mut awards = vec![Exact::ZERO; count];
    for before in 0..1_usize << count {
        let taken: i128 = (0..count).filter(|i| before >> i & 1 == 1).map(|i| claims[i]).sum();
        let left = (amount - taken).max(0);
        let arrived = before.count_ones() as usize;
        for i in (0..count).filter(|i| before >> i & 1 == 0) {
            let orders = factorial[arrived] * factorial[count - 1 - arrived];
            awards[i] += Exact::new(orders, factorial[count]) * Exact::from_integer(left.min(claims[i]));
        }
    }
    Some(awards)
}

/// An amount that some claimants (by their place in the list) may not exceed together.
#[derive(Clone, Debug)]
pub struct Limit {
    pub amount: i64,
    pub members: Vec<usize>,
}

/// Weighted max-min fairness under several limits at once, by progressive filling: all rise together per unit of weight, and
/// whoever meets a full limit or the own claim stops there (Bertsekas & Gallager, *Data Networks*, 2nd ed., 1992, section
/// 6.5.2). Each claim comes with its weight, at least 1.
pub fn progressive_filling(claims_and_weights: &[(i64, u32)], limits: &[Limit]) -> Vec<Exact> {
    let claim_of = |i: usize| Exact::from_integer(claims_and_weights[i].0.max(0).into());
    let weight_of = |i: usize| i128::from(claims_and_weights[i].1.max(1));
    let mut awards: Vec<Option<Exact>> = vec![None; claims_and_weights.len()];
    while awards.iter().any(Option::is_none) {
        let open = |i: &usize| awards[*i].is_none();
        let own = (0..awards.len()).filter(open).map(|i| (claim_of(i) / weight_of(i), vec![i]));
        let shared = limits.iter().filter_map(|limit| {
            let rising: Vec<usize> = limit.members.iter().copied().filter(open).collect();
            let settled: Exact = limit.members.iter().filter_map(|&i| awards[i]).sum();
            let weight: i128 = rising.iter().map(|&i| weight_of(i)).sum();
            (weight > 0).then(|| ((Exact::from_integer(limit.amount.max(0).into()) - settled) / weight, rising))
        });
        let (level, stopped) = own.chain(shared).min_by_key(|stop| stop.0).expect("someone is still rising");
        for i in stopped {
            awards[i] = Some(level * weight_of(i));
        }
    }
    awards.into_iter().flatten().collect()
}

/// Exact shares made whole packs of `step` (at least 1) by largest remainder (Hamilton's method): everyone gets the
/// whole packs within the share, then what `amount` still holds goes out one pack each, the largest part-pack first,
/// equals in turn by `rotation`. Sums to `amount` less what does not fill a pack, when the shares sum to `amount`.
/// Not monotone in `amount` (the Alabama paradox), so it must never be re-run over a kept promise.
pub fn in_whole_packs(shares: &[Exact], step: i64, amount: i64, rotation: u64) -> Vec<i64> {
    let step = i128::from(step.max(1));
    let mut packs: Vec<i128> = shares.iter().map(|share| (share / step).floor().to_integer()).collect();
    let given: i128 = packs.iter().sum();
    let left = usize::try_from((i128::from(amount) / step - given).max(0)).unwrap_or(usize::MAX);
    let mut line: Vec<usize> = (0..shares.len()).filter(|&i| !(shares[i] / step).is_integer()).collect();
    in_turn(&mut line, |&i| -(shares[i] / step).fract(), rotation);
    for &i in line.iter().take(left) {
        packs[i] += 1;
    }
    packs.iter().map(|&count| i64::try_from(count * step).unwrap_or(i64::MAX)).collect()
}

fn counted(claims: &[i64]) -> Vec<i128> {
    claims.iter().map(|&claim| i128::from(claim.max(0))).collect()
}

fn evenly(claims: &[i128]) -> Vec<(i128, i128)> {
    claims.iter().map(|&claim| (claim, 1)).collect()
}

/// Raises the level until the amount is used up: `min(claim, weight * level)` for each `(claim, weight)`.
fn equal_awards_of(pairs: &[(i128, i128)], amount: i128) -> Vec<Exact> {
    let mut by_level: Vec<(i128, i128)> = pairs.iter().copied().filter(|&(_, weight)| weight > 0).collect();
    by_level.sort_by_key(|&(claim, weight)| Exact::new(claim, weight));
    let mut weight_left: i128 = by_level.iter().map(|&(_, weight)| weight).sum();
    let mut left = amount;
    let mut level = None;
    for (claim, weight) in by_level {
        if claim * weight_left > left * weight {
            level = Some(Exact::new(left, weight_left));
            break;
        }
        left -= claim;
        weight_left -= weight;
    }
    pairs
        .iter()
        .map(|&(claim, weight)| match level {
            _ if weight == 0 => Exact::ZERO,
            Some(level) => (level * weight).min(Exact::from_integer(claim)),
            None => Exact::from_integer(claim),
        })
        .collect()
}

#[cfg(test)]
mod tests;
