//! Calls: which method does what, and the log of every call with its answer.

use std::time::Duration;

use scheduler::clock::UtcSeconds;
use serde_json::{Value, json};

use crate::answer::{Answer, ApiError};
use crate::commands::{self, ProfileText};
use crate::parameters::Parameters;
use crate::state::State;
use crate::uploads::FileKind;
use crate::{callbacks, chats, messages, webhook};

/// Refusals that tell how things stand, and say nothing of what was sent.
const STATES: [&str; 9] = [
    "chat not found",
    "group chat was upgraded",
    "member list is inaccessible",
    "message can't be edited",
    "message is not modified",
    "message to be replied not found",
    "message to edit not found",
    "query is too old",
    "user not found",
];

/// One call the bot made.
#[derive(Clone, Debug, PartialEq)]
pub struct Call {
    /// Counts from 1 in order of arrival.
    pub number: u64,
    /// As the bot wrote it.
    pub method: String,
    /// Files are shown as name and size.
    pub params: Value,
    /// The whole body; `None` while the call waits, or where a fault kept it from being carried out.
    pub answer: Option<Value>,
    /// By the server's clock, on arrival.
    pub at: UtcSeconds,
    /// False where the connection was cut: the bot never saw the answer.
    pub is_delivered: bool,
}

impl Call {
    /// Carried out without a refusal.
    pub fn is_ok(&self) -> bool {
        self.answer.as_ref().is_some_and(|answer| answer["ok"] == json!(true))
    }

    /// Refused for what the bot wrote, whatever the state of the chat: a text, caption, label, button data, command or file
    /// beyond the limits of the Bot API reference, or markup it cannot read.
    pub fn breaks_a_limit(&self) -> bool {
        let Some(answer) = &self.answer else { return false };
        let why = answer["description"].as_str().unwrap_or_default();
        let why = why.strip_prefix("Bad Request: ").unwrap_or_default();
        answer["error_code"] == json!(400) && !STATES.iter().any(|state| why.starts_with(state))
    }
}

/// When a call is made: by the server's clock, as the time it is and as the time that has passed.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Moment {
    pub now: UtcSeconds,
    pub elapsed: Duration,
}

/// Carries out any method but getUpdates. `method` is in lower case: the API takes any case.
pub(crate) fn carry_out(state: &mut State, method: &str, params: &Parameters, at: Moment) -> Answer {
    keep_pace(state, method, params, at.elapsed)?;
    let now = at.now;
    match method {
        "getme" => chats::get_me(state),
        "logout" | "close" => Ok(json!(true)),
        "sendchataction" => chat_action(state, params),
        "sendmessage" => messages::send_message(state, params, now),
        "sendphoto" => messages::send_file(state, params, now, FileKind::Photo),
        "senddocument" => messages::send_file(state, params, now, FileKind::Document),
        "editmessagetext" => messages::edit_text(state, params, now),
        "editmessagecaption" => messages::edit_caption(state, params, now),
        "editmessagereplymarkup" => messages::edit_markup(state, params, now),
        "deletemessage" => messages::delete(state, params, now),
        "answercallbackquery" => callbacks::answer_callback_query(state, params, now),
        "getfile" => state.files.get_file(params),
        "setwebhook" => webhook::set(state, params),
        "deletewebhook" => webhook::delete(state, params),
        "getwebhookinfo" => webhook::info(state),
        "setmycommands" => commands::set_commands(state, params),
        "getmycommands" => commands::get_commands(state, params),
        "deletemycommands" => commands::delete_commands(state, params),
        "setmyname" => commands::set_text(state, params, ProfileText::Name),
        "getmyname" => commands::get_text(state, params, ProfileText::Name),
        "setmydescription" => commands::set_text(state, params, ProfileText::Description),
        "getmydescription" => commands::get_text(state, params, ProfileText::Description),
        "setmyshortdescription" => commands::set_text(state, params, ProfileText::ShortDescription),
        "getmyshortdescription" => commands::get_text(state, params, ProfileText::ShortDescription),
        "getchat" => chats::get_chat(state, params),
        "getchatmember" => chats::get_chat_member(state, params),
        "leavechat" => chats::leave_chat(state, params, now),
        _ => Err(ApiError::new(404, "Not Found: method not found")),
    }
}

/// What counts as a message: the FAQ speaks of sending; edits are held to the same pace in practice.
fn keep_pace(state: &mut State, method: &str, params: &Parameters, elapsed: Duration) -> Result<(), ApiError> {
    let is_message =
        method.starts_with("editmessage") || matches!(method, "sendmessage" | "sendphoto" | "senddocument");
    if !is_message || state.pace.is_none() {
        return Ok(());
    }
    let Ok(chat_id) = state.open_chat(params) else { return Ok(()) };
    let pace = state.pace.as_mut().expect("it was just looked at");
    pace.send(chat_id, elapsed).map_err(ApiError::too_many_requests)
}

fn chat_action(state: &State, params: &Parameters) -> Answer {
    state.open_chat(params)?;
    match params.text("action").is_some_and(|action| !action.is_empty()) {
        true => Ok(json!(true)),
        false => Err(ApiError::bad_request("wrong parameter action in request")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn refused(code: u16, description: &str) -> Call {
        let answer = json!({ "ok": false, "error_code": code, "description": description });
        let (method, params) = ("sendMessage".to_owned(), json!({}));
        Call { number: 1, method, params, answer: Some(answer), at: UtcSeconds::new(0), is_delivered: true }
    }

    /// Descriptions as the Bot API writes them.
    #[test]
    fn a_broken_limit_is_told_from_the_state_of_a_chat() {
        for (code, description, expected) in [
            (400, "Bad Request: message is too long", true),
            (400, "Bad Request: message caption is too long", true),
            (400, "Bad Request: message text is empty", true),
            (400, "Bad Request: BUTTON_DATA_INVALID", true),
            (400, "Bad Request: BOT_COMMAND_INVALID", true),
            (400, "Bad Request: can't parse entities: unclosed start tag", true),
            (400, "Bad Request: message is not modified: specified new message content", false),
            (400, "Bad Request: chat not found", false),
            (403, "Forbidden: bot was blocked by the user", false),
            (429, "Too Many Requests: retry after 5", false),
        ] {
            assert_eq!(refused(code, description).breaks_a_limit(), expected, "{description}");
        }
    }
}
