//! Courtesies: thanks, a greeting, "ok", a thumb or a heart, in any language of the kitchen. They ask for nothing, so they
//! change nothing, except that an "ok" answers what was asked by the last message.
//!
//! A word stands here only where it means nothing else to anybody who writes to the bot: "done", "no" and "yes" are answers.

use super::tokens::folded;

/// Words and phrases, folded, one language after the other. A longer phrase comes before its beginning.
const WORDS: &[&str] = &[
    // English
    "thank you so much",
    "thank you very much",
    "thank you",
    "thanks a lot",
    "thanks so much",
    "many thanks",
    "thanks",
    "thankyou",
    "thx",
    "tnx",
    "ty",
    "cheers",
    "much appreciated",
    "appreciate it",
    "appreciated",
    "ok then",
    "okay",
    "okey",
    "oki",
    "okie",
    "ok",
    "k",
    "kk",
    "great",
    "perfect",
    "awesome",
    "super",
    "cool",
    "nice one",
    "nice",
    "lovely",
    "wonderful",
    "brilliant",
    "fantastic",
    "excellent",
    "good",
    "got it",
    "gotcha",
    "noted",
    "understood",
    "all good",
    "sounds good",
    "fine",
    "no problem",
    "no worries",
    "see you",
    "have a good one",
    "have a nice day",
    "have a good day",
    "good morning",
    "good afternoon",
    "good evening",
    "good night",
    "hello",
    "hi",
    "hey",
    "bye",
    "chef",
    "guys",
    "everybody",
    "everyone",
    "team",
    "very much",
    "so much",
    // Spanish
    "muchas gracias",
    "muchisimas gracias",
    "mil gracias",
    "gracias",
    "grax",
    "vale",
    "perfecto",
    "genial",
    "estupendo",
    "excelente",
    "buenisimo",
    "que bien",
    "muy bien",
    "bien",
    "entendido",
    "enterado",
    "recibido",
    "de nada",
    "sale",
    "orale",
    "okis",
    "oki doki",
    "buenos dias",
    "buenas tardes",
    "buenas noches",
    "buenas",
    "buen dia",
    "hola",
    "adios",
    "hasta luego",
    "hasta pronto",
    "saludos",
    "un saludo",
    "amigo",
    "amiga",
    "amigos",
    // Polish
    "bardzo dziekuje",
    "wielkie dzieki",
    "dziekuje bardzo",
    "dziekuje",
    "dziekujemy",
    "dzieki",
    "dzieki wielkie",
    "dzieks",
    "spoko",
    "okej",
    "okey",
    "super",
    "swietnie",
    "rewelacja",
    "doskonale",
    "extra",
    "ekstra",
    "jasne",
    "rozumiem",
    "przyjete",
    "dzien dobry",
    "dobry wieczor",
    "dobranoc",
    "czesc",
    "hej",
    "witam",
    "do widzenia",
    "pozdrawiam",
    "milego dnia",
    "bardzo",
];

/// Of those, the ones that thank.
const THANKS: &[&str] = &["thank", "thx", "tnx", "ty", "cheers", "appreciate", "gracias", "grax", "dziek"];

/// What a text of nothing but courtesies says.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Courtesy {
    Thanks,
    /// A greeting, an "ok" or a picture.
    Other,
}

/// Longest text that is looked at, characters.
const LENGTH_MAX: usize = 120;

/// What the text says when it is nothing but courtesies; an empty text, such as a sticker's, is none.
pub fn read(text: &str) -> Option<Courtesy> {
    if text.chars().count() > LENGTH_MAX {
        return None;
    }
    let folded = folded(text);
    let has_picture =
        folded.chars().any(is_picture) || [":)", ":-)", ";)", ";-)"].iter().any(|smile| folded.contains(smile));
    let words: Vec<&str> = folded.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).collect();
    // A mark that could turn the meaning, such as a question, makes it something else.
    let is_plain =
        folded.chars().all(|c| c.is_alphanumeric() || c.is_whitespace() || ".,!¡:;)(-~".contains(c) || is_picture(c));
    if !is_plain || words.is_empty() && !has_picture {
        return None;
    }
    let mut rest = words.as_slice();
    while !rest.is_empty() {
        let taken = WORDS.iter().map(|phrase| matched(phrase, rest)).max().unwrap_or_default();
        if taken == 0 {
            return None;
        }
        rest = &rest[taken..];
    }
    let thanks = words
        .iter()
        .any(|word| THANKS.iter().any(|thanks| word.starts_with(thanks) && (thanks.len() > 2 || word == thanks)));
    Some(if thanks { Courtesy::Thanks } else { Courtesy::Other })
}

/// How many of the words the phrase takes; 0 where they do not begin with it.
fn matched(phrase: &str, words: &[&str]) -> usize {
    let count = phrase.split(' ').count();
    let is_so = count <= words.len() && phrase.split(' ').zip(words).all(|(part, word)| part == *word);
    if is_so { count } else { 0 }
}

/// A picture that agrees, thanks or smiles. A thumb down or a cross is an answer, and a picture of another kind may be one.
fn is_picture(c: char) -> bool {
    matches!(c,
        '👍' | '👌' | '✅' | '✔' | '🙏' | '🤝' | '💪' | '👏' | '🙌' | '👋' | '🫶' | '✌' | '🤗' | '🤙' | '💯' | '🔥' | '✨' | '🎉' | '🍄' | '🍳' | '🌱'
        | '❤' | '💚' | '💛' | '💙' | '🧡' | '💜' | '🖤' | '🤍'
        | '\u{1F600}'..='\u{1F60F}' | '🙂' | '🙃' | '🤩' | '🥰' | '😘' | '🥳' | '🫡'
        // Skin colours, joiners and the sign that makes a mark a picture.
        | '\u{1F3FB}'..='\u{1F3FF}' | '\u{fe0f}' | '\u{200d}' | '\u{200b}')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn courtesies_are_told_from_wishes() {
        for text in
            ["Thanks!", "thank you so much chef", "¡Muchas gracias!", "Dziękuję bardzo", "ok thanks 👍", "Cheers 🙏🏽"]
        {
            assert_eq!(read(text), Some(Courtesy::Thanks), "{text}");
        }
        for text in
            ["ok", "OK 👍", "👍🏼", "❤️", "great", "Perfecto", "vale", "spoko", "Super!", "Got it.", "hola", ":)", "😀😀"]
        {
            assert_eq!(read(text), Some(Courtesy::Other), "{text}");
        }
        for text in [
            "",
            "yes",
            "no",
            "sí",
            "tak",
            "nie",
            "👎",
            "ok?",
            "thanks, but no oyster",
            "ok 5 lb",
            "good 5 lb shiitake",
            "gracias, 2 kg",
            "done",
            "listo",
            "gotowe",
            "no thanks",
            "not ok",
            "thanks for nothing",
            "ok, skip it",
            "❌",
        ] {
            assert_eq!(read(text), None, "{text}");
        }
    }
}
