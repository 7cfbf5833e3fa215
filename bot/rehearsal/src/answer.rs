//! What the server answers: a result, or an error in the Bot API's own shape and words.

use axum::body::Body;
use axum::http::{Response, StatusCode, header};
use serde_json::{Value, json};

/// The answer to one call.
pub(crate) type Answer = Result<Value, ApiError>;

/// A refusal: `error_code`, `description` and sometimes `parameters` (Bot API reference, "Making requests").
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct ApiError {
    pub code: u16,
    pub description: String,
    pub parameters: Option<Value>,
}

impl ApiError {
    pub fn new(code: u16, description: impl Into<String>) -> ApiError {
        ApiError { code, description: description.into(), parameters: None }
    }

    pub fn bad_request(reason: impl AsRef<str>) -> ApiError {
        ApiError::new(400, format!("Bad Request: {}", reason.as_ref()))
    }

    pub fn forbidden(reason: &str) -> ApiError {
        ApiError::new(403, format!("Forbidden: {reason}"))
    }

    pub fn conflict(reason: &str) -> ApiError {
        ApiError::new(409, format!("Conflict: {reason}"))
    }

    pub fn too_many_requests(retry_after_s: u64) -> ApiError {
        ApiError {
            parameters: Some(json!({ "retry_after": retry_after_s })),
            ..ApiError::new(429, format!("Too Many Requests: retry after {retry_after_s}"))
        }
    }

    pub fn migrated(to_chat_id: i64) -> ApiError {
        ApiError {
            parameters: Some(json!({ "migrate_to_chat_id": to_chat_id })),
            ..ApiError::bad_request("group chat was upgraded to a supergroup chat")
        }
    }

    /// How a front server answers when what stands behind it is down: the reason phrase of the status.
    pub fn server_error(code: u16) -> ApiError {
        let reason = StatusCode::from_u16(code).ok().and_then(|status| status.canonical_reason());
        ApiError::new(code, reason.unwrap_or("Internal Server Error"))
    }
}

/// A result in a shape that no client knows.
pub(crate) fn unreadable(result: Value) -> Value {
    let mut changed = json!({ "of_a_later_version": true });
    if let Some(message_id) = result.get("message_id") {
        changed["message_id"] = message_id.clone();
    }
    changed
}

/// The same with all that was sent and all that was to come back in it.
pub(crate) fn echo(sent: Value, result: Value) -> Value {
    json!({ "of_a_later_version": [sent, result] })
}

/// The whole body of an answer.
pub(crate) fn body(answer: Answer) -> Value {
    match answer {
        Ok(result) => json!({ "ok": true, "result": result }),
        Err(error) => {
            let mut body = json!({ "ok": false, "error_code": error.code, "description": error.description });
            if let Some(parameters) = error.parameters {
                body["parameters"] = parameters;
            }
            body
        }
    }
}

/// The HTTP response that carries `body`; its status repeats `error_code`.
pub(crate) fn response(body: &Value) -> Response<Body> {
    let code = body["error_code"].as_u64().and_then(|code| u16::try_from(code).ok()).unwrap_or(200);
    let mut response = Response::new(Body::from(body.to_string()));
    *response.status_mut() = StatusCode::from_u16(code).unwrap_or(StatusCode::INTERNAL_SERVER_ERROR);
    response.headers_mut().insert(header::CONTENT_TYPE, header::HeaderValue::from_static("application/json"));
    if let Some(retry_after_s) = body["parameters"]["retry_after"].as_u64() {
        response.headers_mut().insert(header::RETRY_AFTER, retry_after_s.into());
    }
    response
}
