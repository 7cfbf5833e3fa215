//! One crop in another's place: "swap the oyster for shiitake", "shiitake instead of oyster", "cambia la ostra por shiitake".

use super::amounts::{Weighed, within_limits};
use super::chunks::Chunk;
use super::meaning::day_of;
use super::vocabulary::Verb;
use super::{Context, Phrase, Question, SwapWeight, Weight};

/// The swap these chunks tell; `None` where they tell none.
pub(super) fn read(chunks: &[Chunk], context: &Context, keys: &[String]) -> Option<Result<Phrase, Question>> {
    let instead_of = chunks.iter().position(|chunk| *chunk == Chunk::InsteadOf);
    let verbs: Vec<Verb> = chunks
        .iter()
        .filter_map(|chunk| match chunk {
            Chunk::Verb(Verb::Order) => None,
            Chunk::Verb(verb) => Some(*verb),
            _ => None,
        })
        .collect();
    let crops: Vec<(usize, usize)> = chunks
        .iter()
        .enumerate()
        .filter_map(|(at, chunk)| if let Chunk::Crop(index) = chunk { Some((at, *index)) } else { None })
        .collect();
    let weights: Vec<(usize, &Weighed)> = chunks
        .iter()
        .enumerate()
        .filter_map(|(at, chunk)| if let Chunk::Weight(weighed) = chunk { Some((at, weighed)) } else { None })
        .collect();
    let is_swap = match verbs.as_slice() {
        [Verb::Swap] => crops.len() == 2,
        [Verb::Change] if crops.len() == 2 => weights.len() <= 1,
        [Verb::Change] => crops.len() == 1 && weights.is_empty() && says_instead(chunks),
        [] => instead_of.is_some() || (crops.len() == 1 && weights.len() <= 1 && says_instead(chunks)),
        _ => false,
    };
    if !is_swap || !chunks.iter().all(fits) {
        return None;
    }
    let (from, to) = match (crops.as_slice(), instead_of) {
        // What follows "instead of" goes.
        ([first, second], Some(at)) if second.0 > at && first.0 < at => (Some(second), first),
        ([first, second], Some(at)) if first.0 > at => (Some(first), second),
        ([first, second], None) => (Some(first), second),
        ([one], None) => (None, one),
        _ => return Some(Err(Question::SeveralWishes)),
    };
    if from.is_some_and(|from| from.1 == to.1) {
        return Some(Err(Question::CropTwice { crop: keys[to.1].clone() }));
    }
    let weight = match weights.as_slice() {
        [] => None,
        [(at, weighed)] => match measured(weighed) {
            // It is of the crop that follows it, or else of the one before.
            Ok(weight) => {
                let of = crops.iter().find(|crop| crop.0 > *at).or(crops.last());
                let goes = of.is_some_and(|of| from.is_some_and(|from| from.0 == of.0));
                Some(if goes { SwapWeight::From(weight) } else { SwapWeight::To(weight) })
            }
            Err(question) => return Some(Err(question)),
        },
        _ => return Some(Err(Question::SeveralWishes)),
    };
    let swap =
        |when| Phrase::Swap { from: from.map(|from| keys[from.1].clone()), to: keys[to.1].clone(), weight, when };
    Some(day_of(chunks, context).map(swap))
}

fn says_instead(chunks: &[Chunk]) -> bool {
    chunks.iter().any(|chunk| matches!(chunk, Chunk::Instead(_)))
}

fn measured(weighed: &Weighed) -> Result<Weight, Question> {
    match weighed.unit {
        Some(unit) => within_limits(weighed, unit),
        None => Err(Question::UnitMissing { amount: weighed.amounts[0] }),
    }
}

/// Nothing else may stand in such a text: a word left over could be of what goes or comes.
fn fits(chunk: &Chunk) -> bool {
    matches!(
        chunk,
        Chunk::Verb(_)
            | Chunk::Crop(_)
            | Chunk::Weight(_)
            | Chunk::Day(_)
            | Chunk::ForDay(_)
            | Chunk::Time(_)
            | Chunk::Joint
            | Chunk::Stop
            | Chunk::Polite
            | Chunk::By
            | Chunk::To
            | Chunk::InsteadOf
            | Chunk::Instead(_)
            | Chunk::Courtesy
            | Chunk::Question
    )
}
