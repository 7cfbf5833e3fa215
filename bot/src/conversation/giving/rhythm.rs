//! A regular drop as it is typed: "every Saturday 14:00 to Harbour Table", "cada sábado a las 2 pm a …", "co sobotę o 14 do …".
//!
//! Rule: it is one only with a word for "every", the name of a food bank and nothing that is not understood. Words of every
//! language on board are read at once.

use super::hours;
use crate::phrase::folded;
use chrono::Weekday;

/// Longest text read, characters.
const LENGTH_MAX: usize = 200;
const EVERY: [&str; 10] = ["every", "each", "cada", "todos", "todas", "co", "kazda", "kazdy", "kazde", "weekly"];
const SECOND: [&str; 9] = ["other", "second", "otro", "otra", "segundo", "drugi", "druga", "drugie", "dwa"];
const WEEKS: [&str; 8] = ["week", "weeks", "semana", "semanas", "tydzien", "tygodnie", "tygodni", "tygodnia"];
/// What may stand around the rest, "after the market" with it: whoever writes may mix languages.
const FILLERS: [&str; 56] = [
    "a", "al", "after", "and", "at", "bring", "dar", "daj", "de", "del", "despues", "dla", "do", "drop", "drops",
    "dzien", "el", "en", "entrega", "for", "from", "give", "godz", "godzinie", "h", "i", "in", "la", "las", "llevar",
    "los", "market", "mercado", "na", "o", "of", "off", "on", "para", "po", "por", "regular", "targ", "targu", "the",
    "to", "w", "we", "y", "zawiez", "zawoz", "zawsze", "dostawa", "dowoz", "przekaz", "daruj",
];

const TO: [&str; 5] = ["to", "a", "para", "do", "dla"];

/// What was said.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Said {
    pub every_weeks: u16,
    pub weekdays: Vec<Weekday>,
    /// Minutes of the day, where a time was said.
    pub minute: Option<u16>,
}

/// Which of `banks` is meant, by its place, and how often; `None` for any other text.
pub(super) fn read(text: &str, banks: &[&str]) -> Option<(usize, Said)> {
    if text.chars().count() > LENGTH_MAX {
        return None;
    }
    let text = folded(text);
    let named = banks.iter().map(|bank| folded(bank)).enumerate().filter(|(_, bank)| text.contains(bank.as_str()));
    // "Table" and "Harbour Table": the longer name is the one that was meant.
    let (place, bank) = named.max_by_key(|(_, bank)| bank.len())?;
    rhythm(&text.replacen(&bank, " ", 1)).map(|said| (place, said))
}

/// The name that stands where a food bank's should, in a text that would be a regular drop to a bank of that name: after the
/// last "to" of any language, behind a rhythm.
pub(super) fn stranger(text: &str) -> Option<String> {
    let words: Vec<&str> = text.split_whitespace().collect();
    if text.chars().count() > LENGTH_MAX {
        return None;
    }
    let to = words.iter().rposition(|word| TO.contains(&folded(word).as_str()))?;
    rhythm(&folded(&words[..to].join(" ")))?;
    let name = words[to + 1..].join(" ");
    name.starts_with(char::is_alphabetic).then_some(name)
}

fn rhythm(text: &str) -> Option<Said> {
    let mut said = Said { every_weeks: 1, weekdays: Vec::new(), minute: None };
    let mut is_every = false;
    let mut rest = trimmed(text);
    while let Some(letter) = rest.chars().next() {
        if letter.is_ascii_digit() {
            if let Some((weeks, after)) = weeks(rest) {
                said.every_weeks = weeks;
                rest = after;
            } else {
                let (minute, _, after) = hours::minute(rest).filter(|_| said.minute.is_none())?;
                said.minute = Some(minute);
                rest = after;
            }
        } else {
            let end = rest.find(|letter: char| !letter.is_alphabetic()).unwrap_or(rest.len());
            let (word, after) = rest.split_at(end);
            match word {
                "" => return None,
                word if EVERY.contains(&word) => is_every = true,
                word if SECOND.contains(&word) => said.every_weeks = 2,
                word if WEEKS.contains(&word) || FILLERS.contains(&word) => {}
                word => {
                    let day = hours::day_of(word)?;
                    if !said.weekdays.contains(&day) {
                        said.weekdays.push(day);
                    }
                }
            }
            rest = after;
        }
        rest = trimmed(rest);
    }
    (is_every && !said.weekdays.is_empty()).then_some(said)
}

fn trimmed(text: &str) -> &str {
    text.trim_start_matches(|letter: char| {
        letter.is_whitespace() || matches!(letter, ',' | ';' | '.' | ':' | '!' | '-')
    })
}

/// "3 weeks": the number, and what follows.
fn weeks(text: &str) -> Option<(u16, &str)> {
    let end = text.find(|letter: char| !letter.is_ascii_digit())?;
    let (digits, after) = text.split_at(end);
    let after = after.trim_start();
    let end = after.find(|letter: char| !letter.is_alphabetic()).unwrap_or(after.len());
    let (word, rest) = after.split_at(end);
    let number = digits.parse().ok().filter(|number| (1..=52).contains(number))?;
    WEEKS.contains(&word).then_some((number, rest))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const BANKS: [&str; 3] = ["Merrow Community Pantry", "Table", "Harbour Table"];

    #[test]
    fn a_regular_drop_is_read_in_three_languages() {
        use Weekday::{Mon, Sat, Tue};
        for (text, bank, every_weeks, weekdays, minute) in [
            ("every Saturday 14:00 to Harbour Table", 2, 1, vec![Sat], Some(840)),
            ("Harbour Table every saturday after the market at 2 pm", 2, 1, vec![Sat], Some(840)),
            ("every other Monday 9:30am to merrow community pantry", 0, 2, vec![Mon], Some(570)),
            ("every 3 weeks on Sat and Tue to Table", 1, 3, vec![Sat, Tue], None),
            ("cada sábado a las 14:00 a Harbour Table", 2, 1, vec![Sat], Some(840)),
            ("todos los martes 9h para Merrow Community Pantry", 0, 1, vec![Tue], Some(540)),
            ("co drugą sobotę o 14 do Harbour Table", 2, 2, vec![Sat], Some(840)),
            ("w każdą sobotę po targu do Harbour Table!", 2, 1, vec![Sat], None),
        ] {
            let said = Said { every_weeks, weekdays, minute };
            assert_eq!(read(text, &BANKS), Some((bank, said)), "{text}");
        }
        for text in [
            "Saturday 14:00 to Harbour Table",
            "every Saturday 14:00",
            "every Saturday 14:00 to Quayside Kitchen",
            "every Saturday 14:00 and 15:00 to Harbour Table",
            "every Saturday 25:00 to Harbour Table",
            "every day to Harbour Table",
            "every Saturday 5 lb oyster to Harbour Table",
            "every 99 weeks Saturday to Harbour Table",
            "",
        ] {
            assert_eq!(read(text, &BANKS), None, "{text}");
        }
        assert_eq!(read("every Saturday to Harbour Table", &[]), None);
    }

    #[test]
    fn a_name_that_nobody_has_is_found() {
        for (text, name) in [
            ("every Saturday 14:00 to Gull Street Kitchen", Some("Gull Street Kitchen")),
            ("cada sábado a las 14:00 a Mesa Común", Some("Mesa Común")),
            ("co sobotę 14:00 do Jadłodajni Pod Mewą", Some("Jadłodajni Pod Mewą")),
            ("every Saturday 14:00", None),
            ("every Saturday from 10:00 to 14:00", None),
            ("every Thursday 5 lb oyster to Harbour Table", None),
            ("to", None),
            ("", None),
        ] {
            assert_eq!(stranger(text).as_deref(), name, "{text}");
        }
    }

    proptest! {
        #[test]
        fn any_text_is_read_without_panic(text in any::<String>()) {
            let _ = read(&format!("every {text} Harbour Table"), &BANKS);
            let _ = stranger(&format!("every Saturday {text}"));
        }
    }
}
