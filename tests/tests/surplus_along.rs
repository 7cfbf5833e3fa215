//! What was taken of an offer goes along with the next delivery where it keeps until then, or is fetched.

use pinset_tests::cold_store::{balanced, lot};
use pinset_tests::farm::{Farm, joined};
use scheduler::clock::LocalDate;
use scheduler::quantity::Grams;
use scheduler::store::cold_room::MoveKind;
use scheduler::store::deliveries::{self, Award, Source};
use scheduler::store::surplus;
use scheduler::surplus::claim::Claim;

fn thursday() -> LocalDate {
    "2026-06-11".parse().expect("a day")
}

async fn claims(farm: &Farm) -> anyhow::Result<Vec<Claim>> {
    let mut tx = farm.stage.engine.store.begin_reading().await?;
    let mut all = Vec::new();
    for offer in surplus::offers(&mut tx).await? {
        all.extend(surplus::claims_of(&mut tx, offer.id).await?);
    }
    Ok(all)
}

/// What goes along of offers on the Thursday.
async fn along(farm: &Farm) -> anyhow::Result<Vec<Award>> {
    let mut tx = farm.stage.engine.store.begin_reading().await?;
    let awards = deliveries::awards_on(&mut tx, thursday()).await?;
    Ok(awards.into_iter().filter(|award| award.source == Source::Offer).collect())
}

async fn until(farm: &Farm, reading: &str) -> anyhow::Result<()> {
    farm.stage.move_to(farm.stage.at(reading)).await
}

#[tokio::test]
async fn what_keeps_until_the_next_delivery_goes_along_with_it() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    lot(stage, "shiitake", 3000, "2026-06-12").await?;
    until(&farm, "2026-06-04 13:00").await?;
    stage.press(farm.ada, "Offer shiitake").await?;
    stage.press(farm.heron, "Half 3 lb 5 oz").await?;
    let card = stage.last(farm.heron).text;
    assert!(card.contains("It comes with your delivery on Thursday, June 11"), "{card}");
    assert!(stage.last(farm.ada).text.contains("goes along with the delivery on Thursday, June 11"));
    let orders = stage.say(farm.heron, "/orders").await?;
    assert!(orders[0].text.contains("from an offer: 3 lb 5 oz shiitake"), "{orders:?}");
    // The bakery would rather fetch it.
    stage.press(farm.saltmarsh, "All 3 lb 5 oz").await?;
    stage.press(farm.saltmarsh, "I'll pick it up").await?;
    assert!(stage.last(farm.saltmarsh).text.contains("please collect it by"), "{}", stage.last(farm.saltmarsh).text);
    let days: Vec<_> = claims(&farm).await?.iter().map(|claim| claim.goes_on()).collect();
    assert_eq!(days, [Some(thursday()), None]);
    stage.press(farm.ada, "Collected").await?;
    assert_eq!(balanced(stage).await?[&("shiitake".to_owned(), MoveKind::Collected)], 1500);
    // Nobody is asked whether what goes along was fetched.
    until(&farm, "2026-06-07 12:00").await?;
    assert!(!stage.read(farm.ada.0).contains("has not collected"), "{}", stage.read(farm.ada.0));
    assert!(along(&farm).await?.is_empty());
    until(&farm, "2026-06-09 18:01").await?;
    let lines = along(&farm).await?;
    assert_eq!(lines.len(), 1);
    assert_eq!((lines[0].asked, lines[0].promised), (Grams::new(1500), Grams::new(1500)));
    assert!(stage.read(farm.heron.0).contains("3 lb 5 oz shiitake"), "{}", stage.read(farm.heron.0));
    until(&farm, "2026-06-11 06:30").await?;
    stage.press(farm.ada, "All packed as listed").await?;
    until(&farm, "2026-06-11 09:30").await?;
    stage.press(farm.ngozi, "All delivered").await?;
    assert_eq!(balanced(stage).await?[&("shiitake".to_owned(), MoveKind::Delivered)], 1500);
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn what_is_taken_after_cut_off_is_a_line_at_once_until_the_van_is_packed() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    stage.say(farm.kettle, "2 libras de shiitake para el jueves 11").await?;
    stage.press(farm.kettle, "Sí, correcto").await?;
    until(&farm, "2026-06-09 18:01").await?;
    until(&farm, "2026-06-10 15:00").await?;
    lot(stage, "shiitake", 3000, "2026-06-20").await?;
    stage.say(farm.ada, "/left").await?;
    stage.press(farm.ada, "Offer shiitake").await?;
    stage.press_first(farm.heron, "One pack").await?;
    stage.press_first(farm.heron, "One pack").await?;
    assert_eq!(
        along(&farm).await?.iter().map(|line| line.promised.get()).collect::<Vec<_>>(),
        [500],
        "one line of both"
    );
    stage.press_first(farm.heron, "Give back").await?;
    assert_eq!(along(&farm).await?[0].promised, Grams::new(250));
    assert!(claims(&farm).await?.iter().filter(|claim| claim.is_given_back()).count() == 1);
    until(&farm, "2026-06-11 06:30").await?;
    stage.press(farm.ada, "All packed as listed").await?;
    stage.press_first(farm.heron, "Give back").await?;
    assert!(stage.read(farm.heron.0).contains("The van is packed already"), "{}", stage.read(farm.heron.0));
    assert_eq!(along(&farm).await?[0].promised, Grams::new(250));
    // Whoever takes something now fetches it.
    stage.press_first(farm.saltmarsh, "One pack").await?;
    assert!(stage.last(farm.saltmarsh).text.contains("Please collect by"), "{}", stage.last(farm.saltmarsh).text);
    assert_eq!(along(&farm).await?.len(), 1);
    farm.stage.close().await;
    Ok(())
}
