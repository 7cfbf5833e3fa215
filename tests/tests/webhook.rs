//! Served by webhook: updates are posted with the secret and taken once; nobody else gets in.

use anyhow::Context;
use bot_api_local::{RehearsalConfig, RehearsalServer};
use pinset::config::SAMPLE;
use std::process::Stdio;
use std::time::Duration;

const PROGRAM: &str = env!("CARGO_BIN_EXE_pinset-under-test");

#[tokio::test]
async fn updates_are_posted_and_strangers_to_the_secret_are_turned_away() -> anyhow::Result<()> {
    let folder = tempfile::tempdir()?;
    std::fs::write(folder.path().join("pinset.toml"), SAMPLE)?;
    let server = RehearsalServer::start(RehearsalConfig::default()).await?;
    // Free a moment ago; nobody else on this machine asks for it.
    let port = std::net::TcpListener::bind("127.0.0.1:0")?.local_addr()?.port();
    let (listen, url) = (format!("127.0.0.1:{port}"), format!("http://127.0.0.1:{port}/updates"));
    let mut child = tokio::process::Command::new(PROGRAM)
        .args(["serve", "--api-url", server.api_url().as_str(), "--webhook-url", &url, "--webhook-listen", &listen])
        .current_dir(folder.path())
        .env("PINSET_TOKEN", server.token())
        .env_remove("PINSET_DATABASE")
        .env_remove("PINSET_CONFIG")
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .kill_on_drop(true)
        .spawn()?;
    server.add_user(3001, "Zoe", Some("en"));
    server.say(3001, 3001, "hello")?;
    let mut changed = server.changed();
    let answered = async {
        while !server.chat(3001).iter().any(|message| message.from_bot()) {
            let _ = tokio::time::timeout(Duration::from_millis(100), changed.changed()).await;
        }
    };
    tokio::time::timeout(Duration::from_secs(60), answered).await?;
    assert!(server.chat(3001)[1].text.contains("ask the farm for an invitation"), "{:?}", server.chat(3001));

    let client = reqwest::Client::builder().no_proxy().build()?;
    let update = serde_json::json!({ "update_id": 99, "message": { "message_id": 1, "date": 0, "text": "hi",
        "chat": { "id": 3001, "type": "private", "first_name": "Zoe" },
        "from": { "id": 3001, "is_bot": false, "first_name": "Zoe" } } });
    let header = "X-Telegram-Bot-Api-Secret-Token";
    let without = client.post(&url).json(&update).send().await?.status();
    let wrong = client.post(&url).header(header, "0".repeat(64)).json(&update).send().await?.status();
    let long = client.post(&url).header(header, "0".repeat(64)).body("x".repeat(3 << 20)).send().await;
    assert_eq!((without.as_u16(), wrong.as_u16()), (401, 401));
    assert!(long.is_err() || long.is_ok_and(|answer| !answer.status().is_success()), "3 MiB were taken");
    assert_eq!(server.chat(3001).iter().filter(|message| message.from_bot()).count(), 1, "nothing was done");

    // Whoever knows the secret is no more welcome with too much of it, and not heard with nonsense.
    let calls = server.calls();
    let set =
        calls.iter().find(|call| call.method.eq_ignore_ascii_case("setWebhook")).context("the address was given")?;
    let secret = set.params["secret_token"].as_str().context("with a secret")?;
    let post = |body: String| client.post(&url).header(header, secret).body(body).send();
    let long = post("x".repeat((1 << 20) + 1)).await;
    assert!(long.is_err() || long.is_ok_and(|answer| answer.status().as_u16() == 413), "more than 1 MiB was taken");
    for nonsense in ["", "{}", "[[[[", r#"{"update_id":"x"}"#, r#"{"update_id":100,"poll":null}"#] {
        assert_eq!(post(nonsense.into()).await?.status().as_u16(), 200, "{nonsense:?} would be posted for ever");
    }
    let mut longest = update.clone();
    longest["message"]["text"] = "5 lb shiitake ".repeat(70_000).into();
    assert_eq!(post(longest.to_string()).await?.status().as_u16(), 200);
    server.wait_until(|server| server.chat(3001).iter().filter(|message| message.from_bot()).count() == 2).await;
    child.kill().await?;
    server.shutdown().await;
    Ok(())
}

#[tokio::test]
async fn a_webhook_that_somebody_else_took_away_is_set_again() -> anyhow::Result<()> {
    let folder = tempfile::tempdir()?;
    std::fs::write(folder.path().join("pinset.toml"), SAMPLE)?;
    // With a clock in a file the program looks often.
    std::fs::write(folder.path().join("clock"), "1780318800")?;
    let server = RehearsalServer::start(RehearsalConfig::default()).await?;
    let port = std::net::TcpListener::bind("127.0.0.1:0")?.local_addr()?.port();
    let (listen, url) = (format!("127.0.0.1:{port}"), format!("http://127.0.0.1:{port}/updates"));
    let log = folder.path().join("log");
    let mut child = tokio::process::Command::new(PROGRAM)
        .args(["serve", "--api-url", server.api_url().as_str(), "--webhook-url", &url, "--webhook-listen", &listen])
        .args(["--clock-file", "clock"])
        .current_dir(folder.path())
        .env("PINSET_TOKEN", server.token())
        .env_remove("PINSET_DATABASE")
        .env_remove("PINSET_CONFIG")
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(std::fs::File::create(&log)?)
        .kill_on_drop(true)
        .spawn()?;
    let times_set = |server: &RehearsalServer| {
        let calls = server.calls();
        calls.iter().filter(|call| call.method.eq_ignore_ascii_case("setWebhook") && call.is_ok()).count()
    };
    let patience = Duration::from_secs(60);
    tokio::time::timeout(patience, server.wait_until(|server| times_set(server) == 1)).await?;
    let client = reqwest::Client::builder().no_proxy().build()?;
    let taken_away = format!("{}bot{}/deleteWebhook", server.api_url(), server.token());
    assert!(client.post(&taken_away).send().await?.status().is_success());
    tokio::time::timeout(patience, server.wait_until(|server| times_set(server) == 2)).await?;
    server.add_user(3001, "Zoe", Some("en"));
    server.say(3001, 3001, "hello")?;
    let is_answered = |server: &RehearsalServer| server.chat(3001).iter().any(|message| message.from_bot());
    tokio::time::timeout(patience, server.wait_until(is_answered)).await?;
    assert!(std::fs::read_to_string(&log)?.contains("somebody else has taken the webhook away"));
    child.kill().await?;
    server.shutdown().await;
    Ok(())
}
