//! Free text: read by the language's grammar, then given the meaning it has for this role. What is ambiguous is asked
//! about; nothing changes then.

use super::unclear::{self, lines};
use super::{Intent, Origin};
use crate::conversation::typing::{self, Short};
use crate::conversation::{Desk, Letter, giving, growing, joining, ordering, surplus, views};
use crate::phrase::{Context, CropWords, DayMonthOrder, Phrase, Reading, Temperature, TemperatureScale, When};
use crate::wording::Args;
use scheduler::clock::LocalDate;
use scheduler::crop::Crop;
use scheduler::id::Id;
use scheduler::people::quiet::QuietHours;
use scheduler::people::{Person, Role};
use scheduler::quantity::UnitSystem;
use scheduler::store;

/// What a text means for this person; `None` when it was answered here or needs no answer.
///
/// # Errors
/// Whatever the store fails with.
pub async fn read(desk: &mut Desk<'_>, person: &Person, text: &str, origin: Origin) -> store::Result<Option<Intent>> {
    if person.role == Role::Keeper
        && let Some(ask) = surplus::rule_wish(desk, text).await?
    {
        return Ok(Some(Intent::Surplus(ask)));
    }
    let reading = read_phrase(desk, person, text);
    if !matches!(reading, Reading::Understood(_))
        && person.role.is_family()
        && let Some(ask) = surplus::warmth::wish(text)
    {
        return Ok(Some(Intent::Surplus(ask)));
    }
    if !matches!(reading, Reading::Understood(_))
        && matches!(person.role, Role::Keeper | Role::Grower)
        && let Some(ask) = growing::warmth_wish(desk, text).await?
    {
        return Ok(Some(Intent::Growing(ask)));
    }
    if !matches!(reading, Reading::Understood(_))
        && person.role == Role::Keeper
        && let Some(ask) = giving::regular_wish(desk, text).await?
    {
        return Ok(Some(Intent::Giving(ask)));
    }
    if !matches!(reading, Reading::Understood(_))
        && origin == Origin::Private
        && let Some(quiet) = joining::quiet::read(text)
    {
        let minutes = quiet.map(QuietHours::minutes);
        return Ok(Some(Intent::Joining(joining::Ask::Quiet { minutes })));
    }
    let short = match &reading {
        Reading::Understood(Phrase::Yes) => Some(Short::Yes),
        Reading::Understood(Phrase::No) => Some(Short::No),
        Reading::Understood(Phrase::Weight(weight)) => Some(Short::Weight(weight.grams)),
        _ => None,
    };
    if let Some(short) = short.filter(|_| origin == Origin::Private) {
        return typing::short_answer(desk, person, short).await;
    }
    let voice = desk.voice(person);
    let answer = match reading {
        Reading::Understood(phrase) => match (batch_named(desk, person, &phrase).await?, phrase) {
            (Named::Nobody { name }, _) => voice.say("unclear-batch", &Args::new().text("name", name)),
            (Named::None, phrase) => match meaning(desk, person, (phrase, None)) {
                Some(intent) => return Ok(Some(intent)),
                None => voice.say("not-understood", &Args::new()),
            },
            (Named::Batch { id, crop }, phrase) => match meaning(desk, person, (phrase, Some((id, crop)))) {
                Some(intent) => return Ok(Some(intent)),
                None => voice.say("not-understood", &Args::new()),
            },
        },
        Reading::Unclear(question) => unclear::say(desk, &voice, &question),
        Reading::Nothing => voice.say("not-understood", &Args::new()),
    };
    // In a group people talk to each other: only what is understood is for the bot.
    if origin == Origin::Private {
        desk.answer(person, Letter::new(answer)).await?;
    }
    Ok(None)
}

/// A text typed as the answer to "how much?" or "when?", or anything else the grammar knows.
pub fn read_phrase(desk: &Desk<'_>, person: &Person, text: &str) -> Reading {
    let crops: Vec<CropWords> = desk.house.crops.iter().map(crop_words).collect();
    let language = desk.house.language(Some(&person.language));
    desk.house.readers.of(&crops).read(language, text, &context(desk, person))
}

/// What a crop is called, for the grammar.
pub fn crop_words(crop: &Crop) -> CropWords {
    CropWords { key: crop.key.as_str().to_owned(), words: crop.names.values().cloned().collect() }
}

fn context(desk: &Desk<'_>, person: &Person) -> Context {
    let is_american = person.language == "en" && person.units == UnitSystem::Avoirdupois;
    Context {
        today: desk.today(),
        // A bare number is asked about: five pounds are not five kilograms.
        unit_default: None,
        // "3/5" is March in the United States and May nearly everywhere else; who mixes both is asked.
        day_month_order: match (is_american, person.units) {
            (true, _) => Some(DayMonthOrder::MonthFirst),
            (false, UnitSystem::Metric) => Some(DayMonthOrder::DayFirst),
            (false, UnitSystem::Avoirdupois) => None,
        },
        delivery_weekday: desk.house.calendar.dates.weekdays.first().copied(),
    }
}

/// The delivery day a phrase is about; `None` is the next one still open.
fn day(desk: &Desk<'_>, when: Option<When>) -> Option<LocalDate> {
    match when? {
        When::On(day) => Some(day),
        When::NextDelivery => None,
        When::Week(monday) => {
            let sunday = monday + chrono::Duration::days(6);
            Some(desk.house.calendar.dates_between(monday, sunday).first().copied().unwrap_or(monday))
        }
    }
}

/// The batch that a report names.
enum Named {
    None,
    Batch {
        id: Id,
        crop: String,
    },
    /// No batch is called so.
    Nobody {
        name: String,
    },
}

async fn batch_named(desk: &mut Desk<'_>, person: &Person, phrase: &Phrase) -> store::Result<Named> {
    let name = match phrase {
        Phrase::PickFromBatch { batch, .. } => Some(batch),
        Phrase::Pick { batch, .. }
        | Phrase::PinsSeen { batch, .. }
        | Phrase::Lost { batch, .. }
        | Phrase::Soaked { batch, .. }
        | Phrase::Opened { batch, .. } => batch.as_ref(),
        _ => None,
    };
    let Some(name) = name.filter(|_| person.role.is_family()) else { return Ok(Named::None) };
    let found = match name.parse() {
        Ok(number) => growing::batch_called(desk, number).await?,
        Err(_) => None,
    };
    Ok(found.map_or_else(|| Named::Nobody { name: name.clone() }, |(id, crop)| Named::Batch { id, crop }))
}

/// What a phrase, with the batch it names, means for this role; `None` when it means nothing for it.
fn meaning(desk: &Desk<'_>, person: &Person, (phrase, batch): (Phrase, Option<(Id, String)>)) -> Option<Intent> {
    if matches!(phrase, Phrase::Help) {
        return Some(Intent::Joining(joining::Ask::Help));
    }
    match person.role {
        Role::Buyer => buyers(desk, phrase),
        Role::Keeper | Role::Grower | Role::Driver => families(phrase, batch),
        Role::Pantry => match phrase {
            Phrase::Today | Phrase::ShowOrders => Some(Intent::Giving(giving::Ask::Drops)),
            _ => None,
        },
    }
}

fn buyers(desk: &Desk<'_>, phrase: Phrase) -> Option<Intent> {
    use ordering::Ask;
    let sure = false;
    let ask = match phrase {
        Phrase::Order { lines: typed, when } => {
            Ask::Place { lines: lines(typed), day: day(desk, when), beside: None, sure }
        }
        Phrase::Standing { lines: typed, every_weeks, weekdays, from, until } => {
            Ask::Standing { lines: lines(typed), every_weeks: u16::from(every_weeks), weekdays, from, until, sure }
        }
        Phrase::SameAsLast { when } => Ask::SameAsLast { day: day(desk, when), sure },
        Phrase::Skip { when, crop } => Ask::Skip { day: day(desk, when), crop, sure },
        Phrase::NoCrop { crop, when } => Ask::Skip { day: day(desk, when), crop: Some(crop), sure },
        Phrase::Change { lines: typed, when } => Ask::Change { lines: lines(typed), day: day(desk, when), sure },
        Phrase::Pause { until } => Ask::Pause { until, sure },
        // Orders rest until the day that is named.
        Phrase::Resume { from: Some(from) } if from > desk.today() => Ask::Pause { until: Some(from), sure },
        Phrase::Resume { .. } => Ask::Resume,
        Phrase::EndStanding { crop } => Ask::End { crop, sure },
        Phrase::Cancel { when } => Ask::Withdraw { day: day(desk, when), crop: None, sure },
        Phrase::ShowOrders => Ask::Show(ordering::View::Coming { page: 0 }),
        Phrase::Date(when) => Ask::Card { day: day(desk, Some(when)) },
        _ => return None,
    };
    Some(Intent::Ordering(ask))
}

fn families(phrase: Phrase, named: Option<(Id, String)>) -> Option<Intent> {
    use growing::Ask;
    let batch = named.as_ref().map(|(id, _)| *id);
    let ask = match phrase {
        Phrase::Pick { lines: typed, on, .. } => Ask::Picked { lines: lines(typed), batch, day: on, sure: false },
        Phrase::PickFromBatch { weight, on, .. } => {
            let (_, crop) = named?;
            Ask::Picked { lines: vec![(crop, weight.grams)], batch, day: on, sure: false }
        }
        Phrase::PinsSeen { crop, on, .. } => Ask::Pins { crop, batch, day: on },
        Phrase::Lost { units, crop, on, .. } => Ask::Lost { crop, batch, units, day: on },
        Phrase::Soaked { units, crop, on, .. } | Phrase::Opened { units, crop, on, .. } => {
            Ask::Initiate { crop, batch, units, day: on }
        }
        Phrase::MarketReturn { lines: typed, on } => {
            return Some(Intent::Surplus(surplus::Ask::MarketReturn { lines: lines(typed), day: on }));
        }
        Phrase::Stock { lines: typed } => {
            return Some(Intent::Surplus(surplus::Ask::Counted { lines: lines(typed) }));
        }
        Phrase::ThrownAway { lines: typed } => {
            return Some(Intent::Surplus(surplus::Ask::ThrowAway { lines: lines(typed) }));
        }
        Phrase::HandedOver { lines: typed, temperature, .. } => {
            let temperature_dc = temperature.map(tenths_celsius);
            return Some(Intent::Giving(giving::Ask::SaidHandedOver { lines: lines(typed), temperature_dc }));
        }
        Phrase::Today | Phrase::ShowOrders => return Some(Intent::Views(views::Ask::Today)),
        _ => return None,
    };
    Some(Intent::Growing(ask))
}

fn tenths_celsius(typed: Temperature) -> i64 {
    let scale = match typed.scale {
        TemperatureScale::Celsius => UnitSystem::Metric,
        TemperatureScale::Fahrenheit => UnitSystem::Avoirdupois,
    };
    growing::warmth::celsius(i64::from(typed.tenths), scale)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// °C = (°F − 32) / 1.8 (NIST SP 811, appendix B.8).
    #[test]
    fn fahrenheit_becomes_celsius() {
        for (fahrenheit, celsius) in [(320, 0), (410, 50), (380, 33), (140, -100), (311, -5), (-400, -400)] {
            let typed = Temperature { tenths: fahrenheit, scale: TemperatureScale::Fahrenheit };
            assert_eq!(tenths_celsius(typed), celsius, "{fahrenheit}");
        }
    }
}
