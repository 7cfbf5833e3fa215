//! What is left is shown with what each way out is worth and until when; one press does the best; and what buyers and the
//! market did before changes the advice.

use pinset::config::{Config, SAMPLE};
use pinset_tests::cold_store::{balanced, drops, food_bank, lot};
use pinset_tests::farm::{Farm, START, joined, joined_at};
use scheduler::quantity::Grams;
use scheduler::store::cold_room::MoveKind;
use scheduler::store::surplus;

/// The made-up farm with a price for oysters and for dried mushrooms.
async fn priced() -> anyhow::Result<Farm> {
    let oyster = "[[crop]]\nkey = \"oyster\"\nnames = { en = \"oyster\", es = \"ostra\", pl = \"boczniak\" }\n\
        grown_in = \"bag\"\npack_step_g = 250\nstorage_days = 5\ncooling_hours = 12\nprice_per_kilogram_cents = 2200\n\
        fresh_per_dried = 10.0\nunit_loss_chance = 0.05\nfailure_chance = 0.05\npins_to_pick_days = 6.0\n\
        pins_to_pick_days_sd = 1.5\nfruiting_low_c = 15.0\nfruiting_high_c = 24.0\nreference_c = 18.0\nbase_c = 5.0\n\
        flush = [{ number = 1, be_mean = 0.40, be_cv = 0.30, days_mean = 12.0, days_sd = 3.0, spread_days = 4 }]\n";
    let text = SAMPLE.replacen("# price_cents_per_kg = 9000", "price_cents_per_kg = 9000", 1) + "\n" + oyster;
    joined_at(Config::parse(&text)?, START).await
}

#[tokio::test]
async fn every_way_is_shown_with_its_worth_and_its_latest_hour() -> anyhow::Result<()> {
    let farm = priced().await?;
    let stage = &farm.stage;
    let lucia = stage.enter(4001, "Lucía", "en");
    food_bank(&farm, ("Merrow Community Pantry", "Sat 10:00-13:00"), lucia).await?;
    // Thursday to the end of Sunday.
    lot(stage, "oyster", 4000, "2026-06-07").await?;
    stage.move_to(stage.at("2026-06-04 13:00")).await?;
    let card = stage.last(farm.ada);
    let text = &card.text;
    // Good until Sunday midnight: five hours of an offer and eight to fetch before; the van leaves for the market at 7:00;
    // Saturday 13:00 less two hours to answer, 25 minutes of way and 15 to hand over. Dry: 400 g at 90.00 a kilogram.
    for part in [
        "offer it to restaurants; latest Sunday",
        "11:00 AM",
        "keep it for the market; latest Saturday",
        "7:00 AM",
        "give it to a food bank; latest Saturday",
        "10:20 AM",
        "dried it would be about 14 oz",
        "$36.00",
    ] {
        assert!(text.contains(part), "{part} in {text}");
    }
    assert_eq!(text.matches("Best").count(), 1, "{text}");
    let first = card.labels()[0].clone();
    assert_eq!(first.len(), 1, "the best stands alone: {:?}", card.labels());
    assert_eq!(card.labels()[1].len(), 3, "{:?}", card.labels());
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn one_press_does_what_was_read_and_nothing_else() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    lot(stage, "oyster", 3000, "2026-06-08").await?;
    stage.move_to(stage.at("2026-06-04 13:00")).await?;
    let label = stage.last(farm.ada).labels()[0][0].to_owned();
    assert_eq!(label, "Offer oyster");
    // More was picked since the card was read: it is shown anew, and nothing is done.
    lot(stage, "oyster", 1000, "2026-06-08").await?;
    stage.press(farm.ada, &label).await?;
    let text = stage.last(farm.ada).text;
    assert!(text.contains("Something has changed") && text.contains("8 lb 13 oz free"), "{text}");
    let mut tx = stage.engine.store.begin_reading().await?;
    assert_eq!(surplus::offers(&mut tx).await?, []);
    drop(tx);
    stage.press(farm.ada, &label).await?;
    let mut tx = stage.engine.store.begin_reading().await?;
    let offers = surplus::offers(&mut tx).await?;
    assert_eq!(offers.iter().map(|offer| offer.offered).collect::<Vec<_>>(), [Grams::new(4000)]);
    drop(tx);
    assert!(stage.last(farm.heron).text.contains("We have 8 lb 13 oz"), "{}", stage.last(farm.heron).text);
    farm.stage.close().await;
    Ok(())
}

/// Four Thursdays on which nobody took anything, and markets that sold all: oysters are then best kept for the market.
#[tokio::test]
async fn a_record_of_refusals_changes_the_advice() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    lot(stage, "oyster", 1500, "2026-06-08").await?;
    stage.move_to(stage.at("2026-06-04 13:00")).await?;
    assert_eq!(stage.last(farm.ada).labels()[0], ["Offer oyster"]);
    for thursday in ["2026-06-04", "2026-06-11", "2026-06-18", "2026-06-25"] {
        let thursday: scheduler::clock::LocalDate = thursday.parse()?;
        let on = |days: u64, time: &str| stage.at(&format!("{} {time}", thursday + chrono::Days::new(days)));
        stage.move_to(on(0, "13:00")).await?;
        stage.say(farm.ada, "/left").await?;
        stage.press(farm.ada, "Offer oyster").await?;
        stage.press(farm.heron, "No thanks").await?;
        stage.move_to(on(1, "10:00")).await?;
        stage.say(farm.ada, "/left").await?;
        stage.press(farm.ada, "Market: oyster").await?;
        if !stage.last(farm.ada).text.contains("is kept") {
            stage.press_first(farm.ada, "All").await?;
        }
        stage.move_to(on(2, "07:00")).await?;
        stage.say(farm.ada, "/left").await?;
        stage.press(farm.ada, "Off to the market").await?;
        lot(stage, "oyster", 1500, &(thursday + chrono::Days::new(11)).to_string()).await?;
    }
    assert_eq!(balanced(stage).await?[&("oyster".to_owned(), MoveKind::Market)], 6000);
    stage.move_to(stage.at("2026-07-02 13:00")).await?;
    let card = stage.last(farm.ada);
    assert_eq!(card.labels()[0], ["Market: oyster"], "{}", card.text);
    stage.press(farm.ada, "Market: oyster").await?;
    assert!(stage.last(farm.ada).text.contains("is kept for the market on Saturday"), "{}", stage.last(farm.ada).text);
    assert!(drops(stage).await?.is_empty());
    farm.stage.close().await;
    Ok(())
}
