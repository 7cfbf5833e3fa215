//! The program is killed at random moments, again and again, while orders pour in: no acknowledged order is lost, none is
//! kept twice, nothing is said twice but what was in flight, and in the end everything is told. `PINSET_KILLS` and
//! `PINSET_POSTGRES_KILLS` choose how often.

use anyhow::ensure;
use pinset_tests::farm::START;
use pinset_tests::pouring::{config, contacts, introduce, pour_out, pour_while};
use pinset_tests::process::{Manner, Serving};
use pinset_tests::simulation::chance::Chance;
use pinset_tests::simulation::run::template_start;
use pinset_tests::simulation::setting::{BUYERS, Place};
use pinset_tests::simulation::told;
use scheduler::id::Id;
use scheduler::store::outbox;
use std::collections::BTreeMap;
use std::time::{Duration, Instant};

const PROGRAM: &str = env!("CARGO_BIN_EXE_pinset-under-test");
/// How long a killed program is let run at most once it has made its first call.
const MOMENT_MAX: Duration = Duration::from_millis(150);
fn number(name: &str) -> anyhow::Result<Option<u32>> {
    Ok(std::env::var(name).ok().map(|text| text.parse()).transpose()?)
}

/// Each message that the outbox calls sent was seen; how many were seen more often than that.
async fn seen_again(serving: &Serving) -> anyhow::Result<usize> {
    let mut tx = serving.store().begin_reading().await?;
    let rows = outbox::after(&mut tx, Id::new(0)).await?;
    drop(tx);
    // Taken, and taken again: an edit that changes nothing is refused as "not modified".
    let mut seen: BTreeMap<(i64, String), (usize, usize)> = BTreeMap::new();
    for call in serving.server.calls() {
        let (Some(chat_id), Some(text)) = (call.params["chat_id"].as_i64(), call.params["text"].as_str()) else {
            continue;
        };
        let is_same = call.answer.as_ref().is_some_and(|answer| answer.to_string().contains("not modified"));
        let (taken, same) = seen.entry((chat_id, format!("message {text}"))).or_default();
        *taken += usize::from(call.is_ok());
        *same += usize::from(is_same);
    }
    let sent = told::sent(&rows);
    ensure!(rows.iter().all(|row| row.sent_at.is_some()), "the outbox has not drained");
    for (key, recorded) in sent.iter().filter(|((_, content), _)| content.starts_with("message ")) {
        let (taken, same) = seen.get(key).copied().unwrap_or_default();
        ensure!(taken + same >= *recorded, "{key:?} is recorded as sent {recorded} times and was seen {taken}");
    }
    let again = |(key, (taken, _)): (&(i64, String), &(usize, usize))| {
        taken.saturating_sub(sent.get(key).copied().unwrap_or_default())
    };
    Ok(seen.iter().map(again).sum())
}

async fn storm(place: &Place, (kills, seed): (u32, u64)) -> anyhow::Result<()> {
    let begun = Instant::now();
    let database = place.farm(seed).await?;
    let config = config();
    let serving = Serving::start_in(
        PROGRAM,
        START,
        Manner { config: &config, database: Some(&database.url), ..Manner::default() },
    )
    .await?;
    introduce(&serving);
    let mut chance = Chance::new(seed);
    let mut contacts = contacts();
    serving.settle().await?;
    for _ in 0..kills {
        // One in five is killed at its start, before it has said or asked anything.
        if !chance.one_in(5) {
            let calls = serving.calls();
            pour_while(&serving, &mut contacts, |_| serving.calls() == calls).await?;
        }
        let until = Instant::now() + MOMENT_MAX.mul_f64(chance.share());
        pour_while(&serving, &mut contacts, |_| Instant::now() < until).await?;
        serving.kill()?;
        for contact in &contacts {
            contact.compare(serving.store()).await?;
        }
        serving.spawn()?;
    }
    pour_out(&serving, &mut contacts).await?;
    serving.settle().await?;
    for contact in &contacts {
        contact.compare(serving.store()).await?;
    }
    let again = seen_again(&serving).await?;
    let orders: usize = contacts.iter().map(|contact| contact.made).sum();
    println!(
        "{} kills, {orders} orders acknowledged, {} messages, {again} of them again, {:.1} s",
        serving.kills(),
        serving.sends(),
        begun.elapsed().as_secs_f64()
    );
    ensure!(serving.kills() == kills && orders >= contacts.len(), "too little happened");
    // A kill finds at most one message of each chat in flight: three contacts, their colleagues, nobody else.
    ensure!(again <= kills as usize * BUYERS.len(), "{again} messages came again after {kills} kills");
    serving.stop().await?;
    database.close().await
}

#[tokio::test]
async fn killed_at_random_no_order_is_lost_or_doubled_on_sqlite() -> anyhow::Result<()> {
    let place = Place::sqlite(template_start()).await?;
    storm(&place, (number("PINSET_KILLS")?.unwrap_or(20), 11)).await?;
    place.close().await
}

#[tokio::test]
async fn killed_at_random_no_order_is_lost_or_doubled_on_postgresql() -> anyhow::Result<()> {
    let Ok(server) = std::env::var("PINSET_TEST_POSTGRES") else {
        eprintln!("skipped on PostgreSQL: PINSET_TEST_POSTGRES is not set");
        return Ok(());
    };
    let place = Place::postgres(&server, template_start()).await?;
    storm(&place, (number("PINSET_POSTGRES_KILLS")?.unwrap_or(5), 12)).await?;
    place.close().await
}
