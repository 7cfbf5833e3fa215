//! Lots in the cold room and every gram that leaves them or comes back.

use super::row::{Columns, word};
use super::{Result, Tx};
use crate::clock::{LocalDate, UtcSeconds};
use crate::id::Id;
use crate::quantity::Grams;
use crate::surplus::answers::Carried;
use serde::{Deserialize, Serialize};
use sqlx::any::AnyRow;

/// What was picked together and lies in the cold room.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Lot {
    pub id: Id,
    pub crop: String,
    pub flush_id: Option<Id>,
    pub picked_on: LocalDate,
    /// The first day it is cooled through and may be packed.
    pub ready_on: LocalDate,
    /// The last day it is good to give a customer.
    pub keeps_until: LocalDate,
    pub picked: Grams,
    pub left: Grams,
}

/// Why grams leave a lot or come back.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum MoveKind {
    /// To a restaurant on the delivery run; the subject is the award.
    Delivered,
    /// To the market.
    Market,
    /// Back from the market: a negative weight.
    Returned,
    /// Into the drier.
    Dried,
    /// To a food bank; the subject is the drop.
    Given,
    /// Collected by a buyer who took an offer; the subject is the claim.
    Collected,
    /// Thrown away.
    Discarded,
    /// Sold without an order or a market, found when the cold room was counted.
    SoldBeside,
    /// Given without a drop, found when the cold room was counted: it is in no record of gifts.
    GivenBeside,
    /// Past its days, and nobody said what became of it.
    Lapsed,
    /// Never there: the pick was written down by mistake.
    Corrected,
}

/// One movement.
#[derive(Clone, Copy, Debug)]
pub struct Movement {
    pub kind: MoveKind,
    pub subject: Option<Id>,
    /// Who said so; nobody where the farm assumed it.
    pub person_id: Option<Id>,
    pub now: UtcSeconds,
}

fn lot(row: &AnyRow) -> Result<Lot> {
    Ok(Lot {
        id: row.id("id")?,
        crop: row.text("crop")?,
        flush_id: row.id_opt("flush_id")?,
        picked_on: row.day("picked_on")?,
        ready_on: row.day("ready_on")?,
        keeps_until: row.day("keeps_until")?,
        picked: row.grams("picked_g")?,
        left: row.grams("left_g")?,
    })
}

/// Lots with something in them, first to expire first.
pub async fn lots(tx: &mut Tx) -> Result<Vec<Lot>> {
    let query = sqlx::query(
        "SELECT id, crop, flush_id, picked_on, ready_on, keeps_until, picked_g, left_g FROM lot
         WHERE left_g > 0 ORDER BY keeps_until, picked_on, id",
    );
    tx.all(query).await?.iter().map(lot).collect()
}

/// A lot, also an empty one.
pub async fn lot_by_id(tx: &mut Tx, id: Id) -> Result<Option<Lot>> {
    let query = sqlx::query(
        "SELECT id, crop, flush_id, picked_on, ready_on, keeps_until, picked_g, left_g FROM lot WHERE id = $1",
    );
    tx.optional(query.bind(id.get())).await?.as_ref().map(lot).transpose()
}

/// Stores a new lot, whose last day is the one it has when it is kept cold all along.
pub async fn add_lot(tx: &mut Tx, lot: &Lot, now: UtcSeconds) -> Result<()> {
    let query = sqlx::query(
        "INSERT INTO lot (id, crop, flush_id, picked_on, ready_on, keeps_until, picked_g, left_g, made_at,
         keeps_cold) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $6)",
    );
    let query = query.bind(lot.id.get()).bind(lot.crop.clone()).bind(lot.flush_id.map(Id::get));
    let query = query.bind(lot.picked_on.to_string()).bind(lot.ready_on.to_string());
    let query = query.bind(lot.keeps_until.to_string()).bind(lot.picked.get()).bind(lot.left.get());
    tx.execute(query.bind(now.get())).await?;
    tx.is_stock_moved = true;
    Ok(())
}

/// Takes `grams` out of a lot (negative: brings them back). The database refuses to go below zero.
pub async fn take_from_lot(tx: &mut Tx, lot_id: Id, grams: Grams, movement: &Movement) -> Result<()> {
    let query = sqlx::query("UPDATE lot SET left_g = left_g - $2 WHERE id = $1");
    tx.execute(query.bind(lot_id.get()).bind(grams.get())).await?;
    let id = tx.new_id(movement.now);
    let query = sqlx::query(
        "INSERT INTO lot_move (id, lot_id, kind, grams, subject, at, person_id) VALUES ($1, $2, $3, $4, $5, $6, $7)",
    );
    let query = query.bind(id.get()).bind(lot_id.get()).bind(word(movement.kind)).bind(grams.get());
    let query = query.bind(movement.subject.map(Id::get)).bind(movement.now.get());
    tx.execute(query.bind(movement.person_id.map(Id::get))).await?;
    tx.is_stock_moved = true;
    Ok(())
}

/// Takes up to `wanted` of a crop, first to expire first, from lots that are good on `on_day`; what was really taken.
pub async fn take(tx: &mut Tx, crop: &str, (wanted, on_day): (Grams, LocalDate), movement: &Movement) -> Result<Grams> {
    let parts = take_parts(tx, crop, (wanted, on_day), movement).await?;
    Ok(parts.into_iter().map(|(_, part)| part).sum())
}

/// The same of what was there on `on_day` already: for what left on an earlier day and is entered later.
pub async fn take_as_of(
    tx: &mut Tx,
    crop: &str,
    (wanted, on_day): (Grams, LocalDate),
    movement: &Movement,
) -> Result<Grams> {
    let mut there = lots(tx).await?;
    there.retain(|lot| lot.picked_on <= on_day);
    let parts = take_from(tx, there, (crop, wanted, on_day), movement).await?;
    Ok(parts.into_iter().map(|(_, part)| part).sum())
}

/// As [`take`], with what was taken out of each lot.
pub async fn take_parts(
    tx: &mut Tx,
    crop: &str,
    (wanted, on_day): (Grams, LocalDate),
    movement: &Movement,
) -> Result<Vec<(Id, Grams)>> {
    let there = lots(tx).await?;
    take_from(tx, there, (crop, wanted, on_day), movement).await
}

async fn take_from(
    tx: &mut Tx,
    lots: Vec<Lot>,
    (crop, wanted, on_day): (&str, Grams, LocalDate),
    movement: &Movement,
) -> Result<Vec<(Id, Grams)>> {
    let mut missing = wanted;
    let mut parts = Vec::new();
    for lot in lots {
        let part = lot.left.at_most(missing);
        if lot.crop != crop || lot.keeps_until < on_day || !part.is_positive() {
            continue;
        }
        take_from_lot(tx, lot.id, part, movement).await?;
        missing -= part;
        parts.push((lot.id, part));
    }
    Ok(parts)
}

/// What of a crop went to the market since `since` and has not come back, by lot, the last to expire first.
pub async fn at_market(tx: &mut Tx, crop: &str, since: UtcSeconds) -> Result<Vec<(Id, Grams)>> {
    let query = sqlx::query(
        "SELECT lot.id AS id, CAST(SUM(lot_move.grams) AS BIGINT) AS grams
         FROM lot_move JOIN lot ON lot.id = lot_move.lot_id
         WHERE lot.crop = $1 AND lot_move.at >= $2 AND lot_move.kind IN ('market', 'returned')
         GROUP BY lot.id, lot.keeps_until ORDER BY lot.keeps_until DESC, lot.id DESC",
    );
    let rows = tx.all(query.bind(crop.to_owned()).bind(since.get())).await?;
    rows.iter().map(|row| Ok((row.id("id")?, row.grams("grams")?))).collect()
}

/// What went to the market and, as a negative weight, came back, in order of time.
pub async fn carried(tx: &mut Tx, since: UtcSeconds) -> Result<Vec<Carried>> {
    let query = sqlx::query(
        "SELECT lot.crop AS crop, lot_move.at AS at, lot_move.grams AS grams
         FROM lot_move JOIN lot ON lot.id = lot_move.lot_id
         WHERE lot_move.at >= $1 AND lot_move.kind IN ('market', 'returned') ORDER BY lot_move.at, lot_move.id",
    );
    let rows = tx.all(query.bind(since.get())).await?;
    rows.iter()
        .map(|row| Ok(Carried { crop: row.text("crop")?, at: row.instant("at")?, grams: row.grams("grams")? }))
        .collect()
}

/// Brings up to `grams` of what left for the movement's kind and subject back to the lots it came from, the newest
/// first; what was really brought back.
pub async fn put_back(tx: &mut Tx, grams: Grams, movement: &Movement) -> Result<Grams> {
    let query = sqlx::query(
        "SELECT lot_id, CAST(SUM(grams) AS BIGINT) AS grams FROM lot_move WHERE kind = $1 AND subject = $2
         GROUP BY lot_id ORDER BY lot_id DESC",
    );
    let rows = tx.all(query.bind(word(movement.kind)).bind(movement.subject.map(Id::get))).await?;
    let mut back = Grams::ZERO;
    for row in rows {
        let part = row.grams("grams")?.at_most(grams - back);
        if part.is_positive() {
            take_from_lot(tx, row.id("lot_id")?, -part, movement).await?;
            back += part;
        }
    }
    Ok(back)
}

/// Every movement from `since` on and before `until`: when, of which kind, and how much, in the order it was made.
pub async fn moves_between(
    tx: &mut Tx,
    since: UtcSeconds,
    until: UtcSeconds,
) -> Result<Vec<(UtcSeconds, MoveKind, Grams)>> {
    let query = sqlx::query("SELECT at, kind, grams FROM lot_move WHERE at >= $1 AND at < $2 ORDER BY at, id");
    let rows = tx.all(query.bind(since.get()).bind(until.get())).await?;
    rows.iter().map(|row| Ok((row.instant("at")?, row.word("kind")?, row.grams("grams")?))).collect()
}

/// What left the cold room or came back without anybody having said so: the kind and what it was for.
pub async fn moved_by_nobody(tx: &mut Tx) -> Result<Vec<(MoveKind, Option<Id>)>> {
    let query = sqlx::query("SELECT kind, subject FROM lot_move WHERE person_id IS NULL ORDER BY id");
    tx.all(query).await?.iter().map(|row| Ok((row.word("kind")?, row.id_opt("subject")?))).collect()
}

/// Grams moved by kind and crop since the beginning.
pub async fn moved(tx: &mut Tx) -> Result<Vec<(String, MoveKind, Grams)>> {
    let query = sqlx::query(
        "SELECT lot.crop AS crop, lot_move.kind AS kind, CAST(SUM(lot_move.grams) AS BIGINT) AS grams
         FROM lot_move JOIN lot ON lot.id = lot_move.lot_id GROUP BY lot.crop, lot_move.kind ORDER BY lot.crop, lot_move.kind",
    );
    let rows = tx.all(query).await?;
    rows.iter().map(|row| Ok((row.text("crop")?, row.word("kind")?, row.grams("grams")?))).collect()
}

/// Grams ever picked by crop.
pub async fn picked(tx: &mut Tx) -> Result<Vec<(String, Grams)>> {
    let query = sqlx::query("SELECT crop, CAST(SUM(picked_g) AS BIGINT) AS grams FROM lot GROUP BY crop ORDER BY crop");
    let rows = tx.all(query).await?;
    rows.iter().map(|row| Ok((row.text("crop")?, row.grams("grams")?))).collect()
}
