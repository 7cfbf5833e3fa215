//! The cold room's temperature by chat: it shortens what remains of a lot's days, from then on, and is shown with a warning.

use pinset_tests::cold_store::{balanced, lot, promise};
use pinset_tests::farm::{Farm, HERON, joined};
use scheduler::clock::LocalDate;
use scheduler::store::cold_room;
use scheduler::store::cold_room_warmth;

fn has(text: &str, parts: &[&str]) {
    for part in parts {
        assert!(text.contains(part), "{part:?} is not in:\n{text}");
    }
}

/// The last day of every lot, by crop.
async fn last_days(farm: &Farm) -> anyhow::Result<Vec<(String, LocalDate)>> {
    let mut tx = farm.stage.engine.store.begin_reading().await?;
    let mut lots: Vec<_> = cold_room::lots(&mut tx).await?.into_iter().map(|lot| (lot.crop, lot.keeps_until)).collect();
    lots.sort();
    Ok(lots)
}

async fn readings(farm: &Farm) -> anyhow::Result<Vec<i64>> {
    let mut tx = farm.stage.engine.store.begin_reading().await?;
    let all = cold_room_warmth::readings_since(&mut tx, pinset_tests::farm::START).await?;
    Ok(all.into_iter().map(|reading| reading.tenths_c).collect())
}

/// Oyster of Monday, 1 June, good until the 6th; warm from Wednesday at noon on: 2.5 of its 5 days are used. At 15 °C a day
/// uses 2.8 (a factor of 2.8 for ten degrees, from the respiration of mushrooms, Suslow & Cantwell, UC Davis): 0.893 days
/// remain, to Thursday 9:26. Cold again at 18:00, 2.5 - 0.25 × 2.8 = 1.8 days remain: Friday 13:12. Shiitake, good until the
/// 11th, keeps 2.5 + 7.5 / 2.8 = 5.18 days, to the 6th, and 2.5 + 0.25 + 6.8 = 9.55 when it is cold again: the 10th.
#[tokio::test]
async fn a_warm_spell_shortens_what_remains() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    let day = |text: &str| text.parse::<LocalDate>().expect("a day");
    let of =
        |oyster: &str, shiitake: &str| vec![("oyster".to_owned(), day(oyster)), ("shiitake".to_owned(), day(shiitake))];
    lot(stage, "oyster", 4000, "2026-06-06").await?;
    lot(stage, "shiitake", 2000, "2026-06-11").await?;
    promise(stage, HERON, ("oyster", 1000), day("2026-06-05")).await?;
    stage.move_to(stage.at("2026-06-03 12:00")).await?;
    // Five degrees are cold enough, and nothing changes.
    stage.say(farm.chidi, "cold room 41 F").await?;
    let said = stage.last(farm.chidi).text;
    has(&said, &["the cold room has 41 °F"]);
    assert!(!said.contains("Warmer"), "{said}");
    assert_eq!(last_days(&farm).await?, of("2026-06-06", "2026-06-11"));
    // The driver may say it too; the keeper hears of it.
    stage.say(farm.ngozi, "cold room is 15 °C").await?;
    for actor in [farm.ngozi, farm.ada] {
        has(
            &stage.last(actor).text,
            &[
                "the cold room has 59 °F",
                "Warmer than 5 °C (41 °F)",
                "8 lb 13 oz oyster keeps until Thu, Jun 4, not Sat, Jun 6",
                "4 lb 7 oz shiitake keeps until Sat, Jun 6, not Thu, Jun 11",
                "promised or set aside is no longer covered",
            ],
        );
    }
    assert_eq!(last_days(&farm).await?, of("2026-06-04", "2026-06-06"));
    for (actor, text) in [(farm.ada, "/left"), (farm.chidi, "/coldroom")] {
        stage.say(actor, text).await?;
        has(
            &stage.last(actor).text,
            &["Cold room: 59 °F, said Wednesday, June 3 at 12:00 PM", "Warmer than 5 °C (41 °F)"],
        );
    }
    stage.move_to(stage.at("2026-06-03 18:00")).await?;
    stage.say(farm.ada, "cold room 4 C").await?;
    assert_eq!(last_days(&farm).await?, of("2026-06-05", "2026-06-10"));
    stage.say(farm.ada, "/left").await?;
    assert!(!stage.last(farm.ada).text.contains("Warmer"), "{}", stage.last(farm.ada).text);
    assert_eq!(readings(&farm).await?, [50, 150, 40]);
    balanced(stage).await?;
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn what_no_cold_room_has_is_refused_and_what_may_be_either_is_asked() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    lot(stage, "oyster", 4000, "2026-06-06").await?;
    for text in ["cold room 70 °C", "cold room -30 C", "cámara fría 70 °C", "w chłodni jest -30 °C", "cold room 900 F"]
    {
        stage.say(farm.ada, text).await?;
        has(&stage.last(farm.ada).text, &["cannot be: a cold room has 14 °F to 104 °F", "Nothing was written down"]);
    }
    assert!(readings(&farm).await?.is_empty());
    stage.say(farm.ada, "cold room 38").await?;
    stage.press(farm.ada, "38 °F").await?;
    has(&stage.last(farm.ada).text, &["the cold room has 38 °F"]);
    assert_eq!(readings(&farm).await?, [33]);
    // Not a restaurant's to say.
    stage.say(farm.heron, "cold room 8 C").await?;
    assert_eq!(readings(&farm).await?, [33]);
    farm.stage.close().await;
    Ok(())
}

/// A pick into a room that was said to be warm does not get the days of a cold one: five days at 15 °C are 5 / 2.8 = 1.79.
#[tokio::test]
async fn a_pick_into_a_warm_room_keeps_shorter_at_once() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    stage.say(farm.chidi, "/batch").await?;
    stage.press(farm.chidi, "oyster").await?;
    for answer in ["20 bags", "5 lb at 60 %", "cool room"] {
        stage.say(farm.chidi, answer).await?;
    }
    stage.press(farm.chidi, "Opened today").await?;
    stage.move_to(stage.at("2026-06-10 00:00")).await?;
    stage.say(farm.chidi, "cold room 15 C").await?;
    stage.say(farm.chidi, "picked 4 lb oyster").await?;
    let days = last_days(&farm).await?;
    assert_eq!(days.len(), 1, "{}", stage.read(farm.chidi.0));
    assert_eq!(days[0].1.to_string(), "2026-06-11");
    farm.stage.close().await;
    Ok(())
}
