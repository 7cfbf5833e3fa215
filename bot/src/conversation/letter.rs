//! A message as the conversation writes it, before it is stored for sending.

use crate::intent::Intent;
use crate::outgoing::Place;

/// A button with what it means.
#[derive(Clone, Debug)]
pub struct Button {
    pub label: String,
    pub intent: Intent,
}

impl Button {
    pub fn new(label: impl Into<String>, intent: Intent) -> Button {
        Button { label: label.into(), intent }
    }
}

/// A file that goes with a message.
#[derive(Clone, Debug)]
pub struct File {
    pub name: String,
    pub bytes: Vec<u8>,
    pub kind: FileKind,
}

/// How a file is shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FileKind {
    Photo,
    Document,
}

/// A message: HTML text from the wording, rows of buttons, and the card it lives on.
#[derive(Clone, Debug)]
pub struct Letter {
    pub html: String,
    pub rows: Vec<Vec<Button>>,
    /// A name under which the message is edited later. Without one, a message with buttons gets a name of its own.
    pub card: Option<String>,
    pub file: Option<File>,
    /// Whether a message with a card takes the card's place or goes to the end of the chat.
    pub place: Place,
}

impl Letter {
    /// A message of this HTML text, as the wording's `say` gives it.
    pub fn new(html: impl Into<String>) -> Letter {
        Letter { html: html.into(), rows: Vec::new(), card: None, file: None, place: Place::OverCard }
    }

    /// Adds a row of buttons.
    pub fn row(mut self, buttons: impl IntoIterator<Item = Button>) -> Letter {
        let row: Vec<Button> = buttons.into_iter().collect();
        if !row.is_empty() {
            self.rows.push(row);
        }
        self
    }

    /// Puts the message on a named card: where the chat has that card already, it is edited in place.
    pub fn on_card(mut self, card: impl Into<String>) -> Letter {
        self.card = Some(card.into());
        self
    }

    /// Goes to the end of the chat, where it is noticed, also when its card has a message already.
    pub fn at_end(mut self) -> Letter {
        self.place = Place::AtEnd;
        self
    }

    /// Adds a file.
    pub fn with_file(mut self, file: File) -> Letter {
        self.file = Some(file);
        self
    }
}
