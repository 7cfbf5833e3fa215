//! Keyboards under messages: what a button may carry, and the JSON both ways.

use serde_json::{Map, Value, json};

use crate::answer::ApiError;
use crate::entities::checked_link;
use crate::parameters::Parameters;

/// Most buttons under one message: seen in practice, not documented.
const BUTTONS_MAX: usize = 100;

/// One button under a message.
#[derive(Clone, Debug, PartialEq)]
pub struct Button {
    pub text: String,
    pub action: ButtonAction,
}

/// What pressing a button does.
#[derive(Clone, Debug, PartialEq)]
pub enum ButtonAction {
    /// Sends the bot this callback data (1-64 bytes).
    Callback(String),
    /// Opens this address.
    Url(String),
    /// Another field of the Bot API with its value; kept and given back, never acted on.
    Other(String, Value),
    /// A key of a reply keyboard: pressing types its text.
    Text,
}

pub(crate) type Keyboard = Vec<Vec<Button>>;

/// What `reply_markup` asks for.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum ReplyMarkup {
    /// Buttons under the message; no rows is no keyboard.
    Inline(Keyboard),
    /// Keys in place of the person's keyboard.
    Keys(Keyboard),
    /// `remove_keyboard` or `force_reply`.
    Instruction,
}

/// Reads parameter `reply_markup`.
///
/// # Errors
/// 400 for anything the Bot API refuses in a keyboard.
pub(crate) fn reply_markup(params: &Parameters) -> Result<Option<ReplyMarkup>, ApiError> {
    let Some(markup) = params.object::<Value>("reply_markup")? else { return Ok(None) };
    let Value::Object(markup) = markup else { return Err(ApiError::bad_request("object expected as reply markup")) };
    if let Some(rows) = markup.get("inline_keyboard") {
        let rows = read_rows(rows, "inline_keyboard", inline_button)?;
        if rows.iter().map(Vec::len).sum::<usize>() > BUTTONS_MAX {
            return Err(ApiError::bad_request("reply markup is too long"));
        }
        return Ok(Some(ReplyMarkup::Inline(rows)));
    }
    if let Some(rows) = markup.get("keyboard") {
        return Ok(Some(ReplyMarkup::Keys(read_rows(rows, "keyboard", key)?)));
    }
    Ok((!markup.is_empty()).then_some(ReplyMarkup::Instruction))
}

fn read_rows(rows: &Value, field: &str, read: fn(&Value) -> Result<Button, ApiError>) -> Result<Keyboard, ApiError> {
    let wrong = || ApiError::bad_request(format!("field \"{field}\" of the reply markup must be an array of arrays"));
    let mut keyboard = Vec::new();
    for row in rows.as_array().ok_or_else(wrong)? {
        let row: Vec<Button> = row.as_array().ok_or_else(wrong)?.iter().map(read).collect::<Result<_, _>>()?;
        if !row.is_empty() {
            keyboard.push(row);
        }
    }
    Ok(keyboard)
}

fn key(button: &Value) -> Result<Button, ApiError> {
    let text = button.as_str().or_else(|| button["text"].as_str()).filter(|text| !text.trim().is_empty());
    let text = text.ok_or_else(|| ApiError::bad_request("keyboard button text must be non-empty"))?;
    Ok(Button { text: text.to_owned(), action: ButtonAction::Text })
}

fn inline_button(button: &Value) -> Result<Button, ApiError> {
    let unreadable = |why: &str| ApiError::bad_request(format!("can't parse inline keyboard button: {why}"));
    let Value::Object(fields) = button else {
        return Err(unreadable("InlineKeyboardButton must be an Object"));
    };
    let text = fields.get("text").and_then(Value::as_str).ok_or_else(|| unreadable("Can't find field \"text\""))?;
    if text.trim().is_empty() {
        return Err(unreadable("Field \"text\" must be non-empty"));
    }
    let mut actions =
        fields.iter().filter(|(name, _)| !matches!(name.as_str(), "text" | "icon_custom_emoji_id" | "style"));
    let Some((name, value)) = actions.next() else {
        return Err(unreadable("Text buttons are unallowed in the inline keyboard"));
    };
    if actions.next().is_some() {
        return Err(unreadable("Exactly one of the optional fields must be used"));
    }
    let action = match (name.as_str(), value.as_str()) {
        ("callback_data", Some(data)) if (1..=64).contains(&data.len()) => ButtonAction::Callback(data.to_owned()),
        ("callback_data", _) => return Err(ApiError::bad_request("BUTTON_DATA_INVALID")),
        ("url", Some(url)) => {
            ButtonAction::Url(checked_link(url).ok_or_else(|| ApiError::bad_request("BUTTON_URL_INVALID"))?)
        }
        ("url", None) => return Err(ApiError::bad_request("BUTTON_URL_INVALID")),
        _ => ButtonAction::Other(name.clone(), value.clone()),
    };
    Ok(Button { text: text.to_owned(), action })
}

/// The keyboard as the API shows it in a message.
pub(crate) fn to_json(keyboard: &Keyboard) -> Value {
    let button = |button: &Button| {
        let mut fields = Map::from_iter([("text".to_owned(), json!(button.text))]);
        match &button.action {
            ButtonAction::Callback(data) => fields.insert("callback_data".to_owned(), json!(data)),
            ButtonAction::Url(url) => fields.insert("url".to_owned(), json!(url)),
            ButtonAction::Other(name, value) => fields.insert(name.clone(), value.clone()),
            ButtonAction::Text => None,
        };
        Value::Object(fields)
    };
    let rows: Vec<Vec<Value>> = keyboard.iter().map(|row| row.iter().map(button).collect()).collect();
    json!({ "inline_keyboard": rows })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(markup: Value, expected: Result<usize, &str>) {
        let read = reply_markup(&Parameters::of(json!({ "reply_markup": markup })));
        let counted = read.map(|markup| match markup {
            Some(ReplyMarkup::Inline(rows) | ReplyMarkup::Keys(rows)) => rows.iter().map(Vec::len).sum(),
            _ => 0,
        });
        let expected = expected.map_err(|why| format!("Bad Request: {why}"));
        assert_eq!(counted.map_err(|error| error.description), expected, "{markup}");
    }

    fn one(button: Value) -> Value {
        json!({ "inline_keyboard": [[button]] })
    }

    /// callback_data 1-64 bytes: Bot API reference, "InlineKeyboardButton". 100 buttons: common practice, no source.
    #[test]
    fn buttons_are_taken_up_to_their_limits() {
        check(one(json!({ "text": "a", "callback_data": "x" })), Ok(1));
        check(one(json!({ "text": "a", "callback_data": "x".repeat(64) })), Ok(1));
        check(one(json!({ "text": "a", "callback_data": "x".repeat(65) })), Err("BUTTON_DATA_INVALID"));
        check(one(json!({ "text": "a", "callback_data": "é".repeat(33) })), Err("BUTTON_DATA_INVALID"));
        check(one(json!({ "text": "a", "callback_data": "" })), Err("BUTTON_DATA_INVALID"));
        check(one(json!({ "text": "a", "url": "https://example.org" })), Ok(1));
        check(one(json!({ "text": "a", "url": "not a link" })), Err("BUTTON_URL_INVALID"));
        let none = "can't parse inline keyboard button: Text buttons are unallowed in the inline keyboard";
        check(one(json!({ "text": "a" })), Err(none));
        let row = |count: usize| vec![json!({ "text": "a", "callback_data": "x" }); count];
        check(json!({ "inline_keyboard": [row(60), row(40)] }), Ok(100));
        check(json!({ "inline_keyboard": [row(60), row(41)] }), Err("reply markup is too long"));
    }

    #[test]
    fn markup_may_come_as_text() {
        check(json!(one(json!({ "text": "a", "callback_data": "x" })).to_string()), Ok(1));
        check(json!({ "keyboard": [["a", { "text": "b" }]] }), Ok(2));
        check(json!({ "remove_keyboard": true }), Ok(0));
        check(json!([1]), Err("object expected as reply markup"));
    }
}
