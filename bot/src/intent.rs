//! What a person wants, typed, made in one place from a command, a button or free text.

pub mod answer;
pub mod commands;
pub mod free_text;
mod guess;
#[cfg(test)]
mod matrix;
mod of_card;
pub mod permission;
mod places;
#[cfg(test)]
mod stale;
pub mod unclear;

use crate::conversation::{crops, giving, growing, joining, ordering, packing, shortfall, surplus, typing, views};
use scheduler::id::Id;
use serde::{Deserialize, Serialize};

/// A typed wish. Buttons store it as JSON, so a variant's name is kept once buttons with it are out.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Intent {
    Joining(joining::Ask),
    Ordering(ordering::Ask),
    Growing(growing::Ask),
    Shortfall(shortfall::Ask),
    Packing(packing::Ask),
    Surplus(surplus::Ask),
    Giving(giving::Ask),
    Views(views::Ask),
    Typing(typing::Ask),
    Crops(crops::Ask),
}

impl Intent {
    /// The names of the task and of the action, as the log says them: nothing of what somebody wrote is in it.
    pub fn name(&self) -> String {
        fn name_of(value: &serde_json::Value) -> Option<(&str, Option<&serde_json::Value>)> {
            match value {
                serde_json::Value::String(name) => Some((name, None)),
                serde_json::Value::Object(fields) => {
                    fields.iter().next().map(|(name, inner)| (name.as_str(), Some(inner)))
                }
                _ => None,
            }
        }
        let value = serde_json::to_value(self).unwrap_or_default();
        let Some((task, inner)) = name_of(&value) else { return String::new() };
        let action = inner.and_then(name_of).map(|(action, _)| action).unwrap_or_default();
        format!("{task} {action}")
    }
}

impl Intent {
    /// What is pressed again when a button of this kind is pressed quickly several times, equal for all of them; `None` for
    /// what must be done once, however often it is pressed.
    pub fn again(&self) -> Option<ordering::Again> {
        match self {
            Intent::Ordering(ask) => ask.again(),
            _ => None,
        }
    }
}

/// What a chat was asked and may answer by typing.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Waiting {
    Joining(joining::Waiting),
    Ordering(ordering::Waiting),
    Growing(growing::Waiting),
    Packing(packing::Waiting),
    Surplus(surplus::Waiting),
    Giving(giving::Waiting),
    Crops(crops::Waiting),
    /// A typed yes or no.
    Confirm(Box<Confirming>),
}

/// A chat's open question as it is stored.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Asked {
    /// Whoever was asked: in a group nobody else may answer.
    pub of: Id,
    pub waiting: Waiting,
}

/// What a typed yes and a typed no mean.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Confirming {
    pub yes: Intent,
    pub no: Intent,
}

/// Where a text was written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Origin {
    /// Every text deserves an answer.
    Private,
    /// People talk to each other here: only what is clearly meant for the bot is answered.
    Group,
}
