//! A batch is put right later: its number, weight, room and day, a part of it opened, and a part made a batch of its own.

use pinset_tests::book::assert_reads;
use pinset_tests::farm::{Farm, joined};
use scheduler::store::audit;
use scheduler::store::growing::{self, Batch, EventKind};

async fn batches(farm: &Farm) -> anyhow::Result<Vec<Batch>> {
    let mut tx = farm.stage.engine.store.begin_reading().await?;
    Ok(growing::all_batches(&mut tx).await?)
}

/// Sixty straw bags in the warm room.
async fn sixty_bags() -> anyhow::Result<Farm> {
    let farm = joined().await?;
    let stage = &farm.stage;
    stage.say(farm.chidi, "/batch").await?;
    stage.press_first(farm.chidi, "oyster").await?;
    for answer in ["60", "6 lb", "warm room"] {
        stage.say(farm.chidi, answer).await?;
    }
    Ok(farm)
}

#[tokio::test]
async fn a_part_of_a_batch_is_opened() -> anyhow::Result<()> {
    let farm = sixty_bags().await?;
    let stage = &farm.stage;
    stage.say(farm.chidi, "opened 25 bags").await?;
    stage.press(farm.chidi, "Only 25 bags").await?;
    let there = batches(&farm).await?;
    assert_eq!(there.iter().map(|batch| batch.units).collect::<Vec<_>>(), [35, 25]);
    let mut tx = stage.engine.store.begin_reading().await?;
    let flushes = growing::all_flushes(&mut tx).await?;
    let begun = |batch: &Batch| flushes.iter().any(|one| one.batch_id == batch.id && one.initiated_on.is_some());
    assert_eq!(there.iter().map(begun).collect::<Vec<_>>(), [false, true]);
    // The record sums to what stands on the shelf.
    for batch in &there {
        let record = growing::record_of_all(&mut tx).await?.into_iter().map(|(_, event)| event);
        let received = record.filter(|event| event.batch_id == batch.id && event.kind == EventKind::Received);
        assert_eq!(received.map(|event| event.units).sum::<i64>(), batch.units);
    }
    assert_eq!(audit::faults(&mut tx).await?, []);
    Ok(())
}

#[tokio::test]
async fn number_weight_room_and_day_are_put_right_and_back() -> anyhow::Result<()> {
    let farm = sixty_bags().await?;
    let stage = &farm.stage;
    let before = batches(&farm).await?.remove(0);
    for (detail, answer) in [("How many", "58"), ("Dry weight", "5 lb"), ("Room, or moved", "cellar")] {
        stage.press(farm.chidi, "Correct…").await?;
        stage.press(farm.chidi, detail).await?;
        stage.say(farm.chidi, answer).await?;
        assert_reads(&stage.last(farm.chidi).text, &["Corrected"]);
    }
    stage.press(farm.chidi, "Correct…").await?;
    stage.press(farm.chidi, "Day it came").await?;
    stage.press(farm.chidi, "Fri, May 29").await?;
    let after = batches(&farm).await?.remove(0);
    assert_eq!((after.units, after.dry_per_unit.get(), after.room.as_str()), (58, 2268, "cellar"));
    assert_eq!(after.started_on.to_string(), "2026-05-29");
    stage.press(farm.chidi, "Undo").await?;
    assert_eq!(batches(&farm).await?.remove(0).started_on, before.started_on);

    stage.press(farm.chidi, "Correct…").await?;
    stage.press(farm.chidi, "Split off a part").await?;
    stage.say(farm.chidi, "58").await?;
    assert_reads(&stage.last(farm.chidi).text, &["Nothing has changed"]);
    stage.say(farm.chidi, "20").await?;
    let units: Vec<i64> = batches(&farm).await?.iter().map(|batch| batch.units).collect();
    assert_eq!(units, [38, 20]);
    Ok(())
}
