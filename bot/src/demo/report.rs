//! What the demo's two weeks came to, as one document.

use crate::engine::Engine;
use scheduler::clock::{LocalDate, UtcSeconds};
use scheduler::id::Id;
use scheduler::store::deliveries::{Award, State, Why};
use scheduler::store::{deliveries, giving, occurrences, outbox, people, surplus};
use serde::Serialize;
use std::collections::BTreeMap;

/// Jobs that remind somebody.
const REMINDERS: [&str; 4] = ["picking", "packing", "drop_eve", "drop_leave"];

/// The document of `demo --json`. Weights are grams, days are local dates, instants are UTC.
#[derive(Debug, Serialize)]
pub struct Report {
    pub forecast: Vec<Forecast>,
    pub orders: Vec<Order>,
    pub shortfalls: Vec<Shortfall>,
    pub offers: Vec<Offer>,
    pub drops: Vec<Drop>,
    pub reminders: Vec<Reminder>,
    pub messages_sent: i64,
}

#[derive(Debug, Serialize)]
pub struct Forecast {
    pub crop: String,
    pub date: LocalDate,
    pub p10_g: i64,
    pub p50_g: i64,
    pub p90_g: i64,
}

#[derive(Debug, Serialize)]
pub struct Order {
    pub buyer: String,
    pub crop: String,
    pub date: LocalDate,
    pub asked_g: i64,
    pub promised_g: i64,
    pub delivered_g: Option<i64>,
}

/// A line that was cut at cut-off, and what became of it.
#[derive(Debug, Serialize)]
pub struct Shortfall {
    pub buyer: String,
    pub crop: String,
    pub date: LocalDate,
    pub asked_g: i64,
    pub promised_at_cutoff_g: i64,
    pub ended: State,
}

#[derive(Debug, Serialize)]
pub struct Offer {
    pub crop: String,
    pub grams: i64,
    pub made_at: String,
    pub deadline: String,
    pub left_g: i64,
    pub taken: Vec<Taken>,
}

#[derive(Debug, Serialize)]
pub struct Taken {
    pub buyer: String,
    pub grams: i64,
    pub at: String,
}

#[derive(Debug, Serialize)]
pub struct Drop {
    pub partner: String,
    pub crop: String,
    pub grams: i64,
    pub proposed_at: String,
    pub agreed_at: Option<String>,
    /// The evening before, and before leaving.
    pub reminded_at: Vec<String>,
    pub handed_over_at: Option<String>,
    pub handed_over_g: Option<i64>,
}

#[derive(Debug, Serialize)]
pub struct Reminder {
    pub job: String,
    pub due_at: String,
    pub sent_at: String,
}

fn instant(at: UtcSeconds) -> String {
    at.to_string()
}

/// Reads the document from the farm's database.
///
/// # Errors
/// When the store fails.
pub async fn read(engine: &Engine) -> anyhow::Result<Report> {
    let mut tx = engine.store.begin_reading().await?;
    let names: BTreeMap<Id, String> =
        people::buyers(&mut tx).await?.into_iter().map(|buyer| (buyer.id, buyer.name)).collect();
    let name = |id: Id| names.get(&id).cloned().unwrap_or_default();
    let forecast = deliveries::all_expected(&mut tx).await?.into_iter().map(|one| Forecast {
        crop: one.crop,
        date: one.day,
        p10_g: one.p10.get(),
        p50_g: one.p50.get(),
        p90_g: one.p90.get(),
    });
    let forecast = forecast.collect();
    let awards = deliveries::all_awards(&mut tx).await?;
    let orders = awards.iter().map(|award| Order {
        buyer: name(award.buyer_id),
        crop: award.crop.clone(),
        date: award.day,
        asked_g: award.asked.get(),
        promised_g: award.promised.get(),
        delivered_g: award.delivered.map(scheduler::quantity::Grams::get),
    });
    let orders = orders.collect();
    let mut shortfalls = Vec::new();
    for award in &awards {
        shortfalls.extend(shortfall(&mut tx, award, name(award.buyer_id)).await?);
    }
    let mut offers = Vec::new();
    for offer in surplus::offers(&mut tx).await? {
        let claims = surplus::claims_of(&mut tx, offer.id).await?.into_iter();
        let taken =
            claims.map(|claim| Taken { buyer: name(claim.buyer_id), grams: claim.grams.get(), at: instant(claim.at) });
        offers.push(Offer {
            crop: offer.crop,
            grams: offer.offered.get(),
            made_at: instant(offer.made_at),
            deadline: instant(offer.deadline),
            left_g: offer.left.get(),
            taken: taken.collect(),
        });
    }
    let drops = drops(&mut tx).await?;
    let done = occurrences::done(&mut tx).await?.into_iter();
    let reminders = done
        .filter(|(job, ..)| REMINDERS.contains(&job.as_str()))
        .map(|(job, due_at, acted_at)| Reminder { job, due_at: instant(due_at), sent_at: instant(acted_at) });
    let reminders = reminders.collect();
    let messages_sent = outbox::sent_count(&mut tx).await?;
    Ok(Report { forecast, orders, shortfalls, offers, drops, reminders, messages_sent })
}

async fn shortfall(tx: &mut scheduler::store::Tx, award: &Award, buyer: String) -> anyhow::Result<Option<Shortfall>> {
    let history = deliveries::history_of(tx, award.id).await?;
    let at_cutoff = history.iter().find(|(_, _, why)| *why == Why::Cutoff).map(|(_, promised, _)| *promised);
    Ok(at_cutoff.filter(|promised| *promised < award.asked).map(|promised| Shortfall {
        buyer,
        crop: award.crop.clone(),
        date: award.day,
        asked_g: award.asked.get(),
        promised_at_cutoff_g: promised.get(),
        ended: award.state,
    }))
}

async fn drops(tx: &mut scheduler::store::Tx) -> anyhow::Result<Vec<Drop>> {
    let mut drops = Vec::new();
    for one in giving::drops(tx).await? {
        let partner = giving::food_bank(tx, one.partner_id).await?.map(|bank| bank.name).unwrap_or_default();
        for line in &one.lines {
            let reminded = [one.eve_reminded_at, one.leave_reminded_at];
            drops.push(Drop {
                partner: partner.clone(),
                crop: line.crop.clone(),
                grams: line.grams.get(),
                proposed_at: instant(one.proposed_at),
                agreed_at: one.agreed_at.map(instant),
                reminded_at: reminded.into_iter().flatten().map(instant).collect(),
                handed_over_at: one.handed_over_at.map(instant),
                handed_over_g: line.handed.map(scheduler::quantity::Grams::get),
            });
        }
    }
    Ok(drops)
}
