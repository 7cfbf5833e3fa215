//! What the service writes, read at the edge: only the fields this program uses, everything else passed over. An update of a
//! kind nobody here knows, or of a shape that nobody foresaw, is a value and not a failure: it is counted and forgotten.
//!
//! Rule: no error of this module repeats anything of what was read. It may be somebody's words, or an invitation.

use serde::Deserialize;
use serde_json::value::RawValue;

/// An update's number. The service's own fit 32 bits; one beyond 64 cannot be read, and must not stop the queue.
pub type UpdateNumber = i64;

/// One update: its number, and what it holds.
#[derive(Debug)]
pub struct Update {
    /// `None` where there is none that can be read: it can then not be confirmed by itself.
    pub number: Option<UpdateNumber>,
    pub content: Content,
}

/// What an update holds, as far as this program cares.
#[derive(Debug)]
pub enum Content {
    Message(Message),
    CallbackQuery(CallbackQuery),
    MyChatMember(ChatMemberUpdated),
    ChatMember(ChatMemberUpdated),
    /// A kind that means nothing here.
    Other,
    /// A kind that would mean something, in a shape that cannot be read.
    Unreadable,
}

#[derive(Debug, Deserialize)]
pub struct Message {
    pub chat: Chat,
    #[serde(default)]
    pub from: Option<User>,
    #[serde(default)]
    pub text: Option<String>,
    #[serde(default)]
    pub caption: Option<String>,
    #[serde(default)]
    pub left_chat_member: Option<User>,
    #[serde(default)]
    pub migrate_to_chat_id: Option<i64>,
}

#[derive(Debug, Deserialize)]
pub struct CallbackQuery {
    pub id: String,
    pub from: User,
    /// The message of the button, or no more than its chat where the message is old.
    #[serde(default)]
    pub message: Option<InChat>,
    #[serde(default)]
    pub data: Option<String>,
}

#[derive(Debug, Deserialize)]
pub struct InChat {
    pub chat: Chat,
}

#[derive(Debug, Deserialize)]
pub struct ChatMemberUpdated {
    pub chat: Chat,
    pub from: User,
    pub new_chat_member: ChatMember,
}

#[derive(Debug, Deserialize)]
pub struct ChatMember {
    pub user: User,
    /// "creator", "administrator", "member", "restricted", "left" or "kicked" (Bot API reference, "ChatMember").
    pub status: String,
    /// Only of "restricted".
    #[serde(default)]
    pub is_member: Option<bool>,
}

impl ChatMember {
    /// Whether the member is in the chat; of a status that nobody knows, it is taken to be.
    pub fn is_present(&self) -> bool {
        match self.status.as_str() {
            "left" | "kicked" => false,
            "restricted" => self.is_member.unwrap_or(true),
            _ => true,
        }
    }
}

#[derive(Debug, Deserialize)]
pub struct Chat {
    pub id: i64,
    /// "private", "group", "supergroup" or "channel".
    #[serde(rename = "type")]
    pub kind: String,
}

impl Chat {
    pub fn is_private(&self) -> bool {
        self.kind == "private"
    }

    pub fn is_channel(&self) -> bool {
        self.kind == "channel"
    }
}

#[derive(Debug, Deserialize)]
pub struct User {
    pub id: i64,
    #[serde(default)]
    pub is_bot: bool,
    #[serde(default)]
    pub first_name: String,
    #[serde(default)]
    pub language_code: Option<String>,
}

/// The kinds this program asks for.
pub const KINDS: [&str; 4] = ["message", "callback_query", "my_chat_member", "chat_member"];

/// The fields of an update that this program looks at, each left as it was written.
#[derive(Deserialize)]
struct Fields<'a> {
    #[serde(borrow, default)]
    update_id: Option<&'a RawValue>,
    #[serde(borrow, default)]
    message: Option<&'a RawValue>,
    #[serde(borrow, default)]
    callback_query: Option<&'a RawValue>,
    #[serde(borrow, default)]
    my_chat_member: Option<&'a RawValue>,
    #[serde(borrow, default)]
    chat_member: Option<&'a RawValue>,
}

/// Reads one update; nothing that may stand there is a failure.
pub fn read(text: &str) -> Update {
    let Ok(fields) = serde_json::from_str::<Fields<'_>>(text) else {
        return Update { number: None, content: Content::Unreadable };
    };
    let number = fields.update_id.and_then(|raw| raw.get().parse().ok()).filter(|number| *number >= 0);
    let content = if let Some(raw) = fields.message {
        part(raw).map(Content::Message)
    } else if let Some(raw) = fields.callback_query {
        part(raw).map(Content::CallbackQuery)
    } else if let Some(raw) = fields.my_chat_member {
        part(raw).map(Content::MyChatMember)
    } else if let Some(raw) = fields.chat_member {
        part(raw).map(Content::ChatMember)
    } else {
        Some(Content::Other)
    };
    Update { number, content: content.unwrap_or(Content::Unreadable) }
}

fn part<'a, T: Deserialize<'a>>(raw: &'a RawValue) -> Option<T> {
    serde_json::from_str(raw.get()).ok()
}

/// What the service answers to a call.
#[derive(Debug)]
pub enum Answer<T> {
    Ok(T),
    Refused(Refusal),
}

/// Why the service does not do what it was asked.
#[derive(Debug, PartialEq, Eq)]
pub struct Refusal {
    pub code: i64,
    /// The service's own words; they never hold a message.
    pub description: String,
    pub retry_after_seconds: Option<u64>,
}

/// An answer that is none.
#[derive(Debug, thiserror::Error, PartialEq, Eq)]
#[error("an answer of {bytes} bytes that cannot be read")]
pub struct Unreadable {
    pub bytes: usize,
}

#[derive(Deserialize)]
struct Envelope<'a> {
    ok: bool,
    #[serde(borrow, default)]
    result: Option<&'a RawValue>,
    #[serde(default)]
    error_code: i64,
    #[serde(default)]
    description: String,
    #[serde(default)]
    parameters: Parameters,
}

#[derive(Default, Deserialize)]
struct Parameters {
    #[serde(default)]
    retry_after: Option<u64>,
}

/// Reads an answer to "getUpdates": every update by itself, so that one that cannot be read leaves the others whole.
///
/// # Errors
/// [`Unreadable`] when it is no answer of the service.
pub fn read_updates(body: &str) -> Result<Answer<Vec<Update>>, Unreadable> {
    let of = |raw: &RawValue| {
        let each: Vec<&RawValue> = serde_json::from_str(raw.get()).ok()?;
        Some(each.into_iter().map(|one| read(one.get())).collect())
    };
    read_answer(body, of)
}

/// Reads an answer that only says whether it was done.
///
/// # Errors
/// [`Unreadable`] when it is no answer of the service.
pub fn read_done(body: &str) -> Result<Answer<()>, Unreadable> {
    read_answer(body, |_| Some(()))
}

/// What is set as the webhook.
#[derive(Debug, Default, PartialEq, Eq, Deserialize)]
pub struct WebhookInfo {
    /// Empty where there is none.
    #[serde(default)]
    pub url: String,
    #[serde(default)]
    pub pending_update_count: u64,
    /// When the service last failed to post, seconds since 1970.
    #[serde(default)]
    pub last_error_date: Option<i64>,
    #[serde(default)]
    pub last_error_message: Option<String>,
}

/// Reads an answer to "getWebhookInfo".
///
/// # Errors
/// [`Unreadable`] when it is no answer of the service.
pub fn read_webhook_info(body: &str) -> Result<Answer<WebhookInfo>, Unreadable> {
    read_answer(body, |raw| serde_json::from_str(raw.get()).ok())
}

fn read_answer<T>(body: &str, of: impl Fn(&RawValue) -> Option<T>) -> Result<Answer<T>, Unreadable> {
    let unreadable = Unreadable { bytes: body.len() };
    let Ok(envelope) = serde_json::from_str::<Envelope<'_>>(body) else { return Err(unreadable) };
    if !envelope.ok {
        let Envelope { error_code: code, description, parameters, .. } = envelope;
        return Ok(Answer::Refused(Refusal { code, description, retry_after_seconds: parameters.retry_after }));
    }
    envelope.result.and_then(of).map(Answer::Ok).ok_or(unreadable)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn numbers(body: &str) -> Vec<Option<UpdateNumber>> {
        match read_updates(body) {
            Ok(Answer::Ok(updates)) => updates.into_iter().map(|update| update.number).collect(),
            other => panic!("{other:?}"),
        }
    }

    #[test]
    fn one_update_that_cannot_be_read_leaves_the_others_whole() {
        let body = r#"{"ok":true,"result":[
            {"update_id":1,"message":{"message_id":1,"date":0,"chat":{"id":5,"type":"private"},"text":"a"}},
            {"update_id":2,"message":{"chat":"nowhere","text":"secret"}},
            {"update_id":99999999999999999999,"poll":{"total_voter_count":1e999}},
            {"update_id":"four","message":7}, 17, null, [],
            {"update_id":5,"message":{"message_id":1,"date":0,"chat":{"id":5,"type":"private"},"text":"b"}}]}"#;
        assert_eq!(numbers(body), [Some(1), Some(2), None, None, None, None, None, Some(5)]);
        let Ok(Answer::Ok(updates)) = read_updates(body) else { panic!("an answer") };
        assert!(matches!(updates[0].content, Content::Message(_)));
        assert!(matches!(updates[1].content, Content::Unreadable));
        assert!(matches!(updates[2].content, Content::Other));
        assert!(matches!(updates[7].content, Content::Message(_)));
    }

    #[test]
    fn a_refusal_says_how_long_to_wait() {
        let body = r#"{"ok":false,"error_code":429,"description":"Too Many Requests: retry after 7",
            "parameters":{"retry_after":7}}"#;
        let Ok(Answer::Refused(refusal)) = read_updates(body) else { panic!("a refusal") };
        assert_eq!((refusal.code, refusal.retry_after_seconds), (429, Some(7)));
    }

    #[test]
    fn what_is_no_answer_is_told_without_its_words() {
        for body in ["", "<html>come in, code 123</html>", "[]", "{\"ok\":true}", "{\"ok\":true,\"result\":{}}"] {
            let Err(error) = read_updates(body) else { panic!("{body:?} was read") };
            assert!(!format!("{error} {error:?}").contains("code"), "{error}");
        }
    }

    /// Bot API reference, "ChatMember": six kinds, and whatever comes later.
    #[test]
    fn who_is_in_a_chat() {
        let is_present = |text: &str| {
            let text = text.replacen('{', r#"{"user":{"id":1},"#, 1);
            serde_json::from_str::<ChatMember>(&text).expect("a member").is_present()
        };
        for text in ["creator", "administrator", "member", "restricted", "guest"] {
            assert!(is_present(&format!(r#"{{"status":"{text}"}}"#)), "{text}");
        }
        for text in [r#"{"status":"left"}"#, r#"{"status":"kicked"}"#, r#"{"status":"restricted","is_member":false}"#] {
            assert!(!is_present(text), "{text}");
        }
    }
}
