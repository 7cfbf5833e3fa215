//! What is kept for the market, what is offered to buyers, and what they took.

use super::row::Columns;
use super::{Result, Tx};
use crate::clock::{LocalDate, UtcSeconds};
use crate::id::Id;
use crate::money::Cents;
use crate::quantity::Grams;
use crate::surplus::claim::{Claim, State, Taking};
use crate::surplus::offer::Offer;
use sqlx::any::AnyRow;

/// Stock kept back for a market day.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MarketHold {
    pub day: LocalDate,
    pub crop: String,
    pub grams: Grams,
}

/// Everything kept for a market day, in order of day and crop.
pub async fn market_holds(tx: &mut Tx) -> Result<Vec<MarketHold>> {
    let query = sqlx::query("SELECT day, crop, grams FROM market_hold WHERE grams > 0 ORDER BY day, crop");
    tx.all(query)
        .await?
        .iter()
        .map(|row| Ok(MarketHold { day: row.day("day")?, crop: row.text("crop")?, grams: row.grams("grams")? }))
        .collect()
}

/// Keeps `hold.grams` more for a market day; a negative weight lets go. The database refuses to go below zero.
pub async fn hold_for_market(tx: &mut Tx, hold: &MarketHold) -> Result<()> {
    let (day, crop) = (hold.day.to_string(), hold.crop.clone());
    let query = sqlx::query("INSERT INTO market_hold (day, crop, grams) VALUES ($1, $2, 0) ON CONFLICT DO NOTHING");
    tx.execute(query.bind(day.clone()).bind(crop.clone())).await?;
    let query = sqlx::query("UPDATE market_hold SET grams = grams + $3 WHERE day = $1 AND crop = $2");
    tx.execute(query.bind(day).bind(crop).bind(hold.grams.get())).await?;
    Ok(())
}

const OFFER: &str = "SELECT id, crop, grams, left_g, least_g, price_cents_per_kg, made_at, deadline, collect_until,
     closed_at FROM offer";

fn offer(row: &AnyRow) -> Result<Offer> {
    let crop = row.text("crop")?;
    let mut one = Offer::open(row.id("id")?, &crop, row.grams("grams")?, row.instant("made_at")?);
    one.left = row.grams("left_g")?;
    one.least = row.grams("least_g")?;
    one.price_per_kilogram = row.integer_opt("price_cents_per_kg")?.map(Cents::new);
    one.deadline = row.instant("deadline")?;
    one.collect_until = row.instant("collect_until")?;
    Ok(one.closed(row.instant_opt("closed_at")?))
}

/// Stores an offer, new or changed. The database refuses less than nothing left.
pub async fn put_offer(tx: &mut Tx, offer: &Offer) -> Result<()> {
    let query = sqlx::query(
        "INSERT INTO offer (id, crop, grams, left_g, least_g, price_cents_per_kg, made_at, deadline, collect_until,
         closed_at) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)
         ON CONFLICT (id) DO UPDATE SET grams = excluded.grams, left_g = excluded.left_g,
         deadline = excluded.deadline, closed_at = excluded.closed_at",
    );
    let query = query.bind(offer.id.get()).bind(offer.crop.clone()).bind(offer.offered.get()).bind(offer.left.get());
    let query = query.bind(offer.least.get()).bind(offer.price_per_kilogram.map(Cents::get));
    let query = query.bind(offer.made_at.get()).bind(offer.deadline.get()).bind(offer.collect_until.get());
    tx.execute(query.bind(offer.closed_at().map(UtcSeconds::get))).await?;
    Ok(())
}

/// The offer with this identifier.
pub async fn offer_by_id(tx: &mut Tx, id: Id) -> Result<Option<Offer>> {
    let text = format!("{OFFER} WHERE id = $1");
    let row = tx.optional(sqlx::query(sqlx::AssertSqlSafe(text)).bind(id.get())).await?;
    row.as_ref().map(offer).transpose()
}

/// Every offer, oldest first.
pub async fn offers(tx: &mut Tx) -> Result<Vec<Offer>> {
    let text = format!("{OFFER} ORDER BY id");
    tx.all(sqlx::query(sqlx::AssertSqlSafe(text))).await?.iter().map(offer).collect()
}

/// Offers that are not closed, oldest first.
pub async fn open_offers(tx: &mut Tx) -> Result<Vec<Offer>> {
    let text = format!("{OFFER} WHERE closed_at IS NULL ORDER BY id");
    tx.all(sqlx::query(sqlx::AssertSqlSafe(text))).await?.iter().map(offer).collect()
}

/// Notes that a buyer was asked.
pub async fn ask_buyer(tx: &mut Tx, offer_id: Id, buyer_id: Id, now: UtcSeconds) -> Result<()> {
    let query = sqlx::query(
        "INSERT INTO offer_buyer (offer_id, buyer_id, asked_at) VALUES ($1, $2, $3) ON CONFLICT DO NOTHING",
    );
    tx.execute(query.bind(offer_id.get()).bind(buyer_id.get()).bind(now.get())).await?;
    Ok(())
}

/// The buyers asked, and whether each has said no.
pub async fn asked_buyers(tx: &mut Tx, offer_id: Id) -> Result<Vec<(Id, Option<UtcSeconds>)>> {
    let query = sqlx::query("SELECT buyer_id, declined_at FROM offer_buyer WHERE offer_id = $1 ORDER BY buyer_id");
    let rows = tx.all(query.bind(offer_id.get())).await?;
    rows.iter().map(|row| Ok((row.id("buyer_id")?, row.instant_opt("declined_at")?))).collect()
}

/// Notes that a buyer wants none of it, or with `None` that it may be asked again.
pub async fn set_declined(tx: &mut Tx, offer_id: Id, buyer_id: Id, at: Option<UtcSeconds>) -> Result<()> {
    let query = sqlx::query("UPDATE offer_buyer SET declined_at = $3 WHERE offer_id = $1 AND buyer_id = $2");
    tx.execute(query.bind(offer_id.get()).bind(buyer_id.get()).bind(at.map(UtcSeconds::get))).await?;
    Ok(())
}

/// Stores a new claim.
pub async fn add_claim(tx: &mut Tx, claim: &Claim, person_id: Option<Id>) -> Result<()> {
    let query = sqlx::query(
        "INSERT INTO offer_claim (id, offer_id, buyer_id, grams, at, person_id, goes_on)
         VALUES ($1, $2, $3, $4, $5, $6, $7)",
    );
    let query = query.bind(claim.id.get()).bind(claim.offer_id.get()).bind(claim.buyer_id.get());
    let query = query.bind(claim.grams.get()).bind(claim.at.get()).bind(person_id.map(Id::get));
    let query = query.bind(claim.goes_on().map(|day| day.to_string()));
    tx.execute(query).await?;
    Ok(())
}

/// Stores the state of a claim. What it went along with stays on record once it is collected or given back.
pub async fn put_state(tx: &mut Tx, claim: &Claim) -> Result<()> {
    let query = match claim.state() {
        State::Waits(day) => {
            let query = sqlx::query("UPDATE offer_claim SET goes_on = $2 WHERE id = $1").bind(claim.id.get());
            query.bind(day.map(|day| day.to_string()))
        }
        State::InLine { day, award_id } => {
            let query = sqlx::query("UPDATE offer_claim SET goes_on = $2, award_id = $3 WHERE id = $1");
            query.bind(claim.id.get()).bind(day.to_string()).bind(award_id.get())
        }
        State::Collected(at) => {
            let query = sqlx::query("UPDATE offer_claim SET collected_at = $2, assumed = $3 WHERE id = $1");
            query.bind(claim.id.get()).bind(at.get()).bind(i64::from(claim.is_assumed))
        }
        State::GivenBack(at) => {
            let query = sqlx::query(
                "UPDATE offer_claim SET given_back_at = $2, collected_at = NULL, assumed = 0 WHERE id = $1",
            );
            query.bind(claim.id.get()).bind(at.get())
        }
    };
    tx.execute(query).await?;
    Ok(())
}

const CLAIM: &str = "SELECT offer_claim.id AS claim_id, buyer_id, offer_claim.grams AS claimed_g, at, goes_on, award_id,
     collected_at, given_back_at, assumed, offer.id AS id, crop, offer.grams AS grams, left_g, least_g, price_cents_per_kg, made_at,
     deadline, collect_until, closed_at FROM offer_claim JOIN offer ON offer.id = offer_claim.offer_id";

fn claim(row: &AnyRow) -> Result<Claim> {
    let goes_on = row.day_opt("goes_on")?;
    let taking =
        Taking { id: row.id("claim_id")?, buyer_id: row.id("buyer_id")?, grams: row.grams("claimed_g")?, goes_on };
    let line = goes_on.zip(row.id_opt("award_id")?);
    let state = match (row.instant_opt("given_back_at")?, row.instant_opt("collected_at")?, line) {
        (Some(at), ..) => State::GivenBack(at),
        (None, Some(at), _) => State::Collected(at),
        (None, None, Some((day, award_id))) => State::InLine { day, award_id },
        (None, None, None) => State::Waits(goes_on),
    };
    let claim = Claim::of(&offer(row)?, taking, row.instant("at")?).in_state(state);
    Ok(claim.with_assumed(row.integer("assumed")? != 0))
}

/// The claim with this identifier.
pub async fn claim_by_id(tx: &mut Tx, id: Id) -> Result<Option<Claim>> {
    let text = format!("{CLAIM} WHERE offer_claim.id = $1");
    let row = tx.optional(sqlx::query(sqlx::AssertSqlSafe(text)).bind(id.get())).await?;
    row.as_ref().map(claim).transpose()
}

/// Everything taken of an offer, oldest first, also what was given back.
pub async fn claims_of(tx: &mut Tx, offer_id: Id) -> Result<Vec<Claim>> {
    let text = format!("{CLAIM} WHERE offer_id = $1 ORDER BY offer_claim.id");
    let rows = tx.all(sqlx::query(sqlx::AssertSqlSafe(text)).bind(offer_id.get())).await?;
    rows.iter().map(claim).collect()
}

/// Everything taken that still waits in the cold room by itself.
pub async fn claims_waiting(tx: &mut Tx) -> Result<Vec<Claim>> {
    let text = format!(
        "{CLAIM} WHERE collected_at IS NULL AND given_back_at IS NULL AND award_id IS NULL
         ORDER BY offer_claim.id"
    );
    tx.all(sqlx::query(sqlx::AssertSqlSafe(text))).await?.iter().map(claim).collect()
}

/// How one buyer answered an offer that is over.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Answered {
    pub buyer_id: Id,
    pub crop: String,
    pub asked_at: UtcSeconds,
    pub ended_at: UtcSeconds,
    pub price_per_kilogram: Option<Cents>,
    /// What nobody had taken at the end.
    pub left: Grams,
    pub has_declined: bool,
    /// What this buyer took and kept.
    pub taken: Grams,
}

/// How buyers answered the offers that were made since `since` and are over, oldest first.
pub async fn answered(tx: &mut Tx, since: UtcSeconds) -> Result<Vec<Answered>> {
    let query = sqlx::query(
        "SELECT offer_buyer.buyer_id AS buyer_id, crop, asked_at, closed_at, price_cents_per_kg, left_g, declined_at,
         CAST(COALESCE((SELECT SUM(offer_claim.grams) FROM offer_claim WHERE offer_claim.offer_id = offer.id
             AND offer_claim.buyer_id = offer_buyer.buyer_id AND given_back_at IS NULL), 0) AS BIGINT) AS taken_g
         FROM offer_buyer JOIN offer ON offer.id = offer_buyer.offer_id
         WHERE closed_at IS NOT NULL AND made_at >= $1 ORDER BY offer.id, offer_buyer.buyer_id",
    );
    let rows = tx.all(query.bind(since.get())).await?;
    rows.iter()
        .map(|row| {
            Ok(Answered {
                buyer_id: row.id("buyer_id")?,
                crop: row.text("crop")?,
                asked_at: row.instant("asked_at")?,
                ended_at: row.instant("closed_at")?,
                price_per_kilogram: row.integer_opt("price_cents_per_kg")?.map(Cents::new),
                left: row.grams("left_g")?,
                has_declined: row.instant_opt("declined_at")?.is_some(),
                taken: row.grams("taken_g")?,
            })
        })
        .collect()
}

/// When each buyer last took something of an offer.
pub async fn last_served(tx: &mut Tx) -> Result<Vec<(Id, UtcSeconds)>> {
    let query = sqlx::query(
        "SELECT buyer_id, MAX(at) AS at FROM offer_claim WHERE given_back_at IS NULL GROUP BY buyer_id ORDER BY buyer_id",
    );
    let rows = tx.all(query).await?;
    rows.iter().map(|row| Ok((row.id("buyer_id")?, row.instant("at")?))).collect()
}
