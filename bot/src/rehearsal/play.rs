//! What can be done on the page: people act, the clock moves, the line fails.

use super::album::Album;
use super::opening::{Cast, Member, Set};
use crate::stage::Stage;
use bot_api_local::{ANY_MESSAGE, ActError, Fault, Pressed};
use chrono::NaiveDateTime;
use scheduler::clock::instant_of;
use scheduler::people::{Person, Role};
use scheduler::store::people;
use serde::Deserialize;
use serde_json::{Value, json};
use std::sync::atomic::{AtomicBool, AtomicI64, Ordering};
use std::sync::{Mutex, MutexGuard, PoisonError};
use tokio::sync::{RwLock, watch};

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

/// The rehearsal behind the page.
pub(super) struct Play {
    pub(super) stage: RwLock<Stage>,
    cast: Mutex<Cast>,
    album: Mutex<Album>,
    pub(super) claim_code: Option<String>,
    /// Held while the clock moves, so that it moves for one at a time.
    turn: tokio::sync::Mutex<()>,
    pub(super) is_running: AtomicBool,
    pub(super) is_busy: AtomicBool,
    last_update: AtomicI64,
    /// Rises with what the local server does not tell: the clock, the cast.
    pub(super) moved: watch::Sender<u64>,
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

    pub(super) fn cast(&self) -> MutexGuard<'_, Cast> {
        self.cast.lock().unwrap_or_else(PoisonError::into_inner)
    }

    pub(super) fn album(&self) -> MutexGuard<'_, Album> {
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
        let mut family = self.everybody().await?;
        family.retain(|one| one.role.is_family());
        // Only a keeper can make it the family's.
        family.sort_by_key(|one| one.role != Role::Keeper);
        let family: Vec<i64> = family.iter().map(|one| one.chat_id).collect();
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
}

fn name_of(text: &str) -> Result<String, Refusal> {
    let name = text.trim();
    let fits = !name.is_empty() && name.chars().count() <= NAME_CHARS_MAX;
    if fits { Ok(name.to_owned()) } else { Err(Refusal::Because("page-refused-name")) }
}
