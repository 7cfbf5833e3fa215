//! What is wrong with a database, and how to mend it. [`examine`] asks everything: the database's own checks and its shape
//! (`shape`), rows that refer to nothing (`orphans`), every value (`readable`), and what must hold between rows (`questions`,
//! `stock`). The simulation asks the same questions after each simulated day, through [`faults`].
//!
//! A fault that can be mended without losing anything a person entered carries its own [`Deed`]; [`mend`] does those. All
//! others are only named, for a person has to decide.

mod columns;
mod deed;
mod orphans;
mod questions;
mod readable;
mod shape;
mod stock;
mod timetable;

pub use deed::{Deed, mend};
pub use stock::{TooMuch, promised_beyond_stock};

use super::row::Columns;
use super::{Error, Result, Store, Tx};
use crate::clock::UtcSeconds;
use crate::id::Id;
use crate::quantity::Grams;
use chrono_tz::Tz;

/// Most faults of one kind that are named one by one.
const NAMED_MAX: usize = 20;

/// A broken invariant of the database, and how to mend it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// What is wrong, with the row.
    pub what: String,
    /// What a person does about it, one sentence.
    pub mend: String,
    /// What mends it without a person, where that loses nothing.
    pub by_itself: Option<Deed>,
}

/// What the store keeps for others and cannot read itself.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Form {
    /// A message to be sent.
    Message,
    /// What a button means.
    Intent,
    /// The question a chat was asked.
    Question,
}

/// What an examination goes by.
pub struct Ground<'a> {
    pub now: UtcSeconds,
    /// The farm's zone, in which recurrences are read.
    pub zone: Tz,
    /// Whether a text is a [`Form`] that the program reads.
    pub reads: &'a (dyn Fn(Form, &str) -> bool + Sync),
}

/// Everything that is wrong. A sound database has no fault, whatever happened to the program.
///
/// Each question has a transaction of its own, so that a table that is missing hides nothing else.
///
/// # Errors
/// When the database does not answer at all.
pub async fn examine(store: &Store, ground: &Ground<'_>) -> Result<Vec<Fault>> {
    let expected = shape::expected().await?;
    let mut faults = shape::faults(store, &expected).await?;
    faults.extend(orphans::faults(store, &expected).await?);
    faults.extend(readable::faults(store, &expected, ground).await?);
    for question in questions::ALL {
        let mut tx = store.begin_reading().await?;
        faults.extend(or_unasked(questions::ask(&mut tx, question).await, &faults)?);
    }
    let mut tx = store.begin_reading().await?;
    faults.extend(or_unasked(timetable::faults(&mut tx, ground.now).await, &faults)?);
    let mut tx = store.begin_reading().await?;
    let today = ground.now.local_date(ground.zone);
    faults.extend(or_unasked(stock::faults(&mut tx, (today, ground.zone)).await, &faults)?);
    Ok(faults)
}

/// A question that cannot be asked is a fault of its own, unless one that was found explains it: a table that is missing, or
/// a value that cannot be read.
fn or_unasked(asked: Result<Vec<Fault>>, found: &[Fault]) -> Result<Vec<Fault>> {
    match asked {
        Ok(faults) => Ok(faults),
        Err(Error::Database(sqlx::Error::PoolTimedOut | sqlx::Error::PoolClosed)) => {
            Err(Error::Unopened { why: "it does not answer".into() })
        }
        Err(_) if !found.is_empty() => Ok(Vec::new()),
        Err(error) => Ok(vec![Fault {
            what: format!("a question to the database failed: {error}"),
            mend: "make a copy of the database, and restore the newest backup".into(),
            by_itself: None,
        }]),
    }
}

/// The invariants between rows: what the simulation asks after each day.
///
/// # Errors
/// Whatever the store fails with.
pub async fn faults(tx: &mut Tx) -> Result<Vec<Fault>> {
    let mut faults = Vec::new();
    for question in questions::ALL {
        faults.extend(questions::ask(tx, question).await?);
    }
    Ok(faults)
}

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
         UNION SELECT crop FROM award UNION SELECT crop FROM offer UNION SELECT crop FROM drop_line
         UNION SELECT crop FROM market_hold ORDER BY crop",
    );
    tx.all(query).await?.iter().map(|row| row.text("crop")).collect()
}

/// Occurrences that were missed, newest first: job and due instant.
pub async fn missed_occurrences(tx: &mut Tx, most: i64) -> Result<Vec<(String, UtcSeconds)>> {
    let query = sqlx::query(
        "SELECT job, due_at FROM occurrence WHERE outcome = 'missed' ORDER BY due_at DESC, key DESC LIMIT $1",
    );
    let rows = tx.all(query.bind(most)).await?;
    rows.iter().map(|row| Ok((row.text("job")?, row.instant("due_at")?))).collect()
}

/// The first faults of one kind, and how many more there are.
fn first_of(mut faults: Vec<Fault>) -> Vec<Fault> {
    let more = faults.len().saturating_sub(NAMED_MAX);
    faults.truncate(NAMED_MAX);
    if let Some(last) = faults.last_mut().filter(|_| more > 0) {
        last.what = format!("{} (and {more} more of this kind)", last.what);
    }
    faults
}
