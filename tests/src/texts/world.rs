//! One situation on the farm, in which texts are said and buttons pressed, and which is then put back as it was.

use super::books::Books;
use super::kept::{Keeper, Kept};
use super::outcomes::Scene;
use crate::stored;
use anyhow::Context;
use bot_api_local::{ButtonAction, ChatMessage, Pressed};
use pinset::intent::{Asked, Intent, Waiting};
use pinset::stage::{Actor, Stage};
use scheduler::store::backup::file::Value;
use scheduler::store::buttons;
use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};
use tracing::field::{Field, Visit};
use tracing::{Event, Metadata, Subscriber, span};

/// A button as it stands under an answer.
#[derive(Clone, Debug)]
pub struct Offered {
    pub label: String,
    pub token: String,
    message_id: i64,
    pub intent: Intent,
}

/// What came of a text or a press.
#[derive(Debug)]
pub struct Reading {
    /// What the writer's chat shows now that it did not show before.
    pub answers: Vec<ChatMessage>,
    /// The wishes that were read, by name.
    pub wishes: Vec<String>,
    /// Whose other chats something new came to.
    pub heard: BTreeSet<i64>,
    pub books: Books,
    /// Whether the bot waits for a typed answer.
    pub is_asked: bool,
    /// The button that confirms what was said back.
    pub yes: Option<Offered>,
    /// Every other button under the answers that works.
    pub offered: Vec<Offered>,
}

impl Reading {
    /// All answers as one text.
    pub fn text(&self) -> String {
        self.answers.iter().map(|message| message.text.as_str()).collect::<Vec<_>>().join("\n")
    }
}

/// A situation.
pub struct World {
    pub stage: Stage,
    pub language: &'static str,
    pub writer: Actor,
    pub keeper: Actor,
    /// Every chat there is.
    chats: Vec<i64>,
    pub scene: Scene,
    records: Keeper,
    home: Kept,
    pub books: Books,
    rows: Vec<(String, Vec<Value>)>,
    _folder: tempfile::TempDir,
}

impl World {
    /// A farm that has come to the situation.
    ///
    /// # Errors
    /// When the store fails.
    pub async fn of(
        (stage, folder): (Stage, tempfile::TempDir),
        (language, writer, keeper): (&'static str, Actor, Actor),
        chats: Vec<i64>,
        scene: Scene,
    ) -> anyhow::Result<World> {
        listen();
        let mut records = Keeper::of(stage.database(), folder.path());
        let home = records.keep().await?;
        let (books, rows) = (Books::read(&stage).await?, stored::of_farm(&stage).await?);
        Ok(World { stage, language, writer, keeper, chats, scene, records, home, books, rows, _folder: folder })
    }

    /// Makes everything what it was at first.
    ///
    /// # Errors
    /// When the store fails.
    pub async fn go_home(&self) -> anyhow::Result<()> {
        self.records.put_back(&self.home).await
    }

    /// Keeps this moment.
    ///
    /// # Errors
    /// When the store fails.
    pub async fn keep(&mut self) -> anyhow::Result<Kept> {
        self.records.keep().await
    }

    /// Makes everything what it was at that moment.
    ///
    /// # Errors
    /// When the store fails.
    pub async fn go_back(&self, kept: &Kept) -> anyhow::Result<()> {
        self.records.put_back(kept).await
    }

    /// Says a text.
    ///
    /// # Errors
    /// When the bot hangs.
    pub async fn say(&self, text: &str) -> anyhow::Result<Reading> {
        let before = self.look();
        self.stage.server.say(self.writer.0, self.writer.0, text)?;
        self.read(before).await.with_context(|| text.to_owned())
    }

    /// Whether any row of the farm's record differs from what it was at first.
    ///
    /// # Errors
    /// When the store fails.
    pub async fn is_changed(&self) -> anyhow::Result<bool> {
        Ok(stored::of_farm(&self.stage).await? != self.rows)
    }

    /// Presses a button.
    ///
    /// # Errors
    /// When the bot hangs.
    pub async fn press(&self, button: &Offered) -> anyhow::Result<Reading> {
        let before = self.look();
        let pressed = Pressed::Forged(&button.token);
        self.stage.server.press(self.writer.0, self.writer.0, button.message_id, pressed)?;
        self.read(before).await.with_context(|| button.label.clone())
    }

    fn look(&self) -> BTreeMap<i64, Vec<ChatMessage>> {
        WISHES.take();
        self.chats.iter().map(|chat| (*chat, self.stage.server.chat(*chat))).collect()
    }

    async fn read(&self, before: BTreeMap<i64, Vec<ChatMessage>>) -> anyhow::Result<Reading> {
        self.stage.settle().await?;
        let mut heard = BTreeSet::new();
        let mut answers = Vec::new();
        for (chat, old) in before {
            let was = |id: i64| old.iter().find(|message| message.message_id == id);
            // A card whose buttons went away says nothing new.
            let is_news = |now: &ChatMessage| match was(now.message_id) {
                None => true,
                Some(was) => now.text != was.text || now.keyboard != was.keyboard && !now.keyboard.is_empty(),
            };
            let now = self.stage.server.chat(chat).into_iter();
            let new: Vec<_> = now.filter(|now| now.from_bot() && !now.is_deleted && is_news(now)).collect();
            if chat == self.writer.0 {
                answers = new;
            } else if !new.is_empty() {
                heard.insert(chat);
            }
        }
        let (is_asked, yes, offered) = self.buttons(&answers).await?;
        let books = Books::read(&self.stage).await?;
        Ok(Reading { answers, wishes: WISHES.take(), heard, books, is_asked, yes, offered })
    }

    async fn buttons(&self, answers: &[ChatMessage]) -> anyhow::Result<(bool, Option<Offered>, Vec<Offered>)> {
        let mut tx = self.stage.engine.store.begin_reading().await?;
        let waiting = buttons::open_question(&mut tx, self.writer.0, self.stage.now()).await?;
        let is_asked = waiting.is_some();
        let asked: Option<Asked> = waiting.and_then(|text| serde_json::from_str(&text).ok());
        let confirmed = asked.and_then(|asked| match asked.waiting {
            Waiting::Confirm(confirming) => Some(confirming.yes),
            _ => None,
        });
        let (mut yes, mut offered) = (None, Vec::new());
        for message in answers {
            for button in message.keyboard.iter().flatten() {
                let ButtonAction::Callback(token) = &button.action else { continue };
                let Some(stored) = buttons::find(&mut tx, self.writer.0, token).await? else { continue };
                let Ok(intent) = serde_json::from_str::<Intent>(&stored.intent) else { continue };
                if stored.is_void {
                    continue;
                }
                let is_yes = confirmed.as_ref() == Some(&intent);
                let button = Offered {
                    label: button.text.clone(),
                    token: token.clone(),
                    message_id: message.message_id,
                    intent,
                };
                if is_yes {
                    yes = Some(button);
                } else {
                    offered.push(button);
                }
            }
        }
        Ok((is_asked, yes, offered))
    }

    /// Ends it.
    pub async fn close(self) {
        self.stage.close().await;
    }
}

thread_local! {
    static WISHES: RefCell<Vec<String>> = const { RefCell::new(Vec::new()) };
}

/// Listens to what the bot says in its log that somebody wants.
fn listen() {
    // Another test of this process may listen already: that is this same listener.
    let _ = tracing::subscriber::set_global_default(Listener);
}

struct Listener;

impl Subscriber for Listener {
    fn enabled(&self, metadata: &Metadata<'_>) -> bool {
        metadata.is_event() && metadata.target().starts_with("pinset::conversation")
    }

    fn new_span(&self, _: &span::Attributes<'_>) -> span::Id {
        span::Id::from_u64(1)
    }

    fn record(&self, _: &span::Id, _: &span::Record<'_>) {}

    fn record_follows_from(&self, _: &span::Id, _: &span::Id) {}

    fn event(&self, event: &Event<'_>) {
        let mut said = Said::default();
        event.record(&mut said);
        if said.is_decided {
            WISHES.with_borrow_mut(|wishes| wishes.extend(said.action));
        }
    }

    fn enter(&self, _: &span::Id) {}

    fn exit(&self, _: &span::Id) {}
}

#[derive(Default)]
struct Said {
    is_decided: bool,
    action: Option<String>,
}

impl Visit for Said {
    fn record_str(&mut self, field: &Field, value: &str) {
        if field.name() == "action" {
            self.action = Some(value.to_owned());
        }
    }

    fn record_debug(&mut self, field: &Field, value: &dyn std::fmt::Debug) {
        match field.name() {
            "message" => self.is_decided = format!("{value:?}") == "decided",
            "action" => self.action = Some(format!("{value:?}").trim_matches('"').to_owned()),
            _ => {}
        }
    }
}
