//! The bot's commands and what it says of itself, by scope and language.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};
use serde_json::{Value, json};

use crate::answer::{Answer, ApiError};
use crate::parameters::Parameters;
use crate::state::{ChatKind, State};

/// Limits: Bot API reference, "setMyCommands" and "BotCommand".
const COMMANDS_MAX: usize = 100;
const COMMAND_MAX: usize = 32;
const COMMAND_DESCRIPTION_MAX: usize = 256;

/// One entry of the commands menu.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct BotCommand {
    pub command: String,
    pub description: String,
}

/// A text the bot tells of itself.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum ProfileText {
    Name,
    Description,
    ShortDescription,
}

impl ProfileText {
    fn field(self) -> &'static str {
        match self {
            ProfileText::Name => "name",
            ProfileText::Description => "description",
            ProfileText::ShortDescription => "short_description",
        }
    }

    /// Bot API reference, "setMyName", "setMyDescription", "setMyShortDescription".
    fn length_max(self) -> usize {
        match self {
            ProfileText::Name => 64,
            ProfileText::Description => 512,
            ProfileText::ShortDescription => 120,
        }
    }
}

#[derive(Debug, Default)]
pub(crate) struct Profile {
    /// By scope and language; the empty language is everyone else's.
    commands: BTreeMap<(String, String), Vec<BotCommand>>,
    texts: BTreeMap<(ProfileText, String), String>,
}

impl Profile {
    /// The bot's name in a language.
    pub fn name(&self, language: &str) -> &str {
        self.text(ProfileText::Name, language).unwrap_or("Rehearsal")
    }

    fn text(&self, what: ProfileText, language: &str) -> Option<&str> {
        let of = |language: &str| self.texts.get(&(what, language.to_owned())).filter(|text| !text.is_empty());
        of(language).or_else(|| of("")).map(String::as_str)
    }
}

pub(crate) fn set_text(state: &mut State, params: &Parameters, what: ProfileText) -> Answer {
    let text = params.text(what.field()).unwrap_or_default();
    if text.encode_utf16().count() > what.length_max() {
        return Err(ApiError::bad_request(format!("bot {} is too long", what.field().replace('_', " "))));
    }
    state.profile.texts.insert((what, language(params)?), text);
    Ok(json!(true))
}

pub(crate) fn get_text(state: &State, params: &Parameters, what: ProfileText) -> Answer {
    let language = language(params)?;
    let text = match what {
        ProfileText::Name => state.profile.name(&language),
        _ => state.profile.text(what, &language).unwrap_or_default(),
    };
    Ok(json!({ what.field(): text }))
}

pub(crate) fn set_commands(state: &mut State, params: &Parameters) -> Answer {
    let commands: Vec<BotCommand> = params.object("commands")?.unwrap_or_default();
    if commands.len() > COMMANDS_MAX {
        return Err(ApiError::bad_request("BOT_COMMANDS_TOO_MUCH"));
    }
    for entry in &commands {
        let fits = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_';
        if !(1..=COMMAND_MAX).contains(&entry.command.len()) || !entry.command.chars().all(fits) {
            return Err(ApiError::bad_request("BOT_COMMAND_INVALID"));
        }
        if !(1..=COMMAND_DESCRIPTION_MAX).contains(&entry.description.encode_utf16().count()) {
            return Err(ApiError::bad_request("BOT_COMMAND_DESCRIPTION_INVALID"));
        }
    }
    let key = (scope(state, params)?, language(params)?);
    match commands.is_empty() {
        true => state.profile.commands.remove(&key),
        false => state.profile.commands.insert(key, commands),
    };
    Ok(json!(true))
}

pub(crate) fn delete_commands(state: &mut State, params: &Parameters) -> Answer {
    let key = (scope(state, params)?, language(params)?);
    state.profile.commands.remove(&key);
    Ok(json!(true))
}

pub(crate) fn get_commands(state: &State, params: &Parameters) -> Answer {
    let key = (scope(state, params)?, language(params)?);
    Ok(json!(state.profile.commands.get(&key).map_or(&[] as &[BotCommand], Vec::as_slice)))
}

/// The menu a person sees in a chat: the narrowest scope that has one, in the person's language first
/// (Bot API reference, "Determining list of commands").
pub(crate) fn menu(state: &State, chat_id: i64, user_id: i64) -> Vec<BotCommand> {
    let language = state.people.get(&user_id).and_then(|person| person.language_code.as_deref()).unwrap_or_default();
    let language = language.split('-').next().unwrap_or_default();
    let all = match state.chats.get(&chat_id).map(|chat| chat.kind) {
        Some(ChatKind::Private) => "all_private_chats",
        _ => "all_group_chats",
    };
    let scopes = [format!("chat_member {chat_id} {user_id}"), format!("chat {chat_id}"), all.into(), "default".into()];
    let keys = scopes.iter().flat_map(|scope| [language, ""].map(|language| (scope.clone(), language.to_owned())));
    keys.into_iter().find_map(|key| state.profile.commands.get(&key)).cloned().unwrap_or_default()
}

fn language(params: &Parameters) -> Result<String, ApiError> {
    let code = params.text("language_code").unwrap_or_default();
    match code.is_empty() || (code.len() == 2 && code.chars().all(|c| c.is_ascii_lowercase())) {
        true => Ok(code),
        false => Err(ApiError::bad_request("invalid language code specified")),
    }
}

/// The scope as a key: its type, and the chat and user it names.
fn scope(state: &State, params: &Parameters) -> Result<String, ApiError> {
    let scope: Value = params.object("scope")?.unwrap_or_else(|| json!({ "type": "default" }));
    let kind = scope["type"].as_str().unwrap_or_default();
    let number = |field: &str| scope[field].as_i64().or_else(|| scope[field].as_str()?.parse().ok());
    let chat = || number("chat_id").filter(|id| state.chats.contains_key(id));
    let chat = || chat().ok_or_else(|| ApiError::bad_request("chat not found"));
    match kind {
        "default" | "all_private_chats" | "all_group_chats" | "all_chat_administrators" => Ok(kind.to_owned()),
        "chat" | "chat_administrators" => Ok(format!("{kind} {}", chat()?)),
        "chat_member" => {
            let user = number("user_id").filter(|id| state.people.contains_key(id));
            let user = user.ok_or_else(|| ApiError::bad_request("user not found"))?;
            Ok(format!("{kind} {} {user}", chat()?))
        }
        _ => Err(ApiError::bad_request("can't parse BotCommandScope: unsupported type specified")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(commands: Value, expected: Result<(), &str>) {
        let mut state = State::new("larkrise_bot", None);
        let answer = set_commands(&mut state, &Parameters::of(json!({ "commands": commands })));
        assert_eq!(
            answer.map(drop).map_err(|error| error.description),
            expected.map_err(|why| format!("Bad Request: {why}"))
        );
    }

    /// At most 100; 1-32 of a-z, 0-9 and _; 1-256: Bot API reference, "setMyCommands" and "BotCommand".
    #[test]
    fn commands_are_taken_up_to_their_limits() {
        let one =
            |command: &str, description: usize| json!([{ "command": command, "description": "x".repeat(description) }]);
        check(one("order_2", 1), Ok(()));
        check(one(&"a".repeat(32), 256), Ok(()));
        check(one(&"a".repeat(33), 1), Err("BOT_COMMAND_INVALID"));
        check(one("Order", 1), Err("BOT_COMMAND_INVALID"));
        check(one("", 1), Err("BOT_COMMAND_INVALID"));
        check(one("order", 257), Err("BOT_COMMAND_DESCRIPTION_INVALID"));
        check(one("order", 0), Err("BOT_COMMAND_DESCRIPTION_INVALID"));
        let many = |count: usize| json!(vec![json!({ "command": "a", "description": "b" }); count]);
        check(many(100), Ok(()));
        check(many(101), Err("BOT_COMMANDS_TOO_MUCH"));
    }
}
