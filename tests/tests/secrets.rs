//! What the program prints has no secret in it: not its token, in a panic, the finest log or an error with the address; nor
//! what people write or an invitation's code.

use bot_api_local::{Fault, RehearsalConfig, RehearsalServer};
use pinset::config::SAMPLE;
use pinset_tests::farm::START;
use pinset_tests::process::{Manner, Serving};
use std::process::Stdio;
use std::time::Duration;
use tokio::io::{AsyncBufReadExt, BufReader};
use tokio::process::Command;

const PROGRAM: &str = env!("CARGO_BIN_EXE_pinset-under-test");
const SECRET: &str = "AAE-a-secret_of-the-right-form";

fn command(folder: &tempfile::TempDir, api_url: &str) -> Command {
    std::fs::write(folder.path().join("pinset.toml"), SAMPLE).expect("writes");
    let mut command = Command::new(PROGRAM);
    command.args(["serve", "--api-url", api_url]).current_dir(folder.path()).stdin(Stdio::null()).kill_on_drop(true);
    command.env_remove("PINSET_CONFIG").env_remove("PINSET_DATABASE");
    command.env("PINSET_TOKEN", format!("123456:{SECRET}"));
    command
}

#[tokio::test]
async fn a_panic_does_not_say_the_token() -> anyhow::Result<()> {
    let folder = tempfile::tempdir()?;
    let server = RehearsalServer::start(RehearsalConfig::default()).await?;
    let address = format!("{}bot123456:{SECRET}/getMe", server.api_url());
    let mut program = command(&folder, server.api_url().as_str());
    let program = program.env("PINSET_UNDER_TEST_PANICS", &address).env("RUST_BACKTRACE", "1").output();
    let output = tokio::time::timeout(Duration::from_secs(60), program).await??;
    let said = format!("{}{}", String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr));
    assert!(said.contains("panicked at") && said.contains("bot[token]/getMe"), "{said}");
    assert!(said.contains("does not accept the token"), "the service refused it: {said}");
    assert!(!said.contains(SECRET), "{said}");
    server.shutdown().await;
    Ok(())
}

#[tokio::test]
async fn the_finest_log_of_a_failing_call_does_not_say_the_token() -> anyhow::Result<()> {
    let folder = tempfile::tempdir()?;
    // Nobody listens on the discard port of this machine.
    let mut program = command(&folder, "http://127.0.0.1:9");
    let mut child = program.env("RUST_LOG", "trace").stdout(Stdio::piped()).stderr(Stdio::piped()).spawn()?;
    let mut lines = BufReader::new(child.stderr.take().expect("piped")).lines();
    let (mut failures, mut read) = (0, Vec::new());
    while failures < 2 {
        let line = tokio::time::timeout(Duration::from_secs(60), lines.next_line()).await??.expect("it goes on");
        assert!(!line.contains(SECRET), "{line}");
        failures += u32::from(line.contains("does not answer; trying again"));
        read.push(line);
    }
    assert!(read.iter().any(|line| line.contains("127.0.0.1:9")), "the log tells of the call: {read:#?}");
    child.kill().await?;
    Ok(())
}

/// What people write, and what they are given, when the service answers in a way that nobody can read and quotes it all.
#[tokio::test]
async fn the_finest_log_of_an_unreadable_answer_has_nobodys_words_and_no_invitation() -> anyhow::Result<()> {
    const ADA: i64 = 1001;
    let manner = Manner { log: "trace", ..Manner::default() };
    let serving = Serving::start_in(PROGRAM, START, manner).await?;
    serving.claim(ADA, "Ada").await?;
    // The code for the first keeper is printed on purpose, and used by now.
    let printed = serving.log().len();
    let mut codes = 0;
    let mut now = START;
    for fault in [Fault::Echo, Fault::EchoRefused] {
        for method in
            ["sendMessage", "editMessageText", "answerCallbackQuery", "setMyCommands", "editMessageReplyMarkup"]
        {
            serving.server.fault(fault, Some(method), 2);
        }
        serving.server.fault(Fault::Echo, Some("getUpdates"), 1);
        serving.say(ADA, "/people").await?;
        serving.say(ADA, "Quibblewort the gardener says hello").await?;
        serving.server.clear_faults();
        // What was not sent is tried again before anything else goes to this chat.
        now = now.plus_minutes(10);
        serving.move_to(now).await?;
        for (press, name) in [
            ("New restaurant", format!("Quibblewort Grill {fault:?}")),
            ("New restaurant", format!("Quibblewort Tavern {fault:?}")),
        ] {
            serving.say(ADA, "/people").await?;
            serving.press(ADA, press).await?;
            serving.server.fault(fault, Some("sendMessage"), 1);
            serving.say(ADA, &name).await?;
            serving.server.clear_faults();
            now = now.plus_minutes(10);
            serving.move_to(now).await?;
        }
    }
    let log = serving.log().split_off(printed);
    // Every link that was sent, or that the service would not take.
    let calls = serving.server.calls();
    for call in &calls {
        let sent = call.params.to_string();
        for (at, _) in sent.match_indices("?start=") {
            let code: String = sent[at + 7..].chars().take_while(char::is_ascii_hexdigit).collect();
            assert_eq!(code.len(), 32, "{sent}");
            assert!(!log.contains(&code), "an invitation's code is in the log");
            codes += 1;
        }
    }
    assert!(codes >= 4, "{codes} links were sent");
    assert!(log.contains("an answer of") && log.contains("cannot be read"), "the faults were met: {log}");
    for word in ["Quibblewort", "gardener", "Grill"] {
        assert!(
            !log.contains(word),
            "{word} is in the log: {}",
            log.lines().find(|line| line.contains(word)).unwrap_or_default()
        );
    }
    serving.stop().await
}
