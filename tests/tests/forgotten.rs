//! What somebody was to press and did not: it is asked for, then it counts as done as planned, is marked so wherever it is
//! shown, and can be put right at any time.

use pinset_tests::book::{self, assert_reads, move_to};
use pinset_tests::cold_store::{balanced, drops, food_bank, lot};
use pinset_tests::farm::{Farm, HERON, KETTLE, joined, joined_with};
use scheduler::clock::LocalDate;
use scheduler::quantity::Grams;
use scheduler::store::cold_room::MoveKind;
use scheduler::store::surplus::{self, MarketHold};

/// Grams of five and of four pounds, as they are read and typed.
const FIVE_POUNDS: i64 = 2268;
const FOUR_POUNDS: i64 = 1814;

fn day(text: &str) -> LocalDate {
    text.parse().expect("a day")
}

/// Two restaurants are promised shiitake for the first Thursday.
async fn promised(farm: &Farm) -> anyhow::Result<()> {
    book::add_lot(farm, ("shiitake", 6000), day("2026-06-01")).await?;
    for buyer in [HERON, KETTLE] {
        book::order(farm, buyer, ("shiitake", FIVE_POUNDS), day("2026-06-04")).await?;
    }
    move_to(farm, "2026-06-04 06:01:00").await
}

async fn delivered(farm: &Farm) -> anyhow::Result<i64> {
    let moved = balanced(&farm.stage).await?;
    Ok(moved.get(&("shiitake".to_owned(), MoveKind::Delivered)).copied().unwrap_or_default())
}

#[tokio::test]
async fn a_delivery_nobody_tapped_is_asked_for_then_assumed_and_can_be_put_right() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    promised(&farm).await?;
    move_to(&farm, "2026-06-04 08:01:00").await?;
    assert_reads(
        &stage.last(farm.ngozi).text,
        &["Delivery run, Thursday, June 4", "Nobody has said that it is packed"],
    );
    move_to(&farm, "2026-06-04 12:01:00").await?;
    assert_reads(&stage.last(farm.ngozi).text, &["is the run done?", "by Friday, June 5 at 8:00 PM", "5 lb shiitake"]);
    assert_eq!(delivered(&farm).await?, 0, "nothing is assumed yet");
    move_to(&farm, "2026-06-05 07:01:00").await?;
    for actor in [farm.ngozi, farm.ada] {
        assert_reads(&stage.last(actor).text, &["nobody has said how the run went"]);
    }

    move_to(&farm, "2026-06-05 20:01:00").await?;
    assert_eq!(delivered(&farm).await?, 2 * FIVE_POUNDS, "what was packed has left the cold room");
    for actor in [farm.ngozi, farm.ada] {
        assert_reads(
            &stage.last(actor).text,
            &["counts as delivered", "≈ Night Heron Noodle Bar: 5 lb shiitake (assumed)"],
        );
    }
    assert_reads(&stage.last(farm.heron).text, &["nobody here noted your delivery", "5 lb shiitake"]);
    stage.say(farm.ada, "/record").await?;
    assert_reads(&stage.last(farm.ada).text, &["delivered 5 lb (assumed, nobody said so)"]);

    // In the week after, when the next delivery is due already.
    move_to(&farm, "2026-06-11 09:00:00").await?;
    stage.say(farm.ngozi, "/run").await?;
    stage.press_first(farm.ngozi, "Run of").await?;
    assert_reads(&stage.last(farm.ngozi).text, &["counts as delivered", "(assumed)"]);
    stage.press(farm.ngozi, "Correct a weight").await?;
    stage.press(farm.ngozi, HERON).await?;
    stage.say(farm.ngozi, "4 lb").await?;
    assert_eq!(delivered(&farm).await?, FIVE_POUNDS + FOUR_POUNDS);
    assert_reads(&stage.last(farm.ngozi).text, &["✓ Night Heron Noodle Bar: 4 lb", "≈ Copper Kettle Bistro: 5 lb"]);
    stage.press(farm.ngozi, "All delivered").await?;
    let card = stage.last(farm.ngozi).text;
    assert_reads(&card, &["all delivered", "✓ Copper Kettle Bistro: 5 lb"]);
    assert!(!card.contains("assumed"), "{card}");
    stage.say(farm.ada, "/record").await?;
    stage.press(farm.ada, "Thu, Jun 4").await?;
    assert_reads(&stage.last(farm.ada).text, &["→ delivered 4 lb", "→ delivered 5 lb"]);
    assert_eq!(delivered(&farm).await?, FIVE_POUNDS + FOUR_POUNDS);
    Ok(())
}

#[tokio::test]
async fn an_earlier_run_can_be_entered_once_the_next_is_due() -> anyhow::Result<()> {
    let farm = joined_with(&[("assumed_hours = 36", "assumed_hours = 400")]).await?;
    let stage = &farm.stage;
    promised(&farm).await?;
    move_to(&farm, "2026-06-09 09:00:00").await?;
    book::add_lot(&farm, ("shiitake", 2000), day("2026-06-09")).await?;
    book::order(&farm, KETTLE, ("shiitake", 1000), day("2026-06-11")).await?;
    move_to(&farm, "2026-06-11 07:00:00").await?;
    assert_eq!(delivered(&farm).await?, 0);
    stage.say(farm.ngozi, "/run").await?;
    assert_reads(&stage.last(farm.ngozi).text, &["Thursday, June 11"]);
    stage.press_first(farm.ngozi, "Run of").await?;
    assert_reads(&stage.last(farm.ngozi).text, &["Delivery run, Thursday, June 4"]);
    stage.press(farm.ngozi, "All delivered").await?;
    assert_eq!(delivered(&farm).await?, 2 * FIVE_POUNDS);
    assert!(!stage.last(farm.ngozi).text.contains("assumed"));
    Ok(())
}

#[tokio::test]
async fn packing_that_counted_as_done_can_still_be_weighed_and_confirmed() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    promised(&farm).await?;
    move_to(&farm, "2026-06-04 08:01:00").await?;
    assert_reads(&stage.read(farm.chidi.0), &["it counts as packed as listed"]);
    stage.press(farm.chidi, "Other weights").await?;
    stage.press(farm.chidi, HERON).await?;
    stage.say(farm.chidi, "4 lb").await?;
    stage.press(farm.chidi, "All packed as listed").await?;
    assert_reads(&stage.last(farm.chidi).text, &["all packed as listed, says Chidi", "4 lb shiitake"]);
    let card = stage.last(farm.chidi).text;
    assert!(!card.contains("Nobody has said"), "{card}");
    stage.press(farm.ngozi, "All delivered").await?;
    assert_eq!(delivered(&farm).await?, FIVE_POUNDS + FOUR_POUNDS);
    Ok(())
}

#[tokio::test]
async fn what_is_past_its_days_leaves_every_list_once_it_was_said() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    // Good until Saturday.
    book::add_lot(&farm, ("oyster", 2000), day("2026-06-01")).await?;
    move_to(&farm, "2026-06-08 07:01:00").await?;
    assert_reads(&stage.read(farm.ada.0), &["Past its days", "4 lb 7 oz oyster, picked Mon, Jun 1"]);
    assert_eq!(balanced(stage).await?[&("oyster".to_owned(), MoveKind::Lapsed)], 2000);
    stage.say(farm.ada, "/left").await?;
    assert_reads(&stage.last(farm.ada).text, &["Nothing lies in the cold room"]);
    let said = stage.read(farm.ada.0).matches("Past its days").count();
    move_to(&farm, "2026-06-11 14:00:00").await?;
    assert_eq!(stage.read(farm.ada.0).matches("Past its days").count(), said, "once");
    Ok(())
}

#[tokio::test]
async fn what_was_kept_for_a_market_nobody_spoke_of_counts_as_gone_and_can_come_back() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    book::add_lot(&farm, ("shiitake", 2000), day("2026-06-02")).await?;
    let mut tx = stage.engine.store.begin().await?;
    let hold = MarketHold { day: day("2026-06-06"), crop: "shiitake".into(), grams: Grams::new(1361) };
    surplus::hold_for_market(&mut tx, &hold).await?;
    tx.commit().await?;
    move_to(&farm, "2026-06-07 07:01:00").await?;
    assert_reads(&stage.read(farm.ada.0), &["Did 3 lb shiitake go to the market?"]);
    assert_eq!(balanced(stage).await?.len(), 0);
    move_to(&farm, "2026-06-08 07:01:00").await?;
    assert_reads(&stage.read(farm.ada.0), &["whether 3 lb shiitake went to the market", "(assumed)"]);
    assert_eq!(balanced(stage).await?[&("shiitake".to_owned(), MoveKind::Market)], 1361);
    stage.say(farm.ada, "back with 1 lb shiitake").await?;
    assert_eq!(balanced(stage).await?[&("shiitake".to_owned(), MoveKind::Returned)], -454);
    Ok(())
}

#[tokio::test]
async fn an_offer_nobody_ticked_off_counts_as_collected_until_somebody_says_otherwise() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    lot(stage, "shiitake", 3000, "2026-06-10").await?;
    move_to(&farm, "2026-06-04 13:00:00").await?;
    stage.press(farm.ada, "Offer shiitake").await?;
    stage.press(farm.heron, "Half 3 lb 5 oz").await?;
    // Fetching ends on Friday afternoon; it is asked for then and on Saturday morning.
    move_to(&farm, "2026-06-06 07:01:00").await?;
    assert_reads(&stage.read(farm.ada.0), &["has not collected 3 lb 5 oz shiitake"]);
    assert_eq!(balanced(stage).await?.len(), 0);
    move_to(&farm, "2026-06-07 07:01:00").await?;
    assert_reads(&stage.read(farm.ada.0), &["counts as collected (assumed)"]);
    assert_eq!(balanced(stage).await?[&("shiitake".to_owned(), MoveKind::Collected)], 1500);
    stage.press(farm.ada, "Not collected, free again").await?;
    assert_eq!(balanced(stage).await?[&("shiitake".to_owned(), MoveKind::Collected)], 0);
    Ok(())
}

#[tokio::test]
async fn a_drop_nobody_ticked_off_counts_as_handed_over_and_the_record_says_so() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    let ben = stage.enter(4002, "Ben", "en");
    food_bank(&farm, ("Harbour Table", "Sat 9am to 1pm"), ben).await?;
    lot(stage, "shiitake", 3000, "2026-06-12").await?;
    move_to(&farm, "2026-06-04 13:00:00").await?;
    stage.say(farm.ada, "/left").await?;
    stage.press_first(farm.ada, "Give").await?;
    stage.press_first(ben, "Agreed").await?;
    move_to(&farm, "2026-06-07 07:01:00").await?;
    assert_eq!(balanced(stage).await?.len(), 0, "it is asked for first");
    move_to(&farm, "2026-06-08 07:01:00").await?;
    assert_reads(&stage.read(farm.ngozi.0), &["counts as handed over as planned (assumed)"]);
    assert_eq!(balanced(stage).await?[&("shiitake".to_owned(), MoveKind::Given)], 3000);
    assert_eq!(drops(stage).await?.iter().filter(|drop| drop.is_assumed).count(), 1);
    stage.say(farm.ada, "/drops").await?;
    assert_reads(&stage.last(farm.ada).text, &["Given (assumed): 6 lb 10 oz to Harbour Table"]);
    stage.press(farm.ngozi, "Handed over as planned").await?;
    assert!(drops(stage).await?.iter().all(|drop| !drop.is_assumed));
    assert_eq!(balanced(stage).await?[&("shiitake".to_owned(), MoveKind::Given)], 3000);
    Ok(())
}
