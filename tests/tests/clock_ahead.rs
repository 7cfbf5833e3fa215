//! A machine whose clock stood a month ahead for a while: once it is right again the timetable and the messages go on.

use bot_api_local::Fault;
use pinset_tests::farm::joined;
use scheduler::clock::UtcSeconds;
use scheduler::store::{deliveries, occurrences, outbox};

const MONTH_MINUTES: i64 = 30 * 24 * 60;

#[tokio::test]
async fn a_month_ahead_and_corrected_the_cut_off_comes_and_nobody_is_silenced() -> anyhow::Result<()> {
    let mut farm = joined().await?;
    let begun = farm.stage.now();
    farm.stage.restart_at(begun.plus_minutes(MONTH_MINUTES)).await?;
    // The service asks to wait, and the wait is reckoned from the wrong time.
    farm.stage.server.fault(Fault::TooManyRequests { retry_after_s: 30 }, Some("sendMessage"), 1);
    farm.stage.server.say(farm.heron.0, farm.heron.0, "/orders")?;
    farm.stage.server.wait_confirmed().await;
    farm.stage.restart_at(begun.plus_minutes(10)).await?;
    let stage = &farm.stage;
    stage.settle().await?;
    let waits = outbox::next_due(&mut stage.engine.store.begin_reading().await?).await?;
    assert!(waits.is_none_or(|at: UtcSeconds| at <= stage.now().plus_minutes(25 * 60)), "{waits:?}");
    let answer = stage.say(farm.heron, "/help").await?;
    assert!(!answer.is_empty(), "the chat is not silenced");
    // Tuesday's cut-off and every other job of the week come at their time.
    stage.move_to(stage.at("2026-06-02 18:05")).await?;
    let mut tx = stage.engine.store.begin_reading().await?;
    let day = "2026-06-04".parse()?;
    assert!(deliveries::on(&mut tx, day).await?.is_some(), "the orders are closed");
    let done = occurrences::done(&mut tx).await?;
    drop(tx);
    for job in ["morning", "cutoff"] {
        let at = |due_at: &UtcSeconds| *due_at > begun && *due_at <= stage.now();
        assert!(done.iter().any(|(name, due_at, _)| name == job && at(due_at)), "{job} in {done:?}");
    }
    farm.stage.close().await;
    Ok(())
}
