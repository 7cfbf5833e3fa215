//! Many buyers in the hour before cut-off, through the program in a process of its own, the local server at the published
//! pace, and the machine's own clock. The small run asserts that nothing is lost; the large one prints figures:
//! `cargo test --workspace --test load -- --ignored --nocapture` (`PINSET_LOAD_DATABASE=FILE` begins with a farm's own record).

use anyhow::Context;
use bot_api_local::{PaceLimits, Pressed, RehearsalConfig, RehearsalServer};
use chrono::{Duration as Span, Timelike, Utc};
use pinset::config::SAMPLE;
use scheduler::clock::{Clock, SystemClock};
use scheduler::id::Id;
use scheduler::people::{HourClock, Person, Role};
use scheduler::quantity::{Grams, UnitSystem};
use scheduler::store::{Store, orders, outbox, people};
use std::collections::BTreeSet;
use std::path::Path;
use std::process::Stdio;
use std::time::{Duration, Instant};

const PROGRAM: &str = env!("CARGO_BIN_EXE_pinset-under-test");
const FIRST_CHAT: i64 = 5000;
/// How the restaurants of the run are called.
const NAME: &str = "Harbour Kitchen";
/// Each order is three calls that count: read back, the note over the button, and the card that says it is ordered. So many
/// buyers begin in a second that these keep within 30 a second (Bot FAQ, "My bot is hitting limits").
const BUYERS_A_SECOND: f64 = 9.0;
/// How long everything may take beyond the pace before the test says that it hangs.
const PATIENCE: Duration = Duration::from_secs(120);

/// The sample's farm with deliveries on every day and the next cut-off in more than an hour, whatever the time is now.
fn config() -> String {
    let cutoff = Utc::now() + Span::minutes(75);
    let departs = cutoff + Span::hours(2);
    let expression = format!("cutoff = \"{} {} * * *\"", cutoff.minute(), cutoff.hour());
    let every_day = "weekdays = [\"Mon\", \"Tue\", \"Wed\", \"Thu\", \"Fri\", \"Sat\", \"Sun\"]";
    SAMPLE
        .replacen("America/Chicago", "UTC", 1)
        .replacen("weekdays = [\"Thu\"]", every_day, 1)
        .replacen("departs = \"08:00\"", &format!("departs = \"{}\"", departs.format("%H:%M")), 1)
        // Both lists come hourly, whenever the van leaves.
        .replacen("picking = \"1 day before at 17:00\"", "picking = \"0 * * * *\"", 1)
        .replacen("packing = \"the same day at 06:00\"", "packing = \"0 * * * *\"", 1)
        .replacen("cutoff = \"2 days before at 18:00\"", &expression, 1)
}

/// Every buyer with a restaurant of their own.
async fn invite(store: &Store, count: i64) -> anyhow::Result<()> {
    let now = SystemClock.now();
    let mut tx = store.begin().await?;
    for number in 0..count {
        let buyer_id = people::add_buyer(&mut tx, &format!("{NAME} {number}"), now).await?;
        let person = Person {
            id: tx.new_id(now),
            chat_id: FIRST_CHAT + number,
            name: format!("Cook {number}"),
            role: Role::Buyer,
            language: "en".into(),
            units: UnitSystem::Avoirdupois,
            hour_clock: HourClock::Twelve,
            // Whatever the hour, nothing is held.
            quiet: None,
            buyer_id: Some(buyer_id),
            partner_id: None,
        };
        people::join(&mut tx, &person, now).await?;
    }
    Ok(tx.commit().await?)
}

struct Figures {
    /// From an update's arrival to its commit, milliseconds, ascending.
    committed_ms: Vec<f64>,
    /// Of the program alone, KiB: what it holds at the end, and the most it ever held.
    resident_kib: u64,
    peak_kib: u64,
    seconds: f64,
}

fn memory(process: u32, field: &str) -> anyhow::Result<u64> {
    let status = std::fs::read_to_string(format!("/proc/{process}/status"))?;
    let line = status.lines().find(|line| line.starts_with(field)).context("a line of that name")?;
    Ok(line.split_whitespace().nth(1).context("a number")?.parse()?)
}

async fn run(count: i64) -> anyhow::Result<Figures> {
    let folder = tempfile::tempdir()?;
    let database = folder.path().join("farm.sqlite");
    if let Some(record) = std::env::var_os("PINSET_LOAD_DATABASE") {
        std::fs::copy(record, &database)?;
    }
    let url = format!("sqlite://{}", database.display());
    let store = Store::open(&url).await?;
    invite(&store, count).await?;
    std::fs::write(folder.path().join("pinset.toml"), config())?;
    let config = RehearsalConfig { pace: Some(PaceLimits::PUBLISHED), ..RehearsalConfig::default() };
    let server = RehearsalServer::start(config).await?;
    for number in 0..count {
        server.add_acquaintance(FIRST_CHAT + number, &format!("Cook {number}"), Some("en"));
    }
    let log = std::fs::File::create(folder.path().join("log"))?;
    let mut child = tokio::process::Command::new(PROGRAM)
        .args(["serve", "--api-url", server.api_url().as_str(), "--database", &url])
        .current_dir(folder.path())
        .env("PINSET_TOKEN", server.token())
        .env("RUST_LOG", "warn,pinset::telegram::poll=debug")
        .env_remove("PINSET_CONFIG")
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(log)
        .kill_on_drop(true)
        .spawn()?;
    let process = child.id().context("it runs")?;
    let begun = Instant::now();
    order(&server, count).await?;
    let quiet = async {
        while outbox::depth(&mut store.begin_reading().await?).await?.waiting > 0 {
            // The program is another process: only looking again tells what it has committed.
            tokio::time::sleep(Duration::from_millis(20)).await;
        }
        anyhow::Ok(())
    };
    tokio::time::timeout(PATIENCE, quiet).await.context("messages wait for ever")??;
    let seconds = begun.elapsed().as_secs_f64();
    let (resident_kib, peak_kib) = (memory(process, "VmRSS:")?, memory(process, "VmHWM:")?);
    child.kill().await?;
    is_all_there(&server, &store, count).await?;
    let committed_ms = times_in(&folder.path().join("log"))?;
    store.close().await;
    server.shutdown().await;
    Ok(Figures { committed_ms, resident_kib, peak_kib, seconds })
}

/// Everybody orders at the pace, and says yes to what is read back.
async fn order(server: &RehearsalServer, count: i64) -> anyhow::Result<()> {
    let mut ticks = tokio::time::interval(Duration::from_secs_f64(1.0 / BUYERS_A_SECOND));
    let mut next = 0;
    let mut unanswered = BTreeSet::new();
    let all = async {
        while next < count || !unanswered.is_empty() {
            ticks.tick().await;
            if next < count {
                let chat_id = FIRST_CHAT + next;
                server.say(chat_id, chat_id, "5 lb shiitake and 2 lb oyster")?;
                unanswered.insert(chat_id);
                next += 1;
            }
            for chat_id in unanswered.clone() {
                let read_back = server.chat(chat_id).pop().filter(|last| !last.keyboard.is_empty());
                if let Some(read_back) = read_back {
                    server.press(chat_id, chat_id, read_back.message_id, Pressed::At(0, 0))?;
                    unanswered.remove(&chat_id);
                }
            }
        }
        // The last presses are taken before the outbox is looked at.
        server.wait_confirmed().await;
        anyhow::Ok(())
    };
    let paced = Duration::from_secs_f64(count as f64 / BUYERS_A_SECOND);
    tokio::time::timeout(paced + PATIENCE, all).await.context("somebody is never answered")?
}

async fn is_all_there(server: &RehearsalServer, store: &Store, count: i64) -> anyhow::Result<()> {
    let mut tx = store.begin_reading().await?;
    let buyers = people::buyers(&mut tx).await?.into_iter().filter(|buyer| buyer.name.starts_with(NAME));
    let buyers: BTreeSet<Id> = buyers.map(|buyer| buyer.id).collect();
    let mut lines = orders::one_off_between(&mut tx, "2020-01-01".parse()?, "2100-01-01".parse()?).await?;
    lines.retain(|line| buyers.contains(&line.buyer_id));
    assert_eq!(lines.len() as i64, 2 * count, "two lines of each are stored");
    // An avoirdupois pound is 453.59237 g (NIST Handbook 44, appendix C).
    assert!(lines.iter().all(|line| [Grams::new(2268), Grams::new(907)].contains(&line.grams)), "as ordered");
    assert_eq!(outbox::depth(&mut tx).await?.set_aside, 0);
    drop(tx);
    let calls = server.calls();
    let refused: Vec<_> = calls.iter().filter(|call| call.answer.is_some() && !call.is_ok()).collect();
    assert!(refused.is_empty(), "{refused:#?}");
    assert_eq!(server.unanswered_presses(), 0);
    for chat_id in FIRST_CHAT..FIRST_CHAT + count {
        let card = server.chat(chat_id).into_iter().filter(|message| message.from_bot()).last().context("an answer")?;
        assert!(card.is_edited && card.text.contains("shiitake"), "{chat_id}: {card:?}");
    }
    Ok(())
}

/// What the log says of every update; nothing else may be in it.
fn times_in(log: &Path) -> anyhow::Result<Vec<f64>> {
    let log = std::fs::read_to_string(log)?;
    let (times, others): (Vec<_>, Vec<_>) = log.lines().partition(|line| line.contains("milliseconds="));
    assert!(others.is_empty(), "{others:#?}");
    let time = |line: &str| {
        line.split_once("milliseconds=").and_then(|(_, rest)| rest.split_whitespace().next()?.parse().ok())
    };
    let mut times = times.into_iter().map(time).collect::<Option<Vec<f64>>>().context("numbers")?;
    times.sort_by(f64::total_cmp);
    Ok(times)
}

#[tokio::test]
async fn forty_buyers_in_the_last_hour_are_all_served() -> anyhow::Result<()> {
    let figures = run(40).await?;
    assert!(figures.committed_ms.len() >= 80, "an order and a yes of each");
    Ok(())
}

#[tokio::test]
#[ignore = "takes two minutes at the published pace and prints figures"]
async fn a_thousand_buyers_in_the_last_hour() -> anyhow::Result<()> {
    let figures = run(1000).await?;
    let times = &figures.committed_ms;
    let at = |share: f64| times[((times.len() as f64 * share).ceil() as usize).clamp(1, times.len()) - 1];
    println!("{} updates in {:.0} s, from arrival to commit, ms:", times.len(), figures.seconds);
    println!(
        "median {:.1}, p90 {:.1}, p99 {:.1}, p99.9 {:.1}, most {:.1}",
        at(0.5),
        at(0.9),
        at(0.99),
        at(0.999),
        at(1.0)
    );
    println!(
        "resident {:.1} MiB, most {:.1} MiB",
        figures.resident_kib as f64 / 1024.0,
        figures.peak_kib as f64 / 1024.0
    );
    Ok(())
}

/// The place of the restaurant's answer among the calls that answer anybody, when so many strangers wrote before it.
async fn among_strangers(count: i64) -> anyhow::Result<(usize, Duration)> {
    const STRANGERS: i64 = 900_000;
    let folder = tempfile::tempdir()?;
    let url = format!("sqlite://{}", folder.path().join("farm.sqlite").display());
    let store = Store::open(&url).await?;
    invite(&store, 1).await?;
    std::fs::write(folder.path().join("pinset.toml"), config())?;
    let config = RehearsalConfig { pace: Some(PaceLimits::PUBLISHED), ..RehearsalConfig::default() };
    let server = RehearsalServer::start(config).await?;
    for number in 0..count {
        server.add_user(STRANGERS + number, "Kim", Some("en"));
        server.say(STRANGERS + number, STRANGERS + number, "hello")?;
    }
    server.add_acquaintance(FIRST_CHAT, "Cook", Some("en"));
    server.say(FIRST_CHAT, FIRST_CHAT, "/orders")?;
    let mut child = tokio::process::Command::new(PROGRAM)
        .args(["serve", "--api-url", server.api_url().as_str(), "--database", &url])
        .current_dir(folder.path())
        .env("PINSET_TOKEN", server.token())
        .env_remove("PINSET_CONFIG")
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .kill_on_drop(true)
        .spawn()?;
    let begun = Instant::now();
    let is_answered = |server: &RehearsalServer| server.chat(FIRST_CHAT).iter().any(|message| message.from_bot());
    tokio::time::timeout(PATIENCE, server.wait_until(is_answered)).await.context("the restaurant is never answered")?;
    let waited = begun.elapsed();
    let answered_before = (0..count).filter(|number| server.chat(STRANGERS + number).len() > 1).count();
    child.kill().await?;
    store.close().await;
    server.shutdown().await;
    Ok((answered_before, waited))
}

#[tokio::test]
async fn a_restaurant_is_answered_before_most_of_the_strangers_who_wrote_before_it() -> anyhow::Result<()> {
    let (before, _) = among_strangers(300).await?;
    assert!(before < 150, "{before} strangers were answered first");
    Ok(())
}

#[tokio::test]
#[ignore = "prints a figure"]
async fn a_restaurant_among_two_thousand_strangers() -> anyhow::Result<()> {
    let (before, waited) = among_strangers(2000).await?;
    println!("answered after {:.1} s from the program's start, and after {before} strangers", waited.as_secs_f64());
    Ok(())
}
