//! Looking in: what people see in their chats, what the bot called, and waiting for either without sleeping.

use axum::body::Bytes;
use scheduler::clock::UtcSeconds;
use tokio::sync::watch;

use crate::callbacks::Toast;
use crate::calls::Call;
use crate::commands::{self, BotCommand};
use crate::entities::Entity;
use crate::keyboards::Button;
use crate::server::RehearsalServer;
use crate::state::{Content, Message};
use crate::uploads::FileKind;

/// A message as the people in the chat see it.
#[derive(Clone, Debug, PartialEq)]
pub struct ChatMessage {
    pub message_id: i64,
    /// `None` for the bot.
    pub from_user: Option<i64>,
    /// Text or caption without markup; empty for a service message.
    pub text: String,
    /// Offsets in UTF-16 code units of `text`.
    pub entities: Vec<Entity>,
    /// Buttons under the message, row by row.
    pub keyboard: Vec<Vec<Button>>,
    /// Keys the message puts in place of the person's keyboard, row by row.
    pub keys: Vec<Vec<Button>>,
    pub file: Option<ChatFile>,
    pub reply_to: Option<i64>,
    pub date: UtcSeconds,
    pub is_edited: bool,
    pub is_deleted: bool,
}

/// A file in a message.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ChatFile {
    pub file_name: String,
    /// Shown as a picture, not as a file to download.
    pub is_photo: bool,
    pub bytes: Bytes,
}

impl ChatMessage {
    pub fn from_bot(&self) -> bool {
        self.from_user.is_none()
    }

    /// The texts on the buttons, row by row.
    pub fn labels(&self) -> Vec<Vec<&str>> {
        self.keyboard.iter().map(|row| row.iter().map(|button| button.text.as_str()).collect()).collect()
    }
}

impl RehearsalServer {
    /// The first call with which the bot broke a published limit, if it ever did.
    pub fn broken_limit(&self) -> Option<Call> {
        self.shared.state().broken_limit.clone()
    }

    /// The messages of a chat, oldest first, deleted ones marked; none for an unknown chat.
    pub fn chat(&self, chat_id: i64) -> Vec<ChatMessage> {
        let state = self.shared.state();
        let look = |message: &Message| {
            let (text, file) = match &message.content {
                Content::Text(text) => (text.clone(), None),
                Content::Service(..) => Default::default(),
                Content::File { file_id, caption, .. } => (caption.clone(), state.files.get(file_id)),
            };
            ChatMessage {
                message_id: message.id,
                from_user: message.from,
                text: text.text,
                entities: text.entities,
                keyboard: message.keyboard.clone(),
                keys: message.keys.clone(),
                file: file.map(|file| ChatFile {
                    file_name: file.file_name.clone(),
                    is_photo: file.kind == FileKind::Photo,
                    bytes: file.bytes.clone(),
                }),
                reply_to: message.reply_to,
                date: message.date,
                is_edited: message.edited_at.is_some(),
                is_deleted: message.is_deleted,
            }
        };
        state.chats.get(&chat_id).map(|chat| chat.messages.iter().map(look).collect()).unwrap_or_default()
    }

    /// Every call so far, in order of arrival.
    pub fn calls(&self) -> Vec<Call> {
        self.shared.state().log.clone()
    }

    /// How many calls there were.
    pub fn call_count(&self) -> u64 {
        self.shared.state().log.len() as u64
    }

    /// The calls after number `after`, for those who read on.
    pub fn calls_after(&self, after: u64) -> Vec<Call> {
        let after = usize::try_from(after).unwrap_or(usize::MAX);
        self.shared.state().log.get(after..).map(<[Call]>::to_vec).unwrap_or_default()
    }

    /// What people were shown after pressing buttons, oldest first.
    pub fn toasts(&self) -> Vec<Toast> {
        self.shared.state().callbacks.toasts.clone()
    }

    /// How many presses still show progress because the bot did not answer them.
    pub fn unanswered_presses(&self) -> usize {
        self.shared.state().callbacks.unanswered()
    }

    /// The commands menu a person sees in a chat.
    pub fn menu(&self, chat_id: i64, user_id: i64) -> Vec<BotCommand> {
        commands::menu(&self.shared.state(), chat_id, user_id)
    }

    /// A counter that rises with every call, answer and act.
    pub fn changed(&self) -> watch::Receiver<u64> {
        self.shared.changes.subscribe()
    }

    /// Waits until `is_so`, looking again after every change.
    pub async fn wait_until(&self, mut is_so: impl FnMut(&RehearsalServer) -> bool) {
        let mut changed = self.changed();
        loop {
            changed.mark_unchanged();
            if is_so(self) {
                return;
            }
            changed.changed().await.expect("the sender lives as long as the server");
        }
    }

    /// All updates were taken and confirmed: by a later getUpdates, or by the webhook's 2xx.
    pub fn is_confirmed(&self) -> bool {
        self.shared.state().updates.is_confirmed()
    }

    /// Waits until [`is_confirmed`](Self::is_confirmed).
    pub async fn wait_confirmed(&self) {
        self.wait_until(RehearsalServer::is_confirmed).await;
    }
}
