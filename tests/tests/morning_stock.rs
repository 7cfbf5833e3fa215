//! A delivery morning on which the cold room changes after its stock was shared: what is lost reaches the promises at once,
//! what comes back restores them, and what somebody has said is packed stays as they said. That a promise is kept while
//! stock exists to keep it, and told at once where it cannot be: common practice, no source.

use pinset_tests::book::{self, assert_reads, buyer_id, move_to};
use pinset_tests::farm::{Farm, HERON, KETTLE, joined};
use scheduler::clock::LocalDate;
use scheduler::quantity::Grams;
use scheduler::store::cold_room;
use scheduler::store::deliveries::{self, Why};

const POUND: i64 = 454;
/// What is left when the second pick is taken back.
const SIX_POUNDS: Grams = Grams::new(2722);

fn thursday() -> LocalDate {
    "2026-06-04".parse().expect("a day")
}

async fn promised(farm: &Farm, buyer: &str) -> anyhow::Result<i64> {
    let id = buyer_id(farm, buyer).await?;
    let awards = book::awards(farm, thursday()).await?;
    Ok(awards.iter().filter(|award| award.buyer_id == id).map(|award| award.promised.get()).sum())
}

/// Two restaurants are promised 5 lb each, and ten pounds and a little more lie there in two picks.
async fn shared() -> anyhow::Result<Farm> {
    let farm = joined().await?;
    let stage = &farm.stage;
    stage.say(farm.chidi, "/batch").await?;
    stage.press_first(farm.chidi, "shiitake").await?;
    for answer in ["70", "2 lb", "cool room"] {
        stage.say(farm.chidi, answer).await?;
    }
    stage.say(farm.chidi, "soaked 70 blocks").await?;
    move_to(&farm, "2026-06-02 08:00:00").await?;
    stage.say(farm.chidi, "picked 6 lb shiitake").await?;
    for buyer in [HERON, KETTLE] {
        book::order(&farm, buyer, ("shiitake", 5 * POUND), thursday()).await?;
    }
    move_to(&farm, "2026-06-03 08:00:00").await?;
    stage.say(farm.chidi, "picked 5 lb shiitake").await?;
    move_to(&farm, "2026-06-04 07:01:00").await?;
    assert_eq!((promised(&farm, HERON).await?, promised(&farm, KETTLE).await?), (5 * POUND, 5 * POUND));
    Ok(farm)
}

#[tokio::test]
async fn a_pick_taken_back_is_shared_again_and_its_return_restores_the_promises() -> anyhow::Result<()> {
    let farm = shared().await?;
    let stage = &farm.stage;
    stage.press_first(farm.chidi, "Undo").await?;
    let left = SIX_POUNDS.get();
    let (heron, kettle) = (promised(&farm, HERON).await?, promised(&farm, KETTLE).await?);
    assert!(heron + kettle <= left && heron + kettle > left - POUND, "{heron} and {kettle}");
    assert!((heron - kettle).abs() <= 1, "{heron} and {kettle}");
    assert_reads(&stage.last(farm.heron).text, &["less was ready", "3 lb shiitake (you asked for 5 lb)"]);
    assert_reads(&stage.last(farm.kettle).text, &["hubo menos", "3 lb de shiitake"]);
    let family = stage.read(farm.ada.0);
    assert_reads(&family, &["Night Heron Noodle Bar: shiitake 5 lb → 3 lb", "Night Heron Noodle Bar: 3 lb shiitake"]);
    assert_reads(&stage.last(farm.ada).text, &["Total 6 lb shiitake"]);

    // Yesterday's pick is entered again: it has lain in the cold room overnight.
    stage.say(farm.chidi, "picked 5 lb shiitake yesterday").await?;
    assert_eq!((promised(&farm, HERON).await?, promised(&farm, KETTLE).await?), (5 * POUND, 5 * POUND));
    assert_reads(&stage.last(farm.heron).text, &["good news", "5 lb shiitake"]);
    assert_reads(&stage.last(farm.ada).text, &["Night Heron Noodle Bar: 5 lb shiitake", "Total 10 lb shiitake"]);
    let awards = book::awards(&farm, thursday()).await?;
    let mut tx = stage.engine.store.begin_reading().await?;
    let history = deliveries::history_of(&mut tx, awards[0].id).await?;
    drop(tx);
    let whys: Vec<Why> = history.iter().map(|(_, _, why)| *why).collect();
    assert!(whys.ends_with(&[Why::Weighed, Why::ToppedUp]), "{whys:?}");
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn what_is_packed_goes_out_as_packed() -> anyhow::Result<()> {
    let farm = shared().await?;
    let stage = &farm.stage;
    stage.press(farm.ada, "All packed as listed").await?;
    let before = stage.server.chat(farm.heron.0).len();
    stage.press_first(farm.chidi, "Undo").await?;
    let mut tx = stage.engine.store.begin_reading().await?;
    let there: Grams = cold_room::lots(&mut tx).await?.iter().map(|lot| lot.left).sum();
    drop(tx);
    assert_eq!(there, SIX_POUNDS, "the pick is taken back all the same");
    assert_eq!((promised(&farm, HERON).await?, promised(&farm, KETTLE).await?), (5 * POUND, 5 * POUND));
    assert_eq!(stage.server.chat(farm.heron.0).len(), before, "what is in the crates goes out");
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn a_weight_somebody_has_said_is_not_raised_by_sharing_again() -> anyhow::Result<()> {
    let farm = shared().await?;
    let stage = &farm.stage;
    stage.press(farm.ada, "Other weights").await?;
    stage.press(farm.ada, HERON).await?;
    stage.say(farm.ada, "4 lb").await?;
    let four = promised(&farm, HERON).await?;
    assert_eq!(four, Grams::new(4 * POUND - 2).get(), "four pounds in grams");
    stage.say(farm.chidi, "picked 3 lb shiitake yesterday").await?;
    assert_eq!((promised(&farm, HERON).await?, promised(&farm, KETTLE).await?), (four, 5 * POUND));
    farm.stage.close().await;
    Ok(())
}
