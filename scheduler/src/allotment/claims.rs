//! What is set against what: lots of stock and claims on them, sifted before anything is shared.
//!
//! Rule kept: bad input is a value. A line that cannot be counted is left out and named; nothing overflows, nothing
//! panics, and the order in which lines were given never matters.

use crate::clock::LocalDate;
use crate::id::Id;
use crate::quantity::Grams;
use serde::{Deserialize, Serialize};

/// The heaviest lot or ask that is counted: 10^12 g, a million tonnes. Heavier ones count as this much, which keeps
/// every product of grams, weights and line counts within 128 bits.
pub const MOST_GRAMS: i64 = 1_000_000_000_000;
/// The greatest weight of a claim that is counted.
pub const MOST_WEIGHT: u32 = 1_000_000;

/// Stock of one crop with one storage life.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Lot {
    pub id: Id,
    pub crop: String,
    /// The first delivery day it can serve.
    pub available_from: LocalDate,
    /// The last delivery day it can serve.
    pub keeps_until: LocalDate,
    pub grams: Grams,
}

/// One order line.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Claim {
    pub id: Id,
    pub buyer: Id,
    /// The delivery day.
    pub date: LocalDate,
    pub crop: String,
    pub grams: Grams,
    /// Less than this is of no use to the buyer: the claim is then given nothing. Zero when any amount is welcome.
    pub smallest_useful: Grams,
    /// Awards are whole multiples of this; zero or less means single grams.
    pub pack_step: Grams,
    /// Other crops the buyer takes instead, the best liked first.
    pub swaps: Vec<String>,
    /// Lower tiers are served first.
    pub tier: u8,
    /// Share weight within the tier, 1 to [`MOST_WEIGHT`]: a claim of weight 2 is cut at twice the amount of weight 1.
    pub weight: u32,
}

/// Which line a [`Trouble`] is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Subject {
    Claim(Id),
    Lot(Id),
}

/// What is wrong with a line.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum TroubleKind {
    /// Another line has this identifier; one of them is counted.
    SameId,
    /// An ask of zero or less, or a lot with nothing in it.
    NoGrams,
    /// The ask is smaller than one pack.
    LessThanAPack { pack_step: Grams },
    /// The smallest useful amount, in whole packs, is more than the ask in whole packs.
    MinimumAboveAsk { smallest_useful: Grams },
    /// The lot ends before it begins.
    KeepsUntilBeforeAvailable,
    /// More than [`MOST_GRAMS`]; counted as that.
    TooHeavy,
    /// A weight of zero.
    NoWeight,
    /// More than [`MOST_WEIGHT`]; counted as that.
    TooGreatWeight,
    /// A swap names the claim's own crop, or names one crop twice; that entry is skipped.
    IdleSwap { crop: String },
}

/// A line that was left out or read with a change.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Trouble {
    pub subject: Subject,
    pub kind: TroubleKind,
    /// Whether the line was left out altogether, rather than counted with the change its kind names.
    pub left_out: bool,
}

/// The lines that count, in an order of their own: lots by last day, first day, identifier; claims by buyer, identifier.
pub(crate) struct Sifted<'a> {
    pub lots: Vec<&'a Lot>,
    pub claims: Vec<&'a Claim>,
    pub troubles: Vec<Trouble>,
}

impl Lot {
    pub(crate) fn counted_grams(&self) -> i64 {
        self.grams.get().clamp(0, MOST_GRAMS)
    }
}

impl Claim {
    /// Whole packs within the ask, in grams.
    pub(crate) fn counted_grams(&self) -> i64 {
        Grams::new(self.grams.get().clamp(0, MOST_GRAMS)).floor_to(self.pack_step).get()
    }

    pub(crate) fn counted_step(&self) -> i64 {
        self.pack_step.get().clamp(1, MOST_GRAMS)
    }

    /// The smallest useful amount in whole packs, rounded up; zero when any amount is welcome.
    pub(crate) fn counted_minimum(&self) -> i64 {
        let step = i128::from(self.counted_step());
        let packs = (i128::from(self.smallest_useful.get().max(0)) + step - 1) / step;
        i64::try_from(packs * step).unwrap_or(i64::MAX)
    }

    pub(crate) fn counted_weight(&self) -> i64 {
        i64::from(self.weight.min(MOST_WEIGHT))
    }

    /// The claim's own crop, then its swaps, each once.
    pub(crate) fn crops_in_order_of_liking(&self) -> Vec<&str> {
        let mut crops = Vec::with_capacity(1 + self.swaps.len());
        crops.push(self.crop.as_str());
        for swap in &self.swaps {
            if !crops.contains(&swap.as_str()) {
                crops.push(swap);
            }
        }
        crops
    }
}

/// Leaves out what cannot be counted and says so. `claims` and `lots` may come in any order.
pub(crate) fn sift<'a>(lots: &'a [Lot], claims: &'a [Claim]) -> Sifted<'a> {
    let mut troubles = Vec::new();
    let lots = sift_lots(lots, &mut troubles);
    let claims = sift_claims(claims, &mut troubles);
    troubles.sort();
    Sifted { lots, claims, troubles }
}

fn sift_lots<'a>(lots: &'a [Lot], troubles: &mut Vec<Trouble>) -> Vec<&'a Lot> {
    let mut sorted: Vec<&Lot> = lots.iter().collect();
    sorted.sort();
    let mut last = None;
    sorted.retain(|lot| {
        let mut note = |kind, left_out| troubles.push(Trouble { subject: Subject::Lot(lot.id), kind, left_out });
        if last.replace(lot.id) == Some(lot.id) {
            note(TroubleKind::SameId, true);
            return false;
        }
        if lot.grams.get() > MOST_GRAMS {
            note(TroubleKind::TooHeavy, false);
        }
        let fault = if !lot.grams.is_positive() {
            Some(TroubleKind::NoGrams)
        } else if lot.keeps_until < lot.available_from {
            Some(TroubleKind::KeepsUntilBeforeAvailable)
        } else {
            None
        };
        fault.map(|kind| note(kind, true)).is_none()
    });
    sorted.sort_by_key(|lot| (lot.keeps_until, lot.available_from, lot.id));
    sorted
}

fn sift_claims<'a>(claims: &'a [Claim], troubles: &mut Vec<Trouble>) -> Vec<&'a Claim> {
    let mut sorted: Vec<&Claim> = claims.iter().collect();
    sorted.sort();
    let mut last = None;
    sorted.retain(|claim| {
        let mut note = |kind, left_out| troubles.push(Trouble { subject: Subject::Claim(claim.id), kind, left_out });
        if last.replace(claim.id) == Some(claim.id) {
            note(TroubleKind::SameId, true);
            return false;
        }
        if claim.grams.get() > MOST_GRAMS {
            note(TroubleKind::TooHeavy, false);
        }
        if claim.weight > MOST_WEIGHT {
            note(TroubleKind::TooGreatWeight, false);
        }
        for (position, swap) in claim.swaps.iter().enumerate() {
            if *swap == claim.crop || claim.swaps[..position].contains(swap) {
                note(TroubleKind::IdleSwap { crop: swap.clone() }, false);
            }
        }
        fault_of(claim).map(|kind| note(kind, true)).is_none()
    });
    sorted.sort_unstable_by_key(|claim| (claim.buyer, claim.id));
    sorted
}

fn fault_of(claim: &Claim) -> Option<TroubleKind> {
    if !claim.grams.is_positive() {
        Some(TroubleKind::NoGrams)
    } else if claim.weight == 0 {
        Some(TroubleKind::NoWeight)
    } else if claim.counted_grams() == 0 {
        Some(TroubleKind::LessThanAPack { pack_step: claim.pack_step })
    } else if claim.counted_minimum() > claim.counted_grams() {
        Some(TroubleKind::MinimumAboveAsk { smallest_useful: claim.smallest_useful })
    } else {
        None
    }
}
