//! What tests of surplus and giving begin with: lots in the cold room, food banks, and the balance of it all.

use crate::farm::{Farm, code_in};
use pinset::stage::{Actor, Stage};
use scheduler::clock::LocalDate;
use scheduler::id::Id;
use scheduler::quantity::Grams;
use scheduler::store::cold_room::{self, Lot, MoveKind};
use scheduler::store::deliveries::{self, Award, Closed, Source, State, Why};
use scheduler::store::giving;
use scheduler::store::people;
use scheduler::surplus::drop::DropOff;
use std::collections::BTreeMap;

/// Puts a lot picked today into the cold room; its identifier.
///
/// # Errors
/// When the store fails.
pub async fn lot(stage: &Stage, crop: &str, grams: i64, keeps_until: &str) -> anyhow::Result<Id> {
    let today = stage.now().local_date(stage.engine.house.zone());
    lot_of(stage, (crop, grams), [today, today, keeps_until.parse()?]).await
}

/// Puts a lot into the cold room: picked, ready and good until these days; its identifier.
///
/// # Errors
/// When the store fails.
pub async fn lot_of(
    stage: &Stage,
    (crop, grams): (&str, i64),
    [picked_on, ready_on, keeps_until]: [LocalDate; 3],
) -> anyhow::Result<Id> {
    let mut tx = stage.engine.store.begin().await?;
    let now = stage.now();
    let grams = Grams::new(grams);
    let lot = Lot {
        id: tx.new_id(now),
        crop: crop.to_owned(),
        flush_id: None,
        picked_on,
        ready_on,
        keeps_until,
        picked: grams,
        left: grams,
    };
    cold_room::add_lot(&mut tx, &lot, now).await?;
    tx.commit().await?;
    Ok(lot.id)
}

/// Adds a food bank through the chat, in which everything but the name is asked; its contact joins.
///
/// # Errors
/// When the bot hangs or does not ask as expected.
pub async fn food_bank(farm: &Farm, (name, hours): (&str, &str), contact: Actor) -> anyhow::Result<()> {
    let stage = &farm.stage;
    stage.say(farm.ada, "/foodbanks").await?;
    stage.press(farm.ada, "New food bank").await?;
    for answer in [name, "12 Quay Street, Port Merrow", "25", hours, "2 lb to 60 lb"] {
        stage.say(farm.ada, answer).await?;
    }
    stage.press(farm.ada, "Invite a contact").await?;
    stage.start(contact, &code_in(&stage.last(farm.ada).text)).await?;
    Ok(())
}

/// All drops, the oldest first.
///
/// # Errors
/// When the store fails.
pub async fn drops(stage: &Stage) -> anyhow::Result<Vec<DropOff>> {
    let mut tx = stage.engine.store.begin_reading().await?;
    Ok(giving::drops(&mut tx).await?)
}

/// What was moved out of the cold room, by crop and kind.
///
/// # Errors
/// When the store fails.
///
/// # Panics
/// When a gram that was picked is neither in the cold room nor in exactly one movement.
pub async fn balanced(stage: &Stage) -> anyhow::Result<BTreeMap<(String, MoveKind), i64>> {
    let mut tx = stage.engine.store.begin_reading().await?;
    let picked = cold_room::picked(&mut tx).await?;
    let lots = cold_room::lots(&mut tx).await?;
    let moved = cold_room::moved(&mut tx).await?;
    for (crop, picked) in picked {
        let there: Grams = lots.iter().filter(|lot| lot.crop == crop).map(|lot| lot.left).sum();
        let gone: Grams = moved.iter().filter(|(of, ..)| *of == crop).map(|(.., grams)| *grams).sum();
        assert_eq!(picked, there + gone, "{crop}");
    }
    Ok(moved.into_iter().map(|(crop, kind, grams)| ((crop, kind), grams.get())).collect())
}

/// Promises so much to a restaurant for a day whose orders are closed, or are closed by it.
///
/// # Errors
/// When the store fails.
///
/// # Panics
/// When the restaurant has not joined.
pub async fn promise(stage: &Stage, buyer: &str, (crop, grams): (&str, i64), on: LocalDate) -> anyhow::Result<()> {
    let mut tx = stage.engine.store.begin().await?;
    let now = stage.now();
    if deliveries::on(&mut tx, on).await?.is_none() {
        let closed = Closed {
            day: on,
            closed_at: now,
            seed: 1,
            answers_by: now,
            settled_at: None,
            shared_at: None,
            packed_at: None,
            is_packing_assumed: false,
            delivered_at: None,
        };
        deliveries::close(&mut tx, &closed).await?;
    }
    let buyers = people::buyers(&mut tx).await?;
    let award = Award {
        id: tx.new_id(now),
        buyer_id: buyers.iter().find(|one| one.name == buyer).expect("it has joined").id,
        day: on,
        crop: crop.to_owned(),
        source: Source::Once,
        asked: Grams::new(grams),
        promised: Grams::new(grams),
        delivered: None,
        is_assumed: false,
        state: State::Full,
    };
    deliveries::put_award(&mut tx, &award, (Why::Cutoff, None), now).await?;
    Ok(tx.commit().await?)
}

/// The two restaurants that read English, and so many more that join now.
///
/// # Errors
/// When the bot hangs.
pub async fn crowd(farm: &Farm, more: i64) -> anyhow::Result<Vec<Actor>> {
    let stage = &farm.stage;
    let mut crowd = vec![farm.heron, farm.saltmarsh];
    for number in 1..=more {
        let actor = stage.enter(5000 + number, "Guest", "en");
        stage.say(farm.ada, "/people").await?;
        stage.press(farm.ada, "New restaurant").await?;
        stage.say(farm.ada, &format!("Restaurant {number}")).await?;
        stage.start(actor, &code_in(&stage.last(farm.ada).text)).await?;
        crowd.push(actor);
    }
    Ok(crowd)
}
