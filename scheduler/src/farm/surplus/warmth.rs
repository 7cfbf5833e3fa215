//! How warm the cold room is. Rule: a reading is written down with its time and never changed; from then on every lot keeps
//! as long as what remains of its days lasts at that temperature, until somebody says another one.

use super::event::Event;
use crate::clock::{LocalDate, instant_at};
use crate::farm::{self, Farm};
use crate::people::Person;
use crate::store;
use crate::store::cold_room_warmth::{self, Keeping, Reading};
use crate::surplus::keeping;
use chrono::{Days, NaiveDateTime, NaiveTime};

/// 41 °F, 5 °C: the warmest at which the shelf days hold (FDA Food Code 3-501.16(A)(2) as adopted by states).
const TENTHS_COLD: i64 = 50;

/// Whether so many tenths of a degree Celsius are too warm for the shelf days to hold.
pub fn is_warm(tenths_c: i64) -> bool {
    tenths_c > TENTHS_COLD
}

/// A lot as it was, with the last day it has now.
pub type Aged = (Keeping, LocalDate);

/// Writes a temperature down, tenths of a degree Celsius; the lots that keep shorter or longer by it.
///
/// # Errors
/// Whatever the store fails with.
pub async fn record(
    farm: &mut Farm<'_>,
    person: &Person,
    tenths_c: i64,
) -> store::Result<(Vec<Aged>, Vec<farm::Event>)> {
    let reading = Reading { at: farm.now, tenths_c };
    cold_room_warmth::record(farm.tx, &reading, Some(person.id)).await?;
    let aged = age(farm).await?;
    let warm = Event::ColdRoomWarm { tenths_c, aged: aged.clone(), by: person.id };
    let events = is_warm(tenths_c).then(|| warm.into()).into_iter().collect();
    Ok((aged, events))
}

/// Works out anew how long every lot keeps by what the cold room was said to be; those whose last day changed, as it was
/// before, with the day it is now.
///
/// # Errors
/// Whatever the store fails with.
pub async fn age(farm: &mut Farm<'_>) -> store::Result<Vec<Aged>> {
    let zone = farm.zone();
    // A day back: what was good until yesterday may stand on a card that is still looked at.
    let yesterday = farm.today() - Days::new(1);
    let lots = cold_room_warmth::lots_kept_from(farm.tx, yesterday).await?;
    let Some(first) = lots.iter().map(|lot| lot.picked_on).min() else { return Ok(Vec::new()) };
    let since = instant_at(first, NaiveTime::MIN, zone);
    let readings = cold_room_warmth::readings_since(farm.tx, since).await?;
    let readings: Vec<(NaiveDateTime, f64)> =
        readings.iter().map(|reading| (reading.at.local(zone), reading.tenths_c as f64 / 10.0)).collect();
    let mut changed = Vec::new();
    for lot in lots {
        let base_days = u16::try_from((lot.kept_cold - lot.picked_on).num_days()).unwrap_or_default();
        let day = keeping::keeps_until(lot.picked_on, base_days, &readings);
        if day != lot.keeps_until {
            cold_room_warmth::put_keeps_until(farm.tx, lot.lot, day).await?;
            changed.push((lot, day));
        }
    }
    Ok(changed)
}
