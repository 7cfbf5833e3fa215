//! A message as it waits in the outbox.

use scheduler::store::outbox::Lane;
use serde::{Deserialize, Serialize};

/// A button as the service carries it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Key {
    pub label: String,
    pub token: String,
}

/// A command of a menu.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct MenuCommand {
    pub command: String,
    pub description: String,
}

/// Where a message with a card goes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Place {
    /// Over the card's message, where the chat has one.
    #[default]
    OverCard,
    /// At the end of the chat, where it is noticed; the card is the new message from then on.
    AtEnd,
}

/// What the sender sends.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Body {
    Message {
        html: String,
        keyboard: Vec<Vec<Key>>,
        card: Option<String>,
        place: Place,
    },
    Photo {
        caption: String,
        name: String,
        #[serde(with = "as_base64")]
        bytes: Vec<u8>,
        keyboard: Vec<Vec<Key>>,
        card: Option<String>,
    },
    Document {
        caption: String,
        name: String,
        #[serde(with = "as_base64")]
        bytes: Vec<u8>,
        keyboard: Vec<Vec<Key>>,
        card: Option<String>,
    },
    /// Takes the buttons off the card's message.
    ClearKeys {
        card: String,
    },
    /// A short note over a pressed button.
    Toast {
        callback_id: String,
        text: String,
    },
    /// Asks the service which of these accounts are in this group.
    WhoIsThere {
        accounts: Vec<i64>,
    },
    /// The command menu of this chat.
    Menu {
        commands: Vec<MenuCommand>,
    },
}

impl Body {
    /// The card that the message is or will be.
    pub fn card(&self) -> Option<&str> {
        match self {
            Body::Message { card, .. } | Body::Photo { card, .. } | Body::Document { card, .. } => card.as_deref(),
            Body::ClearKeys { .. } | Body::Toast { .. } | Body::WhoIsThere { .. } | Body::Menu { .. } => None,
        }
    }

    /// The card that is another one for whoever reads the chat.
    pub fn changed_card(&self) -> Option<&str> {
        match self {
            Body::ClearKeys { card } => Some(card),
            other => other.card(),
        }
    }

    /// Its buttons, row by row.
    pub fn keyboard(&self) -> &[Vec<Key>] {
        match self {
            Body::Message { keyboard, .. } | Body::Photo { keyboard, .. } | Body::Document { keyboard, .. } => keyboard,
            Body::ClearKeys { .. } | Body::Toast { .. } | Body::WhoIsThere { .. } | Body::Menu { .. } => &[],
        }
    }

    /// What it waits behind.
    pub fn lane(&self) -> Lane {
        match self {
            Body::Toast { .. } => Lane::Press,
            Body::Menu { .. } => Lane::Menu,
            _ => Lane::Chat,
        }
    }
}

/// File bytes inside JSON, as base64 text.
mod as_base64 {
    use base64::Engine;
    use base64::engine::general_purpose::STANDARD;
    use serde::{Deserialize, Deserializer, Serializer};

    pub fn serialize<S: Serializer>(bytes: &[u8], to: S) -> Result<S::Ok, S::Error> {
        to.serialize_str(&STANDARD.encode(bytes))
    }

    pub fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<Vec<u8>, D::Error> {
        STANDARD.decode(String::deserialize(from)?).map_err(serde::de::Error::custom)
    }
}
