//! How warm the cold room is, by chat: "cold room 8 °C". Written down with its time and never changed; from then on every
//! lot keeps as long as what remains of its days lasts at that temperature, until somebody says another one.

use super::super::growing::warmth::{self as typed, Meant};
use super::super::{Button, Desk, Letter};
use super::{Ask, stock};
use crate::intent::Intent;
use crate::phrase::folded;
use crate::wording::{Args, DateForm, Voice};
use chrono::{Days, NaiveDateTime, NaiveTime};
use scheduler::clock::{LocalDate, instant_at};
use scheduler::people::{Person, Role};
use scheduler::quantity::UnitSystem;
use scheduler::store::cold_room_warmth::{self, Keeping, Reading};
use scheduler::store::{self, cold_room, people};
use scheduler::surplus::keeping;

/// Tenths of a degree Celsius a cold room can have; ours: harder frost, or more than a hot day, is a slip of the thumb.
const TENTHS_LEAST: i64 = -100;
const TENTHS_MOST: i64 = 400;
/// 41 °F, 5 °C: the warmest at which the shelf days hold (FDA Food Code 3-501.16(A)(2) as adopted by states).
const TENTHS_COLD: i64 = 50;

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
    let reading = Reading { at: desk.now, tenths_c };
    cold_room_warmth::record(&mut desk.tx, &reading, Some(person.id)).await?;
    let changed = age(desk).await?;
    let text = told(desk, &voice, tenths_c, &changed).await?;
    desk.answer(person, Letter::new(text)).await?;
    if tenths_c > TENTHS_COLD {
        for keeper in people::with_role(&mut desk.tx, Role::Keeper).await? {
            if keeper.id != person.id {
                let text = told(desk, &desk.voice(&keeper), tenths_c, &changed).await?;
                desk.tell(&keeper, Letter::new(text)).await?;
            }
        }
    }
    Ok(())
}

async fn told(
    desk: &mut Desk<'_>,
    voice: &Voice,
    tenths_c: i64,
    changed: &[(Keeping, LocalDate)],
) -> store::Result<String> {
    let args = Args::new().text("temperature", voice.temperature(tenths_c));
    let mut lines = vec![voice.say("cold-room-noted", &args)];
    if tenths_c > TENTHS_COLD {
        lines.push(voice.say("cold-room-warm", &Args::new()));
    }
    let lots = cold_room::lots(&mut desk.tx).await?;
    for lot in &lots {
        let Some((before, _)) = changed.iter().find(|(before, _)| before.lot == lot.id) else { continue };
        let args = Args::new()
            .text("what", desk.house.amount(&lot.crop, lot.left, voice))
            .date_as("day", lot.keeps_until, DateForm::Short)
            .date_as("before", before.keeps_until, DateForm::Short);
        lines.push(voice.say("cold-room-lot-now", &args));
    }
    for one in stock::now(desk).await?.uncovered {
        let args = Args::new().text("crop", desk.house.crop_name(&one.crop, voice)).weight("weight", one.weight);
        lines.push(voice.say("surplus-promises-uncovered", &args));
    }
    Ok(lines.join("\n"))
}

/// Works out anew how long every lot keeps by what the cold room was said to be; those whose last day changed, as it was
/// before, with the day it is now.
///
/// # Errors
/// Whatever the store fails with.
pub async fn age(desk: &mut Desk<'_>) -> store::Result<Vec<(Keeping, LocalDate)>> {
    let zone = desk.house.zone();
    // A day back: what was good until yesterday may stand on a card that is still looked at.
    let yesterday = desk.today() - Days::new(1);
    let lots = cold_room_warmth::lots_kept_from(&mut desk.tx, yesterday).await?;
    let Some(first) = lots.iter().map(|lot| lot.picked_on).min() else { return Ok(Vec::new()) };
    let since = instant_at(first, NaiveTime::MIN, zone);
    let readings = cold_room_warmth::readings_since(&mut desk.tx, since).await?;
    let readings: Vec<(NaiveDateTime, f64)> =
        readings.iter().map(|reading| (reading.at.local(zone), reading.tenths_c as f64 / 10.0)).collect();
    let mut changed = Vec::new();
    for lot in lots {
        let base_days = u16::try_from((lot.kept_cold - lot.picked_on).num_days()).unwrap_or_default();
        let day = keeping::keeps_until(lot.picked_on, base_days, &readings);
        if day != lot.keeps_until {
            cold_room_warmth::put_keeps_until(&mut desk.tx, lot.lot, day).await?;
            changed.push((lot, day));
        }
    }
    Ok(changed)
}

/// What was said last, with the warning where it is too warm; nothing where nobody has said anything.
///
/// # Errors
/// Whatever the store fails with.
pub async fn lines(desk: &mut Desk<'_>, voice: &Voice) -> store::Result<Vec<String>> {
    let Some(reading) = cold_room_warmth::latest(&mut desk.tx).await? else { return Ok(Vec::new()) };
    let args = Args::new().text("temperature", voice.temperature(reading.tenths_c)).day_time("at", reading.at);
    let mut lines = vec![voice.say("cold-room-said", &args)];
    if reading.tenths_c > TENTHS_COLD {
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
