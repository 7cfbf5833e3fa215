//! Weights and crops into lines. Either every weight stands before its crop or every weight after it; anything between
//! the two is asked about. A unit carries on along a list, never backwards.

use super::amounts::{Weighed, within_limits};
use super::{Context, Line, Question, Weight};
use scheduler::quantity::{Amount, UnitSystem, WeightUnit};

/// Grams that carry on as grams; a bare number below is more likely of another unit.
const CARRIED_GRAMS_LEAST: i64 = 50;

/// What lines are made of.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Piece {
    Weight(Weighed),
    Crop(usize),
    Joint,
}

/// Lines, or a weight that names no crop.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Lines {
    None,
    Full(Vec<Line>),
    Alone(Weight),
}

/// The lines in `pieces`; `is_each` says that one weight goes for every crop.
pub(super) fn lines(pieces: &[Piece], is_each: IsEach, context: &Context, keys: &[String]) -> Result<Lines, Question> {
    let weights: Vec<&Weighed> = pieces.iter().filter_map(weighed).collect();
    let crops: Vec<usize> = pieces.iter().filter_map(crop).collect();
    if weights.is_empty() {
        return match crops.first() {
            None => Ok(Lines::None),
            Some(first) => Err(Question::WeightMissing { crop: keys[*first].clone() }),
        };
    }
    let weights = measured(&weights, context)?;
    if let Some(twice) = crops.iter().enumerate().find(|(at, crop)| crops[..*at].contains(crop)) {
        return Err(Question::CropTwice { crop: keys[*twice.1].clone() });
    }
    if is_each == IsEach::Yes {
        return match (weights.as_slice(), crops.len()) {
            (_, 0) => Err(Question::CropMissing),
            ([one], _) => {
                Ok(Lines::Full(crops.iter().map(|c| Line { crop: keys[*c].clone(), weight: *one }).collect()))
            }
            _ => Err(Question::SeveralWishes),
        };
    }
    match (weights.as_slice(), crops.as_slice()) {
        ([alone], []) => return Ok(Lines::Alone(*alone)),
        (_, []) => return Err(Question::CropMissing),
        _ => {}
    }
    paired(pieces)?
        .into_iter()
        .zip(weights.iter().map(Some).chain(std::iter::repeat(None)))
        .map(|(crop, weight)| match (crop, weight) {
            (Some(crop), Some(weight)) => Ok(Line { crop: keys[crop].clone(), weight: *weight }),
            (Some(crop), None) => Err(Question::WeightMissing { crop: keys[crop].clone() }),
            (None, _) => Err(Question::CropMissing),
        })
        .collect::<Result<Vec<Line>, Question>>()
        .map(Lines::Full)
}

/// Whether "each" was said.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum IsEach {
    Yes,
    No,
}

fn weighed(piece: &Piece) -> Option<&Weighed> {
    match piece {
        Piece::Weight(weighed) => Some(weighed),
        _ => None,
    }
}

fn crop(piece: &Piece) -> Option<usize> {
    match piece {
        Piece::Crop(index) => Some(*index),
        _ => None,
    }
}

/// The crop of each weight in order, `None` where it has none; a last crop without weight stands at the end.
fn paired(pieces: &[Piece]) -> Result<Vec<Option<usize>>, Question> {
    let order: Vec<&Piece> = pieces.iter().filter(|piece| **piece != Piece::Joint).collect();
    let mut pairs = Vec::new();
    for pair in order.chunks(2) {
        match pair {
            [Piece::Weight(_), Piece::Crop(crop)] | [Piece::Crop(crop), Piece::Weight(_)] | [Piece::Crop(crop)] => {
                pairs.push(Some(*crop));
            }
            _ => pairs.push(None),
        }
    }
    let mut complete = order.chunks(2).filter(|pair| pair.len() == 2).map(|pair| matches!(pair[0], Piece::Weight(_)));
    let first_kind = complete.next();
    let is_even = complete.all(|kind| Some(kind) == first_kind) && !are_parted_elsewhere(pieces);
    // "shiitake 5 lb, 2 lb oyster" is clear by its comma; without one it is not sure enough.
    if is_even || are_joined_pairs(pieces) { Ok(pairs) } else { Err(Question::CropMissing) }
}

/// Every pair parted from the next by a joint, and none within: then each pair is one line in whichever order.
fn are_joined_pairs(pieces: &[Piece]) -> bool {
    let groups: Vec<usize> =
        pieces.split(|piece| *piece == Piece::Joint).map(<[Piece]>::len).filter(|len| *len > 0).collect();
    groups.iter().all(|len| *len == 2)
}

/// "5 lb, shiitake 2 lb, oyster": joints within pairs and none between them speak against the pairing.
fn are_parted_elsewhere(pieces: &[Piece]) -> bool {
    let (mut within, mut unjoined_between) = (false, false);
    let mut seen = 0;
    let mut joint = false;
    for piece in pieces {
        if *piece == Piece::Joint {
            joint = true;
            continue;
        }
        if seen > 0 {
            if seen % 2 == 1 {
                within |= joint;
            } else {
                unjoined_between |= !joint;
            }
        }
        joint = false;
        seen += 1;
    }
    within && unjoined_between
}

/// Weights with their units, in order.
fn measured(weights: &[&Weighed], context: &Context) -> Result<Vec<Weight>, Question> {
    let mut carried: Option<WeightUnit> = None;
    let mut all = Vec::new();
    for (at, weighed) in weights.iter().enumerate() {
        let first = weighed.amounts.first().copied().unwrap_or(Amount { numerator: 0, denominator: 1 });
        if weighed.is_negative || first.numerator == 0 {
            return Err(Question::TooLittle { limit: super::LINE_LEAST });
        }
        let is_small = first.numerator < CARRIED_GRAMS_LEAST * first.denominator;
        let default = match context.unit_default {
            // A unit typed later in the same list speaks against the usual one.
            Some(_) if weights[at..].iter().any(|later| later.unit.is_some()) => None,
            Some(UnitSystem::Metric) => Some(WeightUnit::Kilogram),
            Some(UnitSystem::Avoirdupois) => Some(WeightUnit::Pound),
            None => None,
        };
        let carried_here = carried.filter(|unit| !(*unit == WeightUnit::Gram && is_small));
        let unit = match weighed.unit {
            Some(unit) => unit,
            None if weighed.stands_alone => return Err(Question::UnitMissing { amount: first }),
            None if at > 0 && weights[at - 1].stands_alone => return Err(Question::UnitMissing { amount: first }),
            None if carried.is_some() => carried_here.ok_or(Question::UnitMissing { amount: first })?,
            None => default.ok_or(Question::UnitMissing { amount: first })?,
        };
        all.push(within_limits(weighed, unit)?);
        carried = weighed.unit.or(carried);
    }
    Ok(all)
}
