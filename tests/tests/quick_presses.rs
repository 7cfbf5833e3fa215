//! Quick thumbs at the published pace: each press of "+" counts, however far the card is behind, and what must happen once
//! happens once. The clock is moved, nobody sleeps.

use bot_api_local::{ButtonAction, ChatMessage, Pressed};
use pinset::config::{Config, SAMPLE};
use pinset::scenario::{self, START};
use pinset::stage::{Actor, Manner, Stage};
use scheduler::store::people;
use std::time::Duration;

const BY_POLLING: Manner = Manner { has_pace: true, is_posted_to: false };
const BY_WEBHOOK: Manner = Manner { has_pace: true, is_posted_to: true };

async fn stage(manner: Manner) -> anyhow::Result<(Stage, Actor)> {
    let stage = Stage::set_in(Config::parse(SAMPLE)?, START, manner).await?;
    let people = scenario::join(&stage).await?;
    // Whatever was said while they joined is long past.
    stage.move_to(stage.now().plus_minutes(5)).await?;
    Ok((stage, people.heron))
}

/// The order card with its "+".
async fn card(stage: &Stage, who: Actor) -> anyhow::Result<(ChatMessage, String, String)> {
    stage.say(who, "/order").await?;
    stage.pass(Duration::from_secs(10)).await?;
    let card = stage.last(who);
    let more = card.keyboard.iter().flatten().find(|button| button.text.starts_with("+ ")).cloned();
    let more = more.expect("a button for more");
    let ButtonAction::Callback(data) = &more.action else { panic!("no button of the bot's: {card:?}") };
    let data = data.clone();
    Ok((card, more.text, data))
}

fn stale(stage: &Stage) -> usize {
    stage.server.toasts().iter().filter(|toast| toast.text.contains("out of date")).count()
}

fn edits(stage: &Stage) -> usize {
    stage.server.calls().iter().filter(|call| call.method.eq_ignore_ascii_case("editMessageText")).count()
}

async fn eight_presses(manner: Manner) -> anyhow::Result<()> {
    for gap_ms in [150, 400, 800, 1600] {
        let (stage, heron) = stage(manner).await?;
        let (_, label, _) = card(&stage, heron).await?;
        let edits_before = edits(&stage);
        for _ in 0..8 {
            stage.press_now(heron.0, heron, &label)?;
            stage.pass(Duration::from_millis(gap_ms)).await?;
        }
        stage.settle().await?;
        assert!(stage.last(heron).text.contains("8 lb"), "{gap_ms} ms: {:?}", stage.last(heron).text);
        assert_eq!(stale(&stage), 0, "{gap_ms} ms");
        assert_eq!(stage.server.unanswered_presses(), 0, "{gap_ms} ms: each press is answered");
        let edits = edits(&stage) - edits_before;
        let most = 4 + 8 * usize::try_from(gap_ms)? / 1000;
        assert!((1..=most).contains(&edits), "{gap_ms} ms: {edits} edits, what waits goes as one");
        stage.close().await;
    }
    Ok(())
}

#[tokio::test]
async fn eight_presses_count_eight_by_polling() -> anyhow::Result<()> {
    eight_presses(BY_POLLING).await
}

#[tokio::test]
async fn eight_presses_count_eight_by_webhook() -> anyhow::Result<()> {
    eight_presses(BY_WEBHOOK).await
}

#[tokio::test]
async fn presses_from_a_screen_that_lags_behind_count_too_and_late_ones_do_not() -> anyhow::Result<()> {
    let (stage, heron) = stage(BY_POLLING).await?;
    let (card, _, data) = card(&stage, heron).await?;
    // The screen shows the first version for as long as all this takes.
    for _ in 0..8 {
        stage.server.press(heron.0, heron.0, card.message_id, Pressed::Forged(&data))?;
        stage.pass(Duration::from_millis(150)).await?;
    }
    stage.settle().await?;
    assert!(stage.last(heron).text.contains("8 lb"), "{:?}", stage.last(heron).text);
    assert_eq!(stale(&stage), 0);
    // A minute later everybody sees the newest version.
    stage.pass(Duration::from_secs(60)).await?;
    stage.server.press(heron.0, heron.0, card.message_id, Pressed::Forged(&data))?;
    stage.settle().await?;
    assert!(stage.last(heron).text.contains("8 lb"), "{:?}", stage.last(heron).text);
    assert_eq!(stale(&stage), 1);
    stage.close().await;
    Ok(())
}

#[tokio::test]
async fn what_must_happen_once_happens_once() -> anyhow::Result<()> {
    let (stage, heron) = stage(BY_POLLING).await?;
    stage.say(heron, "5 lb shiitake for Thursday").await?;
    stage.pass(Duration::from_secs(10)).await?;
    let asked = stage.last(heron);
    let yes = &asked.keyboard[0][0];
    let ButtonAction::Callback(data) = &yes.action else { panic!("no button of the bot's: {asked:?}") };
    let before = stage.server.toasts().len();
    for _ in 0..3 {
        stage.server.press(heron.0, heron.0, asked.message_id, Pressed::Forged(data))?;
    }
    stage.settle().await?;
    assert_eq!(stage.server.toasts().len() - before, 3, "each press is answered");
    assert_eq!(stale(&stage), 2, "one of the three was acted on");
    let mut tx = stage.engine.store.begin_reading().await?;
    let buyer_id = people::by_chat(&mut tx, heron.0).await?.and_then(|person| person.buyer_id).expect("a restaurant");
    let today = stage.now().local_date(stage.engine.house.zone());
    let lines = scheduler::store::orders::one_off_of_buyer(&mut tx, buyer_id, today).await?;
    drop(tx);
    assert_eq!(lines.iter().map(|line| line.grams.get()).collect::<Vec<_>>(), [2268]);
    stage.close().await;
    Ok(())
}
