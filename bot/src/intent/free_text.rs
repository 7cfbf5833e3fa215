//! Free text: read by the language's grammar, then given the meaning it has for this role. What is ambiguous is asked
//! about; nothing changes then.

use super::unclear::{self, lines};
use super::{Intent, Origin};
use super::{guess, of_card, places};
use crate::conversation::typing::{self, Short};
use crate::conversation::{Desk, Letter, giving, growing, joining, ordering, surplus, views};
use crate::phrase::{
    Context, CropWords, DayMonthOrder, Edit, How, Of, Phrase, Question, Reading, SwapWeight, Temperature,
    TemperatureScale, When, folded,
};
use crate::wording::Args;
use scheduler::clock::LocalDate;
use scheduler::crop::Crop;
use scheduler::farm::packing::PackingList;
use scheduler::id::Id;
use scheduler::people::quiet::QuietHours;
use scheduler::people::{Person, Role};
use scheduler::quantity::UnitSystem;
use scheduler::store::{self, people};

/// What a text means for this person; `None` when it was answered here or needs no answer.
///
/// # Errors
/// Whatever the store fails with.
pub async fn read(desk: &mut Desk<'_>, person: &Person, text: &str, origin: Origin) -> store::Result<Option<Intent>> {
    let reading = read_phrase(desk, person, text);
    let reading = signed(desk, person, reading).await?;
    // What asks is no wish, whatever else it looks like.
    let asks = matches!(reading, Reading::Unclear(Question::IsQuestion { .. }));
    if person.role == Role::Keeper
        && !asks
        && let Some(ask) = surplus::rule_wish(desk, text).await?
    {
        return Ok(Some(Intent::Surplus(ask)));
    }
    if !matches!(reading, Reading::Understood(_))
        && !asks
        && let Some(intent) = other_wish(desk, person, text, origin).await?
    {
        return Ok(Some(intent));
    }
    if let Some(intent) = of_a_stop(desk, person, text).await? {
        return Ok(Some(intent));
    }
    if person.role == Role::Buyer
        && origin == Origin::Private
        && let Reading::Understood(phrase) = &reading
        && let Some(intent) = of_card::button(desk, person, phrase).await?
    {
        return Ok(Some(intent));
    }
    let short = match &reading {
        Reading::Understood(Phrase::Yes) => Some(Short::Yes),
        Reading::Understood(Phrase::No) => Some(Short::No),
        Reading::Understood(Phrase::Weight(weight)) if person.role != Role::Pantry => Some(Short::Weight(weight.grams)),
        _ => None,
    };
    if let Some(short) = short.filter(|_| origin == Origin::Private) {
        return typing::short_answer(desk, person, short).await;
    }
    let voice = desk.voice(person);
    let answer = match reading {
        Reading::Understood(phrase) => match meant(desk, person, phrase).await? {
            Meant::Intent(intent) => return Ok(Some(intent)),
            Meant::Nothing => voice.say("not-understood", &Args::new()),
            Meant::NoBatch { name } => voice.say("unclear-batch", &Args::new().text("name", name)),
        },
        Reading::Guess { phrase, left } => match meant(desk, person, phrase).await? {
            Meant::Intent(intent) if origin == Origin::Private => {
                return guess::ask(desk, person, (intent, &left), text).await;
            }
            Meant::Intent(_) | Meant::Nothing | Meant::NoBatch { .. } => {
                unclear::say(desk, &voice, &Question::NotUnderstood { words: left })
            }
        },
        Reading::Unclear(Question::WhichOf { phrases }) if origin == Origin::Private => {
            let mut intents = Vec::new();
            for phrase in phrases {
                if let Meant::Intent(intent) = meant(desk, person, phrase).await? {
                    intents.push(intent);
                }
            }
            return guess::which(desk, person, intents).await.map(|()| None);
        }
        Reading::Unclear(question) => unclear::say(desk, &voice, &question),
        Reading::Nothing => voice.say("not-understood", &Args::new()),
    };
    // In a group people talk to each other: only what is understood is for the bot.
    if origin == Origin::Private {
        desk.answer(person, Letter::new(answer)).await?;
    }
    Ok(None)
}

/// What somebody who drives says of a restaurant that the text names, or of the run.
async fn of_a_stop(desk: &mut Desk<'_>, person: &Person, text: &str) -> store::Result<Option<Intent>> {
    use crate::conversation::packing::Ask;
    if !matches!(person.role, Role::Driver | Role::Keeper) {
        return Ok(None);
    }
    let Some(closed) = lines_of_run(desk).await? else { return Ok(None) };
    let stops: Vec<(Id, String)> = PackingList::load(&mut desk.farm(), closed).await?.names.into_iter().collect();
    let named = places::named(text, &stops);
    let (buyer, rest) = match named {
        Some((buyer, rest)) => (Some(buyer), rest),
        None => (None, text.to_owned()),
    };
    let Reading::Understood(phrase) = read_phrase(desk, person, &rest) else { return Ok(None) };
    let ask = match (phrase, buyer) {
        (Phrase::HandedOver { lines: typed, temperature: None, on }, Some(buyer)) => match on {
            Some(day) if day != desk.today() => Ask::DeliveredOn { day, buyer },
            _ => Ask::Delivered { buyer, lines: lines(typed) },
        },
        (Phrase::Late { minutes }, buyer) => Ask::Late { minutes, buyer },
        (Phrase::NobodyThere, buyer) => Ask::NobodyThere { buyer },
        (Phrase::Refused { crop, weight }, buyer) => {
            Ask::Refused { buyer, crop, grams: weight.map(|weight| weight.grams) }
        }
        (Phrase::SetOff, None) => Ask::Run,
        _ => return Ok(None),
    };
    Ok(Some(Intent::Packing(ask)))
}

/// The delivery that is carried now.
async fn lines_of_run(desk: &mut Desk<'_>) -> store::Result<Option<scheduler::store::deliveries::Closed>> {
    scheduler::farm::lines::current(&mut desk.farm()).await
}

/// Somebody's own name and the name of their house are no words of the wish: "Marta from Saltmarsh, 5 lb oyster".
async fn signed(desk: &mut Desk<'_>, person: &Person, reading: Reading) -> store::Result<Reading> {
    let Reading::Guess { phrase, left } = reading else { return Ok(reading) };
    let mut names = vec![person.name.clone(), desk.house.config.farm.name.clone()];
    if let Some(buyer) = person.buyer_id {
        names.extend(people::buyer_by_id(&mut desk.tx, buyer).await?.map(|buyer| buyer.name));
    }
    if let Some(bank) = person.partner_id {
        names.extend(scheduler::store::giving::food_bank(&mut desk.tx, bank).await?.map(|bank| bank.name));
    }
    let own: Vec<String> = names.iter().flat_map(|name| name.split_whitespace()).map(folded).collect();
    Ok(match left.iter().all(|word| own.contains(word)) {
        true => Reading::Understood(phrase),
        false => Reading::Guess { phrase, left },
    })
}

/// Wishes that have readers of their own.
async fn other_wish(desk: &mut Desk<'_>, person: &Person, text: &str, origin: Origin) -> store::Result<Option<Intent>> {
    if person.role.is_family()
        && let Some(ask) = surplus::warmth::wish(text)
    {
        return Ok(Some(Intent::Surplus(ask)));
    }
    if matches!(person.role, Role::Keeper | Role::Grower)
        && let Some(ask) = growing::warmth_wish(desk, text).await?
    {
        return Ok(Some(Intent::Growing(ask)));
    }
    if person.role == Role::Keeper
        && let Some(ask) = giving::regular_wish(desk, text).await?
    {
        return Ok(Some(Intent::Giving(ask)));
    }
    if origin == Origin::Private
        && let Some(quiet) = joining::quiet::read(text)
    {
        let minutes = quiet.map(QuietHours::minutes);
        return Ok(Some(Intent::Joining(joining::Ask::Quiet { minutes })));
    }
    Ok(None)
}

/// What a phrase means for this person.
enum Meant {
    Intent(Intent),
    Nothing,
    /// It names a batch that nobody knows.
    NoBatch {
        name: String,
    },
}

async fn meant(desk: &mut Desk<'_>, person: &Person, phrase: Phrase) -> store::Result<Meant> {
    let named = match batch_named(desk, person, &phrase).await? {
        Named::Nobody { name } => return Ok(Meant::NoBatch { name }),
        Named::None => None,
        Named::Batch { id, crop } => Some((id, crop)),
    };
    let spoken = match person.role {
        Role::Buyer => ordering::spoken_of(desk, person).await?,
        _ => None,
    };
    Ok(meaning(desk, person, (phrase, named), spoken).map_or(Meant::Nothing, Meant::Intent))
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
        | Phrase::FlushOver { batch, .. }
        | Phrase::NothingYet { batch, .. }
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
fn meaning(
    desk: &Desk<'_>,
    person: &Person,
    (phrase, batch): (Phrase, Option<(Id, String)>),
    spoken: Option<LocalDate>,
) -> Option<Intent> {
    if matches!(phrase, Phrase::Help) {
        return Some(Intent::Joining(joining::Ask::Help));
    }
    match person.role {
        Role::Buyer => buyers(desk, phrase, spoken),
        Role::Keeper | Role::Grower | Role::Driver => families(phrase, batch),
        Role::Pantry => food_banks(desk, phrase),
    }
}

fn food_banks(desk: &Desk<'_>, phrase: Phrase) -> Option<Intent> {
    use giving::Ask;
    Some(Intent::Giving(match phrase {
        Phrase::Today | Phrase::ShowOrders => Ask::Drops,
        Phrase::Order { lines: typed, when: None } => match lines(typed).as_slice() {
            [(crop, grams)] => Ask::SaidPart { crop: Some(crop.clone()), grams: *grams },
            _ => return None,
        },
        Phrase::Agree { crop, weight } => Ask::SaidPart { crop, grams: weight.grams },
        Phrase::Weight(weight) | Phrase::MakeIt { weight, when: None, .. } => {
            Ask::SaidPart { crop: None, grams: weight.grams }
        }
        Phrase::Change { lines: typed, when: None } => match lines(typed).as_slice() {
            [(crop, grams)] => Ask::SaidPart { crop: Some(crop.clone()), grams: *grams },
            _ => return None,
        },
        Phrase::Full { when } => match when {
            Some(When::Week(_)) => return None,
            when => Ask::SaidFull { day: day(desk, when) },
        },
        Phrase::Moment { when, minute } => Ask::SaidTime { day: day(desk, when), minute: Some(minute) },
        Phrase::Date(when @ When::On(_)) => Ask::SaidTime { day: day(desk, Some(when)), minute: None },
        Phrase::Cancel { when: None | Some(When::On(_)), crop: None } | Phrase::CancelThat => Ask::SaidCancel {},
        _ => return None,
    }))
}

/// `spoken` is the day that a wish without one is about.
fn buyers(desk: &Desk<'_>, phrase: Phrase, spoken: Option<LocalDate>) -> Option<Intent> {
    use ordering::Ask;
    let sure = false;
    let ask = match phrase {
        Phrase::Order { lines: typed, when } => {
            Ask::Place { lines: lines(typed), day: day(desk, when).or(spoken), beside: None, sure }
        }
        Phrase::Standing { lines: typed, every_weeks, weekdays, from, until } => {
            Ask::Standing { lines: lines(typed), every_weeks: u16::from(every_weeks), weekdays, from, until, sure }
        }
        Phrase::SameAsLast { when } => Ask::SameAsLast { day: day(desk, when), sure },
        Phrase::Skip { when, crop } => Ask::Skip { day: day(desk, when), crop, sure },
        Phrase::NoCrop { crop, when } => Ask::Skip { day: day(desk, when).or(spoken), crop: Some(crop), sure },
        Phrase::Change { lines: typed, when } => {
            Ask::Change { lines: lines(typed), day: day(desk, when).or(spoken), sure }
        }
        Phrase::Edits { edits, of: Of::Day } => {
            let edits = edits.iter().map(|edit| ordering::DayEdit {
                day: day(desk, edit.when).or(spoken),
                crop: Some(edit.crop.clone()),
                how: how(edit.how),
            });
            Ask::Edit { edits: edits.collect(), sure }
        }
        Phrase::Edits { edits, of: Of::Standing } => Ask::StandingEdit { edits: of_crops(&edits), sure },
        Phrase::UsualWith { edits, when } => Ask::UsualWith { edits: of_crops(&edits), day: day(desk, when), sure },
        Phrase::MakeIt { weight, when, of: Of::Day } => Ask::MakeIt { grams: weight.grams, day: day(desk, when) },
        Phrase::Swap { from, to, weight, when } => {
            let grams = weight.map(|weight| match weight {
                SwapWeight::From(weight) => (ordering::Side::From, weight.grams),
                SwapWeight::To(weight) => (ordering::Side::To, weight.grams),
            });
            Ask::Swap { gone: from, come: to, grams, day: day(desk, when).or(spoken) }
        }
        Phrase::SkipDays { days } => {
            let nothing = |day| ordering::DayEdit { day: Some(day), crop: None, how: ordering::How::Nothing };
            Ask::Edit { edits: days.into_iter().map(nothing).collect(), sure }
        }
        // "Yes, 5 lb shiitake", where nothing waits for a yes: a wish as any other.
        Phrase::Agree { crop: Some(crop), weight } => {
            Ask::Place { lines: vec![(crop, weight.grams)], day: spoken, beside: None, sure }
        }
        Phrase::MakeIt { of: Of::Standing, .. } => return None,
        Phrase::CancelThat => Ask::CancelLast {},
        Phrase::Undo => Ask::Undo { change: None },
        Phrase::Pause { from, until, is_open } => {
            Ask::Pause { from, until: until.or(is_open.then_some(ordering::OPEN_END)), sure }
        }
        // Orders rest until the day that is named.
        Phrase::Resume { from: Some(from) } if from > desk.today() => {
            Ask::Pause { from: None, until: Some(from), sure }
        }
        Phrase::Resume { .. } => Ask::Resume,
        Phrase::EndStanding { crop } => Ask::End { crop, sure },
        Phrase::Cancel { when, crop } => Ask::Withdraw { day: day(desk, when).or(spoken), crop, sure },
        Phrase::ShowOrders => Ask::Show(ordering::View::Coming { page: 0 }),
        Phrase::Date(when) => Ask::Card { day: day(desk, Some(when)) },
        _ => return None,
    };
    Some(Intent::Ordering(ask))
}

fn how(how: How) -> ordering::How {
    match how {
        How::Set(weight) => ordering::How::Set(weight.grams),
        How::More(weight) => ordering::How::More(weight.grams),
        How::Less(weight) => ordering::How::Less(weight.grams),
        How::Nothing => ordering::How::Nothing,
    }
}

fn of_crops(edits: &[Edit]) -> Vec<(String, ordering::How)> {
    edits.iter().map(|edit| (edit.crop.clone(), how(edit.how))).collect()
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
        Phrase::FlushOver { crop, .. } => Ask::FlushOver { crop, batch },
        Phrase::NothingYet { crop, .. } => Ask::NothingYet { crop, batch },
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
