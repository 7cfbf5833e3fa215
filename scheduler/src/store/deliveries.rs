//! Delivery days once their orders are closed: what was promised, why, and what really went out.

use super::row::{Columns, word};
use super::{Result, Tx};
use crate::clock::{LocalDate, UtcSeconds};
pub use crate::delivery::award::{Award, Source, State, Why};
use crate::id::Id;
use crate::quantity::Grams;
use sqlx::any::AnyRow;

/// A delivery day whose orders are closed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Closed {
    pub day: LocalDate,
    pub closed_at: UtcSeconds,
    /// Seed of the forecast's draws.
    pub seed: i64,
    /// Buyers may answer a shortage until then.
    pub answers_by: UtcSeconds,
    pub settled_at: Option<UtcSeconds>,
    /// The morning's stock was shared; from then until it is packed, stock that changes is shared again.
    pub shared_at: Option<UtcSeconds>,
    pub packed_at: Option<UtcSeconds>,
    /// The van had left before anybody said that it was packed.
    pub is_packing_assumed: bool,
    pub delivered_at: Option<UtcSeconds>,
}

/// What the family was told to expect of a crop when orders closed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Expected {
    pub day: LocalDate,
    pub crop: String,
    pub p10: Grams,
    pub p50: Grams,
    pub p90: Grams,
    /// What could be promised at the farm's level.
    pub promise: Grams,
}

const CLOSED: &str = "SELECT day, closed_at, seed, answers_by, settled_at, shared_at, packed_at, packed_assumed,
     delivered_at FROM delivery";

fn closed(row: &AnyRow) -> Result<Closed> {
    Ok(Closed {
        day: row.day("day")?,
        closed_at: row.instant("closed_at")?,
        seed: row.integer("seed")?,
        answers_by: row.instant("answers_by")?,
        settled_at: row.instant_opt("settled_at")?,
        shared_at: row.instant_opt("shared_at")?,
        packed_at: row.instant_opt("packed_at")?,
        is_packing_assumed: row.integer("packed_assumed")? != 0,
        delivered_at: row.instant_opt("delivered_at")?,
    })
}

/// The delivery day, if its orders are closed.
pub async fn on(tx: &mut Tx, day: LocalDate) -> Result<Option<Closed>> {
    let text = format!("{CLOSED} WHERE day = $1");
    let row = tx.optional(sqlx::query(sqlx::AssertSqlSafe(text)).bind(day.to_string())).await?;
    row.as_ref().map(closed).transpose()
}

/// Closed deliveries from `day` on, in order.
pub async fn from(tx: &mut Tx, day: LocalDate) -> Result<Vec<Closed>> {
    let text = format!("{CLOSED} WHERE day >= $1 ORDER BY day");
    let rows = tx.all(sqlx::query(sqlx::AssertSqlSafe(text)).bind(day.to_string())).await?;
    rows.iter().map(closed).collect()
}

/// Stores that a day's orders are closed.
pub async fn close(tx: &mut Tx, closed: &Closed) -> Result<()> {
    let query = sqlx::query("INSERT INTO delivery (day, closed_at, seed, answers_by) VALUES ($1, $2, $3, $4)");
    let query = query.bind(closed.day.to_string()).bind(closed.closed_at.get()).bind(closed.seed);
    tx.execute(query.bind(closed.answers_by.get())).await?;
    Ok(())
}

/// Another end of the time for answers.
pub async fn set_answers_by(tx: &mut Tx, day: LocalDate, answers_by: UtcSeconds) -> Result<()> {
    let query = sqlx::query("UPDATE delivery SET answers_by = $2 WHERE day = $1");
    tx.execute(query.bind(day.to_string()).bind(answers_by.get())).await?;
    Ok(())
}

/// Marks that every buyer has answered or been taken as silent.
pub async fn mark_settled(tx: &mut Tx, day: LocalDate, now: UtcSeconds) -> Result<()> {
    let query = sqlx::query("UPDATE delivery SET settled_at = $2 WHERE day = $1 AND settled_at IS NULL");
    tx.execute(query.bind(day.to_string()).bind(now.get())).await?;
    Ok(())
}

/// Marks that the morning's stock was shared among the day's lines.
pub async fn mark_shared(tx: &mut Tx, day: LocalDate, now: UtcSeconds) -> Result<()> {
    let query = sqlx::query("UPDATE delivery SET shared_at = $2 WHERE day = $1 AND shared_at IS NULL");
    tx.execute(query.bind(day.to_string()).bind(now.get())).await?;
    Ok(())
}

/// Marks that the day's crates are packed; `is_assumed` where nobody has said so.
pub async fn mark_packed(tx: &mut Tx, day: LocalDate, (now, is_assumed): (UtcSeconds, bool)) -> Result<()> {
    let query = sqlx::query(
        "UPDATE delivery SET packed_at = COALESCE(packed_at, $2),
         packed_assumed = CASE WHEN packed_at IS NULL THEN $3 ELSE packed_assumed * $3 END WHERE day = $1",
    );
    tx.execute(query.bind(day.to_string()).bind(now.get()).bind(i64::from(is_assumed))).await?;
    Ok(())
}

/// Marks that the day's run is over.
pub async fn mark_delivered(tx: &mut Tx, day: LocalDate, now: UtcSeconds) -> Result<()> {
    let query = sqlx::query("UPDATE delivery SET delivered_at = $2 WHERE day = $1 AND delivered_at IS NULL");
    tx.execute(query.bind(day.to_string()).bind(now.get())).await?;
    Ok(())
}

const AWARD: &str = "SELECT id, buyer_id, day, crop, source, asked_g, promised_g, delivered_g, assumed, state
     FROM award";

fn award(row: &AnyRow) -> Result<Award> {
    Ok(Award {
        id: row.id("id")?,
        buyer_id: row.id("buyer_id")?,
        day: row.day("day")?,
        crop: row.text("crop")?,
        source: row.word("source")?,
        asked: row.grams("asked_g")?,
        promised: row.grams("promised_g")?,
        delivered: row.grams_opt("delivered_g")?,
        is_assumed: row.integer("assumed")? != 0,
        state: row.word("state")?,
    })
}

/// Every award of a delivery day.
pub async fn awards_on(tx: &mut Tx, day: LocalDate) -> Result<Vec<Award>> {
    let text = format!("{AWARD} WHERE day = $1 ORDER BY buyer_id, crop, source");
    let rows = tx.all(sqlx::query(sqlx::AssertSqlSafe(text)).bind(day.to_string())).await?;
    rows.iter().map(award).collect()
}

/// Awards that are promised and have not gone out.
pub async fn awards_owed(tx: &mut Tx) -> Result<Vec<Award>> {
    let text = format!("{AWARD} WHERE delivered_g IS NULL AND promised_g > 0 ORDER BY day, buyer_id, crop, source");
    let rows = tx.all(sqlx::query(sqlx::AssertSqlSafe(text))).await?;
    rows.iter().map(award).collect()
}

/// The award with this identifier.
pub async fn award_by_id(tx: &mut Tx, id: Id) -> Result<Option<Award>> {
    let text = format!("{AWARD} WHERE id = $1");
    let row = tx.optional(sqlx::query(sqlx::AssertSqlSafe(text)).bind(id.get())).await?;
    row.as_ref().map(award).transpose()
}

/// A restaurant's awards from a day on.
pub async fn awards_of_buyer(tx: &mut Tx, buyer_id: Id, from: LocalDate) -> Result<Vec<Award>> {
    let text = format!("{AWARD} WHERE buyer_id = $1 AND day >= $2 ORDER BY day, crop, source");
    let query = sqlx::query(sqlx::AssertSqlSafe(text)).bind(buyer_id.get()).bind(from.to_string());
    tx.all(query).await?.iter().map(award).collect()
}

/// Stores an award, new or changed, and why it is so.
pub async fn put_award(tx: &mut Tx, award: &Award, (why, person_id): (Why, Option<Id>), now: UtcSeconds) -> Result<()> {
    let query = sqlx::query(
        "INSERT INTO award (id, buyer_id, day, crop, source, asked_g, promised_g, delivered_g, state, assumed)
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)
         ON CONFLICT (id) DO UPDATE SET asked_g = excluded.asked_g, promised_g = excluded.promised_g,
         delivered_g = excluded.delivered_g, state = excluded.state, assumed = excluded.assumed",
    );
    let query = query.bind(award.id.get()).bind(award.buyer_id.get()).bind(award.day.to_string());
    let query = query.bind(award.crop.clone()).bind(word(award.source)).bind(award.asked.get());
    let query = query.bind(award.promised.get()).bind(award.delivered.map(Grams::get)).bind(word(award.state));
    tx.execute(query.bind(i64::from(award.is_assumed))).await?;
    let event_id = tx.new_id(now);
    let query = sqlx::query(
        "INSERT INTO award_event (id, award_id, at, promised_g, why, person_id) VALUES ($1, $2, $3, $4, $5, $6)",
    );
    let query = query.bind(event_id.get()).bind(award.id.get()).bind(now.get()).bind(award.promised.get());
    tx.execute(query.bind(word(why)).bind(person_id.map(Id::get))).await?;
    Ok(())
}

/// Runs that ended, the newest first: the day and when, of those whose end somebody said.
pub async fn ended_runs(tx: &mut Tx, count: i64) -> Result<Vec<(LocalDate, UtcSeconds)>> {
    let query = sqlx::query(
        "SELECT day, delivered_at FROM delivery WHERE delivered_at IS NOT NULL
         AND NOT EXISTS (SELECT 1 FROM award WHERE award.day = delivery.day AND award.assumed <> 0)
         ORDER BY day DESC LIMIT $1",
    );
    let rows = tx.all(query.bind(count)).await?;
    rows.iter().map(|row| Ok((row.day("day")?, row.instant("delivered_at")?))).collect()
}

/// Why an award became what it is, oldest first.
pub async fn history_of(tx: &mut Tx, award_id: Id) -> Result<Vec<(UtcSeconds, Grams, Why)>> {
    let query = sqlx::query("SELECT at, promised_g, why FROM award_event WHERE award_id = $1 ORDER BY id");
    let rows = tx.all(query.bind(award_id.get())).await?;
    rows.iter().map(|row| Ok((row.instant("at")?, row.grams("promised_g")?, row.word("why")?))).collect()
}

/// Keeps what the family was told to expect.
pub async fn record_expected(tx: &mut Tx, expected: &Expected, now: UtcSeconds) -> Result<()> {
    let query = sqlx::query(
        "INSERT INTO forecast_record (day, crop, made_at, p10_g, p50_g, p90_g, promise_g)
         VALUES ($1, $2, $3, $4, $5, $6, $7) ON CONFLICT (day, crop) DO NOTHING",
    );
    let query = query.bind(expected.day.to_string()).bind(expected.crop.clone()).bind(now.get());
    let query = query.bind(expected.p10.get()).bind(expected.p50.get()).bind(expected.p90.get());
    tx.execute(query.bind(expected.promise.get())).await?;
    Ok(())
}

/// Keeps the chance, 0 to 1, that every promise of the day holds, to the thousandth.
pub async fn record_chance(tx: &mut Tx, day: LocalDate, chance: f64) -> Result<()> {
    let query = sqlx::query("UPDATE delivery SET holds_permille = $2 WHERE day = $1");
    let permille = (chance * 1000.0).round() as i64;
    tx.execute(query.bind(day.to_string()).bind(permille.clamp(0, 1000))).await?;
    Ok(())
}

/// The chance, 0 to 1, that every promise of the day holds, as reckoned when its orders closed.
pub async fn chance_on(tx: &mut Tx, day: LocalDate) -> Result<Option<f64>> {
    let query = sqlx::query("SELECT holds_permille FROM delivery WHERE day = $1").bind(day.to_string());
    let row = tx.optional(query).await?;
    let permille = row.as_ref().map(|row| row.integer_opt("holds_permille")).transpose()?.flatten();
    Ok(permille.map(|permille| permille as f64 / 1000.0))
}

/// Awards of delivery days from `from` to `to`, both included.
pub async fn awards_between(tx: &mut Tx, from: LocalDate, to: LocalDate) -> Result<Vec<Award>> {
    let text = format!("{AWARD} WHERE day >= $1 AND day <= $2 ORDER BY day, buyer_id, crop, source");
    let query = sqlx::query(sqlx::AssertSqlSafe(text)).bind(from.to_string()).bind(to.to_string());
    tx.all(query).await?.iter().map(award).collect()
}

/// Every award there ever was.
pub async fn all_awards(tx: &mut Tx) -> Result<Vec<Award>> {
    let text = format!("{AWARD} ORDER BY day, buyer_id, crop, source");
    tx.all(sqlx::query(sqlx::AssertSqlSafe(text))).await?.iter().map(award).collect()
}

/// What the family was told to expect for a day.
pub async fn expected_on(tx: &mut Tx, day: LocalDate) -> Result<Vec<Expected>> {
    Ok(all_expected(tx).await?.into_iter().filter(|expected| expected.day == day).collect())
}

/// What the family was told to expect for every day so far.
pub async fn all_expected(tx: &mut Tx) -> Result<Vec<Expected>> {
    let query = sqlx::query("SELECT day, crop, p10_g, p50_g, p90_g, promise_g FROM forecast_record ORDER BY day, crop");
    let rows = tx.all(query).await?;
    rows.iter()
        .map(|row| {
            Ok(Expected {
                day: row.day("day")?,
                crop: row.text("crop")?,
                p10: row.grams("p10_g")?,
                p50: row.grams("p50_g")?,
                p90: row.grams("p90_g")?,
                promise: row.grams("promise_g")?,
            })
        })
        .collect()
}
