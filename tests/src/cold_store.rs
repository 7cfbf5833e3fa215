//! What tests of surplus and giving begin with: lots in the cold room, food banks, and the balance of it all.

use crate::farm::{Farm, code_in};
use pinset::stage::{Actor, Stage};
use scheduler::id::Id;
use scheduler::quantity::Grams;
use scheduler::store::cold_room::{self, Lot, MoveKind};
use scheduler::store::giving::{self, DropOff};
use std::collections::BTreeMap;

/// Puts a lot picked today into the cold room.
///
/// # Errors
/// When the store fails.
pub async fn lot(stage: &Stage, crop: &str, grams: i64, keeps_until: &str) -> anyhow::Result<Id> {
    let mut tx = stage.engine.store.begin().await?;
    let now = stage.now();
    let today = now.local_date(stage.engine.house.zone());
    let id = tx.new_id(now);
    let grams = Grams::new(grams);
    let lot = Lot {
        id,
        crop: crop.to_owned(),
        flush_id: None,
        picked_on: today,
        ready_on: today,
        keeps_until: keeps_until.parse()?,
        picked: grams,
        left: grams,
    };
    cold_room::add_lot(&mut tx, &lot, now).await?;
    tx.commit().await?;
    Ok(id)
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
