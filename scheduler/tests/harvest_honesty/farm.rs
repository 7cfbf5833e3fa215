//! A simulated farm whose true parameters differ from the priors: two rooms, both crops, two new batches a week.

#![allow(dead_code, reason = "two test programs use different parts")]

use chrono::Duration;
use rand::{RngExt, SeedableRng};
use rand_distr::{Distribution, StandardNormal};
use rand_pcg::Pcg64Mcg;
use scheduler::clock::LocalDate;
use scheduler::harvest::batch::{FlushFacts, Start};
use scheduler::harvest::conjugate::log_moments;
use scheduler::harvest::prior::{CropPrior, built_in};
use scheduler::id::Id;
use scheduler::quantity::Grams;
use std::collections::BTreeMap;

pub const WEEKS: i64 = 104;

pub fn first_day() -> LocalDate {
    // A Monday.
    "2026-01-05".parse().unwrap()
}

/// A flush with its whole future.
pub struct Truth {
    pub facts: FlushFacts,
    pub begun_on: LocalDate,
    pub closed_on: LocalDate,
    /// Every pick.
    pub picks: Vec<(LocalDate, Grams)>,
    pub pins_on: Option<LocalDate>,
}

impl Truth {
    pub fn total_g(&self) -> f64 {
        self.picks.iter().map(|pick| pick.1.get()).sum::<i64>() as f64
    }

    /// What the record says on the morning of `today`; `None` until the day after it is begun.
    pub fn known_on(&self, today: LocalDate) -> Option<FlushFacts> {
        // In the morning nobody has started anything yet that day.
        (self.begun_on < today).then(|| FlushFacts {
            picked: self.picks.iter().copied().filter(|pick| pick.0 < today).collect(),
            pins_seen_on: self.pins_on.filter(|&pins_on| pins_on < today),
            closed: self.closed_on < today,
            ..self.facts.clone()
        })
    }
}

struct TrueFlush {
    efficiency: (f64, f64),
    days: (f64, f64),
    pins: (f64, f64),
    duration: (f64, f64),
    rest: (f64, f64),
}

struct Chance(Pcg64Mcg);

impl Chance {
    fn z(&mut self) -> f64 {
        StandardNormal.sample(&mut self.0)
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        self.0.random_range(low..high)
    }
}

/// The farm's true parameters for every flush of a crop: moved from the priors for the whole crop and for each flush, and
/// with other variances.
fn true_flushes(prior: &CropPrior, chance: &mut Chance) -> Vec<TrueFlush> {
    let (whole_yield, whole_days) = (0.2 * chance.z(), 0.08 * chance.z());
    let (pins_shift, pins_stretch) = (0.1 * chance.z(), chance.between(0.7, 1.2));
    let (ln_pins, pins_sd) = log_moments(prior.pins_to_pick_days, prior.pins_to_pick_days_sd);
    let mut flushes = Vec::new();
    for flush in &prior.flushes {
        let (ln_be, be_sd) = log_moments(flush.be_mean, flush.be_mean * flush.be_cv);
        let (ln_days, days_sd) = log_moments(flush.days_mean, flush.days_sd);
        let duration = (f64::from(flush.spread_days) + 1.0) / 2.19;
        let (ln_rest, rest_sd) = log_moments(flush.rest_days_mean.unwrap_or(14.0), flush.rest_days_sd.unwrap_or(5.0));
        flushes.push(TrueFlush {
            efficiency: (ln_be + whole_yield + 0.4 * be_sd * chance.z(), be_sd * chance.between(0.7, 1.25)),
            days: (ln_days + whole_days + 0.06 * chance.z(), days_sd * chance.between(0.7, 1.2)),
            pins: (ln_pins + pins_shift, pins_sd * pins_stretch),
            duration: (duration.ln() + 0.1 * chance.z(), 0.25 * chance.between(0.6, 1.2)),
            rest: (ln_rest + 0.15 * chance.z(), rest_sd * chance.between(0.6, 1.1)),
        });
    }
    flushes
}

/// What a room does to its flushes: lasting, and drifting from day to day (an Ornstein–Uhlenbeck process with a memory of
/// some ten days, which is not the forecast's own fortnights).
struct TrueRoom {
    lasting: f64,
    drift: Vec<f64>,
}

const LASTING_SHARE: f64 = 0.10;
const DRIFT_SHARE: f64 = 0.20;

fn true_room(chance: &mut Chance) -> TrueRoom {
    let memory = (-0.1f64).exp();
    let mut at = chance.z();
    let days = (WEEKS * 7 + 200) as usize;
    let drift = (0..days)
        .map(|_| {
            at = memory * at + (1.0 - memory * memory).sqrt() * chance.z();
            at
        })
        .collect();
    TrueRoom { lasting: chance.z(), drift }
}

impl TrueRoom {
    fn score(&self, day: i64, own: f64) -> f64 {
        let drift = self.drift[(day.max(0) as usize).min(self.drift.len() - 1)];
        LASTING_SHARE.sqrt() * self.lasting
            + DRIFT_SHARE.sqrt() * drift
            + (1.0 - LASTING_SHARE - DRIFT_SHARE).sqrt() * own
    }
}

/// Two years of a farm.
pub fn farm(seed: u64) -> Vec<Truth> {
    let mut chance = Chance(Pcg64Mcg::seed_from_u64(seed));
    let priors = built_in();
    let flushes: BTreeMap<usize, Vec<TrueFlush>> =
        (0..priors.len()).map(|crop| (crop, true_flushes(&priors[crop], &mut chance))).collect();
    let yield_rooms = [true_room(&mut chance), true_room(&mut chance)];
    let days_rooms = [true_room(&mut chance), true_room(&mut chance)];
    let failure_chance = chance.between(0.0, 0.04);
    let thrown_out_chance = chance.between(0.0, 0.2);
    let pins_reported = chance.between(0.3, 1.0);
    let mut all = Vec::new();
    let mut next_id = 0;
    for week in 0..WEEKS {
        for (crop, prior) in priors.iter().enumerate() {
            let room = usize::from(chance.between(0.0, 1.0) < 0.5);
            let batch = FlushFacts {
                id: Id::new(0),
                batch: Id::new(week * 2 + crop as i64 + 1),
                crop: prior.crop.key,
                number: 1,
                room: Id::new(room as i64 + 1),
                units: chance.between(20.0, 60.0) as u32,
                lost_units: chance.between(0.0, 2.0) as u32,
                dry_grams_per_unit: Grams::new(if crop == 0 { 900 } else { 2700 }),
                start: Start::Unknown,
                pins_seen_on: None,
                picked: Vec::new(),
                closed: false,
                room_temperature_c: None,
            };
            let mut begun = week * 7 + chance.between(0.0, 7.0) as i64;
            for (index, truth) in flushes[&crop].iter().enumerate() {
                next_id += 1;
                let begun_on = first_day() + Duration::days(begun);
                let facts = FlushFacts {
                    id: Id::new(next_id),
                    number: index as u8 + 1,
                    start: Start::Begun(begun_on),
                    ..batch.clone()
                };
                let days_z = days_rooms[room].score(begun, chance.z());
                let days = (truth.days.0 + truth.days.1 * days_z).exp();
                let pins_gap = (truth.pins.0 + truth.pins.1 * chance.z()).exp();
                let yield_z = yield_rooms[room].score(begun, chance.z());
                let efficiency = (truth.efficiency.0 + truth.efficiency.1 * yield_z).exp();
                let fails = chance.between(0.0, 1.0) < failure_chance;
                let is_reported = chance.between(0.0, 1.0) < pins_reported;
                let first = begun + (days.round() as i64).max(1);
                let picks = if fails {
                    Vec::new()
                } else {
                    picks(truth, first, efficiency * facts.dry_grams().get() as f64, &mut chance)
                };
                let pins_at = begun + (days - pins_gap).ceil().max(0.0) as i64;
                let pins_on =
                    (is_reported && !fails && pins_at <= first).then(|| first_day() + Duration::days(pins_at));
                let last = picks.last().map_or(first_day() + Duration::days(first + 14), |pick| pick.0);
                // One flush in ten is closed some days late.
                let late = if chance.between(0.0, 1.0) < 0.1 { chance.between(1.0, 7.0) as i64 } else { 0 };
                let closed_on = last + Duration::days(late);
                begun =
                    (last - first_day()).num_days() + (truth.rest.0 + truth.rest.1 * chance.z()).exp().round() as i64;
                all.push(Truth { facts, begun_on, closed_on, picks, pins_on });
                if fails || chance.between(0.0, 1.0) < thrown_out_chance {
                    break;
                }
            }
        }
    }
    all
}

/// Daily picks follow the curve with a tenth of noise; the family stops when 98 % is picked.
fn picks(truth: &TrueFlush, first: i64, total_g: f64, chance: &mut Chance) -> Vec<(LocalDate, Grams)> {
    let duration = (truth.duration.0 + truth.duration.1 * chance.z()).exp();
    let until = |day: f64| -(-(day / duration).powf(1.6)).exp_m1();
    let mut picks = Vec::new();
    for day in 0..14 {
        if day > 0 && until(f64::from(day)) > 0.98 {
            break;
        }
        let share = until(f64::from(day) + 1.0) - until(f64::from(day));
        let weight = Grams::new((total_g * share * (0.1 * chance.z()).exp()).round() as i64);
        if weight.is_positive() {
            picks.push((first_day() + Duration::days(first + i64::from(day)), weight));
        }
    }
    picks
}
