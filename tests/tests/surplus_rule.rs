//! The farm's own rule for what is left: set and stopped by typing and by buttons, followed at the count, told, stopped.

use pinset_tests::cold_store::{balanced, drops, food_bank, lot};
use pinset_tests::farm::joined;
use scheduler::quantity::Grams;
use scheduler::store::surplus;
use scheduler::store::surplus_rules;
use scheduler::surplus::offer::Offer;

async fn offers(stage: &pinset::stage::Stage) -> anyhow::Result<Vec<Offer>> {
    let mut tx = stage.engine.store.begin_reading().await?;
    Ok(surplus::offers(&mut tx).await?)
}

#[tokio::test]
async fn a_rule_offers_until_its_time_and_gives_the_rest() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    let lucia = stage.enter(4001, "Lucía", "en");
    food_bank(&farm, ("Merrow Community Pantry", "Fri 13:00-16:00, Sat 10:00-13:00"), lucia).await?;
    let said = stage.say(farm.ada, "offer oyster until Friday noon, then give").await?;
    assert!(said[0].text.contains("oyster: offer until Friday 12:00 PM, then give"), "{said:?}");
    lot(stage, "oyster", 3000, "2026-06-08").await?;
    lot(stage, "oyster", 1000, "2026-06-05").await?;
    lot(stage, "shiitake", 2000, "2026-06-12").await?;
    stage.move_to(stage.at("2026-06-04 13:00")).await?;
    // What is good until Friday is fetched by eight in the evening.
    let all = offers(stage).await?;
    assert_eq!(all.iter().map(|one| (one.crop.as_str(), one.offered.get())).collect::<Vec<_>>(), [("oyster", 4000)]);
    assert_eq!(all[0].deadline, stage.at("2026-06-05 12:00"));
    assert!(stage.read(farm.ada.0).contains("By your rule: offered 8 lb 13 oz oyster"), "{}", stage.read(farm.ada.0));
    // Shiitake has no rule: the keeper decides.
    assert!(stage.last(farm.ada).text.contains("shiitake: 4 lb 7 oz free"), "{}", stage.last(farm.ada).text);
    stage.press_first(farm.heron, "One pack").await?;
    stage.move_to(stage.at("2026-06-05 12:00")).await?;
    assert!(stage.last(lucia).text.contains("has something for Merrow Community Pantry"), "{}", stage.last(lucia).text);
    let given: Vec<Grams> = drops(stage).await?.iter().map(|one| one.weight()).collect();
    assert_eq!(given, [Grams::new(3750)]);
    assert!(balanced(stage).await?.is_empty());
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn what_a_rule_did_can_be_stopped_and_so_can_the_rule() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    stage.say(farm.ada, "/rules").await?;
    assert!(stage.last(farm.ada).text.contains("Nothing yet"), "{}", stage.last(farm.ada).text);
    stage.press(farm.ada, "Rule: all others").await?;
    stage.press(farm.ada, "Friday").await?;
    stage.press(farm.ada, "5:00 PM").await?;
    assert!(
        stage.last(farm.ada).text.contains("all others: offer until Friday 5:00 PM"),
        "{}",
        stage.last(farm.ada).text
    );
    // Changed: one rule, not two.
    stage.say(farm.ada, "offer everything until Fri 3 pm, then give it away").await?;
    let text = stage.last(farm.ada).text;
    assert!(text.contains("3:00 PM") && !text.contains("5:00 PM"), "{text}");
    lot(stage, "oyster", 3000, "2026-06-09").await?;
    stage.move_to(stage.at("2026-06-04 13:00")).await?;
    assert!(stage.last(farm.heron).text.contains("We have 6 lb 10 oz"), "{}", stage.last(farm.heron).text);
    stage.press(farm.ada, "Stop it").await?;
    assert!(stage.last(farm.heron).text.contains("this offer is over"), "{}", stage.last(farm.heron).text);
    assert!(stage.last(farm.ada).text.contains("6 lb 10 oz free"), "{}", stage.last(farm.ada).text);
    stage.say(farm.ada, "stop the rule").await?;
    assert!(stage.last(farm.ada).text.contains("Stopped") && stage.last(farm.ada).text.contains("Nothing yet"));
    // The next count does nothing by itself.
    lot(stage, "oyster", 2000, "2026-06-14").await?;
    stage.move_to(stage.at("2026-06-11 13:00")).await?;
    assert_eq!(offers(stage).await?.len(), 1);
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn a_rule_that_cannot_be_meant_changes_nothing() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    for text in ["offer truffles until Friday noon, then give", "offer oyster until Friday, then give"] {
        let said = stage.say(farm.ada, text).await?;
        assert!(said[0].text.contains("I could not read that rule. Nothing was changed"), "{text}: {said:?}");
    }
    let said = stage.say(farm.heron, "/rules").await?;
    assert!(said[0].text.contains("not yours to do"), "{said:?}");
    let mut tx = stage.engine.store.begin_reading().await?;
    assert_eq!(surplus_rules::rules(&mut tx).await?, []);
    drop(tx);
    // An offer is not longer than the lot keeps: good until the end of Friday, and the rule says Saturday.
    stage.say(farm.ada, "offer oyster until Saturday noon, then give").await?;
    lot(stage, "oyster", 3000, "2026-06-05").await?;
    stage.move_to(stage.at("2026-06-04 13:00")).await?;
    let offer = offers(stage).await?.pop().expect("an offer");
    assert_eq!((offer.deadline, offer.collect_until), (stage.at("2026-06-06 00:00"), stage.at("2026-06-06 00:00")));
    farm.stage.close().await;
    Ok(())
}
