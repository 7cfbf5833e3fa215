//! Updates in, by webhook: the service posts each update, and posts it again until it is told that it was taken, which it
//! is only once everything is committed. Whoever does not know the secret is turned away; it is compared in constant time.

use super::update;
use crate::engine::Engine;
use axum::Router;
use axum::body::Bytes;
use axum::extract::{DefaultBodyLimit, State};
use axum::http::{HeaderMap, StatusCode};
use axum::routing::post;
use std::sync::Arc;
use std::time::Instant;
use subtle::ConstantTimeEq;
use teloxide::payloads::SetWebhookSetters;
use teloxide::requests::Requester;
use teloxide::types::{AllowedUpdate, Update};
use teloxide::{Bot, RequestError};
use tokio::net::TcpListener;
use tokio::sync::watch;

/// The header that carries the secret (Bot API reference, "setWebhook").
const SECRET_HEADER: &str = "x-telegram-bot-api-secret-token";
/// Longest update, bytes. A message has at most 4096 characters; with all entities and a message replied to an update
/// stays far below this (no published limit).
const BODY_BYTES_MAX: usize = 1 << 20;
/// Updates the service may post at a time; they queue for the farm's one write lock anyway.
const CONNECTIONS_MAX: u8 = 8;

struct Door {
    engine: Arc<Engine>,
    secret: String,
}

/// Tells the service where to post, and takes what it posts on `listener` until `stop` says so.
///
/// # Errors
/// When the service refuses the address, or listening fails.
pub async fn run(
    bot: &Bot,
    url: reqwest::Url,
    listener: TcpListener,
    engine: Arc<Engine>,
    mut stop: watch::Receiver<bool>,
) -> anyhow::Result<()> {
    engine.watch.taker_is_posted_to();
    let secret = new_secret();
    let door = Arc::new(Door { engine, secret: secret.clone() });
    let path = url.path().to_owned();
    let app = Router::new().route(&path, post(take)).layer(DefaultBodyLimit::max(BODY_BYTES_MAX)).with_state(door);
    let serving = tokio::spawn(async move {
        let stopped = async move {
            let _ = stop.wait_for(|stopping| *stopping).await;
        };
        axum::serve(listener, app).with_graceful_shutdown(stopped).await
    });
    set(bot, url, &secret).await?;
    serving.await??;
    Ok(())
}

async fn set(bot: &Bot, url: reqwest::Url, secret: &str) -> Result<(), RequestError> {
    let request = bot.set_webhook(url).secret_token(secret).max_connections(CONNECTIONS_MAX);
    let kinds =
        [AllowedUpdate::Message, AllowedUpdate::CallbackQuery, AllowedUpdate::MyChatMember, AllowedUpdate::ChatMember];
    request.allowed_updates(kinds).await.map(|_| ())
}

async fn take(State(door): State<Arc<Door>>, headers: HeaderMap, body: Bytes) -> StatusCode {
    let received = Instant::now();
    let given = headers.get(SECRET_HEADER).map(|value| value.as_bytes()).unwrap_or_default();
    if !bool::from(given.ct_eq(door.secret.as_bytes())) {
        return StatusCode::UNAUTHORIZED;
    }
    let Ok(update) = serde_json::from_slice::<Update>(&body) else {
        // Posted again it would read no better.
        tracing::warn!(bytes = body.len(), "a posted update cannot be read");
        return StatusCode::OK;
    };
    let taken = match update::read(&update) {
        Some(incoming) => door.engine.take(&incoming).await,
        None => door.engine.ignore(i64::from(update.id.0)).await,
    };
    match taken {
        Ok(()) => {
            door.engine.watch.update_committed(received.elapsed());
            StatusCode::OK
        }
        Err(error) => {
            tracing::error!(update_id = update.id.0, %error, "the database does not answer; it is posted again");
            StatusCode::SERVICE_UNAVAILABLE
        }
    }
}

/// 256 random bits in hexadecimal: 64 of the 256 characters a secret may have. New at every start: nobody has to keep it.
fn new_secret() -> String {
    let mut bytes = [0_u8; 32];
    getrandom::fill(&mut bytes).expect("the system gives random bytes");
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}
