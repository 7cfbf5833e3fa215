//! Regular drops to food banks.

use super::row::{Columns, word};
use super::{Result, Tx};
use crate::clock::UtcSeconds;
use crate::id::Id;
use crate::surplus::standing::StandingDrop;
use sqlx::any::AnyRow;

const STANDING_DROP: &str = "SELECT id, partner_id, recurrence, opens_minute, state, proposed_at, agreed_at, ended_at
     FROM standing_drop";

fn standing_drop(row: &AnyRow) -> Result<StandingDrop> {
    let mut one = StandingDrop::proposed(row.id("id")?, row.id("partner_id")?, row.instant("proposed_at")?);
    one.recurrence = row.text("recurrence")?;
    one.opens_minute = u16::try_from(row.integer("opens_minute")?).unwrap_or(u16::MAX);
    one.agreed_at = row.instant_opt("agreed_at")?;
    one.ended_at = row.instant_opt("ended_at")?;
    Ok(one.in_state(row.word("state")?))
}

/// Regular drops proposed or agreed, to food banks that still take gifts, the oldest first.
pub async fn running(tx: &mut Tx) -> Result<Vec<StandingDrop>> {
    let text = format!(
        "{STANDING_DROP} WHERE state IN ('proposed', 'agreed')
         AND partner_id IN (SELECT id FROM partner WHERE left_at IS NULL) ORDER BY id"
    );
    tx.all(sqlx::query(sqlx::AssertSqlSafe(text))).await?.iter().map(standing_drop).collect()
}

/// The regular drop with this identifier, also one that is over.
pub async fn by_id(tx: &mut Tx, id: Id) -> Result<Option<StandingDrop>> {
    let text = format!("{STANDING_DROP} WHERE id = $1");
    let row = tx.optional(sqlx::query(sqlx::AssertSqlSafe(text)).bind(id.get())).await?;
    row.as_ref().map(standing_drop).transpose()
}

/// Stores a regular drop, new or changed.
pub async fn put(tx: &mut Tx, one: &StandingDrop) -> Result<()> {
    let query = sqlx::query(
        "INSERT INTO standing_drop (id, partner_id, recurrence, opens_minute, state, proposed_at, agreed_at, ended_at)
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8)
         ON CONFLICT (id) DO UPDATE SET recurrence = excluded.recurrence, opens_minute = excluded.opens_minute,
         state = excluded.state, agreed_at = excluded.agreed_at, ended_at = excluded.ended_at",
    );
    let query = query.bind(one.id.get()).bind(one.partner_id.get()).bind(one.recurrence.clone());
    let query = query.bind(i64::from(one.opens_minute)).bind(word(one.state())).bind(one.proposed_at.get());
    let query = query.bind(one.agreed_at.map(UtcSeconds::get));
    tx.execute(query.bind(one.ended_at.map(UtcSeconds::get))).await?;
    Ok(())
}
