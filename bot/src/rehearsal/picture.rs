//! The page's data as JSON: messages with their entities and buttons, and the lines of the dispatch book.

use bot_api_local::{Button, ButtonAction, Call, ChatMessage, FormattedText};
use scheduler::people::Role;
use serde_json::{Value, json};

/// Longest text of a line in the dispatch book, characters.
const LINE_CHARS_MAX: usize = 90;

/// A message as the browser draws it.
pub(super) fn message(chat_id: i64, message: &ChatMessage) -> Value {
    if message.is_deleted {
        return json!({ "id": message.message_id, "gone": true });
    }
    let file = message.file.as_ref().map(|file| {
        json!({
            "name": file.file_name,
            "photo": file.is_photo,
            "bytes": file.bytes.len(),
            "at": format!("/file/{chat_id}/{}", message.message_id),
        })
    });
    json!({
        "id": message.message_id,
        "from": message.from_user,
        "text": message.text,
        "entities": message.entities,
        "buttons": rows(&message.keyboard),
        "keys": rows(&message.keys),
        "file": file,
        "reply_to": message.reply_to,
        "at": message.date,
        "edited": message.is_edited,
    })
}

fn rows(keyboard: &[Vec<Button>]) -> Vec<Vec<Value>> {
    let button = |button: &Button| match &button.action {
        ButtonAction::Url(url) => json!({ "label": button.text, "url": url }),
        ButtonAction::Other(..) => json!({ "label": button.text, "inert": true }),
        ButtonAction::Callback(_) | ButtonAction::Text => json!({ "label": button.text }),
    };
    keyboard.iter().map(|row| row.iter().map(button).collect()).collect()
}

/// A call as a line of the dispatch book; `None` for a call that puts nothing before people.
pub(super) fn dispatch(call: &Call) -> Option<Value> {
    let method = call.method.to_ascii_lowercase();
    let what = match method.as_str() {
        "sendmessage" => "sent",
        "sendphoto" => "photo",
        "senddocument" => "document",
        "editmessagetext" | "editmessagecaption" => "edited",
        _ => return None,
    };
    let outcome = match &call.answer {
        Some(answer) if call.is_ok() && call.is_delivered => {
            json!({ "ok": true, "message": answer["result"]["message_id"] })
        }
        Some(_) if call.is_ok() => json!({ "ok": false, "lost": true }),
        Some(answer) => json!({ "ok": false, "why": answer["description"] }),
        None => json!({ "ok": false, "lost": true }),
    };
    let shown = call.answer.as_ref().map(|answer| &answer["result"]);
    let text = shown.and_then(|result| result["text"].as_str().or(result["caption"].as_str()));
    let unsent = || call.params["text"].as_str().or(call.params["caption"].as_str()).map(without_markup);
    let text = text.map(str::to_owned).or_else(unsent).unwrap_or_default();
    let chat = call.params["chat_id"].as_i64().or_else(|| call.params["chat_id"].as_str()?.parse().ok());
    Some(json!({
        "number": call.number,
        "at": call.at,
        "chat": chat,
        "what": what,
        "text": first_line(&text),
        "outcome": outcome,
    }))
}

/// What was to be sent, as people would have read it.
fn without_markup(html: &str) -> String {
    FormattedText::of_html(html).map_or_else(|_| html.to_owned(), |read| read.text)
}

fn first_line(text: &str) -> String {
    let line = text.lines().next().unwrap_or_default();
    match line.char_indices().nth(LINE_CHARS_MAX) {
        Some((end, _)) => format!("{}…", &line[..end]),
        None => line.to_owned(),
    }
}

/// A role as the page's words name it.
pub(super) fn role(role: Role) -> &'static str {
    match role {
        Role::Keeper => "keeper",
        Role::Grower => "grower",
        Role::Driver => "driver",
        Role::Buyer => "buyer",
        Role::Pantry => "pantry",
    }
}
