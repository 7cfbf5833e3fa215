//! Weights as they are typed in answer to a question: "4 lb oyster, 1 shiitake", "2 lb 8 oz", "1,5 kg", "1½".
//!
//! Rule: a text that is not understood whole is not understood; a weight without a unit has the last unit typed, or
//! the reader's own.

use crate::crops::Crops;
use scheduler::quantity::{Amount, Grams, UnitSystem, WeightUnit, grams_from};

/// Longest text read, characters.
const LENGTH_MAX: usize = 300;
/// Words between weights that mean nothing.
const FILLERS: [&str; 16] =
    ["of", "and", "back", "with", "to", "the", "de", "y", "con", "a", "al", "i", "z", "do", "od", "mushrooms"];

enum Token {
    Number(Amount),
    Fraction(Amount),
    Word(String),
}

/// Weights with their crops, in the order typed; the same crop is summed. With `only`, a weight without a crop is of it.
/// `None` when the text is not understood, or holds a weight of nothing.
pub fn lines(text: &str, crops: &Crops, (units, only): (UnitSystem, Option<&str>)) -> Option<Vec<(String, Grams)>> {
    let mut lines: Vec<(String, Grams)> = Vec::new();
    for (crop, grams) in items(text, crops, units)? {
        let crop = crop.or_else(|| only.map(str::to_owned))?;
        match lines.iter_mut().find(|(known, _)| *known == crop) {
            Some((_, sum)) => *sum += grams,
            None => lines.push((crop, grams)),
        }
    }
    (!lines.is_empty() && lines.iter().all(|(_, grams)| grams.is_positive())).then_some(lines)
}

/// Weights alone, as in "5 lb to 60 lb".
pub fn weights(text: &str, crops: &Crops, units: UnitSystem) -> Option<Vec<Grams>> {
    let items = items(text, crops, units)?;
    items.into_iter().map(|(crop, grams)| crop.is_none().then_some(grams)).collect()
}

fn items(text: &str, crops: &Crops, units: UnitSystem) -> Option<Vec<(Option<String>, Grams)>> {
    let mut unit = match units {
        UnitSystem::Metric => WeightUnit::Kilogram,
        UnitSystem::Avoirdupois => WeightUnit::Pound,
    };
    let mut items: Vec<(Option<String>, Grams)> = Vec::new();
    let mut pending: Option<Amount> = None;
    let mut after_pounds = false;
    for token in tokens(text)? {
        match token {
            Token::Number(amount) => {
                if let Some(before) = pending.replace(amount) {
                    items.push((None, grams_from(before, unit)?));
                    after_pounds = false;
                }
            }
            Token::Fraction(part) => pending = Some(pending.map_or(Some(part), |whole| sum(whole, part))?),
            Token::Word(word) => {
                if let Some(named) = unit_of(&word) {
                    let grams = grams_from(pending.take()?, named)?;
                    match items.last_mut().filter(|_| after_pounds && named == WeightUnit::Ounce) {
                        Some((_, pounds)) => *pounds += grams,
                        None => items.push((None, grams)),
                    }
                    after_pounds = named == WeightUnit::Pound;
                    unit = named;
                } else if let Some(crop) = crop_of(&word, crops) {
                    if let Some(amount) = pending.take() {
                        items.push((None, grams_from(amount, unit)?));
                    }
                    let last = items.last_mut().filter(|(crop, _)| crop.is_none())?;
                    last.0 = Some(crop);
                    after_pounds = false;
                } else if !FILLERS.contains(&word.as_str()) {
                    return None;
                }
            }
        }
    }
    if let Some(amount) = pending {
        items.push((None, grams_from(amount, unit)?));
    }
    Some(items)
}

fn sum(whole: Amount, part: Amount) -> Option<Amount> {
    let numerator = whole.numerator.checked_mul(part.denominator)?;
    let numerator = numerator.checked_add(part.numerator.checked_mul(whole.denominator)?)?;
    Some(Amount { numerator, denominator: whole.denominator.checked_mul(part.denominator)? })
}

fn tokens(text: &str) -> Option<Vec<Token>> {
    if text.chars().count() > LENGTH_MAX {
        return None;
    }
    let folded = folded(text);
    let letters: Vec<char> = folded.chars().collect();
    let mut tokens = Vec::new();
    let mut at = 0;
    while at < letters.len() {
        let start = at;
        let letter = letters[at];
        if letter.is_ascii_digit() {
            let is_inside = |at: usize| {
                letters[at].is_ascii_digit()
                    || (matches!(letters[at], '.' | ',' | '/') && letters.get(at + 1).is_some_and(char::is_ascii_digit))
            };
            while at < letters.len() && is_inside(at) {
                at += 1;
            }
            let number: String = letters[start..at].iter().collect();
            tokens.push(match number.split_once('/') {
                Some((top, bottom)) => Token::Fraction(fraction(top, bottom)?),
                None => Token::Number(decimal(&number.replace(',', "."))?),
            });
        } else if let Some(place) = "½¼¾".find(letter) {
            let (numerator, denominator) = [(1, 2), (1, 4), (3, 4)][place / '½'.len_utf8()];
            tokens.push(Token::Fraction(Amount { numerator, denominator }));
            at += 1;
        } else if letter.is_alphabetic() {
            while at < letters.len() && letters[at].is_alphabetic() {
                at += 1;
            }
            tokens.push(Token::Word(letters[start..at].iter().collect()));
        } else if letter == '-' && letters.get(at + 1).is_some_and(char::is_ascii_digit) {
            // A dash between two numbers parts them; before the first it would be a minus.
            at.checked_sub(1).filter(|before| letters[*before].is_alphanumeric())?;
            at += 1;
        } else {
            at += 1;
        }
    }
    Some(tokens)
}

fn fraction(top: &str, bottom: &str) -> Option<Amount> {
    let (numerator, denominator) = (top.parse().ok()?, bottom.parse().ok()?);
    (denominator > 0).then_some(Amount { numerator, denominator })
}

/// At most 9 digits before and 6 after the point: more is no weight that anybody types.
pub(super) fn decimal(number: &str) -> Option<Amount> {
    let (whole, part) = number.split_once('.').unwrap_or((number, ""));
    if whole.len() > 9 || part.len() > 6 {
        return None;
    }
    let digits: i64 = format!("{whole}{part}").parse().ok()?;
    Some(Amount { numerator: digits, denominator: 10_i64.pow(u32::try_from(part.len()).ok()?) })
}

/// Lower case without accents, so that "día" and "dia" are the same.
pub fn folded(text: &str) -> String {
    use unicode_normalization::UnicodeNormalization;
    use unicode_normalization::char::is_combining_mark;
    // NFD: compatibility forms would take "½" apart. The stroke of "ł" is no combining mark.
    text.to_lowercase().nfd().filter(|letter| !is_combining_mark(*letter)).collect::<String>().replace('ł', "l")
}

fn unit_of(word: &str) -> Option<WeightUnit> {
    Some(match word {
        "lb" | "lbs" | "pound" | "pounds" | "libra" | "libras" | "funt" | "funty" | "funtow" => WeightUnit::Pound,
        "oz" | "ounce" | "ounces" | "onza" | "onzas" | "uncja" | "uncje" | "uncji" => WeightUnit::Ounce,
        "kg" | "kilo" | "kilos" | "kilogram" | "kilograms" | "kilogramos" => WeightUnit::Kilogram,
        "g" | "gram" | "grams" | "gramo" | "gramos" | "gramy" | "gramow" => WeightUnit::Gram,
        _ => return None,
    })
}

fn crop_of(word: &str, crops: &Crops) -> Option<String> {
    let is_meant = |name: &str| {
        let name = folded(name);
        word.starts_with(&name) || (name.len() >= 5 && strsim::levenshtein(word, &name) <= 1)
    };
    let found = crops.iter().find(|crop| is_meant(crop.key.as_str()) || crop.names.values().any(|name| is_meant(name)));
    found.map(|crop| crop.key.as_str().to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> Option<Vec<(String, i64)>> {
        let read = lines(text, &Crops::configured(&[]).expect("built in"), (UnitSystem::Avoirdupois, Some("oyster")));
        read.map(|lines| lines.into_iter().map(|(crop, grams)| (crop, grams.get())).collect())
    }

    /// 1 lb = 453.59237 g (NIST SP 811, appendix B).
    #[test]
    fn typed_weights_are_read() {
        let oyster = |grams| Some(vec![("oyster".to_owned(), grams)]);
        let both = |a, b| Some(vec![("oyster".to_owned(), a), ("shiitake".to_owned(), b)]);
        for (text, expected) in [
            ("4 lb oyster, 1 shiitake", both(1814, 454)),
            ("back with 4 lb of oyster and 1 lb shitake", both(1814, 454)),
            ("4 libras de ostra y 500 g de shiitake", both(1814, 500)),
            ("2 kg boczniaka i 1,5 kg shiitake", both(2000, 1500)),
            ("2 lb 8 oz", oyster(1134)),
            ("2½", oyster(1134)),
            ("1 1/2 lb", oyster(680)),
            ("1,5 kg", oyster(1500)),
            ("1 lb oyster 1 lb oyster", oyster(908)),
            ("0 lb", None),
            ("-2 lb", None),
            ("two", None),
            ("4 lb chanterelle", None),
            ("99999999999999999999 lb", None),
            ("1/0 lb", None),
            ("", None),
            ("烏龍", None),
        ] {
            assert_eq!(read(text), expected, "{text}");
        }
        assert_eq!(lines("4 lb", &Crops::configured(&[]).expect("built in"), (UnitSystem::Metric, None)), None);
        let both =
            weights("5 lb to 60 lb", &Crops::configured(&[]).expect("built in"), UnitSystem::Metric).expect("weights");
        assert_eq!(both, [Grams::new(2268), Grams::new(27216)]);
        assert_eq!(
            weights("2-20", &Crops::configured(&[]).expect("built in"), UnitSystem::Metric).expect("weights").len(),
            2
        );
    }
}
