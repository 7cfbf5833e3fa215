//! A farm in the middle of its work. Every input is acted on in a transaction that is then dropped, so each meets the same
//! farm.

use crate::simulation::Simulation;
use crate::simulation::run::template_start;
use crate::simulation::setting::{Place, house};
use bot_api_local::FormattedText;
use pinset::conversation::{self, Desk};
use pinset::house::House;
use pinset::incoming::Incoming;
use pinset::outgoing::{Body, Key};
use scheduler::clock::UtcSeconds;
use scheduler::id::Id;
use scheduler::store::{Store, audit, outbox};
use std::future::Future;
use tokio::runtime::Runtime;

/// A week of this seed leaves orders, lots, offers and cards with buttons that work.
const SEED: u64 = 1;

/// The farm, and where it is kept.
pub struct Ground {
    runtime: Runtime,
    house: House,
    store: Store,
    now: UtcSeconds,
    _place: Place,
}

impl Ground {
    /// Plays a week, and opens what is left of it.
    ///
    /// # Errors
    /// When no database can be made, or the week breaks an invariant.
    pub fn new() -> anyhow::Result<Ground> {
        let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build()?;
        let (place, store, now) = runtime.block_on(async {
            let place = Place::sqlite(template_start()).await?;
            let database = place.farm(SEED).await?;
            // The Monday after the template's Sunday.
            let start = template_start().plus_seconds(24 * 3600);
            let broken = |what| anyhow::anyhow!("the week before: {what}");
            let mut simulation = Simulation::begin(SEED, &database, start).await.map_err(broken)?;
            let monday = start.local_date(house().zone());
            simulation.week(0, monday).await.map_err(broken)?;
            simulation.end().await;
            let store = Store::open(&database.url).await?;
            anyhow::Ok((place, store, start.plus_seconds((7 * 24 + 10) * 3600)))
        })?;
        Ok(Ground { runtime, house: house(), store, now, _place: place })
    }

    /// Runs `play` at a desk whose transaction is then dropped, after everything written there was checked.
    pub fn play<F>(&self, play: F)
    where
        F: AsyncFnOnce(&mut Scene<'_>),
    {
        self.block_on(async {
            let mut tx = self.store.begin().await.expect("the database answers");
            let before = outbox::last(&mut tx).await.expect("the database answers");
            let desk = Desk::new(tx, self.now, &self.house, None);
            let mut scene = Scene { desk, before };
            play(&mut scene).await;
            scene.check().await;
        });
    }

    /// Runs `future` on the ground's thread.
    pub fn block_on<F: Future>(&self, future: F) -> F::Output {
        self.runtime.block_on(future)
    }
}

/// One input's stay on the farm.
pub struct Scene<'g> {
    desk: Desk<'g>,
    before: Option<Id>,
}

impl Scene<'_> {
    /// Acts on an update as the engine does.
    pub async fn take(&mut self, incoming: &Incoming) {
        conversation::converse(&mut self.desk, incoming).await.expect("whatever is said, the store does not fail");
    }

    /// Tokens of the buttons written to a chat in this scene, oldest first.
    pub async fn tokens(&mut self, chat_id: i64) -> Vec<String> {
        let written = self.written().await;
        let keys = written.into_iter().filter(|(chat, _)| *chat == chat_id).flat_map(|(_, body)| keys_of(&body));
        keys.map(|key| key.token).collect()
    }

    async fn written(&mut self) -> Vec<(i64, Body)> {
        let before = self.before.unwrap_or(Id::new(0));
        let kept = outbox::after(&mut self.desk.tx, before).await.expect("the database answers");
        let read = |text: &str| serde_json::from_str(text).expect("the outbox holds what was written to it");
        kept.iter().map(|one| (one.chat_id, read(&one.body))).collect()
    }

    async fn check(mut self) {
        for (_, body) in self.written().await {
            check_published(&body);
        }
        let faults = audit::faults(&mut self.desk.tx).await.expect("the database answers");
        assert!(faults.is_empty(), "a broken invariant: {faults:?}");
    }
}

fn keys_of(body: &Body) -> Vec<Key> {
    match body {
        Body::Message { keyboard, .. } | Body::Photo { keyboard, .. } | Body::Document { keyboard, .. } => {
            keyboard.iter().flatten().cloned().collect()
        }
        Body::ClearKeys { .. } | Body::Toast { .. } | Body::WhoIsThere { .. } | Body::Menu { .. } => Vec::new(),
    }
}

/// The published limits of the Bot API: sendMessage 1-4096 characters after entities parsing, captions 0-1024,
/// answerCallbackQuery 0-200, callback data 1-64 bytes, commands 1-32 characters with descriptions of 1-256, 100 of them.
fn check_published(body: &Body) {
    let formatted = |html: &str| FormattedText::of_html(html).unwrap_or_else(|why| panic!("{why}: {html:?}"));
    match body {
        Body::Message { html, .. } => {
            let text = formatted(html);
            assert!((1..=4096).contains(&text.units()) && !text.text.trim().is_empty(), "{html:?}");
        }
        Body::Photo { caption, bytes, .. } | Body::Document { caption, bytes, .. } => {
            assert!(formatted(caption).units() <= 1024 && !bytes.is_empty(), "{caption:?}");
        }
        Body::Toast { text, .. } => assert!(text.encode_utf16().count() <= 200, "{text:?}"),
        Body::Menu { commands } => {
            assert!(commands.len() <= 100);
            for one in commands {
                assert!((1..=32).contains(&one.command.len()) && (1..=256).contains(&one.description.chars().count()));
            }
        }
        Body::ClearKeys { .. } | Body::WhoIsThere { .. } => {}
    }
    for key in keys_of(body) {
        assert!(!key.label.trim().is_empty() && (1..=64).contains(&key.token.len()), "{key:?}");
    }
}
