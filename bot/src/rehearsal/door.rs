//! The HTTP side of the page: embedded files, the changes, and one door for everything done.

use super::news::Have;
use super::play::{Act, Play, Refusal};
use super::words;
use axum::body::Body;
use axum::extract::{Json, Path, Query, Request, State};
use axum::http::{HeaderMap, HeaderValue, Response, StatusCode, header};
use axum::middleware::Next;
use axum::response::IntoResponse;
use axum::routing::{get, post};
use axum::{Router, middleware};
use bot_api_local::is_for_loopback;
use serde_json::json;
use std::sync::Arc;

const INDEX: &str = include_str!("index.html");
const STYLE: &str = include_str!("style.css");
const SCRIPT: &str = include_str!("page.js");
/// Nothing from elsewhere is loaded, and nobody may frame the page.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; \
                      form-action 'none'; frame-ancestors 'none'; base-uri 'none'";

pub(super) fn router(play: Arc<Play>) -> Router {
    Router::new()
        .route("/", get(index))
        .route("/style.css", get(|| async { asset("text/css; charset=utf-8", STYLE) }))
        .route("/page.js", get(|| async { asset("text/javascript; charset=utf-8", SCRIPT) }))
        .route("/changes", get(changes))
        .route("/file/{chat}/{message}", get(file))
        .route("/act", post(act))
        .layer(middleware::from_fn(guard))
        .with_state(play)
}

/// A page of another origin, or one that reaches this address by another name, gets nothing.
async fn guard(request: Request, next: Next) -> Response<Body> {
    let mut response = match is_own(request.headers()) {
        true => next.run(request).await,
        false => (StatusCode::FORBIDDEN, "This page is for this machine alone.").into_response(),
    };
    let headers = response.headers_mut();
    for (name, value) in [
        (header::CONTENT_SECURITY_POLICY, POLICY),
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (header::REFERRER_POLICY, "no-referrer"),
        (header::CACHE_CONTROL, "no-store"),
    ] {
        headers.insert(name, HeaderValue::from_static(value));
    }
    response
}

/// Host must be loopback, and Origin, where a browser sends it, the very origin of the page.
fn is_own(headers: &HeaderMap) -> bool {
    let text = |name: header::HeaderName| headers.get(name).map(|value| value.to_str().unwrap_or_default());
    let host = text(header::HOST).unwrap_or_default();
    is_for_loopback(headers) && text(header::ORIGIN).is_none_or(|origin| origin.strip_prefix("http://") == Some(host))
}

fn asset(kind: &'static str, text: &'static str) -> Response<Body> {
    ([(header::CONTENT_TYPE, kind)], text).into_response()
}

async fn index(State(play): State<Arc<Play>>) -> Response<Body> {
    let words = words::all(&play.stage().await.engine.house);
    // Inside a script element only "</" and "<!--" mean anything.
    let words = words.to_string().replace('<', "\\u003c");
    let page = INDEX.replace("{words}", &words);
    ([(header::CONTENT_TYPE, "text/html; charset=utf-8")], page).into_response()
}

async fn changes(State(play): State<Arc<Play>>, Query(have): Query<Have>) -> Response<Body> {
    match play.changes(have).await {
        Ok(picture) => Json(picture).into_response(),
        Err(error) => failed(&error),
    }
}

async fn act(State(play): State<Arc<Play>>, Json(act): Json<Act>) -> Response<Body> {
    match play.act(act).await {
        Ok(done) => match play.revision().await {
            Ok(revision) => Json(json!({ "done": done, "revision": revision })).into_response(),
            Err(error) => failed(&error),
        },
        Err(Refusal::Because(key)) => (StatusCode::CONFLICT, Json(json!({ "refused": key }))).into_response(),
        Err(Refusal::Failed(error)) => failed(&error),
    }
}

fn failed(error: &anyhow::Error) -> Response<Body> {
    tracing::warn!(%error, "the rehearsal could not do that");
    let refused = json!({ "refused": "page-failed", "detail": format!("{error:#}") });
    (StatusCode::INTERNAL_SERVER_ERROR, Json(refused)).into_response()
}

/// A file of a message: a photo to show, anything else to save.
async fn file(State(play): State<Arc<Play>>, Path((chat, message)): Path<(i64, i64)>) -> Response<Body> {
    let messages = play.stage().await.server.chat(chat);
    let found = messages.into_iter().find(|one| one.message_id == message && !one.is_deleted);
    let Some(file) = found.and_then(|message| message.file) else {
        return StatusCode::NOT_FOUND.into_response();
    };
    if file.is_photo {
        let kind = if file.bytes.starts_with(b"\x89PNG") { "image/png" } else { "image/jpeg" };
        return ([(header::CONTENT_TYPE, kind)], file.bytes).into_response();
    }
    let plain = |c: char| if c.is_ascii_alphanumeric() || ".-_ ".contains(c) { c } else { '_' };
    let name: String = file.file_name.chars().map(plain).collect();
    let headers = [
        (header::CONTENT_TYPE, "application/octet-stream".to_owned()),
        (header::CONTENT_DISPOSITION, format!("attachment; filename=\"{name}\"")),
    ];
    (headers, file.bytes).into_response()
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test stops where a step fails")]
mod tests {
    use super::*;

    /// Sent plain; compressed they are smaller still.
    #[test]
    fn the_files_are_small() {
        let bytes = INDEX.len() + STYLE.len() + SCRIPT.len();
        assert!(bytes < 60_000, "{bytes} bytes");
    }

    #[test]
    fn only_the_pages_own_origin_is_served() {
        for (host, origin, served) in [
            ("127.0.0.1:4000", None, true),
            ("127.0.0.1:4000", Some("http://127.0.0.1:4000"), true),
            ("localhost:4000", Some("http://localhost:4000"), true),
            ("127.0.0.1:4000", Some("http://127.0.0.1:4001"), false),
            ("127.0.0.1:4000", Some("https://127.0.0.1:4000"), false),
            ("127.0.0.1:4000", Some("null"), false),
            ("farm.example:4000", Some("http://farm.example:4000"), false),
        ] {
            let mut headers = HeaderMap::new();
            headers.insert(header::HOST, host.parse().unwrap());
            if let Some(origin) = origin {
                headers.insert(header::ORIGIN, origin.parse().unwrap());
            }
            assert_eq!(is_own(&headers), served, "{host} {origin:?}");
        }
    }
}
