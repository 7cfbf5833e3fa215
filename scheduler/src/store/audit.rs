//! Questions that find a broken invariant in a real database.

use super::row::Columns;
use super::{Result, Tx};
use crate::id::Id;
use crate::quantity::Grams;

/// A lot whose weight left is not its picked weight less its moves.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Unbalanced {
    pub lot_id: Id,
    pub crop: String,
    pub left: Grams,
    /// What its moves leave of it.
    pub reckoned: Grams,
}

/// Lots that do not balance.
pub async fn unbalanced_lots(tx: &mut Tx) -> Result<Vec<Unbalanced>> {
    let query = sqlx::query(
        "SELECT lot.id AS id, lot.crop AS crop, lot.left_g AS left_g,
                lot.picked_g - CAST(COALESCE(SUM(lot_move.grams), 0) AS BIGINT) AS reckoned_g
         FROM lot LEFT JOIN lot_move ON lot_move.lot_id = lot.id
         GROUP BY lot.id, lot.crop, lot.left_g, lot.picked_g
         HAVING lot.left_g <> lot.picked_g - CAST(COALESCE(SUM(lot_move.grams), 0) AS BIGINT) ORDER BY lot.id",
    );
    let rows = tx.all(query).await?;
    rows.iter()
        .map(|row| {
            Ok(Unbalanced {
                lot_id: row.id("id")?,
                crop: row.text("crop")?,
                left: row.grams("left_g")?,
                reckoned: row.grams("reckoned_g")?,
            })
        })
        .collect()
}

/// Crop keys that anything in the database speaks of.
pub async fn crops_spoken_of(tx: &mut Tx) -> Result<Vec<String>> {
    let query = sqlx::query(
        "SELECT crop FROM batch UNION SELECT crop FROM lot UNION SELECT crop FROM standing UNION SELECT crop FROM order_line
         UNION SELECT crop FROM award ORDER BY crop",
    );
    tx.all(query).await?.iter().map(|row| row.text("crop")).collect()
}

/// Occurrences that were missed, newest first: job and due instant.
pub async fn missed_occurrences(tx: &mut Tx, most: i64) -> Result<Vec<(String, crate::clock::UtcSeconds)>> {
    let query = sqlx::query(
        "SELECT job, due_at FROM occurrence WHERE outcome = 'missed' ORDER BY due_at DESC, key DESC LIMIT $1",
    );
    let rows = tx.all(query.bind(most)).await?;
    rows.iter().map(|row| Ok((row.text("job")?, row.instant("due_at")?))).collect()
}
