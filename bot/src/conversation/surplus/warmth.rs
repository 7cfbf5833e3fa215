//! How warm the cold room is, by chat: "cold room 8 °C".

use super::Ask;
use crate::conversation::audience::Audience;
use crate::conversation::growing::warmth::{self as typed, Meant};
use crate::conversation::{Button, Desk, Letter};
use crate::intent::Intent;
use crate::phrase::folded;
use crate::wording::{Args, DateForm, Voice};
use scheduler::farm::stock;
use scheduler::farm::surplus::warmth::{self, Aged};
use scheduler::people::Person;
use scheduler::quantity::UnitSystem;
use scheduler::store::{self, cold_room, cold_room_warmth};

/// Tenths of a degree Celsius a cold room can have; ours: harder frost, or more than a hot day, is a slip of the thumb.
const TENTHS_LEAST: i64 = -100;
const TENTHS_MOST: i64 = 400;

/// What the room is called, folded, in every language: whoever writes may mix them.
const NAMES: [&str; 17] = [
    "cold room",
    "coldroom",
    "cooler",
    "cold store",
    "fridge",
    "walk-in",
    "walk-in cooler",
    "camara",
    "camara fria",
    "cuarto frio",
    "nevera",
    "refrigerador",
    "chlodnia",
    "chlodni",
    "chlodnie",
    "lodowka",
    "lodowce",
];

/// What a text that the grammar does not know means as the cold room's temperature; `None` when it is no such thing.
pub fn wish(text: &str) -> Option<Ask> {
    let said = typed::read(text)?;
    if !NAMES.contains(&folded(&said.room).as_str()) {
        return None;
    }
    Some(match said.tenths_c(|tenths_c| (TENTHS_LEAST..=TENTHS_MOST).contains(&tenths_c)) {
        Meant::Sure(tenths_c) => Ask::ColdRoomWarmth { tenths_c },
        Meant::Either => Ask::ColdRoomScale { tenths: said.tenths() },
        // Refused with the range, in degrees Celsius.
        Meant::Neither => Ask::ColdRoomWarmth { tenths_c: said.tenths() },
    })
}

/// Asks which scale a number is on.
pub(super) async fn which_scale(desk: &mut Desk<'_>, person: &Person, tenths: i64) -> store::Result<()> {
    let voice = desk.voice(person);
    let number = if tenths % 10 == 0 { (tenths / 10).to_string() } else { format!("{:.1}", tenths as f64 / 10.0) };
    let both = [(UnitSystem::Avoirdupois, "°F"), (UnitSystem::Metric, "°C")].map(|(scale, unit)| {
        let ask = Ask::ColdRoomWarmth { tenths_c: typed::celsius(tenths, scale) };
        Button::new(format!("{number} {unit}"), Intent::Surplus(ask))
    });
    desk.answer(person, Letter::new(voice.say("cold-room-which-scale", &Args::new())).row(both)).await
}

/// Writes it down, and says which lots keep shorter or longer by it.
pub(super) async fn record(desk: &mut Desk<'_>, person: &Person, tenths_c: i64) -> store::Result<()> {
    let voice = desk.voice(person);
    let args = Args::new().text("temperature", voice.temperature(tenths_c));
    if !(TENTHS_LEAST..=TENTHS_MOST).contains(&tenths_c) {
        let args = args.text("least", voice.temperature(TENTHS_LEAST)).text("most", voice.temperature(TENTHS_MOST));
        return desk.answer(person, Letter::new(voice.say("cold-room-range", &args))).await;
    }
    let (aged, events) = warmth::record(&mut desk.farm(), person, tenths_c).await?;
    desk.happened(events);
    let text = told(desk, &voice, (tenths_c, &aged)).await?;
    desk.answer(person, Letter::new(text)).await
}

/// Tells an audience that it is too warm.
pub(super) async fn tell(desk: &mut Desk<'_>, warm: (i64, &[Aged]), audience: &Audience) -> store::Result<()> {
    for person in desk.readers(audience).await? {
        let text = told(desk, &desk.voice(&person), warm).await?;
        desk.tell(&person, Letter::new(text)).await?;
    }
    Ok(())
}

async fn told(desk: &mut Desk<'_>, voice: &Voice, (tenths_c, aged): (i64, &[Aged])) -> store::Result<String> {
    let args = Args::new().text("temperature", voice.temperature(tenths_c));
    let mut lines = vec![voice.say("cold-room-noted", &args)];
    if warmth::is_warm(tenths_c) {
        lines.push(voice.say("cold-room-warm", &Args::new()));
    }
    let lots = cold_room::lots(&mut desk.tx).await?;
    for lot in &lots {
        let Some((before, _)) = aged.iter().find(|(before, _)| before.lot == lot.id) else { continue };
        let args = Args::new()
            .text("what", desk.house.amount(&lot.crop, lot.left, voice))
            .date_as("day", lot.keeps_until, DateForm::Short)
            .date_as("before", before.keeps_until, DateForm::Short);
        lines.push(voice.say("cold-room-lot-now", &args));
    }
    for one in stock::now(&mut desk.farm()).await?.uncovered {
        let args = Args::new().text("crop", desk.house.crop_name(&one.crop, voice)).weight("weight", one.weight);
        lines.push(voice.say("surplus-promises-uncovered", &args));
    }
    Ok(lines.join("\n"))
}

/// What was said last, with the warning where it is too warm; nothing where nobody has said anything.
///
/// # Errors
/// Whatever the store fails with.
pub async fn lines(desk: &mut Desk<'_>, voice: &Voice) -> store::Result<Vec<String>> {
    let Some(reading) = cold_room_warmth::latest(&mut desk.tx).await? else { return Ok(Vec::new()) };
    let args = Args::new().text("temperature", voice.temperature(reading.tenths_c)).day_time("at", reading.at);
    let mut lines = vec![voice.say("cold-room-said", &args)];
    if warmth::is_warm(reading.tenths_c) {
        lines.push(voice.say("cold-room-warm", &Args::new()));
    }
    Ok(lines)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// °C = (°F − 32) / 1.8 (NIST SP 811, appendix B.8).
    #[test]
    fn the_cold_room_is_told_from_other_rooms_in_three_languages() {
        let is = |tenths_c| Some(Ask::ColdRoomWarmth { tenths_c });
        for (text, expected) in [
            ("cold room 8 °C", is(80)),
            ("Cold room is at 46 F", is(78)),
            ("the cooler is 46", is(78)),
            ("cámara fría 8 grados", is(80)),
            ("w chłodni jest 8 stopni", is(80)),
            ("chłodnia 8,5", is(85)),
            ("cold room 70 C", is(700)),
            ("cold room -30 C", is(-300)),
            // Thirty-eight may be either.
            ("cold room 38", Some(Ask::ColdRoomScale { tenths: 380 })),
            ("cool room 8 C", None),
            ("8 °C", None),
            ("cold room", None),
        ] {
            assert_eq!(wish(text), expected, "{text}");
        }
    }
}
