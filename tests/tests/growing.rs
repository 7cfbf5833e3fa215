//! The shelves by chat: a batch from its first day to its last, and everything that is refused on the way.

use pinset::conversation::Desk;
use pinset::conversation::growing::{self, Ask};
use pinset::stage::{Actor, Stage};
use pinset_tests::farm::{Farm, joined};
use scheduler::clock::LocalDate;
use scheduler::id::Id;
use scheduler::quantity::Grams;
use scheduler::store::cold_room::{self, Lot, MoveKind, Movement};
use scheduler::store::growing::{self as record, Batch, EventKind, Flush};
use scheduler::store::{audit, people};

/// What stands in the database.
struct State {
    batches: Vec<Batch>,
    flushes: Vec<Flush>,
    spent: Vec<Id>,
    lots: Vec<Lot>,
    moved: Vec<(String, MoveKind, Grams)>,
}

async fn state(stage: &Stage) -> anyhow::Result<State> {
    let mut tx = stage.engine.store.begin_reading().await?;
    assert_eq!(audit::unbalanced_lots(&mut tx).await?, []);
    Ok(State {
        batches: record::all_batches(&mut tx).await?,
        flushes: record::all_flushes(&mut tx).await?,
        spent: record::spent_batches(&mut tx).await?,
        lots: cold_room::lots(&mut tx).await?,
        moved: cold_room::moved(&mut tx).await?,
    })
}

/// Units lost as the record has them: the sum of each day, in the order the days were written down.
async fn losses(stage: &Stage) -> anyhow::Result<Vec<(LocalDate, i64)>> {
    let mut tx = stage.engine.store.begin_reading().await?;
    let mut sums: Vec<(LocalDate, i64)> = Vec::new();
    for (_, event) in record::record_of_all(&mut tx).await? {
        if event.kind != EventKind::Lost {
            continue;
        }
        match sums.iter_mut().find(|(day, _)| *day == event.on_day) {
            Some((_, sum)) => *sum += event.units,
            None => sums.push((event.on_day, event.units)),
        }
    }
    Ok(sums)
}

/// A wish as free text makes it; what the person reads then.
async fn wish(stage: &Stage, actor: Actor, ask: Ask) -> anyhow::Result<String> {
    let mut tx = stage.engine.store.begin().await?;
    let person = people::by_chat(&mut tx, actor.0).await?.expect("the person has joined");
    let mut desk = Desk::new(tx, stage.now(), &stage.engine.house, Some(actor.0));
    growing::act(&mut desk, &person, ask).await?;
    desk.tx.commit().await?;
    stage.settle().await?;
    Ok(stage.last(actor).text)
}

fn day(text: &str) -> LocalDate {
    text.parse().expect("a day")
}

fn start(crop: &str, units: i64, room: &str) -> Ask {
    Ask::Start { crop: crop.into(), units, dry_per_unit: Grams::new(900), room: room.into() }
}

fn soaked(crop: &str) -> Ask {
    Ask::Initiate { crop: Some(crop.into()), batch: None, units: None, day: None }
}

fn picked(crop: &str, grams: i64) -> Ask {
    Ask::Picked { lines: vec![(crop.into(), Grams::new(grams))], batch: None, day: None, sure: false }
}

/// Holds that a wish is refused in these words and changes nothing.
async fn refused(stage: &Stage, actor: Actor, ask: Ask, words: &str) -> anyhow::Result<()> {
    let before = dump(&state(stage).await?);
    let told = wish(stage, actor, ask.clone()).await?;
    assert!(told.contains(words), "{ask:?}: {words:?} in {told:?}");
    assert_eq!(dump(&state(stage).await?), before, "{ask:?}");
    Ok(())
}

fn dump(state: &State) -> String {
    let State { batches, flushes, spent, lots, moved } = state;
    format!("{batches:?} {flushes:?} {spent:?} {lots:?} {moved:?}")
}

fn has(text: &str, parts: &[&str]) {
    for part in parts {
        assert!(text.contains(part), "{part:?} in {text:?}");
    }
}

#[tokio::test]
async fn a_batch_goes_from_its_first_day_to_its_next_flush() -> anyhow::Result<()> {
    let Farm { stage, chidi, .. } = joined().await?;
    has(&stage.say(chidi, "/shelves").await?[0].text, &["There is nothing on the shelves"]);
    stage.say(chidi, "/batch").await?;
    stage.press(chidi, "shiitake").await?;
    has(&stage.say(chidi, "many").await?[0].text, &["between 1 and 10,000"]);
    stage.say(chidi, "40 blocks").await?;
    has(&stage.last(chidi).text, &["40 blocks", "5 lb at 60 %"]);
    has(&stage.say(chidi, "5 lb at 0 %").await?[0].text, &["between 1 and 95"]);
    has(&stage.say(chidi, "heavy").await?[0].text, &["Please write a weight"]);
    has(&stage.say(chidi, "5 lb at 60 %").await?[0].text, &["2 lb dry in each", "Which room?"]);
    stage.say(chidi, "North room").await?;
    has(
        &stage.last(chidi).text,
        &["2 lb dry in each", "shiitake, 40 blocks, North room", "flush 1 of 4", "To be soaked"],
    );
    let now = state(&stage).await?;
    assert_eq!(now.batches.len(), 1);
    let batch = &now.batches[0];
    // 5 lb are 2268 g; four tenths of them are dry.
    assert_eq!((batch.units, batch.dry_per_unit, batch.started_on), (40, Grams::new(907), day("2026-06-01")));

    stage.press(chidi, "Soaked today").await?;
    has(&stage.last(chidi).text, &["Written down: soaked", "Soaked: today"]);
    stage.move_to(stage.at("2026-06-06 09:00")).await?;
    stage.press(chidi, "Pins today").await?;
    has(&stage.read(chidi.0), &["Written down: pins", "Pins: today", "Soaked: Monday"]);
    stage.press(chidi, "Undo").await?;
    assert_eq!(state(&stage).await?.flushes[0].pins_on, None, "{}", stage.last(chidi).text);
    stage.press(chidi, "Pins today").await?;
    stage.move_to(stage.at("2026-06-10 18:30")).await?;
    stage.say(chidi, "/pick").await?;
    has(&stage.last(chidi).text, &["How much was picked of shiitake, 40 blocks, North room?"]);
    stage.say(chidi, "4 lb").await?;
    has(
        &stage.last(chidi).text,
        &["Picked 4 lb shiitake (shiitake, 40 blocks", "To be packed from: tomorrow", "so far: 4 lb"],
    );
    let now = state(&stage).await?;
    assert_eq!(now.flushes[0].picked, [(day("2026-06-10"), Grams::new(1814))]);
    assert_eq!(now.flushes[0].pins_on, Some(day("2026-06-06")));
    let lot = &now.lots[0];
    assert_eq!((lot.picked, lot.left, lot.ready_on), (Grams::new(1814), Grams::new(1814), day("2026-06-11")));
    assert_eq!((lot.keeps_until, lot.flush_id), (day("2026-06-20"), Some(now.flushes[0].id)));

    stage.press(chidi, "Lost…").await?;
    has(&stage.say(chidi, "50").await?[0].text, &["only 40 blocks left"]);
    stage.say(chidi, "3 blocks").await?;
    has(&stage.last(chidi).text, &["lost 3 blocks", "37 blocks", "Lost: 3 blocks"]);
    stage.press(chidi, "Undo").await?;
    has(&stage.last(chidi).text, &["Taken back", "shiitake, 40 blocks"]);
    stage.say(chidi, "lost 3 blocks of shiitake yesterday").await?;
    has(&stage.last(chidi).text, &["lost 3 blocks, yesterday", "37 blocks"]);
    stage.press(chidi, "Undo").await?;
    assert_eq!(losses(&stage).await?, [(day("2026-06-10"), 0), (day("2026-06-09"), 0)], "each on its own day");
    wish(&stage, chidi, Ask::Lost { crop: Some("shiitake".into()), batch: None, units: 2, day: None }).await?;

    stage.press(chidi, "Flush is over").await?;
    has(
        &stage.last(chidi).text,
        &["Flush 1 is over: 4 lb in all", "38 blocks", "flush 2 of 4", "Resting since: today"],
    );
    let now = state(&stage).await?;
    assert_eq!(now.flushes.len(), 2);
    assert_eq!((now.flushes[1].number, now.flushes[1].initiated_on, now.flushes[1].units_lost), (2, None, 2));
    assert_eq!(now.flushes[0].closed_on, Some(day("2026-06-10")));
    stage.press(chidi, "Undo").await?;
    has(&stage.last(chidi).text, &["flush 1 of 4", "Picked so far: 4 lb"]);
    assert_eq!(state(&stage).await?.flushes.len(), 1);
    let batch = now.batches[0].id;
    for number in 1..=3 {
        wish(&stage, chidi, Ask::LastPick { batch }).await?;
        refused(&stage, chidi, Ask::LastPick { batch }, "is resting").await?;
        refused(&stage, chidi, picked("shiitake", 1000), "is resting").await?;
        let told = wish(&stage, chidi, soaked("shiitake")).await?;
        has(&told, &[&format!("flush {} of 4", number + 1)]);
    }
    has(&wish(&stage, chidi, Ask::LastPick { batch }).await?, &["That was the last one", "spent"]);
    assert_eq!(state(&stage).await?.spent, [batch]);
    stage.press(chidi, "Undo").await?;
    assert!(state(&stage).await?.spent.is_empty());
    stage.press(chidi, "Spent…").await?;
    stage.press(chidi, "Yes").await?;
    has(&stage.last(chidi).text, &["Written down: spent"]);
    refused(&stage, chidi, Ask::LastPick { batch }, "that batch is spent").await?;
    refused(&stage, chidi, picked("shiitake", 1000), "There is no shiitake on the shelves").await?;
    stage.close().await;
    Ok(())
}

#[tokio::test]
async fn a_pick_is_taken_back_while_it_is_all_there() -> anyhow::Result<()> {
    let Farm { stage, chidi, .. } = joined().await?;
    wish(&stage, chidi, start("shiitake", 40, "North room")).await?;
    wish(&stage, chidi, soaked("shiitake")).await?;
    wish(&stage, chidi, picked("shiitake", 2000)).await?;
    stage.press(chidi, "Undo").await?;
    has(&stage.last(chidi).text, &["Taken back: 4 lb 7 oz shiitake"]);
    let now = state(&stage).await?;
    assert!(now.lots.is_empty());
    assert_eq!(now.moved, [("shiitake".to_owned(), MoveKind::Corrected, Grams::new(2000))]);
    assert_eq!(now.flushes[0].picked, [(day("2026-06-01"), Grams::ZERO)]);
    // The same weight again is no second telling of what was taken back.
    has(&wish(&stage, chidi, picked("shiitake", 2000)).await?, &["Picked 4 lb 7 oz shiitake"]);
    let lot = state(&stage).await?.lots[0].id;
    let mut tx = stage.engine.store.begin().await?;
    let movement = Movement { kind: MoveKind::Market, subject: None, person_id: None, now: stage.now() };
    cold_room::take_from_lot(&mut tx, lot, Grams::new(500), &movement).await?;
    tx.commit().await?;
    let before = dump(&state(&stage).await?);
    stage.press(chidi, "Undo").await?;
    has(&stage.last(chidi).text, &["some of it has left the cold room"]);
    assert_eq!(dump(&state(&stage).await?), before);
    stage.close().await;
    Ok(())
}

#[tokio::test]
async fn an_unlikely_pick_is_asked_about() -> anyhow::Result<()> {
    let Farm { stage, ada, chidi, .. } = joined().await?;
    wish(&stage, chidi, start("shiitake", 40, "North room")).await?;
    wish(&stage, chidi, soaked("shiitake")).await?;
    wish(&stage, chidi, picked("shiitake", 2000)).await?;
    refused(&stage, ada, picked("shiitake", 2000), "Is this another pick?").await?;
    stage.press(ada, "No").await?;
    has(&stage.last(ada).text, &["nothing was written down"]);
    // 40 times 900 g dry are 36 kg.
    refused(&stage, ada, picked("shiitake", 35_000), "more than its dry weight").await?;
    stage.press(ada, "Yes").await?;
    has(&stage.last(ada).text, &["Picked 77 lb 3 oz shiitake"]);
    assert_eq!(state(&stage).await?.lots.len(), 2);
    stage.close().await;
    Ok(())
}

#[tokio::test]
async fn the_person_chooses_where_several_could_be_meant() -> anyhow::Result<()> {
    let Farm { stage, chidi, .. } = joined().await?;
    wish(&stage, chidi, start("shiitake", 40, "North room")).await?;
    wish(&stage, chidi, start("shiitake", 20, "South room")).await?;
    wish(&stage, chidi, start("oyster", 12, "South room")).await?;
    refused(&stage, chidi, soaked("shiitake"), "Which batch do you mean?").await?;
    stage.press(chidi, "shiitake, 40 blocks, North room (since today)").await?;
    has(&stage.last(chidi).text, &["Written down: soaked", "North room"]);
    // Only one still waits.
    has(&wish(&stage, chidi, soaked("shiitake")).await?, &["South room", "Soaked: today"]);
    refused(&stage, chidi, soaked("shiitake"), "has been soaked or opened already").await?;
    let opened = |units| Ask::Initiate { crop: Some("oyster".into()), batch: None, units: Some(units), day: None };
    refused(&stage, chidi, opened(6), "A batch is opened as a whole, and this one has 12 bags").await?;
    stage.press(chidi, "Opened 12 bags").await?;
    has(&stage.last(chidi).text, &["Opened: today"]);
    let lines = vec![("oyster".to_owned(), Grams::new(900)), ("shiitake".to_owned(), Grams::new(1500))];
    let ask = Ask::Picked { lines, batch: None, day: None, sure: false };
    refused(&stage, chidi, ask, "From which batch: 3 lb 5 oz shiitake?").await?;
    stage.press(chidi, "shiitake, 20 blocks, South room (soaked today)").await?;
    has(&stage.last(chidi).text, &["Picked 2 lb oyster", "(shiitake, 20 blocks"]);
    assert_eq!(state(&stage).await?.lots.len(), 2);
    stage.press(chidi, "Undo").await?;
    assert!(state(&stage).await?.lots.is_empty());
    stage.say(chidi, "/shelves").await?;
    has(&stage.last(chidi).text, &["On the shelves", "shiitake, 40 blocks, North room", "oyster, 12 bags, South room"]);
    refused(&stage, chidi, Ask::Pins { crop: None, batch: None, day: None }, "Which batch").await?;
    stage.press(chidi, "oyster, 12 bags, South room (opened today)").await?;
    has(&stage.last(chidi).text, &["Written down: pins"]);
    for number in 0..6 {
        wish(&stage, chidi, start("shiitake", 10 + number, "West room")).await?;
    }
    stage.say(chidi, "/shelves").await?;
    has(&stage.last(chidi).text, &["Page 1 of 2"]);
    stage.press(chidi, "More →").await?;
    has(&stage.last(chidi).text, &["Page 2 of 2", "oyster, 12 bags"]);
    stage.close().await;
    Ok(())
}

#[tokio::test]
async fn what_cannot_be_is_refused_and_changes_nothing() -> anyhow::Result<()> {
    let Farm { stage, chidi, ngozi, heron, .. } = joined().await?;
    let at = |on: &str| Some(day(on));
    let nameko = || Some("nameko".to_owned());
    let shiitake = || Some("shiitake".to_owned());
    refused(&stage, chidi, start("nameko", 10, "x"), "nameko").await?;
    refused(&stage, chidi, start("shiitake", 0, "x"), "between 1 and 10,000").await?;
    refused(&stage, chidi, start("shiitake", i64::MAX, "x"), "between 1 and 10,000").await?;
    refused(&stage, chidi, start("shiitake", 10, "  "), "name for the room").await?;
    refused(&stage, chidi, start("shiitake", 10, &"x".repeat(31)), "name for the room").await?;
    let heavy = Ask::Start { crop: "shiitake".into(), units: 10, dry_per_unit: Grams::new(i64::MAX), room: "x".into() };
    refused(&stage, chidi, heavy, "cannot be right").await?;
    refused(&stage, chidi, soaked("shiitake"), "There is no shiitake on the shelves").await?;
    refused(&stage, chidi, picked("nameko", 1000), "nameko").await?;
    wish(&stage, chidi, start("shiitake", 40, "North room")).await?;
    let batch = state(&stage).await?.batches[0].id;

    let initiate = |units, day| Ask::Initiate { crop: shiitake(), batch: None, units, day };
    refused(&stage, chidi, initiate(None, at("2026-06-02")), "still to come").await?;
    refused(&stage, chidi, initiate(None, at("2026-05-31")), "was before that").await?;
    refused(&stage, chidi, initiate(Some(0), None), "between 1 and 10,000").await?;
    refused(&stage, chidi, initiate(Some(10), None), "A batch is soaked as a whole, and this one has 40 blocks")
        .await?;
    refused(&stage, chidi, initiate(Some(50), None), "this one has 40 blocks").await?;
    refused(&stage, chidi, picked("shiitake", 1000), "has not been soaked yet").await?;
    refused(&stage, chidi, Ask::Pins { crop: shiitake(), batch: None, day: None }, "has not been soaked yet").await?;
    refused(&stage, chidi, Ask::LastPick { batch }, "has not been soaked yet").await?;
    stage.move_to(stage.at("2026-06-03 09:00")).await?;
    wish(&stage, chidi, initiate(Some(40), at("2026-06-02"))).await?;
    refused(&stage, chidi, initiate(None, None), "was already soaked").await?;

    let pick = |grams, day| Ask::Picked {
        lines: vec![("shiitake".into(), Grams::new(grams))],
        batch: Some(batch),
        day,
        sure: true,
    };
    refused(&stage, chidi, pick(1000, at("2026-06-01")), "was before that").await?;
    refused(&stage, chidi, pick(1000, at("2026-06-04")), "still to come").await?;
    for grams in [0, -5, i64::MIN] {
        refused(&stage, chidi, pick(grams, None), "too little").await?;
    }
    refused(&stage, chidi, pick(i64::MAX, None), "more than I may write down").await?;
    // 40 times 900 g dry give three times that at the very most: 108 kg.
    refused(&stage, chidi, pick(108_001, None), "please check the scale").await?;
    let oyster =
        Ask::Picked { lines: vec![("oyster".into(), Grams::new(500))], batch: Some(batch), day: None, sure: true };
    refused(&stage, chidi, oyster, "that batch is not oyster").await?;
    let nowhere = Ask::Picked {
        lines: vec![("shiitake".into(), Grams::new(500))],
        batch: Some(Id::new(7)),
        day: None,
        sure: true,
    };
    refused(&stage, chidi, nowhere, "I don't know that batch").await?;
    // One bad line refuses the whole pick.
    let lines = vec![("shiitake".into(), Grams::new(500)), ("nameko".into(), Grams::new(500))];
    refused(&stage, chidi, Ask::Picked { lines, batch: None, day: None, sure: true }, "nameko").await?;
    let lines = vec![("shiitake".into(), Grams::new(60_000)), ("shiitake".into(), Grams::new(60_000))];
    refused(&stage, chidi, Ask::Picked { lines, batch: None, day: None, sure: true }, "check the scale").await?;

    let pins = |day| Ask::Pins { crop: None, batch: Some(batch), day };
    refused(&stage, chidi, pins(at("2026-06-01")), "was before that").await?;
    refused(&stage, chidi, pins(at("2026-06-04")), "still to come").await?;
    wish(&stage, chidi, pins(None)).await?;
    refused(&stage, chidi, pins(None), "pins are already written down").await?;
    refused(&stage, chidi, Ask::UndoInitiate { batch }, "can no longer be taken back").await?;
    refused(&stage, chidi, Ask::UndoStart { batch }, "can no longer be taken back").await?;
    for (units, words) in [(41, "only 40 blocks left"), (0, "between 1"), (-1, "between 1"), (i64::MAX, "between 1")] {
        refused(&stage, chidi, Ask::Lost { crop: shiitake(), batch: None, units, day: None }, words).await?;
    }
    refused(&stage, chidi, Ask::Lost { crop: nameko(), batch: None, units: 1, day: None }, "nameko").await?;
    let lost = |day| Ask::Lost { crop: shiitake(), batch: None, units: 1, day };
    refused(&stage, chidi, lost(at("2026-06-04")), "still to come").await?;
    refused(&stage, chidi, lost(at("2026-05-01")), "was before that").await?;
    refused(&stage, chidi, Ask::UndoLost { batch, units: 1, lost: 1, day: None }, "can no longer be taken back")
        .await?;
    refused(&stage, chidi, Ask::UndoPick { lots: vec![Id::new(1)] }, "Nothing was changed").await?;
    refused(&stage, chidi, Ask::UndoLastPick { flush: Id::new(1) }, "can no longer be taken back").await?;
    refused(&stage, chidi, Ask::Spent { batch, sure: false }, "is it spent?").await?;

    for outsider in [ngozi, heron] {
        for command in ["/shelves", "/pick", "/batch"] {
            let told = stage.say(outsider, command).await?;
            has(&told[0].text, &["not yours to do"]);
        }
    }
    stage.close().await;
    Ok(())
}

#[tokio::test]
async fn a_mistaken_batch_and_soaking_are_taken_back() -> anyhow::Result<()> {
    let Farm { stage, chidi, .. } = joined().await?;
    wish(&stage, chidi, start("shiitake", 40, "North room")).await?;
    stage.press(chidi, "Soaked today").await?;
    stage.press(chidi, "Undo").await?;
    has(&stage.last(chidi).text, &["Taken back", "To be soaked"]);
    assert_eq!(state(&stage).await?.flushes[0].initiated_on, None);
    let batch = state(&stage).await?.batches[0].id;
    wish(&stage, chidi, Ask::UndoStart { batch }).await?;
    has(&stage.last(chidi).text, &["It is off the shelves"]);
    assert_eq!(state(&stage).await?.spent, [batch]);
    // A flush of which the record speaks stays, also when what was said of it was taken back.
    wish(&stage, chidi, start("oyster", 12, "South room")).await?;
    wish(&stage, chidi, soaked("oyster")).await?;
    let flush = state(&stage).await?.flushes.last().expect("a flush").clone();
    wish(&stage, chidi, Ask::LastPick { batch: flush.batch_id }).await?;
    wish(&stage, chidi, soaked("oyster")).await?;
    wish(&stage, chidi, Ask::UndoInitiate { batch: flush.batch_id }).await?;
    refused(&stage, chidi, Ask::UndoLastPick { flush: flush.id }, "can no longer be taken back").await?;
    stage.close().await;
    Ok(())
}

#[tokio::test]
async fn the_grower_works_in_spanish_and_kilograms() -> anyhow::Result<()> {
    let Farm { stage, chidi, .. } = joined().await?;
    stage.say(chidi, "/settings").await?;
    stage.press(chidi, "Español").await?;
    stage.press(chidi, "kg y g").await?;
    stage.say(chidi, "/batch").await?;
    stage.press(chidi, "ostra").await?;
    stage.say(chidi, "12").await?;
    has(&stage.last(chidi).text, &["12 bolsas", "5 libras al 60 %"]);
    stage.say(chidi, "5 kg al 60 %").await?;
    has(&stage.last(chidi).text, &["2 kg en seco", "¿En qué cuarto?"]);
    stage.say(chidi, "Cuarto sur").await?;
    has(&stage.last(chidi).text, &["Anotado: lote nuevo", "ostra, 12 bolsas, Cuarto sur", "oleada 1 de", "Por abrir"]);
    stage.press(chidi, "Abierto hoy").await?;
    has(&stage.last(chidi).text, &["Anotado: abierto", "Abierto: hoy"]);
    stage.say(chidi, "/pick").await?;
    has(&stage.last(chidi).text, &["¿cuánto se cosechó?"]);
    stage.press(chidi, "4 kg").await?;
    has(
        &stage.last(chidi).text,
        &["Cosechado: 4 kg de ostra (ostra, 12 bolsas", "En la cámara fría", "Cosechado hasta ahora: 4 kg"],
    );
    assert_eq!(state(&stage).await?.lots[0].left, Grams::new(4000));
    stage.press(chidi, "Deshacer").await?;
    has(&stage.last(chidi).text, &["Deshecho: 4 kg de ostra"]);
    assert!(state(&stage).await?.lots.is_empty());
    refused(&stage, chidi, picked("shiitake", 1000), "No hay shiitake en los estantes").await?;
    refused(&stage, chidi, picked("oyster", 90_000), "revisa la báscula").await?;
    stage.press(chidi, "Estantes").await?;
    has(&stage.last(chidi).text, &["En los estantes", "ostra, 12 bolsas"]);
    stage.close().await;
    Ok(())
}
