//! Batches on the shelves, their flushes, and what was seen and done.

use super::row::{Columns, word};
use super::{Result, Tx};
use crate::clock::{LocalDate, UtcSeconds};
use crate::id::Id;
use crate::quantity::Grams;
use serde::{Deserialize, Serialize};
use sqlx::any::AnyRow;

/// Blocks or bags started together in one room.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Batch {
    pub id: Id,
    pub crop: String,
    pub room: String,
    /// Blocks or bags at the start.
    pub units: i64,
    pub dry_per_unit: Grams,
    pub started_on: LocalDate,
}

/// One wave of fruiting of a batch.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Flush {
    pub id: Id,
    pub batch_id: Id,
    /// 1 is the first.
    pub number: i64,
    /// Soaked or opened; `None` while it rests or colonises.
    pub initiated_on: Option<LocalDate>,
    pub pins_on: Option<LocalDate>,
    /// Blocks or bags lost since the batch began.
    pub units_lost: i64,
    pub closed_on: Option<LocalDate>,
    /// What was picked of it, by day.
    pub picked: Vec<(LocalDate, Grams)>,
}

impl Flush {
    /// Since when the batch rests after this flush: the last pick, or the day it was closed where nothing was picked; `None`
    /// while it may still be picked.
    pub fn rests_since(&self) -> Option<LocalDate> {
        let last_pick = self.picked.iter().filter(|(_, weight)| weight.is_positive()).map(|(day, _)| *day).max();
        last_pick.or(self.closed_on)
    }
}

/// What can happen to a batch.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum EventKind {
    Received,
    Initiated,
    Pins,
    Lost,
    Picked,
    Rested,
    Spent,
}

/// One entry of the growing record. A correction has the kind and day of what it corrects, with units and grams negative.
#[derive(Clone, Copy, Debug)]
pub struct Event {
    pub batch_id: Id,
    pub flush_id: Option<Id>,
    pub kind: EventKind,
    pub on_day: LocalDate,
    pub units: i64,
    pub grams: Grams,
    pub person_id: Option<Id>,
}

fn batch(row: &AnyRow) -> Result<Batch> {
    Ok(Batch {
        id: row.id("id")?,
        crop: row.text("crop")?,
        room: row.text("room")?,
        units: row.integer("units")?,
        dry_per_unit: row.grams("dry_g_per_unit")?,
        started_on: row.day("started_on")?,
    })
}

/// Every batch, spent ones too (the record to learn from), oldest first.
pub async fn all_batches(tx: &mut Tx) -> Result<Vec<Batch>> {
    let query = sqlx::query("SELECT id, crop, room, units, dry_g_per_unit, started_on FROM batch ORDER BY id");
    tx.all(query).await?.iter().map(batch).collect()
}

/// Every flush with its picks, oldest first.
pub async fn all_flushes(tx: &mut Tx) -> Result<Vec<Flush>> {
    let query =
        sqlx::query("SELECT id, batch_id, number, initiated_on, pins_on, units_lost, closed_on FROM flush ORDER BY id");
    let mut flushes = Vec::new();
    for row in tx.all(query).await? {
        flushes.push(Flush {
            id: row.id("id")?,
            batch_id: row.id("batch_id")?,
            number: row.integer("number")?,
            initiated_on: row.day_opt("initiated_on")?,
            pins_on: row.day_opt("pins_on")?,
            units_lost: row.integer("units_lost")?,
            closed_on: row.day_opt("closed_on")?,
            picked: Vec::new(),
        });
    }
    let query = sqlx::query(
        "SELECT flush_id, on_day, CAST(SUM(grams) AS BIGINT) AS grams FROM growing_event
         WHERE kind = 'picked' AND flush_id IS NOT NULL GROUP BY flush_id, on_day ORDER BY flush_id, on_day",
    );
    for row in tx.all(query).await? {
        let flush_id = row.id("flush_id")?;
        if let Ok(at) = flushes.binary_search_by_key(&flush_id, |flush| flush.id) {
            flushes[at].picked.push((row.day("on_day")?, row.grams("grams")?));
        }
    }
    Ok(flushes)
}

/// Stores a new batch.
pub async fn add_batch(tx: &mut Tx, batch: &Batch) -> Result<()> {
    let query = sqlx::query(
        "INSERT INTO batch (id, crop, room, units, dry_g_per_unit, started_on) VALUES ($1, $2, $3, $4, $5, $6)",
    );
    let query = query.bind(batch.id.get()).bind(batch.crop.clone()).bind(batch.room.clone()).bind(batch.units);
    tx.execute(query.bind(batch.dry_per_unit.get()).bind(batch.started_on.to_string())).await?;
    Ok(())
}

/// Stores what is known of a batch after a correction.
pub async fn put_batch(tx: &mut Tx, batch: &Batch) -> Result<()> {
    let query =
        sqlx::query("UPDATE batch SET room = $2, units = $3, dry_g_per_unit = $4, started_on = $5 WHERE id = $1");
    let query = query.bind(batch.id.get()).bind(batch.room.clone()).bind(batch.units);
    tx.execute(query.bind(batch.dry_per_unit.get()).bind(batch.started_on.to_string())).await?;
    Ok(())
}

/// Closes a batch: it is spent.
pub async fn close_batch(tx: &mut Tx, batch_id: Id, on_day: LocalDate) -> Result<()> {
    let query = sqlx::query("UPDATE batch SET closed_on = $2 WHERE id = $1");
    tx.execute(query.bind(batch_id.get()).bind(on_day.to_string())).await?;
    Ok(())
}

/// Opens a spent batch again: it was closed by mistake.
pub async fn reopen_batch(tx: &mut Tx, batch_id: Id) -> Result<()> {
    tx.execute(sqlx::query("UPDATE batch SET closed_on = NULL WHERE id = $1").bind(batch_id.get())).await?;
    Ok(())
}

/// Takes back a flush that has not begun and of which the record says nothing; `false` when there is no such flush.
pub async fn remove_flush(tx: &mut Tx, flush_id: Id) -> Result<bool> {
    let query = sqlx::query(
        "DELETE FROM flush WHERE id = $1 AND initiated_on IS NULL
         AND NOT EXISTS (SELECT 1 FROM growing_event WHERE growing_event.flush_id = flush.id)",
    );
    Ok(tx.execute(query.bind(flush_id.get())).await? == 1)
}

/// Identifiers of batches that are spent.
pub async fn spent_batches(tx: &mut Tx) -> Result<Vec<Id>> {
    let rows = tx.all(sqlx::query("SELECT id FROM batch WHERE closed_on IS NOT NULL ORDER BY id")).await?;
    rows.iter().map(|row| row.id("id")).collect()
}

/// Stores a flush, new or changed. Its picks are events and stay as they are.
pub async fn put_flush(tx: &mut Tx, flush: &Flush) -> Result<()> {
    let query = sqlx::query(
        "INSERT INTO flush (id, batch_id, number, initiated_on, pins_on, units_lost, closed_on)
         VALUES ($1, $2, $3, $4, $5, $6, $7)
         ON CONFLICT (id) DO UPDATE SET initiated_on = excluded.initiated_on, pins_on = excluded.pins_on,
         units_lost = excluded.units_lost, closed_on = excluded.closed_on",
    );
    let query = query.bind(flush.id.get()).bind(flush.batch_id.get()).bind(flush.number);
    let query =
        query.bind(flush.initiated_on.map(|day| day.to_string())).bind(flush.pins_on.map(|day| day.to_string()));
    tx.execute(query.bind(flush.units_lost).bind(flush.closed_on.map(|day| day.to_string()))).await?;
    Ok(())
}

/// The growing record with the instant of each entry, oldest first.
pub async fn record_of_all(tx: &mut Tx) -> Result<Vec<(UtcSeconds, Event)>> {
    let query = sqlx::query(
        "SELECT batch_id, flush_id, kind, on_day, units, grams, at, person_id FROM growing_event ORDER BY at, id",
    );
    let rows = tx.all(query).await?;
    rows.iter()
        .map(|row| {
            let event = Event {
                batch_id: row.id("batch_id")?,
                flush_id: row.id_opt("flush_id")?,
                kind: row.word("kind")?,
                on_day: row.day("on_day")?,
                units: row.integer("units")?,
                grams: row.grams("grams")?,
                person_id: row.id_opt("person_id")?,
            };
            Ok((row.instant("at")?, event))
        })
        .collect()
}

/// Adds an entry to the growing record.
pub async fn record(tx: &mut Tx, event: &Event, now: UtcSeconds) -> Result<Id> {
    let id = tx.new_id(now);
    let query = sqlx::query(
        "INSERT INTO growing_event (id, batch_id, flush_id, kind, on_day, units, grams, at, person_id)
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)",
    );
    let query = query.bind(id.get()).bind(event.batch_id.get()).bind(event.flush_id.map(Id::get));
    let query = query.bind(word(event.kind)).bind(event.on_day.to_string()).bind(event.units);
    tx.execute(query.bind(event.grams.get()).bind(now.get()).bind(event.person_id.map(Id::get))).await?;
    Ok(id)
}
