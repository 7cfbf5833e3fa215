//! A message as the conversation writes it, before it is stored for sending.

use crate::intent::Intent;
use crate::outgoing::Place;
use scheduler::clock::UtcSeconds;

/// UTF-16 code units of one message (Bot API, sendMessage: 4096 after entities parsing; markup is counted here too, which
/// errs on the short side).
const UNITS_MAX: usize = 4096;
/// Buttons under one message: seen in practice, not documented.
const BUTTONS_MAX: usize = 100;

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

/// How long a notice nobody asked for may wait for the end of its reader's quiet hours.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Patience {
    /// As long as they last.
    #[default]
    Waits,
    /// As long as enough time is left before this instant, from which on it is not worth sending.
    Until(UtcSeconds),
    /// Not at all.
    Cannot,
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
    pub patience: Patience,
    /// From then on it is not worth sending, also when it waits because the service cannot be reached.
    pub useful_until: Option<UtcSeconds>,
}

impl Letter {
    /// A message of this HTML text, as the wording's `say` gives it.
    pub fn new(html: impl Into<String>) -> Letter {
        Letter {
            html: html.into(),
            rows: Vec::new(),
            card: None,
            file: None,
            place: Place::OverCard,
            patience: Patience::Waits,
            useful_until: None,
        }
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

    /// Says how long it may wait for the end of quiet hours.
    pub fn patient(mut self, patience: Patience) -> Letter {
        self.patience = patience;
        if let Patience::Until(end) = patience {
            self.useful_until = Some(end);
        }
        self
    }

    /// Says from when on it is not worth sending; `None` is never.
    pub fn useful_until(mut self, end: impl Into<Option<UtcSeconds>>) -> Letter {
        self.useful_until = end.into();
        self
    }

    /// Whether nothing hangs on it: no buttons, no card, no file.
    pub fn is_plain(&self) -> bool {
        self.rows.is_empty() && self.card.is_none() && self.file.is_none()
    }

    /// Adds a file.
    pub fn with_file(mut self, file: File) -> Letter {
        self.file = Some(file);
        self
    }
}

/// The text in parts that are each within a message, cut between lines, and a line too long by itself between words.
/// Markup is never cut apart: it opens and closes on one line.
pub fn in_parts(html: &str) -> Vec<String> {
    let mut parts = vec![String::new()];
    for line in html.split('\n') {
        for (number, piece) in pieces(line).into_iter().enumerate() {
            let part = parts.last_mut().expect("there is a first part");
            if number == 0 && part.is_empty() {
                *part = piece;
            } else if number == 0 && units(part) + 1 + units(&piece) <= UNITS_MAX {
                part.push('\n');
                part.push_str(&piece);
            } else {
                parts.push(piece);
            }
        }
    }
    // A blank line between two parts is one too many.
    let parts: Vec<String> = parts.iter().map(|part| part.trim_matches('\n').to_owned()).collect();
    parts.into_iter().filter(|part| !part.is_empty()).collect()
}

fn pieces(line: &str) -> Vec<String> {
    if units(line) <= UNITS_MAX {
        return vec![line.to_owned()];
    }
    let mut pieces = vec![String::new()];
    let (mut length, mut open_tags) = (0, 0_i32);
    for word in line.split_inclusive(' ') {
        if open_tags == 0 && length + units(word) > UNITS_MAX {
            pieces.push(String::new());
            length = 0;
        }
        pieces.last_mut().expect("there is a first piece").push_str(word);
        length += units(word);
        let closing = word.matches("</").count() as i32;
        open_tags += word.matches('<').count() as i32 - 2 * closing;
    }
    pieces
}

/// Rows with so few buttons that the service takes them: those before the last row give way, as what leads on stands last.
pub fn fitting(mut rows: Vec<Vec<Button>>) -> Vec<Vec<Button>> {
    while rows.iter().map(Vec::len).sum::<usize>() > BUTTONS_MAX && rows.len() > 1 {
        rows.remove(rows.len() - 2);
    }
    rows
}

/// Two texts as one message, where they fit into one.
pub fn joined(first: &str, second: &str) -> Option<String> {
    let both = format!("{first}\n\n{second}");
    (units(&both) <= UNITS_MAX).then_some(both)
}

fn units(text: &str) -> usize {
    text.encode_utf16().count()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::conversation::views;
    use proptest::prelude::*;

    #[test]
    fn a_long_list_is_cut_between_lines() {
        let line = format!("<b>{}</b>", "x".repeat(93));
        let parts = in_parts(&vec![line.clone(); 100].join("\n"));
        assert_eq!(parts.iter().map(|part| part.lines().count()).collect::<Vec<_>>(), [40, 40, 20]);
        assert!(parts.iter().flat_map(|part| part.lines()).all(|one| one == line));
        assert_eq!(in_parts("a\n\nb"), ["a\n\nb"]);
    }

    #[test]
    fn what_leads_on_keeps_its_button() {
        let button = |label: String| Button::new(label, Intent::Views(views::Ask::Today));
        let rows = (0..150).map(|number| vec![button(number.to_string())]).collect();
        let kept = fitting(rows);
        assert_eq!((kept.len(), kept[0][0].label.as_str(), kept[99][0].label.as_str()), (100, "0", "149"));
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]

        #[test]
        fn every_part_fits_and_no_word_is_lost(
            lines in prop::collection::vec(prop::collection::vec("[a-zé😀]{1,30}", 0..300), 1..6),
        ) {
            let lines: Vec<String> = lines.iter().map(|words| format!("<b>A list</b>: {}", words.join(" "))).collect();
            let words = |text: &str| text.split_whitespace().map(str::to_owned).collect::<Vec<_>>();
            let parts = in_parts(&lines.join("\n"));
            prop_assert!(parts.iter().all(|part| units(part) <= UNITS_MAX && !part.is_empty()));
            prop_assert_eq!(words(&parts.join("\n")), words(&lines.join("\n")));
            let is_whole = |part: &String| part.matches("<b>").count() == part.matches("</b>").count();
            prop_assert!(parts.iter().all(is_whole));
        }
    }
}
