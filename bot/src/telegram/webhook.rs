//! Updates in, by webhook: the service posts each update, and posts it again until it is told that it was taken, which it
//! is only once everything is committed. Whoever does not know the secret is turned away; it is compared in constant time.
//! What is set as the webhook is looked at now and then: somebody else with the token may take it away.

use super::connect::{self, Reply};
use super::wire::{self, Answer, KINDS};
use super::{intake, update};
use crate::engine::{Arrival, Engine};
use axum::Router;
use axum::body::Bytes;
use axum::extract::{DefaultBodyLimit, State};
use axum::http::{HeaderMap, StatusCode};
use axum::routing::post;
use std::sync::Arc;
use std::time::{Duration, Instant};
use subtle::ConstantTimeEq;
use teloxide::Bot;
use tokio::net::TcpListener;
use tokio::sync::{mpsc, oneshot, watch};

/// The header that carries the secret (Bot API reference, "setWebhook").
const SECRET_HEADER: &str = "x-telegram-bot-api-secret-token";
/// Longest update, bytes. A message has at most 4096 characters; with all entities and a message replied to an update
/// stays far below this (no published limit).
const BODY_BYTES_MAX: usize = 1 << 20;
/// Updates the service may post at a time: its default (Bot API reference, "setWebhook"). They are taken together.
const CONNECTIONS_MAX: u8 = 40;
/// Updates taken together, as with polling.
const TOGETHER_MAX: usize = 100;
/// How long a post is held open while the database does not answer; afterwards the service posts it again.
const POST_WAIT: Duration = Duration::from_secs(25);

/// First and longest pause between two tries to set the webhook.
const SET_AGAIN: Duration = Duration::from_secs(1);
const SET_AGAIN_MAX: Duration = Duration::from_secs(60);

struct Door {
    engine: Arc<Engine>,
    posts: mpsc::Sender<Post>,
    secret: String,
}

/// A posted update, and who waits to hear that it is committed.
struct Post {
    arrival: Arrival,
    committed: oneshot::Sender<()>,
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
    let (posts, taken) = mpsc::channel(TOGETHER_MAX);
    tokio::spawn(take_posts(Arc::clone(&engine), taken, stop.clone()));
    let door = Arc::new(Door { engine: Arc::clone(&engine), posts, secret: secret.clone() });
    let path = url.path().to_owned();
    let app = Router::new().route(&path, post(take)).layer(DefaultBodyLimit::max(BODY_BYTES_MAX)).with_state(door);
    let mut stopping = stop.clone();
    let serving = tokio::spawn(async move {
        let stopped = async move {
            let _ = stopping.wait_for(|stopping| *stopping).await;
        };
        axum::serve(listener, app).with_graceful_shutdown(stopped).await
    });
    tokio::select! {
        refused = keep_set(bot, &engine, &url, &secret) => anyhow::bail!(
            "the messaging service does not take the webhook's address: {refused}"
        ),
        _ = stop.wait_for(|stopping| *stopping) => {}
    }
    serving.await??;
    Ok(())
}

/// Why the webhook is not set.
enum NotSet {
    /// The service will not have this address.
    Refused(String),
    /// It may take it in a while.
    NotNow(String),
}

async fn set(bot: &Bot, engine: &Engine, url: &reqwest::Url, secret: &str) -> Result<(), NotSet> {
    let asked = serde_json::json!({
        "url": url.as_str(), "secret_token": secret, "max_connections": CONNECTIONS_MAX, "allowed_updates": KINDS,
    });
    let Reply { body, date } = connect::call(bot, "SetWebhook", &asked).await.map_err(NotSet::NotNow)?;
    engine.service_said(date);
    match wire::read_done(&body) {
        Ok(Answer::Ok(())) => Ok(()),
        Ok(Answer::Refused(refusal)) if matches!(refusal.code, 400 | 401 | 404) => {
            Err(NotSet::Refused(refusal.description))
        }
        Ok(Answer::Refused(refusal)) => Err(NotSet::NotNow(refusal.description)),
        Err(error) => Err(NotSet::NotNow(error.to_string())),
    }
}

/// Sets the webhook, looks again and again whether it is still this one, and sets it anew where it is not; ends with the
/// reason when the service will not have it.
async fn keep_set(bot: &Bot, engine: &Engine, url: &reqwest::Url, secret: &str) -> String {
    let mut wait = SET_AGAIN;
    loop {
        match set(bot, engine, url, secret).await {
            Ok(()) => break,
            Err(NotSet::Refused(reason)) => return reason,
            Err(NotSet::NotNow(reason)) => tracing::warn!(reason, "the webhook is not set yet; trying again"),
        }
        tokio::time::sleep(wait).await;
        wait = (wait * 2).min(SET_AGAIN_MAX);
    }
    loop {
        tokio::time::sleep(engine.look_every * 2).await;
        match look(bot, engine, url).await {
            Ok(fault) => {
                if fault.as_ref().is_some_and(|fault| fault.is_taken) {
                    tracing::error!("somebody else has taken the webhook away; it is set again");
                    engine.watch.webhook_was_taken();
                    if let Err(error) = engine.tell_of_taken_webhook().await {
                        tracing::error!(error = error.in_brief(), "the keepers cannot be told");
                    }
                    match set(bot, engine, url, secret).await {
                        Ok(()) => {}
                        Err(NotSet::Refused(reason)) => return reason,
                        Err(NotSet::NotNow(reason)) => tracing::error!(reason, "the webhook cannot be set"),
                    }
                }
                engine.watch.webhook_is(fault.map(|fault| fault.what));
            }
            Err(reason) => tracing::warn!(reason, "the service does not say what its webhook is"),
        }
    }
}

/// What is wrong with the webhook.
struct Fault {
    what: String,
    is_taken: bool,
}

async fn look(bot: &Bot, engine: &Engine, url: &reqwest::Url) -> Result<Option<Fault>, String> {
    let Reply { body, date } = connect::call(bot, "GetWebhookInfo", &serde_json::json!({})).await?;
    engine.service_said(date);
    let info = match wire::read_webhook_info(&body) {
        Ok(Answer::Ok(info)) => info,
        Ok(Answer::Refused(refusal)) => return Err(refusal.description),
        Err(error) => return Err(error.to_string()),
    };
    if info.url != url.as_str() {
        let what = "somebody else has taken it away; it is being set again".into();
        return Ok(Some(Fault { what, is_taken: true }));
    }
    let reason = info.last_error_message.filter(|_| info.pending_update_count > 0);
    Ok(reason.map(|reason| Fault {
        what: format!("{} updates wait, the service cannot post them: {reason}", info.pending_update_count),
        is_taken: false,
    }))
}

async fn take(State(door): State<Arc<Door>>, headers: HeaderMap, body: Bytes) -> StatusCode {
    let received = Instant::now();
    let given = headers.get(SECRET_HEADER).map(|value| value.as_bytes()).unwrap_or_default();
    if !bool::from(given.ct_eq(door.secret.as_bytes())) {
        return StatusCode::UNAUTHORIZED;
    }
    let update = wire::read(&String::from_utf8_lossy(&body));
    let Some(arrival) = update::arrival(&update, &door.engine.watch) else {
        // Posted again it would read no better.
        return StatusCode::OK;
    };
    let update_id = arrival.update_id;
    let (committed, is_committed) = oneshot::channel();
    let waited = tokio::time::timeout(POST_WAIT, async {
        door.posts.send(Post { arrival, committed }).await.is_ok() && is_committed.await.is_ok()
    });
    match waited.await {
        Ok(true) => {
            door.engine.watch.update_committed(received.elapsed());
            StatusCode::OK
        }
        _ => {
            tracing::error!(update_id, "it is not committed yet; it is posted again");
            StatusCode::SERVICE_UNAVAILABLE
        }
    }
}

/// Takes what was posted, whatever came meanwhile together, as with polling.
async fn take_posts(engine: Arc<Engine>, mut posts: mpsc::Receiver<Post>, mut stop: watch::Receiver<bool>) {
    while let Some(first) = posts.recv().await {
        let mut together = vec![first];
        while together.len() < TOGETHER_MAX
            && let Ok(next) = posts.try_recv()
        {
            together.push(next);
        }
        let (arrivals, waiting): (Vec<_>, Vec<_>) =
            together.into_iter().map(|one| (one.arrival, one.committed)).unzip();
        if !intake::take_patiently(&engine, arrivals, &mut stop).await {
            return;
        }
        for committed in waiting {
            // Whoever gave up waiting is posted to again, and the update is known by then.
            let _ = committed.send(());
        }
    }
}

/// 256 random bits in hexadecimal: 64 of the 256 characters a secret may have. New at every start: nobody has to keep it.
fn new_secret() -> String {
    let mut bytes = [0_u8; 32];
    getrandom::fill(&mut bytes).expect("the system gives random bytes");
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}
