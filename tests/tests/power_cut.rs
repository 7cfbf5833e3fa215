//! The plug is pulled while SQLite writes a commit: what was answered before is there, and the transaction in flight is there
//! whole or not at all. SQLite's documentation ("Atomic Commit In SQLite", "Write-Ahead Logging") promises this for
//! `synchronous = FULL`; the test cuts the write-ahead log anywhere behind the last commit that was acknowledged.

use pinset::engine::Engine;
use pinset::incoming::{Account, Incoming, What};
use pinset::outgoing::Body;
use pinset_tests::simulation::chance::Chance;
use pinset_tests::simulation::run::template_start;
use pinset_tests::simulation::setting::{self, BUYERS, Place};
use scheduler::clock::{Clock, HandClock};
use scheduler::store::fault::{Faults, Point, Verdict};
use scheduler::store::orders::OneOff;
use scheduler::store::{Store, audit, inbox, orders, outbox};
use std::path::PathBuf;
use std::sync::{Arc, Mutex};

/// Power cuts of one test run.
const CUTS: u64 = 60;
/// Commits before the plug is pulled, at most; few enough that the log is never written over.
const COMMITS_MAX: usize = 24;

#[derive(Debug)]
struct Plug {
    file: PathBuf,
    state: Mutex<State>,
}

#[derive(Debug)]
struct State {
    chance: Chance,
    commits_left: usize,
    /// Length of the log when the last commit was acknowledged: so much has been synced.
    synced: u64,
    is_pulled: bool,
}

impl Plug {
    fn beside(&self, end: &str) -> PathBuf {
        PathBuf::from(format!("{}{end}", self.file.display()))
    }

    fn is_pulled(&self) -> bool {
        self.state.lock().expect("one thread").is_pulled
    }
}

impl Faults for Plug {
    fn at(&self, point: Point) -> Verdict {
        let mut state = self.state.lock().expect("one thread");
        if point != Point::Committed || state.is_pulled {
            return Verdict::GoOn;
        }
        let log = std::fs::read(self.beside("-wal")).expect("the log is there");
        let length = u64::try_from(log.len()).expect("a short log");
        if state.commits_left > 0 {
            state.commits_left -= 1;
            state.synced = length;
            return Verdict::GoOn;
        }
        let (from, to) = (i64::try_from(state.synced).expect("short"), i64::try_from(length).expect("short"));
        // Sometimes all of it has reached the disk and only the answer has not gone.
        let kept = if state.chance.one_in(4) { to } else { state.chance.between(from, to) };
        let kept = usize::try_from(kept).expect("a length");
        std::fs::copy(&self.file, self.beside(".cut")).expect("copied");
        std::fs::write(self.beside(".cut-wal"), &log[..kept]).expect("written");
        state.is_pulled = true;
        Verdict::GoOn
    }
}

/// What a database holds of orders, messages and updates.
#[derive(Clone, Debug, PartialEq, Eq)]
struct Holding {
    lines: Vec<OneOff>,
    messages: usize,
    seen: Vec<bool>,
}

async fn holding(store: &Store, updates: i64) -> anyhow::Result<Holding> {
    let mut tx = store.without_faults().begin_reading().await?;
    let (from, to) = ("2026-01-01".parse()?, "2027-12-31".parse()?);
    let mut seen = Vec::new();
    for update_id in 1..=updates {
        seen.push(inbox::is_seen(&mut tx, update_id).await?);
    }
    Ok(Holding {
        lines: orders::one_off_between(&mut tx, from, to).await?,
        messages: outbox::after(&mut tx, scheduler::id::Id::new(0)).await?.len(),
        seen,
    })
}

/// The first button of the newest message to this chat, if it has one.
async fn first_button(store: &Store, chat_id: i64) -> anyhow::Result<Option<String>> {
    let mut tx = store.without_faults().begin_reading().await?;
    let rows = outbox::after(&mut tx, scheduler::id::Id::new(0)).await?;
    let Some(row) = rows.iter().rfind(|row| row.chat_id == chat_id) else { return Ok(None) };
    let keyboard = match serde_json::from_str(&row.body)? {
        Body::Message { keyboard, .. } => keyboard,
        _ => Vec::new(),
    };
    Ok(keyboard.first().and_then(|row| row.first()).map(|key| key.token.clone()))
}

/// Whether the transaction in flight survived, and how many orders had been acknowledged.
async fn cut(place: &Place, seed: u64) -> anyhow::Result<(bool, usize)> {
    let database = place.farm(seed).await?;
    let file = PathBuf::from(database.url.trim_start_matches("sqlite://"));
    let mut chance = Chance::new(seed);
    let commits_left = chance.below(COMMITS_MAX);
    let state = State { chance: Chance::new(seed ^ 1), commits_left, synced: 0, is_pulled: false };
    let plug = Arc::new(Plug { file, state: Mutex::new(state) });
    let as_faults: Arc<dyn Faults> = Arc::<Plug>::clone(&plug);
    let clock: Arc<dyn Clock> = Arc::new(HandClock::at(template_start()));
    let engine = Engine::new(setting::house(), Store::open(&database.url).await?.with_faults(as_faults), clock);
    let mut update_id = 0;
    let mut before = holding(&engine.store, 0).await?;
    loop {
        let who = *chance.pick(&BUYERS);
        let what = match first_button(&engine.store, who).await? {
            Some(token) if chance.percent(70) => What::Pressed { callback_id: update_id.to_string(), token },
            _ => What::Said(format!("{} kg shiitake for Thursday", chance.between(1, 20))),
        };
        update_id += 1;
        let account = Account { chat_id: who, first_name: "Sam".into(), language_code: None };
        engine.take(&Incoming { update_id, chat_id: who, account, what }).await?;
        let after = holding(&engine.store, update_id).await?;
        if !plug.is_pulled() {
            before = after;
            continue;
        }
        engine.store.close().await;
        // The machine starts again with what the disk holds.
        let found = Store::open(&format!("sqlite://{}", plug.beside(".cut").display())).await?;
        let held = holding(&found, update_id).await?;
        let mut tx = found.begin_reading().await?;
        assert_eq!(audit::faults(&mut tx).await?, [], "seed {seed}");
        drop(tx);
        found.close().await;
        before.seen.push(false);
        assert!(held == before || held == after, "seed {seed}: torn or lost: {held:?}, not {before:?} nor {after:?}");
        database.close().await?;
        return Ok((held == after, before.lines.len()));
    }
}

#[tokio::test]
async fn nothing_that_was_answered_is_lost_when_the_plug_is_pulled() -> anyhow::Result<()> {
    let place = Place::sqlite(template_start()).await?;
    let (mut whole, mut acknowledged) = (0, 0);
    for seed in 0..CUTS {
        let (is_there, orders) = cut(&place, seed).await?;
        whole += u64::from(is_there);
        acknowledged += orders;
    }
    println!(
        "{CUTS} cuts: the commit in flight was there {whole} times; {acknowledged} acknowledged orders, all there"
    );
    assert!(acknowledged > 0 && whole > 0 && whole < CUTS, "the cuts prove nothing: {whole} whole of {CUTS}");
    place.close().await
}
