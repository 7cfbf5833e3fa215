//! The rehearsal page without a browser: what it serves and to whom, how far its clock goes, and that a copy is a copy.

use pinset::config::{Config, SAMPLE};
use pinset::rehearsal::{Opening, RehearsalPage, Set};
use pinset::scenario;
use pinset::stage::Stage;
use reqwest::{Client, StatusCode};
use scheduler::store::people;
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::time::{Duration, Instant};
use tokio::sync::watch;

/// A year of the farm's clock, real time.
const YEAR_MAX: Duration = Duration::from_secs(60);

async fn open(opening: Opening) -> anyhow::Result<(tempfile::TempDir, RehearsalPage)> {
    let folder = tempfile::tempdir()?;
    let set = Set::up(&opening, None, folder.path()).await?;
    Ok((folder, RehearsalPage::open(set, 0).await?))
}

fn client() -> anyhow::Result<Client> {
    Ok(Client::builder().no_proxy().build()?)
}

async fn act(client: &Client, page: &RehearsalPage, act: Value) -> anyhow::Result<Value> {
    Ok(client.post(format!("{}act", page.url())).json(&act).send().await?.json().await?)
}

async fn look(client: &Client, page: &RehearsalPage) -> anyhow::Result<Value> {
    Ok(client.get(format!("{}changes?since=0", page.url())).send().await?.json().await?)
}

/// All that a chat says on the page.
fn texts(picture: &Value, chat: i64) -> String {
    let messages = picture["messages"][chat.to_string()].as_array().cloned().unwrap_or_default();
    messages.iter().filter_map(|message| message["text"].as_str()).map(|text| text.to_owned() + "\n").collect()
}

#[tokio::test]
async fn a_first_keeper_claims_an_empty_farm() -> anyhow::Result<()> {
    let (_folder, page) = open(Opening::Empty).await?;
    let client = client()?;
    let picture = look(&client, &page).await?;
    let code = picture["claim_code"].as_str().expect("nobody keeps the farm yet").to_owned();
    let person =
        act(&client, &page, json!({ "act": "enter", "name": "Ada", "language": "es" })).await?["done"]["person"]
            .as_i64()
            .expect("a person");
    act(&client, &page, json!({ "act": "open", "person": person, "code": code })).await?;
    let picture = look(&client, &page).await?;
    assert!(texts(&picture, person).contains("Larkrise Mushrooms"), "{picture}");
    assert_eq!((&picture["panes"][0]["role"], &picture["claim_code"]), (&json!("keeper"), &Value::Null));
    let refused = act(&client, &page, json!({ "act": "move", "to": { "at": "2020-01-01T08:00:00" } })).await?;
    assert_eq!(refused["refused"], "page-refused-past");
    act(&client, &page, json!({ "act": "group", "title": "Casa" })).await?;
    let group = texts(&look(&client, &page).await?, -4002);
    assert!(group.contains("avisos"), "{group}");
    page.close().await
}

/// Asks for what is new, as a browser does, until the page is at the revision `until` says; returns every text seen, by
/// chat and message.
async fn follow(
    url: String,
    mut until: watch::Receiver<Option<u64>>,
) -> anyhow::Result<BTreeMap<(String, i64), Value>> {
    let client = client()?;
    let (mut since, mut seen) = (0, BTreeMap::new());
    loop {
        if until.borrow_and_update().is_some_and(|last| last <= since) {
            return Ok(seen);
        }
        let asked = client.get(format!("{url}changes?since={since}")).send();
        let picture: Value = tokio::select! {
            answer = asked => answer?.json().await?,
            _ = until.changed() => continue,
        };
        since = picture["revision"].as_u64().expect("a revision");
        for (chat, messages) in picture["messages"].as_object().into_iter().flatten() {
            for message in messages.as_array().into_iter().flatten() {
                seen.insert((chat.clone(), message["id"].as_i64().expect("an id")), message["text"].clone());
            }
        }
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 4)]
async fn no_change_is_missed_however_many_look_while_it_happens() -> anyhow::Result<()> {
    let (_folder, page) = open(Opening::Scenario).await?;
    let client = client()?;
    let (last, until) = watch::channel(None);
    let followers: Vec<_> = (0..12).map(|_| tokio::spawn(follow(page.url(), until.clone()))).collect();
    let mut revision = 0;
    for number in 0..50 {
        let said =
            json!({ "act": "say", "chat": 2001, "person": 2001, "text": format!("{} lb shiitake", 1 + number % 9) });
        revision = act(&client, &page, said).await?["revision"].as_u64().expect("a revision");
    }
    last.send_replace(Some(revision));
    let whole = follow(page.url(), watch::channel(Some(revision)).1).await?;
    for follower in followers {
        let mut seen = follower.await??;
        // The first look shows the newest messages only; a browser has the older ones from before.
        seen.retain(|key, _| whole.contains_key(key));
        assert_eq!(seen, whole);
    }
    page.close().await
}

#[tokio::test]
async fn pages_of_other_origins_get_nothing() -> anyhow::Result<()> {
    let (_folder, page) = open(Opening::Empty).await?;
    let client = client()?;
    for (name, value) in
        [("Host", "farm.example"), ("Origin", "https://farm.example"), ("Origin", "http://127.0.0.1:1")]
    {
        let request = client.post(format!("{}act", page.url())).header(name, value);
        let status = request.json(&json!({ "act": "run", "on": true })).send().await?.status();
        assert_eq!(status, StatusCode::FORBIDDEN, "{name}: {value}");
    }
    let index = client.get(page.url()).send().await?;
    let policy = index.headers()["content-security-policy"].to_str()?.to_owned();
    assert!(policy.starts_with("default-src 'none'"), "{policy}");
    assert_eq!(look(&client, &page).await?["running"], json!(false));
    page.close().await
}

#[tokio::test]
async fn a_year_passes_quickly() -> anyhow::Result<()> {
    let client = client()?;
    for opening in [Opening::Empty, Opening::Scenario] {
        let (_folder, page) = open(opening.clone()).await?;
        let now = look(&client, &page).await?["now"].as_i64().expect("a time");
        let then = scheduler::clock::UtcSeconds::new(now).plus_minutes(365 * 24 * 60);
        let reading = then.local(chrono_tz::America::Chicago).format("%Y-%m-%dT%H:%M:%S").to_string();
        let started = Instant::now();
        let moved = act(&client, &page, json!({ "act": "move", "to": { "at": reading } })).await?;
        let took = started.elapsed();
        println!("a year of {opening:?}: {:.1} s", took.as_secs_f64());
        assert_eq!(moved["done"], Value::Null, "{moved}");
        assert_eq!(look(&client, &page).await?["now"], json!(then));
        assert!(took < YEAR_MAX, "a year of {opening:?} took {took:?}");
        page.close().await?;
    }
    Ok(())
}

#[tokio::test]
async fn a_copy_has_the_people_and_leaves_the_farm_alone() -> anyhow::Result<()> {
    let folder = tempfile::tempdir()?;
    let url = format!("sqlite://{}", folder.path().join("farm.sqlite").display());
    let farm = Stage::set_on(Config::parse(SAMPLE)?, scenario::START, &url).await?;
    let joined = scenario::join(&farm).await?;
    // The farm goes on while it is copied.
    let (_copy, page) = open(Opening::CopyOf(url.clone())).await?;
    let client = client()?;
    let picture = look(&client, &page).await?;
    assert_eq!(picture["panes"].as_array().map(Vec::len), Some(6));
    let rosa = joined.kettle.0;
    let said = json!({ "act": "say", "chat": rosa, "person": rosa, "text": "/settings" });
    act(&client, &page, said).await?;
    assert!(texts(&look(&client, &page).await?, rosa).contains("/settings"));
    let leaves = json!({ "act": "enter", "name": "Zoe", "language": "en" });
    assert_eq!(act(&client, &page, leaves).await?["done"]["person"], 5001);
    page.close().await?;
    assert!(!farm.read(rosa).contains("/settings"), "nobody outside the page was reached");
    let mut tx = farm.engine.store.begin_reading().await?;
    assert_eq!(people::everybody(&mut tx).await?.len(), 6);
    drop(tx);
    farm.close().await;
    let missing = format!("sqlite://{}", folder.path().join("none.sqlite").display());
    open(Opening::CopyOf(missing.clone())).await.map(drop).expect_err("there is no such database");
    assert!(!folder.path().join("none.sqlite").exists(), "looking for a database makes none");
    open(Opening::CopyOf("postgres://x@127.0.0.1/y".into())).await.map(drop).expect_err("only SQLite is copied");
    Ok(())
}
