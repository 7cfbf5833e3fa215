//! Files and pictures in the chat: the packing list and the coming drops as files, standing deliveries as a calendar that
//! another library reads, the week as a picture; and names that are markup or formulas elsewhere.

use anyhow::Context;
use bot_api_local::ChatFile;
use pinset::stage::{Actor, Stage};
use pinset_tests::calendars;
use pinset_tests::cold_store::lot_of;
use pinset_tests::farm::{Farm, HERON, code_in, joined};
use scheduler::clock::LocalDate;
use scheduler::quantity::Grams;
use scheduler::store::cold_room::{self, MoveKind, Movement};
use scheduler::store::orders::{self, OneOff};
use scheduler::store::people;

/// A restaurant that a spreadsheet would reckon and a browser would run.
const STRANGE: &str = "=1+1 <b>\"Pot\" & Pan</b> <script>";

fn day(text: &str) -> LocalDate {
    text.parse().expect("a day")
}

fn has(text: &str, parts: &[&str]) {
    for part in parts {
        assert!(text.contains(part), "{part:?} is not in:\n{text}");
    }
}

fn file(stage: &Stage, actor: Actor) -> anyhow::Result<ChatFile> {
    let messages = stage.server.chat(actor.0);
    messages.into_iter().rev().find_map(|message| message.file).context("a file was sent")
}

/// A lot in the cold room, ready since Tuesday, that keeps until Saturday.
async fn lot(farm: &Farm, crop: &str, grams: i64) -> anyhow::Result<()> {
    lot_ready(farm, crop, grams, "2026-06-02").await
}

async fn lot_ready(farm: &Farm, crop: &str, grams: i64, ready_on: &str) -> anyhow::Result<()> {
    lot_of(&farm.stage, (crop, grams), ["2026-06-01", ready_on, "2026-06-06"].map(day)).await?;
    Ok(())
}

async fn order(farm: &Farm, buyer: &str, crop: &str, grams: i64) -> anyhow::Result<()> {
    let mut tx = farm.stage.engine.store.begin().await?;
    let buyers = people::buyers(&mut tx).await?;
    let buyer_id = buyers.iter().find(|one| one.name == buyer).context("a restaurant of that name")?.id;
    let line = OneOff { buyer_id, day: day("2026-06-04"), crop: crop.into(), grams: Grams::new(grams) };
    orders::put_one_off(&mut tx, &line, (farm.stage.now(), None)).await?;
    Ok(tx.commit().await?)
}

/// The morning of the delivery: five pounds of shiitake for the Heron, two kilograms of oyster for the strange one.
async fn morning() -> anyhow::Result<(Farm, Actor)> {
    let farm = joined().await?;
    let stage = &farm.stage;
    stage.say(farm.ada, "/people").await?;
    stage.press(farm.ada, "New restaurant").await?;
    stage.say(farm.ada, STRANGE).await?;
    let pan = stage.enter(2009, "<i>Zoë</i> & \"Co\"", "pl");
    stage.start(pan, &code_in(&stage.last(farm.ada).text)).await?;
    lot(&farm, "shiitake", 4000).await?;
    lot(&farm, "oyster", 4000).await?;
    order(&farm, HERON, "shiitake", 2268).await?;
    order(&farm, STRANGE, "oyster", 2000).await?;
    stage.move_to(stage.at("2026-06-04 06:01")).await?;
    Ok((farm, pan))
}

#[tokio::test]
async fn the_packing_list_is_printed_and_tabled_from_its_card() -> anyhow::Result<()> {
    let (farm, _) = morning().await?;
    let stage = &farm.stage;
    stage.press(farm.ada, "As a table").await?;
    let table = file(stage, farm.ada)?;
    assert_eq!(table.file_name, "packing-2026-06-04.csv");
    let text = String::from_utf8(table.bytes.to_vec())?;
    // A formula is disarmed (OWASP, "CSV Injection"); quotes are doubled (RFC 4180, section 2).
    let strange = "\"'=1+1 <b>\"\"Pot\"\" & Pan</b> <script>\",oyster,2000,2026-06-01\r\n";
    has(&text, &["restaurant,crop,g,picked on\r\n", "Night Heron Noodle Bar,shiitake,2268,2026-06-01\r\n", strange]);

    stage.press(farm.ada, "Print it").await?;
    let sheet = file(stage, farm.ada)?;
    assert_eq!(sheet.file_name, "packing-2026-06-04.pdf");
    assert!(sheet.bytes.starts_with(b"%PDF-"), "a PDF");
    // The card keeps its buttons, everybody's.
    stage.press(farm.chidi, "Print it").await?;
    assert_eq!(file(stage, farm.chidi)?.file_name, "packing-2026-06-04.pdf");
    stage.press(farm.ada, "All packed as listed").await?;
    has(&stage.read(farm.chidi.0), &["all packed as listed, says Ada"]);
    farm.stage.close().await;
    Ok(())
}

/// What is markup elsewhere is plain text in every chat it reaches; a broken one would be refused (`Stage::settle`).
#[tokio::test]
async fn names_are_never_markup() -> anyhow::Result<()> {
    let (farm, pan) = morning().await?;
    let stage = &farm.stage;
    for command in ["/today", "/week", "/forecast", "/packing", "/run", "/people", "/left", "/drops"] {
        stage.say(farm.ada, command).await?;
    }
    for command in ["/help", "/orders", "/order", "/standing", "/settings", "<b>5</b> & \"kg\""] {
        stage.say(pan, command).await?;
    }
    has(&stage.read(farm.ada.0), &[STRANGE, "<i>Zoë</i> & \"Co\""]);
    for chat in [farm.ada.0, pan.0] {
        for message in stage.server.chat(chat).iter().filter(|message| message.from_bot()) {
            let name = message.text.find(STRANGE);
            let Some(start) = name.map(|at| message.text[..at].encode_utf16().count()) else { continue };
            let end = start + STRANGE.encode_utf16().count();
            let inside = |offset: usize| start < offset && offset < end;
            let cut =
                message.entities.iter().find(|entity| inside(entity.offset) || inside(entity.offset + entity.length));
            assert_eq!(cut, None, "part of the name became markup in {:?}", message.text);
        }
    }
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn the_week_comes_as_a_picture_with_its_words() -> anyhow::Result<()> {
    let (farm, _) = morning().await?;
    let stage = &farm.stage;
    let answer = stage.say(farm.chidi, "/week").await?;
    let picture = answer[0].file.clone().context("a picture")?;
    assert!(picture.is_photo && picture.bytes.starts_with(b"\x89PNG"));
    has(
        &answer[0].text,
        &["Larkrise Mushrooms", "Thursday, June 4", "shiitake: deliver 5 lb", "oyster: deliver 4 lb 7 oz"],
    );
    farm.stage.close().await;
    Ok(())
}

/// One screen: what to soak, pick, cool and carry.
#[tokio::test]
async fn today_says_what_to_start_pick_and_cool() -> anyhow::Result<()> {
    let farm = joined().await?;
    let (stage, chidi) = (&farm.stage, farm.chidi);
    stage.say(chidi, "/batch").await?;
    stage.press_first(chidi, "shiitake").await?;
    for answer in ["20", "2 lb", "cool room"] {
        stage.say(chidi, answer).await?;
    }
    let mut tx = stage.engine.store.begin().await?;
    let heron = people::buyers(&mut tx).await?.iter().find(|one| one.name == HERON).context("joined")?.id;
    let line = OneOff { buyer_id: heron, day: day("2026-06-25"), crop: "shiitake".into(), grams: Grams::new(2500) };
    orders::put_one_off(&mut tx, &line, (stage.now(), None)).await?;
    tx.commit().await?;
    lot(&farm, "oyster", 1000).await?;
    order(&farm, HERON, "oyster", 1000).await?;
    stage.move_to(stage.at("2026-06-03 08:00")).await?;
    // Half of what was promised is gone, and what was picked since is not cooled through before Friday.
    let mut tx = stage.engine.store.begin().await?;
    let lots = cold_room::lots(&mut tx).await?;
    let spoilt = Movement { kind: MoveKind::Discarded, subject: None, person_id: None, now: stage.now() };
    cold_room::take_from_lot(&mut tx, lots[0].id, Grams::new(500), &spoilt).await?;
    tx.commit().await?;
    lot_ready(&farm, "oyster", 3000, "2026-06-05").await?;
    let today = stage.say(chidi, "/today").await?[0].text.clone();
    has(
        &today,
        &[
            "To deliver tomorrow",
            "still to pick: 1 lb 2 oz oyster",
            "cooling, to be packed from Friday, June 5: 6 lb 10 oz",
        ],
    );
    has(
        &stage.say(farm.ngozi, "/coldroom").await?[0].text,
        &[
            "Together: 7 lb 11 oz oyster",
            "1 lb 2 oz oyster, picked Mon, Jun 1, keeps until Sat, Jun 6",
            "still cooling: to be packed from Friday, June 5",
            "5 °C (41 °F)",
        ],
    );
    // The soak for the twenty-fifth comes up on some day of the following fortnight, and in the week's picture before.
    assert!(!today.contains("soak"), "{today}");
    let mut seen_in_week = false;
    for date in 4..18 {
        stage.move_to(stage.at(&format!("2026-06-{date:02} 08:00"))).await?;
        seen_in_week |= stage.say(chidi, "/week").await?[0].text.contains("shiitake: soak 7 blocks");
        if stage.say(chidi, "/today").await?[0].text.contains("• soak 7 blocks (shiitake), at the latest") {
            assert!(seen_in_week, "the week showed it first");
            farm.stage.close().await;
            return Ok(());
        }
    }
    panic!("no day said what to soak");
}

/// RFC 5545 read by the icalendar library (PyPI), which nobody here wrote. Where it is not installed this says so and does
/// nothing, but never in CI.
#[tokio::test]
async fn standing_deliveries_are_read_by_another_library() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    stage.say(farm.kettle, "cada jueves 5 libras de shiitake desde el 4 de junio").await?;
    stage.press_first(farm.kettle, "Sí").await?;
    stage.say(farm.kettle, "/standing").await?;
    stage.press(farm.kettle, "Para el calendario").await?;
    let Some(read) = calendars::read(&file(stage, farm.kettle)?.bytes)? else { return Ok(()) };
    assert_eq!(read["version"], "2.0");
    let events = read["events"].as_array().context("events")?;
    // Half a year of Thursdays, 4 June to 26 November 2026.
    assert_eq!(
        (events.len(), &events[0]["start"], &events[1]["start"]),
        (26, &"2026-06-04".into(), &"2026-06-11".into())
    );
    let (first, second) = (&events[0], &events[1]);
    assert_eq!(first["summary"], "Larkrise Mushrooms: 5 lb de shiitake");
    has(first["description"].as_str().context("words")?, &["martes, 2 de junio, 6:00 p.m."]);
    assert!(first["stamp"].as_str().is_some_and(|stamp| stamp.ends_with("+00:00")), "DTSTAMP is in UTC");
    assert_ne!(first["uid"], second["uid"]);
    farm.stage.close().await;
    Ok(())
}
