//! One message becomes calls of the service, and the service's answer becomes what is known of the message.

use crate::engine::Engine;
use crate::outgoing::{Body, Place};
use crate::telegram::fault;
use crate::telegram::service::{Attachment, Call, Service};
use scheduler::planted::{self, Bug};
use scheduler::store::outbox::{PutBack, Waiting};
use scheduler::store::{self, buttons};
use teloxide::types::MessageId;
use teloxide::{ApiError, RequestError};

/// Seconds until a call that the service did not answer is tried again for the first time.
const AGAIN_SECONDS: i64 = 1;
/// The same where the service does not know the token or the address: somebody has to mend that.
const UNKNOWN_SECONDS: i64 = 60;

/// What became of one message.
#[derive(Clone, Debug)]
pub enum Sent {
    /// Delivered; a new message has its number, where the answer tells it.
    Done(Option<MessageId>),
    /// Not now.
    Later {
        seconds: i64,
        why: PutBack,
        /// The service answered, with trouble of its own.
        is_answered: bool,
        reason: String,
    },
    /// Those of the accounts asked about that are in the group.
    There { present: Vec<i64> },
    /// The group has another number now.
    Moved { to: i64 },
    /// Nobody will read there any more.
    Unreachable { reason: String },
    /// The service will never take it.
    Refused { reason: String },
}

/// What became of a message, and what of it stands in the chat.
#[derive(Clone, Debug)]
pub struct Outcome {
    pub sent: Sent,
    pub card: Option<ShownCard>,
}

/// A card as a chat shows it.
#[derive(Clone, Debug)]
pub struct ShownCard {
    pub name: String,
    /// The number of the first of its buttons; `None` without buttons.
    pub shown_from: Option<scheduler::id::Id>,
}

/// Sends a message.
///
/// # Errors
/// Whatever the store fails with; the service was not called then.
pub async fn try_to_send<S: Service>(service: &S, engine: &Engine, waiting: &Waiting) -> store::Result<Outcome> {
    Ok(match serde_json::from_str::<Body>(&waiting.body) {
        Ok(body) => Outcome { sent: send(service, engine, waiting.chat_id, &body).await?, card: shown_card(&body) },
        Err(error) => Outcome {
            sent: Sent::Refused { reason: format!("unreadable: {}", fault::describe_json(&error)) },
            card: None,
        },
    })
}

fn shown_card(body: &Body) -> Option<ShownCard> {
    let numbers = body.keyboard().iter().flatten().filter_map(|key| buttons::number_of(&key.token));
    Some(ShownCard { name: body.changed_card()?.to_owned(), shown_from: numbers.min() })
}

async fn send<S: Service>(service: &S, engine: &Engine, chat_id: i64, body: &Body) -> store::Result<Sent> {
    let result = match body {
        Body::Message { html, keyboard, card, place } => {
            let over = match (card, place) {
                (Some(card), Place::OverCard) => message_of(engine, chat_id, card).await?,
                _ => None,
            };
            if let Some(message_id) = over {
                match service.call(chat_id, Call::Edit { message_id, html, keyboard }).await {
                    // Somebody deleted the message: say it anew.
                    Err(RequestError::Api(error)) if is_gone(&error) => {}
                    Err(RequestError::Api(ApiError::MessageNotModified)) => return Ok(Sent::Done(None)),
                    other => return Ok(sent(other)),
                }
            }
            service.call(chat_id, Call::Send { html, keyboard }).await
        }
        Body::Photo { caption, name, bytes, keyboard, .. } => {
            service.call(chat_id, Call::SendPhoto(Attachment { caption, name, bytes, keyboard })).await
        }
        Body::Document { caption, name, bytes, keyboard, .. } => {
            service.call(chat_id, Call::SendDocument(Attachment { caption, name, bytes, keyboard })).await
        }
        Body::ClearKeys { card } => {
            let Some(message_id) = message_of(engine, chat_id, card).await? else { return Ok(Sent::Done(None)) };
            match service.call(chat_id, Call::ClearKeys { message_id }).await {
                Err(RequestError::Api(ApiError::MessageNotModified)) => Ok(None),
                Err(RequestError::Api(error)) if is_gone(&error) => Ok(None),
                other => other,
            }
        }
        Body::Toast { callback_id, text } => {
            match service.call(chat_id, Call::AnswerPress { callback_id, text }).await {
                // Too late to show; what the button did is done.
                Err(RequestError::Api(error)) if is_late_press(&error) => Ok(None),
                other => other,
            }
        }
        Body::WhoIsThere { accounts } => {
            let mut present = Vec::new();
            for account in accounts {
                match service.is_member(chat_id, *account).await {
                    Ok(true) => present.push(*account),
                    Ok(false) => {}
                    Err(error) => return Ok(unless_refused(sent(Err(error)))),
                }
            }
            return Ok(Sent::There { present });
        }
        Body::Menu { commands } => service.call(chat_id, Call::SetMenu { commands }).await,
    };
    Ok(sent(result))
}

async fn message_of(engine: &Engine, chat_id: i64, card: &str) -> store::Result<Option<MessageId>> {
    let mut tx = engine.store.begin_reading().await?;
    let message_id = buttons::message_of(&mut tx, chat_id, card).await?;
    Ok(message_id.and_then(|id| i32::try_from(id).ok()).map(MessageId))
}

fn is_gone(error: &ApiError) -> bool {
    matches!(error, ApiError::MessageToEditNotFound | ApiError::MessageCantBeEdited | ApiError::MessageIdInvalid)
}

/// The service writes "query ID"; the library knows it in lower case only.
fn is_late_press(error: &ApiError) -> bool {
    match error {
        ApiError::InvalidQueryId => true,
        ApiError::Unknown(text) => text.starts_with("Bad Request: query is too old"),
        _ => false,
    }
}

fn sent(result: Result<Option<MessageId>, RequestError>) -> Sent {
    let later = |seconds, is_answered, reason: &str| Sent::Later {
        seconds,
        why: PutBack::Line,
        is_answered,
        reason: reason.to_owned(),
    };
    match result {
        Ok(message_id) => Sent::Done(message_id),
        Err(RequestError::RetryAfter(wait)) => Sent::Later {
            seconds: i64::from(wait.seconds()),
            why: PutBack::Wish,
            is_answered: true,
            reason: "asked to wait".into(),
        },
        Err(RequestError::MigrateToChatId(to)) => Sent::Moved { to: to.0 },
        // Said to be done is done, whatever else the answer holds.
        Err(RequestError::InvalidJson { source, raw }) if is_ok(&raw) && !planted::is_on(Bug::ForgetUnreadableOk) => {
            let number = number_in(&raw);
            let answer = fault::describe(&RequestError::InvalidJson { source, raw });
            tracing::warn!(answer, "it says that it is done");
            Sent::Done(number)
        }
        Err(RequestError::Api(error)) => match error {
            ApiError::BotBlocked
            | ApiError::UserDeactivated
            | ApiError::ChatNotFound
            | ApiError::UserNotFound
            | ApiError::GroupDeactivated
            | ApiError::BotKicked
            | ApiError::BotKickedFromSupergroup
            | ApiError::CantInitiateConversation
            | ApiError::CantTalkWithBots => Sent::Unreachable { reason: fault::describe_refusal(&error) },
            ApiError::Unknown(text) if text.starts_with("Forbidden") => {
                Sent::Unreachable { reason: fault::describe_refusal(&ApiError::Unknown(text)) }
            }
            // The service's own trouble, not the message's.
            ApiError::Unknown(text) if is_servers_fault(&text) => {
                later(AGAIN_SECONDS, true, &fault::describe_refusal(&ApiError::Unknown(text)))
            }
            // 401 and 404 alike.
            ApiError::InvalidToken => later(UNKNOWN_SECONDS, true, "token refused"),
            other => Sent::Refused { reason: fault::describe_refusal(&other) },
        },
        Err(error) => later(AGAIN_SECONDS, false, &fault::describe(&error)),
    }
}

/// Some groups do not say who is in them: then nothing is known, and nobody need hear of it every night.
fn unless_refused(sent: Sent) -> Sent {
    match sent {
        Sent::Refused { reason } => {
            tracing::warn!(reason, "the group does not say who is in it");
            Sent::Done(None)
        }
        other => other,
    }
}

fn is_servers_fault(text: &str) -> bool {
    ["Internal Server Error", "Bad Gateway", "Gateway Timeout", "Service Unavailable", "Gateway Time-out"]
        .iter()
        .any(|fault| text.contains(fault))
}

/// Whether an answer that cannot be read begins by saying that it is done.
fn is_ok(raw: &str) -> bool {
    let beginning: String = raw.chars().filter(|letter| !letter.is_whitespace()).take(10).collect();
    beginning == "{\"ok\":true" || serde_json::from_str(raw).is_ok_and(|answer: serde_json::Value| answer["ok"] == true)
}

/// The new message's number in an answer that cannot be read as a whole, also where it ends early.
fn number_in(raw: &str) -> Option<MessageId> {
    if let Ok(answer) = serde_json::from_str::<serde_json::Value>(raw) {
        let number = answer["result"]["message_id"].as_i64();
        return number.and_then(|number| i32::try_from(number).ok()).map(MessageId);
    }
    let rest = raw.split_once("\"message_id\"")?.1.trim_start_matches([' ', ':', '\n']);
    let digits = rest.split(|letter: char| !letter.is_ascii_digit()).next()?;
    digits.parse().ok().map(MessageId)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::Arc;

    fn of(raw: &str) -> Sent {
        let source = serde_json::from_str::<bool>("x").expect_err("no truth value");
        sent(Err(RequestError::InvalidJson { source: Arc::new(source), raw: raw.into() }))
    }

    #[test]
    fn what_is_said_to_be_done_is_done_whatever_else_is_said() {
        for (raw, number) in [
            (r#"{"ok":true,"result":{"message_id":17,"of":"a later version"}}"#, Some(17)),
            (r#"{ "ok" : true, "result": {"message_id": 18, "da"#, Some(18)),
            (r#"{"result":7,"ok":true}"#, None),
            (r#"{"ok":true}"#, None),
        ] {
            assert!(matches!(of(raw), Sent::Done(id) if id.map(|id| id.0) == number), "{raw}");
        }
        for raw in ["<html>502</html>", "", r#"{"ok":false,"result":true}"#, r#"{"result":{"ok":true}}"#] {
            let Sent::Later { reason, .. } = of(raw) else { panic!("{raw}") };
            assert!(!reason.contains("html"), "nothing of the answer is repeated: {reason}");
        }
    }
}
