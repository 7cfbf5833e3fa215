//! Updates by webhook: posted in order to a loopback address, again and again until they are taken.

use std::time::Duration;

use reqwest::{Client, Url};
use scheduler::clock::UtcSeconds;
use serde_json::{Value, json};

use crate::answer::{Answer, ApiError};
use crate::parameters::Parameters;
use crate::server::Shared;
use crate::state::State;

/// Between two tries, doubling from the least to the most: the API does not say, common practice, no source.
const PAUSE_MIN: Duration = Duration::from_millis(20);
const PAUSE_MAX: Duration = Duration::from_secs(5);
const POST_TIMEOUT: Duration = Duration::from_secs(10);
const SECRET_HEADER: &str = "X-Telegram-Bot-Api-Secret-Token";

#[derive(Clone, Debug)]
pub(crate) struct Webhook {
    url: Url,
    secret_token: Option<String>,
    max_connections: i64,
    last_error: Option<(UtcSeconds, String)>,
}

pub(crate) fn set(state: &mut State, params: &Parameters) -> Answer {
    let url = params.text("url").unwrap_or_default();
    if url.is_empty() {
        return delete(state, params);
    }
    let bad = |why: &str| ApiError::bad_request(format!("bad webhook: {why}"));
    let url = Url::parse(&url).map_err(|_| bad("invalid webhook URL specified"))?;
    if !is_loopback(&url) {
        return Err(bad("only loopback addresses are reached in a rehearsal"));
    }
    let secret_token = params.text("secret_token").filter(|secret| !secret.is_empty());
    if let Some(secret) = &secret_token {
        if secret.len() > 256 {
            return Err(ApiError::bad_request("secret token is too long"));
        }
        if !secret.chars().all(|c| c.is_ascii_alphanumeric() || c == '_' || c == '-') {
            return Err(ApiError::bad_request("secret token contains unallowed characters"));
        }
    }
    let max_connections = params.number("max_connections")?.unwrap_or(40).clamp(1, 100);
    state.updates.want(params)?;
    if params.is_set("drop_pending_updates") {
        state.updates.forget_all();
    }
    state.webhook = Some(Webhook { url, secret_token, max_connections, last_error: None });
    Ok(json!(true))
}

fn is_loopback(url: &Url) -> bool {
    let host = url.host_str().unwrap_or_default();
    let host = host.trim_start_matches('[').trim_end_matches(']');
    host == "localhost" || host.parse::<std::net::IpAddr>().is_ok_and(|address| address.is_loopback())
}

pub(crate) fn delete(state: &mut State, params: &Parameters) -> Answer {
    state.webhook = None;
    if params.is_set("drop_pending_updates") {
        state.updates.forget_all();
    }
    Ok(json!(true))
}

pub(crate) fn info(state: &State) -> Answer {
    let mut info =
        json!({ "url": "", "has_custom_certificate": false, "pending_update_count": state.updates.pending() });
    if let Some(webhook) = &state.webhook {
        info["url"] = json!(webhook.url.as_str());
        info["max_connections"] = json!(webhook.max_connections);
        if let Some((at, why)) = &webhook.last_error {
            info["last_error_date"] = json!(at);
            info["last_error_message"] = json!(why);
        }
    }
    if !state.updates.wanted().is_empty() {
        info["allowed_updates"] = json!(state.updates.wanted());
    }
    Ok(info)
}

/// Posts what waits to the webhook, one at a time, until the server closes.
pub(crate) async fn deliver(shared: std::sync::Arc<Shared>) {
    let client = Client::builder().no_proxy().timeout(POST_TIMEOUT).redirect(reqwest::redirect::Policy::none()).build();
    let client = client.expect("a client of plain settings builds");
    let mut arrivals = shared.arrivals.subscribe();
    let mut closing = shared.closing.subscribe();
    let mut pause = PAUSE_MIN;
    loop {
        arrivals.mark_unchanged();
        let next = {
            let mut state = shared.state();
            state.updates.forget_old(shared.now());
            state.webhook.clone().zip(state.updates.front())
        };
        let Some((webhook, update)) = next else {
            tokio::select! {
                _ = arrivals.changed() => continue,
                _ = closing.wait_for(|closing| *closing) => return,
            }
        };
        let posted = tokio::select! {
            posted = post(&client, &webhook, &update) => posted,
            _ = closing.wait_for(|closing| *closing) => return,
        };
        let is_taken = posted.is_ok();
        shared.webhook_tried(&update, posted);
        if is_taken {
            pause = PAUSE_MIN;
            continue;
        }
        tokio::select! {
            () = tokio::time::sleep(pause) => pause = (pause * 2).min(PAUSE_MAX),
            _ = closing.wait_for(|closing| *closing) => return,
        }
    }
}

async fn post(client: &Client, webhook: &Webhook, update: &Value) -> Result<(), String> {
    let mut request = client.post(webhook.url.clone()).json(update);
    if let Some(secret) = &webhook.secret_token {
        request = request.header(SECRET_HEADER, secret);
    }
    match request.send().await {
        Ok(response) if response.status().is_success() => Ok(()),
        Ok(response) => Err(format!("Wrong response from the webhook: {}", response.status())),
        Err(error) if error.is_timeout() => Err("Read timeout expired".to_owned()),
        Err(_) => Err("Connection failed".to_owned()),
    }
}

impl Shared {
    fn webhook_tried(&self, update: &Value, posted: Result<(), String>) {
        let now = self.now();
        let mut state = self.state();
        match posted {
            Ok(()) => state.updates.delivered(update),
            Err(why) => {
                if let Some(webhook) = &mut state.webhook {
                    webhook.last_error = Some((now, why));
                }
            }
        }
        drop(state);
        self.change();
    }
}
