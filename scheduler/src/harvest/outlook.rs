//! What one flush may still give and when, as distributions of its own, for a page about that flush and for scoring.

use crate::harvest::curve::{self, NODES};
use crate::harvest::ready::{Begins, First, Ready, ReadyFlush, Yields};
use crate::id::Id;
use statrs::distribution::{ContinuousCDF, Normal};

/// A distribution of one amount, some of whose mass may be at nothing.
#[derive(Clone, Debug, PartialEq)]
pub struct Marginal {
    curve: Box<[f32; NODES]>,
    scale: f32,
    nothing: f64,
}

impl Marginal {
    /// The amount below which a share `p` (0 to 1) of outcomes fall.
    pub fn quantile(&self, p: f64) -> f64 {
        let p = p.clamp(1e-6, 1.0 - 1e-6);
        if p <= self.nothing {
            return 0.0;
        }
        let within = (p - self.nothing) / (1.0 - self.nothing);
        let score = Normal::standard().inverse_cdf(within.clamp(1e-9, 1.0 - 1e-9));
        f64::from(curve::value_at(&self.curve, score as f32) * self.scale)
    }

    /// `count` equally likely amounts, rising.
    pub fn members(&self, count: usize) -> Vec<f64> {
        (0..count).map(|i| self.quantile((i as f64 + 0.5) / count as f64)).collect()
    }
}

/// One flush's outlook.
#[derive(Clone, Debug, PartialEq)]
pub struct Outlook {
    pub flush: Id,
    /// Grams still to come.
    pub left_g: Marginal,
    /// First pick in days from today (round it), if it comes; `None` while picking, or when even the start is uncertain.
    pub first_pick_days: Option<Marginal>,
    /// How far `first_pick_days` is to be moved: days from today to the start.
    pub start_days: f64,
    /// Chance that nothing (more) comes.
    pub failure_chance: f64,
}

impl Outlook {
    /// The day of the first pick in days from today below which a share `p` of outcomes fall.
    pub fn first_pick_quantile(&self, p: f64) -> Option<f64> {
        self.first_pick_days.as_ref().map(|days| days.quantile(p) + self.start_days)
    }
}

pub fn outlooks(ready: &Ready) -> Vec<Outlook> {
    ready.flushes.iter().map(|flush| outlook(ready, flush)).collect()
}

fn outlook(ready: &Ready, flush: &ReadyFlush) -> Outlook {
    let failure_chance = f64::from(flush.failure);
    let (place, scale) = match &flush.yields {
        Yields::Whole { efficiency, dry_g } => (*efficiency, *dry_g),
        Yields::Partly { left_g, .. } => (*left_g, 1.0),
    };
    let (first_pick_days, start_days) = match &flush.first {
        First::Days { start: Begins::At(start), days, .. } => {
            let curve = Box::new(ready.curves[*days]);
            (Some(Marginal { curve, scale: 1.0, nothing: 0.0 }), f64::from(*start))
        }
        _ => (None, 0.0),
    };
    Outlook {
        flush: flush.id,
        left_g: Marginal { curve: Box::new(ready.curves[place]), scale, nothing: failure_chance },
        first_pick_days,
        start_days,
        failure_chance,
    }
}
