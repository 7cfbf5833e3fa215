//! What the bot may ask and do about chats themselves.

use scheduler::clock::UtcSeconds;
use serde_json::{Value, json};

use crate::answer::{Answer, ApiError};
use crate::parameters::Parameters;
use crate::state::{BOT_ID, ChatKind, Standing, State};

pub(crate) fn get_me(state: &State) -> Answer {
    let mut me = state.bot_json();
    for (field, value) in [
        ("can_join_groups", true),
        ("can_read_all_group_messages", true),
        ("supports_inline_queries", false),
        ("can_connect_to_business", false),
        ("has_main_web_app", false),
    ] {
        me[field] = json!(value);
    }
    Ok(me)
}

pub(crate) fn get_chat(state: &State, params: &Parameters) -> Answer {
    let id = state.chat_named(params)?;
    let mut chat = state.chat_json(id);
    chat["accent_color_id"] = json!(0);
    chat["max_reaction_count"] = json!(11);
    let kinds = ["unlimited_gifts", "limited_gifts", "unique_gifts", "premium_subscription", "gifts_from_channels"];
    chat["accepted_gift_types"] = kinds.iter().map(|kind| ((*kind).to_owned(), json!(false))).collect();
    Ok(chat)
}

pub(crate) fn get_chat_member(state: &State, params: &Parameters) -> Answer {
    let chat_id = state.chat_named(params)?;
    let user_id = params.number("user_id")?.unwrap_or_default();
    let chat = state.chat(chat_id);
    if user_id == BOT_ID {
        return Ok(member_json(state.bot_json(), status(chat.standing)));
    }
    if !state.people.contains_key(&user_id) {
        return Err(ApiError::bad_request("user not found"));
    }
    let is_member = chat.members.contains(&user_id) || chat.id == user_id;
    Ok(member_json(state.person_json(user_id), if is_member { "member" } else { "left" }))
}

pub(crate) fn leave_chat(state: &mut State, params: &Parameters, now: UtcSeconds) -> Answer {
    let chat_id = state.open_chat(params)?;
    if state.chat(chat_id).kind == ChatKind::Private {
        return Err(ApiError::bad_request("chat member status can't be changed in private chats"));
    }
    state.set_standing(chat_id, Standing::Left, BOT_ID, now);
    Ok(json!(true))
}

fn status(standing: Standing) -> &'static str {
    match standing {
        Standing::Member => "member",
        Standing::Kicked => "kicked",
        Standing::Left | Standing::NotStarted => "left",
    }
}

fn member_json(user: Value, status: &str) -> Value {
    let mut member = json!({ "user": user, "status": status });
    if status == "kicked" {
        member["until_date"] = json!(0);
    }
    member
}

impl State {
    /// Changes how the bot stands in a chat and queues the update of it; gives its id, if the bot wants such updates.
    pub(crate) fn set_standing(&mut self, chat_id: i64, new: Standing, by: i64, now: UtcSeconds) -> Option<i64> {
        let old = std::mem::replace(&mut self.chat_mut(chat_id).standing, new);
        let change = json!({
            "chat": self.chat_json(chat_id),
            "from": self.person_json(by),
            "date": now,
            "old_chat_member": member_json(self.bot_json(), status(old)),
            "new_chat_member": member_json(self.bot_json(), status(new)),
        });
        self.updates.push("my_chat_member", change, now)
    }

    /// Queues the update of a member who has left.
    pub(super) fn member_left(&mut self, chat_id: i64, user_id: i64, now: UtcSeconds) {
        let change = json!({
            "chat": self.chat_json(chat_id),
            "from": self.person_json(user_id),
            "date": now,
            "old_chat_member": member_json(self.person_json(user_id), "member"),
            "new_chat_member": member_json(self.person_json(user_id), "left"),
        });
        self.updates.push("chat_member", change, now);
    }
}
