//! Sending, editing and deleting messages, within the Bot API's limits.

use scheduler::clock::UtcSeconds;
use serde_json::{Value, json};

use crate::answer::{Answer, ApiError};
use crate::entities::{FormattedText, formatted};
use crate::keyboards::{Keyboard, ReplyMarkup, reply_markup};
use crate::parameters::Parameters;
use crate::state::{ChatKind, Content, Message, State};
use crate::uploads::FileKind;

/// UTF-16 code units after entities parsing: Bot API reference, "sendMessage" (which does not name the unit).
const TEXT_UNITS_MAX: usize = 4096;
/// Bot API reference, "sendPhoto", "sendDocument", "editMessageCaption".
const CAPTION_UNITS_MAX: usize = 1024;
/// Bot API reference, "deleteMessage".
const DELETED_WITHIN_S: i64 = 48 * 3600;

pub(crate) fn send_message(state: &mut State, params: &Parameters, now: UtcSeconds) -> Answer {
    let text = text(params, "message is too long")?;
    send(state, params, now, |_| Ok(Content::Text(text)))
}

pub(crate) fn send_file(state: &mut State, params: &Parameters, now: UtcSeconds, kind: FileKind) -> Answer {
    let caption = caption(params)?;
    send(state, params, now, |state| Ok(Content::File { kind, file_id: state.files.take(params, kind)?, caption }))
}

fn text(params: &Parameters, too_long: &str) -> Result<FormattedText, ApiError> {
    let text = formatted(params, "text", "entities")?;
    match text.units() {
        0 => Err(ApiError::bad_request("message text is empty")),
        units if units > TEXT_UNITS_MAX => Err(ApiError::bad_request(too_long)),
        _ => Ok(text),
    }
}

fn caption(params: &Parameters) -> Result<FormattedText, ApiError> {
    let caption = formatted(params, "caption", "caption_entities")?;
    match caption.units() > CAPTION_UNITS_MAX {
        true => Err(ApiError::bad_request("message caption is too long")),
        false => Ok(caption),
    }
}

fn send(
    state: &mut State,
    params: &Parameters,
    now: UtcSeconds,
    content: impl FnOnce(&mut State) -> Result<Content, ApiError>,
) -> Answer {
    let markup = reply_markup(params)?;
    let chat_id = state.open_chat(params)?;
    let reply_to = replied(state, params, chat_id)?;
    let mut message = Message::new(None, content(state)?, now);
    message.reply_to = reply_to;
    match markup {
        Some(ReplyMarkup::Inline(rows)) => message.keyboard = rows,
        Some(ReplyMarkup::Keys(rows)) => message.keys = rows,
        Some(ReplyMarkup::Instruction) | None => {}
    }
    let message = state.chat_mut(chat_id).add(message).clone();
    Ok(state.message_json(chat_id, &message))
}

/// The message this one answers, by `reply_parameters` or the older `reply_to_message_id`.
fn replied(state: &State, params: &Parameters, chat_id: i64) -> Result<Option<i64>, ApiError> {
    let reply: Value = params.object("reply_parameters")?.unwrap_or_default();
    let Some(id) = reply["message_id"].as_i64().or(params.number("reply_to_message_id")?) else { return Ok(None) };
    let may_be_gone =
        reply["allow_sending_without_reply"] == json!(true) || params.is_set("allow_sending_without_reply");
    match state.chat(chat_id).message(id) {
        Some(_) => Ok(Some(id)),
        None if may_be_gone => Ok(None),
        None => Err(ApiError::bad_request("message to be replied not found")),
    }
}

pub(crate) fn edit_text(state: &mut State, params: &Parameters, now: UtcSeconds) -> Answer {
    let text = text(params, "MESSAGE_TOO_LONG")?;
    edit(state, params, now, |content| match content {
        Content::Text(_) => Ok(Content::Text(text)),
        _ => Err(ApiError::bad_request("there is no text in the message to edit")),
    })
}

pub(crate) fn edit_caption(state: &mut State, params: &Parameters, now: UtcSeconds) -> Answer {
    let caption = caption(params)?;
    edit(state, params, now, |content| match content.clone() {
        Content::File { kind, file_id, .. } => Ok(Content::File { kind, file_id, caption }),
        _ => Err(ApiError::bad_request("there is no caption in the message to edit")),
    })
}

pub(crate) fn edit_markup(state: &mut State, params: &Parameters, now: UtcSeconds) -> Answer {
    edit(state, params, now, |content| Ok(content.clone()))
}

fn edit(
    state: &mut State,
    params: &Parameters,
    now: UtcSeconds,
    change: impl FnOnce(&Content) -> Result<Content, ApiError>,
) -> Answer {
    // A keyboard that is not sent again goes away.
    let keyboard = match reply_markup(params)? {
        Some(ReplyMarkup::Inline(rows)) => rows,
        None => Keyboard::new(),
        Some(_) => return Err(ApiError::bad_request("inline keyboard expected")),
    };
    let chat_id = state.open_chat(params)?;
    let id = message_id(params)?;
    let message = state.chat_mut(chat_id).message_mut(id);
    let message = message.ok_or_else(|| ApiError::bad_request("message to edit not found"))?;
    if message.from.is_some() || matches!(message.content, Content::Service(..)) {
        return Err(ApiError::bad_request("message can't be edited"));
    }
    let content = change(&message.content)?;
    if content == message.content && keyboard == message.keyboard {
        let why = "specified new message content and reply markup are exactly the same as a current content and reply \
                   markup of the message";
        return Err(ApiError::bad_request(format!("message is not modified: {why}")));
    }
    message.content = content;
    message.keyboard = keyboard;
    message.edited_at = Some(now);
    let message = message.clone();
    Ok(state.message_json(chat_id, &message))
}

fn message_id(params: &Parameters) -> Result<i64, ApiError> {
    params.number("message_id")?.ok_or_else(|| ApiError::bad_request("message identifier is not specified"))
}

pub(crate) fn delete(state: &mut State, params: &Parameters, now: UtcSeconds) -> Answer {
    let chat_id = state.open_chat(params)?;
    let id = message_id(params)?;
    let is_private = state.chat(chat_id).kind == ChatKind::Private;
    let message = state.chat_mut(chat_id).message_mut(id);
    let message = message.ok_or_else(|| ApiError::bad_request("message to delete not found"))?;
    // In a group the bot is a plain member here: it may delete only its own.
    let may = message.from.is_none() || is_private;
    if !may || now.since(message.date) > DELETED_WITHIN_S {
        return Err(ApiError::bad_request("message can't be deleted"));
    }
    message.is_deleted = true;
    Ok(json!(true))
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test stops where a step fails")]
mod tests {
    use super::*;
    use crate::state::{Chat, PersonCard, Standing};

    const NOW: UtcSeconds = UtcSeconds::new(1_800_000_000);
    const MARA: i64 = 501;

    fn state() -> State {
        let mut state = State::new("larkrise_bot", None);
        state.people.insert(MARA, PersonCard { first_name: "Mara".to_owned(), language_code: None });
        state.chats.insert(MARA, Chat::new(MARA, ChatKind::Private, Standing::Member));
        state
    }

    fn in_chat(mut values: Value) -> Parameters {
        values["chat_id"] = json!(MARA);
        Parameters::of(values)
    }

    fn check(answer: Answer, expected: Result<(), &str>) {
        let answer = answer.map(drop).map_err(|error| error.description);
        assert_eq!(answer, expected.map_err(|why| format!("Bad Request: {why}")));
    }

    /// 1-4096 after entities parsing: Bot API reference, "sendMessage".
    #[test]
    fn texts_are_taken_up_to_their_limits() {
        for (text, mode, expected) in [
            ("x".repeat(4096), "", Ok(())),
            ("x".repeat(4097), "", Err("message is too long")),
            ("😀".repeat(2048), "", Ok(())),
            ("😀".repeat(2048) + "x", "", Err("message is too long")),
            (format!("<b>{}</b>", "&lt;".repeat(4096)), "HTML", Ok(())),
            (String::new(), "", Err("message text is empty")),
            (" \n ".to_owned(), "", Err("message text is empty")),
            ("<b></b>".to_owned(), "HTML", Err("message text is empty")),
            ("*x*".to_owned(), "MarkdownV2", Err("unsupported parse_mode")),
            (
                "<h1>x</h1>".to_owned(),
                "HTML",
                Err("can't parse entities: Unsupported start tag \"h1\" at byte offset 0"),
            ),
        ] {
            let params = in_chat(json!({ "text": text, "parse_mode": mode }));
            check(send_message(&mut state(), &params, NOW), expected);
        }
    }

    /// 0-1024 after entities parsing: Bot API reference, "sendDocument".
    #[test]
    fn captions_are_taken_up_to_their_limit() {
        for (length, expected) in [(0, Ok(())), (1024, Ok(())), (1025, Err("message caption is too long"))] {
            let params = in_chat(json!({ "caption": "x".repeat(length) })).with_upload("document", "a", vec![1]);
            check(send_file(&mut state(), &params, NOW, FileKind::Document), expected);
        }
    }

    #[test]
    fn edits_that_change_nothing_are_refused() {
        let mut state = state();
        let keyboard = json!({ "inline_keyboard": [[{ "text": "a", "callback_data": "x" }]] });
        send_message(&mut state, &in_chat(json!({ "text": "one", "reply_markup": keyboard })), NOW).unwrap();
        let same = in_chat(json!({ "text": "one", "reply_markup": keyboard, "message_id": 1 }));
        let refusal = edit_text(&mut state, &same, NOW).unwrap_err();
        assert_eq!(
            refusal.description,
            "Bad Request: message is not modified: specified new message content and reply markup are exactly the same \
             as a current content and reply markup of the message"
        );
        let without = in_chat(json!({ "text": "one", "message_id": 1 }));
        let edited = edit_text(&mut state, &without, NOW).unwrap();
        assert_eq!(edited["reply_markup"], Value::Null, "a keyboard not sent again goes away");
        let unknown = in_chat(json!({ "text": "two", "message_id": 2 }));
        check(edit_text(&mut state, &unknown, NOW), Err("message to edit not found"));
        check(edit_caption(&mut state, &without, NOW), Err("there is no caption in the message to edit"));
    }

    /// 48 hours: Bot API reference, "deleteMessage".
    #[test]
    fn old_messages_stay() {
        for (age_s, expected) in [(DELETED_WITHIN_S, Ok(())), (DELETED_WITHIN_S + 1, Err("message can't be deleted"))] {
            let mut state = state();
            send_message(&mut state, &in_chat(json!({ "text": "one" })), NOW).unwrap();
            let params = in_chat(json!({ "message_id": 1 }));
            check(delete(&mut state, &params, NOW.plus_seconds(age_s)), expected);
        }
    }
}
