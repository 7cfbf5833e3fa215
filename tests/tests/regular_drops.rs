//! Regular drops: asked once, filled with what is free, skipped with a word, moved on where a food bank is closed or full,
//! and the driver's papers.

use anyhow::Context;
use bot_api_local::Pressed;
use pinset::stage::Actor;
use pinset_tests::calendars;
use pinset_tests::cold_store::{balanced, drops, food_bank, lot, promise};
use pinset_tests::farm::{Farm, HERON, joined};
use scheduler::clock::LocalDate;
use scheduler::quantity::Grams;
use scheduler::store::cold_room::MoveKind;
use scheduler::store::giving;
use scheduler::store::standing_giving;
use scheduler::surplus::drop::State;

const PANTRY: &str = "Merrow Community Pantry";
const HARBOUR: &str = "Harbour Table";

fn day(text: &str) -> LocalDate {
    text.parse().expect("a day")
}

fn has(text: &str, parts: &[&str]) {
    for part in parts {
        assert!(text.contains(part), "{part:?} is not in:\n{text}");
    }
}

/// Harbour Table, open Saturdays 13:00 to 18:00, and the pantry, Sundays 9:00 to 12:00: both 25 minutes away, 2 to 60 lb.
async fn both(farm: &Farm) -> anyhow::Result<(Actor, Actor)> {
    let ben = farm.stage.enter(4002, "Ben", "en");
    let lucia = farm.stage.enter(4001, "Lucía", "es-MX");
    food_bank(farm, (HARBOUR, "Sat 13-18"), ben).await?;
    food_bank(farm, (PANTRY, "Sun 9-12"), lucia).await?;
    Ok((ben, lucia))
}

async fn agreed(farm: &Farm, ben: Actor) -> anyhow::Result<()> {
    farm.stage.say(farm.ada, "every Saturday 14:00 to Harbour Table").await?;
    farm.stage.press(ben, "Agreed").await
}

async fn weights(farm: &Farm) -> anyhow::Result<Vec<(State, i64)>> {
    Ok(drops(&farm.stage).await?.iter().map(|one| (one.state(), one.weight().get())).collect())
}

#[tokio::test]
async fn it_is_asked_once_and_filled_each_week_with_what_is_free() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    let (ben, _) = both(&farm).await?;
    let asked = stage.say(farm.ada, "every Saturday 14:00 to Harbour Table").await?;
    has(&asked[0].text, &["Asked Harbour Table", "every Saturday at 2:00 PM", "beginning Saturday, June 6"]);
    has(&stage.last(ben).text, &["what is left over", "2 lb to 60 lb", "You agree once", "cultivated", "41 °F"]);
    stage.press(ben, "Agreed").await?;
    has(&stage.last(ben).text, &["Agreed: every Saturday at 2:00 PM"]);
    has(&stage.last(farm.ada).text, &["Harbour Table agreed to a regular drop", "never with what is promised"]);
    // Promised for Monday: never brought.
    stage.move_to(stage.at("2026-06-05 08:00")).await?;
    lot(stage, "oyster", 5000, "2026-06-09").await?;
    promise(stage, HERON, ("oyster", 2000), day("2026-06-08")).await?;
    stage.move_to(stage.at("2026-06-05 12:00")).await?;
    // 3,000 g; 1 lb = 453.59237 g.
    has(&stage.last(ben).text, &["brings Harbour Table 6 lb 10 oz oyster", "Saturday, June 6", "2:00 PM and 6:00 PM"]);
    has(&stage.last(farm.ada).text, &["Regular drop to Harbour Table: 6 lb 10 oz oyster"]);
    has(
        &stage.last(farm.ngozi).text,
        &["A drop for you", "12 Quay Street, Port Merrow", "25 minutes to get there", "41 °F"],
    );
    assert_eq!(weights(&farm).await?, [(State::Agreed, 3000)]);
    // Reminded the evening before; what came back from the market goes along, and the driver reads of it before leaving.
    stage.move_to(stage.at("2026-06-05 19:00")).await?;
    has(&stage.last(farm.ngozi).text, &["Food-bank drop on Saturday", "Leave at 1:35 PM"]);
    stage.move_to(stage.at("2026-06-06 13:00")).await?;
    lot(stage, "shiitake", 1000, "2026-06-15").await?;
    stage.move_to(stage.at("2026-06-06 13:25")).await?;
    has(&stage.last(farm.ngozi).text, &["Time to get ready", "6 lb 10 oz oyster and 2 lb 3 oz shiitake"]);
    has(&stage.last(ben).text, &["it is 6 lb 10 oz oyster and 2 lb 3 oz shiitake now"]);
    stage.move_to(stage.at("2026-06-06 14:30")).await?;
    stage.press(farm.ngozi, "Handed over as planned").await?;
    let moved = balanced(stage).await?;
    assert_eq!(moved[&("oyster".to_owned(), MoveKind::Given)], 3000);
    assert_eq!(moved[&("shiitake".to_owned(), MoveKind::Given)], 1000);
    // The week after nothing is free: both sides hear of it, and no drop is made.
    stage.move_to(stage.at("2026-06-13 13:24")).await?;
    assert!(!stage.read(farm.ngozi.0).contains("is skipped"));
    stage.move_to(stage.at("2026-06-13 13:25")).await?;
    has(&stage.last(farm.ngozi).text, &["Nothing is free for Harbour Table", "Saturday, June 13 is skipped"]);
    has(&stage.last(ben).text, &["brings nothing on Saturday, June 13"]);
    // A week later there is less than is worth the way, 2 lb.
    stage.move_to(stage.at("2026-06-20 10:00")).await?;
    lot(stage, "shiitake", 500, "2026-06-29").await?;
    stage.move_to(stage.at("2026-06-20 13:25")).await?;
    has(&stage.last(farm.ada).text, &["Only 1 lb 2 oz is free", "takes 2 lb or more"]);
    assert_eq!(drops(stage).await?.len(), 1);
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn dates_are_left_out_and_either_side_ends_it() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    let (ben, _) = both(&farm).await?;
    agreed(&farm, ben).await?;
    // The farm leaves out the first, and takes that back.
    stage.say(farm.ada, "/drops").await?;
    has(
        &stage.last(farm.ada).text,
        &["Regular drop to Harbour Table: every Saturday at 2:00 PM, next on Saturday, June 6"],
    );
    stage.press_first(farm.ada, "Harbour Table: not on Sat, Jun 6").await?;
    has(&stage.last(ben).text, &["No regular drop to Harbour Table on Saturday, June 6"]);
    stage.press(farm.ada, "Undo").await?;
    has(&stage.last(ben).text, &["is on again"]);
    // The food bank leaves it out when it is filled already: it goes to nobody else who could take it in time but the pantry.
    stage.move_to(stage.at("2026-06-05 09:00")).await?;
    lot(stage, "oyster", 4000, "2026-06-07").await?;
    stage.move_to(stage.at("2026-06-05 12:00")).await?;
    assert_eq!(weights(&farm).await?, [(State::Agreed, 4000)]);
    stage.say(ben, "/drops").await?;
    stage.press_first(ben, "Harbour Table: not on Sat, Jun 6").await?;
    assert_eq!(weights(&farm).await?, [(State::Declined, 4000), (State::Proposed, 4000)]);
    has(&stage.read(farm.ngozi.0), &["Harbour Table cannot take 8 lb 13 oz oyster this time"]);
    stage.move_to(stage.at("2026-06-06 18:00")).await?;
    assert!(!stage.read(ben.0).contains("brings nothing"), "a date that was left out is not skipped again");
    // The food bank ends it; nothing is filled any more.
    stage.say(ben, "/drops").await?;
    stage.press(ben, "End Harbour Table").await?;
    stage.press(ben, "No").await?;
    stage.say(ben, "/drops").await?;
    stage.press(ben, "End Harbour Table").await?;
    stage.press(ben, "Yes").await?;
    has(&stage.read(farm.ada.0), &["The regular drop to Harbour Table (every Saturday) has ended"]);
    let before = drops(stage).await?.len();
    stage.move_to(stage.at("2026-06-12 09:00")).await?;
    lot(stage, "oyster", 4000, "2026-06-15").await?;
    stage.move_to(stage.at("2026-06-13 18:00")).await?;
    assert_eq!(drops(stage).await?.len(), before);
    // By buttons this time, declined, and ended by the farm before an answer.
    for end in ["No thanks", "Call it off"] {
        stage.say(farm.ada, "/foodbanks").await?;
        stage.press(farm.ada, HARBOUR).await?;
        stage.press(farm.ada, "Regular drop").await?;
        stage.press(farm.ada, "every Saturday, 3:00 PM").await?;
        stage.press(if end == "No thanks" { ben } else { farm.ada }, end).await?;
    }
    let mut tx = stage.engine.store.begin_reading().await?;
    assert!(standing_giving::running(&mut tx).await?.is_empty());
    drop(tx);
    balanced(stage).await?;
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn closed_and_full_dates_go_to_the_next_food_bank() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    let (ben, lucia) = both(&farm).await?;
    agreed(&farm, ben).await?;
    // Full on the first Saturday, as its contact says; closed on the second, a holiday the keeper enters.
    stage.say(ben, "/drops").await?;
    stage.press(ben, "We are full on a day").await?;
    stage.press(ben, "Full Sat, Jun 6").await?;
    has(&stage.last(ben).text, &["Full on: Sat, Jun 6"]);
    stage.say(farm.ada, "/foodbanks").await?;
    stage.press(farm.ada, HARBOUR).await?;
    has(&stage.last(farm.ada).text, &["Full on: Sat, Jun 6", "next on Saturday, June 13"]);
    stage.press(farm.ada, "Closed dates").await?;
    stage.say(farm.ada, "2026-06-13").await?;
    for (friday, sunday, why) in [
        ("2026-06-05", "2026-06-07", "Saturday, June 6: it is full"),
        ("2026-06-12", "2026-06-14", "Saturday, June 13: it is closed then"),
    ] {
        stage.move_to(stage.at(&format!("{friday} 08:00"))).await?;
        lot(stage, "oyster", 4000, sunday).await?;
        stage.move_to(stage.at(&format!("{friday} 12:00"))).await?;
        has(&stage.read(farm.chidi.0), &[why]);
        has(&stage.last(lucia).text, &["tiene algo para Merrow Community Pantry"]);
        stage.press(lucia, "De acuerdo").await?;
        stage.move_to(stage.at(&format!("{sunday} 09:30"))).await?;
        stage.press(farm.ngozi, "Handed over as planned").await?;
    }
    let of = |name: &'static str| async move {
        let mut tx = stage.engine.store.begin_reading().await?;
        let bank =
            giving::food_banks(&mut tx).await?.into_iter().find(|bank| bank.name == name).context("it is there")?;
        anyhow::Ok(bank.id)
    };
    let (pantry, all) = (of(PANTRY).await?, drops(stage).await?);
    assert!(all.iter().all(|one| one.partner_id == pantry && one.state() == State::HandedOver), "{all:?}");
    assert_eq!(all.len(), 2);
    farm.stage.close().await;
    Ok(())
}

/// Said full for a date on which a drop is agreed already: it falls to the next who is open in time.
#[tokio::test]
async fn a_food_bank_that_becomes_full_passes_its_drop_on() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    let (ben, lucia) = both(&farm).await?;
    lot(stage, "oyster", 4000, "2026-06-08").await?;
    stage.say(farm.ada, "/left").await?;
    stage.press(farm.ada, "Give oyster").await?;
    stage.press(ben, "Agreed").await?;
    stage.say(ben, "/drops").await?;
    stage.press(ben, "We are full on a day").await?;
    stage.press(ben, "Full Sat, Jun 6").await?;
    assert_eq!(weights(&farm).await?, [(State::Declined, 4000), (State::Proposed, 4000)]);
    has(&stage.last(lucia).text, &["8 lb 13 oz de ostra"]);
    // With room again it could be asked for the next load; with greater need it is asked first.
    stage.press(ben, "Room on Sat, Jun 6").await?;
    stage.say(farm.ada, "/foodbanks").await?;
    stage.press(farm.ada, PANTRY).await?;
    stage.press(farm.ada, "Greater need").await?;
    has(&stage.last(farm.ada).text, &["Asked first"]);
    lot(stage, "shiitake", 4000, "2026-06-11").await?;
    stage.say(farm.ada, "/left").await?;
    stage.press(farm.ada, "Give shiitake").await?;
    has(&stage.last(lucia).text, &["8 lb 13 oz de shiitake"]);
    balanced(stage).await?;
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn what_makes_no_sense_is_refused() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    let (ben, _) = both(&farm).await?;
    for (text, why) in [
        ("every Saturday 9:00 to Harbour Table", "is not open then"),
        ("every Sunday 14:00 to Harbour Table", "is not open then"),
        ("every Saturday 17:50 to Harbour Table", "is not open then"),
    ] {
        stage.say(farm.ada, text).await?;
        has(&stage.last(farm.ada).text, &[why, "Nothing was changed"]);
    }
    agreed(&farm, ben).await?;
    stage.say(farm.ada, "every Saturday 15:00 to Harbour Table").await?;
    has(&stage.last(farm.ada).text, &["has a regular drop already"]);
    stage.say(farm.ngozi, "every Saturday 15:00 to Harbour Table").await?;
    let mut tx = stage.engine.store.begin_reading().await?;
    assert_eq!(standing_giving::running(&mut tx).await?.len(), 1);
    drop(tx);
    farm.stage.close().await;
    Ok(())
}

/// RFC 5545 read by the icalendar library (PyPI); the sheet is a PDF.
#[tokio::test]
async fn the_driver_has_the_day_and_the_sheet() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    let (ben, _) = both(&farm).await?;
    lot(stage, "oyster", 3000, "2026-06-08").await?;
    stage.say(farm.ada, "/left").await?;
    stage.press(farm.ada, "Give oyster").await?;
    stage.press(ben, "Agreed").await?;
    let files = || stage.server.chat(farm.ngozi.0).into_iter().filter_map(|message| message.file).collect::<Vec<_>>();
    let names = || files().iter().map(|file| file.file_name.clone()).collect::<Vec<_>>();
    assert_eq!(names(), ["drop-2026-06-06.ics", "drop-2026-06-06.pdf"]);
    assert!(files()[1].bytes.starts_with(b"%PDF-"), "a PDF");
    // And again with the reminder of the evening before, and whenever they are asked for.
    stage.move_to(stage.at("2026-06-05 19:00")).await?;
    assert_eq!(names().len(), 4);
    stage.say(farm.ngozi, "/drops").await?;
    stage.press_first(farm.ngozi, HARBOUR).await?;
    stage.press(farm.ngozi, "Calendar file and sheet").await?;
    assert_eq!(names().len(), 6);
    let Some(read) = calendars::read(&files()[0].bytes)? else { return Ok(()) };
    let events = read["events"].as_array().context("events")?;
    assert_eq!(events.len(), 1);
    // 13:00 to 18:00 in Chicago, daylight saving time (IANA data): five hours behind UTC.
    assert_eq!(events[0]["start"], "2026-06-06T18:00:00+00:00");
    assert_eq!(events[0]["end"], "2026-06-06T23:00:00+00:00");
    assert_eq!(events[0]["location"], "12 Quay Street, Port Merrow");
    assert_eq!(events[0]["summary"], "Food-bank drop: Harbour Table");
    has(events[0]["description"].as_str().context("words")?, &["6 lb 10 oz oyster", "Leave at 12:35 PM", "41 °F"]);
    // The same drop has the same UID in a later file, which therefore replaces the earlier one.
    let later = calendars::read(&files()[4].bytes)?.context("it was read before")?;
    assert_eq!(later["events"][0]["uid"], events[0]["uid"]);
    assert_eq!(Grams::new(3000), drops(stage).await?[0].weight());
    farm.stage.close().await;
    Ok(())
}

/// A food bank that is not on the list, typed, and one that has left it since the card was written, pressed.
#[tokio::test]
async fn an_unknown_food_bank_is_told_apart_and_gets_nothing() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    both(&farm).await?;
    lot(stage, "oyster", 3000, "2026-06-09").await?;
    let stored = async || -> anyhow::Result<String> {
        let mut tx = stage.engine.store.begin_reading().await?;
        let regular = standing_giving::running(&mut tx).await?;
        Ok(format!("{:?} {regular:?} {:?}", giving::drops(&mut tx).await?, giving::food_banks(&mut tx).await?))
    };
    let before = stored().await?;
    for typed in ["every Saturday 14:00 to Gull Street Kitchen", "cada sábado a las 14:00 a Gull Street Kitchen"] {
        let answer = stage.say(farm.ada, typed).await?;
        has(&answer[0].text, &["No food bank on the list is called Gull Street Kitchen", "/foodbanks"]);
        assert_eq!(stored().await?, before, "{typed}");
    }
    // The card of a food bank that has left the list since.
    stage.say(farm.ada, "/foodbanks").await?;
    stage.press(farm.ada, HARBOUR).await?;
    let card = stage.last(farm.ada);
    stage.say(farm.ada, "/foodbanks").await?;
    stage.press(farm.ada, HARBOUR).await?;
    stage.press(farm.ada, "Take off the list").await?;
    stage.press_first(farm.ada, "Yes").await?;
    let before = stored().await?;
    assert!(!before.contains(HARBOUR), "{before}");
    for at in 0..card.keyboard.len() {
        // What is gone from the message cannot be pressed; what is left says so.
        if stage.server.press(farm.ada.0, farm.ada.0, card.message_id, Pressed::At(at, 0)).is_ok() {
            stage.settle().await?;
            assert_eq!(stored().await?, before, "{:?}", card.labels()[at]);
        }
    }
    farm.stage.close().await;
    Ok(())
}
