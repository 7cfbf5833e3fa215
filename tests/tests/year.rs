//! What grows with the years and what does not: rows that only help the conversation go at their age, in small steps, and a farm
//! of a year is as quick as one of a month. The figures: `cargo test --workspace --test year -- --ignored --nocapture`.

use chrono::Days;
use pinset::config::SAMPLE;
use pinset_tests::book;
use pinset_tests::farm::{START, joined};
use pinset_tests::process::{Manner, Serving};
use pinset_tests::year::{Farm, KEEPER, LARGE, Scale};
use scheduler::clock::{LocalDate, UtcSeconds, instant_at};
use scheduler::store::audit::{self, Ground};
use scheduler::store::{Store, ages, buttons};
use std::collections::BTreeMap;
use std::time::{Duration, Instant};

const PROGRAM: &str = env!("CARGO_BIN_EXE_pinset-under-test");
const ZONE: chrono_tz::Tz = chrono_tz::America::Chicago;

fn at(day: LocalDate, time: &str) -> UtcSeconds {
    instant_at(day, time.parse().expect("a time"), ZONE)
}

fn first_day() -> LocalDate {
    "2026-06-01".parse().expect("a date")
}

async fn rows(store: &Store) -> anyhow::Result<BTreeMap<&'static str, i64>> {
    Ok(ages::rows(&mut store.begin_reading().await?).await?.into_iter().collect())
}

#[tokio::test]
async fn what_only_helps_stops_growing_and_the_record_stays() -> anyhow::Result<()> {
    let folder = tempfile::tempdir()?;
    let store = Store::open(&format!("sqlite://{}", folder.path().join("farm.sqlite").display())).await?;
    let begun = first_day();
    let mut farm = Farm::begin(store, Scale { restaurants: 3, batch_units: 12 }, begun).await?;
    farm.write_until(begun + Days::new(105)).await?;
    let before = rows(&farm.store).await?;
    let later = begun + Days::new(210);
    farm.write_until(later).await?;
    let after = rows(&farm.store).await?;
    for table in ["inbox", "outbox", "button", "card", "occurrence"] {
        let (before, after) = (before[table], after[table]);
        // A weekday more or less in the span.
        assert!(before > 100 && after * 10 <= before * 11, "{table} has grown from {before} rows to {after}");
    }
    for table in ["lot", "lot_move", "award", "award_event", "growing_event", "order_line"] {
        assert!(after[table] * 2 > before[table] * 3, "{table}: {} rows, then {}", before[table], after[table]);
    }
    let ground = Ground { now: at(later, "00:00"), zone: ZONE, reads: &pinset::stored::reads };
    assert_eq!(audit::examine(&farm.store, &ground).await?, [], "what is left is sound");
    Ok(())
}

/// Years of dead buttons, as a farm had before they had an age, are not one transaction for which everybody waits.
#[tokio::test]
async fn much_that_is_old_goes_in_small_steps() -> anyhow::Result<()> {
    let farm = joined().await?;
    let store = &farm.stage.engine.store;
    let long_ago = START.plus_minutes(-100 * 24 * 60);
    let mut tx = store.begin().await?;
    for _ in 0..4500 {
        buttons::put(&mut tx, 77, "an old card", "{}", long_ago).await?;
    }
    tx.commit().await?;
    let left = async || anyhow::Ok(buttons::live_in(&mut store.begin_reading().await?, 77).await?.len());
    for (reading, expected) in [("03:29", 4500), ("03:30", 2500), ("03:31", 500), ("03:32", 0), ("03:40", 0)] {
        book::move_to(&farm, &format!("2026-06-02 {reading}")).await?;
        assert_eq!(left().await?, expected, "{reading}");
    }
    farm.stage.close().await;
    Ok(())
}

/// What a database costs.
struct Figures {
    file_kib: u64,
    /// From the program's start to its first question for updates.
    start_ms: u128,
    /// From `/today` until it is answered.
    today_ms: u128,
    /// From the cut-off falling due until every restaurant has its message.
    cutoff_ms: u128,
    resident_kib: u64,
    peak_kib: u64,
}

fn memory(process: i32, field: &str) -> Option<u64> {
    let status = std::fs::read_to_string(format!("/proc/{process}/status")).ok()?;
    let line = status.lines().find(|line| line.starts_with(field))?;
    line.split_whitespace().nth(1)?.parse().ok()
}

async fn figures(farm: &mut Farm, (url, monday): (&str, LocalDate)) -> anyhow::Result<Figures> {
    let folder = tempfile::tempdir()?;
    let file = folder.path().join("copy.sqlite");
    farm.copy_with_orders(url, &file).await?;
    let file_kib = std::fs::metadata(&file)?.len() / 1024;
    let copy = format!("sqlite://{}", file.display());
    let manner = Manner { config: SAMPLE, database: Some(&copy), ..Manner::default() };
    let serving = Serving::start_in(PROGRAM, at(monday, "09:00"), manner).await?;
    for chat_id in std::iter::once(KEEPER).chain(5000..5000 + LARGE.restaurants) {
        serving.server.add_acquaintance(chat_id, "Sam", Some("en"));
    }
    serving.settle().await?;
    serving.kill()?;
    let before = serving.server.calls().len();
    let begun = Instant::now();
    serving.spawn()?;
    while !serving.server.calls()[before..].iter().any(|call| call.method.eq_ignore_ascii_case("getUpdates")) {
        // The program is another process: only looking again tells what it has called.
        tokio::time::sleep(Duration::from_millis(1)).await;
    }
    let start_ms = begun.elapsed().as_millis();
    serving.say(KEEPER, "/today").await?;
    let begun = Instant::now();
    serving.say(KEEPER, "/today").await?;
    let today_ms = begun.elapsed().as_millis();
    let tuesday = monday + Days::new(1);
    serving.move_to(at(tuesday, "17:59")).await?;
    let begun = Instant::now();
    serving.move_to(at(tuesday, "18:00")).await?;
    let cutoff_ms = begun.elapsed().as_millis();
    let process = serving.process()?.as_raw_nonzero().get();
    let resident_kib = memory(process, "VmRSS:").unwrap_or_default();
    let peak_kib = memory(process, "VmHWM:").unwrap_or_default();
    serving.stop().await?;
    Ok(Figures { file_kib, start_ms, today_ms, cutoff_ms, resident_kib, peak_kib })
}

#[tokio::test]
#[ignore = "minutes, for its figures"]
async fn a_year_of_a_large_farm_in_figures() -> anyhow::Result<()> {
    let folder = tempfile::tempdir()?;
    let url = format!("sqlite://{}", folder.path().join("farm.sqlite").display());
    let begun = first_day();
    let mut farm = Farm::begin(Store::open(&url).await?, LARGE, begun).await?;
    for weeks in [5, 13, 26, 52] {
        let monday = begun + Days::new(7 * weeks);
        farm.write_until(monday).await?;
        let figures = figures(&mut farm, (&url, monday)).await?;
        let Figures { file_kib, start_ms, today_ms, cutoff_ms, resident_kib, peak_kib } = figures;
        println!(
            "after {weeks} weeks: {file_kib} KiB; start {start_ms} ms, /today {today_ms} ms, cut-off {cutoff_ms} ms; \
             resident {resident_kib} KiB, at most {peak_kib} KiB"
        );
        println!("    rows: {:?}", rows(&farm.store).await?);
    }
    Ok(())
}
