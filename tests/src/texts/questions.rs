//! When an answer is on the subject a question asks about. Rule: the bot said something that is no admission of not having
//! understood, nothing waits for a yes, and either the wish it read has the subject in its name, or the words of the answer
//! hold what was asked for: a weight, a price, a day, a name. An answer about another subject does not count; that the
//! question is passed on to the keeper does, where the record cannot know the answer.

use super::outcomes::Scene;
use super::read::Question;
use super::world::Reading;
use crate::farm::HERON;

/// For each subject: parts of the names of wishes that are about it, and of those that look alike and are not.
const WISHES: &[(&str, &[&str], &[&str])] = &[
    ("available", &["available", "stock", "left", "there_is", "on_hand", "free"], &["my_order", "ordering show"]),
    ("price", &["price", "cost"], &[]),
    ("my_order", &["ordering show", "ordering card", "my_order", "coming", "mine"], &[]),
    ("when_comes", &["when_come", "when_delivered", "arrival", "giving drops", "next_delivery", "when"], &["until"]),
    ("until_when", &["until", "cutoff", "cut_off", "deadline", "how_long"], &[]),
    ("how_much", &["giving drops", "how_much", "drop"], &[]),
    ("what_comes", &["giving drops", "what_comes", "drop"], &[]),
    ("who_comes", &["who"], &[]),
    ("next_stop", &["packing run", "next_stop", "stop"], &[]),
    ("what_to_load", &["packing list", "load"], &[]),
    ("address", &["address", "where"], &[]),
    ("what_to_pick", &["views today", "pick"], &[]),
    ("what_is_there", &["cold_room", "shelves", "stock", "there"], &[]),
    ("what_to_do", &["views today", "growing plan", "to_do"], &[]),
    ("forecast", &["views coming", "views week", "forecast"], &[]),
    ("orders", &["views today", "packing list", "orders", "views coming"], &[]),
    ("sold", &["views went", "views record", "sold"], &[]),
    ("who_owes", &["owes", "owed", "unpaid"], &[]),
];

/// Names and words that an answer about a price, a person or money may hold, in any of the languages.
const PRICE: &[&str] = &["$", "price", "precio", "cena", "ceny", "cenie", "cen "];
const OYSTER: &[&str] = &["oyster", "ostra", "seta", "gírgola", "girgola", "boczniak"];
const SHIITAKE: &[&str] = &["shiitake", "twardziak"];

/// Whether the reading answers the question.
pub fn is_answered(question: &Question, reading: &Reading, scene: &Scene) -> bool {
    let text = reading.text().to_lowercase();
    let wishes = reading.wishes.join(", ");
    let holds = |words: &[&str]| words.iter().any(|word| text.contains(word));
    let crops = match question.crop.as_deref() {
        Some("oyster") => holds(OYSTER),
        Some("shiitake") => holds(SHIITAKE),
        _ => true,
    };
    let named = WISHES.iter().find(|(about, ..)| *about == question.about);
    let is_named = named.is_some_and(|(_, are, are_not)| {
        are.iter().any(|part| wishes.contains(part)) && !are_not.iter().any(|part| wishes.contains(part))
    });
    let by_words = match question.about.as_str() {
        "price" => holds(PRICE),
        "who_comes" => holds(&["ngozi"]),
        "next_stop" => text.contains(&HERON.to_lowercase()),
        "until_when" => has_time(&text, &["18:00", "6:00 pm", "6 pm"]),
        "when_comes" => !reading.wishes.is_empty() && has_day(&text, scene),
        "available" => {
            let named_otherwise = wishes.contains("ordering show") || wishes.contains("ordering card");
            !reading.wishes.is_empty() && !named_otherwise && (holds(OYSTER) || holds(SHIITAKE)) && has_weight(&text)
        }
        // Whatever the answer is, it was meant for this: or somebody who knows was asked.
        "other" => !reading.wishes.is_empty(),
        _ => false,
    };
    !text.is_empty() && (is_named || crops && by_words)
}

fn has_time(text: &str, times: &[&str]) -> bool {
    // The narrow spaces of typeset times.
    let plain: String = text.chars().map(|letter| if letter.is_whitespace() { ' ' } else { letter }).collect();
    times.iter().any(|time| plain.contains(time))
}

fn has_weight(text: &str) -> bool {
    let is_number_before = |at: usize| text[..at].trim_end().ends_with(|letter: char| letter.is_ascii_digit());
    [" lb", " oz", " kg", " g", "\u{a0}lb", "\u{a0}oz", "\u{a0}kg", "\u{a0}g"]
        .iter()
        .any(|unit| text.match_indices(unit).any(|(at, _)| is_number_before(at)))
}

/// The number of the next delivery's day.
fn has_day(text: &str, scene: &Scene) -> bool {
    let number = chrono::Datelike::day(&scene.next).to_string();
    text.split(|letter: char| !letter.is_ascii_digit()).any(|piece| piece == number)
}
