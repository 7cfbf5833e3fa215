//! The people's side: what persons do in their chats, each act giving the id of the update it made.

use scheduler::clock::UtcSeconds;
use serde_json::{Value, json};

use crate::callbacks::query_json;
use crate::entities;
use crate::faults::Fault;
use crate::keyboards::{Button, ButtonAction};
use crate::parameters::Upload;
use crate::server::RehearsalServer;
use crate::state::{BOT_ID, Chat, ChatKind, Content, Message, PersonCard, Standing, State};
use crate::uploads::FileKind;

/// Why a person could not do that. In a test it is the test's mistake, or the bot's missing button.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ActError {
    #[error("there is no chat {0}")]
    NoChat(i64),
    #[error("there is no person {0}")]
    NoPerson(i64),
    #[error("there is no message {1} in chat {0}")]
    NoMessage(i64, i64),
    #[error("message {1} in chat {0} has no such button: {2}")]
    NoButton(i64, i64, String),
    #[error("there was no update {0}")]
    NoUpdate(i64),
    /// The act took place; only its update was not made.
    #[error("the bot did not ask for such updates")]
    NotWanted,
    #[error("{0}")]
    Refused(String),
}

/// Which button under a message, or which key of a reply keyboard.
#[derive(Clone, Copy, Debug)]
pub enum Pressed<'a> {
    /// Row and column, from 0.
    At(usize, usize),
    /// The first with this text.
    Label(&'a str),
    /// The first with this callback data.
    Data(&'a str),
    /// This callback data, whether or not a button has it: what a changed client could send.
    Forged(&'a str),
}

/// The id of the update that an act made.
type Acted = Result<i64, ActError>;
/// The same for a change of the bot's standing in a chat; `None` where the bot did not ask to be told.
type Stood = Result<Option<i64>, ActError>;

impl RehearsalServer {
    /// Makes a person known. The private chat (its id is the user's) opens with the person's first words.
    pub fn add_user(&self, user_id: i64, first_name: &str, language_code: Option<&str>) {
        let mut state = self.shared.state();
        let card = PersonCard { first_name: first_name.to_owned(), language_code: language_code.map(str::to_owned) };
        state.people.insert(user_id, card);
        state.chats.entry(user_id).or_insert_with(|| Chat::new(user_id, ChatKind::Private, Standing::NotStarted));
    }

    /// Makes a person known who has written to the bot before, so that it may write to them.
    pub fn add_acquaintance(&self, user_id: i64, first_name: &str, language_code: Option<&str>) {
        self.add_user(user_id, first_name, language_code);
        self.shared.state().chat_mut(user_id).standing = Standing::Member;
    }

    /// Lets a known person into a group.
    ///
    /// # Errors
    /// When there is no such group or person.
    pub fn add_member(&self, chat_id: i64, user_id: i64) -> Result<(), ActError> {
        self.act(|state, _| {
            present(state, chat_id)?;
            if !state.people.contains_key(&user_id) {
                return Err(ActError::NoPerson(user_id));
            }
            state.chat_mut(chat_id).members.insert(user_id);
            Ok(())
        })
    }

    /// A member leaves a group: the group's own message says so, and a `chat_member` update where the bot asked for such.
    /// (The service sends that one to administrators only; here every bot counts as one.)
    ///
    /// # Errors
    /// When there is no such group or member.
    pub fn leave_group(&self, chat_id: i64, user_id: i64) -> Acted {
        self.act(|state, now| {
            if !present(state, chat_id)?.members.contains(&user_id) {
                return Err(ActError::NoPerson(user_id));
            }
            let gone = state.person_json(user_id);
            let leaving = Message::new(Some(user_id), Content::Service("left_chat_member", gone), now);
            let update = post(state, chat_id, leaving);
            state.chat_mut(chat_id).members.remove(&user_id);
            state.member_left(chat_id, user_id, now);
            update
        })
    }

    /// Makes a group of these people; the first of them adds the bot. `chat_id` is negative.
    pub fn add_group(&self, chat_id: i64, title: &str, members: &[i64]) -> Stood {
        let by = *members.first().ok_or(ActError::NoChat(chat_id))?;
        self.act(|state, now| {
            if let Some(stranger) = members.iter().find(|id| !state.people.contains_key(id)) {
                return Err(ActError::NoPerson(*stranger));
            }
            let mut chat = Chat::new(chat_id, ChatKind::Group, Standing::Left);
            chat.title = Some(title.to_owned());
            chat.members = members.iter().copied().collect();
            state.chats.insert(chat_id, chat);
            Ok(state.set_standing(chat_id, Standing::Member, by, now))
        })
    }

    /// Somebody writes a text.
    pub fn say(&self, chat_id: i64, user_id: i64, text: &str) -> Acted {
        self.write(chat_id, user_id, None, text)
    }

    /// Somebody writes a text in answer to a message.
    pub fn reply(&self, chat_id: i64, user_id: i64, to_message_id: i64, text: &str) -> Acted {
        self.write(chat_id, user_id, Some(to_message_id), text)
    }

    fn write(&self, chat_id: i64, user_id: i64, reply_to: Option<i64>, text: &str) -> Acted {
        let typed = entities::typed(text);
        self.act(|state, now| {
            if let Some(id) = reply_to {
                present(state, chat_id)?.message(id).ok_or(ActError::NoMessage(chat_id, id))?;
            }
            let mut message = Message::new(Some(user_id), Content::Text(typed), now);
            message.reply_to = reply_to;
            post(state, chat_id, message)
        })
    }

    /// Opens the bot by a deep link: `/start PAYLOAD`, in the person's private chat.
    pub fn send_start(&self, user_id: i64, payload: &str) -> Acted {
        self.say(user_id, user_id, format!("/start {payload}").trim_end())
    }

    /// Somebody sends a file.
    pub fn send_file(&self, chat_id: i64, user_id: i64, file_name: &str, bytes: Vec<u8>) -> Acted {
        let upload = Upload { file_name: file_name.to_owned(), mime_type: None, bytes: bytes.into() };
        self.act(|state, now| {
            let kind = FileKind::Document;
            let file_id = state.files.store(&upload, kind).map_err(|error| ActError::Refused(error.description))?;
            let content = Content::File { kind, file_id, caption: entities::typed("") };
            post(state, chat_id, Message::new(Some(user_id), content, now))
        })
    }

    /// Somebody changes what they wrote: an `edited_message` update.
    pub fn edit(&self, chat_id: i64, message_id: i64, text: &str) -> Acted {
        let typed = entities::typed(text);
        self.act(|state, now| {
            present(state, chat_id)?;
            let own = state.chat_mut(chat_id).message_mut(message_id).filter(|message| message.from.is_some());
            let message = own.ok_or(ActError::NoMessage(chat_id, message_id))?;
            message.content = Content::Text(typed);
            message.edited_at = Some(now);
            let message = message.clone();
            let json = state.message_json(chat_id, &message);
            state.updates.push("edited_message", json, now).ok_or(ActError::NotWanted)
        })
    }

    /// Somebody deletes a message, as everybody may in their private chat; the bot is not told.
    ///
    /// # Errors
    /// When there is no such message.
    pub fn delete(&self, chat_id: i64, message_id: i64) -> Result<(), ActError> {
        self.act(|state, _| {
            present(state, chat_id)?;
            let message = state.chat_mut(chat_id).message_mut(message_id);
            message.ok_or(ActError::NoMessage(chat_id, message_id))?.is_deleted = true;
            Ok(())
        })
    }

    /// Somebody presses a button, or a key of a reply keyboard (which types its text).
    pub fn press(&self, chat_id: i64, user_id: i64, message_id: i64, pressed: Pressed<'_>) -> Acted {
        let button = self.button(chat_id, message_id, pressed)?;
        let data = match button.action {
            ButtonAction::Callback(data) => data,
            ButtonAction::Text => return self.say(chat_id, user_id, &button.text),
            _ => return Err(ActError::NoButton(chat_id, message_id, format!("{pressed:?} makes no update"))),
        };
        self.act(|state, now| {
            let message = state.chat(chat_id).message(message_id).ok_or(ActError::NoMessage(chat_id, message_id))?;
            let message = state.message_json(chat_id, message);
            if !state.people.contains_key(&user_id) {
                return Err(ActError::NoPerson(user_id));
            }
            let id = state.callbacks.press(chat_id, user_id, now);
            let query = query_json(&id, state.person_json(user_id), message, &data);
            state.updates.push("callback_query", query, now).ok_or(ActError::NotWanted)
        })
    }

    fn button(&self, chat_id: i64, message_id: i64, pressed: Pressed<'_>) -> Result<Button, ActError> {
        let state = self.shared.state();
        let message = present(&state, chat_id)?.message(message_id);
        let message = message.ok_or(ActError::NoMessage(chat_id, message_id))?;
        if let Pressed::Forged(data) = pressed {
            return Ok(Button { text: String::new(), action: ButtonAction::Callback(data.to_owned()) });
        }
        find(message, pressed).ok_or_else(|| ActError::NoButton(chat_id, message_id, format!("{pressed:?}")))
    }

    /// A person blocks the bot: from now it is refused in their chat.
    pub fn block(&self, user_id: i64) -> Stood {
        self.stand(user_id, user_id, Standing::Kicked)
    }

    /// A person unblocks the bot.
    pub fn unblock(&self, user_id: i64) -> Stood {
        self.stand(user_id, user_id, Standing::Member)
    }

    /// A member throws the bot out of a group.
    pub fn remove_bot(&self, chat_id: i64, user_id: i64) -> Stood {
        self.stand(chat_id, user_id, Standing::Kicked)
    }

    fn stand(&self, chat_id: i64, by: i64, standing: Standing) -> Stood {
        self.act(|state, now| {
            present(state, chat_id)?;
            Ok(state.set_standing(chat_id, standing, by, now))
        })
    }

    /// A group becomes a supergroup: a new chat of id `to_chat_id`; the old id is refused from now on.
    /// Gives the id of the update in the old chat; one in the new chat follows.
    pub fn migrate_group(&self, chat_id: i64, to_chat_id: i64) -> Acted {
        self.act(|state, now| {
            let old = present(state, chat_id)?;
            let by = old.members.first().copied();
            let mut chat = Chat::new(to_chat_id, ChatKind::Supergroup, old.standing);
            chat.title = old.title.clone();
            chat.members = old.members.clone();
            state.chats.insert(to_chat_id, chat);
            let leaving = Message::new(by, Content::Service("migrate_to_chat_id", json!(to_chat_id)), now);
            let update = post(state, chat_id, leaving);
            state.chat_mut(chat_id).migrated_to = Some(to_chat_id);
            let arriving = Message::new(by, Content::Service("migrate_from_chat_id", json!(chat_id)), now);
            post(state, to_chat_id, arriving)?;
            update
        })
    }

    /// Hands an update out once more, as the API may.
    pub fn repeat_update(&self, update_id: i64) -> Acted {
        self.act(|state, _| state.updates.repeat(update_id).then_some(update_id).ok_or(ActError::NoUpdate(update_id)))
    }

    /// Queues any update, for what the acts above do not cover: `kind` is its field.
    pub fn queue_update(&self, kind: &str, object: Value) -> Acted {
        self.act(|state, now| state.updates.push(kind, object, now).ok_or(ActError::NotWanted))
    }

    /// Queues an update exactly as it is written here, asked for or not, whatever it holds; updates after it have greater
    /// numbers.
    pub fn queue_raw_update(&self, update: Value) {
        self.shared.state().updates.push_raw(update, self.shared.now());
        self.shared.arrive();
    }

    /// The number of the next update.
    pub fn next_update_id(&self) -> i64 {
        self.shared.state().updates.next_id()
    }

    /// Throws `fault` at the next `calls` calls of `method` (of any method, if `None`).
    pub fn fault(&self, fault: Fault, method: Option<&str>, calls: u32) {
        self.shared.state().faults.plan(fault, method, calls);
    }

    /// Throws `fault` at the next `calls` messages to this chat, new or edited.
    pub fn fault_in(&self, chat_id: i64, fault: Fault, calls: u32) {
        self.shared.state().faults.plan_in(chat_id, fault, calls);
    }

    /// Takes back the faults not yet thrown.
    pub fn clear_faults(&self) {
        self.shared.state().faults.clear();
    }

    fn act<T>(&self, act: impl FnOnce(&mut State, UtcSeconds) -> Result<T, ActError>) -> Result<T, ActError> {
        let now = self.shared.now();
        let acted = act(&mut self.shared.state(), now);
        self.shared.arrive();
        acted
    }
}

fn present(state: &State, chat_id: i64) -> Result<&Chat, ActError> {
    state.chats.get(&chat_id).ok_or(ActError::NoChat(chat_id))
}

/// Puts a person's message into a chat, of which they must be a member, and queues its update.
/// Writing in one's private chat opens it.
fn post(state: &mut State, chat_id: i64, message: Message) -> Acted {
    let chat = present(state, chat_id)?;
    let from = message.from.unwrap_or(BOT_ID);
    if !state.people.contains_key(&from) {
        return Err(ActError::NoPerson(from));
    }
    if chat.id != from && !chat.members.contains(&from) {
        return Err(ActError::NoChat(chat_id));
    }
    match (chat.kind, chat.standing) {
        (ChatKind::Private, Standing::NotStarted) => state.chat_mut(chat_id).standing = Standing::Member,
        // Who blocked the bot has to unblock it before writing, and that makes its own update.
        (ChatKind::Private, Standing::Kicked) => {
            let _ = state.set_standing(chat_id, Standing::Member, from, message.date);
        }
        _ => {}
    }
    let now = message.date;
    let message = state.chat_mut(chat_id).add(message).clone();
    let json = state.message_json(chat_id, &message);
    state.updates.push("message", json, now).ok_or(ActError::NotWanted)
}

fn find(message: &Message, pressed: Pressed<'_>) -> Option<Button> {
    let mut rows = message.keyboard.iter().chain(&message.keys);
    match pressed {
        Pressed::At(row, column) => rows.nth(row)?.get(column).cloned(),
        Pressed::Label(label) => rows.flatten().find(|button| button.text == label).cloned(),
        Pressed::Data(data) | Pressed::Forged(data) => {
            rows.flatten().find(|button| matches!(&button.action, ButtonAction::Callback(own) if own == data)).cloned()
        }
    }
}
