//! From the service's update to what the conversation works on.

use super::wire::{ChatMemberUpdated, Content, Message, Update, User};
use crate::engine::Arrival;
use crate::incoming::{Account, Incoming, What};
use crate::watch::Watch;

/// The update as it is taken; `None` where it has no number and can neither be marked nor confirmed. What cannot be read is
/// counted.
pub fn arrival(update: &Update, watch: &Watch) -> Option<Arrival> {
    if update.number.is_none() || matches!(update.content, Content::Unreadable) {
        watch.update_ended("unreadable");
        tracing::warn!(update_id = update.number, "an update cannot be read; it is passed over");
    }
    Some(Arrival { update_id: update.number?, incoming: read(update) })
}

/// What an update means here; `None` when it means nothing.
pub fn read(update: &Update) -> Option<Incoming> {
    let update_id = update.number?;
    match &update.content {
        Content::Message(message) => read_message(update_id, message),
        Content::CallbackQuery(query) => {
            let chat_id = query.message.as_ref()?.chat.id;
            let what = What::Pressed { callback_id: query.id.clone(), token: query.data.clone()? };
            Some(Incoming { update_id, chat_id, account: account(&query.from)?, what })
        }
        Content::MyChatMember(change) => read_membership(update_id, change),
        Content::ChatMember(change) => read_other_membership(update_id, change),
        Content::Other | Content::Unreadable => None,
    }
}

fn read_message(update_id: i64, message: &Message) -> Option<Incoming> {
    let chat_id = message.chat.id;
    if let Some(to) = message.migrate_to_chat_id {
        let account = Account { chat_id, first_name: String::new(), language_code: None };
        return Some(Incoming { update_id, chat_id, account, what: What::GroupMoved { to } });
    }
    let account = account(message.from.as_ref()?)?;
    if message.chat.is_channel() {
        return None;
    }
    if let Some(gone) = &message.left_chat_member {
        let what = What::MemberLeft { account: self::account(gone)?.chat_id };
        return Some(Incoming { update_id, chat_id, account, what });
    }
    // A photo, a voice note or a sticker has no text; in a private chat it still deserves an answer.
    let text = message.text.as_ref().or(message.caption.as_ref()).cloned().unwrap_or_default();
    if text.is_empty() && !message.chat.is_private() {
        return None;
    }
    Some(Incoming { update_id, chat_id, account, what: What::Said(text) })
}

fn read_membership(update_id: i64, change: &ChatMemberUpdated) -> Option<Incoming> {
    let what = match (change.new_chat_member.is_present(), change.chat.is_private()) {
        (true, true) => What::Reachable,
        (true, false) => return None,
        (false, true) => What::Unreachable,
        (false, false) => What::LeftGroup,
    };
    Some(Incoming { update_id, chat_id: change.chat.id, account: account(&change.from)?, what })
}

/// Sent where the bot is an administrator of the group; elsewhere the group's own message says it.
fn read_other_membership(update_id: i64, change: &ChatMemberUpdated) -> Option<Incoming> {
    if change.new_chat_member.is_present() || change.chat.is_private() {
        return None;
    }
    let what = What::MemberLeft { account: account(&change.new_chat_member.user)?.chat_id };
    Some(Incoming { update_id, chat_id: change.chat.id, account: account(&change.from)?, what })
}

fn account(user: &User) -> Option<Account> {
    if user.is_bot {
        return None;
    }
    Some(Account { chat_id: user.id, first_name: user.first_name.clone(), language_code: user.language_code.clone() })
}

#[cfg(test)]
mod tests {
    use super::super::wire;
    use super::*;
    use serde_json::json;

    /// Message and edited message as in the Bot API reference, "Update": the second is the first once more.
    #[test]
    fn an_edited_message_is_not_said_again() {
        let message = json!({
            "message_id": 7, "date": 1_780_318_800, "edit_date": 1_780_318_860, "text": "picked 4 lb shiitake",
            "chat": {"id": 1002, "type": "private", "first_name": "Chidi"},
            "from": {"id": 1002, "is_bot": false, "first_name": "Chidi"},
        });
        let read_as = |kind: &str| {
            let update = json!({"update_id": 1, kind: message.clone()});
            read(&wire::read(&update.to_string()))
        };
        assert!(read_as("message").is_some());
        assert!(read_as("edited_message").is_none());
    }
}
