//! What the server remembers: people, chats, messages; all in memory, behind one lock.

use std::collections::{BTreeMap, BTreeSet};

use scheduler::clock::UtcSeconds;
use serde_json::{Map, Value, json};

use crate::answer::ApiError;
use crate::callbacks::Callbacks;
use crate::calls::Call;
use crate::commands::Profile;
use crate::entities::FormattedText;
use crate::faults::Faults;
use crate::keyboards::{self, Keyboard};
use crate::pace::{PaceKeeper, PaceLimits};
use crate::parameters::Parameters;
use crate::updates::UpdateQueue;
use crate::uploads::{FileKind, Files};
use crate::webhook::Webhook;

/// The bot's own user id; a token begins with it.
pub(crate) const BOT_ID: i64 = 7_000_000_001;

pub(crate) struct State {
    pub username: String,
    pub people: BTreeMap<i64, PersonCard>,
    pub chats: BTreeMap<i64, Chat>,
    pub updates: UpdateQueue,
    pub callbacks: Callbacks,
    pub files: Files,
    pub profile: Profile,
    pub webhook: Option<Webhook>,
    pub faults: Faults,
    pub pace: Option<PaceKeeper>,
    pub log: Vec<Call>,
    /// The first call that broke a published limit.
    pub broken_limit: Option<Call>,
}

/// Who somebody is, as the API shows it.
#[derive(Clone, Debug)]
pub(crate) struct PersonCard {
    pub first_name: String,
    pub language_code: Option<String>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum ChatKind {
    Private,
    Group,
    Supergroup,
}

/// How the bot stands in a chat.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Standing {
    /// A private chat in which the person never wrote.
    NotStarted,
    Member,
    /// Blocked by the person, or thrown out of the group.
    Kicked,
    Left,
}

#[derive(Clone, Debug)]
pub(crate) struct Chat {
    pub id: i64,
    pub kind: ChatKind,
    pub title: Option<String>,
    pub members: BTreeSet<i64>,
    pub standing: Standing,
    pub messages: Vec<Message>,
    pub migrated_to: Option<i64>,
}

#[derive(Clone, Debug)]
pub(crate) struct Message {
    pub id: i64,
    /// `None` for the bot.
    pub from: Option<i64>,
    pub date: UtcSeconds,
    pub content: Content,
    pub keyboard: Keyboard,
    /// Keys that stand in place of the person's keyboard.
    pub keys: Keyboard,
    pub reply_to: Option<i64>,
    pub edited_at: Option<UtcSeconds>,
    pub is_deleted: bool,
}

#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Content {
    Text(FormattedText),
    File {
        kind: FileKind,
        file_id: String,
        caption: FormattedText,
    },
    /// A service message: its field and value.
    Service(&'static str, Value),
}

impl Message {
    pub fn new(from: Option<i64>, content: Content, date: UtcSeconds) -> Message {
        Message {
            id: 0,
            from,
            date,
            content,
            keyboard: Keyboard::new(),
            keys: Keyboard::new(),
            reply_to: None,
            edited_at: None,
            is_deleted: false,
        }
    }
}

impl Chat {
    pub fn new(id: i64, kind: ChatKind, standing: Standing) -> Chat {
        Chat { id, kind, title: None, members: BTreeSet::new(), standing, messages: Vec::new(), migrated_to: None }
    }

    /// Files a message under the chat's next number; numbers are per chat.
    pub fn add(&mut self, mut message: Message) -> &Message {
        message.id = self.messages.len() as i64 + 1;
        self.messages.push(message);
        self.messages.last().expect("one was just added")
    }

    /// A message that still stands.
    pub fn message(&self, id: i64) -> Option<&Message> {
        let index = usize::try_from(id.checked_sub(1)?).ok()?;
        self.messages.get(index).filter(|message| !message.is_deleted)
    }

    pub fn message_mut(&mut self, id: i64) -> Option<&mut Message> {
        let index = usize::try_from(id.checked_sub(1)?).ok()?;
        self.messages.get_mut(index).filter(|message| !message.is_deleted)
    }
}

impl State {
    pub fn new(username: &str, pace: Option<PaceLimits>) -> State {
        State {
            username: username.to_owned(),
            people: BTreeMap::new(),
            chats: BTreeMap::new(),
            updates: UpdateQueue::default(),
            callbacks: Callbacks::default(),
            files: Files::default(),
            profile: Profile::default(),
            webhook: None,
            faults: Faults::default(),
            pace: pace.map(PaceKeeper::new),
            log: Vec::new(),
            broken_limit: None,
        }
    }

    /// The chat that `chat_id` of a call names; it need not let the bot write.
    pub fn chat_named(&self, params: &Parameters) -> Result<i64, ApiError> {
        let named = params.text("chat_id").unwrap_or_default();
        if named.is_empty() {
            return Err(ApiError::bad_request("chat_id is empty"));
        }
        let id = named.parse().ok().filter(|id| self.chats.contains_key(id));
        id.ok_or_else(|| ApiError::bad_request("chat not found"))
    }

    /// The chat that `chat_id` names, if the bot may act in it.
    pub fn open_chat(&self, params: &Parameters) -> Result<i64, ApiError> {
        let id = self.chat_named(params)?;
        let chat = &self.chats[&id];
        if let Some(to) = chat.migrated_to {
            return Err(ApiError::migrated(to));
        }
        let group = match chat.kind {
            ChatKind::Supergroup => "supergroup",
            _ => "group",
        };
        match (chat.standing, chat.kind) {
            (Standing::Member, _) => Ok(id),
            (Standing::NotStarted, _) => Err(ApiError::forbidden("bot can't initiate conversation with a user")),
            (_, ChatKind::Private) => Err(ApiError::forbidden("bot was blocked by the user")),
            (Standing::Kicked, _) => Err(ApiError::forbidden(&format!("bot was kicked from the {group} chat"))),
            (Standing::Left, _) => Err(ApiError::forbidden(&format!("bot is not a member of the {group} chat"))),
        }
    }

    pub fn chat(&self, id: i64) -> &Chat {
        self.chats.get(&id).expect("a chat that was resolved stays")
    }

    pub fn chat_mut(&mut self, id: i64) -> &mut Chat {
        self.chats.get_mut(&id).expect("a chat that was resolved stays")
    }

    pub fn bot_json(&self) -> Value {
        json!({ "id": BOT_ID, "is_bot": true, "first_name": self.profile.name(""), "username": self.username })
    }

    pub fn person_json(&self, id: i64) -> Value {
        let Some(person) = self.people.get(&id) else { return self.bot_json() };
        let mut json = json!({ "id": id, "is_bot": false, "first_name": person.first_name });
        if let Some(code) = &person.language_code {
            json["language_code"] = json!(code);
        }
        json
    }

    pub fn chat_json(&self, id: i64) -> Value {
        let chat = self.chat(id);
        match chat.kind {
            ChatKind::Private => {
                let name = self.people.get(&id).map(|person| person.first_name.as_str());
                json!({ "id": id, "type": "private", "first_name": name.unwrap_or_default() })
            }
            ChatKind::Group => json!({ "id": id, "type": "group", "title": chat.title }),
            ChatKind::Supergroup => json!({ "id": id, "type": "supergroup", "title": chat.title }),
        }
    }

    /// The message as the API shows it (Bot API reference, "Message").
    pub fn message_json(&self, chat_id: i64, message: &Message) -> Value {
        let mut json = self.message_alone_json(chat_id, message);
        if let Some(replied) = message.reply_to.and_then(|id| self.chat(chat_id).message(id)) {
            json["reply_to_message"] = self.message_alone_json(chat_id, replied);
        }
        json
    }

    fn message_alone_json(&self, chat_id: i64, message: &Message) -> Value {
        let mut json = Map::new();
        let mut put = |name: &str, value: Value| drop(json.insert(name.to_owned(), value));
        put("message_id", json!(message.id));
        put("from", message.from.map_or_else(|| self.bot_json(), |id| self.person_json(id)));
        put("chat", self.chat_json(chat_id));
        put("date", json!(message.date));
        if let Some(at) = message.edited_at {
            put("edit_date", json!(at));
        }
        match &message.content {
            Content::Text(full) => {
                put("text", json!(full.text));
                if !full.entities.is_empty() {
                    put("entities", json!(full.entities));
                }
            }
            Content::File { kind, file_id, caption } => {
                put(kind.field(), self.files.json(file_id));
                if !caption.text.is_empty() {
                    put("caption", json!(caption.text));
                }
                if !caption.entities.is_empty() {
                    put("caption_entities", json!(caption.entities));
                }
            }
            Content::Service(field, value) => put(field, value.clone()),
        }
        if !message.keyboard.is_empty() {
            put("reply_markup", keyboards::to_json(&message.keyboard));
        }
        Value::Object(json)
    }
}
