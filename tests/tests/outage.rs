//! Hours without the messaging service: what is still of use goes out afterwards, whoever had to answer has the time that
//! was lost, and the keeper reads what happened.

use bot_api_local::{ANY_MESSAGE, Fault};
use pinset::outgoing::{Body, Place};
use pinset_tests::book::{self, assert_reads, move_to};
use pinset_tests::cold_store::{food_bank, lot};
use pinset_tests::farm::{Farm, HERON, joined_with};
use scheduler::clock::UtcSeconds;
use scheduler::store::deliveries::{self, State};
use scheduler::store::outbox::{self, Lane, New, Urgency};
use scheduler::store::{giving, surplus};
use scheduler::surplus::drop::State as Proposal;

const THURSDAY: &str = "2026-06-04";

async fn put(farm: &Farm, chat_id: i64, text: &str, useful_until: Option<UtcSeconds>) -> anyhow::Result<()> {
    let body = Body::Message { html: text.into(), keyboard: Vec::new(), card: None, place: Place::AtEnd };
    let (body, now) = (serde_json::to_string(&body)?, farm.stage.now());
    let urgency = Urgency::Notice;
    let new = New { chat_id, urgency, lane: Lane::Chat, body: &body, card: None, useful_until, not_before: now };
    let mut tx = farm.stage.engine.store.begin().await?;
    outbox::put_new(&mut tx, new, now).await?;
    Ok(tx.commit().await?)
}

#[tokio::test]
async fn five_hours_without_the_service_lose_nothing_and_nobody_is_silent() -> anyhow::Result<()> {
    // Orders close at 18:00, and a shortage is answered within three hours.
    let farm = joined_with(&[("answer_hours = 15", "answer_hours = 3")]).await?;
    let (stage, heron, ada) = (&farm.stage, farm.heron, farm.ada);
    book::add_lot(&farm, ("shiitake", 1000), "2026-06-01".parse()?).await?;
    book::every_thursday(&farm, HERON, ("shiitake", 2268)).await?;
    move_to(&farm, "2026-06-02 17:59:00").await?;
    stage.server.fault(Fault::CutBefore, Some(ANY_MESSAGE), u32::MAX);
    put(&farm, farm.saltmarsh.0, "until eight", Some(stage.at("2026-06-02 20:00:00"))).await?;
    put(&farm, farm.saltmarsh.0, "for ever", None).await?;

    move_to(&farm, "2026-06-02 23:00:00").await?;
    assert!(!stage.read(heron.0).contains("we have not heard from you"), "nobody could read the question");
    let awards = book::awards(&farm, THURSDAY.parse()?).await?;
    assert!(awards.iter().any(|award| award.state == State::Short), "{awards:?}");

    stage.server.clear_faults();
    move_to(&farm, "2026-06-02 23:06:00").await?;
    // Three hours were left when the service went away, so three are left now.
    assert_reads(&stage.last(heron).text, &["shiitake", "AM"]);
    let mut tx = stage.engine.store.begin_reading().await?;
    let closed = deliveries::on(&mut tx, THURSDAY.parse()?).await?.expect("orders are closed");
    let depth = outbox::depth(&mut tx).await?;
    drop(tx);
    let late = closed.answers_by.since(stage.at("2026-06-03 02:00:00"));
    assert!((0..=6 * 60).contains(&late), "{closed:?}");
    assert_eq!((depth.waiting, depth.set_aside), (0, 1), "only what was of no use any more was left out");
    assert_reads(
        &stage.read(ada.0),
        &[
            "I could not reach the messaging service",
            "waited and go out now",
            "One message to Tom would have come too late",
        ],
    );
    let tom = stage.read(farm.saltmarsh.0);
    assert!(tom.contains("for ever") && !tom.contains("until eight"), "{tom}");
    let cards = stage.server.chat(heron.0).iter().filter(|one| one.text.contains("we cannot fill")).count();
    assert_eq!(cards, 1, "the newest version only: {:?}", stage.server.chat(heron.0));

    stage.press_first(heron, "Take").await?;
    let awards = book::awards(&farm, THURSDAY.parse()?).await?;
    assert!(awards.iter().all(|award| award.state != State::Short), "{awards:?}");
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn an_answer_that_says_ok_and_cannot_be_read_was_sent() -> anyhow::Result<()> {
    let farm = joined_with(&[]).await?;
    let (stage, heron) = (&farm.stage, farm.heron);
    stage.server.fault_in(heron.0, Fault::Unreadable, 1);
    stage.say(heron, "5 lb shiitake for Thursday").await?;
    stage.server.fault_in(heron.0, Fault::Unreadable, 1);
    stage.press_first(heron, "Yes").await?;
    stage.move_to(stage.now().plus_minutes(30)).await?;
    let chat = stage.server.chat(heron.0);
    let typed = chat.iter().position(|one| one.text == "5 lb shiitake for Thursday").expect("it was typed");
    assert_eq!(chat.len(), typed + 2, "one card after it: {chat:?}");
    assert!(chat[typed + 1].text.starts_with("Done."), "{chat:?}");
    let mut tx = stage.engine.store.begin_reading().await?;
    let depth = outbox::depth(&mut tx).await?;
    drop(tx);
    assert_eq!((depth.waiting, depth.set_aside), (0, 0));
    farm.stage.close().await;
    Ok(())
}

/// The service goes away while something waits for it.
async fn goes_away(farm: &Farm, then: UtcSeconds) -> anyhow::Result<()> {
    farm.stage.move_to(then).await?;
    farm.stage.server.fault(Fault::CutBefore, Some(ANY_MESSAGE), u32::MAX);
    put(farm, farm.saltmarsh.0, "what waits", None).await
}

/// `found` is `meant`, or as much later as a message that is tried again may take.
fn assert_about(found: UtcSeconds, meant: UtcSeconds) {
    assert!((0..=6 * 60).contains(&found.since(meant)), "{found:?} is not {meant:?}");
}

#[tokio::test]
async fn an_offer_runs_as_long_as_it_would_have() -> anyhow::Result<()> {
    let farm = joined_with(&[]).await?;
    let stage = &farm.stage;
    lot(stage, "oyster", 3000, "2026-06-09").await?;
    move_to(&farm, "2026-06-04 13:00:00").await?;
    stage.press(farm.ada, "Offer oyster").await?;
    let offer = || async {
        let mut tx = stage.engine.store.begin_reading().await?;
        anyhow::Ok(surplus::open_offers(&mut tx).await?.pop())
    };
    let made = offer().await?.expect("an offer");
    // Not longer than the time between its end and the last moment to collect.
    let left_minutes = 120;
    goes_away(&farm, made.deadline.plus_minutes(-left_minutes)).await?;
    stage.move_to(made.deadline.plus_minutes(20)).await?;
    assert!(offer().await?.is_some(), "it does not end while nobody can answer");

    stage.server.clear_faults();
    stage.move_to(made.deadline.plus_minutes(26)).await?;
    assert_about(offer().await?.expect("an offer").deadline, made.deadline.plus_minutes(20 + left_minutes));
    stage.press_first(farm.heron, "One pack").await?;
    let mut tx = stage.engine.store.begin_reading().await?;
    assert_eq!(surplus::claims_of(&mut tx, made.id).await?.len(), 1, "who answers in that time gets it");
    drop(tx);
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn a_food_bank_has_as_long_to_answer_as_it_would_have() -> anyhow::Result<()> {
    let farm = joined_with(&[]).await?;
    let stage = &farm.stage;
    let lucia = stage.enter(4001, "Lucía", "en");
    food_bank(&farm, ("Merrow Community Pantry", "Sat 13:00-18:00"), lucia).await?;
    lot(stage, "oyster", 3000, "2026-06-08").await?;
    move_to(&farm, "2026-06-04 13:00:00").await?;
    stage.press(farm.ada, "Give oyster").await?;
    let proposed = || async {
        let mut tx = stage.engine.store.begin_reading().await?;
        anyhow::Ok(giving::coming_drops(&mut tx).await?.pop())
    };
    let asked = proposed().await?.expect("a drop is proposed");
    assert_eq!(asked.state(), Proposal::Proposed);
    let silent_from = stage.at("2026-06-04 13:30:00");
    let left = asked.answer_by.since(silent_from);
    goes_away(&farm, silent_from).await?;
    stage.move_to(asked.answer_by.plus_minutes(20)).await?;
    assert_eq!(proposed().await?.expect("a drop").state(), Proposal::Proposed, "silence was no answer");

    stage.server.clear_faults();
    stage.move_to(asked.answer_by.plus_minutes(26)).await?;
    assert_about(proposed().await?.expect("a drop").answer_by, asked.answer_by.plus_minutes(20).plus_seconds(left));
    stage.press_first(lucia, "Agreed").await?;
    assert_eq!(proposed().await?.expect("a drop").state(), Proposal::Agreed);
    farm.stage.close().await;
    Ok(())
}
