//! The farm's book in tests: lots, orders and awards written and read in the store, where a conversation is not what is
//! tested; its days, and what is read in its chats.

use crate::cold_store;
use crate::farm::Farm;
use chrono::Duration;
use scheduler::clock::LocalDate;
use scheduler::id::Id;
use scheduler::quantity::{Grams, pounds_and_ounces};
use scheduler::store::deliveries::{self, Award};
use scheduler::store::orders::{self, OneOff, Standing};
use scheduler::store::people;

/// Days a lot of the book keeps.
const KEEPS_DAYS: i64 = 5;

/// The restaurant of this name.
///
/// # Errors
/// Whatever the store fails with.
///
/// # Panics
/// When there is none.
pub async fn buyer_id(farm: &Farm, name: &str) -> anyhow::Result<Id> {
    let mut tx = farm.stage.engine.store.begin_reading().await?;
    let buyers = people::buyers(&mut tx).await?;
    Ok(buyers.into_iter().find(|buyer| buyer.name == name).expect("a restaurant of that name").id)
}

/// A lot picked on `picked_on`, ready on the day after; its identifier.
///
/// # Errors
/// Whatever the store fails with.
pub async fn add_lot(farm: &Farm, (crop, grams): (&str, i64), picked_on: LocalDate) -> anyhow::Result<Id> {
    let [ready_on, keeps_until] = [1, KEEPS_DAYS].map(|days| picked_on + Duration::days(days));
    cold_store::lot_of(&farm.stage, (crop, grams), [picked_on, ready_on, keeps_until]).await
}

/// A one-off line of a restaurant.
///
/// # Errors
/// Whatever the store fails with.
pub async fn order(farm: &Farm, buyer: &str, (crop, grams): (&str, i64), day: LocalDate) -> anyhow::Result<()> {
    let buyer_id = buyer_id(farm, buyer).await?;
    let mut tx = farm.stage.engine.store.begin().await?;
    let line = OneOff { buyer_id, day, crop: crop.into(), grams: Grams::new(grams) };
    orders::put_one_off(&mut tx, &line, (farm.stage.now(), None)).await?;
    Ok(tx.commit().await?)
}

/// A standing order for every Thursday from 2026-06-04 on.
///
/// # Errors
/// Whatever the store fails with.
pub async fn every_thursday(farm: &Farm, buyer: &str, (crop, grams): (&str, i64)) -> anyhow::Result<()> {
    let buyer_id = buyer_id(farm, buyer).await?;
    let mut tx = farm.stage.engine.store.begin().await?;
    let order = Standing {
        id: tx.new_id(farm.stage.now()),
        buyer_id,
        crop: crop.into(),
        usual: Grams::new(grams),
        recurrence: "DTSTART;TZID=America/Chicago:20260604T120000\nRRULE:FREQ=WEEKLY;BYDAY=TH".into(),
        changed: Default::default(),
        paused: None,
    };
    orders::put_standing(&mut tx, &order, (farm.stage.now(), None)).await?;
    Ok(tx.commit().await?)
}

/// Lets time pass until the farm's clocks read so.
///
/// # Errors
/// When the bot hangs.
pub async fn move_to(farm: &Farm, reading: &str) -> anyhow::Result<()> {
    farm.stage.move_to(farm.stage.at(reading)).await
}

/// Every part is in the text.
///
/// # Panics
/// When one is not.
pub fn assert_reads(text: &str, parts: &[&str]) {
    for part in parts {
        assert!(text.contains(part), "{part:?} is not in {text:?}");
    }
}

/// Every award of a day.
///
/// # Errors
/// Whatever the store fails with.
pub async fn awards(farm: &Farm, day: LocalDate) -> anyhow::Result<Vec<Award>> {
    let mut tx = farm.stage.engine.store.begin_reading().await?;
    Ok(deliveries::awards_on(&mut tx, day).await?)
}

/// A weight as an English reader with pounds and ounces reads it.
pub fn in_pounds(weight: Grams) -> String {
    match pounds_and_ounces(weight) {
        (pounds, 0) => format!("{pounds} lb"),
        (0, ounces) => format!("{ounces} oz"),
        (pounds, ounces) => format!("{pounds} lb {ounces} oz"),
    }
}
