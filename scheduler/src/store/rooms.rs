//! How warm the growing rooms were.

use super::row::Columns;
use super::{Result, Tx};
use crate::clock::{LocalDate, UtcSeconds};
use crate::id::Id;

/// One word on a room's temperature.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Temperature {
    pub room: String,
    pub on_day: LocalDate,
    /// Tenths of a degree Celsius.
    pub tenths_c: i64,
    pub person_id: Option<Id>,
}

/// Adds a word on a room's temperature.
pub async fn record_temperature(tx: &mut Tx, said: &Temperature, now: UtcSeconds) -> Result<()> {
    let id = tx.new_id(now);
    let query = sqlx::query(
        "INSERT INTO room_temperature (id, room, on_day, temperature_dc, at, person_id) VALUES ($1, $2, $3, $4, $5, $6)",
    );
    let query = query.bind(id.get()).bind(said.room.clone()).bind(said.on_day.to_string()).bind(said.tenths_c);
    tx.execute(query.bind(now.get()).bind(said.person_id.map(Id::get))).await?;
    Ok(())
}

/// Everything said of rooms' temperatures with the instant it was said, oldest first.
pub async fn temperatures(tx: &mut Tx) -> Result<Vec<(UtcSeconds, Temperature)>> {
    let query = sqlx::query("SELECT room, on_day, temperature_dc, at, person_id FROM room_temperature ORDER BY at, id");
    let rows = tx.all(query).await?;
    rows.iter()
        .map(|row| {
            let said = Temperature {
                room: row.text("room")?,
                on_day: row.day("on_day")?,
                tenths_c: row.integer("temperature_dc")?,
                person_id: row.id_opt("person_id")?,
            };
            Ok((row.instant("at")?, said))
        })
        .collect()
}
