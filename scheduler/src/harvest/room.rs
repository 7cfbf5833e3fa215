//! What the flushes of one room have in common. A room may be better or worse for good (its *factor*), and for a
//! fortnight at a time (its *spell*: a cold week, a neglected humidifier). Both are estimated from the record as shares
//! of the variance of a flush, by moments of pairs, shrunk towards a judged value while the record is thin.
//!
//! With z the residuals of closed flushes in standard deviations of their (crop, flush):
//! - between rooms: mean of zᵢzⱼ over pairs of one room in different spells;
//! - spell: mean of zᵢzⱼ over pairs of one room and one spell, less the former.
//!
//! Each mean is blended with its prior share, weighted by the number of rooms less one and of spells with two or more
//! flushes. A room's factor is then the shrunken mean of its residuals (the BLUP of the one-way random-effects model:
//! Searle, Casella & McCulloch, *Variance Components*, 1992).

use crate::clock::LocalDate;
use crate::id::Id;
use chrono::Datelike;
use std::collections::BTreeMap;

/// Length of a spell, days.
const SPELL_DAYS: i32 = 14;
/// Prior shares of the variance and their weights (judged).
const ROOM_SHARE: f64 = 0.10;
const ROOM_SHARE_WEIGHT: f64 = 3.0;
const SPELL_SHARE: f64 = 0.15;
const SPELL_SHARE_WEIGHT: f64 = 10.0;
const SHARE_MAX: f64 = 0.8;

/// Which spell a day belongs to.
pub fn spell_of(day: LocalDate) -> i32 {
    day.num_days_from_ce().div_euclid(SPELL_DAYS)
}

/// A closed flush's residual, in standard deviations.
#[derive(Clone, Copy, Debug)]
pub struct Residual {
    pub room: Id,
    pub spell: i32,
    pub z: f64,
}

/// A room's lasting factor: mean and variance, in standard deviations of a flush.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Factor {
    pub mean: f64,
    pub variance: f64,
}

/// What the rooms of a farm are like.
#[derive(Clone, Debug, PartialEq)]
pub struct Rooms {
    /// Variance between rooms, in variances of a flush within its room.
    room_variance: f64,
    /// Share of a flush's variance within its room that it has in common with the flushes of its spell, 0 to 0.8.
    pub spell_share: f64,
    factors: BTreeMap<Id, Factor>,
}

impl Rooms {
    /// Before any record.
    pub fn unknown() -> Rooms {
        Rooms::from_shares(ROOM_SHARE, SPELL_SHARE)
    }

    fn from_shares(room_share: f64, spell_share: f64) -> Rooms {
        Rooms {
            room_variance: room_share / (1.0 - room_share),
            spell_share: spell_share / (1.0 - room_share),
            factors: BTreeMap::new(),
        }
    }

    /// The rooms as the record shows them.
    pub fn estimate(residuals: &[Residual]) -> Rooms {
        let mut spells: BTreeMap<(Id, i32), Sums> = BTreeMap::new();
        let mut rooms: BTreeMap<Id, Sums> = BTreeMap::new();
        let mut all = Sums::default();
        for residual in residuals {
            spells.entry((residual.room, residual.spell)).or_default().add(residual.z);
            rooms.entry(residual.room).or_default().add(residual.z);
            all.add(residual.z);
        }
        // The residuals are in units of a believed deviation; shares are of the one they show, never much below it.
        let unit = ((all.squares + 4.0) / (all.count + 4.0)).max(0.25);
        let together = spells.values().fold(Pairs::default(), |pairs, sums| pairs.plus(sums.pairs()));
        let apart = rooms.values().fold(Pairs::default(), |pairs, sums| pairs.plus(sums.pairs())).minus(together);
        let shared_spells = spells.values().filter(|sums| sums.count > 1.0).count() as f64;

        let room_share = blend(apart.mean() / unit, (rooms.len() as f64 - 1.0).max(0.0), ROOM_SHARE, ROOM_SHARE_WEIGHT);
        let beyond_room = together.mean() / unit - apart.mean().max(0.0) / unit;
        let spell_share = blend(beyond_room, shared_spells, SPELL_SHARE, SPELL_SHARE_WEIGHT);
        let mut estimate = Rooms::from_shares(room_share.min(SHARE_MAX / 2.0), spell_share.min(SHARE_MAX / 2.0));
        for (&room, sums) in &rooms {
            estimate.factors.insert(room, estimate.factor_from(sums, &spells, room));
        }
        estimate
    }

    /// The room's factor; an unknown room's is 0 give or take what rooms differ by.
    pub fn factor(&self, room: Id) -> Factor {
        self.factors.get(&room).copied().unwrap_or(Factor { mean: 0.0, variance: self.room_variance })
    }

    /// BLUP: flushes of one spell count for less than one each (Kish's design effect, *Survey Sampling*, 1965).
    fn factor_from(&self, sums: &Sums, spells: &BTreeMap<(Id, i32), Sums>, room: Id) -> Factor {
        let count: f64 = spells
            .range((room, i32::MIN)..=(room, i32::MAX))
            .map(|(_, spell)| spell.count * design_weight(spell.count, self.spell_share))
            .sum();
        let shrink = self.room_variance * count / (self.room_variance * count + 1.0);
        Factor { mean: shrink * sums.sum / sums.count, variance: self.room_variance * (1.0 - shrink) }
    }
}

/// What one of `count` values counts for when any two share `share` of their variance.
pub fn design_weight(count: f64, share: f64) -> f64 {
    1.0 / (1.0 + (count - 1.0).max(0.0) * share.max(0.0))
}

fn blend(estimate: f64, weight: f64, prior: f64, prior_weight: f64) -> f64 {
    let estimate = if estimate.is_finite() { estimate } else { prior };
    ((estimate * weight + prior * prior_weight) / (weight + prior_weight)).clamp(0.0, SHARE_MAX)
}

#[derive(Clone, Copy, Debug, Default)]
struct Sums {
    count: f64,
    sum: f64,
    squares: f64,
}

impl Sums {
    fn add(&mut self, z: f64) {
        self.count += 1.0;
        self.sum += z;
        self.squares += z * z;
    }

    /// Products of all pairs: ((Σz)² − Σz²)/2.
    fn pairs(&self) -> Pairs {
        Pairs { count: self.count * (self.count - 1.0) / 2.0, products: (self.sum * self.sum - self.squares) / 2.0 }
    }
}

#[derive(Clone, Copy, Debug, Default)]
struct Pairs {
    count: f64,
    products: f64,
}

impl Pairs {
    fn plus(self, other: Pairs) -> Pairs {
        Pairs { count: self.count + other.count, products: self.products + other.products }
    }

    fn minus(self, other: Pairs) -> Pairs {
        Pairs { count: self.count - other.count, products: self.products - other.products }
    }

    fn mean(self) -> f64 {
        if self.count > 0.5 { self.products / self.count } else { 0.0 }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand::SeedableRng;
    use rand_distr::{Distribution, StandardNormal};

    /// 60 rooms of 20 spells of 3 flushes with known shares: the estimate comes near them.
    #[test]
    fn known_shares_are_found_again() {
        let mut random = rand_pcg::Pcg64Mcg::seed_from_u64(20);
        let mut z = || -> f64 { StandardNormal.sample(&mut random) };
        let (room_sd, spell_sd, own_sd) = (0.2f64.sqrt(), 0.3f64.sqrt(), 0.5f64.sqrt());
        let mut residuals = Vec::new();
        let mut truth = BTreeMap::new();
        for room in 0..60 {
            let factor = room_sd * z();
            truth.insert(room, factor);
            for spell in 0..20 {
                let common = factor + spell_sd * z();
                residuals.extend((0..3).map(|_| Residual { room: Id::new(room), spell, z: common + own_sd * z() }));
            }
        }
        let rooms = Rooms::estimate(&residuals);
        assert!((rooms.room_variance - 0.25).abs() < 0.12, "{}", rooms.room_variance);
        assert!((rooms.spell_share - 0.375).abs() < 0.08, "{}", rooms.spell_share);
        for (room, factor) in truth {
            let found = rooms.factor(Id::new(room));
            // Residuals are in deviations of all flushes (1.0 here): the factor is found to about 4 of its deviations.
            assert!((found.mean - factor).abs() < 4.0 * found.variance.sqrt() + 0.1, "{room}");
        }
    }

    #[test]
    fn one_flush_teaches_little_and_nothing_breaks() {
        let (none, unknown) = (Rooms::estimate(&[]), Rooms::unknown());
        assert!((none.room_variance - unknown.room_variance).abs() < 1e-12);
        assert!((none.spell_share - unknown.spell_share).abs() < 1e-12);
        let one = Rooms::estimate(&[Residual { room: Id::new(1), spell: 3, z: 2.0 }]);
        assert!(one.factor(Id::new(1)).mean.abs() < 0.3);
        assert!(one.factor(Id::new(2)).mean == 0.0);
    }
}
