//! Orders come first: what is on offer gives way to them, and what somebody was told is theirs does not.

use pinset_tests::cold_store::{lot, promise};
use pinset_tests::farm::{HERON, joined};
use scheduler::quantity::Grams;
use scheduler::store::{deliveries, surplus};

#[tokio::test]
async fn an_order_at_cut_off_takes_what_is_on_offer() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    stage.move_to(stage.at("2026-06-02 12:00")).await?;
    lot(stage, "oyster", 3000, "2026-06-06").await?;
    stage.say(farm.ada, "/left").await?;
    stage.press(farm.ada, "Offer oyster").await?;
    stage.press_first(farm.saltmarsh, "One pack").await?;
    stage.say(farm.heron, "5 lb oyster for Thursday").await?;
    stage.press_first(farm.heron, "Yes").await?;
    stage.move_to(stage.at("2026-06-02 18:00")).await?;
    let mut tx = stage.engine.store.begin_reading().await?;
    let owed = deliveries::awards_owed(&mut tx).await?;
    // 5 lb are 2,268 g; of 3,000 g one pack of 250 g is taken and goes along, so 482 g stay on offer.
    assert_eq!(owed.iter().map(|award| award.promised.get()).collect::<Vec<_>>(), [2268, 250]);
    let offer = surplus::open_offers(&mut tx).await?.pop().expect("it is open");
    assert_eq!((offer.left, offer.offered), (Grams::new(482), Grams::new(732)));
    assert_eq!(surplus::claims_waiting(&mut tx).await?, []);
    drop(tx);
    assert!(stage.read(farm.ada.0).contains("An order needs 5 lb oyster"), "{}", stage.read(farm.ada.0));
    assert!(stage.last(farm.kettle).text.contains("Nos quedan 1 lb 1 oz"), "{}", stage.last(farm.kettle).text);
    assert!(stage.read(farm.saltmarsh.0).contains("Yours:"), "{}", stage.read(farm.saltmarsh.0));
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn a_promise_is_kept_out_of_what_is_on_offer() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    stage.move_to(stage.at("2026-06-03 13:00")).await?;
    lot(stage, "oyster", 3000, "2026-06-06").await?;
    stage.say(farm.ada, "/left").await?;
    stage.press(farm.ada, "Offer oyster").await?;
    stage.press_first(farm.saltmarsh, "One pack").await?;
    promise(stage, HERON, ("oyster", 2900), "2026-06-04".parse()?).await?;
    stage.move_to(stage.at("2026-06-04 06:00")).await?;
    let mut tx = stage.engine.store.begin_reading().await?;
    // All that nobody had taken: the offer is over.
    assert_eq!(surplus::open_offers(&mut tx).await?, []);
    // What was taken goes along with what is promised, and is not cut for it.
    let owed = deliveries::awards_owed(&mut tx).await?;
    assert_eq!(owed.iter().map(|award| award.promised.get()).collect::<Vec<_>>(), [2750, 250]);
    drop(tx);
    assert!(stage.last(farm.kettle).text.contains("esta oferta terminó"), "{}", stage.last(farm.kettle).text);
    assert!(stage.read(farm.saltmarsh.0).contains("Yours:"), "{}", stage.read(farm.saltmarsh.0));
    farm.stage.close().await;
    Ok(())
}
