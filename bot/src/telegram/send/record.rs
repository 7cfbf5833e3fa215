//! What became of a message, written down with what follows from it.

use super::said::{Outcome, Sent, ShownCard};
use crate::conversation::{Desk, joining, trouble};
use crate::engine::Engine;
use crate::line::Ear;
use scheduler::clock::UtcSeconds;
use scheduler::planted::{self, Bug};
use scheduler::store::outbox::{self, PutBack, Waiting};
use scheduler::store::{self, Tx, buttons};

/// The longest wait between two tries of a message that the service does not answer.
const BACKOFF_SECONDS_MAX: i64 = 300;
/// A message that the service answers with trouble of its own, while it takes others, is given up after so many tries over
/// at least so long.
const TROUBLED_TRIES: i64 = 50;
const TROUBLED_SECONDS: i64 = 24 * 3600;
/// The service takes other messages if it has taken one within this time.
const TAKES_OTHERS_SECONDS: i64 = 3600;

/// Records what became of a message.
///
/// # Errors
/// Whatever the store fails with; nothing is recorded then.
pub async fn record(engine: &Engine, waiting: &Waiting, outcome: Outcome) -> store::Result<()> {
    let Outcome { sent, card } = outcome;
    let now = engine.clock.now();
    let mut tx = engine.store.begin().await?;
    if let Some(cause) = &waiting.cause {
        tx.caused_by(cause.clone());
    }
    let sent = given_up(&mut tx, waiting, sent, now).await?;
    let ended = match &sent {
        Sent::Done(_) | Sent::There { .. } => "sent",
        Sent::Later { .. } => "put_back",
        Sent::Moved { .. } => "moved",
        Sent::Unreachable { .. } => "unreachable",
        Sent::Refused { .. } => "refused",
    };
    let is_line_down = matches!(sent, Sent::Later { why: PutBack::Line, .. });
    if is_line_down {
        engine.line.failed(Ear::Sender, now);
        engine.line.keep(&mut tx, now).await?;
    }
    let mut desk = Desk::new(tx, now, &engine.house, None);
    let tx = &mut desk.tx;
    match sent {
        Sent::Done(message_id) => {
            outbox::mark_sent(tx, waiting.id, now).await?;
            if let Some(card) = card {
                let number = message_id.map(|id| i64::from(id.0));
                show(tx, waiting, (&card, number), now).await?;
            }
            tracing::info!(tries = waiting.tries, "sent");
        }
        Sent::There { present } => {
            outbox::mark_sent(tx, waiting.id, now).await?;
            joining::group::looked(&mut desk, waiting.chat_id, &present).await?;
        }
        Sent::Later { seconds, why, reason, .. } => {
            // Each failure doubles the wait; the service's own wish is taken as it is.
            let backoff = (1 << waiting.tries.min(8)).min(BACKOFF_SECONDS_MAX);
            let wait = match why {
                PutBack::Wish if planted::is_on(Bug::IgnoreRetryAfter) => 1,
                PutBack::Wish => seconds,
                PutBack::Line => seconds.max(backoff),
            };
            tracing::warn!(reason, wait_seconds = wait, "not sent yet");
            outbox::put_back(tx, waiting.id, why, now.plus_seconds(wait)).await?;
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
        Sent::Refused { reason } => {
            tracing::error!(reason, "message set aside");
            outbox::set_aside(tx, waiting.id, &reason, now).await?;
            // Of a notice of trouble nobody is told again, or two chats that refuse everything would go on for ever.
            if !card.is_some_and(|card| card.name.starts_with(trouble::CARD)) {
                trouble::refused(&mut desk, waiting.chat_id).await?;
            }
        }
    }
    desk.tx.commit().await?;
    engine.watch.message_ended(ended);
    if !is_line_down {
        engine.line_works(Ear::Sender).await;
    }
    Ok(())
}

/// Remembers what the chat shows now.
async fn show(
    tx: &mut Tx,
    waiting: &Waiting,
    (card, number): (&ShownCard, Option<i64>),
    now: UtcSeconds,
) -> store::Result<()> {
    if let Some(number) = number {
        buttons::set_message(tx, (waiting.chat_id, &card.name), number, now).await?;
    }
    // Without buttons of its own it is later than all buttons that were there when it was written.
    let shown_from = card.shown_from.unwrap_or(waiting.id);
    buttons::set_shown(tx, (waiting.chat_id, &card.name), shown_from).await
}

/// A message that only waits is given up where the trouble is its own: the service takes others, and this one not for long.
async fn given_up(tx: &mut Tx, waiting: &Waiting, sent: Sent, now: UtcSeconds) -> store::Result<Sent> {
    let Sent::Later { why: PutBack::Line, is_answered, reason, .. } = &sent else { return Ok(sent) };
    if waiting.tries < TROUBLED_TRIES {
        return Ok(sent);
    }
    if planted::is_on(Bug::GiveUpAfterTries) {
        return Ok(Sent::Refused { reason: reason.clone() });
    }
    if !is_answered || now.since(waiting.made_at) < TROUBLED_SECONDS {
        return Ok(sent);
    }
    let takes_others = outbox::last_sent_at(tx).await?.is_some_and(|at| now.since(at) < TAKES_OTHERS_SECONDS);
    Ok(if takes_others { Sent::Refused { reason: reason.clone() } } else { sent })
}
