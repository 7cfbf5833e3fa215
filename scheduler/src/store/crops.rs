//! What the keeper said of crops by chat.

use super::row::{Columns, json};
use super::{Error, Result, Tx};
use crate::clock::UtcSeconds;
use crate::crop::CropKey;
use crate::harvest::crop_changes::Changes;

/// One crop that something was said of.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Said {
    pub key: CropKey,
    /// The crop it grows like, where it was added by chat.
    pub grows_like: Option<CropKey>,
    pub changes: Changes,
    /// Since when no new orders are taken for it.
    pub resting_since: Option<UtcSeconds>,
}

/// Everything said, the crop first spoken of first.
pub async fn all(tx: &mut Tx) -> Result<Vec<Said>> {
    let rows =
        tx.all(sqlx::query("SELECT key, grows_like, changes, resting_since FROM crop ORDER BY added_at, key")).await?;
    let key = |text: String| text.parse().map_err(|_| Error::malformed("key", text));
    rows.iter()
        .map(|row| {
            Ok(Said {
                key: key(row.text("key")?)?,
                grows_like: row.text_opt("grows_like")?.map(key).transpose()?,
                changes: row.json("changes")?,
                resting_since: row.instant_opt("resting_since")?,
            })
        })
        .collect()
}

/// Writes down what is said of a crop, in place of what was said before.
pub async fn put(tx: &mut Tx, said: &Said, now: UtcSeconds) -> Result<()> {
    let query = sqlx::query(
        "INSERT INTO crop (key, grows_like, changes, resting_since, added_at) VALUES ($1, $2, $3, $4, $5)
         ON CONFLICT (key) DO UPDATE SET changes = excluded.changes, resting_since = excluded.resting_since",
    );
    let query = query.bind(said.key.to_string()).bind(said.grows_like.map(|key| key.to_string()));
    let query = query.bind(json(&said.changes)).bind(said.resting_since.map(UtcSeconds::get)).bind(now.get());
    tx.execute(query).await?;
    Ok(())
}
