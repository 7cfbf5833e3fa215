//! Messages out: the outbox's oldest of each chat, several chats at a time and at the published pace, each marked when the
//! service has answered. A message whose answer was lost is sent again; no other ever is.

use super::fault;
use super::pace::Pace;
use super::service::{Attachment, Call, Service};
use crate::conversation::{Desk, joining, trouble};
use crate::engine::Engine;
use crate::outgoing::{Body, Place};
use scheduler::planted::{self, Bug};
use scheduler::store::outbox::{self, Waiting};
use scheduler::store::{self, buttons};
use std::collections::BTreeMap;
use std::sync::Arc;
use std::time::{Duration, Instant};
use teloxide::types::MessageId;
use teloxide::{ApiError, RequestError};
use tokio::sync::watch;
use tokio::task::JoinSet;
use tracing::Instrument;

/// How long a claimed message is held before another sender may take it.
const LEASE_MINUTES: i64 = 5;
/// Messages claimed at a time, at least as many as may be on their way.
const CLAIM_COUNT: usize = 16;
/// Messages claimed and waiting for their chat's pace.
const HELD_MAX: usize = 64;
/// While messages are in flight, the outbox is asked again only for so many.
const CLAIM_LEAST: usize = 8;
/// Tries after which a message that fails by network is set aside.
const TRIES_MAX: i64 = 50;

/// What became of one message.
#[derive(Clone, Debug)]
enum Sent {
    /// Delivered; a new message has its number.
    Done(Option<MessageId>),
    /// Not now.
    Later {
        seconds: i64,
        /// The service itself asks for it.
        is_wish: bool,
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

/// Sends until `stop` says so.
pub async fn run<S: Service>(service: S, engine: Arc<Engine>, mut stop: watch::Receiver<bool>, mut pace: Pace) {
    if let Err(error) = release(&engine).await {
        tracing::error!(%error, "the outbox cannot be read");
    }
    let began = Instant::now();
    let service = Arc::new(service);
    // Tasks of their own: each holds the farm's write lock for a moment, and asking for more must not wait for it here.
    let mut in_flight = JoinSet::new();
    let mut chats = BTreeMap::new();
    let mut held: Vec<Waiting> = Vec::new();
    // Whether more may wait in the outbox than is held here.
    let mut is_more = true;
    loop {
        engine.watch.sender_lives();
        let is_stopping = *stop.borrow();
        if is_stopping && in_flight.is_empty() {
            // What is held was not begun; the next start releases it.
            return;
        }
        let room = pace.room(began.elapsed()).min(CLAIM_COUNT - in_flight.len()).min(HELD_MAX - held.len());
        let is_worth_asking = room >= CLAIM_LEAST || in_flight.is_empty() && room > 0;
        if is_more && !is_stopping && is_worth_asking {
            match claim(&engine, room).await {
                Ok(claimed) => {
                    is_more = claimed.len() == room;
                    held.extend(claimed);
                    held.sort_by_key(|waiting| (!waiting.is_answer, waiting.id));
                }
                Err(error) => {
                    tracing::error!(%error, "sending stopped at the database; trying again");
                    tokio::time::sleep(Duration::from_secs(1)).await;
                }
            }
        }
        let mut index = 0;
        let mut next_ready = pace.next_room();
        while index < held.len() && !is_stopping && in_flight.len() < pace.at_once() {
            let now = began.elapsed();
            let ready_at = pace.chat_ready_at(held[index].chat_id, held[index].is_answer);
            if ready_at <= now && pace.room(now) > 0 {
                let waiting = held.remove(index);
                let chat_id = waiting.chat_id;
                pace.start(chat_id);
                let span = span_of(&waiting);
                let delivery = deliver(Arc::clone(&service), Arc::clone(&engine), waiting, began).instrument(span);
                let task = in_flight.spawn(delivery);
                chats.insert(task.id(), chat_id);
            } else {
                next_ready = next_ready.max(now).min(ready_at.max(now));
                index += 1;
            }
        }
        let wait = match (held.is_empty(), is_more) {
            (true, false) => wait_for_next(&engine).await,
            _ => next_ready.saturating_sub(began.elapsed()).clamp(Duration::from_millis(1), Duration::from_secs(1)),
        };
        tokio::select! {
            Some(ended) = in_flight.join_next_with_id(), if !in_flight.is_empty() => {
                let task = ended.as_ref().map_or_else(|error| error.id(), |(task, _)| *task);
                let chat_id = chats.remove(&task);
                let Ok((_, delivered)) = ended else {
                    pace.end(chat_id.unwrap_or_default(), began.elapsed());
                    tracing::error!("a message broke the sender; it is tried again when its lease has run out");
                    continue;
                };
                pace.end(delivered.chat_id, delivered.answered_at);
                if let Some(seconds) = delivered.retry_after {
                    pace.pause(delivered.answered_at + Duration::from_secs(seconds));
                }
                // The chat's next message may go now.
                is_more = true;
            }
            () = engine.outbox_filled.notified() => is_more = true,
            () = tokio::time::sleep(wait) => is_more = true,
            _ = stop.wait_for(|stopping| *stopping), if !is_stopping => {}
        }
    }
}

/// A message that has come to an end for now.
struct Delivered {
    chat_id: i64,
    /// Since the sender began.
    answered_at: Duration,
    /// The service's wish, seconds.
    retry_after: Option<u64>,
}

/// Sends one message and records what became of it.
async fn deliver<S: Service>(service: Arc<S>, engine: Arc<Engine>, waiting: Waiting, began: Instant) -> Delivered {
    let sent = try_to_send(&*service, &engine, &waiting).await;
    let answered_at = began.elapsed();
    let retry_after = match &sent {
        Ok((Sent::Later { seconds, is_wish: true, .. }, _)) => Some(seconds.unsigned_abs()),
        _ => None,
    };
    let mut recorded = sent;
    for pause_ms in [50, 200, 800, 0] {
        let result = match &recorded {
            Ok(outcome) => record(&engine, &waiting, outcome.clone()).await,
            Err(_) => {
                recorded = try_to_send(&*service, &engine, &waiting).await;
                continue;
            }
        };
        match result {
            Ok(()) => break,
            // Its lease runs out, and it is sent again: the one message that may come twice.
            Err(error) => tracing::error!(%error, "what became of it is not recorded"),
        }
        tokio::time::sleep(Duration::from_millis(pause_ms)).await;
    }
    Delivered { chat_id: waiting.chat_id, answered_at, retry_after }
}

/// Every line about a message names it and what it was written for.
fn span_of(waiting: &Waiting) -> tracing::Span {
    tracing::info_span!("message", cause = waiting.cause, outbox_id = waiting.id.get())
}

/// What became of a message, and the card that it is.
type Outcome = (Sent, Option<String>);

async fn try_to_send<S: Service>(service: &S, engine: &Engine, waiting: &Waiting) -> store::Result<Outcome> {
    Ok(match serde_json::from_str::<Body>(&waiting.body) {
        Ok(body) => (send(service, engine, waiting.chat_id, &body).await?, body.card().map(str::to_owned)),
        Err(error) => (Sent::Refused { reason: format!("unreadable: {}", fault::describe_json(&error)) }, None),
    })
}

/// Claims up to `most` messages; writes nothing where none is due.
async fn claim(engine: &Engine, most: usize) -> store::Result<Vec<Waiting>> {
    let now = engine.clock.now();
    let mut tx = engine.store.begin_reading().await?;
    let is_due = outbox::next_due(&mut tx).await?.is_some_and(|due| due <= now);
    drop(tx);
    if !is_due {
        return Ok(Vec::new());
    }
    let mut tx = engine.store.begin().await?;
    let most = i64::try_from(most).unwrap_or(i64::MAX);
    let claimed = outbox::claim(&mut tx, now, now.plus_minutes(LEASE_MINUTES), most).await?;
    if planted::is_on(Bug::MarkSentBeforeSending) {
        for waiting in &claimed {
            outbox::mark_sent(&mut tx, waiting.id, now).await?;
        }
    }
    tx.commit().await?;
    Ok(claimed)
}

/// Gives back what the last run had in hand; before the first sending.
///
/// # Errors
/// Whatever the store fails with.
pub async fn release(engine: &Engine) -> store::Result<()> {
    let mut tx = engine.store.begin().await?;
    outbox::release_leases(&mut tx).await?;
    tx.commit().await
}

async fn wait_for_next(engine: &Engine) -> Duration {
    let due = async {
        let mut tx = engine.store.begin_reading().await?;
        outbox::next_due(&mut tx).await
    };
    match due.await {
        Ok(Some(due)) => {
            let seconds = due.since(engine.clock.now()).max(1);
            Duration::from_secs(seconds.unsigned_abs()).min(engine.look_every)
        }
        _ => engine.look_every,
    }
}

/// Claims and sends what may be sent now, one after the other and at no pace; the number of messages tried. For whoever
/// drives the sender step by step.
///
/// # Errors
/// Whatever the store fails with; what was claimed waits until its lease ends.
pub async fn send_waiting<S: Service>(service: &S, engine: &Engine) -> store::Result<usize> {
    let claimed = claim(engine, CLAIM_COUNT).await?;
    let count = claimed.len();
    for waiting in claimed {
        let delivery = async {
            let outcome = try_to_send(service, engine, &waiting).await?;
            record(engine, &waiting, outcome).await
        };
        delivery.instrument(span_of(&waiting)).await?;
    }
    Ok(count)
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
    match result {
        Ok(message_id) => Sent::Done(message_id),
        Err(RequestError::RetryAfter(wait)) => {
            Sent::Later { seconds: i64::from(wait.seconds()), is_wish: true, reason: "asked to wait".into() }
        }
        Err(RequestError::MigrateToChatId(to)) => Sent::Moved { to: to.0 },
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
                Sent::Later { seconds: 1, is_wish: false, reason: fault::describe_refusal(&ApiError::Unknown(text)) }
            }
            ApiError::InvalidToken => Sent::Later { seconds: 60, is_wish: false, reason: "token refused".into() },
            other => Sent::Refused { reason: fault::describe_refusal(&other) },
        },
        Err(error) => Sent::Later { seconds: 1, is_wish: false, reason: fault::describe(&error) },
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

async fn record(engine: &Engine, waiting: &Waiting, (sent, card): Outcome) -> store::Result<()> {
    let now = engine.clock.now();
    let mut tx = engine.store.begin().await?;
    if let Some(cause) = &waiting.cause {
        tx.caused_by(cause.clone());
    }
    let mut desk = Desk::new(tx, now, &engine.house, None);
    let tx = &mut desk.tx;
    let ended = match &sent {
        Sent::Done(_) | Sent::There { .. } => "sent",
        Sent::Later { .. } if waiting.tries < TRIES_MAX => "put_back",
        Sent::Moved { .. } => "moved",
        Sent::Unreachable { .. } => "unreachable",
        Sent::Refused { .. } | Sent::Later { .. } => "refused",
    };
    match sent {
        Sent::Done(message_id) => {
            outbox::mark_sent(tx, waiting.id, now).await?;
            if let (Some(message_id), Some(card)) = (message_id, card) {
                buttons::set_message(tx, (waiting.chat_id, &card), i64::from(message_id.0), now).await?;
            }
            tracing::info!(tries = waiting.tries, "sent");
        }
        Sent::There { present } => {
            outbox::mark_sent(tx, waiting.id, now).await?;
            joining::group::looked(&mut desk, waiting.chat_id, &present).await?;
        }
        Sent::Later { seconds, reason, .. } if waiting.tries < TRIES_MAX => {
            // Each network failure doubles the wait, up to five minutes; the service's own wish is taken as it is.
            let backoff = (1 << waiting.tries.min(8)).min(300);
            let wait = if planted::is_on(Bug::IgnoreRetryAfter) { 1 } else { seconds.max(backoff) };
            tracing::warn!(reason, wait_seconds = wait, "not sent yet");
            outbox::put_back(tx, waiting.id, now.plus_seconds(wait)).await?;
        }
        Sent::Moved { to } => {
            tracing::info!("its group has another number now");
            trouble::moved(tx, waiting.chat_id, to).await?;
        }
        Sent::Unreachable { reason } => {
            tracing::warn!(reason, "nobody will read it: message set aside");
            outbox::set_aside(tx, waiting.id, &reason, now).await?;
            trouble::unreachable(&mut desk, waiting.chat_id).await?;
        }
        Sent::Refused { reason } | Sent::Later { reason, .. } => {
            tracing::error!(reason, "message set aside");
            outbox::set_aside(tx, waiting.id, &reason, now).await?;
            // Of a notice of trouble nobody is told again, or two chats that refuse everything would go on for ever.
            if !card.is_some_and(|card| card.starts_with(trouble::CARD)) {
                trouble::refused(&mut desk, waiting.chat_id).await?;
            }
        }
    }
    desk.tx.commit().await?;
    engine.watch.message_ended(ended);
    Ok(())
}
