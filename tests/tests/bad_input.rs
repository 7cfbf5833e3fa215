//! What cannot be meant, is not allowed, or came twice: a clear sentence, and nothing has changed.

use pinset::rehearsal::Pressed;
use pinset_tests::farm::{Farm, joined};
use scheduler::quantity::Grams;
use scheduler::store::orders::{self, OneOff};
use scheduler::store::people;

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
        pinset::rehearsal::ButtonAction::Callback(data) => data.clone(),
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
