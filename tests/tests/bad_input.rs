//! What cannot be meant, is not allowed, or came twice: a clear sentence, and nothing has changed.

use bot_api_local::Pressed;
use pinset_tests::farm::{Farm, joined};
use scheduler::quantity::Grams;
use scheduler::store::orders::{self, OneOff};
use scheduler::store::{cold_room, growing, people};

/// Every order line that is kept.
async fn kept(farm: &Farm) -> anyhow::Result<Vec<OneOff>> {
    let mut tx = farm.stage.engine.store.begin_reading().await?;
    let (from, to) = ("2026-01-01".parse()?, "2027-12-31".parse()?);
    Ok(orders::one_off_between(&mut tx, from, to).await?)
}

#[tokio::test]
async fn what_a_buyer_cannot_mean_is_answered_and_changes_nothing() -> anyhow::Result<()> {
    let farm = joined().await?;
    let long = "five pounds of shiitake ".repeat(40);
    for (said, answered) in [
        ("/harvest", "I don't know that command"),
        ("5 shiitake for Thursday", "of what: lb, oz, kg or g?"),
        ("0 lb shiitake", "too little"),
        ("-3 lb shiitake", "too little"),
        ("900 kg shiitake", "Please check the number"),
        ("18446744073709551615 lb shiitake for Thursday", "Please check the number"),
        ("9999999999999999999999999999999999999999 kg shiitake", "Please check the number"),
        ("5 lb truffles", "We grow shiitake and oyster"),
        ("5 lb shiitake for June 1, 2020", "has passed"),
        ("5 lb shiitake for February 30", "not in the calendar"),
        ("do you have 5 lb shiitake?", "nothing was ordered"),
        ("пять фунтов шиитаке", "I did not understand that"),
        ("香菇五磅", "I did not understand that"),
        (long.as_str(), "more than I can read at once"),
        ("/people", "That is not yours to do here"),
        ("/left", "That is not yours to do here"),
    ] {
        let answer = farm.stage.say(farm.heron, said).await?;
        let read = answer.last().map(|message| message.text.clone()).unwrap_or_default();
        assert!(read.contains(answered), "{said:?}: {answered:?} is not in {read:?}");
        assert_eq!(kept(&farm).await?, [], "{said:?}");
    }
    let answer = farm.stage.say(farm.kettle, "5 de shiitake para el jueves").await?;
    assert!(answer[0].text.contains("libras, onzas, kg o g"), "{answer:?}");
    assert_eq!(kept(&farm).await?, []);
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn an_update_that_comes_twice_counts_once() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    stage.say(farm.heron, "5 lb shiitake for Thursday").await?;
    let asked = stage.last(farm.heron);
    let (row, label) = (0, asked.labels()[0][0].to_owned());
    let update = stage.server.press(farm.heron.0, farm.heron.0, asked.message_id, Pressed::At(row, 0))?;
    stage.settle().await?;
    let once = (kept(&farm).await?, stage.read(farm.heron.0));
    assert_eq!(once.0[0].grams, Grams::new(2268), "{label}");
    stage.server.repeat_update(update)?;
    stage.settle().await?;
    assert_eq!((kept(&farm).await?, stage.read(farm.heron.0)), once);
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn a_forged_button_and_another_chats_button_mean_nothing() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    stage.say(farm.heron, "5 lb shiitake for Thursday").await?;
    let asked = stage.last(farm.heron);
    let data = match &asked.keyboard[0][0].action {
        bot_api_local::ButtonAction::Callback(data) => data.clone(),
        other => panic!("not a button of the bot's: {other:?}"),
    };
    let theirs = stage.last(farm.saltmarsh);
    for forged in [data.as_str(), "nonsense"] {
        stage.server.press(farm.saltmarsh.0, farm.saltmarsh.0, theirs.message_id, Pressed::Forged(forged))?;
        stage.settle().await?;
        assert_eq!(kept(&farm).await?, [], "{forged}");
    }
    let toasts = stage.server.toasts();
    assert!(toasts.iter().any(|toast| toast.text.contains("out of date")), "{toasts:?}");
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn whoever_is_taken_off_the_list_is_a_stranger() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    stage.say(farm.ada, "/people").await?;
    stage.press(farm.ada, "Take somebody off").await?;
    stage.press_first(farm.ada, "Tom").await?;
    stage.press(farm.ada, "Yes").await?;
    assert!(stage.last(farm.ada).text.contains("Tom is off the list"), "{:?}", stage.last(farm.ada));
    let mut tx = stage.engine.store.begin_reading().await?;
    assert_eq!(people::by_chat(&mut tx, farm.saltmarsh.0).await?, None);
    drop(tx);
    let answer = stage.say(farm.saltmarsh, "5 lb shiitake for Thursday").await?;
    assert!(answer[0].text.contains("ask the farm for an invitation"), "{answer:?}");
    assert_eq!(kept(&farm).await?, []);
    farm.stage.close().await;
    Ok(())
}

/// What stands on the shelves and in the cold room, as the store has it.
async fn grown(farm: &Farm) -> anyhow::Result<String> {
    let mut tx = farm.stage.engine.store.begin_reading().await?;
    let (batches, flushes) = (growing::all_batches(&mut tx).await?, growing::all_flushes(&mut tx).await?);
    Ok(format!("{batches:?} {flushes:?} {:?}", cold_room::lots(&mut tx).await?))
}

/// Forty blocks of two pounds dry, 36,287 g of substrate together, soaked on Monday 2026-06-01.
async fn soaked(farm: &Farm) -> anyhow::Result<()> {
    let (stage, chidi) = (&farm.stage, farm.chidi);
    stage.say(chidi, "/batch").await?;
    stage.press(chidi, "shiitake").await?;
    for answer in ["40", "2 lb", "cool room"] {
        stage.say(chidi, answer).await?;
    }
    stage.say(chidi, "soaked 40 blocks").await?;
    Ok(())
}

#[tokio::test]
async fn what_a_grower_cannot_mean_is_answered_and_changes_nothing() -> anyhow::Result<()> {
    let farm = joined().await?;
    let (stage, chidi) = (&farm.stage, farm.chidi);
    let refused = async |said: &str, answered: &str| -> anyhow::Result<()> {
        let before = grown(&farm).await?;
        let answer = stage.say(chidi, said).await?;
        let read = answer.last().map(|message| message.text.clone()).unwrap_or_default();
        assert!(read.contains(answered), "{said:?}: {answered:?} is not in {read:?}");
        assert_eq!(grown(&farm).await?, before, "{said:?}");
        Ok(())
    };
    // Nothing stands there yet.
    refused("picked 4 lb shiitake", "There is no shiitake on the shelves").await?;
    stage.say(chidi, "/batch").await?;
    stage.press(chidi, "shiitake").await?;
    refused("0 blocks", "between 1 and 10,000").await?;
    refused("40", "dry").await?;
    refused("900 lb", "Please check the number").await?;
    refused("120 lb", "110 lb").await?;
    refused("2 lb", "Which room?").await?;
    refused("a room with a name that goes on and on and on", "30").await?;
    stage.say(chidi, "cool room").await?;
    // There, and not soaked.
    refused("picked 4 lb shiitake", "soaked").await?;
    refused("pins on the shiitake", "soaked").await?;
    stage.say(chidi, "soaked 40 blocks").await?;
    stage.move_to(stage.at("2026-06-05 09:00")).await?;
    refused("picked 4 lb shiitake on May 30", "before that").await?;
    refused("picked 4 lb shiitake on June 6", "Which day do you mean?").await?;
    // Ten times the substrate: 363 kg, and 400 lb in one go are over what a line may hold or a flush can give.
    refused("picked 800 lb shiitake", "check").await?;
    refused("picked 300 lb shiitake", "scale").await?;
    refused("picked 4 lb from batch 7", "7").await?;
    refused("lost 41 blocks of shiitake", "only 40 blocks left").await?;
    refused("64 °F in the attic", "attic").await?;
    farm.stage.close().await;
    Ok(())
}

/// The service hands an update out again when the answer that confirmed it was lost, and tells those who ask for it of every
/// edit of a message (`edited_message`, Bot API reference). The bot does not ask, and reads none as something said.
#[tokio::test]
async fn a_pick_told_once_counts_once() -> anyhow::Result<()> {
    let farm = joined().await?;
    let (stage, chidi) = (&farm.stage, farm.chidi);
    soaked(&farm).await?;
    stage.move_to(stage.at("2026-06-10 09:00")).await?;
    let update = stage.server.say(chidi.0, chidi.0, "picked 4 lb shiitake")?;
    stage.settle().await?;
    let once = grown(&farm).await?;
    assert!(once.contains("1814"), "4 lb are 1814 g: {once}");
    stage.server.repeat_update(update)?;
    stage.settle().await?;
    assert_eq!(grown(&farm).await?, once, "the same update");
    let told = stage.server.chat(chidi.0);
    let message = told.iter().rev().find(|message| message.text == "picked 4 lb shiitake").expect("it was said");
    for text in ["picked 4 lb shiitake", "picked 5 lb shiitake"] {
        assert!(stage.server.edit(chidi.0, message.message_id, text).is_err(), "nobody asked for edits");
        stage.settle().await?;
        assert_eq!(grown(&farm).await?, once, "the same message, edited to {text:?}");
    }
    farm.stage.close().await;
    Ok(())
}
