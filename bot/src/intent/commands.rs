//! Commands: one table with who may see each and what it means. `/help` and the menu are made from it.

use super::Intent;
use crate::conversation::{growing, joining};
use crate::wording::key;
use scheduler::people::{Person, Role};

/// One command.
pub struct Command {
    /// As typed after the stroke: letters and digits only.
    pub word: &'static str,
    /// The key of its line in `/help` and in the menu.
    pub key: &'static str,
    pub roles: &'static [Role],
    /// From what follows the word to what it means.
    pub read: fn(&str) -> Intent,
}

const EVERYBODY: &[Role] = &Role::ALL;
const KEEPER: &[Role] = &[Role::Keeper];
const GROWERS: &[Role] = &[Role::Keeper, Role::Grower];
const FAMILY: &[Role] = &[Role::Keeper, Role::Grower, Role::Driver];

/// Every command, in the order of the menu.
pub static COMMANDS: &[Command] = &[
    Command {
        word: "shelves",
        key: key("command-shelves"),
        roles: GROWERS,
        read: |_| Intent::Growing(growing::Ask::Shelves { page: 0 }),
    },
    Command {
        word: "pick",
        key: key("command-pick"),
        roles: GROWERS,
        read: |_| Intent::Growing(growing::Ask::PickWhere),
    },
    Command {
        word: "batch",
        key: key("command-batch"),
        roles: GROWERS,
        read: |_| Intent::Growing(growing::Ask::NewBatch),
    },
    Command {
        word: "people",
        key: key("command-people"),
        roles: KEEPER,
        read: |_| Intent::Joining(joining::Ask::People),
    },
    Command { word: "group", key: key("command-group"), roles: FAMILY, read: |_| Intent::Joining(joining::Ask::Group) },
    Command {
        word: "settings",
        key: key("command-settings"),
        roles: EVERYBODY,
        read: |_| Intent::Joining(joining::Ask::Settings),
    },
    Command { word: "help", key: key("command-help"), roles: EVERYBODY, read: |_| Intent::Joining(joining::Ask::Help) },
];

/// The commands of a role, in menu order.
pub fn of_role(role: Role) -> impl Iterator<Item = &'static Command> {
    COMMANDS.iter().filter(move |command| command.roles.contains(&role))
}

/// What a text that begins with a stroke means; `None` for any other text. A command of another role is read all the
/// same, so that the answer can say that it is not for this role.
pub fn read(text: &str, _person: &Person) -> Option<Intent> {
    let rest = text.trim().strip_prefix('/')?;
    let (word, argument) = rest.split_once(char::is_whitespace).unwrap_or((rest, ""));
    // In groups a command carries the bot's name: "/today@name".
    let word = word.split('@').next().unwrap_or_default().to_lowercase();
    if word == "start" {
        let code = argument.trim();
        let ask = if code.is_empty() { joining::Ask::Help } else { joining::Ask::UseCode(code.to_owned()) };
        return Some(Intent::Joining(ask));
    }
    let command = COMMANDS.iter().find(|command| command.word == word);
    Some(command.map_or(Intent::Joining(joining::Ask::UnknownCommand), |command| (command.read)(argument.trim())))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Bot API reference: commands are 1-32 of a-z, 0-9 and underscore; descriptions are checked with the wording.
    #[test]
    fn commands_keep_the_published_limits() {
        for command in COMMANDS {
            assert!((1..=32).contains(&command.word.len()), "{}", command.word);
            assert!(
                command.word.bytes().all(|byte| byte.is_ascii_lowercase() || byte.is_ascii_digit() || byte == b'_')
            );
        }
        let mut words: Vec<_> = COMMANDS.iter().map(|command| command.word).collect();
        words.sort_unstable();
        words.dedup();
        assert_eq!(words.len(), COMMANDS.len(), "a command is listed twice");
    }
}
