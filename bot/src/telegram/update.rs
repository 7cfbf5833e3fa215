//! From the service's update to what the conversation works on.

use crate::incoming::{Account, Incoming, What};
use teloxide::types::{ChatMemberUpdated, Message, Update, UpdateKind, User};

/// What an update means here; `None` when it means nothing.
pub fn read(update: &Update) -> Option<Incoming> {
    let update_id = i64::from(update.id.0);
    match &update.kind {
        UpdateKind::Message(message) => read_message(update_id, message),
        UpdateKind::CallbackQuery(query) => {
            let message = query.message.as_ref()?;
            let what = What::Pressed { callback_id: query.id.0.clone(), token: query.data.clone()? };
            Some(Incoming { update_id, chat_id: message.chat().id.0, account: account(&query.from)?, what })
        }
        UpdateKind::MyChatMember(change) => read_membership(update_id, change),
        UpdateKind::ChatMember(change) => read_other_membership(update_id, change),
        _ => None,
    }
}

fn read_message(update_id: i64, message: &Message) -> Option<Incoming> {
    let chat_id = message.chat.id.0;
    if let Some(to) = message.migrate_to_chat_id() {
        let account = Account { chat_id, first_name: String::new(), language_code: None };
        return Some(Incoming { update_id, chat_id, account, what: What::GroupMoved { to: to.0 } });
    }
    let account = account(message.from.as_ref()?)?;
    if message.chat.is_channel() {
        return None;
    }
    if let Some(gone) = message.left_chat_member() {
        let what = What::MemberLeft { account: self::account(gone)?.chat_id };
        return Some(Incoming { update_id, chat_id, account, what });
    }
    // A photo, a voice note or a sticker has no text; in a private chat it still deserves an answer.
    let text = message.text().or(message.caption()).unwrap_or_default();
    if text.is_empty() && !message.chat.is_private() {
        return None;
    }
    Some(Incoming { update_id, chat_id, account, what: What::Said(text.to_owned()) })
}

fn read_membership(update_id: i64, change: &ChatMemberUpdated) -> Option<Incoming> {
    let what = match (change.new_chat_member.is_present(), change.chat.is_private()) {
        (true, true) => What::Reachable,
        (true, false) => return None,
        (false, true) => What::Unreachable,
        (false, false) => What::LeftGroup,
    };
    Some(Incoming { update_id, chat_id: change.chat.id.0, account: account(&change.from)?, what })
}

/// Sent where the bot is an administrator of the group; elsewhere the group's own message says it.
fn read_other_membership(update_id: i64, change: &ChatMemberUpdated) -> Option<Incoming> {
    if change.new_chat_member.is_present() || change.chat.is_private() {
        return None;
    }
    let what = What::MemberLeft { account: account(&change.new_chat_member.user)?.chat_id };
    Some(Incoming { update_id, chat_id: change.chat.id.0, account: account(&change.from)?, what })
}

fn account(user: &User) -> Option<Account> {
    if user.is_bot {
        return None;
    }
    Some(Account {
        chat_id: i64::try_from(user.id.0).ok()?,
        first_name: user.first_name.clone(),
        language_code: user.language_code.clone(),
    })
}

#[cfg(test)]
mod tests {
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
            read(&serde_json::from_str::<Update>(&update.to_string()).expect("an update"))
        };
        assert!(read_as("message").is_some());
        assert!(read_as("edited_message").is_none());
    }
}
