//! Commands: one table with who may see each and what it means. `/help` and the menu are made from it.

use super::Intent;
use crate::conversation::{crops, giving, growing, joining, ordering, packing, surplus, views};
use crate::wording::key;
use scheduler::people::Role;

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
const BUYER: &[Role] = &[Role::Buyer];
const ROAD: &[Role] = &[Role::Keeper, Role::Driver];
const GIVING: &[Role] = &[Role::Keeper, Role::Driver, Role::Pantry];
const GROWERS: &[Role] = &[Role::Keeper, Role::Grower];
const FAMILY: &[Role] = &[Role::Keeper, Role::Grower, Role::Driver];

/// Every command, in the order of the menu.
pub static COMMANDS: &[Command] = &[
    Command { word: "today", key: key("command-today"), roles: FAMILY, read: |_| Intent::Views(views::Ask::Today) },
    Command { word: "week", key: key("command-week"), roles: FAMILY, read: |_| Intent::Views(views::Ask::Week) },
    Command {
        word: "forecast",
        key: key("command-forecast"),
        roles: FAMILY,
        read: |_| Intent::Views(views::Ask::Coming),
    },
    Command {
        word: "coldroom",
        key: key("command-coldroom"),
        roles: FAMILY,
        read: |_| Intent::Views(views::Ask::ColdRoom { page: 0 }),
    },
    Command {
        word: "record",
        key: key("command-record"),
        roles: FAMILY,
        read: |_| Intent::Views(views::Ask::Record { day: None }),
    },
    Command { word: "went", key: key("command-went"), roles: FAMILY, read: |_| Intent::Views(views::Ask::Went) },
    Command { word: "left", key: key("command-left"), roles: KEEPER, read: |_| Intent::Surplus(surplus::Ask::Left) },
    Command { word: "rules", key: key("command-rules"), roles: KEEPER, read: |_| Intent::Surplus(surplus::Ask::Rules) },
    Command { word: "drops", key: key("command-drops"), roles: GIVING, read: |_| Intent::Giving(giving::Ask::Drops) },
    Command { word: "given", key: key("command-given"), roles: KEEPER, read: |_| Intent::Giving(giving::Ask::Given) },
    Command {
        word: "foodbanks",
        key: key("command-foodbanks"),
        roles: KEEPER,
        read: |_| Intent::Giving(giving::Ask::Banks),
    },
    Command {
        word: "order",
        key: key("command-order"),
        roles: BUYER,
        read: |_| Intent::Ordering(ordering::Ask::Card { day: None }),
    },
    Command {
        word: "standing",
        key: key("command-standing"),
        roles: BUYER,
        read: |_| Intent::Ordering(ordering::Ask::Show(ordering::View::Standing)),
    },
    Command {
        word: "orders",
        key: key("command-orders"),
        roles: BUYER,
        read: |_| Intent::Ordering(ordering::Ask::Show(ordering::View::Coming { page: 0 })),
    },
    Command {
        word: "packing",
        key: key("command-packing"),
        roles: FAMILY,
        read: |_| Intent::Packing(packing::Ask::List),
    },
    Command { word: "run", key: key("command-run"), roles: ROAD, read: |_| Intent::Packing(packing::Ask::Run) },
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
    Command { word: "plan", key: key("command-plan"), roles: GROWERS, read: |_| Intent::Growing(growing::Ask::Plan) },
    Command { word: "crops", key: key("command-crops"), roles: KEEPER, read: |_| Intent::Crops(crops::Ask::List) },
    Command {
        word: "people",
        key: key("command-people"),
        roles: KEEPER,
        read: |_| Intent::Joining(joining::Ask::People),
    },
    Command { word: "group", key: key("command-group"), roles: KEEPER, read: |_| Intent::Joining(joining::Ask::Group) },
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

/// The same as somebody types them.
pub fn typed_by(role: Role) -> Vec<String> {
    of_role(role).map(|command| format!("/{}", command.word)).collect()
}

/// What a text that begins with a stroke means; `None` for any other text. A command of another role is read all the
/// same, so that the answer can say that it is not for this role.
pub fn read(text: &str) -> Option<Intent> {
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
