//! A crop's values, one question each: what is usual on buttons, anything else typed, and what is out of its range or in
//! another unit refused with the range.

use super::{Ask, Of, Value, Waiting, button, change, is_open_to, prior_of, stale};
use crate::conversation::{Desk, Letter};
use crate::intent::Waiting as Question;
use crate::intent::answer::{self, Answer};
use crate::phrase::folded;
use crate::wording::{Args, Voice, key};
use scheduler::farm::catalogue::Origin;
use scheduler::harvest::crop_changes::{
    COOLING_HOURS, Changes, FIRST_FLUSH_PERCENT, FIRST_PICK_DAYS, KEEPS_DAYS, PACK_GRAMS, PRICE_CENTS,
};
use scheduler::money::Cents;
use scheduler::people::Person;
use scheduler::quantity::{Grams, UnitSystem};
use scheduler::store;
use std::ops::RangeInclusive;

/// The button that leads to a value.
pub(super) fn label(value: Value) -> &'static str {
    match value {
        Value::FirstPick => key("button-crop-first-pick"),
        Value::FirstFlush => key("button-crop-first-flush"),
        Value::Keeps => key("button-crop-keeps"),
        Value::Pack => key("button-crop-pack"),
        Value::Cooling => key("button-crop-cooling"),
        Value::Price => key("button-crop-price"),
    }
}

fn question(value: Value) -> &'static str {
    match value {
        Value::FirstPick => key("crop-first-pick-question"),
        Value::FirstFlush => key("crop-first-flush-question"),
        Value::Keeps => key("crop-keeps-question"),
        Value::Pack => key("crop-pack-question"),
        Value::Cooling => key("crop-cooling-question"),
        Value::Price => key("crop-price-question"),
    }
}

fn range(value: Value) -> RangeInclusive<i64> {
    match value {
        Value::FirstPick => FIRST_PICK_DAYS,
        Value::FirstFlush => FIRST_FLUSH_PERCENT,
        Value::Keeps => KEEPS_DAYS,
        Value::Pack => PACK_GRAMS,
        Value::Cooling => COOLING_HOURS,
        Value::Price => PRICE_CENTS,
    }
}

/// What is usual.
fn offered(value: Value, units: UnitSystem) -> &'static [i64] {
    match (value, units) {
        (Value::FirstPick, _) => &[7, 10, 12, 14, 18, 21],
        (Value::FirstFlush, _) => &[20, 30, 40, 50, 60, 80],
        (Value::Keeps, _) => &[3, 5, 7, 10, 14],
        (Value::Pack, UnitSystem::Metric) => &[100, 250, 500, 1000],
        // A quarter, a half, one and two pounds of 453.59237 g.
        (Value::Pack, UnitSystem::Avoirdupois) => &[113, 227, 454, 907],
        (Value::Cooling, _) => &[0, 4, 12, 24],
        (Value::Price, _) => &[0],
    }
}

/// The weight a price is said for.
pub(super) fn price_unit(voice: &Voice) -> Grams {
    match voice.reader().units {
        UnitSystem::Metric => Grams::new(1000),
        UnitSystem::Avoirdupois => Grams::new(454),
    }
}

fn number_words(voice: &Voice, value: Value, number: i64) -> String {
    match value {
        Value::FirstPick | Value::Keeps => voice.plain("crop-button-days", &Args::new().count("days", number)),
        Value::Cooling => voice.plain("crop-button-hours", &Args::new().count("hours", number)),
        Value::FirstFlush => voice.plain("crop-button-share", &Args::new().percent("share", number as f64 / 100.0)),
        Value::Pack => voice.weight(Grams::new(number)),
        Value::Price => voice.plain("button-crop-no-price", &Args::new()),
    }
}

/// Whether this value of this crop is chat's to say; the refusal otherwise.
fn closed(desk: &Desk<'_>, person: &Person, (of, value): (&Of, Value)) -> Option<Letter> {
    let voice = desk.voice(person);
    if prior_of(desk, of).is_none() {
        return Some(Letter::new(voice.say("stale-button", &Args::new())));
    }
    if !is_open_to(desk, of) {
        return Some(Letter::new(voice.say("crop-card-from-file", &Args::new())));
    }
    let is_of_program = matches!(of, Of::Known(key)
        if !matches!(desk.house.crops.origin(key.as_str()), Some(Origin::Chat { .. })));
    let is_growth = matches!(value, Value::FirstPick | Value::FirstFlush);
    (is_of_program && is_growth).then(|| Letter::new(voice.say("stale-button", &Args::new())))
}

/// Asks for a value.
pub(super) async fn ask(desk: &mut Desk<'_>, person: &Person, (of, value): (Of, Value)) -> store::Result<()> {
    if let Some(letter) = closed(desk, person, (&of, value)) {
        return desk.answer(person, letter).await;
    }
    let voice = desk.voice(person);
    let args = Args::new().weight("weight", price_unit(&voice));
    let mut letter = Letter::new(voice.say(question(value), &args));
    for few in offered(value, voice.reader().units).chunks(3) {
        letter = letter
            .row(few.iter().map(|&number| {
                button(number_words(&voice, value, number), Ask::Set { of: of.clone(), value, number })
            }));
    }
    desk.ask(person, &Question::Crops(Waiting::Value { of, value })).await?;
    desk.answer(person, letter).await
}

/// Sets a value.
pub(super) async fn set(
    desk: &mut Desk<'_>,
    person: &Person,
    (of, value): (Of, Value),
    number: i64,
) -> store::Result<()> {
    if let Some(letter) = closed(desk, person, (&of, value)) {
        return desk.answer(person, letter).await;
    }
    if !range(value).contains(&number) {
        return stale(desk, person).await;
    }
    change(desk, person, of, |changes| put(changes, value, number)).await
}

fn put(changes: &mut Changes, value: Value, number: i64) {
    let small = u32::try_from(number).ok();
    match value {
        Value::FirstPick => changes.first_pick_days = small,
        Value::FirstFlush => changes.first_flush_percent = small,
        Value::Keeps => changes.keeps_days = small,
        Value::Cooling => changes.cooling_hours = small,
        Value::Pack => changes.pack_step = Some(Grams::new(number)),
        Value::Price => changes.price = Some(Cents::new(number)),
    }
}

/// Takes a typed value; `false` for a wish of its own.
pub(super) async fn typed(
    desk: &mut Desk<'_>,
    person: &Person,
    (of, value): (Of, Value),
    text: &str,
) -> store::Result<bool> {
    let voice = desk.voice(person);
    let number = match value {
        Value::Pack => match answer::weight(desk, person, text, "") {
            Answer::Read(grams) => Some(grams.get()),
            Answer::Wish => return Ok(false),
            Answer::Unread(Some(unread @ crate::phrase::Question::UnitMissing { .. })) => {
                let html = answer::unread(desk, &voice, Some(&unread), String::new());
                desk.answer(person, Letter::new(html)).await?;
                return Ok(true);
            }
            Answer::Unread(_) => None,
        },
        Value::Price => price(text, price_unit(&voice)),
        Value::FirstPick | Value::Keeps => whole(text, &DAY_WORDS),
        Value::Cooling => whole(text, &HOUR_WORDS),
        Value::FirstFlush => whole(text, &PERCENT_WORDS),
    };
    match number.filter(|number| range(value).contains(number)) {
        Some(number) => set(desk, person, (of, value), number).await?,
        None => {
            let letter = Letter::new(wrong(desk, &voice, value));
            desk.answer(person, letter).await?;
        }
    }
    Ok(true)
}

fn wrong(desk: &Desk<'_>, voice: &Voice, value: Value) -> String {
    let (least, most) = range(value).into_inner();
    let numbers = Args::new().count("least", least).count("most", most);
    match value {
        Value::FirstPick | Value::Keeps => voice.say("crop-days-wrong", &numbers),
        Value::Cooling => voice.say("crop-hours-wrong", &numbers),
        Value::FirstFlush => voice.say("crop-share-wrong", &numbers),
        Value::Pack => voice
            .say("crop-pack-wrong", &Args::new().weight("least", Grams::new(least)).weight("most", Grams::new(most))),
        Value::Price => {
            let unit = price_unit(voice);
            let most = Cents::new(most).per_kilogram_for(unit);
            let args = Args::new().money("most", most, desk.house.config.farm.currency.clone());
            voice.say("crop-price-wrong", &args.weight("weight", unit))
        }
    }
}

/// Words that may stand behind a number of days, folded, in every language.
const DAY_WORDS: [&str; 7] = ["d", "day", "days", "dia", "dias", "dzien", "dni"];
const HOUR_WORDS: [&str; 10] = ["h", "hr", "hrs", "hour", "hours", "hora", "horas", "godz", "godziny", "godzin"];
const PERCENT_WORDS: [&str; 4] = ["%", "percent", "por ciento", "procent"];

/// "12", "12 days": a whole number with nothing behind it but a word for its unit.
fn whole(text: &str, unit_words: &[&str]) -> Option<i64> {
    let text = folded(text.trim().trim_end_matches('.'));
    let digits = text.chars().take_while(char::is_ascii_digit).count();
    let (number, rest) = text.split_at(digits);
    let rest = rest.trim();
    (rest.is_empty() || unit_words.contains(&rest)).then(|| number.parse().ok()).flatten()
}

/// Marks of money and words that may stand beside a price; which currency it is in, the farm says.
const PRICE_WORDS: [&str; 15] =
    ["$", "€", "£", "zl", "usd", "eur", "gbp", "pln", "mxn", "per", "a", "por", "el", "za", "cada"];
const POUND_WORDS: [&str; 7] = ["lb", "lbs", "pound", "pounds", "libra", "funt", "funta"];
const KILOGRAM_WORDS: [&str; 4] = ["kg", "kilo", "kilogram", "kilogramo"];

/// "12.50", "$12.50 / lb", "24,90 kg": hundredths for a kilogram; a price without a unit is for `unit`.
fn price(text: &str, unit: Grams) -> Option<i64> {
    // Letters with a stroke stay letters with a stroke when accents go.
    let text = text.to_lowercase().replace('ł', "l");
    let mut unit = unit;
    let mut number: Option<String> = None;
    let spaced: String = text
        .chars()
        .flat_map(|letter| match letter {
            '$' | '€' | '£' => vec![' ', letter, ' '],
            '/' => vec![' '],
            other => vec![other],
        })
        .collect();
    for word in spaced.split_whitespace() {
        let digits = word.chars().take_while(|letter| letter.is_ascii_digit() || matches!(letter, '.' | ',')).count();
        let (figure, rest) = word.split_at(digits);
        if !figure.is_empty() && number.replace(figure.to_owned()).is_some() {
            return None;
        }
        match rest {
            "" => {}
            rest if PRICE_WORDS.contains(&rest) => {}
            rest if POUND_WORDS.contains(&rest) => unit = Grams::new(454),
            rest if KILOGRAM_WORDS.contains(&rest) => unit = Grams::new(1000),
            _ => return None,
        }
    }
    let cents = hundredths(&number?)?;
    let scaled = (i128::from(cents) * 1000 + i128::from(unit.get()) / 2) / i128::from(unit.get());
    i64::try_from(scaled).ok()
}

/// "12", "12.5", "12,50" as hundredths. A mark before three digits could part thousands, and is not guessed at.
fn hundredths(figure: &str) -> Option<i64> {
    let (whole, part) = figure.split_once(['.', ',']).unwrap_or((figure, ""));
    let is_digits = |text: &str| text.chars().all(|letter| letter.is_ascii_digit());
    if whole.is_empty() || whole.len() > 9 || !is_digits(whole) || part.len() > 2 || !is_digits(part) {
        return None;
    }
    let part = format!("{part:0<2}");
    whole.parse::<i64>().ok()?.checked_mul(100)?.checked_add(part.parse().ok()?)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_of_days_has_no_other_unit() {
        for (text, expected) in [
            ("12", Some(12)),
            ("12 days", Some(12)),
            (" 12 días ", Some(12)),
            ("12 dni", Some(12)),
            ("2 weeks", None),
            ("12 h", None),
            ("about 12", None),
            ("-12", None),
            ("1.5", None),
            ("", None),
            ("99999999999999999999", None),
        ] {
            assert_eq!(whole(text, &DAY_WORDS), expected, "{text}");
        }
    }

    /// 1 lb is taken as 454 g, as everywhere a price is shown: 12.00 for it is 26.43 a kilogram, and shows as 12.00 again.
    #[test]
    fn a_price_is_read_for_a_kilogram() {
        let (kilogram, pound) = (Grams::new(1000), Grams::new(454));
        for (text, unit, expected) in [
            ("24.90", kilogram, Some(2490)),
            ("24,9", kilogram, Some(2490)),
            ("$12", pound, Some(2643)),
            ("12.00 / lb", kilogram, Some(2643)),
            ("24.90/kg", pound, Some(2490)),
            ("45 zł", kilogram, Some(4500)),
            ("12 per oz", pound, None),
            ("1,250", kilogram, None),
            ("12 13", kilogram, None),
            ("-3", kilogram, None),
            ("free", kilogram, None),
        ] {
            assert_eq!(price(text, unit), expected, "{text}");
        }
        assert_eq!(Cents::new(2643).per_kilogram_for(pound), Cents::new(1200));
    }
}
