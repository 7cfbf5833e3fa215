//! The local server spoken to by clients nobody here wrote: python-telegram-bot and grammY, each unchanged. Where they are
//! not installed this says so and does nothing, but never in CI.

use bot_api_local::{ChatMessage, Pressed, RehearsalConfig, RehearsalServer};
use std::path::{Path, PathBuf};
use std::process::Stdio;
use std::time::Duration;

/// How long a client may take for everything.
const PATIENCE: Duration = Duration::from_secs(60);
const MINA: i64 = 2001;
/// A picture of one pixel (PNG, third edition, 11.2).
const PHOTO: &[u8] = b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR\0\0\0\x01\0\0\0\x01\x08\x06\0\0\0\x1f\x15\xc4\x89\
\0\0\0\rIDATx\x9cc\xf8\xff\xff?\0\x05\xfe\x02\xfe\xdc\xccY\xe7\0\0\0\0IEND\xaeB`\x82";

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("clients")
}

/// Whether a command that tells of the client's library succeeds.
fn is_there(program: &str, arguments: &[&str]) -> bool {
    let mut command = std::process::Command::new(program);
    command.args(arguments).current_dir(folder()).stdout(Stdio::null()).stderr(Stdio::null());
    let is_there = command.status().is_ok_and(|status| status.success());
    assert!(is_there || std::env::var_os("CI").is_none(), "in CI {program} must find its client library");
    if !is_there {
        eprintln!("skipped: {program} {arguments:?} finds no client library");
    }
    is_there
}

struct Talk<'a> {
    server: &'a RehearsalServer,
}

impl Talk<'_> {
    /// Waits for a message of the bot that says `text` now.
    async fn read(&self, text: &str) -> ChatMessage {
        let find =
            |server: &RehearsalServer| server.chat(MINA).into_iter().find(|one| one.from_bot() && one.text == text);
        self.server.wait_until(|server| find(server).is_some()).await;
        find(self.server).expect("it was just there")
    }

    async fn say(&self, text: &str, answer: &str) -> anyhow::Result<ChatMessage> {
        self.server.say(MINA, MINA, text)?;
        Ok(self.read(answer).await)
    }
}

async fn converse(program: &str, script: &str, language: &str) -> anyhow::Result<()> {
    let server = RehearsalServer::start(RehearsalConfig::default()).await?;
    server.add_user(MINA, "Mina", Some("en"));
    let pictures = tempfile::tempdir()?;
    let photo = pictures.path().join("pixel.png");
    std::fs::write(&photo, PHOTO)?;
    let mut client = tokio::process::Command::new(program);
    client.arg(script).current_dir(folder()).kill_on_drop(true);
    client.env("ECHO_API", server.api_url().as_str()).env("ECHO_TOKEN", server.token()).env("ECHO_PHOTO", &photo);
    client.env("NO_PROXY", "127.0.0.1");
    let mut client = client.spawn()?;
    let talk = Talk { server: &server };
    let hello = talk.say("/start", &format!("hello from {language}")).await?;
    assert_eq!((hello.entities[0].kind.as_str(), hello.entities[0].length), ("bold", 5));
    let said = talk.say("5 lb shiitake", "you said 5 lb shiitake").await?;
    server.press(MINA, MINA, said.message_id, Pressed::Label("Press"))?;
    let edited = talk.read("edited after pressed:5 lb shiitake").await;
    assert_eq!(edited.message_id, said.message_id);
    assert!(edited.is_edited && edited.keyboard.is_empty(), "{edited:?}");
    assert_eq!(server.toasts().last().map(|toast| toast.text.clone()).as_deref(), Some("noted"));
    let document = talk.say("document", "the list").await?.file.expect("a document");
    assert_eq!((document.file_name.as_str(), &document.bytes[..]), ("crates.txt", &b"a list of crates"[..]));
    let picture = talk.say("photo", "the picture").await?.file.expect("a photo");
    assert!(picture.is_photo && picture.bytes[..] == *PHOTO);
    server.send_file(MINA, MINA, "note.txt", b"ten crates".to_vec())?;
    talk.read("got ten crates").await;
    talk.say("bye", "goodbye").await?;
    assert!(client.wait().await?.success(), "{script} ended badly");
    server.shutdown().await;
    Ok(())
}

#[tokio::test]
async fn a_python_client_finds_its_way() -> anyhow::Result<()> {
    let python = std::env::var("PINSET_TEST_PYTHON").unwrap_or_else(|_| "python3".to_owned());
    if !is_there(&python, &["-c", "import telegram.ext"]) {
        return Ok(());
    }
    tokio::time::timeout(PATIENCE, converse(&python, "echo.py", "Python")).await?
}

#[tokio::test]
async fn a_javascript_client_finds_its_way() -> anyhow::Result<()> {
    if !is_there("node", &["--input-type=module", "-e", "await import('grammy')"]) {
        return Ok(());
    }
    tokio::time::timeout(PATIENCE, converse("node", "echo.js", "JavaScript")).await?
}
