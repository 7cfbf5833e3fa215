//! What is said when a text was read but something must be asked first. Nothing has changed then.

use crate::conversation::Desk;
use crate::phrase::{Line, Question};
use crate::wording::{Args, Voice, key};
use scheduler::quantity::Amount;

/// The sentence for a question.
pub fn say(desk: &Desk<'_>, voice: &Voice, question: &Question) -> String {
    let none = Args::new();
    match question {
        Question::TooLong { limit } => voice.say("unclear-too-long", &none.count("most", as_count(*limit))),
        Question::UnitMissing { amount } => voice.say("unclear-unit", &none.text("amount", number(*amount))),
        Question::TooLittle { limit } => voice.say("unclear-too-little", &none.weight("least", *limit)),
        Question::TooMuch { limit } => voice.say("unclear-too-much", &none.weight("most", *limit)),
        Question::UnitsOutOfRange { limit } => voice.say("unclear-units-range", &none.count("most", *limit)),
        Question::WhichWeight { candidates } => {
            let weights = candidates.iter().map(|one| voice.weight(one.grams)).collect();
            voice.say("unclear-which-weight", &none.list("weights", weights))
        }
        Question::UnknownCrop { word } => {
            let crops = desk.house.crops.grown().map(|crop| desk.house.crop_name(crop.key.as_str(), voice)).collect();
            voice.say("unclear-crop", &none.text("word", word.clone()).list("crops", crops))
        }
        Question::WeightMissing { crop } => {
            voice.say("unclear-weight-missing", &none.text("crop", desk.house.crop_name(crop, voice)))
        }
        Question::CropTwice { crop } => {
            voice.say("unclear-crop-twice", &none.text("crop", desk.house.crop_name(crop, voice)))
        }
        Question::WhichDate { candidates } if !candidates.is_empty() => {
            let days = candidates.iter().map(|day| voice.date(*day, crate::wording::DateForm::Words)).collect();
            voice.say("unclear-which-date", &none.list("days", days))
        }
        Question::DateInPast { date } => voice.say("unclear-date-past", &none.date("day", *date)),
        Question::DateTooFar { days } => voice.say("unclear-date-far", &none.count("days", *days)),
        Question::NotUnderstood { words } if !words.is_empty() => {
            voice.say("unclear-words", &none.text("words", words.join(" ")))
        }
        other => voice.say(plain_key(other), &none),
    }
}

/// Questions that need no more than their sentence.
fn plain_key(question: &Question) -> &'static str {
    match question {
        Question::CropMissing => key("unclear-crop-missing"),
        Question::UnitsMissing => key("unclear-units-missing"),
        Question::WhichDate { .. } => key("unclear-date"),
        Question::NoSuchDate => key("unclear-no-such-date"),
        Question::WhichScale => key("unclear-scale"),
        Question::IsQuestion { .. } => key("unclear-is-question"),
        Question::SeveralWishes => key("unclear-several"),
        Question::Incomplete => key("unclear-incomplete"),
        _ => key("not-understood"),
    }
}

fn as_count(number: usize) -> i64 {
    i64::try_from(number).unwrap_or(i64::MAX)
}

/// A typed number as it may be said back: "5", "2 1/2".
fn number(amount: Amount) -> String {
    let Amount { numerator, denominator } = amount;
    let (whole, rest) = (numerator / denominator, numerator % denominator);
    match (whole, rest) {
        (whole, 0) => whole.to_string(),
        (0, rest) => format!("{rest}/{denominator}"),
        (whole, rest) => format!("{whole} {rest}/{denominator}"),
    }
}

/// The lines of a phrase as the conversation takes them.
pub fn lines(lines: Vec<Line>) -> Vec<(String, scheduler::quantity::Grams)> {
    lines.into_iter().map(|line| (line.crop, line.weight.grams)).collect()
}
