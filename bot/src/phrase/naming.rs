//! Whether a new name for a crop would be read, in every language and beside every other crop, as that crop and as nothing
//! else. A name is tried in an order, by the grammar that will read it there.

use super::vocabulary::{Term, Vocabulary};
use super::words::Words;
use super::{Context, CropWords, Phrase, Reader, Reading, tokens};
use scheduler::clock::LocalDate;

/// Why a name cannot be a crop's.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NameFault {
    /// It reads as the crop with this key, or that crop would no longer be read.
    IsCrop(String),
    /// It reads as something else: a number, a day, a word of an order.
    IsWord,
}

/// What stands against `name` for the crop `key` beside `others`.
pub fn fault(key: &str, name: &str, others: &[CropWords]) -> Option<NameFault> {
    let mut all = others.to_vec();
    all.push(CropWords { key: key.to_owned(), words: vec![name.to_owned()] });
    Words::all().find_map(|(_, words)| {
        let known = Vocabulary::new(&words, others);
        match known.terms(&tokens::tokens(name), known.habits).as_slice() {
            [] => return Some(NameFault::IsWord),
            [Term::Crop(index)] => return Some(NameFault::IsCrop(known.crop_keys()[*index].clone())),
            // "enoki and oyster" would take the two of an order for one.
            terms if terms.contains(&Term::And) => return Some(NameFault::IsWord),
            _ => {}
        }
        let reader = Reader::new(&words, &all);
        if ordered(&reader, name).as_deref() != Some(key) {
            return Some(NameFault::IsWord);
        }
        let hidden = others.iter().find(|other| {
            words.crop_names(&other.key, &other.words).iter().any(|word| ordered(&reader, word).as_deref() == Some(key))
        });
        hidden.map(|other| NameFault::IsCrop(other.key.clone()))
    })
}

/// The crop that an order of this name is for.
fn ordered(reader: &Reader, name: &str) -> Option<String> {
    let context =
        Context { today: LocalDate::default(), unit_default: None, day_month_order: None, delivery_weekday: None };
    match reader.read(&format!("2 kg {name}"), &context) {
        Reading::Understood(Phrase::Order { lines, when: None }) => match lines.as_slice() {
            [line] => Some(line.crop.clone()),
            _ => None,
        },
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn known() -> Vec<CropWords> {
        [("shiitake", "shiitake"), ("oyster", "ostra"), ("lions-mane", "lion's mane")]
            .map(|(key, word)| CropWords { key: key.to_owned(), words: vec![word.to_owned()] })
            .to_vec()
    }

    #[test]
    fn names_that_are_free_are_taken() {
        for name in ["enoki", "king oyster", "chestnut", "seta de cardo", "soplówka", "pioppino", "maitake"] {
            assert_eq!(fault("new", name, &known()), None, "{name}");
        }
    }

    #[test]
    fn names_that_read_as_a_crop_or_a_word_are_not() {
        let is = |key: &str| NameFault::IsCrop(key.to_owned());
        for (name, expected) in [
            ("Shiitake", is("shiitake")),
            ("shittake", is("shiitake")),
            ("boczniak", is("oyster")),
            ("setas ostra", is("oyster")),
            ("oysters", is("oyster")),
            ("Lions mane", is("lions-mane")),
            ("Thursday", NameFault::IsWord),
            ("siete", NameFault::IsWord),
            ("seven", NameFault::IsWord),
            ("kilo", NameFault::IsWord),
            ("nothing", NameFault::IsWord),
            ("czwartek", NameFault::IsWord),
            ("enoki and oyster", NameFault::IsWord),
        ] {
            assert_eq!(fault("new", name, &known()), Some(expected), "{name}");
        }
    }
}
