//! The program is killed at every call it makes and started again: nothing is lost, and no message is repeated but the
//! one in flight.

use chrono_tz::America;
use pinset_tests::farm::START;
use pinset_tests::process::{Kills, Serving};
use scheduler::clock::{UtcSeconds, instant_at};
use scheduler::quantity::Grams;
use scheduler::store::deliveries;

const PROGRAM: &str = env!("CARGO_BIN_EXE_pinset-under-test");
const ADA: i64 = 1001;
const MINA: i64 = 2001;

/// How it ended.
struct Played {
    /// Everybody's chats.
    chats: Vec<Vec<String>>,
    /// How often the program was killed, and how often with a new message in flight.
    kills: u32,
    kills_at_sends: u32,
    /// How many new messages the service took.
    sends: u32,
    /// Asked, promised and delivered grams of every order.
    orders: Vec<(i64, i64, Option<i64>)>,
}

fn at(day: &str, time: &str) -> UtcSeconds {
    instant_at(day.parse().expect("a day"), time.parse().expect("a time"), America::Chicago)
}

/// The farm from its first start to its first delivery.
async fn a_delivery(kills: Kills) -> anyhow::Result<Played> {
    let serving = Serving::start(PROGRAM, START, kills).await?;
    serving.claim(ADA, "Ada").await?;
    serving.server.add_user(MINA, "Mina", Some("es"));
    serving.say(ADA, "/people").await?;
    serving.press(ADA, "New restaurant").await?;
    serving.say(ADA, "Night Heron Noodle Bar").await?;
    let link = serving.server.chat(ADA).pop().expect("an invitation").text;
    serving.say(MINA, &format!("/start {}", pinset_tests::farm::code_in(&link))).await?;
    serving.say(MINA, "/settings").await?;
    serving.press(MINA, "kg y g").await?;
    serving.say(ADA, "/batch").await?;
    serving.press(ADA, "shiitake").await?;
    for answer in ["40", "900 g", "cool room"] {
        serving.say(ADA, answer).await?;
    }
    serving.say(ADA, "soaked 40 blocks").await?;
    serving.move_to(at("2026-06-09", "07:30")).await?;
    serving.say(ADA, "picked 4 kg shiitake").await?;
    serving.press(ADA, "Shelves").await?;
    serving.say(MINA, "40 kg de shiitake para el jueves").await?;
    serving.press(MINA, "Sí, correcto").await?;
    // Orders close, the shortage is answered, the crates are packed and carried, and the rest is counted.
    serving.move_to(at("2026-06-09", "18:05")).await?;
    serving.press_first(MINA, "Quiero").await?;
    serving.move_to(at("2026-06-11", "06:10")).await?;
    serving.press(ADA, "All packed as listed").await?;
    serving.say(ADA, "/run").await?;
    serving.move_to(at("2026-06-11", "09:30")).await?;
    serving.press(ADA, "All delivered").await?;
    serving.move_to(at("2026-06-11", "13:05")).await?;
    let mut tx = serving.store().begin_reading().await?;
    let awards = deliveries::all_awards(&mut tx).await?;
    drop(tx);
    let played = Played {
        chats: vec![serving.read(ADA), serving.read(MINA)],
        kills: serving.kills(),
        kills_at_sends: serving.kills_at_sends(),
        sends: serving.sends(),
        orders: awards
            .iter()
            .map(|award| (award.asked.get(), award.promised.get(), award.delivered.map(Grams::get)))
            .collect(),
    };
    serving.stop().await?;
    Ok(played)
}

#[tokio::test]
async fn killed_before_each_call_nothing_is_lost_or_repeated() -> anyhow::Result<()> {
    let undisturbed = a_delivery(Kills::Never).await?;
    let killed = a_delivery(Kills::BeforeEachCall).await?;
    assert!(killed.kills >= undisturbed.sends, "the program was killed {} times only", killed.kills);
    assert_eq!(killed.chats, undisturbed.chats);
    assert_eq!(killed.orders, undisturbed.orders);
    assert_eq!(killed.sends, undisturbed.sends);
    Ok(())
}

#[tokio::test]
async fn killed_after_each_call_only_the_message_in_flight_is_repeated() -> anyhow::Result<()> {
    let undisturbed = a_delivery(Kills::Never).await?;
    let killed = a_delivery(Kills::AfterEachCall).await?;
    assert!(killed.kills_at_sends >= undisturbed.sends, "killed at {} messages only", killed.kills_at_sends);
    assert_eq!(killed.sends, undisturbed.sends + killed.kills_at_sends, "each message in flight comes once more");
    assert_eq!(killed.orders, undisturbed.orders);
    for (killed, undisturbed) in killed.chats.iter().zip(&undisturbed.chats) {
        let mut rest = killed.iter();
        // `any` goes on behind what it found: everything is there, in the same order.
        let missing = undisturbed.iter().find(|line| !rest.any(|one| one == *line));
        assert_eq!(missing, None, "missing from {killed:#?}");
    }
    Ok(())
}
