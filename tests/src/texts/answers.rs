//! What an answer is: an admission that a text was not understood, or about something. Told by the words the bot answers
//! with, as they stand in `locales`.

use anyhow::Context;
use std::path::Path;

/// Beginnings of the keys of messages that say a text was not understood or cannot be taken so.
const NOT_READ: [&str; 3] = ["not-understood", "unclear-", "nothing-asked"];
/// Shorter pieces of a message tell nothing.
const PIECE_LEAST: usize = 8;

/// How each language says that a text was not understood.
pub struct Admissions {
    /// For each message, the pieces between what is put in.
    messages: Vec<Vec<String>>,
}

impl Admissions {
    /// Reads them from the language's files.
    ///
    /// # Errors
    /// When a file cannot be read.
    pub fn of(language: &str) -> anyhow::Result<Admissions> {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../locales").join(language);
        let mut messages = Vec::new();
        for file in std::fs::read_dir(&folder).with_context(|| folder.display().to_string())? {
            let path = file?.path();
            if path.extension().is_some_and(|ending| ending == "ftl") {
                messages.extend(admissions(&std::fs::read_to_string(&path)?));
            }
        }
        anyhow::ensure!(messages.len() > 5, "locales/{language} has no words for what is not understood");
        Ok(Admissions { messages })
    }

    /// Whether the answer is one of them.
    pub fn are_in(&self, answer: &str) -> bool {
        self.messages.iter().any(|pieces| pieces.iter().all(|piece| answer.contains(piece.as_str())))
    }
}

fn admissions(text: &str) -> Vec<Vec<String>> {
    let mut found = Vec::new();
    for line in text.lines() {
        let Some((name, value)) = line.split_once(" = ") else { continue };
        if !NOT_READ.iter().any(|beginning| name.starts_with(beginning)) {
            continue;
        }
        // Without what is put in, and without markup.
        let mut pieces = vec![String::new()];
        let mut depth = 0;
        for letter in value.chars() {
            match letter {
                '{' | '<' => {
                    depth += 1;
                    pieces.push(String::new());
                }
                '}' | '>' => depth -= 1,
                _ if depth > 0 => {}
                _ => pieces.last_mut().expect("there is always one").push(letter),
            }
        }
        pieces.retain(|piece| piece.trim().chars().count() >= PIECE_LEAST);
        if !pieces.is_empty() {
            found.push(pieces);
        }
    }
    found
}
