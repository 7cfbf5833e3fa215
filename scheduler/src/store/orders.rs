//! Standing orders and one-off lines.

use super::row::Columns;
use super::{Result, Tx};
use crate::clock::{LocalDate, UtcSeconds};
use crate::id::Id;
use crate::planted::{self, Bug};
use crate::quantity::Grams;
use serde::{Deserialize, Serialize};
use sqlx::any::AnyRow;
use std::collections::BTreeMap;

/// A standing order as kept. Its recurrence is text: what somebody else wrote into the database may be malformed, and
/// then only this one order is out of order.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Standing {
    pub id: Id,
    pub buyer_id: Id,
    pub crop: String,
    pub usual: Grams,
    /// RFC 5545 lines.
    pub recurrence: String,
    /// Dates with another weight.
    pub changed: BTreeMap<LocalDate, Grams>,
    /// First day without deliveries, first day with them again.
    pub paused: Option<(LocalDate, LocalDate)>,
}

/// A one-off line: one crop for one delivery day.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OneOff {
    pub buyer_id: Id,
    pub day: LocalDate,
    pub crop: String,
    pub grams: Grams,
}

const STANDING: &str = "SELECT id, buyer_id, crop, grams, recurrence, paused_from, resumes_on FROM standing";

fn standing(row: &AnyRow) -> Result<Standing> {
    Ok(Standing {
        id: row.id("id")?,
        buyer_id: row.id("buyer_id")?,
        crop: row.text("crop")?,
        usual: row.grams("grams")?,
        recurrence: row.text("recurrence")?,
        changed: BTreeMap::new(),
        paused: row.day_opt("paused_from")?.zip(row.day_opt("resumes_on")?),
    })
}

async fn with_changes(tx: &mut Tx, rows: &[AnyRow]) -> Result<Vec<Standing>> {
    let mut orders = rows.iter().map(standing).collect::<Result<Vec<_>>>()?;
    for order in &mut orders {
        let query = sqlx::query("SELECT day, grams FROM standing_change WHERE standing_id = $1");
        for row in tx.all(query.bind(order.id.get())).await? {
            order.changed.insert(row.day("day")?, row.grams("grams")?);
        }
    }
    Ok(orders)
}

/// Every standing order that has not ended.
pub async fn all_standing(tx: &mut Tx) -> Result<Vec<Standing>> {
    let text = format!("{STANDING} WHERE ended_at IS NULL ORDER BY id");
    let rows = tx.all(sqlx::query(sqlx::AssertSqlSafe(text))).await?;
    with_changes(tx, &rows).await
}

/// A restaurant's standing orders that have not ended.
pub async fn standing_of_buyer(tx: &mut Tx, buyer_id: Id) -> Result<Vec<Standing>> {
    let text = format!("{STANDING} WHERE ended_at IS NULL AND buyer_id = $1 ORDER BY id");
    let rows = tx.all(sqlx::query(sqlx::AssertSqlSafe(text)).bind(buyer_id.get())).await?;
    with_changes(tx, &rows).await
}

/// Stores a standing order, new or changed, whole.
pub async fn put_standing(tx: &mut Tx, order: &Standing, (now, made_by): (UtcSeconds, Option<Id>)) -> Result<()> {
    let query = sqlx::query(
        "INSERT INTO standing (id, buyer_id, crop, grams, recurrence, paused_from, resumes_on, made_at, made_by)
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)
         ON CONFLICT (id) DO UPDATE SET grams = excluded.grams, recurrence = excluded.recurrence,
         paused_from = excluded.paused_from, resumes_on = excluded.resumes_on, ended_at = NULL",
    );
    let query = query.bind(order.id.get()).bind(order.buyer_id.get()).bind(order.crop.clone());
    let query = query.bind(order.usual.get()).bind(order.recurrence.clone());
    let query = query.bind(order.paused.map(|(from, _)| from.to_string()));
    let query = query.bind(order.paused.map(|(_, resumes)| resumes.to_string()));
    tx.execute(query.bind(now.get()).bind(made_by.map(Id::get))).await?;
    tx.execute(sqlx::query("DELETE FROM standing_change WHERE standing_id = $1").bind(order.id.get())).await?;
    for (day, grams) in &order.changed {
        let query = sqlx::query("INSERT INTO standing_change (standing_id, day, grams) VALUES ($1, $2, $3)");
        tx.execute(query.bind(order.id.get()).bind(day.to_string()).bind(grams.get())).await?;
    }
    Ok(())
}

/// Ends a standing order for good.
pub async fn end_standing(tx: &mut Tx, id: Id, now: UtcSeconds) -> Result<()> {
    let query = sqlx::query("UPDATE standing SET ended_at = $2 WHERE id = $1 AND ended_at IS NULL");
    tx.execute(query.bind(id.get()).bind(now.get())).await?;
    Ok(())
}

fn one_off(row: &AnyRow) -> Result<OneOff> {
    Ok(OneOff {
        buyer_id: row.id("buyer_id")?,
        day: row.day("day")?,
        crop: row.text("crop")?,
        grams: row.grams("grams")?,
    })
}

/// One-off lines for delivery days from `from` to `to`, both included.
pub async fn one_off_between(tx: &mut Tx, from: LocalDate, to: LocalDate) -> Result<Vec<OneOff>> {
    let query = sqlx::query(
        "SELECT buyer_id, day, crop, grams FROM order_line WHERE day >= $1 AND day <= $2 ORDER BY day, buyer_id, crop",
    );
    tx.all(query.bind(from.to_string()).bind(to.to_string())).await?.iter().map(one_off).collect()
}

/// A restaurant's one-off lines for delivery days from `from` on.
pub async fn one_off_of_buyer(tx: &mut Tx, buyer_id: Id, from: LocalDate) -> Result<Vec<OneOff>> {
    let query = sqlx::query(
        "SELECT buyer_id, day, crop, grams FROM order_line WHERE buyer_id = $1 AND day >= $2 ORDER BY day, crop",
    );
    tx.all(query.bind(buyer_id.get()).bind(from.to_string())).await?.iter().map(one_off).collect()
}

/// Puts a one-off line in place of the buyer's line for that crop and day; zero takes it away.
pub async fn put_one_off(tx: &mut Tx, line: &OneOff, (now, made_by): (UtcSeconds, Option<Id>)) -> Result<()> {
    if planted::is_on(Bug::ForgetOrder) {
        return Ok(());
    }
    if !line.grams.is_positive() {
        let query = sqlx::query("DELETE FROM order_line WHERE buyer_id = $1 AND day = $2 AND crop = $3");
        let query = query.bind(line.buyer_id.get()).bind(line.day.to_string());
        tx.execute(query.bind(line.crop.clone())).await?;
        return Ok(());
    }
    let query = sqlx::query(
        "INSERT INTO order_line (buyer_id, day, crop, grams, made_at, made_by) VALUES ($1, $2, $3, $4, $5, $6)
         ON CONFLICT (buyer_id, day, crop) DO UPDATE SET grams = excluded.grams, made_at = excluded.made_at,
         made_by = excluded.made_by",
    );
    let query = query.bind(line.buyer_id.get()).bind(line.day.to_string()).bind(line.crop.clone());
    tx.execute(query.bind(line.grams.get()).bind(now.get()).bind(made_by.map(Id::get))).await?;
    Ok(())
}

/// Keeps what the buyer's orders were before a change, so that it can be undone once.
pub async fn put_undo(tx: &mut Tx, buyer_id: Id, before: &str, now: UtcSeconds) -> Result<()> {
    let query = sqlx::query(
        "INSERT INTO order_undo (buyer_id, made_at, before) VALUES ($1, $2, $3)
         ON CONFLICT (buyer_id) DO UPDATE SET made_at = excluded.made_at, before = excluded.before",
    );
    tx.execute(query.bind(buyer_id.get()).bind(now.get()).bind(before.to_owned())).await?;
    Ok(())
}

/// Takes what was kept for undoing, with when it was kept.
pub async fn take_undo(tx: &mut Tx, buyer_id: Id) -> Result<Option<(String, UtcSeconds)>> {
    let query = sqlx::query("DELETE FROM order_undo WHERE buyer_id = $1 RETURNING before, made_at");
    let row = tx.optional(query.bind(buyer_id.get())).await?;
    row.map(|row| Ok((row.text("before")?, row.instant("made_at")?))).transpose()
}

/// What is kept for undoing, left where it is, with when it was kept.
pub async fn undo_kept(tx: &mut Tx, buyer_id: Id) -> Result<Option<(String, UtcSeconds)>> {
    let query = sqlx::query("SELECT before, made_at FROM order_undo WHERE buyer_id = $1");
    let row = tx.optional(query.bind(buyer_id.get())).await?;
    row.map(|row| Ok((row.text("before")?, row.instant("made_at")?))).transpose()
}
