//! Updates in, by long polling. The service forgets an update when a later one is asked for, so the next poll is made
//! only after everything of the last one is committed.

use super::connect::POLL_SECONDS;
use super::{fault, update};
use crate::engine::Engine;
use std::sync::Arc;
use std::time::{Duration, Instant};
use teloxide::payloads::GetUpdatesSetters;
use teloxide::requests::Requester;
use teloxide::types::AllowedUpdate;
use teloxide::{ApiError, Bot, RequestError};
use tokio::sync::watch;

/// Longest wait between two polls when the service cannot be reached.
const RETRY_SECONDS_MAX: u64 = 60;

/// Why polling ended.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    #[error("the messaging service does not accept the token")]
    TokenRefused,
}

/// Polls until `stop` says so.
///
/// # Errors
/// [`Error::TokenRefused`] when going on is pointless.
pub async fn run(bot: Bot, engine: Arc<Engine>, mut stop: watch::Receiver<bool>) -> Result<(), Error> {
    let mut offset = 0_i32;
    let mut failures = 0_u32;
    loop {
        let request = bot.get_updates().offset(offset).timeout(POLL_SECONDS).allowed_updates([
            AllowedUpdate::Message,
            AllowedUpdate::CallbackQuery,
            AllowedUpdate::MyChatMember,
            AllowedUpdate::ChatMember,
        ]);
        let answer = tokio::select! {
            answer = request => answer,
            _ = stop.wait_for(|stopping| *stopping) => return Ok(()),
        };
        match answer {
            Ok(updates) => {
                failures = 0;
                let received = Instant::now();
                for one in &updates {
                    if let Err(error) = take(&engine, one).await {
                        tracing::error!(update_id = one.id.0, %error, "the database does not answer; asking again");
                        tokio::time::sleep(Duration::from_secs(1)).await;
                        break;
                    }
                    let after = received.elapsed();
                    engine.watch.update_committed(after);
                    let milliseconds = after.as_secs_f64() * 1000.0;
                    tracing::debug!(update_id = one.id.0, milliseconds, "confirmed with the next question");
                    offset = i32::try_from(one.id.0).unwrap_or(i32::MAX).saturating_add(1);
                }
                engine.watch.taker_lives();
            }
            Err(RequestError::Api(ApiError::InvalidToken)) => return Err(Error::TokenRefused),
            Err(error) => {
                if error.to_string().contains("webhook is active") {
                    // It was served by webhook before; what waits is kept.
                    tracing::info!("the webhook is taken away; updates are asked for again");
                    if let Err(error) = bot.delete_webhook().await {
                        tracing::warn!(error = fault::describe(&error), "the webhook cannot be taken away");
                    }
                }
                failures += 1;
                let wait = wait_after(&error, failures);
                let error = fault::describe(&error);
                tracing::warn!(error, wait_seconds = wait.as_secs(), "no updates; trying again");
                tokio::select! {
                    () = tokio::time::sleep(wait) => {}
                    _ = stop.wait_for(|stopping| *stopping) => return Ok(()),
                }
            }
        }
    }
}

async fn take(engine: &Engine, update: &teloxide::types::Update) -> scheduler::store::Result<()> {
    match update::read(update) {
        Some(incoming) => engine.take(&incoming).await,
        None => engine.ignore(i64::from(update.id.0)).await,
    }
}

fn wait_after(error: &RequestError, failures: u32) -> Duration {
    match error {
        RequestError::RetryAfter(seconds) => Duration::from_secs(u64::from(seconds.seconds())),
        _ => Duration::from_secs((1_u64 << failures.min(6)) / 2).min(Duration::from_secs(RETRY_SECONDS_MAX)),
    }
}
