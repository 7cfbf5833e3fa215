//! What can be done on the page: people act, the clock moves, the line fails.

use super::album::Album;
use super::opening::{Cast, Member, Set};
use super::picture;
use crate::rehearsal::{ANY_MESSAGE, ActError, Call, Fault, Pressed};
use crate::stage::Stage;
use chrono::NaiveDateTime;
use scheduler::clock::{UtcSeconds, instant_of};
use scheduler::people::Person;
use scheduler::store::people;
use serde::Deserialize;
use serde_json::{Value, json};
use std::sync::atomic::{AtomicBool, AtomicI64, Ordering};
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::time::Duration;
use tokio::sync::{RwLock, watch};

/// How long a browser's question for changes is held open when there are none.
const HELD: Duration = Duration::from_secs(20);
/// Changes that come close together are told together.
const GATHERED: Duration = Duration::from_millis(30);
/// Messages of a chat that are shown at first.
const FIRST_MESSAGES: usize = 60;
/// Calls of the bot from which the dispatch book is written, and its last lines whose outcome may still change.
const CALLS_LOOKED_AT: u64 = 400;
const LINES_WATCHED: usize = 8;
/// Accounts and groups made on the page are numbered from here.
const FIRST_ACCOUNT: i64 = 5001;
const FIRST_GROUP: i64 = -4002;
/// Longest name of a person or group, characters: Bot API clients cut at 64, common practice, no source.
const NAME_CHARS_MAX: usize = 64;
/// Longest text a person can send, UTF-16 code units (Bot API reference, "Message").
const TEXT_UNITS_MAX: usize = 4096;
/// The farthest the clock can be moved at once: a little over a year.
const MOVE_DAYS_MAX: i64 = 400;

/// One thing done on the page.
#[derive(Debug, Deserialize)]
#[serde(tag = "act", rename_all = "snake_case")]
pub(super) enum Act {
    Say {
        chat: i64,
        person: i64,
        text: String,
        reply_to: Option<i64>,
    },
    Press {
        chat: i64,
        person: i64,
        message: i64,
        row: usize,
        column: usize,
    },
    /// Opens an invitation.
    Open {
        person: i64,
        code: String,
    },
    /// A new person.
    Enter {
        name: String,
        language: String,
    },
    /// A group chat of the family.
    Group {
        title: String,
    },
    Move {
        to: Goal,
    },
    /// Lets the clock run, or stops it.
    Run {
        on: bool,
    },
    Throw {
        fault: Trouble,
    },
}

/// Where the clock is moved to.
#[derive(Debug, Deserialize)]
#[serde(rename_all = "snake_case")]
pub(super) enum Goal {
    Hour,
    Event,
    Delivery,
    /// A wall-clock reading in the farm's zone.
    At(NaiveDateTime),
}

/// What can go wrong.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub(super) enum Trouble {
    TooMany,
    ServerError,
    CutBefore,
    CutAfter,
    Duplicate,
    Restart,
}

/// Why something was not done: the key of a sentence in the page's words.
#[derive(Debug)]
pub(super) enum Refusal {
    Because(&'static str),
    Failed(anyhow::Error),
}

impl<E: Into<anyhow::Error>> From<E> for Refusal {
    fn from(error: E) -> Refusal {
        Refusal::Failed(error.into())
    }
}

/// How much a browser has.
#[derive(Clone, Copy, Debug, Default, Deserialize)]
pub(super) struct Have {
    /// 0: nothing.
    #[serde(default)]
    pub since: u64,
    /// The number of the last call it knows for good.
    #[serde(default)]
    pub calls: u64,
    #[serde(default)]
    pub toasts: usize,
}

/// The rehearsal behind the page.
pub(super) struct Play {
    stage: RwLock<Stage>,
    cast: Mutex<Cast>,
    album: Mutex<Album>,
    claim_code: Option<String>,
    /// Held while the clock moves, so that it moves for one at a time.
    turn: tokio::sync::Mutex<()>,
    is_running: AtomicBool,
    is_busy: AtomicBool,
    last_update: AtomicI64,
    /// Rises with what the local server does not tell: the clock, the cast.
    moved: watch::Sender<u64>,
    closing: watch::Sender<bool>,
}

impl Play {
    pub fn new(set: Set) -> Play {
        Play {
            stage: RwLock::new(set.stage),
            cast: Mutex::new(set.cast),
            album: Mutex::default(),
            claim_code: set.claim_code,
            turn: tokio::sync::Mutex::default(),
            is_running: AtomicBool::new(false),
            is_busy: AtomicBool::new(false),
            last_update: AtomicI64::new(0),
            moved: watch::Sender::new(0),
            closing: watch::Sender::new(false),
        }
    }

    pub fn closing(&self) -> watch::Receiver<bool> {
        self.closing.subscribe()
    }

    pub fn end(&self) {
        self.closing.send_replace(true);
    }

    pub fn into_stage(self) -> Stage {
        self.stage.into_inner()
    }

    fn cast(&self) -> MutexGuard<'_, Cast> {
        self.cast.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn album(&self) -> MutexGuard<'_, Album> {
        self.album.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn change(&self) {
        self.moved.send_modify(|count| *count += 1);
    }

    /// The stage, for looking.
    pub async fn stage(&self) -> tokio::sync::RwLockReadGuard<'_, Stage> {
        self.stage.read().await
    }

    /// Does it and waits until the bot has nothing left to do.
    ///
    /// # Errors
    /// Why it was not done.
    pub async fn act(&self, act: Act) -> Result<Value, Refusal> {
        let done = match act {
            Act::Say { chat, person, text, reply_to } => self.say((chat, person), &text, reply_to).await,
            Act::Press { chat, person, message, row, column } => {
                let stage = self.stage.read().await;
                self.let_in(&stage, chat, person)?;
                self.acted(&stage, stage.server.press(chat, person, message, Pressed::At(row, column))).await
            }
            Act::Open { person, code } => {
                let stage = self.stage.read().await;
                self.acted(&stage, stage.server.send_start(person, code.trim())).await
            }
            Act::Enter { name, language } => self.enter(&name, &language).await,
            Act::Group { title } => self.group(&title).await,
            Act::Move { to } => self.move_to(to).await,
            Act::Run { on } => {
                self.is_running.store(on, Ordering::SeqCst);
                Ok(Value::Null)
            }
            Act::Throw { fault } => self.throw(fault).await,
        };
        self.change();
        done
    }

    async fn say(&self, (chat, person): (i64, i64), text: &str, reply_to: Option<i64>) -> Result<Value, Refusal> {
        if text.trim().is_empty() || text.encode_utf16().count() > TEXT_UNITS_MAX {
            return Err(Refusal::Because("page-refused-text"));
        }
        let stage = self.stage.read().await;
        self.let_in(&stage, chat, person)?;
        let said = match reply_to {
            Some(message_id) => stage.server.reply(chat, person, message_id, text),
            None => stage.server.say(chat, person, text),
        };
        self.acted(&stage, said).await
    }

    /// Whoever acts in a group is let in first.
    fn let_in(&self, stage: &Stage, chat: i64, person: i64) -> Result<(), Refusal> {
        let is_group = self.cast().groups.iter().any(|(id, _)| *id == chat);
        if is_group { Ok(stage.server.add_member(chat, person)?) } else { Ok(()) }
    }

    async fn acted(&self, stage: &Stage, acted: Result<i64, ActError>) -> Result<Value, Refusal> {
        match acted {
            Ok(update_id) => self.last_update.store(update_id, Ordering::SeqCst),
            Err(ActError::NoButton(..) | ActError::NoMessage(..)) => {
                return Err(Refusal::Because("page-refused-button"));
            }
            Err(error) => return Err(error.into()),
        }
        stage.settle().await?;
        Ok(Value::Null)
    }

    async fn enter(&self, name: &str, language: &str) -> Result<Value, Refusal> {
        let name = name_of(name)?;
        let stage = self.stage.read().await;
        let mut cast = self.cast();
        let id = cast.people.iter().map(|member| member.id + 1).max().unwrap_or_default().max(FIRST_ACCOUNT);
        stage.enter(id, &name, language);
        cast.people.push(Member { id, name, language: language.to_owned() });
        Ok(json!({ "person": id }))
    }

    async fn group(&self, title: &str) -> Result<Value, Refusal> {
        let title = name_of(title)?;
        let family: Vec<i64> =
            self.everybody().await?.iter().filter(|one| one.role.is_family()).map(|one| one.chat_id).collect();
        if family.is_empty() {
            return Err(Refusal::Because("page-refused-group"));
        }
        let stage = self.stage.read().await;
        let id = {
            let mut cast = self.cast();
            let id = cast.groups.iter().map(|(id, _)| id - 1).min().unwrap_or_default().min(FIRST_GROUP);
            stage.server.add_group(id, &title, &family)?;
            cast.groups.push((id, title));
            id
        };
        self.acted(&stage, stage.server.say(id, family[0], "/group")).await?;
        Ok(json!({ "chat": id }))
    }

    async fn everybody(&self) -> anyhow::Result<Vec<Person>> {
        let stage = self.stage.read().await;
        let mut tx = stage.engine.store.begin_reading().await?;
        Ok(people::everybody(&mut tx).await?)
    }

    async fn move_to(&self, goal: Goal) -> Result<Value, Refusal> {
        let Ok(_turn) = self.turn.try_lock() else { return Err(Refusal::Because("page-refused-busy")) };
        let stage = self.stage.read().await;
        let now = stage.now();
        let then = match goal {
            Goal::Hour => now.plus_minutes(60),
            Goal::Event => stage.next_event().await?.ok_or(Refusal::Because("page-refused-nothing"))?,
            Goal::Delivery => {
                let next = stage.engine.house.calendar.next_delivery(now);
                next.ok_or(Refusal::Because("page-refused-nothing"))?.departs_at
            }
            Goal::At(local) => instant_of(local, stage.engine.house.zone()),
        };
        if then < now {
            return Err(Refusal::Because("page-refused-past"));
        }
        if then.since(now) > MOVE_DAYS_MAX * 24 * 3600 {
            return Err(Refusal::Because("page-refused-far"));
        }
        self.is_busy.store(true, Ordering::SeqCst);
        self.change();
        let moved = stage.move_to(then).await;
        self.is_busy.store(false, Ordering::SeqCst);
        moved?;
        Ok(Value::Null)
    }

    /// One second more on a running clock.
    pub async fn tick(&self) {
        if !self.is_running.load(Ordering::SeqCst) {
            return;
        }
        let Ok(_turn) = self.turn.try_lock() else { return };
        let stage = self.stage.read().await;
        if let Err(error) = stage.move_to(stage.now().plus_seconds(1)).await {
            tracing::warn!(%error, "the farm's clock did not move");
        }
        self.change();
    }

    async fn throw(&self, trouble: Trouble) -> Result<Value, Refusal> {
        let fault = match trouble {
            Trouble::TooMany => Fault::TooManyRequests { retry_after_s: 5 },
            Trouble::ServerError => Fault::ServerError(502),
            Trouble::CutBefore => Fault::CutBefore,
            Trouble::CutAfter => Fault::CutAfter,
            Trouble::Duplicate => {
                let stage = self.stage.read().await;
                let last = self.last_update.load(Ordering::SeqCst);
                if stage.server.repeat_update(last).is_err() {
                    return Err(Refusal::Because("page-refused-duplicate"));
                }
                stage.settle().await?;
                return Ok(Value::Null);
            }
            Trouble::Restart => {
                let Ok(_turn) = self.turn.try_lock() else { return Err(Refusal::Because("page-refused-busy")) };
                let mut stage = self.stage.write().await;
                stage.restart().await?;
                stage.settle().await?;
                return Ok(Value::Null);
            }
        };
        self.stage.read().await.server.fault(fault, Some(ANY_MESSAGE), 1);
        Ok(Value::Null)
    }

    /// What has changed since the browser last asked; waits for a change when nothing has.
    ///
    /// # Errors
    /// When the store fails.
    pub async fn changes(&self, have: Have) -> anyhow::Result<Value> {
        let mut changed = self.stage.read().await.server.changed();
        let mut moved = self.moved.subscribe();
        let mut closing = self.closing();
        let until = tokio::time::Instant::now() + HELD;
        loop {
            changed.mark_unchanged();
            moved.mark_unchanged();
            let (picture, revision) = self.picture(have).await?;
            if revision > have.since || *closing.borrow() {
                return Ok(picture);
            }
            let is_over = tokio::select! {
                _ = changed.changed() => false,
                _ = moved.changed() => false,
                () = tokio::time::sleep_until(until) => true,
                _ = closing.wait_for(|closing| *closing) => true,
            };
            if is_over {
                return Ok(picture);
            }
            tokio::time::sleep(GATHERED).await;
        }
    }

    /// The revision of the page as it is now: a browser that has it has seen everything done so far.
    ///
    /// # Errors
    /// When the store fails.
    pub async fn revision(&self) -> anyhow::Result<u64> {
        Ok(self.picture(Have { since: u64::MAX, calls: u64::MAX, toasts: usize::MAX }).await?.1)
    }

    async fn picture(&self, have: Have) -> anyhow::Result<(Value, u64)> {
        let stage = self.stage.read().await;
        let cast = self.cast().clone();
        let chats: Vec<_> = cast
            .people
            .iter()
            .map(|member| member.id)
            .chain(cast.groups.iter().map(|(id, _)| *id))
            .map(|id| (id, stage.server.chat(id)))
            .collect();
        let toasts = stage.server.toasts();
        let mut sheet = self.sheet(&stage, &cast).await?;
        let calls = stage.server.calls_after(stage.server.call_count().saturating_sub(CALLS_LOOKED_AT));
        let dispatch = |call: &Call| Some((call.number, picture::dispatch(call)?));
        let dispatched: Vec<(u64, Value)> = calls.iter().filter_map(dispatch).collect();
        let last_lines = &dispatched[dispatched.len().saturating_sub(LINES_WATCHED)..];
        let mut album = self.album();
        album.look(&chats, &format!("{sheet}{}{}", toasts.len(), json!(last_lines)));
        let mut messages = serde_json::Map::new();
        for (chat_id, all) in &chats {
            let first = if have.since == 0 { all.len().saturating_sub(FIRST_MESSAGES) } else { 0 };
            let newer = all.iter().enumerate().skip(first);
            let newer = newer.filter(|(index, _)| album.is_newer((*chat_id, *index), have.since));
            let newer: Vec<Value> = newer.map(|(_, message)| picture::message(*chat_id, message)).collect();
            if !newer.is_empty() {
                messages.insert(chat_id.to_string(), json!(newer));
            }
        }
        let shown = if have.since == 0 { toasts.len() } else { have.toasts.min(toasts.len()) };
        let new_toasts = toasts[shown..].iter().filter(|toast| !toast.text.is_empty());
        let new_toasts = new_toasts.map(|toast| json!({ "chat": toast.chat_id, "text": toast.text }));
        sheet["toasts"] = new_toasts.collect();
        sheet["toast_count"] = json!(toasts.len());
        let log = dispatched.into_iter().filter(|(number, _)| *number > have.calls).map(|(_, line)| line);
        sheet["log"] = log.collect();
        sheet["messages"] = Value::Object(messages);
        sheet["revision"] = json!(album.revision());
        Ok((sheet, album.revision()))
    }

    /// Everything but messages.
    async fn sheet(&self, stage: &Stage, cast: &Cast) -> anyhow::Result<Value> {
        let mut tx = stage.engine.store.begin_reading().await?;
        let everybody = people::everybody(&mut tx).await?;
        let buyers = people::buyers(&mut tx).await?;
        drop(tx);
        let mut panes = Vec::new();
        for member in &cast.people {
            let person = everybody.iter().find(|one| one.chat_id == member.id);
            let buyer = person.and_then(|person| buyers.iter().find(|buyer| Some(buyer.id) == person.buyer_id));
            panes.push(json!({
                "chat": member.id,
                "name": member.name,
                "language": person.map_or(&member.language, |person| &person.language),
                "role": person.map(|person| picture::role(person.role)),
                "place": buyer.map(|buyer| &buyer.name),
                "menu": stage.server.menu(member.id, member.id),
            }));
        }
        for (chat_id, title) in &cast.groups {
            panes.push(json!({ "chat": chat_id, "name": title, "group": true }));
        }
        let now = stage.now();
        let house = &stage.engine.house;
        let is_kept = everybody.iter().any(|one| one.role == scheduler::people::Role::Keeper);
        let next_delivery = house.calendar.next_delivery(now).map(|delivery| delivery.departs_at);
        let waiting: Option<UtcSeconds> = {
            let mut tx = stage.engine.store.begin_reading().await?;
            scheduler::store::outbox::next_due(&mut tx).await?
        };
        Ok(json!({
            "farm": house.config.farm.name,
            "zone": house.zone().name(),
            "now": now,
            "next_event": stage.next_event().await?,
            "next_delivery": next_delivery,
            "waiting_until": waiting,
            "running": self.is_running.load(Ordering::SeqCst),
            "busy": self.is_busy.load(Ordering::SeqCst),
            "claim_code": self.claim_code.as_ref().filter(|_| !is_kept),
            "panes": panes,
        }))
    }
}

fn name_of(text: &str) -> Result<String, Refusal> {
    let name = text.trim();
    let fits = !name.is_empty() && name.chars().count() <= NAME_CHARS_MAX;
    if fits { Ok(name.to_owned()) } else { Err(Refusal::Because("page-refused-name")) }
}
