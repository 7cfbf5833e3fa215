//! How warm the cold room was said to be, and how long its lots keep by that.

use super::row::Columns;
use super::{Result, Tx};
use crate::clock::{LocalDate, UtcSeconds};
use crate::id::Id;

/// One word on the cold room's temperature.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Reading {
    pub at: UtcSeconds,
    /// Tenths of a degree Celsius.
    pub tenths_c: i64,
}

/// Adds a word on the temperature.
pub async fn record(tx: &mut Tx, reading: &Reading, person_id: Option<Id>) -> Result<()> {
    let id = tx.new_id(reading.at);
    let query =
        sqlx::query("INSERT INTO cold_room_temperature (id, temperature_dc, at, person_id) VALUES ($1, $2, $3, $4)");
    let query = query.bind(id.get()).bind(reading.tenths_c).bind(reading.at.get());
    tx.execute(query.bind(person_id.map(Id::get))).await?;
    Ok(())
}

/// What counts from `since` on: the last word before it and every later one, oldest first.
pub async fn readings_since(tx: &mut Tx, since: UtcSeconds) -> Result<Vec<Reading>> {
    let query = sqlx::query(
        "SELECT temperature_dc, at FROM cold_room_temperature WHERE at >= $1
         OR id = (SELECT MAX(id) FROM cold_room_temperature WHERE at < $1) ORDER BY at, id",
    );
    let rows = tx.all(query.bind(since.get())).await?;
    rows.iter().map(|row| Ok(Reading { at: row.instant("at")?, tenths_c: row.integer("temperature_dc")? })).collect()
}

/// The last word on it.
pub async fn latest(tx: &mut Tx) -> Result<Option<Reading>> {
    let query = sqlx::query("SELECT temperature_dc, at FROM cold_room_temperature ORDER BY at DESC, id DESC LIMIT 1");
    let row = tx.optional(query).await?;
    row.map(|row| Ok(Reading { at: row.instant("at")?, tenths_c: row.integer("temperature_dc")? })).transpose()
}

/// A lot's days, whatever is left of it: an empty one may be filled again.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Keeping {
    pub lot: Id,
    pub picked_on: LocalDate,
    /// The last day it is good when kept cold all along.
    pub kept_cold: LocalDate,
    /// The last day it is good as it was kept.
    pub keeps_until: LocalDate,
}

/// The lots that would still be good on `day` if they were kept cold, in order of identifier.
pub async fn lots_kept_from(tx: &mut Tx, day: LocalDate) -> Result<Vec<Keeping>> {
    let query = sqlx::query(
        "SELECT id, picked_on, COALESCE(keeps_cold, keeps_until) AS kept_cold, keeps_until FROM lot
         WHERE COALESCE(keeps_cold, keeps_until) >= $1 ORDER BY id",
    );
    let rows = tx.all(query.bind(day.to_string())).await?;
    let lots = rows.iter().map(|row| {
        Ok(Keeping {
            lot: row.id("id")?,
            picked_on: row.day("picked_on")?,
            kept_cold: row.day("kept_cold")?,
            keeps_until: row.day("keeps_until")?,
        })
    });
    lots.collect()
}

/// Sets the last day a lot is good.
pub async fn put_keeps_until(tx: &mut Tx, lot: Id, day: LocalDate) -> Result<()> {
    let query = sqlx::query("UPDATE lot SET keeps_until = $2 WHERE id = $1");
    tx.execute(query.bind(lot.get()).bind(day.to_string())).await?;
    tx.is_stock_moved = true;
    Ok(())
}
