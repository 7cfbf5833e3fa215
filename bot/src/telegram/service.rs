//! The calls that messages out make, and the one place where each becomes a request. The sender decides over [`Service`],
//! so that its decisions are the same before the real service and before one that lives in memory and fails at will.

use crate::outgoing::{Key, MenuCommand};
use teloxide::payloads::{
    AnswerCallbackQuerySetters, EditMessageReplyMarkupSetters, EditMessageTextSetters, SendDocumentSetters,
    SendMessageSetters, SendPhotoSetters, SetMyCommandsSetters,
};
use teloxide::requests::Requester;
use teloxide::types::{
    BotCommand, BotCommandScope, CallbackQueryId, ChatId, InlineKeyboardButton, InlineKeyboardMarkup, InputFile,
    LinkPreviewOptions, MessageId, ParseMode, Recipient, UserId,
};
use teloxide::{ApiError, Bot, RequestError};

/// A file to send.
#[derive(Clone, Copy, Debug)]
pub struct Attachment<'a> {
    pub caption: &'a str,
    pub name: &'a str,
    pub bytes: &'a [u8],
    pub keyboard: &'a [Vec<Key>],
}

/// One call of the messaging service about one chat.
#[derive(Clone, Copy, Debug)]
pub enum Call<'a> {
    Send { html: &'a str, keyboard: &'a [Vec<Key>] },
    Edit { message_id: MessageId, html: &'a str, keyboard: &'a [Vec<Key>] },
    SendPhoto(Attachment<'a>),
    SendDocument(Attachment<'a>),
    ClearKeys { message_id: MessageId },
    AnswerPress { callback_id: &'a str, text: &'a str },
    SetMenu { commands: &'a [MenuCommand] },
}

/// What takes the calls: the messaging service, or one in memory.
pub trait Service: Send + Sync + 'static {
    /// Makes one call; a new message has its number.
    ///
    /// # Errors
    /// As the service answers, or when it does not.
    fn call(
        &self,
        chat_id: i64,
        call: Call<'_>,
    ) -> impl Future<Output = Result<Option<MessageId>, RequestError>> + Send;

    /// Whether an account is in a group; one that the service does not know is not.
    ///
    /// # Errors
    /// As the service answers, or when it does not.
    fn is_member(&self, chat_id: i64, account: i64) -> impl Future<Output = Result<bool, RequestError>> + Send;
}

impl Service for Bot {
    async fn call(&self, chat_id: i64, call: Call<'_>) -> Result<Option<MessageId>, RequestError> {
        let chat = ChatId(chat_id);
        match call {
            Call::Send { html, keyboard } => {
                let request = self.send_message(chat, html).parse_mode(ParseMode::Html);
                let request = request.link_preview_options(no_preview()).reply_markup(markup(keyboard));
                request.await.map(|message| Some(message.id))
            }
            Call::Edit { message_id, html, keyboard } => {
                let request = self.edit_message_text(chat, message_id, html).parse_mode(ParseMode::Html);
                request.link_preview_options(no_preview()).reply_markup(markup(keyboard)).await.map(|_| None)
            }
            Call::SendPhoto(Attachment { caption, name, bytes, keyboard }) => {
                let file = InputFile::memory(bytes.to_vec()).file_name(name.to_owned());
                let request = self.send_photo(chat, file).caption(caption).parse_mode(ParseMode::Html);
                request.reply_markup(markup(keyboard)).await.map(|message| Some(message.id))
            }
            Call::SendDocument(Attachment { caption, name, bytes, keyboard }) => {
                let file = InputFile::memory(bytes.to_vec()).file_name(name.to_owned());
                let request = self.send_document(chat, file).caption(caption).parse_mode(ParseMode::Html);
                request.reply_markup(markup(keyboard)).await.map(|message| Some(message.id))
            }
            Call::ClearKeys { message_id } => {
                let request = self.edit_message_reply_markup(chat, message_id).reply_markup(markup(&[]));
                request.await.map(|_| None)
            }
            Call::AnswerPress { callback_id, text } => {
                let request = self.answer_callback_query(CallbackQueryId(callback_id.to_owned()));
                let request = if text.is_empty() { request } else { request.text(text) };
                request.await.map(|_| None)
            }
            Call::SetMenu { commands } => {
                let commands = commands.iter().map(|one| BotCommand::new(&one.command, &one.description));
                let scope = BotCommandScope::Chat { chat_id: Recipient::Id(chat) };
                self.set_my_commands(commands).scope(scope).await.map(|_| None)
            }
        }
    }

    async fn is_member(&self, chat_id: i64, account: i64) -> Result<bool, RequestError> {
        let Ok(account) = u64::try_from(account) else { return Ok(false) };
        match self.get_chat_member(ChatId(chat_id), UserId(account)).await {
            Ok(member) => Ok(member.is_present()),
            Err(RequestError::Api(error)) if is_unknown_member(&error) => Ok(false),
            Err(error) => Err(error),
        }
    }
}

/// The service words this in several ways, of which the library knows one.
fn is_unknown_member(error: &ApiError) -> bool {
    match error {
        ApiError::UserNotFound => true,
        ApiError::Unknown(text) => {
            ["member not found", "user not found", "PARTICIPANT_ID_INVALID"].iter().any(|part| text.contains(part))
        }
        _ => false,
    }
}

fn no_preview() -> LinkPreviewOptions {
    LinkPreviewOptions {
        is_disabled: true,
        url: None,
        prefer_small_media: false,
        prefer_large_media: false,
        show_above_text: false,
    }
}

fn markup(keyboard: &[Vec<Key>]) -> InlineKeyboardMarkup {
    InlineKeyboardMarkup::new(
        keyboard.iter().map(|row| row.iter().map(|key| InlineKeyboardButton::callback(&key.label, &key.token))),
    )
}
