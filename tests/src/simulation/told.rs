//! What the outbox says was said, set beside what the service saw.

use super::service::Act;
use pinset::outgoing::Body;
use scheduler::store::outbox::Kept;
use std::collections::BTreeMap;

/// A stored message in the form the service notes; `None` for what leaves nothing to read.
pub fn content_of(body: &str) -> Option<String> {
    match serde_json::from_str(body).expect("the outbox holds the sender's own form") {
        Body::Message { html, .. } => Some(format!("message {html}")),
        Body::Photo { caption, name, .. } | Body::Document { caption, name, .. } => {
            Some(format!("file {name} {caption}"))
        }
        Body::Toast { callback_id, .. } => Some(format!("toast {callback_id}")),
        Body::ClearKeys { .. } | Body::Menu { .. } | Body::WhoIsThere { .. } => None,
    }
}

/// How often each content was recorded as sent in each chat.
pub fn sent(rows: &[Kept]) -> BTreeMap<(i64, String), usize> {
    let mut sent = BTreeMap::new();
    for row in rows.iter().filter(|row| row.sent_at.is_some()) {
        if let Some(content) = content_of(&row.body) {
            *sent.entry((row.chat_id, content)).or_default() += 1;
        }
    }
    sent
}

/// What is wrong when every message has gone: each one recorded as sent was seen once and in order, and nothing else but
/// those whose answer was lost. Answers to presses wait for nothing, so they have no order among the rest.
pub fn compare(rows: &[Kept], acts: &[Act], moved: &BTreeMap<i64, i64>) -> Vec<String> {
    let now_called = |chat_id: i64| moved.get(&chat_id).copied().unwrap_or(chat_id);
    let sorted = |mut contents: Vec<String>| {
        contents.sort_by_key(|content| if content.starts_with("toast ") { content.clone() } else { String::new() });
        contents
    };
    let mut wrong = Vec::new();
    let mut recorded: BTreeMap<i64, Vec<String>> = BTreeMap::new();
    for row in rows.iter().filter(|row| row.sent_at.is_some()) {
        recorded.entry(now_called(row.chat_id)).or_default().extend(content_of(&row.body));
    }
    let mut seen: BTreeMap<i64, Vec<String>> = BTreeMap::new();
    for act in acts.iter().filter(|act| !act.is_lost) {
        seen.entry(now_called(act.chat_id)).or_default().push(act.content.clone());
    }
    for chat_id in recorded.keys().chain(seen.keys()) {
        let of = |said: &BTreeMap<i64, Vec<String>>| said.get(chat_id).cloned().unwrap_or_default();
        let (recorded, seen) = (sorted(of(&recorded)), sorted(of(&seen)));
        if recorded == seen {
            continue;
        }
        let place = recorded.iter().zip(&seen).take_while(|(one, other)| one == other).count();
        wrong.push(format!(
            "chat {chat_id}: {} messages are recorded as sent, {} were seen; they part at {:?} and {:?}; lost in flight {:?}",
            recorded.len(),
            seen.len(),
            recorded.get(place),
            seen.get(place),
            acts.iter().filter(|act| act.is_lost && now_called(act.chat_id) == *chat_id).collect::<Vec<_>>()
        ));
        break;
    }
    wrong
}
