//! A room's temperature by chat: "cool room 58 F", or the batch's button and a number. It is written down with its day,
//! never changed; the forecast shifts the days by it.

use super::shelf::Shelf;
use super::{Ask, Waiting, button, choosing, close_question, refuse, shelves_button};
use crate::conversation::{Button, Desk, Letter};
use crate::intent::Waiting as Question;
use crate::wording::Args;
use scheduler::farm::batches;
use scheduler::farm::expected;
use scheduler::id::Id;
use scheduler::people::Person;
use scheduler::quantity::UnitSystem;
use scheduler::store;
use scheduler::store::rooms::{self, Temperature};
use std::collections::{BTreeMap, BTreeSet};

/// Tenths of a degree Celsius a growing room can have; ours: a frost or a sauna is a slip of the thumb.
const TENTHS_LEAST: i64 = -50;
const TENTHS_MOST: i64 = 450;

/// Words that stand around a room's name and its temperature, in every language: whoever writes may mix them.
const FILLERS: [&str; 33] = [
    "a",
    "al",
    "at",
    "de",
    "degrees",
    "el",
    "en",
    "está",
    "esta",
    "grados",
    "hay",
    "in",
    "is",
    "it",
    "it's",
    "jest",
    "la",
    "ma",
    "now",
    "ahora",
    "of",
    "stopni",
    "stopnie",
    "temp",
    "temperatura",
    "temperature",
    "teraz",
    "the",
    "w",
    "we",
    "hace",
    "to",
    "=",
];

/// A room and a temperature as typed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Said {
    /// Empty when only a temperature was written.
    pub room: String,
    /// Tenths of a degree on the scale typed.
    tenths: i64,
    scale: Option<UnitSystem>,
}

/// What a typed temperature means, in tenths of a degree Celsius.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Meant {
    Sure(i64),
    /// It can be on both scales.
    Either,
    /// It can be on none.
    Neither,
}

/// Tenths of a degree Celsius: C = (F − 32) / 1.8 (NIST SP 811, appendix B.8).
pub fn celsius(tenths: i64, scale: UnitSystem) -> i64 {
    match scale {
        UnitSystem::Metric => tenths,
        UnitSystem::Avoirdupois => ((tenths - 320) as f64 / 1.8).round() as i64,
    }
}

fn is_room_warmth(tenths_c: i64) -> bool {
    (TENTHS_LEAST..=TENTHS_MOST).contains(&tenths_c)
}

impl Said {
    /// Tenths of a degree Celsius; where no scale was typed, on the one that goes with these units.
    pub fn tenths_c_for(&self, units: UnitSystem) -> i64 {
        celsius(self.tenths, self.scale.unwrap_or(units))
    }

    /// Tenths of a degree on the scale typed.
    pub fn tenths(&self) -> i64 {
        self.tenths
    }

    /// Tenths of a degree Celsius, where a scale was typed or only one of both can be meant by what `can_be`.
    pub fn tenths_c(&self, can_be: impl Fn(i64) -> bool) -> Meant {
        if let Some(scale) = self.scale {
            return Meant::Sure(celsius(self.tenths, scale));
        }
        let both = [UnitSystem::Metric, UnitSystem::Avoirdupois].map(|scale| celsius(self.tenths, scale));
        match both.map(can_be) {
            [true, false] => Meant::Sure(both[0]),
            [false, true] => Meant::Sure(both[1]),
            [true, true] => Meant::Either,
            [false, false] => Meant::Neither,
        }
    }
}

/// A temperature at the end of a text and the name before it; `None` for any other text.
pub fn read(text: &str) -> Option<Said> {
    let text = text.to_lowercase().replace(['°', 'º', ':'], " ");
    let mut words: Vec<&str> = text.split_whitespace().collect();
    let mut scale = None;
    while let Some(last) = words.last().map(|word| word.trim_end_matches(['.', '!'])) {
        match last {
            "c" | "f" if scale.is_some() => return None,
            "c" | "celsius" | "celsjusza" | "centigrade" | "centígrados" | "centigrados" => {
                scale = Some(UnitSystem::Metric);
            }
            "f" | "fahrenheit" | "fahrenheita" => scale = Some(UnitSystem::Avoirdupois),
            "degrees" | "grados" | "stopni" | "stopnie" => {}
            _ => break,
        }
        words.pop();
    }
    let mut number = words.pop()?.trim_end_matches(['.', '!']);
    for (letter, its_scale) in [('c', UnitSystem::Metric), ('f', UnitSystem::Avoirdupois)] {
        if let Some(before) = number.strip_suffix(letter) {
            if scale.is_some() {
                return None;
            }
            (number, scale) = (before, Some(its_scale));
        }
    }
    let (whole, part) = number.split_once(['.', ',']).unwrap_or((number, "0"));
    let is_negative = whole.starts_with(['-', '−']);
    let whole = whole.trim_start_matches(['-', '−']);
    let is_digits = |text: &str| !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
    if !is_digits(whole) || whole.len() > 3 || part.len() != 1 || !is_digits(part) {
        return None;
    }
    let tenths = whole.parse::<i64>().ok()? * 10 + part.parse::<i64>().ok()?;
    let room = name(&words.join(" "));
    Some(Said { room, tenths: if is_negative { -tenths } else { tenths }, scale })
}

/// A room's name without what may stand around it.
fn name(text: &str) -> String {
    let words = text.to_lowercase();
    let words = words.split_whitespace().map(|word| word.trim_matches([',', '.', '\'', '"']));
    words.filter(|word| !FILLERS.contains(word)).collect::<Vec<_>>().join(" ")
}

/// Rooms in use, as they are written, in order of their names.
async fn rooms_in_use(desk: &mut Desk<'_>) -> store::Result<Vec<String>> {
    let mut rooms: BTreeMap<String, String> = BTreeMap::new();
    for shelf in batches::active(&mut desk.farm()).await? {
        rooms.entry(expected::room_key(&shelf.batch.room)).or_insert(shelf.batch.room);
    }
    Ok(rooms.into_values().collect())
}

/// What a text that the grammar does not know means as a room's temperature; `None` when it is no such thing.
///
/// # Errors
/// Whatever the store fails with.
pub async fn wish(desk: &mut Desk<'_>, text: &str) -> store::Result<Option<Ask>> {
    let Some(said) = read(text) else { return Ok(None) };
    let known = rooms_in_use(desk).await?.into_iter().find(|room| name(room) == said.room && !said.room.is_empty());
    Ok(match (known, said.tenths_c(is_room_warmth), said.scale) {
        (Some(room), Meant::Sure(tenths_c), _) => Some(Ask::Warmth { room: Some(room), tenths_c }),
        (Some(room), Meant::Either | Meant::Neither, _) => Some(Ask::WarmthScale { room, tenths: said.tenths }),
        (None, Meant::Sure(tenths_c), Some(_)) => {
            Some(Ask::Warmth { room: (!said.room.is_empty()).then_some(said.room), tenths_c })
        }
        // A number after words that name no room is somebody else's business.
        _ => None,
    })
}

/// Asks how warm a batch's room is.
///
/// # Errors
/// Whatever the store fails with.
pub async fn how_warm(desk: &mut Desk<'_>, person: &Person, batch: Id) -> store::Result<()> {
    let Some(shelf) = choosing::named(desk, person, batch, None).await? else { return Ok(()) };
    let voice = desk.voice(person);
    desk.ask(person, &Question::Growing(Waiting::Warmth { room: shelf.batch.room.clone() })).await?;
    let unit = match person.units {
        UnitSystem::Metric => "°C",
        UnitSystem::Avoirdupois => "°F",
    };
    let args = Args::new().text("room", shelf.batch.room.clone()).text("unit", unit);
    desk.answer(person, Letter::new(voice.say("warmth-question", &args))).await
}

/// Takes the number; `false` when the text is none. The question named the reader's scale, so a bare number is on it.
///
/// # Errors
/// Whatever the store fails with.
pub async fn answered(desk: &mut Desk<'_>, person: &Person, room: String, text: &str) -> store::Result<bool> {
    let Some(said) = read(text).filter(|said| said.room.is_empty()) else { return Ok(false) };
    let tenths_c = celsius(said.tenths, said.scale.unwrap_or(person.units));
    record(desk, person, Some(room), tenths_c).await?;
    Ok(true)
}

/// Asks which scale a number is on.
///
/// # Errors
/// Whatever the store fails with.
pub async fn which_scale(desk: &mut Desk<'_>, person: &Person, room: String, tenths: i64) -> store::Result<()> {
    let voice = desk.voice(person);
    let both = [(UnitSystem::Avoirdupois, "°F"), (UnitSystem::Metric, "°C")].map(|(scale, unit)| {
        let number = if tenths % 10 == 0 { (tenths / 10).to_string() } else { format!("{:.1}", tenths as f64 / 10.0) };
        let ask = Ask::Warmth { room: Some(room.clone()), tenths_c: celsius(tenths, scale) };
        button(format!("{number} {unit}"), ask)
    });
    let letter = Letter::new(voice.say("warmth-which-scale", &Args::new().text("room", room.clone()))).row(both);
    desk.answer(person, letter).await
}

/// Writes a room's temperature down and says what it means for what grows there; asks for the room where it is open.
///
/// # Errors
/// Whatever the store fails with.
pub async fn record(desk: &mut Desk<'_>, person: &Person, room: Option<String>, tenths_c: i64) -> store::Result<()> {
    let voice = desk.voice(person);
    let args = Args::new().text("temperature", voice.temperature(tenths_c));
    if !is_room_warmth(tenths_c) {
        let args = args.text("least", voice.temperature(TENTHS_LEAST)).text("most", voice.temperature(TENTHS_MOST));
        return refuse(desk, person, voice.say("warmth-range", &args)).await;
    }
    let there = rooms_in_use(desk).await?;
    let meant = match &room {
        Some(said) => there.iter().find(|room| expected::room_key(room) == expected::room_key(said)),
        None if there.len() == 1 => there.first(),
        None => None,
    };
    let Some(meant) = meant.cloned() else {
        if there.is_empty() {
            return refuse(desk, person, voice.say("shelves-empty", &Args::new())).await;
        }
        let html = match room {
            Some(said) => voice.say("warmth-unknown-room", &Args::new().text("room", said)),
            None => voice.say("warmth-which-room", &args),
        };
        let choice = |room: &String| button(room.clone(), Ask::Warmth { room: Some(room.clone()), tenths_c });
        let letter = there.iter().take(10).map(choice).fold(Letter::new(html), |letter, one| letter.row([one]));
        return desk.answer(person, letter).await;
    };
    close_question(desk, person).await?;
    let (now, on_day) = (desk.now, desk.today());
    let said = Temperature { room: meant.clone(), on_day, tenths_c, person_id: Some(person.id) };
    rooms::record_temperature(&mut desk.tx, &said, now).await?;
    let mut lines = vec![voice.say("warmth-done", &args.text("room", meant.clone()))];
    lines.extend(consequences(desk, person, &meant, tenths_c).await?);
    let letter = Letter::new(lines.join("\n")).row([shelves_button(&voice)]);
    desk.answer(person, letter).await
}

/// What the warmth means for each crop of the room: out of its range, or the days to the first pick.
async fn consequences(desk: &mut Desk<'_>, person: &Person, room: &str, tenths_c: i64) -> store::Result<Vec<String>> {
    use scheduler::harvest::warmth::{Warmth, pace, warmth};
    let voice = desk.voice(person);
    let is_there = |shelf: &Shelf| expected::room_key(&shelf.batch.room) == expected::room_key(room);
    let there: BTreeSet<(String, i64)> = batches::active(&mut desk.farm())
        .await?
        .into_iter()
        .filter(is_there)
        .map(|shelf| (shelf.batch.crop, shelf.flush.number))
        .collect();
    let learned = expected::growth(&mut desk.farm()).await?.learned;
    let temperature_c = tenths_c as f64 / 10.0;
    let mut lines = Vec::new();
    let mut told = BTreeSet::new();
    for (crop, number) in there {
        let Ok(key) = crop.parse() else { continue };
        let Some(prior) = learned.prior(key).filter(|_| told.insert(crop.clone())) else { continue };
        let tenths = |celsius: f64| (celsius * 10.0).round() as i64;
        let args = Args::new()
            .text("crop", desk.house.crop_name(&crop, &voice))
            .text("low", voice.temperature(tenths(prior.fruiting_low_c)))
            .text("high", voice.temperature(tenths(prior.fruiting_high_c)));
        lines.push(match warmth(prior, temperature_c) {
            Warmth::TooCold => voice.say("warmth-too-cold", &args),
            Warmth::TooWarm => voice.say("warmth-too-warm", &args),
            Warmth::Fruiting => {
                let Some(belief) = u8::try_from(number).ok().and_then(|number| learned.belief(key, number)) else {
                    continue;
                };
                let days = belief.days.predictive().quantile(0.5).exp() / pace(prior, Some(temperature_c));
                voice.say("warmth-days", &args.count("days", days.round().clamp(1.0, 999.0) as i64))
            }
        });
    }
    Ok(lines)
}

/// The button that asks for a batch's room.
pub fn warmth_button(label: String, batch: Id) -> Button {
    button(label, Ask::WarmthOf { batch })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_room_and_its_warmth_are_read_in_three_languages() {
        for (text, room, tenths_c) in [
            ("cool room 58 F", "cool room", Some(144)),
            ("Cool room is at 58°F", "cool room", Some(144)),
            ("cool room 58", "cool room", Some(144)),
            ("sala fría 14 °C", "sala fría", Some(140)),
            ("la sala fría está a 14,5 grados centígrados", "sala fría", Some(145)),
            ("w zimnej sali jest 14 stopni", "zimnej sali", Some(140)),
            ("room 2: 60f", "room 2", Some(156)),
            ("58 F", "", Some(144)),
            // Forty may be either.
            ("cool room 40", "cool room", None),
            ("cool room -3 C", "cool room", Some(-30)),
        ] {
            let said = read(text).unwrap_or_else(|| panic!("{text}"));
            let meant = match said.tenths_c(is_room_warmth) {
                Meant::Sure(tenths_c) => Some(tenths_c),
                Meant::Either | Meant::Neither => None,
            };
            assert_eq!((said.room.as_str(), meant), (room, tenths_c), "{text}");
        }
        for text in ["", "cool room", "58 F cool room", "4 lb", "cool room 58.25 F", "room 1234 F", "5 f c", "ó"] {
            assert_eq!(read(text), None, "{text}");
        }
    }
}
