//! A typed answer to "how much?", read by the grammar that reads every other text. A number alone is asked about: five
//! pounds are not five kilograms.

use super::free_text::read_phrase;
use super::unclear::{self, lines as as_lines};
use crate::conversation::{Desk, Letter};
use crate::phrase::{Phrase, Question, Reading};
use crate::wording::{Args, Voice};
use scheduler::people::Person;
use scheduler::quantity::Grams;
use scheduler::store;

/// Longest text in which two weights are looked for, characters.
const RANGE_LENGTH_MAX: usize = 60;
/// What stands before the lesser weight, and what between the two.
const OPENING: [&str; 5] = ["from ", "between ", "de ", "entre ", "od "];
const BETWEEN: [&str; 8] = [" to ", " and ", " a ", " y ", " do ", " i ", "–", "-"];

/// What an answer was read as.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Answer<T> {
    Read(T),
    /// No answer but a wish of its own, which goes its own way.
    Wish,
    /// Not read; with what has to be asked, if that is known.
    Unread(Option<Question>),
}

/// A weight of `crop`, named or not.
pub fn weight(desk: &Desk<'_>, person: &Person, text: &str, crop: &str) -> Answer<Grams> {
    match lines(desk, person, text, Some(crop)) {
        Answer::Read(lines) => match lines.as_slice() {
            [(named, grams)] if named == crop => Answer::Read(*grams),
            _ => Answer::Wish,
        },
        Answer::Wish => Answer::Wish,
        Answer::Unread(question) => Answer::Unread(question),
    }
}

/// Weights with their crops; a weight alone is of `only`.
pub fn lines(desk: &Desk<'_>, person: &Person, text: &str, only: Option<&str>) -> Answer<Vec<(String, Grams)>> {
    match read_phrase(desk, person, text) {
        Reading::Understood(Phrase::Weight(weight)) => match only {
            Some(crop) => Answer::Read(vec![(crop.to_owned(), weight.grams)]),
            None => Answer::Unread(Some(Question::CropMissing)),
        },
        Reading::Understood(
            Phrase::Order { lines, when: None }
            | Phrase::MarketReturn { lines, on: None }
            | Phrase::Pick { lines, batch: None, on: None }
            | Phrase::HandedOver { lines, temperature: None, on: None },
        ) if !lines.is_empty() => Answer::Read(as_lines(lines)),
        Reading::Understood(_) => Answer::Wish,
        Reading::Unclear(
            question @ (Question::UnitMissing { .. }
            | Question::TooLittle { .. }
            | Question::TooMuch { .. }
            | Question::WhichWeight { .. }
            | Question::UnknownCrop { .. }
            | Question::WeightMissing { .. }
            | Question::CropTwice { .. }
            | Question::CropMissing),
        ) => Answer::Unread(Some(question)),
        Reading::Guess { .. } | Reading::Unclear(_) | Reading::Nothing => Answer::Unread(None),
    }
}

/// The sentence for what was not read; `otherwise` where nothing is known of it.
pub fn unread(desk: &Desk<'_>, voice: &Voice, question: Option<&Question>, otherwise: String) -> String {
    question.map_or(otherwise, |question| unclear::say(desk, voice, question))
}

/// Tells the person what is wrong with an answer; `otherwise` where nothing is known of it.
///
/// # Errors
/// Whatever the store fails with.
pub async fn tell_unread(
    desk: &mut Desk<'_>,
    person: &Person,
    question: Option<&Question>,
    otherwise: &'static str,
) -> store::Result<()> {
    let voice = desk.voice(person);
    let html = unread(desk, &voice, question, voice.say(otherwise, &Args::new()));
    desk.answer(person, Letter::new(html)).await
}

/// Two weights, as in "5 lb to 60 lb" or "2-20 kg": the first has the second's unit where it has none.
pub fn range(desk: &Desk<'_>, person: &Person, text: &str) -> Option<(Grams, Grams)> {
    let read = |text: &str| match read_phrase(desk, person, text) {
        Reading::Understood(Phrase::Weight(weight)) => Some(weight.grams),
        _ => None,
    };
    let (low, high) = parted(text)?;
    let greatest = read(&high)?;
    let least = read(&low).or_else(|| {
        let unit_at = high.find(|letter: char| letter.is_alphabetic())?;
        let is_bare = !low.is_empty() && low.chars().all(|letter| letter.is_ascii_digit() || ".,".contains(letter));
        is_bare.then(|| read(&format!("{low} {}", &high[unit_at..]))).flatten()
    })?;
    Some((least, greatest))
}

/// The texts before and after the word or dash between two weights.
fn parted(text: &str) -> Option<(String, String)> {
    if text.chars().count() > RANGE_LENGTH_MAX {
        return None;
    }
    let lower = text.trim().to_lowercase();
    let rest = OPENING.iter().find_map(|word| lower.strip_prefix(word)).unwrap_or(&lower);
    let (low, high) = BETWEEN.iter().find_map(|word| rest.split_once(word))?;
    Some((low.trim().to_owned(), high.trim().to_owned()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn two_weights_are_parted_at_what_stands_between() {
        for (text, expected) in [
            ("5 lb to 60 lb", Some(("5 lb", "60 lb"))),
            ("Between 2 and 20 kg", Some(("2", "20 kg"))),
            ("de 2 a 20 kg", Some(("2", "20 kg"))),
            ("od 1 kg do 30 kg", Some(("1 kg", "30 kg"))),
            ("2-20 kg", Some(("2", "20 kg"))),
            ("1 kg – 30 kg", Some(("1 kg", "30 kg"))),
            ("5 lb", None),
        ] {
            let expected = expected.map(|(low, high)| (low.to_owned(), high.to_owned()));
            assert_eq!(parted(text), expected, "{text}");
        }
    }

    proptest! {
        #[test]
        fn any_text_is_parted_without_panic_and_only_within_the_limit(text in any::<String>()) {
            if parted(&text).is_some() {
                prop_assert!(text.chars().count() <= RANGE_LENGTH_MAX);
            }
        }
    }
}
