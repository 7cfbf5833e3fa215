//! A room's temperature by chat: written down with its day, told back with what it means, and reckoned with.

use pinset::conversation::Desk;
use pinset::conversation::growing::{self, Ask};
use pinset::stage::{Actor, Stage};
use pinset_tests::farm::{Farm, joined};
use scheduler::farm::expected;
use scheduler::quantity::Grams;
use scheduler::store::{self, people, rooms};

async fn do_it(stage: &Stage, actor: Actor, ask: Ask) -> anyhow::Result<()> {
    let mut tx = stage.engine.store.begin().await?;
    let person = people::by_chat(&mut tx, actor.0).await?.expect("the person has joined");
    let mut desk = Desk::new(tx, stage.now(), &stage.engine.house, Some(actor.0));
    growing::act(&mut desk, &person, ask).await?;
    desk.tx.commit().await?;
    stage.settle().await?;
    Ok(())
}

async fn written_down(stage: &Stage) -> anyhow::Result<Vec<(String, i64)>> {
    let mut tx = stage.engine.store.begin_reading().await?;
    let all = rooms::temperatures(&mut tx).await?;
    Ok(all.into_iter().map(|(_, said)| (said.room, said.tenths_c)).collect())
}

/// Batches and flushes as the store has them.
async fn on_shelves(stage: &Stage) -> anyhow::Result<String> {
    let mut tx = stage.engine.store.begin_reading().await?;
    Ok(format!("{:?} {:?}", store::growing::all_batches(&mut tx).await?, store::growing::all_flushes(&mut tx).await?))
}

/// Mean temperature the forecast has for the first flush, and the median grams it expects within nine days.
async fn forecast_of(stage: &Stage) -> anyhow::Result<(Option<f64>, f64)> {
    let tx = stage.engine.store.begin_reading().await?;
    let mut desk = Desk::new(tx, stage.now(), &stage.engine.house, None);
    let growth = expected::growth(&mut desk.farm()).await?;
    let today = desk.today();
    let harvest = expected::harvest_until(&desk.farm(), &growth, today + chrono::Duration::days(12));
    let crop = "shiitake".parse()?;
    let mut sums = harvest.sums(crop, today, today + chrono::Duration::days(9));
    sums.sort_unstable_by(f32::total_cmp);
    Ok((growth.flushes[0].room_temperature_c, f64::from(sums[sums.len() / 2])))
}

/// 58 °F is 14.4 °C, 75 °F 23.9 °C (NIST SP 811, appendix B.8). Shiitake fruited at 11–26 °C, 52–79 °F (Pettipher 1988).
#[tokio::test]
async fn a_grower_says_how_warm_a_room_is() -> anyhow::Result<()> {
    let Farm { stage, chidi, heron, kettle, .. } = joined().await?;
    stage.say(chidi, "cool room 58 F").await?;
    assert!(stage.last(chidi).text.contains("nothing on the shelves"), "{}", stage.last(chidi).text);
    let batch = |crop: &str, room: &str| Ask::Start {
        crop: crop.into(),
        units: 40,
        dry_per_unit: Grams::new(900),
        room: room.into(),
    };
    do_it(&stage, chidi, batch("shiitake", "Cool room")).await?;
    do_it(&stage, chidi, batch("oyster", "Warm room")).await?;
    stage.say(chidi, "soaked 40 shiitake").await?;
    assert_eq!(forecast_of(&stage).await?.0, None);

    stage.say(chidi, "cool room 58 F").await?;
    let told = stage.last(chidi).text;
    for part in ["Cool room, 58 °F today", "shiitake takes about 11 days to the first pick"] {
        assert!(told.contains(part), "{told}");
    }
    assert_eq!(written_down(&stage).await?, [("Cool room".to_owned(), 144)]);
    let (cool, soon_if_cool) = forecast_of(&stage).await?;
    assert_eq!(cool, Some(14.4));
    // A later word of the same day counts instead; nothing is overwritten.
    stage.say(chidi, "the cool room is at 75").await?;
    assert_eq!(written_down(&stage).await?.len(), 2);
    let (warm, soon_if_warm) = forecast_of(&stage).await?;
    assert_eq!(warm, Some(23.9));
    assert!(soon_if_warm > soon_if_cool, "{soon_if_warm} {soon_if_cool}");

    // Out of the range of what grows there.
    stage.say(chidi, "warm room 50 F").await?;
    assert!(stage.last(chidi).text.contains("too cold for oyster, which fruits at 55 °F to 86 °F"));
    stage.say(chidi, "cool room 84 F").await?;
    assert!(stage.last(chidi).text.contains("too warm for shiitake, which fruits at 52 °F to 79 °F"));

    // Bad input: said clearly, nothing written.
    let (before, shelves) = (written_down(&stage).await?, on_shelves(&stage).await?);
    let unknown = "No room on the shelves is called old barn. Nothing was written down; which one do you mean?";
    for (typed, words) in [
        ("old barn 58 F", unknown),
        ("the old barn is at 14 °C", unknown),
        // A name near a known one is asked about, not guessed.
        ("cold room 2 58 F", "No room on the shelves is called cold room 2. Nothing was written down"),
        ("cool room 300 F", "cannot be right for a growing room"),
        ("cool room 40", "which scale"),
        ("58 F", "in which room?"),
    ] {
        stage.say(chidi, typed).await?;
        assert!(stage.last(chidi).text.contains(words), "{typed}: {}", stage.last(chidi).text);
        assert_eq!(written_down(&stage).await?, before, "{typed}");
        assert_eq!(on_shelves(&stage).await?, shelves, "{typed}");
    }
    // The rooms there are can be pressed, each with what was said.
    stage.say(chidi, "old barn 58 F").await?;
    let offered: Vec<String> = stage
        .server
        .chat(chidi.0)
        .last()
        .expect("an answer")
        .keyboard
        .iter()
        .flatten()
        .map(|one| one.text.clone())
        .collect();
    assert_eq!(offered, ["Cool room", "Warm room"]);
    stage.say(chidi, "58 F").await?;
    // The last question is answered by a button.
    stage.press(chidi, "Warm room").await?;
    assert_eq!(written_down(&stage).await?.last(), Some(&("Warm room".to_owned(), 144)));

    // Restaurants have no rooms.
    for buyer in [heron, kettle] {
        stage.say(buyer, "cool room 58 F").await?;
        assert_eq!(written_down(&stage).await?.len(), before.len() + 1);
    }
    stage.close().await;
    Ok(())
}

#[tokio::test]
async fn the_batchs_button_asks_in_the_readers_scale() -> anyhow::Result<()> {
    let Farm { stage, chidi, .. } = joined().await?;
    let ask = Ask::Start { crop: "shiitake".into(), units: 40, dry_per_unit: Grams::new(900), room: "room 2".into() };
    do_it(&stage, chidi, ask).await?;
    stage.press_first(chidi, "Room temperature").await?;
    assert!(stage.last(chidi).text.contains("How warm is it in room 2, in °F?"));
    stage.say(chidi, "warmish").await?;
    assert!(stage.last(chidi).text.contains("write a temperature"), "{}", stage.last(chidi).text);
    stage.say(chidi, "60").await?;
    assert_eq!(written_down(&stage).await?, [("room 2".to_owned(), 156)]);
    stage.close().await;
    Ok(())
}
