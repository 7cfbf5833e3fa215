//! What the farm wants done by itself with what is left.

use super::row::Columns;
use super::{Error, Result, Tx};
use crate::clock::UtcSeconds;
use crate::id::Id;
use crate::surplus::rule::Rule;
use chrono::Weekday;

/// The rules that hold, in the order they were made.
pub async fn rules(tx: &mut Tx) -> Result<Vec<Rule>> {
    let query = sqlx::query("SELECT id, crop, weekday, minute FROM surplus_rule WHERE ended_at IS NULL ORDER BY id");
    let rows = tx.all(query).await?;
    rows.iter()
        .map(|row| {
            let (weekday, minute) = (row.integer("weekday")?, row.integer("minute")?);
            let day = u8::try_from(weekday).ok().and_then(|number| Weekday::try_from(number).ok());
            let (weekday, minute) = day
                .zip(u16::try_from(minute).ok())
                .ok_or_else(|| Error::malformed("surplus_rule", format!("{weekday} {minute}")))?;
            Ok(Rule { id: row.id("id")?, crop: row.text_opt("crop")?, weekday, minute })
        })
        .collect()
}

/// Puts a rule in place of the one there is for its crop, or for all crops.
pub async fn put_rule(tx: &mut Tx, rule: &Rule, (now, made_by): (UtcSeconds, Id)) -> Result<()> {
    for before in rules(tx).await?.into_iter().filter(|before| before.crop == rule.crop) {
        end_rule(tx, before.id, now).await?;
    }
    let query = sqlx::query(
        "INSERT INTO surplus_rule (id, crop, weekday, minute, made_at, made_by) VALUES ($1, $2, $3, $4, $5, $6)",
    );
    let query = query.bind(rule.id.get()).bind(rule.crop.clone()).bind(i64::from(rule.weekday.num_days_from_monday()));
    tx.execute(query.bind(i64::from(rule.minute)).bind(now.get()).bind(made_by.get())).await?;
    Ok(())
}

/// Ends a rule; `false` when it had ended before.
pub async fn end_rule(tx: &mut Tx, id: Id, now: UtcSeconds) -> Result<bool> {
    let query = sqlx::query("UPDATE surplus_rule SET ended_at = $2 WHERE id = $1 AND ended_at IS NULL");
    Ok(tx.execute(query.bind(id.get()).bind(now.get())).await? == 1)
}
