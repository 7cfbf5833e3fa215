//! The messaging service in memory: chats with their messages, and every way it can fail, by the seed's will.

use super::Broken;
use super::chance::Chance;
use super::counts::{Mishap, Mishaps};
use bot_api_local::{PaceKeeper, PaceLimits};
use pinset::outgoing::Key;
use pinset::telegram::service::{Call, Service};
use scheduler::clock::{Clock, HandClock, UtcSeconds};
use std::collections::{BTreeMap, BTreeSet};
use std::pin::Pin;
use std::sync::{Arc, Mutex, MutexGuard};
use teloxide::types::{ChatId, MessageId, Seconds};
use teloxide::{ApiError, RequestError};

/// A message that stands in a chat.
#[derive(Clone, Debug)]
pub struct Standing {
    pub message_id: i32,
    pub html: String,
    pub keyboard: Vec<Vec<Key>>,
    pub is_deleted: bool,
}

/// A call that the service acted on.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Act {
    pub chat_id: i64,
    /// What was said, comparable with what the outbox holds.
    pub content: String,
    /// The sender cannot know of it: the answer was lost, or the sender was stopped.
    pub is_lost: bool,
}

#[derive(Default)]
struct Chats {
    messages: BTreeMap<i64, Vec<Standing>>,
    next_message_id: i32,
    acts: Vec<Act>,
    blocked: BTreeSet<i64>,
    moved: BTreeMap<i64, i64>,
    /// Chats that must not be called before then.
    wait_until: BTreeMap<i64, UtcSeconds>,
    /// Until then every chat is told to wait.
    flood_until: Option<UtcSeconds>,
    /// Until then nothing is answered.
    down_until: Option<UtcSeconds>,
    /// Counts messages; a program that was just started knows nothing of those before.
    pace: Option<PaceKeeper>,
    second_start: Option<SecondStart>,
    /// Chats whose wish to wait the sender has not recorded yet.
    unrecorded: Vec<i64>,
    chance: Chance,
    /// Faults left until the next quiet.
    faults_left: u32,
    broken: Vec<String>,
    calls: u64,
    /// Chats that were called since this was asked, in order.
    tried: Vec<i64>,
    happened: Mishaps,
}

/// The service.
#[derive(Clone)]
pub struct Memory {
    chats: Arc<Mutex<Chats>>,
    clock: Arc<HandClock>,
    crash: super::crash::Crash,
}

/// Starts the program a second time beside the one that runs.
pub type SecondStart = Arc<dyn Fn() -> Pin<Box<dyn Future<Output = Result<(), Broken>> + Send>> + Send + Sync>;

impl Memory {
    pub fn new(clock: Arc<HandClock>, crash: super::crash::Crash, seed: u64) -> Memory {
        let pace = Some(PaceKeeper::new(PaceLimits::PUBLISHED));
        let chats = Chats { next_message_id: 1, chance: Chance::new(seed), pace, ..Chats::default() };
        Memory { chats: Arc::new(Mutex::new(chats)), clock, crash }
    }

    /// How somebody starts the program a second time; `None` when nobody does any more.
    pub fn on_second_start(&self, start: Option<SecondStart>) {
        self.chats().second_start = start;
    }

    /// Nothing is answered until then.
    pub fn go_down(&self, until: UtcSeconds) {
        let mut chats = self.chats();
        chats.down_until = Some(until);
        chats.happened.note(Mishap::Outage);
    }

    /// Everything is answered again.
    pub fn come_back(&self) {
        self.chats().down_until = None;
    }

    fn chats(&self) -> MutexGuard<'_, Chats> {
        self.chats.lock().expect("one thread, no panics while it is held")
    }

    /// Lets so many faults happen from now on.
    pub fn allow_faults(&self, count: u32) {
        self.chats().faults_left = count;
    }

    /// Calls, and what befell them.
    pub fn calls(&self) -> (u64, Mishaps) {
        let chats = self.chats();
        (chats.calls, chats.happened.clone())
    }

    /// The messages of a chat.
    pub fn chat(&self, chat_id: i64) -> Vec<Standing> {
        self.chats().messages.get(&chat_id).cloned().unwrap_or_default()
    }

    /// The text of a message that stands.
    pub fn text(&self, chat_id: i64, message_id: i64) -> Option<String> {
        let chats = self.chats();
        let standing = chats.messages.get(&chat_id)?.iter().find(|one| i64::from(one.message_id) == message_id)?;
        (!standing.is_deleted).then(|| standing.html.clone())
    }

    pub fn block(&self, chat_id: i64, is_blocked: bool) {
        let mut chats = self.chats();
        if is_blocked {
            chats.blocked.insert(chat_id);
        } else {
            chats.blocked.remove(&chat_id);
        }
    }

    pub fn is_blocked(&self, chat_id: i64) -> bool {
        self.chats().blocked.contains(&chat_id)
    }

    /// The group becomes a supergroup with another number.
    pub fn migrate(&self, from: i64, to: i64) {
        self.chats().moved.insert(from, to);
    }

    /// Somebody deletes a message of a chat.
    pub fn delete_one(&self, chat_id: i64, chance: &mut Chance) {
        let mut chats = self.chats();
        if let Some(messages) = chats.messages.get_mut(&chat_id).filter(|messages| !messages.is_empty()) {
            // Mostly one of the last, which are still worked with.
            let first = if chance.one_in(4) { 0 } else { messages.len().saturating_sub(4) };
            let place = first + chance.below(messages.len() - first);
            messages[place].is_deleted = true;
        }
    }

    /// What was acted on since the last time this was asked.
    pub fn take_acts(&self) -> Vec<Act> {
        std::mem::take(&mut self.chats().acts)
    }

    /// Chats that were called since the last time this was asked, in order.
    pub fn take_tried(&self) -> Vec<i64> {
        std::mem::take(&mut self.chats().tried)
    }

    /// The sender was stopped: what it did and has not recorded, by `is_recorded`, it will do again.
    pub fn stopped(&self, mut sent: BTreeMap<(i64, String), usize>) {
        let mut chats = self.chats();
        chats.pace = Some(PaceKeeper::new(PaceLimits::PUBLISHED));
        // Nor can it know that it was asked to wait.
        for chat_id in std::mem::take(&mut chats.unrecorded) {
            chats.wait_until.remove(&chat_id);
        }
        let mut last: BTreeMap<i64, usize> = BTreeMap::new();
        for (place, act) in chats.acts.iter().enumerate() {
            if !act.is_lost {
                last.insert(act.chat_id, place);
            }
        }
        let mut known: BTreeMap<(i64, String), usize> = BTreeMap::new();
        for act in chats.acts.iter().filter(|act| !act.is_lost) {
            *known.entry((act.chat_id, act.content.clone())).or_default() += 1;
        }
        for (chat_id, place) in last {
            let key = (chat_id, chats.acts[place].content.clone());
            // At most the one message in flight of each chat.
            if known.get(&key).copied().unwrap_or_default() > sent.remove(&key).unwrap_or_default() {
                chats.acts[place].is_lost = true;
            }
        }
    }

    /// The sender has ended a round and recorded what it learned.
    pub fn round_ended(&self) {
        self.chats().unrecorded.clear();
    }

    /// What the service saw that must not be.
    pub fn broken(&self) -> Vec<String> {
        std::mem::take(&mut self.chats().broken)
    }

    /// A message sent past the outbox.
    pub fn send_early(&self, chat_id: i64, body: &str) {
        if let Some(content) = super::told::content_of(body) {
            self.chats().acts.push(Act { chat_id, content, is_lost: false });
        }
    }
}

enum Fault {
    None,
    RetryAfter(u32),
    Server(&'static str),
    /// Acted on; the answer is lost.
    Lost,
    CrashBefore,
    CrashAfter,
    Slow(i64),
    /// Acted on and said to be, in an answer that cannot be read.
    Unreadable,
    /// Every chat is told to wait.
    Flood(u32),
    /// The program is started once more before the service acts.
    SecondStart,
}

impl Chats {
    fn fault(&mut self) -> Fault {
        if self.faults_left == 0 || !self.chance.one_in(6) {
            return Fault::None;
        }
        self.faults_left -= 1;
        let (place, mishap) = match self.chance.below(12) {
            place @ (0 | 1) => (place, Mishap::TooManyRequests),
            place @ 2 => (place, Mishap::ServerError),
            place @ (3 | 4) => (place, Mishap::AnswerLost),
            place @ (5 | 6) => (place, Mishap::StoppedAtCall),
            place @ (7 | 8) => (place, Mishap::UnreadableAnswer),
            place @ 9 => (place, Mishap::Flood),
            place @ 10 => (place, Mishap::SecondStart),
            place => (place, Mishap::SlowAnswer),
        };
        self.happened.note(mishap);
        match place {
            0 | 1 => Fault::RetryAfter(*self.chance.pick(&[1, 3, 30, 35, 400, 900])),
            2 => Fault::Server(self.chance.pick::<&str>(&["Bad Gateway", "Internal Server Error", "Gateway Timeout"])),
            3 | 4 => Fault::Lost,
            5 => Fault::CrashBefore,
            6 => Fault::CrashAfter,
            7 | 8 => Fault::Unreadable,
            9 => Fault::Flood(*self.chance.pick(&[20, 400, 900])),
            10 => Fault::SecondStart,
            _ => Fault::Slow(*self.chance.pick(&[2, 20, 400])),
        }
    }

    /// Does what the call asks; the number of a new message.
    fn act(&mut self, chat_id: i64, call: Call<'_>) -> Result<(Option<MessageId>, Option<String>), ApiError> {
        let messages = self.messages.entry(chat_id).or_default();
        let new = |html: &str, keyboard: &[Vec<Key>], next: &mut i32| {
            *next += 1;
            let keyboard = keyboard.to_vec();
            Standing { message_id: *next, html: html.to_owned(), keyboard, is_deleted: false }
        };
        match call {
            Call::Send { html, keyboard } => {
                messages.push(new(html, keyboard, &mut self.next_message_id));
                Ok((Some(MessageId(self.next_message_id)), Some(format!("message {html}"))))
            }
            Call::Edit { message_id, html, keyboard } => {
                let there = messages.iter_mut().find(|one| one.message_id == message_id.0 && !one.is_deleted);
                let Some(there) = there else {
                    self.happened.note(Mishap::MessageDeleted);
                    return Err(ApiError::MessageToEditNotFound);
                };
                let is_same = there.html == html && there.keyboard == keyboard;
                html.clone_into(&mut there.html);
                there.keyboard = keyboard.to_vec();
                self.acts.extend(is_same.then(|| Act { chat_id, content: format!("message {html}"), is_lost: false }));
                if is_same { Err(ApiError::MessageNotModified) } else { Ok((None, Some(format!("message {html}")))) }
            }
            Call::SendPhoto(file) | Call::SendDocument(file) => {
                messages.push(new(file.caption, file.keyboard, &mut self.next_message_id));
                let content = format!("file {} {}", file.name, file.caption);
                Ok((Some(MessageId(self.next_message_id)), Some(content)))
            }
            Call::ClearKeys { message_id } => {
                let there = messages.iter_mut().find(|one| one.message_id == message_id.0 && !one.is_deleted);
                let Some(there) = there else {
                    self.happened.note(Mishap::MessageDeleted);
                    return Err(ApiError::MessageToEditNotFound);
                };
                if there.keyboard.is_empty() {
                    return Err(ApiError::MessageNotModified);
                }
                there.keyboard.clear();
                Ok((None, None))
            }
            Call::AnswerPress { callback_id, .. } => Ok((None, Some(format!("toast {callback_id}")))),
            Call::SetMenu { .. } => Ok((None, None)),
        }
    }
}

/// An ok whose result has a shape that no client knows.
fn unreadable(message_id: Option<MessageId>) -> RequestError {
    let number = message_id.map_or(String::new(), |id| format!("\"message_id\":{},", id.0));
    let raw = format!("{{\"ok\":true,\"result\":{{{number}\"of\":\"a later version\"}}}}");
    let source = serde_json::from_str::<bool>(&raw).expect_err("no truth value");
    RequestError::InvalidJson { source: Arc::new(source), raw: raw.into() }
}

impl Chats {
    /// Seconds for which every chat is still told to wait.
    fn flood_left(&self, now: UtcSeconds) -> Option<u32> {
        let left = self.flood_until?.since(now);
        u32::try_from(left).ok().filter(|left| *left > 0)
    }

    fn told_to_wait(&mut self, chat_id: i64, (now, seconds): (UtcSeconds, u32)) -> RequestError {
        self.wait_until.insert(chat_id, now.plus_seconds(i64::from(seconds)));
        self.unrecorded.push(chat_id);
        RequestError::RetryAfter(Seconds::from_seconds(seconds))
    }
}

impl Service for Memory {
    async fn call(&self, chat_id: i64, call: Call<'_>) -> Result<Option<MessageId>, RequestError> {
        let now = self.clock.now();
        let is_message = !matches!(call, Call::AnswerPress { .. } | Call::SetMenu { .. });
        let fault = {
            let mut chats = self.chats();
            chats.calls += 1;
            chats.tried.push(chat_id);
            if chats.down_until.is_some_and(|until| now < until) {
                return Err(RequestError::Io(Arc::new(std::io::Error::other("nobody answers"))));
            }
            if is_message && chats.wait_until.get(&chat_id).is_some_and(|until| now < *until) {
                chats.broken.push(format!("chat {chat_id} is called before the service's retry_after is over"));
            }
            if chats.blocked.contains(&chat_id) {
                chats.happened.note(Mishap::Blocked);
                return Err(RequestError::Api(ApiError::BotBlocked));
            }
            if let Some(to) = chats.moved.get(&chat_id).copied() {
                chats.happened.note(Mishap::GroupMoved);
                return Err(RequestError::MigrateToChatId(ChatId(to)));
            }
            if is_message && let Some(seconds) = chats.flood_left(now) {
                return Err(chats.told_to_wait(chat_id, (now, seconds)));
            }
            match chats.fault() {
                // What is no message holds up no messages.
                Fault::RetryAfter(seconds) | Fault::Flood(seconds) if !is_message => {
                    return Err(RequestError::RetryAfter(Seconds::from_seconds(seconds)));
                }
                Fault::RetryAfter(seconds) => return Err(chats.told_to_wait(chat_id, (now, seconds))),
                Fault::Flood(seconds) => {
                    chats.flood_until = Some(now.plus_seconds(i64::from(seconds)));
                    return Err(chats.told_to_wait(chat_id, (now, seconds)));
                }
                fault => fault,
            }
        };
        match fault {
            Fault::SecondStart => {
                let second = self.chats().second_start.clone();
                if let Some(Err(broken)) = match second {
                    Some(start) => Some(start().await),
                    None => None,
                } {
                    self.chats().broken.push(broken);
                }
            }
            Fault::Server(text) => return Err(RequestError::Api(ApiError::Unknown(text.to_owned()))),
            Fault::CrashBefore => return self.crash.halt().await,
            Fault::Slow(seconds) => self.clock.set(now.plus_seconds(seconds)),
            Fault::None | Fault::Lost | Fault::CrashAfter | Fault::Unreadable => {}
            Fault::RetryAfter(_) | Fault::Flood(_) => unreachable!("told already"),
        }
        let acted = {
            let mut chats = self.chats();
            let acts_before = chats.acts.len();
            let acted = chats.act(chat_id, call);
            let elapsed = self.clock.elapsed();
            // A message that is gone is said anew at once.
            let is_counted = is_message && !matches!(acted, Err(ApiError::MessageToEditNotFound));
            let passed = chats.pace.as_mut().filter(|_| is_counted).map(|pace| pace.send(chat_id, elapsed));
            if let Some(Err(seconds)) = passed {
                chats.broken.push(format!("the pace is passed in chat {chat_id}: {seconds} s too early"));
            }
            if let Ok((_, Some(content))) = &acted {
                let is_lost = matches!(fault, Fault::Lost);
                chats.acts.push(Act { chat_id, content: content.clone(), is_lost });
            } else if matches!(fault, Fault::Lost) {
                // What stood there already was said again; the answer to that is lost, too.
                chats.acts[acts_before..].iter_mut().for_each(|act| act.is_lost = true);
            }
            acted
        };
        match fault {
            Fault::CrashAfter => self.crash.halt().await,
            Fault::Lost => Err(RequestError::Io(Arc::new(std::io::Error::other("the answer was lost")))),
            Fault::Unreadable => match acted {
                Ok((message_id, _)) => Err(unreadable(message_id)),
                Err(error) => Err(RequestError::Api(error)),
            },
            _ => acted.map(|(message_id, _)| message_id).map_err(RequestError::Api),
        }
    }

    /// The family's group has everybody in it; how groups are looked after has tests of its own.
    async fn is_member(&self, chat_id: i64, _: i64) -> Result<bool, RequestError> {
        let chats = self.chats();
        match chats.moved.get(&chat_id).copied() {
            Some(to) => Err(RequestError::MigrateToChatId(ChatId(to))),
            None => Ok(!chats.blocked.contains(&chat_id)),
        }
    }
}
