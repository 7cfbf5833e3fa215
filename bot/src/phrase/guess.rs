//! What a text says when the words nobody knows are left out. It is asked with those words quoted, and never done by itself.

use super::chunks::Chunk;
use super::meaning::told;
use super::{Context, Phrase, Reading};

/// Above this a text is about something else, and only looks like a wish in passing.
const LEFT_MOST: usize = 8;

/// The guess, where words were left over that stand for nothing known and the rest is a wish.
pub(super) fn reading(chunks: &[Chunk], context: &Context, keys: &[String]) -> Option<Reading> {
    let mut left = Vec::new();
    let mut rest = Vec::new();
    for chunk in chunks {
        match chunk {
            // A word with a digit in it may be a number; a known word out of place has no text.
            Chunk::Left(word) if word.is_empty() || !word.chars().all(char::is_alphabetic) => return None,
            Chunk::Left(word) => left.push(word.clone()),
            other => rest.push(other.clone()),
        }
    }
    if left.is_empty() || left.len() > LEFT_MOST || takes_the_place_of_a_crop(chunks) {
        return None;
    }
    let phrase = told(&rest, context, keys).ok().filter(is_a_wish)?;
    Some(Reading::Guess { phrase, left })
}

/// "5 lb enoki and 2 lb shiitake": the word not known is what is wanted.
fn takes_the_place_of_a_crop(chunks: &[Chunk]) -> bool {
    super::meaning::unknown_crop(chunks).is_some()
}

/// What is more than a word of agreement: those would be read out of any talk.
fn is_a_wish(phrase: &Phrase) -> bool {
    match phrase {
        Phrase::Order { lines, .. } | Phrase::Change { lines, .. } | Phrase::Pick { lines, .. } => !lines.is_empty(),
        Phrase::Standing { .. }
        | Phrase::Edits { .. }
        | Phrase::UsualWith { .. }
        | Phrase::SameAsLast { .. }
        | Phrase::Swap { .. }
        | Phrase::SkipDays { .. }
        | Phrase::NoCrop { .. }
        | Phrase::EndStanding { .. }
        | Phrase::PinsSeen { .. }
        | Phrase::Lost { .. }
        | Phrase::Soaked { .. }
        | Phrase::Opened { .. }
        | Phrase::ThrownAway { .. }
        | Phrase::PickFromBatch { .. } => true,
        Phrase::Skip { when, .. } | Phrase::Cancel { when, .. } => when.is_some(),
        Phrase::Pause { from, until, is_open } => from.is_some() || until.is_some() || *is_open,
        Phrase::MarketReturn { lines, .. } => !lines.is_empty(),
        _ => false,
    }
}
