//! A restaurant's orders by chat: one delivery, standing orders, undoing, and what is refused.

use anyhow::Context;
use chrono::Weekday;
use pinset::config::{Config, SAMPLE};
use pinset::conversation::ordering::{Ask, Beside, View};
use pinset::conversation::{self, Desk};
use pinset::intent::Intent;
use pinset::stage::{Actor, Stage};
use pinset_tests::farm::{Farm, HERON, START, code_in, joined, joined_at};
use scheduler::clock::LocalDate;
use scheduler::id::Id;
use scheduler::quantity::Grams;
use scheduler::store::deliveries::{self, Award, Closed, Source, State, Why};
use scheduler::store::orders::{self, Standing};
use scheduler::store::people;

/// 5 lb and 2 lb in grams: 1 lb = 453.59237 g (NIST SP 811, appendix B).
const FIVE_POUNDS: Grams = Grams::new(2268);
const TWO_POUNDS: Grams = Grams::new(907);

fn day(text: &str) -> LocalDate {
    text.parse().expect("a date")
}

fn lines(lines: &[(&str, Grams)]) -> Vec<(String, Grams)> {
    lines.iter().map(|(crop, grams)| ((*crop).to_owned(), *grams)).collect()
}

/// What free text comes to: the wish goes the production way from there on. The chat's newest message.
async fn wish(stage: &Stage, actor: Actor, ask: Ask) -> anyhow::Result<String> {
    let engine = &stage.engine;
    let mut desk = Desk::new(engine.store.begin().await?, stage.now(), &engine.house, Some(actor.0));
    let person = people::by_chat(&mut desk.tx, actor.0).await?.context("joined")?;
    conversation::act(&mut desk, &person, Intent::Ordering(ask)).await?;
    desk.tx.commit().await?;
    engine.outbox_filled.notify_one();
    stage.settle().await?;
    Ok(stage.last(actor).text)
}

async fn press(stage: &Stage, actor: Actor, label: &str) -> anyhow::Result<String> {
    stage.press(actor, label).await?;
    Ok(stage.last(actor).text)
}

async fn buyer_of(stage: &Stage, actor: Actor) -> anyhow::Result<Id> {
    let mut tx = stage.engine.store.begin_reading().await?;
    let person = people::by_chat(&mut tx, actor.0).await?.context("joined")?;
    person.buyer_id.context("a buyer")
}

/// One-off lines as stored: "2026-06-04 shiitake 2268".
async fn once(stage: &Stage, actor: Actor) -> anyhow::Result<Vec<String>> {
    let buyer_id = buyer_of(stage, actor).await?;
    let mut tx = stage.engine.store.begin_reading().await?;
    let lines = orders::one_off_of_buyer(&mut tx, buyer_id, day("2026-01-01")).await?;
    Ok(lines.iter().map(|line| format!("{} {} {}", line.day, line.crop, line.grams.get())).collect())
}

async fn standing(stage: &Stage, actor: Actor) -> anyhow::Result<Vec<Standing>> {
    let buyer_id = buyer_of(stage, actor).await?;
    let mut tx = stage.engine.store.begin_reading().await?;
    Ok(orders::standing_of_buyer(&mut tx, buyer_id).await?)
}

/// What standing orders ask from 1 June to 9 July: "06-04 shiitake 2268".
async fn due(stage: &Stage, actor: Actor) -> anyhow::Result<Vec<String>> {
    let buyer_id = buyer_of(stage, actor).await?;
    let mut desk = Desk::new(stage.engine.store.begin_reading().await?, stage.now(), &stage.engine.house, None);
    let asked = scheduler::farm::asked::between(&mut desk.farm(), day("2026-06-01"), day("2026-07-09")).await?;
    let its = asked.iter().filter(|line| line.buyer_id == buyer_id && line.source == Source::Standing);
    Ok(its.map(|line| format!("{} {} {}", line.day.format("%m-%d"), line.crop, line.grams.get())).collect())
}

fn weekly(crop: &str, grams: Grams) -> Ask {
    Ask::Standing {
        lines: lines(&[(crop, grams)]),
        every_weeks: 1,
        weekdays: vec![],
        from: None,
        until: None,
        sure: true,
    }
}

fn place(crop: &str, grams: Grams, on: Option<&str>) -> Ask {
    Ask::Place { lines: lines(&[(crop, grams)]), day: on.map(day), beside: None, sure: true }
}

fn has(text: &str, parts: &[&str]) {
    for part in parts {
        assert!(text.contains(part), "{part:?} in {text:?}");
    }
}

async fn second_contact(farm: &Farm) -> anyhow::Result<Actor> {
    let stage = &farm.stage;
    stage.say(farm.ada, "/people").await?;
    stage.press(farm.ada, HERON).await?;
    let code = code_in(&stage.last(farm.ada).text);
    let jo = stage.enter(2101, "Jo", "es-MX");
    stage.start(jo, &code).await?;
    Ok(jo)
}

#[tokio::test]
async fn an_order_is_said_back_confirmed_changed_and_taken_back() -> anyhow::Result<()> {
    let farm = joined().await?;
    let (stage, heron) = (&farm.stage, farm.heron);
    let both = lines(&[("shiitake", FIVE_POUNDS), ("oyster", TWO_POUNDS)]);
    let ask = Ask::Place { lines: both, day: Some(day("2026-06-04")), beside: None, sure: false };
    let answer = wish(stage, heron, ask).await?;
    has(&answer, &["5 lb shiitake", "2 lb oyster", "Thursday, June 4", "Tuesday, June 2 at 6:00 PM", "Is that right?"]);
    assert!(once(stage, heron).await?.is_empty(), "nothing is ordered before it is confirmed");
    let answer = press(stage, heron, "Yes, that's right").await?;
    has(
        &answer,
        &["Done.", "Thursday, June 4", "5 lb shiitake", "2 lb oyster", "Orders close Tuesday, June 2 at 6:00 PM"],
    );
    assert_eq!(once(stage, heron).await?, ["2026-06-04 oyster 907", "2026-06-04 shiitake 2268"]);

    let answer = wish(stage, heron, place("shiitake", TWO_POUNDS, Some("2026-06-04"))).await?;
    has(&answer, &["2 lb shiitake", "2 lb oyster"]);
    assert_eq!(once(stage, heron).await?, ["2026-06-04 oyster 907", "2026-06-04 shiitake 907"], "it sets, not adds");
    let answer = press(stage, heron, "Undo").await?;
    has(&answer, &["Taken back", "5 lb shiitake"]);
    assert_eq!(once(stage, heron).await?, ["2026-06-04 oyster 907", "2026-06-04 shiitake 2268"]);
    has(&wish(stage, heron, Ask::Undo { change: None }).await?, &["no change to take back"]);

    let withdraw = Ask::Withdraw { day: None, crop: Some("oyster".into()), sure: false };
    has(&wish(stage, heron, withdraw).await?, &["Take back 2 lb oyster"]);
    press(stage, heron, "Yes, that's right").await?;
    assert_eq!(once(stage, heron).await?, ["2026-06-04 shiitake 2268"]);
    let change = Ask::Change { lines: lines(&[("oyster", FIVE_POUNDS)]), day: None, sure: false };
    has(&wish(stage, heron, change).await?, &["5 lb oyster in all"]);
    has(&press(stage, heron, "No, change it").await?, &["Nothing was changed", "5 lb shiitake"]);
    assert_eq!(once(stage, heron).await?, ["2026-06-04 shiitake 2268"]);
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn the_card_orders_by_buttons_in_spanish() -> anyhow::Result<()> {
    let farm = joined().await?;
    let (stage, kettle) = (&farm.stage, farm.kettle);
    stage.say(kettle, "/order").await?;
    has(
        &stage.last(kettle).text,
        &["jueves, 4 de junio", "Nada pedido", "Los pedidos cierran: martes, 2 de junio, 6:00 p.m."],
    );
    let messages = stage.server.chat(kettle.0).len();
    press(stage, kettle, "+ shiitake").await?;
    press(stage, kettle, "+ shiitake").await?;
    let answer = press(stage, kettle, "+ ostra").await?;
    has(&answer, &["Listo.", "2 lb de shiitake", "1 lb de ostra"]);
    assert_eq!(stage.server.chat(kettle.0).len(), messages, "the card is edited in place");
    press(stage, kettle, "− ostra").await?;
    assert_eq!(once(stage, kettle).await?, ["2026-06-04 shiitake 907"]);
    has(&press(stage, kettle, "Deshacer").await?, &["Deshecho", "Nada pedido"]);
    assert!(once(stage, kettle).await?.is_empty(), "small steps are taken back together");

    press(stage, kettle, "+ shiitake").await?;
    press(stage, kettle, "Otra fecha").await?;
    press(stage, kettle, "jue, 11 jun").await?;
    has(&press(stage, kettle, "Lo mismo que la última vez").await?, &["jueves, 11 de junio", "1 lb de shiitake"]);
    assert_eq!(once(stage, kettle).await?, ["2026-06-04 shiitake 454", "2026-06-11 shiitake 454"]);
    has(&press(stage, kettle, "Nada esta vez").await?, &["Nada pedido"]);
    assert_eq!(once(stage, kettle).await?, ["2026-06-04 shiitake 454"]);
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn a_standing_order_is_made_by_buttons_and_one_date_skipped_and_changed() -> anyhow::Result<()> {
    let farm = joined().await?;
    let (stage, heron) = (&farm.stage, farm.heron);
    stage.say(heron, "/standing").await?;
    has(&stage.last(heron).text, &["Standing orders", "None yet"]);
    press(stage, heron, "New standing order").await?;
    press(stage, heron, "shiitake").await?;
    has(&stage.last(heron).text, &["How much shiitake"]);
    press(stage, heron, "5 lb").await?;
    press(stage, heron, "Every week").await?;
    has(&stage.last(heron).text, &["5 lb shiitake, every Thursday, from Thursday, June 4 on"]);
    assert!(standing(stage, heron).await?.is_empty());
    has(
        &press(stage, heron, "Yes, that's right").await?,
        &["Done.", "5 lb shiitake, every Thursday", "Next: Thursday, June 4"],
    );
    let all = ["06-04", "06-11", "06-18", "06-25", "07-02", "07-09"];
    assert_eq!(due(stage, heron).await?, all.map(|date| format!("{date} shiitake 2268")));

    press(stage, heron, "5 lb shiitake").await?;
    has(&press(stage, heron, "Skip Thu, Jun 4").await?, &["Thursday, June 4", "Nothing ordered"]);
    assert_eq!(
        due(stage, heron).await?,
        all[1..].iter().map(|date| format!("{date} shiitake 2268")).collect::<Vec<_>>()
    );
    press(stage, heron, "Undo").await?;
    assert_eq!(due(stage, heron).await?.len(), 6);

    let change = Ask::Change { lines: lines(&[("shiitake", TWO_POUNDS)]), day: Some(day("2026-06-11")), sure: true };
    has(&wish(stage, heron, change).await?, &["2 lb shiitake (standing order, usually 5 lb)"]);
    assert_eq!(due(stage, heron).await?[..3], ["06-04 shiitake 2268", "06-11 shiitake 907", "06-18 shiitake 2268"]);

    stage.say(heron, "/standing").await?;
    has(&stage.last(heron).text, &["Thursday, June 11: 2 lb this once"]);
    press(stage, heron, "5 lb shiitake").await?;
    has(&press(stage, heron, "+ shiitake").await?, &["6 lb shiitake, every Thursday"]);
    press(stage, heron, "Another weight").await?;
    let answer = &stage.say(heron, "7").await?[0];
    has(&answer.text, &["again with the unit"]);
    stage.say(heron, "8 lb").await?;
    has(&stage.last(heron).text, &["Done.", "8 lb shiitake, every Thursday"]);
    assert_eq!(due(stage, heron).await?[..2], ["06-04 shiitake 3629", "06-11 shiitake 907"]);
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn every_second_week_rests_and_ends_in_spanish() -> anyhow::Result<()> {
    let farm = joined().await?;
    let (stage, kettle) = (&farm.stage, farm.kettle);
    let ask = Ask::Standing {
        lines: lines(&[("oyster", TWO_POUNDS)]),
        every_weeks: 2,
        weekdays: vec![Weekday::Thu],
        from: Some(day("2026-06-08")),
        until: None,
        sure: false,
    };
    has(&wish(stage, kettle, ask).await?, &["2 lb de ostra, cada dos semanas: jueves, desde el jueves, 11 de junio"]);
    press(stage, kettle, "Sí, correcto").await?;
    assert_eq!(due(stage, kettle).await?, ["06-11 oyster 907", "06-25 oyster 907", "07-09 oyster 907"]);

    press(stage, kettle, "Pausar").await?;
    has(&stage.last(kettle).text, &["¿Cuándo empiezan otra vez?"]);
    has(&press(stage, kettle, "Otra vez desde jue, 25 jun").await?, &["En pausa hasta el jueves, 25 de junio"]);
    assert_eq!(due(stage, kettle).await?, ["06-25 oyster 907", "07-09 oyster 907"]);
    has(&press(stage, kettle, "Empezar otra vez").await?, &["Próxima entrega: jueves, 11 de junio"]);
    assert_eq!(due(stage, kettle).await?.len(), 3);
    let early = Ask::Pause { from: None, until: Some(day("2026-06-03")), sure: true };
    has(&wish(stage, kettle, early).await?, &["no saltaría nada", "jueves, 4 de junio"]);
    let open_end = Ask::Pause { from: None, until: None, sure: false };
    wish(stage, kettle, open_end).await?;
    has(&press(stage, kettle, "Hasta que avise").await?, &["En pausa hasta que avises"]);
    assert!(due(stage, kettle).await?.is_empty());
    wish(stage, kettle, Ask::Resume).await?;

    has(
        &wish(stage, kettle, Ask::End { crop: None, sure: false }).await?,
        &["¿Terminar tu pedido fijo de 2 lb de ostra?"],
    );
    has(&press(stage, kettle, "Sí, correcto").await?, &["Todavía no tienes"]);
    assert!(standing(stage, kettle).await?.is_empty());
    press(stage, kettle, "Deshacer").await?;
    assert_eq!(due(stage, kettle).await?, ["06-11 oyster 907", "06-25 oyster 907", "07-09 oyster 907"]);
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn beside_a_standing_order_it_is_asked_which() -> anyhow::Result<()> {
    let farm = joined().await?;
    let (stage, heron) = (&farm.stage, farm.heron);
    wish(stage, heron, weekly("shiitake", FIVE_POUNDS)).await?;
    let answer = wish(stage, heron, place("shiitake", TWO_POUNDS, Some("2026-06-04"))).await?;
    has(&answer, &["already brings 5 lb shiitake", "Is 2 lb shiitake in place of it or on top?"]);
    assert!(once(stage, heron).await?.is_empty());
    has(&press(stage, heron, "On top of it").await?, &["5 lb shiitake (standing order)", "2 lb shiitake\n"]);
    assert_eq!(once(stage, heron).await?, ["2026-06-04 shiitake 907"]);
    press(stage, heron, "Undo").await?;
    wish(stage, heron, place("shiitake", TWO_POUNDS, Some("2026-06-04"))).await?;
    has(&press(stage, heron, "In place of it").await?, &["2 lb shiitake (standing order, usually 5 lb)"]);
    assert!(once(stage, heron).await?.is_empty());
    assert_eq!(due(stage, heron).await?[..2], ["06-04 shiitake 907", "06-11 shiitake 2268"]);

    // A new standing order for the same crop and dates takes the old one's place, and undoing brings that back.
    let on_top = Ask::Place {
        lines: lines(&[("shiitake", TWO_POUNDS)]),
        day: Some(day("2026-06-11")),
        beside: Some(Beside::OnTop),
        sure: true,
    };
    wish(stage, heron, on_top).await?;
    wish(stage, heron, weekly("shiitake", TWO_POUNDS)).await?;
    assert_eq!(standing(stage, heron).await?.len(), 1);
    assert_eq!(due(stage, heron).await?[..2], ["06-04 shiitake 907", "06-11 shiitake 907"]);
    press(stage, heron, "Undo").await?;
    assert_eq!(due(stage, heron).await?[..2], ["06-04 shiitake 907", "06-11 shiitake 2268"]);
    assert_eq!(once(stage, heron).await?, ["2026-06-11 shiitake 907"]);
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn after_cut_off_it_says_what_is_still_possible() -> anyhow::Result<()> {
    let farm = joined().await?;
    let (stage, heron, kettle) = (&farm.stage, farm.heron, farm.kettle);
    wish(stage, heron, place("shiitake", FIVE_POUNDS, None)).await?;
    stage.say(kettle, "/order").await?;
    stage.move_to(stage.at("2026-06-02 18:00")).await?;
    stage.press(heron, "Undo").await?;
    has(&stage.read(heron.0), &["Orders have closed since"]);
    assert_eq!(once(stage, heron).await?, ["2026-06-04 shiitake 2268"]);
    let answer = press(stage, kettle, "+ shiitake").await?;
    has(&answer, &["Los pedidos ya están cerrados: jueves, 4 de junio", "el jueves, 11 de junio"]);
    assert!(once(stage, kettle).await?.is_empty());

    let answer = wish(stage, heron, place("oyster", TWO_POUNDS, Some("2026-06-04"))).await?;
    has(
        &answer,
        &["Orders for Thursday, June 4, 2026 are closed", "Thursday, June 11, until Tuesday, June 9 at 6:00 PM"],
    );
    has(&press(stage, heron, "Take Thu, Jun 11").await?, &["Thursday, June 11", "2 lb oyster"]);
    assert_eq!(once(stage, heron).await?, ["2026-06-04 shiitake 2268", "2026-06-11 oyster 907"]);
    for (date, part) in [
        ("2026-06-01", "has passed"),
        ("2026-06-10", "No delivery goes out on Wednesday, June 10"),
        ("2031-06-05", "too far ahead"),
    ] {
        has(
            &wish(stage, heron, place("oyster", TWO_POUNDS, Some(date))).await?,
            &[part, "You can still order for Thursday, June 11"],
        );
    }
    let skip = Ask::Skip { day: Some(day("2026-06-04")), crop: None, sure: true };
    has(&wish(stage, heron, skip).await?, &["are closed"]);
    assert_eq!(once(stage, heron).await?, ["2026-06-04 shiitake 2268", "2026-06-11 oyster 907"]);
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn what_makes_no_sense_is_refused_with_the_limit() -> anyhow::Result<()> {
    let farm = joined().await?;
    let (stage, heron, kettle) = (&farm.stage, farm.heron, farm.kettle);
    for (grams, part) in [
        (100, "the smallest pack is 9 oz"),
        (0, "the smallest pack is 9 oz"),
        (-500, "the smallest pack is 9 oz"),
        (200_001, "can be 440 lb 15 oz at most"),
        (i64::MAX, "can be 440 lb 15 oz at most"),
    ] {
        for ask in [
            place("shiitake", Grams::new(grams), None),
            weekly("shiitake", Grams::new(grams)),
            Ask::Change { lines: lines(&[("shiitake", Grams::new(grams))]), day: None, sure: true },
        ] {
            has(&wish(stage, heron, ask).await?, &[part, "Nothing was changed"]);
        }
    }
    has(
        &wish(stage, heron, place("truffle", FIVE_POUNDS, None)).await?,
        &["We don't grow truffle", "shiitake and oyster"],
    );
    has(
        &wish(stage, kettle, place("<b>trufa</b>", FIVE_POUNDS, None)).await?,
        &["No cultivamos <b>trufa</b>", "shiitake y ostra"],
    );
    let odd = |every_weeks, weekdays, from: Option<&str>, until: Option<&str>| Ask::Standing {
        lines: lines(&[("shiitake", FIVE_POUNDS)]),
        every_weeks,
        weekdays,
        from: from.map(day),
        until: until.map(day),
        sure: true,
    };
    for (ask, part) in [
        (odd(0, vec![], None, None), "1 to 52 weeks"),
        (odd(53, vec![], None, None), "1 to 52 weeks"),
        (odd(1, vec![Weekday::Mon], None, None), "We deliver on Thursday only"),
        (odd(1, vec![], Some("2026-05-01"), None), "has passed"),
        (odd(1, vec![], None, Some("2026-06-03")), "end before its first delivery"),
        (odd(1, vec![], Some("2031-01-01"), None), "too far ahead"),
    ] {
        has(&wish(stage, heron, ask).await?, &[part]);
    }
    has(&wish(stage, heron, Ask::SameAsLast { day: None, sure: true }).await?, &["no earlier order"]);
    has(&wish(stage, heron, Ask::Skip { day: None, crop: None, sure: true }).await?, &["nothing to take off"]);
    has(&wish(stage, heron, Ask::End { crop: None, sure: true }).await?, &["no such standing order"]);
    assert!(once(stage, heron).await?.is_empty() && standing(stage, heron).await?.is_empty());
    has(&stage.say(farm.ngozi, "/order").await?[0].text, &["not yours to do"]);
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn both_contacts_see_one_order() -> anyhow::Result<()> {
    let farm = joined().await?;
    let (stage, heron) = (&farm.stage, farm.heron);
    let jo = second_contact(&farm).await?;
    stage.say(jo, "/order").await?;
    wish(stage, heron, place("shiitake", FIVE_POUNDS, None)).await?;
    let told = stage.read(jo.0);
    has(&told, &["Mina cambió el pedido:", "5 lb de shiitake", "Los pedidos cierran"]);
    assert!(!stage.read(farm.kettle.0).contains("Mina"), "other restaurants hear nothing");
    assert!(!stage.read(farm.ada.0).contains("5 lb shiitake"), "the family gets no message an order");

    // Jo's card was written before: its step would start from nothing.
    stage.press(jo, "+ shiitake").await?;
    has(&stage.read(jo.0), &["Cambió mientras tanto", "5 lb de shiitake"]);
    assert_eq!(once(stage, heron).await?, ["2026-06-04 shiitake 2268"]);
    stage.press(jo, "+ shiitake").await?;
    assert_eq!(once(stage, heron).await?, ["2026-06-04 shiitake 2722"]);
    has(&stage.read(heron.0), &["Jo changed your order:", "6 lb shiitake"]);
    // Mina's undo is for her own change, which Jo's has overtaken.
    stage.press(heron, "Undo").await?;
    has(&stage.read(heron.0), &["another change after that one"]);
    assert_eq!(once(stage, heron).await?, ["2026-06-04 shiitake 2722"]);
    stage.press(jo, "Deshacer").await?;
    assert_eq!(once(stage, heron).await?, ["2026-06-04 shiitake 2268"]);
    has(&stage.read(heron.0), &["Jo took the last change back:"]);
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn a_plus_pressed_twice_counts_twice() -> anyhow::Result<()> {
    let farm = joined().await?;
    let (stage, heron) = (&farm.stage, farm.heron);
    stage.say(heron, "/order").await?;
    stage.press_now(heron.0, heron, "+ shiitake")?;
    stage.press_now(heron.0, heron, "+ shiitake")?;
    stage.settle().await?;
    assert_eq!(once(stage, heron).await?, ["2026-06-04 shiitake 907"]);
    // The buttons of an earlier card go when a new one comes.
    stage.say(heron, "/order").await?;
    let cards = stage.server.chat(heron.0).into_iter().filter(|message| message.text.contains("Orders close"));
    assert_eq!(cards.filter(|message| !message.keyboard.is_empty()).count(), 1);
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn a_malformed_recurrence_is_told_once_and_can_be_ended() -> anyhow::Result<()> {
    let farm = joined().await?;
    let (stage, heron, kettle) = (&farm.stage, farm.heron, farm.kettle);
    let mut tx = stage.engine.store.begin().await?;
    let id = tx.new_id(stage.now());
    let buyer_id = {
        let person = people::by_chat(&mut tx, kettle.0).await?.context("joined")?;
        person.buyer_id.context("a buyer")?
    };
    let broken = Standing {
        id,
        buyer_id,
        crop: "shiitake".into(),
        usual: FIVE_POUNDS,
        recurrence: "RRULE:FREQ=SOMETIMES".into(),
        changed: Default::default(),
        paused: None,
    };
    orders::put_standing(&mut tx, &broken, (stage.now(), None)).await?;
    tx.commit().await?;
    for command in ["/standing", "/order", "/orders"] {
        let answer = stage.say(kettle, command).await?;
        has(&answer[0].text, &["Tu pedido fijo de shiitake no se puede leer"]);
    }
    let told = stage.read(farm.ada.0);
    assert_eq!(
        told.matches("The standing order of Copper Kettle Bistro for shiitake cannot be read").count(),
        1,
        "{told}"
    );
    assert!(!stage.read(heron.0).contains("cannot be read"));
    wish(stage, kettle, place("oyster", TWO_POUNDS, None)).await?;
    assert_eq!(once(stage, kettle).await?, ["2026-06-04 oyster 907"], "the rest goes on");
    stage.say(kettle, "/standing").await?;
    press(stage, kettle, "Terminar shiitake").await?;
    press(stage, kettle, "Sí, correcto").await?;
    assert!(standing(stage, kettle).await?.is_empty());
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn what_is_coming_and_what_was_are_shown() -> anyhow::Result<()> {
    let farm = joined().await?;
    let (stage, heron) = (&farm.stage, farm.heron);
    wish(stage, heron, weekly("shiitake", FIVE_POUNDS)).await?;
    stage.say(heron, "/orders").await?;
    has(&stage.last(heron).text, &["Thursday, June 4", "5 lb shiitake (standing order)", "Thursday, June 25"]);
    has(&press(stage, heron, "Later ›").await?, &["Thursday, July 2"]);
    press(stage, heron, "‹ Earlier").await?;
    has(&press(stage, heron, "What I had before").await?, &["No delivery so far"]);

    let buyer_id = buyer_of(stage, heron).await?;
    let mut tx = stage.engine.store.begin().await?;
    let on = day("2026-05-28");
    let closed = Closed {
        day: on,
        closed_at: stage.now(),
        seed: 1,
        answers_by: stage.now(),
        settled_at: None,
        shared_at: None,
        packed_at: None,
        is_packing_assumed: false,
        delivered_at: None,
    };
    deliveries::close(&mut tx, &closed).await?;
    let award = Award {
        id: tx.new_id(stage.now()),
        buyer_id,
        day: on,
        crop: "oyster".into(),
        source: Source::Once,
        asked: FIVE_POUNDS,
        promised: TWO_POUNDS,
        delivered: Some(TWO_POUNDS),
        is_assumed: false,
        state: State::Taken,
    };
    deliveries::put_award(&mut tx, &award, (Why::Weighed, None), stage.now()).await?;
    tx.commit().await?;
    let history = wish(stage, heron, Ask::Show(View::History { page: 0 })).await?;
    has(&history, &["Thursday, May 28", "oyster: asked 5 lb, promised 2 lb, delivered 2 lb"]);
    let same = Ask::SameAsLast { day: Some(day("2026-06-04")), sure: false };
    has(&wish(stage, heron, same).await?, &["5 lb oyster for Thursday, June 4"]);
    press(stage, heron, "Yes, that's right").await?;
    assert_eq!(once(stage, heron).await?, ["2026-06-04 oyster 2268"]);
    assert_eq!(due(stage, heron).await?[0], "06-04 shiitake 2268", "standing orders of other crops stay");
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn standing_deliveries_come_as_a_calendar_file() -> anyhow::Result<()> {
    let farm = joined().await?;
    let (stage, heron) = (&farm.stage, farm.heron);
    wish(stage, heron, weekly("shiitake", FIVE_POUNDS)).await?;
    wish(stage, heron, Ask::Skip { day: Some(day("2026-06-11")), crop: None, sure: true }).await?;
    stage.say(heron, "/standing").await?;
    stage.press(heron, "Calendar file").await?;
    let file = stage.last(heron).file.context("a file")?;
    assert_eq!(file.file_name, "deliveries.ics");
    let text = String::from_utf8(file.bytes.to_vec())?;
    assert!(text.ends_with("END:VCALENDAR\r\n"), "{text}");
    // RFC 5545 3.1: lines of at most 75 octets, ended by CR LF.
    assert!(text.split("\r\n").all(|line| line.len() <= 75 && !line.contains('\n')), "{text}");
    let starts: Vec<&str> = text.split("\r\n").filter_map(|line| line.strip_prefix("DTSTART;VALUE=DATE:")).collect();
    assert_eq!(starts[..3], ["20260604", "20260618", "20260625"]);
    let unfolded = text.replace("\r\n ", "");
    has(&unfolded, &["SUMMARY:Larkrise Mushrooms: 5 lb shiitake", "UID:delivery-2026-06-04-", "VERSION:2.0"]);
    assert_eq!(unfolded.matches("DTSTAMP:").count(), starts.len());
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn with_several_delivery_days_the_weekday_is_asked() -> anyhow::Result<()> {
    let text = SAMPLE.replace("weekdays = [\"Thu\"]", "weekdays = [\"Mon\", \"Thu\"]");
    let text = text.replace("cutoff = \"2 days before at 18:00\"", "cutoff = \"0 18 * * SAT,TUE\"");
    let farm = joined_at(Config::parse(&text)?, START).await?;
    let (stage, heron) = (&farm.stage, farm.heron);
    has(&wish(stage, heron, weekly("shiitake", FIVE_POUNDS)).await?, &["On which day?"]);
    press(stage, heron, "Monday").await?;
    assert_eq!(due(stage, heron).await?[..2], ["06-08 shiitake 2268", "06-15 shiitake 2268"]);
    // Another weekday of the same crop goes beside it; every delivery day takes the place of both.
    wish(stage, heron, weekly("shiitake", TWO_POUNDS)).await?;
    press(stage, heron, "Thursday").await?;
    assert_eq!(due(stage, heron).await?[..3], ["06-04 shiitake 907", "06-08 shiitake 2268", "06-11 shiitake 907"]);
    wish(stage, heron, weekly("shiitake", FIVE_POUNDS)).await?;
    press(stage, heron, "Every delivery day").await?;
    has(&stage.last(heron).text, &["every Monday and Thursday"]);
    assert_eq!(standing(stage, heron).await?.len(), 1);
    farm.stage.close().await;
    Ok(())
}
