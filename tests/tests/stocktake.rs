//! The cold room is counted by chat: the books are set right with entries of the difference and a reason, promises are shared
//! again, and what spoils is thrown away at any time.

use pinset_tests::book::{self, assert_reads, buyer_id, move_to};
use pinset_tests::cold_store::balanced;
use pinset_tests::farm::{Farm, HERON, KETTLE, joined};
use scheduler::clock::LocalDate;
use scheduler::store::cold_room::{self, MoveKind};
use scheduler::store::growing;

const FIVE_POUNDS: i64 = 2268;
const TEN_POUNDS: i64 = 4536;

fn day(text: &str) -> LocalDate {
    text.parse().expect("a day")
}

async fn there(farm: &Farm, crop: &str) -> anyhow::Result<i64> {
    let mut tx = farm.stage.engine.store.begin_reading().await?;
    let lots = cold_room::lots(&mut tx).await?;
    Ok(lots.iter().filter(|lot| lot.crop == crop).map(|lot| lot.left.get()).sum())
}

async fn picked(farm: &Farm) -> anyhow::Result<i64> {
    let mut tx = farm.stage.engine.store.begin_reading().await?;
    let flushes = growing::all_flushes(&mut tx).await?;
    Ok(flushes.iter().flat_map(|flush| &flush.picked).map(|(_, grams)| grams.get()).sum())
}

/// A shiitake batch that fruits since Monday.
async fn fruiting(farm: &Farm) -> anyhow::Result<()> {
    let stage = &farm.stage;
    stage.say(farm.chidi, "/batch").await?;
    stage.press_first(farm.chidi, "shiitake").await?;
    for answer in ["70", "2 lb", "cool room"] {
        stage.say(farm.chidi, answer).await?;
    }
    stage.say(farm.chidi, "soaked 70 blocks").await?;
    move_to(farm, "2026-06-03 08:00:00").await
}

#[tokio::test]
async fn what_is_missing_leaves_the_books_with_its_reason_and_promises_are_shared_again() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    book::add_lot(&farm, ("shiitake", TEN_POUNDS), day("2026-06-01")).await?;
    book::add_lot(&farm, ("oyster", FIVE_POUNDS), day("2026-06-01")).await?;
    for buyer in [HERON, KETTLE] {
        book::order(&farm, buyer, ("shiitake", FIVE_POUNDS), day("2026-06-04")).await?;
    }
    move_to(&farm, "2026-06-04 06:30:00").await?;
    stage.say(farm.chidi, "cold room: 5 lb oyster, 6 lb shiitake").await?;
    assert_reads(
        &stage.last(farm.chidi).text,
        &["oyster: 5 lb, as booked", "shiitake: 6 lb counted, 10 lb booked, 4 lb missing", "What happened"],
    );
    assert_eq!(there(&farm, "shiitake").await?, TEN_POUNDS, "nothing has changed yet");
    stage.press(farm.chidi, "Spoiled").await?;
    assert_eq!(there(&farm, "shiitake").await?, 2722);
    assert_eq!(there(&farm, "oyster").await?, FIVE_POUNDS);
    let moved = balanced(stage).await?;
    assert_eq!(moved[&("shiitake".to_owned(), MoveKind::Discarded)], TEN_POUNDS - 2722);
    let heron = buyer_id(&farm, HERON).await?;
    let awards = book::awards(&farm, day("2026-06-04")).await?;
    let promised: i64 = awards.iter().map(|award| award.promised.get()).sum();
    assert!(promised <= 2722, "{awards:?}");
    assert!(awards.iter().any(|award| award.buyer_id == heron && award.promised.is_positive()), "shared, not emptied");
    // They are asleep until seven.
    move_to(&farm, "2026-06-04 07:01:00").await?;
    assert_reads(&stage.last(farm.heron).text, &["less was ready"]);
    Ok(())
}

#[tokio::test]
async fn a_pick_nobody_wrote_down_or_wrote_too_high_teaches_the_forecast() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    fruiting(&farm).await?;
    stage.say(farm.chidi, "cold room 5 lb shiitake").await?;
    assert_reads(&stage.last(farm.chidi).text, &["5 lb counted, 0 lb booked, 5 lb more", "nobody wrote down?"]);
    stage.press(farm.chidi, "Yes, a pick").await?;
    assert_reads(&stage.last(farm.chidi).text, &["the books now say 5 lb shiitake"]);
    assert_eq!((there(&farm, "shiitake").await?, picked(&farm).await?), (FIVE_POUNDS, FIVE_POUNDS));

    // By the card, and the other way round.
    stage.say(farm.chidi, "/coldroom").await?;
    stage.press(farm.chidi, "Count it").await?;
    stage.say(farm.chidi, "3 lb shiitake").await?;
    stage.press(farm.chidi, "Pick was written too high").await?;
    assert_eq!((there(&farm, "shiitake").await?, picked(&farm).await?), (1361, 1361));
    balanced(stage).await?;
    stage.say(farm.chidi, "cold room 3 lb shiitake").await?;
    assert_reads(&stage.last(farm.chidi).text, &["Nothing to change"]);
    Ok(())
}

#[tokio::test]
async fn what_spoils_is_thrown_away_by_chat_in_three_languages() -> anyhow::Result<()> {
    for (language, threw, counted, agrees) in [
        ("en", "threw away 2 lb oyster", "cold room: 3 lb oyster", "Nothing to change"),
        ("es", "tiramos 2 lb de ostra", "cámara fría: 3 lb de ostra", "No hay nada que cambiar"),
        ("pl", "wyrzuciliśmy 2 lb boczniaka", "w chłodni 3 lb boczniaka", "Nie ma nic do zmiany"),
    ] {
        let farm = joined().await?;
        let stage = &farm.stage;
        book::add_lot(&farm, ("oyster", FIVE_POUNDS), day("2026-06-01")).await?;
        stage.say(farm.chidi, "/settings").await?;
        let name = match language {
            "es" => "Español",
            "pl" => "Polski",
            _ => "English",
        };
        stage.press(farm.chidi, name).await?;
        stage.say(farm.chidi, threw).await?;
        assert_eq!(there(&farm, "oyster").await?, 1361, "{threw}: {}", stage.last(farm.chidi).text);
        stage.say(farm.chidi, counted).await?;
        assert_reads(&stage.last(farm.chidi).text, &[agrees]);
        farm.stage.close().await;
    }
    Ok(())
}
