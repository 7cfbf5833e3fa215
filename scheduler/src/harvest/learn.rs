//! What the farm's own closed flushes teach. Each of five measures is taken as log-normal per (crop, flush number) with
//! a Normal-Inverse-Gamma belief whose prior weighs about four flushes.
//!
//! Partial pooling, so that the third flush gains from the first two: the unknown log-mean of flush k is
//! m₀ₖ + g + dₖ, with g common to the crop and half of the first flushes' prior variance. Before flush k's own values are
//! taken in, g is estimated from the crop's *other* flush numbers (each counts with the precision of its mean), which
//! moves the prior mean of flush k and raises its weight κ accordingly. Own values are then taken in exactly, so no value
//! is counted twice.
//!
//! Rooms (see `room`): after a first round the residuals give the rooms' factors and the share that a spell has in
//! common; the second round learns from values with the room's factor taken out, flushes of one spell counting for less
//! than one each.

use crate::clock::LocalDate;
use crate::crop::CropKey;
use crate::harvest::batch::FlushFacts;
use crate::harvest::conjugate::{BetaBelief, NormalInverseGamma, log_moments};
use crate::harvest::pick_curve::{duration_for_mean_day, duration_for_spread};
use crate::harvest::prior::{CropPrior, FlushPrior};
use crate::harvest::room::{Residual, Rooms, design_weight, spell_of};
use crate::harvest::warmth::pace;
use crate::id::Id;
use std::collections::{BTreeMap, BTreeSet};

/// Pseudo-flushes the prior of a mean weighs.
const PRIOR_KAPPA: f64 = 4.0;
/// Half the pseudo-flushes the prior of a variance weighs, plus one.
const PRIOR_ALPHA: f64 = 3.0;
/// Share of the first flushes' prior variance of the mean that is common to the crop.
const CROP_SHARE: f64 = 0.5;
/// Log-deviation of how drawn out a flush is (judged).
const DURATION_LOG_SD: f64 = 0.25;
/// Flushes the prior chance of failure weighs.
const FAILURE_WEIGHT: f64 = 25.0;
/// Flushes the prior chance of throwing the units out weighs.
const THROWN_OUT_WEIGHT: f64 = 8.0;
/// A rest longer than all but this share of rests says that the units were thrown out.
const RESTED_TOO_LONG: f64 = 0.99;
/// Whether pins are reported at all: believed even, as after two flushes.
const PINS_REPORTED: BetaBelief = BetaBelief { yes: 1.0, no: 1.0 };

/// What is believed of one flush number of a crop; every belief is of a natural logarithm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FlushBelief {
    /// Grams of fresh weight for each gram of dry substrate.
    pub efficiency: NormalInverseGamma,
    /// Days from start to first pick at the reference temperature.
    pub days: NormalInverseGamma,
    /// Days from pins seen to first pick, at the reference temperature.
    pub pins_to_pick: NormalInverseGamma,
    /// λ of the pick curve, days.
    pub duration: NormalInverseGamma,
    /// Days from last pick to the next start; none after the last flush.
    pub rest: Option<NormalInverseGamma>,
}

/// Everything a forecast is made from.
#[derive(Clone, Debug)]
pub struct Learned {
    priors: Vec<CropPrior>,
    beliefs: BTreeMap<(CropKey, u8), FlushBelief>,
    chances: BTreeMap<CropKey, Chances>,
    thrown_out: BTreeMap<Key, BetaBelief>,
    /// Rooms as they bear on yield and on days.
    pub yield_rooms: Rooms,
    pub days_rooms: Rooms,
}

/// Chances learnt per crop.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Chances {
    /// A flush gives nothing at all.
    pub failure: BetaBelief,
    /// Pins, once there, are reported.
    pub pins_reported: BetaBelief,
}

impl Learned {
    pub fn priors(&self) -> &[CropPrior] {
        &self.priors
    }

    pub fn prior(&self, crop: CropKey) -> Option<&CropPrior> {
        self.priors.iter().find(|prior| prior.crop.key == crop)
    }

    pub fn belief(&self, crop: CropKey, number: u8) -> Option<&FlushBelief> {
        self.beliefs.get(&(crop, number))
    }

    pub fn chances(&self, crop: CropKey) -> Option<Chances> {
        self.chances.get(&crop).copied()
    }

    /// The chance that flush `number` is the last of its units although the crop has another.
    pub fn thrown_out(&self, crop: CropKey, number: u8) -> f64 {
        self.thrown_out.get(&(crop, number)).map_or(0.0, |belief| belief.mean())
    }
}

/// What the record up to `today` teaches. Flushes still open, or with a fault, teach nothing but rest.
pub fn learn(priors: &[CropPrior], record: &[FlushFacts], today: LocalDate) -> Learned {
    let sound: Vec<&FlushFacts> = record.iter().filter(|flush| flush.fault(priors, today).is_none()).collect();
    let closed: Vec<&FlushFacts> = sound.iter().copied().filter(|flush| flush.closed).collect();
    let mut chances: BTreeMap<CropKey, Chances> = BTreeMap::new();
    for prior in priors {
        let failure = BetaBelief::about(prior.failure_chance, FAILURE_WEIGHT);
        chances.insert(prior.crop.key, Chances { failure, pins_reported: PINS_REPORTED });
    }
    let mut values = Values::default();
    for flush in &closed {
        let Some(prior) = priors.iter().find(|prior| prior.crop.key == flush.crop) else { continue };
        let Some(chance) = chances.get_mut(&flush.crop) else { continue };
        values.take(flush, prior, chance);
    }
    values.take_rests(&sound);

    let (efficiency, yield_rooms) = fit_with_rooms(priors, &values.efficiency, efficiency_prior);
    let (days, days_rooms) = fit_with_rooms(priors, &values.days, days_prior);
    let pins_to_pick = fit(priors, &weighed(&values.pins_to_pick), pins_prior);
    let duration = fit(priors, &weighed(&values.duration), duration_prior);
    let rest = fit(priors, &weighed(&values.rest), rest_prior);
    let mut beliefs = BTreeMap::new();
    for (&key, &efficiency) in &efficiency {
        beliefs.insert(
            key,
            FlushBelief {
                efficiency,
                days: days[&key],
                pins_to_pick: pins_to_pick[&key],
                duration: duration[&key],
                rest: rest.get(&key).copied(),
            },
        );
    }
    let thrown_out = thrown_out(priors, &sound, &rest, today);
    Learned { priors: priors.to_vec(), beliefs, chances, thrown_out, yield_rooms, days_rooms }
}

/// Whether another flush was taken of the same units, for each flush that could have had one. One that still rests says
/// nothing until it has rested longer than flushes do.
fn thrown_out(
    priors: &[CropPrior],
    sound: &[&FlushFacts],
    rests: &BTreeMap<Key, NormalInverseGamma>,
    today: LocalDate,
) -> BTreeMap<Key, BetaBelief> {
    let known: BTreeSet<(Id, u8)> = sound.iter().map(|flush| (flush.batch, flush.number)).collect();
    let mut beliefs = BTreeMap::new();
    for prior in priors {
        for flush in prior.flushes.iter().filter(|flush| usize::from(flush.number) < prior.flushes.len()) {
            let belief = BetaBelief::about(prior.thrown_out_chance, THROWN_OUT_WEIGHT);
            beliefs.insert((prior.crop.key, flush.number), belief);
        }
    }
    for flush in sound.iter().filter(|flush| flush.closed) {
        let key = (flush.crop, flush.number);
        let (Some(belief), Some(rest), Some((_, last))) = (beliefs.get_mut(&key), rests.get(&key), flush.pick_days())
        else {
            continue;
        };
        // A quantile is searched for, so only where the answer hangs on it.
        let longest = || rest.predictive().quantile(RESTED_TOO_LONG).exp();
        if known.contains(&(flush.batch, flush.number + 1)) {
            *belief = belief.updated(0, 1);
        } else if flush.lost_units == flush.units || days_between(last, today) > longest() {
            *belief = belief.updated(1, 0);
        }
    }
    beliefs
}

type Key = (CropKey, u8);

/// One measured logarithm.
#[derive(Clone, Copy, Debug)]
struct Value {
    key: Key,
    room: Id,
    spell: i32,
    log: f64,
}

#[derive(Default)]
struct Values {
    efficiency: Vec<Value>,
    days: Vec<Value>,
    pins_to_pick: Vec<Value>,
    duration: Vec<Value>,
    rest: Vec<Value>,
}

impl Values {
    fn take(&mut self, flush: &FlushFacts, prior: &CropPrior, chance: &mut Chances) {
        let Some(begun_on) = flush.begun_on() else { return };
        let of = |log: f64| Value { key: (flush.crop, flush.number), room: flush.room, spell: spell_of(begun_on), log };
        let Some((first, _)) = flush.pick_days() else {
            // All units lost is loss, not a flush that failed to come.
            if flush.lost_units < flush.units {
                chance.failure = chance.failure.updated(1, 0);
            }
            return;
        };
        let dry_g = flush.dry_grams().get() as f64;
        if dry_g <= 0.0 {
            return;
        }
        let picked_g = flush.picked_grams().get() as f64;
        let pace = pace(prior, flush.room_temperature_c);
        chance.failure = chance.failure.updated(0, 1);
        self.efficiency.push(of((picked_g / dry_g).ln()));
        self.days.push(of((days_between(begun_on, first) * pace).ln()));
        match flush.pins_seen_on {
            Some(pins_on) if pins_on <= first => {
                chance.pins_reported = chance.pins_reported.updated(1, 0);
                self.pins_to_pick.push(of((days_between(pins_on, first) * pace).ln()));
            }
            _ => chance.pins_reported = chance.pins_reported.updated(0, 1),
        }
        let gram_days: f64 =
            flush.picked.iter().map(|&(day, weight)| (day - first).num_days() as f64 * weight.get() as f64).sum();
        self.duration.push(of(duration_for_mean_day(gram_days / picked_g).ln()));
    }

    fn take_rests(&mut self, sound: &[&FlushFacts]) {
        let last_picks: BTreeMap<(Id, u8), LocalDate> =
            sound.iter().filter_map(|flush| Some(((flush.batch, flush.number), flush.pick_days()?.1))).collect();
        for flush in sound {
            let (Some(begun_on), Some(before)) = (flush.begun_on(), flush.number.checked_sub(1)) else { continue };
            let Some(&last_pick) = last_picks.get(&(flush.batch, before)) else { continue };
            let log = days_between(last_pick, begun_on).ln();
            self.rest.push(Value { key: (flush.crop, before), room: flush.room, spell: spell_of(begun_on), log });
        }
    }
}

/// Days between two dates; the same day counts as half a day, so that a logarithm exists.
fn days_between(from: LocalDate, to: LocalDate) -> f64 {
    ((to - from).num_days() as f64).max(0.5)
}

/// Prior mean and deviation of a logarithm.
type LogPrior = fn(&CropPrior, &FlushPrior) -> Option<(f64, f64)>;

fn efficiency_prior(_: &CropPrior, flush: &FlushPrior) -> Option<(f64, f64)> {
    Some(log_moments(flush.be_mean, flush.be_mean * flush.be_cv))
}

fn days_prior(_: &CropPrior, flush: &FlushPrior) -> Option<(f64, f64)> {
    Some(log_moments(flush.days_mean, flush.days_sd))
}

fn pins_prior(crop: &CropPrior, _: &FlushPrior) -> Option<(f64, f64)> {
    Some(log_moments(crop.pins_to_pick_days, crop.pins_to_pick_days_sd))
}

fn duration_prior(_: &CropPrior, flush: &FlushPrior) -> Option<(f64, f64)> {
    Some((duration_for_spread(f64::from(flush.spread_days)).ln(), DURATION_LOG_SD))
}

fn rest_prior(_: &CropPrior, flush: &FlushPrior) -> Option<(f64, f64)> {
    Some(log_moments(flush.rest_days_mean?, flush.rest_days_sd?))
}

fn weighed(values: &[Value]) -> Vec<(Key, f64, f64)> {
    values.iter().map(|value| (value.key, value.log, 1.0)).collect()
}

fn fit_with_rooms(
    priors: &[CropPrior],
    values: &[Value],
    log_prior: LogPrior,
) -> (BTreeMap<Key, NormalInverseGamma>, Rooms) {
    let first_round = fit(priors, &weighed(values), log_prior);
    let deviation = |key: &Key| first_round.get(key).map_or(1.0, |nig| nig.expected_variance().sqrt());
    let residuals: Vec<Residual> = values
        .iter()
        .filter_map(|value| {
            let z = (value.log - first_round.get(&value.key)?.mean) / deviation(&value.key);
            // One wild flush should not decide what a room is like.
            Some(Residual { room: value.room, spell: value.spell, z: z.clamp(-4.0, 4.0) })
        })
        .collect();
    let rooms = Rooms::estimate(&residuals);
    let mut together: BTreeMap<(Key, Id, i32), f64> = BTreeMap::new();
    for value in values {
        *together.entry((value.key, value.room, value.spell)).or_default() += 1.0;
    }
    let adjusted: Vec<(Key, f64, f64)> = values
        .iter()
        .map(|value| {
            let count = together[&(value.key, value.room, value.spell)];
            let log = value.log - rooms.factor(value.room).mean * deviation(&value.key);
            (value.key, log, design_weight(count, rooms.spell_share))
        })
        .collect();
    (fit(priors, &adjusted, log_prior), rooms)
}

/// A flush number's values in brief: weight, mean, and squares about the mean.
struct Own {
    key: Key,
    prior_mean: f64,
    prior_variance: f64,
    /// Prior variance of g and of dₖ.
    crop_variance: f64,
    values: Vec<(f64, f64)>,
}

impl Own {
    fn start(&self, mean: f64, mean_variance: f64) -> NormalInverseGamma {
        NormalInverseGamma {
            mean,
            kappa: self.prior_variance / mean_variance,
            alpha: PRIOR_ALPHA,
            beta: (PRIOR_ALPHA - 1.0) * self.prior_variance,
        }
    }

    fn own_variance(&self) -> f64 {
        self.prior_variance / PRIOR_KAPPA - self.crop_variance
    }

    fn learnt_from(&self, start: NormalInverseGamma) -> NormalInverseGamma {
        self.values.iter().fold(start, |nig, &(log, weight)| nig.updated(log, weight))
    }

    /// This flush number's word on g: an estimate and its variance.
    fn on_crop(&self) -> Option<(f64, f64)> {
        let weight: f64 = self.values.iter().map(|&(_, weight)| weight).sum();
        if weight <= 0.0 {
            return None;
        }
        let mean = self.values.iter().map(|&(log, weight)| log * weight).sum::<f64>() / weight;
        let alone = self.learnt_from(self.start(self.prior_mean, self.prior_variance / PRIOR_KAPPA));
        Some((mean - self.prior_mean, self.own_variance() + alone.expected_variance() / weight))
    }
}

fn fit(priors: &[CropPrior], values: &[(Key, f64, f64)], log_prior: LogPrior) -> BTreeMap<Key, NormalInverseGamma> {
    let mut fitted = BTreeMap::new();
    for prior in priors {
        let log_priors: Vec<(Key, (f64, f64))> = prior
            .flushes
            .iter()
            .filter_map(|flush| Some(((prior.crop.key, flush.number), log_prior(prior, flush)?)))
            .collect();
        let least = log_priors.iter().map(|(_, (_, sd))| sd * sd).fold(f64::INFINITY, f64::min);
        let crop_variance = CROP_SHARE * least / PRIOR_KAPPA;
        let all: Vec<Own> = log_priors
            .into_iter()
            .map(|(key, (prior_mean, sd))| Own {
                key,
                prior_mean,
                prior_variance: sd * sd,
                crop_variance,
                values: values.iter().filter(|value| value.0 == key).map(|value| (value.1, value.2)).collect(),
            })
            .collect();
        for own in &all {
            let mut precision = 1.0 / crop_variance;
            let mut pull = 0.0;
            for (shift, variance) in all.iter().filter(|other| other.key != own.key).filter_map(Own::on_crop) {
                precision += 1.0 / variance;
                pull += shift / variance;
            }
            let start = own.start(own.prior_mean + pull / precision, 1.0 / precision + own.own_variance());
            fitted.insert(own.key, own.learnt_from(start));
        }
    }
    fitted
}
