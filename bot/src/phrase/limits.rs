//! What no reading may exceed, whatever was typed: asked by the tests of the grammars and by the fuzz targets.

use super::{
    AHEAD_DAYS_MOST, Context, How, LINE_LEAST, LINE_MOST, Phrase, SwapWeight, TEXT_CHARACTERS_MOST, UNITS_MOST, Weight,
    When,
};
use scheduler::clock::LocalDate;
use scheduler::quantity::grams_from;

/// The stated limit that `phrase`, read from `text`, exceeds; `None` when it keeps all.
pub fn broken_limit(text: &str, phrase: &Phrase, context: &Context) -> Option<String> {
    if text.chars().count() > TEXT_CHARACTERS_MOST {
        return Some(format!("{} characters were read", text.chars().count()));
    }
    for weight in weights(phrase) {
        let is_reckoned_right = grams_from(weight.amount, weight.unit) == Some(weight.grams);
        if !(LINE_LEAST..=LINE_MOST).contains(&weight.grams) || !is_reckoned_right {
            return Some(format!("a weight: {weight:?}"));
        }
    }
    for date in dates(phrase) {
        if !(0..=AHEAD_DAYS_MOST).contains(&(date - context.today).num_days()) {
            return Some(format!("a day: {date}"));
        }
    }
    let units = match phrase {
        Phrase::Lost { units, .. } => Some(*units),
        Phrase::Soaked { units, .. } | Phrase::Opened { units, .. } => *units,
        _ => None,
    };
    if let Some(units) = units.filter(|units| !(1..=UNITS_MOST).contains(units)) {
        return Some(format!("a number of blocks or bags: {units}"));
    }
    match phrase {
        Phrase::Standing { every_weeks, .. } if !(1..=52).contains(every_weeks) => {
            Some(format!("a distance in weeks: {every_weeks}"))
        }
        _ => None,
    }
}

fn weights(phrase: &Phrase) -> Vec<Weight> {
    match phrase {
        Phrase::Order { lines, .. }
        | Phrase::Standing { lines, .. }
        | Phrase::Change { lines, .. }
        | Phrase::Pick { lines, .. }
        | Phrase::MarketReturn { lines, .. }
        | Phrase::HandedOver { lines, .. }
        | Phrase::ThrownAway { lines } => lines.iter().map(|line| line.weight).collect(),
        Phrase::Weight(weight)
        | Phrase::PickFromBatch { weight, .. }
        | Phrase::MakeIt { weight, .. }
        | Phrase::Agree { weight, .. }
        | Phrase::Swap { weight: Some(SwapWeight::From(weight) | SwapWeight::To(weight)), .. }
        | Phrase::Refused { weight: Some(weight), .. } => vec![*weight],
        Phrase::Edits { edits, .. } | Phrase::UsualWith { edits, .. } => edits
            .iter()
            .filter_map(|edit| match edit.how {
                How::Set(weight) | How::More(weight) | How::Less(weight) => Some(weight),
                How::Nothing => None,
            })
            .collect(),
        _ => Vec::new(),
    }
}

fn dates(phrase: &Phrase) -> Vec<LocalDate> {
    match phrase {
        Phrase::Order { when, .. }
        | Phrase::SameAsLast { when }
        | Phrase::Skip { when, .. }
        | Phrase::Change { when, .. }
        | Phrase::NoCrop { when, .. }
        | Phrase::MakeIt { when, .. }
        | Phrase::Swap { when, .. }
        | Phrase::Full { when }
        | Phrase::Moment { when, .. }
        | Phrase::Cancel { when, .. } => {
            when.iter().filter_map(|w| if let When::On(date) = w { Some(*date) } else { None }).collect()
        }
        Phrase::Standing { from, until, .. } => from.iter().chain(until).copied().collect(),
        Phrase::Pause { from, until, .. } => from.iter().chain(until).copied().collect(),
        Phrase::SkipDays { days } => days.clone(),
        Phrase::Edits { edits, .. } | Phrase::UsualWith { edits, .. } => edits
            .iter()
            .filter_map(|edit| if let Some(When::On(date)) = edit.when { Some(date) } else { None })
            .collect(),
        Phrase::Resume { from } => from.iter().copied().collect(),
        Phrase::Date(When::On(date)) => vec![*date],
        _ => Vec::new(),
    }
}
