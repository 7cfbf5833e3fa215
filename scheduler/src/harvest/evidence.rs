//! What is known of one flush today, brought to bear on its yield and its days by conditioning their distributions:
//!
//! - *nothing yet*: the first pick is today or later; and a flush that should have come by now may have failed;
//! - *pins seen on P*: with T = days to the first pick and L = days from pins to pick, independent, P came at T − L;
//! - *no pins yet on day N*: pins come later, or came and were not reported (the share reported is learnt);
//! - *partly picked, G grams over j days*: yield Y and the pick curve's duration λ with G = Y · F(j; λ); that the flush is
//!   not closed speaks against the curves by which it would be finished;
//! - *units lost*: the substrate left is known.

use crate::clock::LocalDate;
use crate::harvest::batch::FlushFacts;
use crate::harvest::conjugate::{NormalInverseGamma, StudentPredictive};
use crate::harvest::curve::{self, Curve, NODES};
use crate::harvest::pick_curve::{self, PICK_DAYS};
use crate::harvest::room::Rooms;
use crate::id::Id;
use statrs::distribution::{ContinuousCDF, Normal};

/// Pick curves a flush may follow, equally likely beforehand.
pub const LEVELS: usize = 64;
/// A flush that will fail shows pins this often (judged).
const PINS_THOUGH_FAILING: f64 = 0.1;
/// A flush nearly picked out by a pick curve, yet not closed, counts this much for that curve: families close a finished
/// flush, if not always at once (judged).
const OPEN_THOUGH_FINISHED: f64 = 0.1;
/// Evidence is never held against a flush more than this: records err.
const LIKELIHOOD_LEAST: f64 = 1e-6;

/// How a logarithm's variance divides; weights are square roots of shares and their squares sum to 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shared {
    /// With all flushes of the (crop, flush number): what the farm has not learnt yet.
    pub belief: f32,
    /// With all flushes of the room.
    pub room: f32,
    /// With the flushes of the room's spell.
    pub spell: f32,
    /// Its own.
    pub own: f32,
}

impl Shared {
    /// After evidence that left `kept` (0 to 1) of the variance: what is left is in common to the same degree at most.
    #[must_use]
    pub fn after_evidence(self, kept: f64) -> Shared {
        let root = kept.clamp(0.0, 1.0).sqrt() as f32;
        let (belief, room, spell) = (self.belief * root, self.room * root, self.spell * root);
        let own = (1.0 - belief * belief - room * room - spell * spell).max(0.0).sqrt();
        Shared { belief, room, spell, own }
    }
}

/// A logarithm's predictive in a room, and what it shares.
pub fn in_room(belief: NormalInverseGamma, rooms: &Rooms, room: Id) -> (StudentPredictive, Shared) {
    let factor = rooms.factor(room);
    let total = 1.0 + 1.0 / belief.kappa + factor.variance;
    let root = |share: f64| (share / total).sqrt() as f32;
    let shared = Shared {
        belief: root(1.0 / belief.kappa),
        room: root(factor.variance),
        spell: root(rooms.spell_share),
        own: root(1.0 - rooms.spell_share),
    };
    let predictive = StudentPredictive {
        centre: belief.mean + factor.mean * belief.expected_variance().sqrt(),
        scale: (belief.beta / belief.alpha * total).sqrt(),
        degrees: 2.0 * belief.alpha,
    };
    (predictive, shared)
}

/// How far a flush has come.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Waiting {
    /// Days since the start.
    pub days_since_start: i64,
    /// Days from the start to pins, where they were seen.
    pub pins_after_days: Option<i64>,
}

/// Beliefs about the pins of a flush.
#[derive(Clone, Copy, Debug)]
pub struct Pins {
    pub pins_to_pick: StudentPredictive,
    pub reported_share: f64,
    /// Speed of development in this room.
    pub pace: f64,
}

/// Days from start to first pick (real days, not logarithms) given that nothing was picked before today; and how likely
/// that evidence was if the flush comes at all.
pub fn days_while_waiting(ln_days: &Curve, waiting: Waiting, pins: Pins) -> (Curve, f64) {
    let days: Curve = ln_days.map(|ln| (ln.clamp(-3.0, 6.0)).exp() / pins.pace);
    // A day count is rounded, so "day N or later" begins half a day before.
    let soonest = waiting.days_since_start as f64 - 0.5;
    let ln_gap = |gap: f64| (gap.max(0.25) * pins.pace).ln();
    let likelihood = |first: f64| {
        if first < soonest {
            return 0.0;
        }
        match waiting.pins_after_days {
            Some(seen) => {
                let gap = first - seen as f64;
                if gap < -0.5 {
                    return 0.0;
                }
                // Density of the gap itself, hence the Jacobian.
                (pins.pins_to_pick.ln_density(ln_gap(gap)) - gap.max(0.25).ln()).exp()
            }
            None => {
                let gap = first - waiting.days_since_start as f64;
                let not_yet = if gap <= 0.0 { 0.0 } else { pins.pins_to_pick.cdf(ln_gap(gap)) };
                1.0 - pins.reported_share + pins.reported_share * not_yet
            }
        }
    };
    match curve::given(&days, likelihood) {
        Some((given, likelihood)) => (given.map(|day| day.max(soonest)), likelihood.clamp(LIKELIHOOD_LEAST, 1.0)),
        // Later than anything believed possible: any day now, if at all.
        None => (std::array::from_fn(|i| soonest + 0.5 + i as f64 / NODES as f64 * 3.0), LIKELIHOOD_LEAST),
    }
}

/// Chance that a flush not yet picked gives nothing, from the chance beforehand.
pub fn failure_while_waiting(beforehand: f64, waiting: Waiting, likelihood_if_it_comes: f64) -> f64 {
    match waiting.pins_after_days {
        None => beforehand / (beforehand + (1.0 - beforehand) * likelihood_if_it_comes),
        Some(_) => {
            let failing = beforehand * PINS_THOUGH_FAILING;
            failing / (failing + 1.0 - beforehand)
        }
    }
}

/// Shares of the yield on each harvest day, one row a level; rows sum to 1.
pub type Profiles = Vec<[f32; PICK_DAYS]>;

/// λ of each level, days, from the curve of ln λ.
pub fn durations(ln_duration: &Curve) -> [f64; LEVELS] {
    let compact = curve::compact(ln_duration, |ln| ln.clamp(-1.6, 3.0).exp());
    level_scores().map(|score| f64::from(curve::value_at(&compact, score)))
}

/// Normal scores of the levels' middles.
pub fn level_scores() -> [f32; LEVELS] {
    static SCORES: std::sync::LazyLock<[f32; LEVELS]> = std::sync::LazyLock::new(|| {
        let normal = Normal::standard();
        std::array::from_fn(|level| normal.inverse_cdf((level as f64 + 0.5) / LEVELS as f64) as f32)
    });
    *SCORES
}

/// Profiles of a flush of which nothing is picked.
pub fn whole_profiles(durations: &[f64; LEVELS]) -> Profiles {
    durations.iter().map(|&duration| profile_after(&pick_curve::cumulative(duration), 0).0).collect()
}

/// Shares of what is left after `done` harvest days, and the share picked before.
fn profile_after(cumulative: &[f64; PICK_DAYS], done: usize) -> ([f32; PICK_DAYS], f64) {
    let picked = if done == 0 { 0.0 } else { cumulative[done.min(PICK_DAYS) - 1] };
    let left = 1.0 - picked;
    let mut shares = [0.0; PICK_DAYS];
    let mut before = picked;
    for day in done..PICK_DAYS {
        if left > 1e-9 {
            shares[day - done] = ((cumulative[day] - before) / left) as f32;
        }
        before = cumulative[day];
    }
    (shares, picked)
}

/// A flush in the middle of its picks.
pub struct Partly {
    /// Grams still to come, by score.
    pub left_g: Curve,
    /// Level of the pick curve at each node.
    pub levels: [u8; NODES],
    /// One row a level, its first day the next harvest day.
    pub profiles: Profiles,
}

/// Conditions yield and pick curve on `picked_g` over the first `done` harvest days. `ln_yield` is the predictive of the
/// natural logarithm of the flush's grams.
pub fn partly_picked(ln_yield: StudentPredictive, durations: &[f64; LEVELS], picked_g: f64, done: usize) -> Partly {
    let mut rows: Vec<(f64, f64, u8)> = Vec::with_capacity(LEVELS);
    let mut profiles = Vec::with_capacity(LEVELS);
    for (level, &duration) in durations.iter().enumerate() {
        let (profile, share) = profile_after(&pick_curve::cumulative(duration), done);
        profiles.push(profile);
        let total_g = picked_g / share.max(1e-6);
        let still_open = if share < 1.0 { 0.0 } else { OPEN_THOUGH_FINISHED.ln() };
        rows.push((total_g - picked_g, ln_yield.ln_density(total_g.ln()) + still_open, level as u8));
    }
    rows.sort_by(|a, b| a.0.total_cmp(&b.0));
    let highest = rows.iter().map(|row| row.1).fold(f64::NEG_INFINITY, f64::max);
    let weights: Vec<f64> = rows.iter().map(|row| (row.1 - highest).exp()).collect();
    let total: f64 = weights.iter().sum();
    let mut sum = 0.0;
    let below: Vec<f64> = weights
        .iter()
        .map(|weight| {
            sum += weight;
            (sum - weight / 2.0) / total
        })
        .collect();
    let left: Vec<f64> = rows.iter().map(|row| row.0.max(0.0)).collect();
    let places: Vec<f64> = (0..LEVELS).map(|place| place as f64).collect();
    let levels = curve::turned(&below, &places).map(|place| rows[(place.round() as usize).min(LEVELS - 1)].2);
    Partly { left_g: curve::turned(&below, &left), levels, profiles }
}

/// Harvest days that are over, for a flush with picks: today counts when something was picked today.
pub fn harvest_days_done(flush: &FlushFacts, today: LocalDate) -> Option<usize> {
    let (first, last) = flush.pick_days()?;
    let over = (today - first).num_days() + i64::from(last >= today);
    Some(usize::try_from(over).unwrap_or(0).clamp(1, PICK_DAYS))
}
