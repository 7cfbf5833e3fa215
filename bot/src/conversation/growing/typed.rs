//! Typed answers to this task's questions: a weight, a weight with its moisture, a number, a room.

use super::starting::{self, NewBatch};
use super::{Detail, Waiting, correcting, picking, seen, warmth};
use crate::conversation::growing::PickLine;
use crate::conversation::{Desk, Letter};
use crate::intent::answer::{self, Answer};
use crate::intent::free_text::read_phrase;
use crate::intent::unclear;
use crate::phrase::{Phrase, Question, Reading, UNITS_MOST};
use crate::wording::{Args, key};
use scheduler::farm::batch_changes::Change;
use scheduler::people::Person;
use scheduler::quantity::Grams;
use scheduler::store;

/// Takes a typed answer; `false` when the text is something else.
///
/// # Errors
/// Whatever the store fails with.
pub async fn answered(desk: &mut Desk<'_>, person: &Person, waiting: Waiting, text: &str) -> store::Result<bool> {
    match waiting {
        Waiting::Units { crop } => {
            let Some(units) = number_or_answer(desk, person, text).await? else {
                return Ok(!is_wish(desk, person, text));
            };
            starting::how_heavy(desk, person, crop, units).await?;
        }
        Waiting::Correct { batch, detail: Detail::Room | Detail::Received } => {
            if is_wish(desk, person, text) {
                return Ok(false);
            }
            correcting::correct(desk, person, (batch, Change::Room(text.to_owned()))).await?;
        }
        Waiting::Correct { batch, detail: Detail::Dry } => {
            let Some(shelf) = super::choosing::named(desk, person, batch, None).await? else { return Ok(true) };
            let grams = match weight_or_answer(desk, person, text, &shelf.batch.crop).await? {
                Typed::Weight(weight) => weight,
                Typed::Answered => return Ok(true),
                Typed::Wish => return Ok(false),
            };
            correcting::correct(desk, person, (batch, Change::DryPerUnit(grams))).await?;
        }
        Waiting::Correct { batch, detail } => {
            let Some(units) = number_or_answer(desk, person, text).await? else {
                return Ok(!is_wish(desk, person, text));
            };
            match detail {
                Detail::Split => correcting::split(desk, person, (batch, units)).await?,
                _ => correcting::correct(desk, person, (batch, Change::Units(units))).await?,
            }
        }
        Waiting::Lost { batch } => {
            let Some(units) = number_or_answer(desk, person, text).await? else {
                return Ok(!is_wish(desk, person, text));
            };
            let report = seen::Report { crop: None, batch: Some(batch), day: None };
            seen::lost(desk, person, report, units).await?;
        }
        Waiting::DryWeight { crop, units } => {
            let (weight_text, dry_share) = match moisture(text) {
                Moisture::None => (text.to_owned(), 1000),
                Moisture::Permille { rest, permille } => (rest, 1000 - permille),
                Moisture::OutOfRange => {
                    return say(desk, person, key("new-batch-moisture-range")).await;
                }
            };
            let weight = match weight_or_answer(desk, person, &weight_text, &crop).await? {
                Typed::Weight(weight) => weight,
                Typed::Answered => return Ok(true),
                Typed::Wish => return Ok(false),
            };
            let dry = Grams::new((weight.get() * dry_share + 500) / 1000);
            starting::which_room(desk, person, (crop, units), dry).await?;
        }
        Waiting::Room { crop, units, dry_per_unit } => {
            let room = text.to_owned();
            starting::start(desk, person, NewBatch { crop, units, dry_per_unit, room }).await?;
        }
        Waiting::Warmth { room } => {
            if warmth::answered(desk, person, room, text).await? {
                return Ok(true);
            }
            if is_wish(desk, person, text) {
                return Ok(false);
            }
            return say(desk, person, key("warmth-please")).await;
        }
        Waiting::PickWeight { batch } => {
            let Some(shelf) = super::choosing::named(desk, person, batch, None).await? else { return Ok(true) };
            let grams = match weight_or_answer(desk, person, text, &shelf.batch.crop).await? {
                Typed::Weight(weight) => weight,
                Typed::Answered => return Ok(true),
                Typed::Wish => return Ok(false),
            };
            let lines = vec![PickLine { crop: shelf.batch.crop, grams, batch: Some(batch) }];
            picking::pick(desk, person, picking::Pick { lines, day: None, sure: false }).await?;
        }
    }
    Ok(true)
}

async fn say(desk: &mut Desk<'_>, person: &Person, text_key: &'static str) -> store::Result<bool> {
    let html = desk.voice(person).say(text_key, &Args::new());
    desk.answer(person, Letter::new(html)).await?;
    Ok(true)
}

/// Whether a text is a whole wish of its own, which goes its own way.
fn is_wish(desk: &Desk<'_>, person: &Person, text: &str) -> bool {
    matches!(read_phrase(desk, person, text), Reading::Understood(phrase) if !matches!(phrase, Phrase::Weight(_)))
}

/// What became of a text where a weight was asked for.
enum Typed {
    Weight(Grams),
    /// The person was told what is wrong with it.
    Answered,
    Wish,
}

async fn weight_or_answer(desk: &mut Desk<'_>, person: &Person, text: &str, crop: &str) -> store::Result<Typed> {
    let question = match answer::weight(desk, person, text, crop) {
        Answer::Read(grams) => return Ok(Typed::Weight(grams)),
        Answer::Wish => return Ok(Typed::Wish),
        Answer::Unread(question) => question,
    };
    answer::tell_unread(desk, person, question.as_ref(), key("weight-please")).await?;
    Ok(Typed::Answered)
}

/// The number, or `None` when the text was none, as above.
async fn number_or_answer(desk: &mut Desk<'_>, person: &Person, text: &str) -> store::Result<Option<i64>> {
    let first = text.split_whitespace().next().unwrap_or_default();
    if let Ok(number) = first.parse::<i64>()
        && (1..=UNITS_MOST).contains(&number)
        && text.split_whitespace().count() <= 2
    {
        return Ok(Some(number));
    }
    if !is_wish(desk, person, text) {
        let html = unclear::say(desk, &desk.voice(person), &Question::UnitsOutOfRange { limit: UNITS_MOST });
        desk.answer(person, Letter::new(html)).await?;
    }
    Ok(None)
}

/// The moisture in a text such as "5 lb at 60 %".
#[derive(Debug, PartialEq, Eq)]
enum Moisture {
    None,
    /// Tenths of a percent, 10 to 950, and the text without them.
    Permille {
        rest: String,
        permille: i64,
    },
    OutOfRange,
}

fn moisture(text: &str) -> Moisture {
    let Some((before, after)) = text.split_once('%') else { return Moisture::None };
    let before = before.trim_end();
    let is_number = |c: char| c.is_ascii_digit() || matches!(c, '.' | ',');
    let number_at = before.len() - before.chars().rev().take_while(|&c| is_number(c)).count();
    let (whole, part) = before[number_at..].split_once(['.', ',']).unwrap_or((&before[number_at..], "0"));
    let permille = match (whole.parse::<i64>(), part.parse::<i64>()) {
        (Ok(whole @ 0..=100), Ok(tenths)) if part.len() == 1 => whole * 10 + tenths,
        _ => return Moisture::OutOfRange,
    };
    if !(10..=950).contains(&permille) || after.contains('%') {
        return Moisture::OutOfRange;
    }
    // "at", "al", "przy": what stands between the weight and the percentage.
    let joining = before[..number_at].trim_end_matches([' ', ',', '(', '@']);
    let rest = match joining.rsplit_once(char::is_whitespace) {
        Some((weight, "at" | "al" | "a" | "con" | "with" | "przy" | "z")) => weight,
        _ => joining,
    };
    Moisture::Permille { rest: rest.to_owned(), permille }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn moisture_is_read_beside_the_weight() {
        let some = |rest: &str, permille| Moisture::Permille { rest: rest.to_owned(), permille };
        for (text, expected) in [
            ("5 lb", Moisture::None),
            ("5 lb at 60 %", some("5 lb", 600)),
            ("5 lb, 62.5%", some("5 lb", 625)),
            ("2,5 kg przy 65,5 %", some("2,5 kg", 655)),
            ("5 libras al 60%", some("5 libras", 600)),
            ("5 lb (60%)", some("5 lb", 600)),
            ("5 lb at 100 %", Moisture::OutOfRange),
            ("5 lb at 0 %", Moisture::OutOfRange),
            ("%", Moisture::OutOfRange),
            ("5 lb at 60 % 70 %", Moisture::OutOfRange),
            ("ó%", Moisture::OutOfRange),
        ] {
            assert_eq!(moisture(text), expected, "{text}");
        }
    }
}
