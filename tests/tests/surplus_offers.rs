//! Who is asked about an offer and when, and until when it runs.

use pinset::config::{Config, SAMPLE};
use pinset::stage::Stage;
use pinset_tests::cold_store::{food_bank, lot};
use pinset_tests::farm::{START, joined, joined_at};
use scheduler::store::surplus;

async fn asked(stage: &Stage) -> anyhow::Result<usize> {
    let mut tx = stage.engine.store.begin_reading().await?;
    let offer = surplus::offers(&mut tx).await?.pop().expect("there is an offer");
    Ok(surplus::asked_buyers(&mut tx, offer.id).await?.len())
}

#[tokio::test]
async fn the_others_are_asked_later_and_only_if_something_is_left() -> anyhow::Result<()> {
    let text = SAMPLE.replacen("wave_buyers = 0", "wave_buyers = 1", 1);
    let text = text.replacen("wave_minutes = 60", "wave_minutes = 30", 1);
    let farm = joined_at(Config::parse(&text)?, START).await?;
    let stage = &farm.stage;
    lot(stage, "oyster", 3000, "2026-06-09").await?;
    stage.move_to(stage.at("2026-06-04 13:00")).await?;
    stage.press(farm.ada, "Offer oyster").await?;
    assert_eq!(asked(stage).await?, 1);
    // Nobody was served yet: the older entry first.
    assert!(stage.last(farm.heron).text.contains("We have 6 lb 10 oz"), "{}", stage.last(farm.heron).text);
    stage.press_first(farm.heron, "One pack").await?;
    stage.move_to(stage.at("2026-06-04 13:29")).await?;
    assert_eq!(asked(stage).await?, 1);
    stage.move_to(stage.at("2026-06-04 13:30")).await?;
    assert_eq!(asked(stage).await?, 3);
    assert!(stage.last(farm.saltmarsh).text.contains("We have 6 lb 1 oz"), "{}", stage.last(farm.saltmarsh).text);
    // Served last, Night Heron Noodle Bar comes last the next time; what is gone is offered to nobody else.
    lot(stage, "shiitake", 2000, "2026-06-12").await?;
    stage.say(farm.ada, "/left").await?;
    stage.press(farm.ada, "Offer shiitake").await?;
    assert!(stage.last(farm.kettle).text.contains("shiitake"), "{}", stage.last(farm.kettle).text);
    stage.press_first(farm.kettle, "Todo").await?;
    stage.move_to(stage.at("2026-06-04 14:10")).await?;
    assert_eq!(asked(stage).await?, 1);
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn an_offer_ends_while_a_food_bank_can_still_be_asked() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    let lucia = stage.enter(4001, "Lucía", "en");
    food_bank(&farm, ("Merrow Community Pantry", "Fri 9:00-12:00"), lucia).await?;
    stage.say(farm.ada, "offer oyster until Friday noon, then give").await?;
    lot(stage, "oyster", 3000, "2026-06-08").await?;
    stage.move_to(stage.at("2026-06-04 13:00")).await?;
    let mut tx = stage.engine.store.begin_reading().await?;
    let offer = surplus::open_offers(&mut tx).await?.pop().expect("an offer");
    drop(tx);
    // Closing at 12:00, less 15 minutes to hand over, 25 on the way and two hours to answer.
    assert_eq!(offer.deadline, stage.at("2026-06-05 09:20"));
    stage.move_to(stage.at("2026-06-05 09:20")).await?;
    assert!(stage.last(lucia).text.contains("has something for Merrow Community Pantry"), "{}", stage.last(lucia).text);
    farm.stage.close().await;
    Ok(())
}
