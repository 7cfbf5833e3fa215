//! Presses of buttons: each may be answered once, and not too late.

use std::collections::BTreeMap;

use scheduler::clock::UtcSeconds;
use serde_json::{Value, json};

use crate::answer::{Answer, ApiError};
use crate::parameters::Parameters;
use crate::state::State;

/// How long a press can be answered: the API does not say; common practice, no source.
const ANSWERED_WITHIN_S: i64 = 15 * 60;
/// Bot API reference, "answerCallbackQuery".
const TEXT_UNITS_MAX: usize = 200;

/// What the person who pressed was shown.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Toast {
    pub callback_id: String,
    pub chat_id: i64,
    pub user_id: i64,
    /// Empty: the progress mark only goes away.
    pub text: String,
    /// Shown as a box that must be closed, not as a passing line.
    pub is_alert: bool,
}

#[derive(Clone, Debug)]
struct Press {
    chat_id: i64,
    user_id: i64,
    at: UtcSeconds,
    is_answered: bool,
}

#[derive(Debug, Default)]
pub(crate) struct Callbacks {
    presses: BTreeMap<String, Press>,
    pub toasts: Vec<Toast>,
}

impl Callbacks {
    /// Records a press; returns its id.
    pub fn press(&mut self, chat_id: i64, user_id: i64, at: UtcSeconds) -> String {
        let id = format!("{}", 8_800_000_000_000_000_001_u64 + self.presses.len() as u64);
        self.presses.insert(id.clone(), Press { chat_id, user_id, at, is_answered: false });
        id
    }

    /// Presses not answered yet: their buttons still show progress.
    pub fn unanswered(&self) -> usize {
        self.presses.values().filter(|press| !press.is_answered).count()
    }
}

pub(crate) fn answer_callback_query(state: &mut State, params: &Parameters, now: UtcSeconds) -> Answer {
    let id = params.text("callback_query_id").unwrap_or_default();
    let text = params.text("text").unwrap_or_default();
    if text.encode_utf16().count() > TEXT_UNITS_MAX {
        return Err(ApiError::bad_request("MESSAGE_TOO_LONG"));
    }
    let press = state.callbacks.presses.get_mut(&id);
    let Some(press) = press.filter(|press| !press.is_answered && now.since(press.at) <= ANSWERED_WITHIN_S) else {
        let why = "query is too old and response timeout expired or query ID is invalid";
        return Err(ApiError::bad_request(why));
    };
    press.is_answered = true;
    let toast = Toast {
        chat_id: press.chat_id,
        user_id: press.user_id,
        callback_id: id,
        text,
        is_alert: params.is_set("show_alert"),
    };
    state.callbacks.toasts.push(toast);
    Ok(json!(true))
}

/// The callback_query object of a press (Bot API reference, "CallbackQuery").
pub(crate) fn query_json(id: &str, from: Value, message: Value, data: &str) -> Value {
    let chat_instance = message["chat"]["id"].to_string();
    json!({ "id": id, "from": from, "message": message, "chat_instance": chat_instance, "data": data })
}
