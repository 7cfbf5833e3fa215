//! What whoever keeps the program running can see: one order and one cut-off followed through the log, the counters, and
//! when it no longer calls itself good.

use anyhow::Context;
use pinset::config::SAMPLE;
use pinset_tests::farm::{START, code_in};
use pinset_tests::process::{Manner, Serving};
use scheduler::clock::{UtcSeconds, instant_at};
use scheduler::store::outbox;
use serde_json::Value;
use std::io::Write;
use std::process::{Command, Stdio};

const PROGRAM: &str = env!("CARGO_BIN_EXE_pinset-under-test");
const ADA: i64 = 1001;
const MINA: i64 = 2001;

fn at(day: &str, time: &str) -> UtcSeconds {
    instant_at(day.parse().expect("a day"), time.parse().expect("a time"), chrono_tz::America::Chicago)
}

/// The program with one keeper and one restaurant, and more lines of how it is watched.
async fn serving(watch: &str) -> anyhow::Result<Serving> {
    let config = SAMPLE.replace("least_free_mb = 200\n", "");
    let config = config.replacen("[watch]", &format!("[watch]\nlisten = \"127.0.0.1:0\"\n{watch}"), 1);
    let serving =
        Serving::start_in(PROGRAM, START, Manner { config: &config, log: "info", ..Manner::default() }).await?;
    serving.claim(ADA, "Ada").await?;
    serving.server.add_user(MINA, "Mina", Some("en"));
    serving.say(ADA, "/people").await?;
    serving.press(ADA, "New restaurant").await?;
    serving.say(ADA, "Night Heron Noodle Bar").await?;
    let link = serving.server.chat(ADA).pop().context("an invitation")?.text;
    serving.say(MINA, &format!("/start {}", code_in(&link))).await?;
    Ok(serving)
}

/// The log's lines about one cause.
fn lines_of(serving: &Serving, cause: &str) -> Vec<String> {
    let wanted = format!("cause=\"{cause}\"");
    serving.log().lines().filter(|line| line.contains(&wanted)).map(str::to_owned).collect()
}

/// Every message of a cause has its line, and the lines before them come in this order.
async fn is_followed(serving: &Serving, cause: &str, steps: &[&str]) -> anyhow::Result<usize> {
    let lines = lines_of(serving, cause);
    let mut rest = lines.iter();
    for step in steps {
        rest.find(|line| line.contains(step)).with_context(|| format!("no {step:?} of {cause} in {lines:#?}"))?;
    }
    let messages = outbox::of_cause(&mut serving.store().begin_reading().await?, cause).await?;
    for (id, is_sent) in &messages {
        let is_told = lines.iter().any(|line| line.contains(&format!("outbox_id={id}")) && line.contains("sent"));
        assert!(*is_sent && is_told, "message {id} of {cause}: {lines:#?}");
    }
    Ok(messages.len())
}

#[tokio::test]
async fn an_order_and_a_cut_off_are_followed_by_one_name_and_nobody_is_named() -> anyhow::Result<()> {
    let serving = serving("").await?;
    let said = serving.server.say(MINA, MINA, "5 lb shiitake for Thursday")?;
    serving.settle().await?;
    let steps = ["received", "decided", "committed"];
    assert!(is_followed(&serving, &format!("u{said}"), &steps).await? > 0, "the order was read back");
    serving.press_first(MINA, "Yes").await?;
    let pressed = said + 1;
    let steps = ["received", "ordering place", "committed"];
    assert!(
        is_followed(&serving, &format!("u{pressed}"), &steps).await? > 1,
        "the press was answered and the order confirmed"
    );
    serving.move_to(at("2026-06-02", "18:05")).await?;
    // Plain notices wait a minute for others to go with.
    serving.move_to(at("2026-06-02", "18:07")).await?;
    // The cut-off is at 18:00 in Chicago, five hours behind in summer (IANA time zone database).
    let told = is_followed(&serving, "cutoff@2026-06-02T23:00:00Z", &["committed"]).await?;
    assert!(told > 1, "the restaurant and the family were told");
    let log = serving.log();
    let (_, secret) = serving.server.token().split_once(':').context("a token")?;
    // What was printed for the first keeper to read is no log line.
    let logged: Vec<&str> =
        log.lines().filter(|line| [" INFO ", " WARN ", " ERROR "].iter().any(|level| line.contains(level))).collect();
    assert!(logged.len() > 20, "{log}");
    for word in [secret, "shiitake", "lb", "Mina", "Ada", "Night Heron", "2001"] {
        let named: Vec<_> = logged.iter().filter(|line| line.contains(word)).collect();
        assert!(named.is_empty(), "{word:?} is in {named:#?}");
    }
    serving.stop().await
}

/// Where the program says that it is watched.
fn door(serving: &Serving) -> anyhow::Result<String> {
    let log = serving.log();
    let (_, rest) = log.split_once("watched at ").context("the door is named")?;
    Ok(rest.split("/health").next().context("an address")?.to_owned())
}

async fn get(url: String) -> anyhow::Result<(u16, String)> {
    let answer = reqwest::Client::builder().no_proxy().build()?.get(url).send().await?;
    Ok((answer.status().as_u16(), answer.text().await?))
}

#[tokio::test]
async fn it_says_that_it_is_well_until_its_disk_is_nearly_full() -> anyhow::Result<()> {
    let well = serving("").await?;
    assert_eq!(get(format!("{}/health", door(&well)?)).await?, (200, "good\n".into()));
    well.stop().await?;
    // No disk is that large.
    let full = serving("least_free_mb = 1000000000000").await?;
    let (status, said) = get(format!("{}/health", door(&full)?)).await?;
    assert_eq!((status, said.starts_with("disk: ")), (503, true), "{said}");
    assert_eq!(get(format!("{}/metrics", door(&full)?)).await?.0, 200, "the counters are there all the same");
    full.stop().await
}

/// The counters are read by Prometheus's own parser (prometheus-client, PyPI). Where it is not installed this says so and
/// does nothing, but never in CI.
#[tokio::test]
async fn the_counters_are_read_by_prometheus() -> anyhow::Result<()> {
    let python = std::env::var("PINSET_TEST_PYTHON").unwrap_or_else(|_| "python3".to_owned());
    let library =
        Command::new(&python).args(["-c", "import prometheus_client.openmetrics"]).stderr(Stdio::null()).status();
    if !library.is_ok_and(|status| status.success()) {
        assert!(std::env::var_os("CI").is_none(), "in CI {python} must find the prometheus-client library");
        eprintln!("skipped: {python} finds no prometheus-client library");
        return Ok(());
    }
    let serving = serving("").await?;
    let sends = serving.sends();
    let (status, text) = get(format!("{}/metrics", door(&serving)?)).await?;
    assert_eq!(status, 200);
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/clients/metrics.py");
    let mut parser = Command::new(&python).arg(script).stdin(Stdio::piped()).stdout(Stdio::piped()).spawn()?;
    parser.stdin.take().context("its input")?.write_all(text.as_bytes())?;
    let output = parser.wait_with_output()?;
    assert!(output.status.success(), "not read: {text}");
    let read: Value = serde_json::from_slice(&output.stdout)?;
    let value = |family: &str, sample: &str, end: Option<&str>| {
        let samples = read[family]["samples"].as_array().into_iter().flatten();
        let mut fitting =
            samples.filter(|one| one["name"] == sample && end.is_none_or(|end| one["labels"]["end"] == end));
        fitting.next().and_then(|one| one["value"].as_f64()).with_context(|| format!("no {sample} {end:?} in {text}"))
    };
    let updates = value("pinset_updates", "pinset_updates_total", Some("done"))?;
    // The keeper's start and three steps, and the newcomer's start.
    assert_eq!(updates, 5.0, "{text}");
    assert_eq!(value("pinset_update_commit_seconds", "pinset_update_commit_seconds_count", None)?, updates);
    // New messages, and beside them the menus, toasts and edits.
    assert!(value("pinset_messages", "pinset_messages_total", Some("sent"))? > f64::from(sends), "{text}");
    for (family, sample, end) in [
        ("pinset_messages", "pinset_messages_total", Some("refused")),
        ("pinset_occurrences", "pinset_occurrences_total", Some("missed")),
        ("pinset_database_errors", "pinset_database_errors_total", None),
        ("pinset_outbox_waiting", "pinset_outbox_waiting", None),
        ("pinset_outbox_oldest_seconds", "pinset_outbox_oldest_seconds", None),
        ("pinset_outbox_set_aside", "pinset_outbox_set_aside", None),
    ] {
        assert_eq!(value(family, sample, end)?, 0.0, "{sample}");
    }
    let kinds = ["pinset_updates", "pinset_update_commit_seconds", "pinset_outbox_waiting"]
        .map(|name| read[name]["type"].clone());
    assert_eq!(kinds, ["counter", "histogram", "gauge"]);
    serving.stop().await
}
