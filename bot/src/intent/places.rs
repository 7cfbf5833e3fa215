//! The restaurant or food bank that a text of the family names: by its whole name or by a word that no other has.

use crate::phrase::folded;
use scheduler::id::Id;
use std::collections::BTreeSet;
use strsim::osa_distance;

/// Letters a word must have to name a place by itself.
const LETTERS_LEAST: usize = 4;
/// Letters from which one slip is forgiven.
const FORGIVEN_FROM: usize = 6;

/// The one place named, and the text without its name; `None` where none is, or several are.
pub fn named(text: &str, places: &[(Id, String)]) -> Option<(Id, String)> {
    let words_of = |name: &str| -> BTreeSet<String> { words(name).collect() };
    let is_own = |id: Id, word: &str| {
        word.chars().count() >= LETTERS_LEAST
            && !places.iter().any(|(other, name)| *other != id && words_of(name).contains(word))
    };
    let is_said = |known: &str, said: &str| {
        known == said || (known.chars().count() >= FORGIVEN_FROM && osa_distance(known, said) == 1)
    };
    let found = places.iter().filter(|(id, name)| {
        words_of(name).iter().any(|word| is_own(*id, word) && words(text).any(|said| is_said(word, &said)))
    });
    let found: Vec<&(Id, String)> = found.collect();
    let [(id, name)] = found.as_slice() else { return None };
    let own = words_of(name);
    let rest = text
        .split_whitespace()
        .map(|said| {
            let bare: String = words(said).collect();
            if own.iter().any(|word| is_said(word, &bare)) {
                // The mark behind a name parts it from what follows.
                said.chars().rev().take_while(|letter| !letter.is_alphanumeric()).collect::<String>()
            } else {
                said.to_owned()
            }
        })
        .collect::<Vec<_>>()
        .join(" ");
    Some((*id, rest))
}

fn words(text: &str) -> impl Iterator<Item = String> {
    let folded = folded(text);
    let words: Vec<String> = folded
        .split(|letter: char| !letter.is_alphanumeric())
        .filter(|word| !word.is_empty())
        .map(str::to_owned)
        .collect();
    words.into_iter()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_place_is_named_by_a_word_of_its_own() {
        let places: Vec<(Id, String)> =
            ["Night Heron Noodle Bar", "Copper Kettle Bistro", "Saltmarsh Bakery", "Night Owl Bistro"]
                .iter()
                .zip(1..)
                .map(|(name, id)| (Id::new(id), (*name).to_owned()))
                .collect();
        let of = |text: &str| named(text, &places).map(|(id, rest)| (id.get(), rest));
        for (text, expected) in [
            ("heron done", Some((1, " done"))),
            ("done at saltmarsh bakery", Some((3, "done at  "))),
            ("Kettel, nobody there", Some((2, ", nobody there"))),
            // Two have it.
            ("night done", None),
            ("bistro done", None),
            // Two are named.
            ("heron and kettle done", None),
            ("done", None),
        ] {
            assert_eq!(of(text), expected.map(|(id, rest)| (id, rest.to_owned())), "{text}");
        }
    }
}
