//! One farm's readers, made once: building a language's vocabulary takes far longer than reading a text. A text that
//! somebody's own language does not understand is tried in the others, as kitchens speak several.

use super::words::Words;
use super::{Context, CropWords, Question, Reader, Reading};
use crate::wording::Language;
use std::sync::{Arc, Mutex};

/// A reader for each language.
#[derive(Debug)]
pub struct Readers {
    crops: Vec<CropWords>,
    all: Vec<(Language, Reader)>,
}

impl Readers {
    /// Readers of every language that know `crops`.
    pub fn new(crops: &[CropWords]) -> Readers {
        let all = Words::all().map(|(language, words)| (language, Reader::new(&words, crops))).collect();
        Readers { crops: crops.to_vec(), all }
    }

    /// Reads `text` in `language`; where that does not understand it, in the others. Numbers are always read by the rules of
    /// `language`, and what two other languages read differently is not read.
    pub fn read(&self, language: Language, text: &str, context: &Context) -> Reading {
        let Some((_, own)) = self.all.iter().find(|(known, _)| *known == language) else { return Reading::Nothing };
        let reading = own.read(text, context);
        if !may_be_another_language(&reading) {
            return reading;
        }
        let is_guess = matches!(reading, Reading::Guess { .. });
        let others = self.all.iter().filter(|(known, _)| *known != language);
        let mut found: Option<Reading> = None;
        for (_, other) in others {
            let other = other.read_with_numbers_of(own, text, context);
            match (&found, &other) {
                (_, other) if may_be_another_language(other) => {}
                (None, Reading::Unclear(_)) if is_guess => {}
                (None, _) => found = Some(other),
                (Some(Reading::Unclear(_) | Reading::Guess { .. }), Reading::Understood(_)) => found = Some(other),
                (Some(Reading::Guess { .. }), _) | (_, Reading::Guess { .. }) => {}
                (Some(before @ Reading::Understood(_)), Reading::Understood(_)) if *before != other => {
                    return self.unless_turned(reading);
                }
                _ => {}
            }
        }
        found.unwrap_or_else(|| self.unless_turned(reading))
    }

    /// A word that turns a meaning in any language is no stray word in another.
    fn unless_turned(&self, reading: Reading) -> Reading {
        match reading {
            Reading::Guess { left, .. } if self.all.iter().any(|(_, one)| left.iter().any(|word| one.turns(word))) => {
                Reading::Unclear(Question::NotUnderstood { words: left })
            }
            other => other,
        }
    }
}

/// Whether words were left over that another language may know.
fn may_be_another_language(reading: &Reading) -> bool {
    matches!(
        reading,
        Reading::Nothing
            | Reading::Guess { .. }
            | Reading::Unclear(Question::NotUnderstood { .. } | Question::UnknownCrop { .. })
    )
}

/// The readers of the crops asked for last: a farm changes its crops a few times a year.
#[derive(Debug, Default)]
pub struct KeptReaders(Mutex<Option<Arc<Readers>>>);

impl KeptReaders {
    /// Readers that know `crops`.
    pub fn of(&self, crops: &[CropWords]) -> Arc<Readers> {
        let mut kept = self.0.lock().unwrap_or_else(|poisoned| poisoned.into_inner());
        match kept.as_ref().filter(|readers| readers.crops == crops) {
            Some(readers) => Arc::clone(readers),
            None => Arc::clone(kept.insert(Arc::new(Readers::new(crops)))),
        }
    }
}
