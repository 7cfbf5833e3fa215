//! Updates in, by long polling. The service forgets an update when a later one is asked for, so the next poll is made
//! only after everything of the last one is committed.

use super::connect::{self, POLL_SECONDS, Reply};
use super::wire::{self, Answer, KINDS, Refusal, Update};
use super::{fault, intake, update};
use crate::engine::{Arrival, Engine};
use crate::line::Ear;
use std::sync::Arc;
use std::time::{Duration, Instant};
use teloxide::Bot;
use teloxide::requests::Requester;
use tokio::sync::watch;

/// Longest wait between two polls when the service cannot be reached.
const RETRY_SECONDS_MAX: u64 = 60;

/// Why polling ended.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    #[error("the messaging service does not accept the token")]
    TokenRefused,
}

/// What a poll brought.
enum Polled {
    Updates(Vec<Update>),
    Refused(Refusal),
    /// Nothing that could be used, and why: without a word of what came.
    Nothing(String),
}

/// Polls until `stop` says so.
///
/// # Errors
/// [`Error::TokenRefused`] when going on is pointless.
pub async fn run(bot: Bot, engine: Arc<Engine>, mut stop: watch::Receiver<bool>) -> Result<(), Error> {
    let mut offset = 0_i64;
    let mut failures = 0_u32;
    loop {
        let polled = tokio::select! {
            polled = poll(&bot, &engine, offset) => polled,
            _ = stop.wait_for(|stopping| *stopping) => return Ok(()),
        };
        let wait = match polled {
            Polled::Updates(updates) => {
                let received = Instant::now();
                let next = updates.iter().filter_map(|update| update.number).max().map(|last| last.saturating_add(1));
                let count = updates.len();
                if !take(&engine, updates, (received, &mut stop)).await {
                    return Ok(());
                }
                engine.watch.taker_lives();
                engine.line_works(Ear::Poller).await;
                // Those without a number that can be read cannot be confirmed: they come again until the service forgets them.
                let is_progress = count == 0 || next.is_some_and(|next| next > offset);
                offset = offset.max(next.unwrap_or(offset));
                failures = if is_progress { 0 } else { failures + 1 };
                if is_progress { Duration::ZERO } else { wait_after(failures) }
            }
            Polled::Refused(refusal) if matches!(refusal.code, 401 | 404) => return Err(Error::TokenRefused),
            Polled::Refused(refusal) => {
                failures += 1;
                if refusal.description.contains("webhook is active") {
                    // It was served by webhook before; what waits is kept.
                    tracing::info!("the webhook is taken away; updates are asked for again");
                    if let Err(error) = bot.delete_webhook().await {
                        tracing::warn!(error = fault::describe(&error), "the webhook cannot be taken away");
                    }
                }
                tracing::warn!(code = refusal.code, reason = refusal.description, "no updates; trying again");
                refusal.retry_after_seconds.map_or_else(|| wait_after(failures), Duration::from_secs)
            }
            Polled::Nothing(reason) => {
                failures += 1;
                engine.line.failed(Ear::Poller, engine.clock.now());
                tracing::warn!(reason, failures, "no updates; trying again");
                wait_after(failures)
            }
        };
        if !wait.is_zero() {
            tokio::select! {
                () = tokio::time::sleep(wait) => {}
                _ = stop.wait_for(|stopping| *stopping) => return Ok(()),
            }
        }
    }
}

async fn poll(bot: &Bot, engine: &Engine, offset: i64) -> Polled {
    let asked = serde_json::json!({ "offset": offset, "timeout": POLL_SECONDS, "allowed_updates": KINDS });
    match connect::call(bot, "GetUpdates", &asked).await {
        Ok(Reply { body, date }) => {
            engine.service_said(date);
            match wire::read_updates(&body) {
                Ok(Answer::Ok(updates)) => Polled::Updates(updates),
                Ok(Answer::Refused(refusal)) => Polled::Refused(refusal),
                Err(error) => Polled::Nothing(error.to_string()),
            }
        }
        Err(reason) => Polled::Nothing(reason),
    }
}

/// Takes everything of a poll, however long the database takes; `false` when it is time to stop before that.
async fn take(engine: &Engine, updates: Vec<Update>, (received, stop): (Instant, &mut watch::Receiver<bool>)) -> bool {
    let arrivals: Vec<Arrival> = updates.iter().filter_map(|one| update::arrival(one, &engine.watch)).collect();
    let numbers: Vec<i64> = arrivals.iter().map(|one| one.update_id).collect();
    let is_done = intake::take_patiently(engine, arrivals, stop).await;
    if is_done {
        let after = received.elapsed();
        let milliseconds = after.as_secs_f64() * 1000.0;
        for update_id in numbers {
            engine.watch.update_committed(after);
            tracing::debug!(update_id, milliseconds, "confirmed with the next question");
        }
    }
    is_done
}

fn wait_after(failures: u32) -> Duration {
    Duration::from_millis(500 << failures.min(7)).min(Duration::from_secs(RETRY_SECONDS_MAX))
}
