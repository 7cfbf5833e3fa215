//! What is kept for the market, what is offered to buyers, and what they took.

use super::row::Columns;
use super::{Result, Tx};
use crate::clock::{LocalDate, UtcSeconds};
use crate::id::Id;
use crate::money::Cents;
use crate::quantity::Grams;
use sqlx::any::AnyRow;

/// Stock kept back for a market day.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MarketHold {
    pub day: LocalDate,
    pub crop: String,
    pub grams: Grams,
}

/// One offer of one crop to the buyers.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Offer {
    pub id: Id,
    pub crop: String,
    pub offered: Grams,
    pub left: Grams,
    /// The least one may take, unless less is left.
    pub least: Grams,
    pub price_per_kilogram: Option<Cents>,
    pub made_at: UtcSeconds,
    pub deadline: UtcSeconds,
    /// What was taken is collected until then.
    pub collect_until: UtcSeconds,
    pub closed_at: Option<UtcSeconds>,
}

/// What a buyer took of an offer.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Claim {
    pub id: Id,
    pub offer_id: Id,
    pub buyer_id: Id,
    pub crop: String,
    pub grams: Grams,
    pub at: UtcSeconds,
    pub collect_until: UtcSeconds,
    /// The delivery it goes along with; picked up at the farm when there is none.
    pub goes_on: Option<LocalDate>,
    /// The line of that delivery it has become: the stock it needs is that line's from then on.
    pub award_id: Option<Id>,
    pub collected_at: Option<UtcSeconds>,
    pub given_back_at: Option<UtcSeconds>,
}

impl Claim {
    /// Whether its grams wait in the cold room by themselves, not as a delivery's line.
    pub fn waits(&self) -> bool {
        self.collected_at.is_none() && self.given_back_at.is_none() && self.award_id.is_none()
    }
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
    Ok(Offer {
        id: row.id("id")?,
        crop: row.text("crop")?,
        offered: row.grams("grams")?,
        left: row.grams("left_g")?,
        least: row.grams("least_g")?,
        price_per_kilogram: row.integer_opt("price_cents_per_kg")?.map(Cents::new),
        made_at: row.instant("made_at")?,
        deadline: row.instant("deadline")?,
        collect_until: row.instant("collect_until")?,
        closed_at: row.instant_opt("closed_at")?,
    })
}

/// Stores a new offer.
pub async fn add_offer(tx: &mut Tx, offer: &Offer) -> Result<()> {
    let query = sqlx::query(
        "INSERT INTO offer (id, crop, grams, left_g, least_g, price_cents_per_kg, made_at, deadline, collect_until)
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)",
    );
    let query = query.bind(offer.id.get()).bind(offer.crop.clone()).bind(offer.offered.get()).bind(offer.left.get());
    let query = query.bind(offer.least.get()).bind(offer.price_per_kilogram.map(Cents::get));
    let query = query.bind(offer.made_at.get()).bind(offer.deadline.get()).bind(offer.collect_until.get());
    tx.execute(query).await?;
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

/// Closes an offer; `false` when it was closed before.
pub async fn close_offer(tx: &mut Tx, id: Id, now: UtcSeconds) -> Result<bool> {
    let query = sqlx::query("UPDATE offer SET closed_at = $2 WHERE id = $1 AND closed_at IS NULL");
    Ok(tx.execute(query.bind(id.get()).bind(now.get())).await? == 1)
}

/// Takes so much of what nobody has taken off an open offer. The database refuses more than is left.
pub async fn lower_offer(tx: &mut Tx, id: Id, grams: Grams) -> Result<()> {
    let query = sqlx::query("UPDATE offer SET grams = grams - $2, left_g = left_g - $2 WHERE id = $1");
    tx.execute(query.bind(id.get()).bind(grams.get())).await?;
    Ok(())
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

/// Stores a claim and takes its grams off the offer. The database refuses more than is left.
pub async fn add_claim(tx: &mut Tx, claim: &Claim, person_id: Option<Id>) -> Result<()> {
    let query = sqlx::query("UPDATE offer SET left_g = left_g - $2 WHERE id = $1");
    tx.execute(query.bind(claim.offer_id.get()).bind(claim.grams.get())).await?;
    let query = sqlx::query(
        "INSERT INTO offer_claim (id, offer_id, buyer_id, grams, at, person_id, goes_on)
         VALUES ($1, $2, $3, $4, $5, $6, $7)",
    );
    let query = query.bind(claim.id.get()).bind(claim.offer_id.get()).bind(claim.buyer_id.get());
    let query = query.bind(claim.grams.get()).bind(claim.at.get()).bind(person_id.map(Id::get));
    let query = query.bind(claim.goes_on.map(|day| day.to_string()));
    tx.execute(query).await?;
    Ok(())
}

const CLAIM: &str = "SELECT offer_claim.id AS id, offer_id, buyer_id, crop, offer_claim.grams AS grams, at,
     collect_until, goes_on, award_id, collected_at, given_back_at FROM offer_claim JOIN offer ON offer.id = offer_claim.offer_id";

fn claim(row: &AnyRow) -> Result<Claim> {
    Ok(Claim {
        id: row.id("id")?,
        offer_id: row.id("offer_id")?,
        buyer_id: row.id("buyer_id")?,
        crop: row.text("crop")?,
        grams: row.grams("grams")?,
        at: row.instant("at")?,
        collect_until: row.instant("collect_until")?,
        goes_on: row.day_opt("goes_on")?,
        award_id: row.id_opt("award_id")?,
        collected_at: row.instant_opt("collected_at")?,
        given_back_at: row.instant_opt("given_back_at")?,
    })
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

/// Gives a claim back: while its offer is open, its grams are on offer again.
pub async fn give_back(tx: &mut Tx, claim: &Claim, now: UtcSeconds) -> Result<()> {
    let query = sqlx::query("UPDATE offer_claim SET given_back_at = $2 WHERE id = $1");
    tx.execute(query.bind(claim.id.get()).bind(now.get())).await?;
    let query = sqlx::query("UPDATE offer SET left_g = left_g + $2 WHERE id = $1 AND closed_at IS NULL");
    tx.execute(query.bind(claim.offer_id.get()).bind(claim.grams.get())).await?;
    Ok(())
}

/// A claim waits for this delivery, or with `None` for whoever fetches it.
pub async fn set_goes_on(tx: &mut Tx, id: Id, day: Option<LocalDate>) -> Result<()> {
    let query = sqlx::query("UPDATE offer_claim SET goes_on = $2 WHERE id = $1");
    tx.execute(query.bind(id.get()).bind(day.map(|day| day.to_string()))).await?;
    Ok(())
}

/// A claim has become part of a delivery's line.
pub async fn set_line(tx: &mut Tx, id: Id, award_id: Id) -> Result<()> {
    let query = sqlx::query("UPDATE offer_claim SET award_id = $2 WHERE id = $1");
    tx.execute(query.bind(id.get()).bind(award_id.get())).await?;
    Ok(())
}

/// Marks a claim as collected.
pub async fn mark_collected(tx: &mut Tx, id: Id, now: UtcSeconds) -> Result<()> {
    let query = sqlx::query("UPDATE offer_claim SET collected_at = $2 WHERE id = $1");
    tx.execute(query.bind(id.get()).bind(now.get())).await?;
    Ok(())
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
