//! Food banks, their hours, the drops to them, and what was given.

use super::row::{Columns, json, word};
use super::{Error, Result, Tx};
use crate::clock::{LocalDate, UtcSeconds};
use crate::id::Id;
use crate::money::Cents;
use crate::planted::{self, Bug};
use crate::quantity::Grams;
use crate::surplus::drop::{DropOff, Line};
use crate::surplus::ledger::{Destination, Entry};
use crate::surplus::opening::{Hours, Span, Window};
use crate::surplus::partners::Partner;
use chrono::Weekday;
use sqlx::any::AnyRow;

/// A food bank as the farm knows it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FoodBank {
    pub id: Id,
    pub name: String,
    pub address: String,
    pub travel_minutes: i64,
    pub least: Grams,
    pub greatest: Grams,
    /// Crop keys; none accepts every crop.
    pub crops: Vec<String>,
    pub has_cold_store: bool,
    /// As the family judges it: 0 as others, 1 greater.
    pub need: u8,
    pub weekly: Vec<(Weekday, Span)>,
    pub closed: Vec<LocalDate>,
    /// Dates on which it is open but takes nothing.
    pub full: Vec<LocalDate>,
    pub last_drop_at: Option<UtcSeconds>,
}

impl FoodBank {
    /// Its opening hours.
    pub fn hours(&self) -> Hours {
        let mut hours = Hours::default();
        for number in 0..7 {
            let weekday = Weekday::try_from(number).expect("a week has seven days");
            let spans = self.weekly.iter().filter(|(day, _)| *day == weekday).map(|(_, span)| *span).collect();
            // Overlapping stretches are refused before they are stored; if somebody else wrote them, it is closed.
            let _ = hours.set_weekday(weekday, spans);
        }
        for day in &self.closed {
            let _ = hours.set_date(*day, Vec::new());
        }
        hours
    }

    /// Whether it takes this crop.
    pub fn takes(&self, crop: &str) -> bool {
        self.crops.is_empty() || self.crops.iter().any(|taken| taken == crop)
    }

    /// The hours in which it takes gifts: open, and not full.
    pub fn taking_hours(&self) -> Hours {
        self.hours().without(&self.full)
    }

    /// As the ranking sees it, with `all_crops` where it accepts every one.
    pub fn as_partner(&self, all_crops: &[String]) -> Partner {
        Partner {
            id: self.id,
            hours: self.hours(),
            full: self.full.clone(),
            least: self.least,
            greatest: self.greatest,
            crops: if self.crops.is_empty() { all_crops.to_vec() } else { self.crops.clone() },
            has_cold_store: self.has_cold_store,
            minutes_to_get_there: self.travel_minutes,
            need: self.need,
            last_drop_at: self.last_drop_at,
        }
    }
}

/// Food banks that take gifts, in the order they were added.
pub async fn food_banks(tx: &mut Tx) -> Result<Vec<FoodBank>> {
    let query = sqlx::query(
        "SELECT id, name, address, travel_minutes, least_g, greatest_g, crops, has_cold_store, need,
         (SELECT MAX(handed_over_at) FROM drop_off WHERE drop_off.partner_id = partner.id) AS last_drop_at
         FROM partner WHERE left_at IS NULL ORDER BY id",
    );
    let mut banks = Vec::new();
    for row in tx.all(query).await? {
        let id = row.id("id")?;
        banks.push(FoodBank {
            id,
            name: row.text("name")?,
            address: row.text("address")?,
            travel_minutes: row.integer("travel_minutes")?,
            least: row.grams("least_g")?,
            greatest: row.grams("greatest_g")?,
            crops: row.json("crops")?,
            has_cold_store: row.integer("has_cold_store")? == 1,
            need: u8::try_from(row.integer("need")?).unwrap_or(u8::MAX),
            weekly: weekly(tx, id).await?,
            closed: dates(tx, "SELECT day FROM partner_closed WHERE partner_id = $1 ORDER BY day", id).await?,
            full: dates(tx, "SELECT day FROM partner_full WHERE partner_id = $1 ORDER BY day", id).await?,
            last_drop_at: row.instant_opt("last_drop_at")?,
        });
    }
    Ok(banks)
}

async fn weekly(tx: &mut Tx, id: Id) -> Result<Vec<(Weekday, Span)>> {
    let query = sqlx::query(
        "SELECT weekday, opens_minute, closes_minute FROM partner_hours WHERE partner_id = $1
         ORDER BY weekday, opens_minute",
    );
    let rows = tx.all(query.bind(id.get())).await?;
    let spans = rows.iter().map(|row| {
        let (weekday, opens) = (row.integer("weekday")?, row.integer("opens_minute")?);
        let closes = row.integer("closes_minute")?;
        let minute = |number: i64| u16::try_from(number).unwrap_or(u16::MAX);
        let day = u8::try_from(weekday).ok().and_then(|number| Weekday::try_from(number).ok());
        let span = Span::new(minute(opens), minute(closes)).ok();
        day.zip(span).ok_or_else(|| Error::malformed("partner_hours", format!("{weekday} {opens}-{closes}")))
    });
    spans.collect()
}

async fn dates(tx: &mut Tx, question: &'static str, id: Id) -> Result<Vec<LocalDate>> {
    tx.all(sqlx::query(question).bind(id.get())).await?.iter().map(|row| row.day("day")).collect()
}

/// The food bank with this identifier, if it still takes gifts.
pub async fn food_bank(tx: &mut Tx, id: Id) -> Result<Option<FoodBank>> {
    Ok(food_banks(tx).await?.into_iter().find(|bank| bank.id == id))
}

/// Stores a food bank, new or changed, with its hours, closed and full dates in place of those there were. A name in use is an
/// error for which [`Error::is_duplicate`] holds.
pub async fn put_food_bank(tx: &mut Tx, bank: &FoodBank, now: UtcSeconds) -> Result<()> {
    let query = sqlx::query(
        "INSERT INTO partner (id, name, address, travel_minutes, least_g, greatest_g, crops, has_cold_store, joined_at,
         need) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)
         ON CONFLICT (id) DO UPDATE SET name = excluded.name, address = excluded.address,
         travel_minutes = excluded.travel_minutes, least_g = excluded.least_g, greatest_g = excluded.greatest_g,
         crops = excluded.crops, has_cold_store = excluded.has_cold_store,
         need = excluded.need",
    );
    let query = query.bind(bank.id.get()).bind(bank.name.clone()).bind(bank.address.clone());
    let query = query.bind(bank.travel_minutes).bind(bank.least.get()).bind(bank.greatest.get());
    let query = query.bind(json(&bank.crops)).bind(i64::from(bank.has_cold_store)).bind(now.get());
    tx.execute(query.bind(i64::from(bank.need))).await?;
    tx.execute(sqlx::query("DELETE FROM partner_hours WHERE partner_id = $1").bind(bank.id.get())).await?;
    for (weekday, span) in &bank.weekly {
        let query = sqlx::query(
            "INSERT INTO partner_hours (partner_id, weekday, opens_minute, closes_minute) VALUES ($1, $2, $3, $4)",
        );
        let query = query.bind(bank.id.get()).bind(i64::from(weekday.num_days_from_monday()));
        tx.execute(query.bind(i64::from(span.opens())).bind(i64::from(span.closes()))).await?;
    }
    tx.execute(sqlx::query("DELETE FROM partner_closed WHERE partner_id = $1").bind(bank.id.get())).await?;
    for day in &bank.closed {
        let query = sqlx::query("INSERT INTO partner_closed (partner_id, day) VALUES ($1, $2) ON CONFLICT DO NOTHING");
        tx.execute(query.bind(bank.id.get()).bind(day.to_string())).await?;
    }
    tx.execute(sqlx::query("DELETE FROM partner_full WHERE partner_id = $1").bind(bank.id.get())).await?;
    for day in &bank.full {
        let query = sqlx::query("INSERT INTO partner_full (partner_id, day) VALUES ($1, $2) ON CONFLICT DO NOTHING");
        tx.execute(query.bind(bank.id.get()).bind(day.to_string())).await?;
    }
    Ok(())
}

/// Takes a food bank off the list; what it was given stays on record.
pub async fn remove_food_bank(tx: &mut Tx, id: Id, now: UtcSeconds) -> Result<()> {
    let query = sqlx::query("UPDATE partner SET left_at = $2 WHERE id = $1 AND left_at IS NULL");
    tx.execute(query.bind(id.get()).bind(now.get())).await?;
    Ok(())
}

const DROP: &str =
    "SELECT id, chain, partner_id, standing_id, state, opens_at, closes_at, proposed_at, answer_by, agreed_at,
     eve_reminded_at, leave_reminded_at, handed_over_at, temperature_dc, assumed FROM drop_off";

fn drop_off(row: &AnyRow) -> Result<DropOff> {
    let window = Window { opens_at: row.instant("opens_at")?, closes_at: row.instant("closes_at")? };
    let mut one = DropOff::proposed(row.id("id")?, row.id("partner_id")?, window, row.instant("proposed_at")?);
    one.chain = row.id("chain")?;
    one.standing_id = row.id_opt("standing_id")?;
    one.answer_by = row.instant("answer_by")?;
    one.agreed_at = row.instant_opt("agreed_at")?;
    one.eve_reminded_at = row.instant_opt("eve_reminded_at")?;
    one.leave_reminded_at = row.instant_opt("leave_reminded_at")?;
    one.handed_over_at = row.instant_opt("handed_over_at")?;
    one.temperature_dc = row.integer_opt("temperature_dc")?;
    one.is_assumed = row.integer("assumed")? != 0;
    Ok(one.in_state(row.word("state")?))
}

async fn with_lines(tx: &mut Tx, rows: &[AnyRow]) -> Result<Vec<DropOff>> {
    let mut drops = rows.iter().map(drop_off).collect::<Result<Vec<_>>>()?;
    for one in &mut drops {
        let query = sqlx::query("SELECT crop, grams, handed_g FROM drop_line WHERE drop_id = $1 ORDER BY crop");
        for row in tx.all(query.bind(one.id.get())).await? {
            one.lines.push(Line {
                crop: row.text("crop")?,
                grams: row.grams("grams")?,
                handed: row.grams_opt("handed_g")?,
            });
        }
    }
    Ok(drops)
}

/// Every drop there was, oldest first.
pub async fn drops(tx: &mut Tx) -> Result<Vec<DropOff>> {
    let text = format!("{DROP} ORDER BY id");
    let rows = tx.all(sqlx::query(sqlx::AssertSqlSafe(text))).await?;
    with_lines(tx, &rows).await
}

/// Drops proposed or agreed: their grams are spoken for.
pub async fn coming_drops(tx: &mut Tx) -> Result<Vec<DropOff>> {
    let text = format!("{DROP} WHERE state IN ('proposed', 'agreed') ORDER BY opens_at, id");
    let rows = tx.all(sqlx::query(sqlx::AssertSqlSafe(text))).await?;
    with_lines(tx, &rows).await
}

/// The drop with this identifier.
pub async fn drop_by_id(tx: &mut Tx, id: Id) -> Result<Option<DropOff>> {
    let text = format!("{DROP} WHERE id = $1");
    let rows = tx.all(sqlx::query(sqlx::AssertSqlSafe(text)).bind(id.get())).await?;
    Ok(with_lines(tx, &rows).await?.pop())
}

/// Food banks asked about the same stock so far.
pub async fn asked_in_chain(tx: &mut Tx, chain: Id) -> Result<Vec<Id>> {
    let query = sqlx::query("SELECT DISTINCT partner_id FROM drop_off WHERE chain = $1 ORDER BY partner_id");
    tx.all(query.bind(chain.get())).await?.iter().map(|row| row.id("partner_id")).collect()
}

/// Stores a drop, new or changed, with its lines.
pub async fn put_drop(tx: &mut Tx, one: &DropOff) -> Result<()> {
    let query = sqlx::query(
        "INSERT INTO drop_off (id, chain, partner_id, state, opens_at, closes_at, proposed_at, answer_by, agreed_at,
         eve_reminded_at, leave_reminded_at, handed_over_at, temperature_dc, standing_id, assumed)
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15)
         ON CONFLICT (id) DO UPDATE SET state = excluded.state, opens_at = excluded.opens_at,
         closes_at = excluded.closes_at, answer_by = excluded.answer_by, agreed_at = excluded.agreed_at,
         eve_reminded_at = excluded.eve_reminded_at,
         leave_reminded_at = excluded.leave_reminded_at, handed_over_at = excluded.handed_over_at,
         temperature_dc = excluded.temperature_dc, assumed = excluded.assumed",
    );
    let query = query.bind(one.id.get()).bind(one.chain.get()).bind(one.partner_id.get()).bind(word(one.state()));
    let query = query.bind(one.window.opens_at.get()).bind(one.window.closes_at.get()).bind(one.proposed_at.get());
    let query = query.bind(one.answer_by.get()).bind(one.agreed_at.map(UtcSeconds::get));
    let query = query.bind(one.eve_reminded_at.map(UtcSeconds::get)).bind(one.leave_reminded_at.map(UtcSeconds::get));
    let query = query.bind(one.handed_over_at.map(UtcSeconds::get)).bind(one.temperature_dc);
    tx.execute(query.bind(one.standing_id.map(Id::get)).bind(i64::from(one.is_assumed))).await?;
    for line in &one.lines {
        let query = sqlx::query(
            "INSERT INTO drop_line (drop_id, crop, grams, handed_g) VALUES ($1, $2, $3, $4)
             ON CONFLICT (drop_id, crop) DO UPDATE SET grams = excluded.grams, handed_g = excluded.handed_g",
        );
        let query = query.bind(one.id.get()).bind(line.crop.clone()).bind(line.grams.get());
        tx.execute(query.bind(line.handed.map(Grams::get))).await?;
    }
    Ok(())
}

/// One entry of what was given.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Given {
    pub id: Id,
    pub at: UtcSeconds,
    pub day: LocalDate,
    pub partner_id: Id,
    pub partner: String,
    pub drop_id: Option<Id>,
    pub lot_id: Id,
    pub crop: String,
    /// Negative in a correction.
    pub grams: Grams,
    /// At the farm's own price, where it has one.
    pub value: Option<Cents>,
    /// The entry it corrects.
    pub corrects: Option<Id>,
    /// Nobody has said that it was handed over.
    pub is_assumed: bool,
}

impl Given {
    /// As the ledger's rules see it.
    pub fn as_entry(&self) -> Entry {
        Entry {
            id: self.id,
            date: self.day,
            crop: self.crop.clone(),
            lot: self.lot_id,
            destination: Destination::Given { partner: self.partner_id },
            weight: self.grams,
            corrects: self.corrects,
        }
    }
}

/// Enters what was given.
pub async fn enter(tx: &mut Tx, given: &Given, person_id: Option<Id>) -> Result<()> {
    if planted::is_on(Bug::ForgetLedger) {
        return Ok(());
    }
    let query = sqlx::query(
        "INSERT INTO giving_ledger (id, at, day, partner_id, drop_id, lot_id, crop, grams, value_cents, person_id,
         corrects) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)",
    );
    let query = query.bind(given.id.get()).bind(given.at.get()).bind(given.day.to_string());
    let query = query.bind(given.partner_id.get()).bind(given.drop_id.map(Id::get)).bind(given.lot_id.get());
    let query = query.bind(given.crop.clone()).bind(given.grams.get()).bind(given.value.map(Cents::get));
    tx.execute(query.bind(person_id.map(Id::get)).bind(given.corrects.map(Id::get))).await?;
    Ok(())
}

/// The whole ledger of what was given, oldest first.
pub async fn ledger(tx: &mut Tx) -> Result<Vec<Given>> {
    let query = sqlx::query(
        "SELECT giving_ledger.id AS id, at, day, partner_id, partner.name AS partner, drop_id, lot_id, crop, grams,
         value_cents, corrects,
         COALESCE((SELECT assumed FROM drop_off WHERE drop_off.id = giving_ledger.drop_id), 0) AS assumed FROM giving_ledger JOIN partner ON partner.id = giving_ledger.partner_id ORDER BY giving_ledger.id",
    );
    let rows = tx.all(query).await?;
    rows.iter()
        .map(|row| {
            Ok(Given {
                id: row.id("id")?,
                at: row.instant("at")?,
                day: row.day("day")?,
                partner_id: row.id("partner_id")?,
                partner: row.text("partner")?,
                drop_id: row.id_opt("drop_id")?,
                lot_id: row.id("lot_id")?,
                crop: row.text("crop")?,
                grams: row.grams("grams")?,
                value: row.integer_opt("value_cents")?.map(Cents::new),
                corrects: row.id_opt("corrects")?,
                is_assumed: row.integer("assumed")? != 0,
            })
        })
        .collect()
}
