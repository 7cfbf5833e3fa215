//! The conversation's manners: nobody is woken for what can wait, one message rings once, a typed word answers what was
//! asked, and `/help` shows what can be tapped.

use pinset::config::{Config, SAMPLE};
use pinset::scenario;
use pinset::stage::{Actor, Stage};
use pinset_tests::book::{add_lot, awards, buyer_id, order};
use pinset_tests::cold_store::lot;
use pinset_tests::farm::{Farm, HERON, KETTLE, SALTMARSH, START, joined, joined_with};
use scheduler::clock::LocalDate;
use scheduler::id::Id;
use scheduler::store::deliveries::State;
use scheduler::store::surplus;
use std::sync::Arc;

const THURSDAY: &str = "2026-06-04";

fn day(text: &str) -> LocalDate {
    text.parse().expect("a day")
}

async fn until(farm: &Farm, reading: &str) -> anyhow::Result<()> {
    farm.stage.move_to(farm.stage.at(reading)).await
}

/// What was taken of every offer, by restaurant, grams.
async fn taken(farm: &Farm) -> anyhow::Result<Vec<(Id, i64)>> {
    let mut tx = farm.stage.engine.store.begin_reading().await?;
    Ok(surplus::claims_waiting(&mut tx).await?.into_iter().map(|claim| (claim.buyer_id, claim.grams.get())).collect())
}

fn has_read(farm: &Farm, actor: Actor, part: &str) -> bool {
    farm.stage.read(actor.0).contains(part)
}

#[tokio::test]
async fn quiet_hours_are_set_by_buttons_and_by_words() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    stage.say(farm.heron, "/settings").await?;
    assert!(stage.last(farm.heron).text.contains("Quiet from 9:00 PM to 7:00 AM"), "{}", stage.last(farm.heron).text);
    stage.press(farm.heron, "Quiet hours").await?;
    stage.press(farm.heron, "10:00 PM – 6:00 AM").await?;
    assert!(stage.last(farm.heron).text.contains("Quiet from 10:00 PM to 6:00 AM"), "{}", stage.last(farm.heron).text);
    stage.press(farm.heron, "Quiet hours").await?;
    stage.say(farm.heron, "8 pm to 8 am").await?;
    assert!(stage.last(farm.heron).text.contains("Quiet from 8:00 PM to 8:00 AM"), "{}", stage.last(farm.heron).text);
    stage.say(farm.heron, "no quiet hours").await?;
    assert!(stage.last(farm.heron).text.contains("No quiet hours"), "{}", stage.last(farm.heron).text);
    stage.say(farm.kettle, "silencio de 23 a 6").await?;
    assert!(stage.last(farm.kettle).text.contains("Silencio de 11:00"), "{}", stage.last(farm.kettle).text);
    let unread = stage.say(farm.kettle, "silencio de 25 a 6").await?;
    assert!(!unread[0].text.contains("Silencio de"), "{unread:?}");
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn an_offer_made_at_night_shows_in_the_morning_what_is_left_then() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    stage.say(farm.saltmarsh, "no quiet hours").await?;
    stage.say(farm.heron, "quiet from 10 pm to 6 am").await?;
    lot(stage, "oyster", 5000, "2026-06-09").await?;
    until(&farm, "2026-06-04 22:30").await?;
    stage.press(farm.ada, "Offer oyster").await?;
    // 5,000 g are 11 lb (453.59237 g to the pound).
    assert!(stage.last(farm.saltmarsh).text.contains("11 lb oyster"), "{}", stage.last(farm.saltmarsh).text);
    assert!(!has_read(&farm, farm.heron, "oyster") && !has_read(&farm, farm.kettle, "ostra"));
    stage.press_first(farm.saltmarsh, "Half").await?;
    let [(_, by_saltmarsh)] = taken(&farm).await?[..] else { panic!("one claim") };
    // Ada hears of it in the morning, too.
    assert!(!has_read(&farm, farm.ada, "Saltmarsh Bakery takes"));
    until(&farm, "2026-06-05 05:59").await?;
    assert!(!has_read(&farm, farm.heron, "oyster"));
    until(&farm, "2026-06-05 06:00").await?;
    let read = stage.last(farm.heron).text;
    assert!(read.contains("oyster") && !read.contains("11 lb"), "{read}");
    stage.press_first(farm.heron, "All").await?;
    assert_eq!(taken(&farm).await?.iter().map(|(_, grams)| grams).sum::<i64>(), 5000);
    assert!(by_saltmarsh > 0 && by_saltmarsh < 5000);
    until(&farm, "2026-06-05 07:30").await?;
    assert!(!has_read(&farm, farm.kettle, "ostra"), "{}", stage.read(farm.kettle.0));
    assert!(has_read(&farm, farm.ada, "Saltmarsh Bakery takes"), "{}", stage.read(farm.ada.0));
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn a_shortfall_waits_for_the_morning_only_while_there_is_time_to_answer() -> anyhow::Result<()> {
    for (answer_hours, comes_at_night) in [(15, false), (9, true)] {
        let hours = format!("answer_hours = {answer_hours}");
        let changes = [
            ("cutoff = \"2 days before at 18:00\"", "cutoff = \"0 22 * * TUE\""),
            ("answer_hours = 15", hours.as_str()),
        ];
        let farm = joined_with(&changes).await?;
        let stage = &farm.stage;
        add_lot(&farm, ("shiitake", 2000), day("2026-06-01")).await?;
        order(&farm, HERON, ("shiitake", 6000), day(THURSDAY)).await?;
        until(&farm, "2026-06-02 22:00").await?;
        // Orders closed at 22:00; until 7:00 there are nine hours.
        let buttons = stage.last(farm.heron).labels().concat().join(" ");
        assert_eq!(buttons.contains("Take"), comes_at_night, "{buttons}");
        until(&farm, "2026-06-03 07:00").await?;
        let cards = stage.server.chat(farm.heron.0);
        let closed = cards.iter().filter(|message| message.text.contains("shiitake")).count();
        assert!(closed >= 1, "{}", stage.read(farm.heron.0));
        farm.stage.close().await;
    }
    Ok(())
}

#[tokio::test]
async fn notices_within_a_minute_are_one_message() -> anyhow::Result<()> {
    let folder = tempfile::tempdir()?;
    let url = format!("sqlite://{}", folder.path().join("farm.sqlite").display());
    let mut stage = Stage::build(Config::parse(SAMPLE)?, START, &url).await?;
    Arc::get_mut(&mut stage.engine).expect("it does not run yet").house.gather_seconds = 60;
    stage.run().await?;
    let people = scenario::join(&stage).await?;
    stage.move_to(stage.now().plus_minutes(5)).await?;
    let before = stage.server.chat(people.ada.0).len();
    for actor in [people.heron, people.saltmarsh] {
        stage.say(actor, "/settings").await?;
        stage.press(actor, "Leave").await?;
        stage.press(actor, "Yes").await?;
    }
    assert_eq!(stage.server.chat(people.ada.0).len(), before, "what nobody waits for is gathered");
    stage.move_to(stage.now().plus_seconds(60)).await?;
    let told = stage.server.chat(people.ada.0);
    assert_eq!(told.len(), before + 1, "{told:?}");
    let text = stage.last(people.ada).text;
    assert!(text.contains("Mina has left the list.") && text.contains("Tom has left the list."), "{text}");
    stage.close().await;
    Ok(())
}

#[tokio::test]
async fn who_sends_more_than_anybody_types_is_told_and_the_others_are_served() -> anyhow::Result<()> {
    let folder = tempfile::tempdir()?;
    let url = format!("sqlite://{}", folder.path().join("farm.sqlite").display());
    let mut stage = Stage::build(Config::parse(SAMPLE)?, START, &url).await?;
    Arc::get_mut(&mut stage.engine).expect("it does not run yet").house.most_a_minute = Some(60);
    stage.run().await?;
    let people = scenario::join(&stage).await?;
    stage.move_to(stage.now().plus_minutes(5)).await?;
    let before = stage.server.chat(people.heron.0).len();
    for pounds in 1..=30 {
        stage.say(people.heron, &format!("{pounds} lb shiitake for Thursday")).await?;
        stage.press_first(people.heron, "Yes").await?;
    }
    assert_eq!(stage.server.chat(people.heron.0).len(), before + 60, "each is answered");
    stage.say(people.heron, "/orders").await?;
    let told = stage.last(people.heron).text;
    assert!(told.contains("Over 60 messages from you in a minute"), "{told}");
    let before = stage.server.chat(people.heron.0).len();
    for _ in 0..30 {
        stage.server.say(people.heron.0, people.heron.0, "1 lb oyster for Thursday")?;
    }
    assert!(!stage.say(people.kettle, "/orders").await?.is_empty(), "others are served meanwhile");
    stage.settle().await?;
    let unanswered = &stage.server.chat(people.heron.0)[before..];
    assert_eq!(unanswered.len(), 30, "told once: {unanswered:?}");
    stage.move_to(stage.now().plus_seconds(61)).await?;
    stage.say(people.heron, "/orders").await?;
    let told = stage.last(people.heron).text;
    assert!(told.contains("30 lb shiitake") && !told.contains("oyster"), "{told}");
    stage.close().await;
    Ok(())
}

#[tokio::test]
async fn a_typed_word_answers_the_shortfall_that_stands() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    stage.say(farm.saltmarsh, "/settings").await?;
    stage.press(farm.saltmarsh, "Polski").await?;
    add_lot(&farm, ("shiitake", 6000), day("2026-06-01")).await?;
    for buyer in [HERON, KETTLE, SALTMARSH] {
        order(&farm, buyer, ("shiitake", 6000), day(THURSDAY)).await?;
    }
    let nothing = stage.say(farm.heron, "yes").await?;
    assert!(nothing[0].text.contains("Nothing waits"), "{nothing:?}");
    until(&farm, "2026-06-02 18:00").await?;
    for (actor, word, buyer, expected) in [
        (farm.heron, "Yes!", HERON, State::Taken),
        (farm.kettle, "sí", KETTLE, State::Taken),
        (farm.saltmarsh, "nie", SALTMARSH, State::Dropped),
    ] {
        stage.say(actor, word).await?;
        let id = buyer_id(&farm, buyer).await?;
        let award = awards(&farm, day(THURSDAY)).await?.into_iter().find(|award| award.buyer_id == id);
        // What a colleague frees may fill the line of whoever had taken less.
        let state = award.expect("a line").state;
        assert!(state == expected || state == State::Full, "{buyer}: {state:?}");
    }
    let nothing = stage.say(farm.saltmarsh, "tak").await?;
    assert!(nothing[0].text.contains("nic nie czeka"), "{nothing:?}");
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn where_two_offers_stand_it_asks_which() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    lot(stage, "oyster", 5000, "2026-06-09").await?;
    lot(stage, "shiitake", 4000, "2026-06-12").await?;
    until(&farm, "2026-06-04 13:00").await?;
    stage.press(farm.ada, "Offer oyster").await?;
    stage.press(farm.ada, "Offer shiitake").await?;
    stage.say(farm.heron, "2 lb").await?;
    assert!(stage.last(farm.heron).text.contains("of which offer"), "{}", stage.last(farm.heron).text);
    assert_eq!(taken(&farm).await?, []);
    stage.press(farm.heron, "Offer: oyster").await?;
    let heron = buyer_id(&farm, HERON).await?;
    let [(who, by_heron)] = taken(&farm).await?[..] else { panic!("one claim") };
    assert!(who == heron && by_heron > 0 && by_heron <= 907, "two pounds in whole packs: {by_heron}");
    stage.say(farm.kettle, "no").await?;
    stage.press(farm.kettle, "Oferta: shiitake").await?;
    stage.say(farm.kettle, "sí").await?;
    stage.say(farm.kettle, "2 lb").await?;
    let kettle = buyer_id(&farm, KETTLE).await?;
    let claims = taken(&farm).await?;
    assert!(claims.len() == 2 && claims[1].0 == kettle, "only the oyster still stood: {claims:?}");
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn the_word_goes_to_what_was_said_back_unless_something_was_asked_since() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    lot(stage, "oyster", 5000, "2026-06-09").await?;
    until(&farm, "2026-06-04 13:00").await?;
    stage.press(farm.ada, "Offer oyster").await?;
    stage.say(farm.heron, "5 lb shiitake for June 11").await?;
    stage.say(farm.heron, "yes").await?;
    assert!(stage.last(farm.heron).text.contains("shiitake"), "{}", stage.last(farm.heron).text);
    assert_eq!(taken(&farm).await?, []);
    stage.say(farm.saltmarsh, "5 lb shiitake for June 11").await?;
    lot(stage, "shiitake", 4000, "2026-06-12").await?;
    stage.say(farm.ada, "/left").await?;
    stage.press(farm.ada, "Offer shiitake").await?;
    stage.say(farm.saltmarsh, "yes").await?;
    assert!(stage.last(farm.saltmarsh).text.contains("For which one"), "{}", stage.last(farm.saltmarsh).text);
    stage.press(farm.saltmarsh, "The order to confirm").await?;
    let answer = stage.last(farm.saltmarsh);
    assert!(answer.text.contains("5 lb") && !answer.text.contains("out of date"), "{answer:?}");
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn examples_of_help_do_what_they_say() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    stage.say(farm.saltmarsh, "/settings").await?;
    stage.press(farm.saltmarsh, "Polski").await?;
    for (actor, not_read) in
        [(farm.heron, "did not understand"), (farm.kettle, "No entendí"), (farm.saltmarsh, "Nie rozumiem")]
    {
        stage.say(actor, "/help").await?;
        let help = stage.last(actor);
        for label in help.labels().concat().iter().take(4) {
            let before = stage.server.chat(actor.0).len();
            stage.press(actor, label).await?;
            let answer = stage.last(actor);
            assert!(stage.server.chat(actor.0).len() > before, "{label}: help stays as it is");
            assert!(!answer.text.contains(not_read), "{label}: {answer:?}");
            stage.say(actor, "/help").await?;
        }
    }
    // Nothing was ordered by a tap alone.
    until(&farm, "2026-06-02 18:00").await?;
    assert_eq!(awards(&farm, day(THURSDAY)).await?, []);
    let help = stage.say(farm.ada, "/help").await?;
    assert!(help[0].text.contains("picked 5 lb") && help[0].text.contains("lost 2 blocks"), "{help:?}");
    farm.stage.close().await;
    Ok(())
}
