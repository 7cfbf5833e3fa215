//! The sender at the published pace, before a local server that keeps it: nothing is refused, nothing is lost, a chat
//! reads in order, and what somebody waits for does not stand behind a broadcast.

use bot_api_local::{Fault, PaceLimits, RehearsalConfig, RehearsalServer};
use pinset::config::{Config, SAMPLE};
use pinset::engine::Engine;
use pinset::house::House;
use pinset::outgoing::{Body, Place};
use pinset::telegram::pace::Pace;
use pinset::telegram::{connect, send};
use pinset::wording::Wording;
use scheduler::clock::SystemClock;
use scheduler::store::Store;
use scheduler::store::fault::{Faults, Point, Verdict};
use scheduler::store::outbox::{self, Urgency};
use std::io::ErrorKind;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};
use tokio::sync::watch;
use tokio::task::JoinHandle;

const FIRST_CHAT: i64 = 5000;
/// Less than a message that nobody sends is held for.
const PATIENCE: Duration = Duration::from_secs(60);

/// A database that fails when it is told to.
#[derive(Debug, Default)]
struct Faulty {
    /// The next commit is done and reported as failed.
    is_commit_doubtful: AtomicBool,
    is_away: AtomicBool,
}

impl Faults for Faulty {
    fn at(&self, point: Point) -> Verdict {
        if point == Point::Commit && self.is_commit_doubtful.swap(false, Ordering::SeqCst) {
            return Verdict::FailAfter(ErrorKind::Other);
        }
        match self.is_away.load(Ordering::SeqCst) && point != Point::Committed {
            true => Verdict::Fail(ErrorKind::ResourceBusy),
            false => Verdict::GoOn,
        }
    }
}

struct Sending {
    server: RehearsalServer,
    engine: Arc<Engine>,
    stopper: watch::Sender<bool>,
    task: Option<JoinHandle<()>>,
    _folder: tempfile::TempDir,
}

impl Sending {
    async fn new(chats: i64) -> anyhow::Result<Sending> {
        Sending::on(chats, Arc::new(Faulty::default())).await
    }

    /// On a database that fails as `faulty` says.
    async fn on(chats: i64, faulty: Arc<Faulty>) -> anyhow::Result<Sending> {
        let folder = tempfile::tempdir()?;
        let config = RehearsalConfig { pace: Some(PaceLimits::PUBLISHED), ..RehearsalConfig::default() };
        let server = RehearsalServer::start(config).await?;
        for chat_id in FIRST_CHAT..FIRST_CHAT + chats {
            server.add_user(chat_id, "Kitchen", None);
            server.say(chat_id, chat_id, "hello")?;
        }
        let store = Store::open(&format!("sqlite://{}", folder.path().join("farm.sqlite").display())).await?;
        let store = store.with_faults(faulty);
        let house = House::new(Config::parse(SAMPLE)?, Wording::embedded()?);
        let engine = Arc::new(Engine::new(house, store, Arc::new(SystemClock)));
        Ok(Sending { server, engine, stopper: watch::channel(false).0, task: None, _folder: folder })
    }

    async fn put(&self, chat_id: i64, urgency: Urgency, text: &str) -> anyhow::Result<()> {
        let body = Body::Message { html: text.into(), keyboard: Vec::new(), card: None, place: Place::AtEnd };
        let mut tx = self.engine.store.without_faults().begin().await?;
        outbox::put(&mut tx, chat_id, urgency, &serde_json::to_string(&body)?, self.engine.clock.now()).await?;
        tx.commit().await?;
        self.engine.outbox_filled.notify_one();
        Ok(())
    }

    fn start(&mut self) -> anyhow::Result<()> {
        let bot = connect::bot(self.server.token(), Some(self.server.api_url().as_str()))?;
        let stop = self.stopper.subscribe();
        self.task = Some(tokio::spawn(send::run(bot, Arc::clone(&self.engine), stop, Pace::published())));
        Ok(())
    }

    /// Texts the service took, in the order it took them, with their chats.
    fn taken(&self) -> Vec<(i64, String)> {
        let calls = self.server.calls();
        let sent = calls.iter().filter(|call| call.method.eq_ignore_ascii_case("sendMessage") && call.is_ok());
        sent.map(|call| {
            let text = |name: &str| match &call.params[name] {
                serde_json::Value::String(text) => text.clone(),
                other => other.to_string(),
            };
            (text("chat_id").parse().expect("a chat"), text("text"))
        })
        .collect()
    }

    /// What somebody reads.
    fn texts(&self, chat_id: i64) -> Vec<String> {
        let chat = self.server.chat(chat_id);
        chat.into_iter().filter(|message| message.from_bot()).map(|message| message.text).collect()
    }

    async fn wait_for(&self, count: usize) -> anyhow::Result<()> {
        let mut changed = self.server.changed();
        let all = async {
            while self.taken().len() < count {
                let _ = tokio::time::timeout(Duration::from_millis(200), changed.changed()).await;
            }
        };
        tokio::time::timeout(Duration::from_secs(120), all).await?;
        Ok(())
    }

    /// Answers that were refusals; a call without an answer is still on its way.
    fn refused(&self) -> usize {
        self.server.calls().iter().filter(|call| call.answer.is_some() && !call.is_ok()).count()
    }

    async fn stop(mut self) -> anyhow::Result<()> {
        self.stopper.send_replace(true);
        if let Some(task) = self.task.take() {
            task.await?;
        }
        self.server.shutdown().await;
        Ok(())
    }
}

#[tokio::test]
async fn a_broadcast_keeps_the_pace_and_lets_an_answer_pass() -> anyhow::Result<()> {
    let mut sending = Sending::new(121).await?;
    for chat_id in FIRST_CHAT..FIRST_CHAT + 120 {
        sending.put(chat_id, Urgency::Notice, "notice").await?;
    }
    sending.start()?;
    sending.wait_for(20).await?;
    let asking = FIRST_CHAT + 120;
    sending.put(asking, Urgency::Answer, "answer").await?;
    sending.wait_for(121).await?;
    let taken = sending.taken();
    let place = taken.iter().position(|(chat_id, _)| *chat_id == asking).expect("it was sent");
    assert!(place < 110, "the answer came as number {place}");
    assert_eq!(sending.refused(), 0, "the pace was passed");
    assert_eq!(taken.len(), 121, "each once");
    sending.stop().await
}

/// The client library waits ten seconds after a 5xx before it says so; other chats are served meanwhile.
#[tokio::test]
async fn a_storm_of_server_errors_holds_up_nobody_else_and_loses_nothing() -> anyhow::Result<()> {
    let mut sending = Sending::new(20).await?;
    for code in [500, 502, 503, 504] {
        sending.server.fault(Fault::ServerError(code), Some("sendMessage"), 1);
    }
    for chat_id in FIRST_CHAT..FIRST_CHAT + 20 {
        sending.put(chat_id, Urgency::Notice, "notice").await?;
    }
    sending.start()?;
    sending.wait_for(16).await?;
    let tried = sending.server.calls().iter().filter(|call| call.method.eq_ignore_ascii_case("sendMessage")).count();
    assert_eq!(tried, 20, "sixteen were sent before any of the four was tried again");
    sending.wait_for(20).await?;
    assert_eq!((sending.refused(), sending.taken().len()), (4, 20));
    sending.stop().await
}

/// Half a minute of real time: `cargo test --workspace --test sending -- --ignored --nocapture` prints the figure.
#[tokio::test]
#[ignore = "takes as long as the published pace for a thousand messages"]
async fn a_thousand_notices_take_as_long_as_the_published_pace() -> anyhow::Result<()> {
    const COUNT: i64 = 1000;
    let mut sending = Sending::new(COUNT).await?;
    for chat_id in FIRST_CHAT..FIRST_CHAT + COUNT {
        sending.put(chat_id, Urgency::Notice, "notice").await?;
    }
    let begun = Instant::now();
    sending.start()?;
    sending.wait_for(COUNT as usize).await?;
    let (took, published) = (begun.elapsed().as_secs_f64(), COUNT as f64 / 30.0);
    println!(
        "{COUNT} notices in {took:.1} s, at 30 a second {published:.1} s, {:+.1} %",
        (took / published - 1.0) * 100.0
    );
    assert_eq!((sending.refused(), sending.taken().len()), (0, COUNT as usize));
    sending.stop().await
}

#[tokio::test]
async fn a_chat_reads_in_order_at_its_own_pace_and_holds_nobody_up() -> anyhow::Result<()> {
    let mut sending = Sending::new(2).await?;
    for number in 0..5 {
        sending.put(FIRST_CHAT, Urgency::Notice, &number.to_string()).await?;
    }
    sending.put(FIRST_CHAT + 1, Urgency::Notice, "other").await?;
    sending.start()?;
    sending.wait_for(6).await?;
    let taken = sending.taken();
    let first: Vec<&str> =
        taken.iter().filter(|(chat, _)| *chat == FIRST_CHAT).map(|(_, text)| text.as_str()).collect();
    assert_eq!(first, ["0", "1", "2", "3", "4"]);
    let other = taken.iter().position(|(chat_id, _)| *chat_id == FIRST_CHAT + 1).expect("sent");
    assert!(other < 3, "the other chat waited: {taken:?}");
    assert_eq!(sending.refused(), 0, "the pace was passed: {:#?}", sending.server.calls());
    sending.stop().await
}

#[tokio::test]
async fn a_wish_to_wait_is_obeyed_and_the_message_comes_once() -> anyhow::Result<()> {
    let mut sending = Sending::new(1).await?;
    sending.server.fault(Fault::TooManyRequests { retry_after_s: 2 }, Some("sendMessage"), 1);
    sending.put(FIRST_CHAT, Urgency::Answer, "hello").await?;
    sending.start()?;
    sending.wait_for(1).await?;
    let calls = sending.server.calls();
    let at: Vec<_> =
        calls.iter().filter(|call| call.method.eq_ignore_ascii_case("sendMessage")).map(|call| call.at).collect();
    // By the service's own clock, whole seconds: no earlier than asked for.
    assert!(at.len() == 2 && at[1].since(at[0]) >= 2, "{at:?}");
    assert_eq!((sending.refused(), sending.taken().len()), (1, 1));
    sending.stop().await
}

#[tokio::test]
async fn a_wish_about_one_chat_holds_nobody_else() -> anyhow::Result<()> {
    let mut sending = Sending::new(4).await?;
    let (told, others) = (FIRST_CHAT, FIRST_CHAT + 1..FIRST_CHAT + 4);
    sending.server.fault_in(told, Fault::TooManyRequests { retry_after_s: 3600 }, u32::MAX);
    sending.put(told, Urgency::Answer, "told to wait").await?;
    sending.start()?;
    sending.server.wait_until(|server| server.calls().iter().any(|call| call.answer.is_some() && !call.is_ok())).await;
    for chat_id in others {
        sending.put(chat_id, Urgency::Notice, "to the others").await?;
    }
    // An hour before the first chat may be called again.
    sending.wait_for(3).await?;
    assert_eq!(sending.refused(), 1);
    sending.stop().await
}

/// Waits until nothing waits to be sent.
async fn sent(sending: &Sending) -> anyhow::Result<()> {
    let begun = Instant::now();
    loop {
        let depth = outbox::depth(&mut sending.engine.store.without_faults().begin_reading().await?).await?;
        if depth.waiting == 0 {
            return Ok(());
        }
        anyhow::ensure!(begun.elapsed() < PATIENCE, "{depth:?}");
        tokio::time::sleep(Duration::from_millis(20)).await;
    }
}

/// The message is taken, and nobody can tell: it goes at once and not when its lease has run out.
#[tokio::test]
async fn a_message_that_was_taken_by_a_doubtful_commit_goes_at_once() -> anyhow::Result<()> {
    let faulty = Arc::new(Faulty::default());
    let mut sending = Sending::on(1, Arc::clone(&faulty)).await?;
    sending.start()?;
    sending.put(FIRST_CHAT, Urgency::Answer, "first").await?;
    sent(&sending).await?;
    faulty.is_commit_doubtful.store(true, Ordering::SeqCst);
    sending.put(FIRST_CHAT, Urgency::Answer, "second").await?;
    sent(&sending).await?;
    assert!(!faulty.is_commit_doubtful.load(Ordering::SeqCst), "no commit was doubtful");
    assert_eq!(sending.texts(FIRST_CHAT), ["first", "second"]);
    sending.stop().await
}

/// The database goes away after a message was sent and before that is recorded: it is recorded once the database is back, and
/// the message is not sent again.
#[tokio::test]
async fn what_was_sent_before_the_database_went_away_is_not_sent_again() -> anyhow::Result<()> {
    let faulty = Arc::new(Faulty::default());
    let mut sending = Sending::on(1, Arc::clone(&faulty)).await?;
    sending.start()?;
    sending.put(FIRST_CHAT, Urgency::Answer, "first").await?;
    sent(&sending).await?;
    sending.server.fault_in(FIRST_CHAT, Fault::Slow(Duration::from_millis(500)), 1);
    sending.put(FIRST_CHAT, Urgency::Answer, "second").await?;
    let begun = Instant::now();
    while sending.texts(FIRST_CHAT).len() < 2 {
        anyhow::ensure!(begun.elapsed() < PATIENCE, "it is not sent");
        tokio::time::sleep(Duration::from_millis(1)).await;
    }
    // Longer than the service takes to answer, and than a few quick tries take.
    faulty.is_away.store(true, Ordering::SeqCst);
    tokio::time::sleep(Duration::from_secs(4)).await;
    faulty.is_away.store(false, Ordering::SeqCst);
    sent(&sending).await?;
    assert_eq!(sending.texts(FIRST_CHAT), ["first", "second"]);
    sending.stop().await
}
