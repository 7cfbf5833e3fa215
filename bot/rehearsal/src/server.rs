//! The HTTP side: one listener on loopback, every request through one door.

use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use axum::Router;
use axum::body::Body;
use axum::extract::{ConnectInfo, DefaultBodyLimit, Request, State as Held};
use axum::http::{HeaderMap, Response, header};
use reqwest::Url;
use scheduler::clock::{Clock, SystemClock, UtcSeconds};
use serde_json::Value;
use tokio::net::TcpListener;
use tokio::sync::watch;
use tokio::task::JoinHandle;

use crate::answer::{self, Answer, ApiError};
use crate::calls::{self, Call, Moment};
use crate::connection::{CuttableListener, Knife};
use crate::faults::Fault;
use crate::pace::PaceLimits;
use crate::parameters::{BODY_BYTES_MAX, Parameters};
use crate::polling;
use crate::state::{BOT_ID, State};
use crate::webhook;

/// When a hook is called: before a call is carried out, or after it was and before it is answered.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Phase {
    Before,
    After,
}

/// Called with a call's number, its method and the phase; the call waits for it. A fault given back in
/// [`Phase::Before`] meets this call: who kills the bot there gives [`Fault::CutBefore`] for a call that never arrived.
pub type CallHook = Arc<dyn Fn(u64, &str, Phase) -> Option<Fault> + Send + Sync>;

/// How a server starts.
#[derive(Clone)]
pub struct RehearsalConfig {
    /// Dates messages; also ages updates, presses and messages, and keeps the pace.
    pub clock: Arc<dyn Clock>,
    /// The token's part after the colon.
    pub secret: String,
    /// The bot's username, without `@`.
    pub username: String,
    /// `None`: as fast as the bot likes.
    pub pace: Option<PaceLimits>,
    pub on_call: Option<CallHook>,
}

impl Default for RehearsalConfig {
    fn default() -> RehearsalConfig {
        RehearsalConfig {
            clock: Arc::new(SystemClock),
            secret: "rehearsal-token-of-no-real-bot".to_owned(),
            username: "rehearsal_bot".to_owned(),
            pace: None,
            on_call: None,
        }
    }
}

/// Why a server did not start.
#[derive(Debug, thiserror::Error)]
#[error("cannot listen on 127.0.0.1: {0}")]
pub struct StartError(#[from] std::io::Error);

/// A running local Bot API server. Stops when shut down or dropped.
pub struct RehearsalServer {
    pub(crate) shared: Arc<Shared>,
    address: SocketAddr,
    tasks: Vec<JoinHandle<()>>,
}

/// What requests, people and the webhook's deliverer share.
pub(crate) struct Shared {
    token: String,
    clock: Arc<dyn Clock>,
    on_call: Option<CallHook>,
    state: Mutex<State>,
    /// Rises with everything that happens.
    pub changes: watch::Sender<u64>,
    /// Rises when getUpdates or the webhook should look again.
    pub arrivals: watch::Sender<u64>,
    pub closing: watch::Sender<bool>,
}

impl Shared {
    /// The state; a panic elsewhere leaves it whole, for no change to it is made in two steps that can panic between.
    pub fn state(&self) -> MutexGuard<'_, State> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }

    pub fn now(&self) -> UtcSeconds {
        self.clock.now()
    }

    pub fn change(&self) {
        self.changes.send_modify(|count| *count += 1);
    }

    pub fn arrive(&self) {
        self.arrivals.send_modify(|count| *count += 1);
        self.change();
    }

    fn hook(&self, number: u64, method: &str, phase: Phase) -> Option<Fault> {
        self.on_call.as_ref().and_then(|hook| hook(number, method, phase))
    }
}

impl RehearsalServer {
    /// Starts on 127.0.0.1, on a port the system gives.
    ///
    /// # Errors
    /// [`StartError`] if no port can be had.
    pub async fn start(config: RehearsalConfig) -> Result<RehearsalServer, StartError> {
        let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, 0)).await?;
        let address = listener.local_addr()?;
        let shared = Arc::new(Shared {
            token: format!("{BOT_ID}:{}", config.secret),
            clock: config.clock,
            on_call: config.on_call,
            state: Mutex::new(State::new(&config.username, config.pace)),
            changes: watch::Sender::new(0),
            arrivals: watch::Sender::new(0),
            closing: watch::Sender::new(false),
        });
        let app = Router::new()
            .fallback(receive)
            .layer(DefaultBodyLimit::max(BODY_BYTES_MAX))
            .with_state(Arc::clone(&shared))
            .into_make_service_with_connect_info::<Knife>();
        let mut closing = shared.closing.subscribe();
        let serving = axum::serve(CuttableListener(listener), app).with_graceful_shutdown(async move {
            // An error means the sender is gone: closing as well.
            let _ = closing.wait_for(|closing| *closing).await;
        });
        let tasks = vec![
            tokio::spawn(async move {
                // axum's serve never returns an error.
                let _ = serving.await;
            }),
            tokio::spawn(webhook::deliver(Arc::clone(&shared))),
        ];
        Ok(RehearsalServer { shared, address, tasks })
    }

    /// Where the Bot API is: `http://127.0.0.1:PORT`.
    pub fn api_url(&self) -> Url {
        format!("http://{}", self.address).parse().expect("an address and port make an address of the web")
    }

    /// The token of the one bot.
    pub fn token(&self) -> &str {
        &self.shared.token
    }

    /// Stops: waiting calls are answered, then connections close.
    pub async fn shutdown(mut self) {
        self.shared.closing.send_replace(true);
        for task in std::mem::take(&mut self.tasks) {
            // A task that panicked has said so on stderr.
            let _ = task.await;
        }
    }
}

impl Drop for RehearsalServer {
    fn drop(&mut self) {
        self.shared.closing.send_replace(true);
    }
}

async fn receive(
    Held(shared): Held<Arc<Shared>>,
    ConnectInfo(knife): ConnectInfo<Knife>,
    request: Request,
) -> Response<Body> {
    match door(&shared, &knife, request).await {
        Ok(response) => response,
        Err(error) => answer::response(&answer::body(Err(error))),
    }
}

async fn door(shared: &Shared, knife: &Knife, request: Request) -> Result<Response<Body>, ApiError> {
    if !is_for_loopback(request.headers()) {
        return Err(ApiError::forbidden("only loopback hosts are served"));
    }
    let not_found = || ApiError::new(404, "Not Found");
    // Some clients write the colon of the token and the slash of a file's path as escapes.
    let path = request.uri().path().replace("%3A", ":").replace("%3a", ":").replace("%2F", "/").replace("%2f", "/");
    if let Some(rest) = path.strip_prefix("/file/bot") {
        let (token, file_path) = rest.split_once('/').ok_or_else(not_found)?;
        check_token(shared, token)?;
        let bytes = shared.state().files.download(file_path).ok_or_else(not_found)?;
        return Ok(Response::new(Body::from(bytes)));
    }
    let rest = path.strip_prefix("/bot").ok_or_else(not_found)?;
    let (token, method) = rest.split_once('/').ok_or_else(not_found)?;
    check_token(shared, token)?;
    let params = Parameters::read(request).await?;
    Ok(call(shared, knife, method, params).await)
}

fn check_token(shared: &Shared, token: &str) -> Result<(), ApiError> {
    match token == shared.token {
        true => Ok(()),
        false => Err(ApiError::new(401, "Unauthorized")),
    }
}

/// Host (and Origin, where a browser sends it) must be loopback: a page from elsewhere must not drive the server.
pub fn is_for_loopback(headers: &HeaderMap) -> bool {
    let is_loopback = |authority: &str| {
        let host = Url::parse(&format!("http://{authority}")).ok().and_then(|url| url.host_str().map(str::to_owned));
        host.is_some_and(|host| {
            let bare = host.trim_start_matches('[').trim_end_matches(']');
            bare == "localhost" || bare.parse::<IpAddr>().is_ok_and(|address| address.is_loopback())
        })
    };
    let text = |name: header::HeaderName| headers.get(name).map(|value| value.to_str().unwrap_or_default());
    let origin = text(header::ORIGIN).map(|origin| origin.split_once("://").map_or("", |(_, authority)| authority));
    text(header::HOST).is_some_and(is_loopback) && origin.is_none_or(is_loopback)
}

/// One authorised call, with its faults and hooks.
async fn call(shared: &Shared, knife: &Knife, method: &str, params: Parameters) -> Response<Body> {
    let lower = method.to_ascii_lowercase();
    let number = begin(shared, method, &params);
    let chat = params.text("chat_id").and_then(|chat| chat.parse().ok());
    let fault = shared.hook(number, method, Phase::Before).or_else(|| shared.state().faults.take(&lower, chat));
    let refusal = match fault {
        Some(Fault::TooManyRequests { retry_after_s }) => Some(ApiError::too_many_requests(retry_after_s)),
        Some(Fault::ServerError(code)) => Some(ApiError::server_error(code)),
        Some(Fault::CutBefore) => {
            knife.cut();
            finish(shared, number, None, false);
            return Response::new(Body::empty());
        }
        Some(Fault::EchoRefused) => {
            Some(ApiError::bad_request(format!("member list is inaccessible to \"{}\"", params.for_log())))
        }
        Some(Fault::CutAfter | Fault::Unreadable | Fault::Echo | Fault::Slow(_)) | None => None,
    };
    let answer = match refusal {
        Some(refusal) => Err(refusal),
        None => carry_out(shared, &lower, &params).await,
    };
    let answer = match fault {
        Some(Fault::Unreadable) => answer.map(answer::unreadable),
        Some(Fault::Echo) => answer.map(|result| answer::echo(params.for_log(), result)),
        _ => answer,
    };
    let body = answer::body(answer);
    let response = answer::response(&body);
    let is_cut = fault == Some(Fault::CutAfter);
    // In the log before the hook runs and before the bot sees the answer: whoever is told of the call finds it there.
    finish(shared, number, Some(body), !is_cut);
    shared.hook(number, method, Phase::After);
    if let Some(Fault::Slow(wait)) = fault {
        let mut closing = shared.closing.subscribe();
        tokio::select! {
            () = tokio::time::sleep(wait) => {}
            _ = closing.wait_for(|closing| *closing) => {}
        }
    }
    if is_cut {
        knife.cut();
    }
    response
}

async fn carry_out(shared: &Shared, method: &str, params: &Parameters) -> Answer {
    if method == "getupdates" {
        return polling::get_updates(shared, params).await;
    }
    let at = Moment { now: shared.now(), elapsed: shared.clock.elapsed() };
    let answer = calls::carry_out(&mut shared.state(), method, params, at);
    if matches!(method, "setwebhook" | "deletewebhook" | "leavechat") {
        shared.arrive();
    }
    answer
}

fn begin(shared: &Shared, method: &str, params: &Parameters) -> u64 {
    let at = shared.now();
    let params = params.for_log();
    let mut state = shared.state();
    let number = state.log.len() as u64 + 1;
    state.log.push(Call { number, method: method.to_owned(), params, answer: None, at, is_delivered: false });
    drop(state);
    shared.change();
    number
}

fn finish(shared: &Shared, number: u64, answer: Option<Value>, is_delivered: bool) {
    let index = usize::try_from(number - 1).expect("a number is a place in the log");
    let mut state = shared.state();
    state.log[index].answer = answer;
    state.log[index].is_delivered = is_delivered;
    if state.broken_limit.is_none() && state.log[index].breaks_a_limit() {
        state.broken_limit = Some(state.log[index].clone());
    }
    drop(state);
    shared.change();
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test stops where a step fails")]
mod tests {
    use super::*;

    #[test]
    fn only_loopback_hosts_are_served() {
        for (host, origin, served) in [
            (Some("127.0.0.1:8081"), None, true),
            (Some("localhost"), None, true),
            (Some("[::1]:80"), None, true),
            (Some("127.0.0.1:8081"), Some("http://localhost:9"), true),
            (Some("127.0.0.1:8081"), Some("https://example.org"), false),
            (Some("127.0.0.1:8081"), Some("null"), false),
            (Some("farm.example:8081"), None, false),
            (Some("127.0.0.1.example.org"), None, false),
            (None, None, false),
        ] {
            let mut headers = HeaderMap::new();
            for (name, value) in [(header::HOST, host), (header::ORIGIN, origin)] {
                if let Some(value) = value {
                    headers.insert(name, value.parse().unwrap());
                }
            }
            assert_eq!(is_for_loopback(&headers), served, "{host:?} {origin:?}");
        }
    }
}
