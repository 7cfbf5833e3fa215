//! What a crop is called, in each language that is spoken here. A name must be read as this crop wherever a person may write
//! it, and must leave every other crop's names to that crop.

use super::{Ask, Draft, Of, Waiting, button, card, change, is_open_to, prior_of, stale};
use crate::conversation::{Desk, Letter};
use crate::intent::Waiting as Question;
use crate::intent::free_text::crop_words;
use crate::phrase::folded;
use crate::phrase::naming::{NameFault, fault};
use crate::wording::{Args, Language};
use scheduler::crop::{CropKey, KEY_LENGTH_MAX};
use scheduler::people::Person;
use scheduler::store;

/// Shortest and longest name, characters.
const LENGTH_MIN: usize = 2;
const LENGTH_MAX: usize = 30;
/// What parts names written in one go.
const PARTING: char = ',';
/// The key a new crop is tried under before it has one.
const NO_KEY: &str = "new-crop";

/// Asks for the first name that is missing; shows the card when none is.
pub(super) async fn go_on(desk: &mut Desk<'_>, person: &Person, of: Of) -> store::Result<()> {
    if prior_of(desk, &of).is_none() {
        return stale(desk, person).await;
    }
    let missing = match &of {
        Of::New(draft) => missing(desk, person, draft),
        Of::Known(_) => None,
    };
    match missing {
        Some(language) => ask(desk, person, (of, language.tag())).await,
        None => card::show(desk, person, (of, None)).await,
    }
}

/// The first language in which the draft has no name, the keeper's own before the others.
pub(super) fn missing(desk: &Desk<'_>, person: &Person, draft: &Draft) -> Option<Language> {
    in_order(desk, person).into_iter().find(|language| !draft.changes.names.contains_key(language.tag()))
}

fn in_order(desk: &Desk<'_>, person: &Person) -> Vec<Language> {
    let own = desk.voice(person).reader().language;
    std::iter::once(own).chain(Language::all().filter(|other| *other != own)).collect()
}

/// What a language calls itself.
pub(super) fn own_name(desk: &Desk<'_>, language: Language) -> String {
    desk.farm_voice(language).plain("language-name", &Args::new())
}

/// Asks for the name in one language.
pub(super) async fn ask(desk: &mut Desk<'_>, person: &Person, (of, language): (Of, &str)) -> store::Result<()> {
    let Some(spoken) = Language::from_code(language).filter(|_| prior_of(desk, &of).is_some()) else {
        return stale(desk, person).await;
    };
    let voice = desk.voice(person);
    if !is_open_to(desk, &of) {
        return desk.answer(person, Letter::new(voice.say("crop-card-from-file", &Args::new()))).await;
    }
    let args = Args::new().text("language", own_name(desk, spoken));
    let mut letter = match &of {
        Of::New(draft) if draft.changes.names.is_empty() => {
            let all = in_order(desk, person).into_iter().map(|language| own_name(desk, language)).collect();
            Letter::new(voice.say("crop-name-first", &args.list("languages", all)))
        }
        _ => Letter::new(voice.say("crop-name-question", &args)),
    };
    if let Of::New(draft) = &of {
        let mut known: Vec<&String> = draft.changes.names.values().collect();
        known.sort_unstable();
        known.dedup();
        for name in known {
            let label = voice.plain("button-same-name", &Args::new().text("name", name.clone()));
            let ask = Ask::Name { of: of.clone(), language: language.to_owned(), name: name.clone() };
            letter = letter.row([button(label, ask)]);
        }
    }
    desk.ask(person, &Question::Crops(Waiting::Name { of, language: language.to_owned() })).await?;
    desk.answer(person, letter).await
}

/// A typed name, or the names in all languages still missing.
pub(super) async fn typed(
    desk: &mut Desk<'_>,
    person: &Person,
    (of, language): (Of, &str),
    text: &str,
) -> store::Result<()> {
    let several: Vec<&str> = text.split(PARTING).collect();
    let Of::New(draft) = &of else { return take(desk, person, (of, language), text).await };
    if several.len() == 1 {
        return take(desk, person, (of, language), text).await;
    }
    let missing: Vec<Language> =
        in_order(desk, person).into_iter().filter(|one| !draft.changes.names.contains_key(one.tag())).collect();
    let voice = desk.voice(person);
    if several.len() != missing.len() {
        let args = Args::new().count("number", i64::try_from(missing.len()).unwrap_or_default());
        return desk.answer(person, Letter::new(voice.say("crop-names-count", &args))).await;
    }
    let mut names = Vec::with_capacity(several.len());
    for (language, name) in missing.into_iter().zip(several) {
        let name = tidy(name);
        if let Some(html) = refusal(desk, person, &of, &name) {
            return desk.answer(person, Letter::new(html)).await;
        }
        names.push((language.tag().to_owned(), name));
    }
    change(desk, person, of, |changes| changes.names.extend(names)).await
}

/// One name in one language.
pub(super) async fn take(
    desk: &mut Desk<'_>,
    person: &Person,
    (of, language): (Of, &str),
    name: &str,
) -> store::Result<()> {
    let Some(spoken) = Language::from_code(language).filter(|_| prior_of(desk, &of).is_some()) else {
        return stale(desk, person).await;
    };
    let name = tidy(name);
    let refused = match is_open_to(desk, &of) {
        true => refusal(desk, person, &of, &name),
        false => Some(desk.voice(person).say("crop-card-from-file", &Args::new())),
    };
    if let Some(html) = refused {
        return desk.answer(person, Letter::new(html)).await;
    }
    change(desk, person, of, |changes| {
        changes.names.insert(spoken.tag().to_owned(), name);
    })
    .await
}

fn tidy(name: &str) -> String {
    name.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Why a name is not taken, HTML.
pub(super) fn refusal(desk: &Desk<'_>, person: &Person, of: &Of, name: &str) -> Option<String> {
    let voice = desk.voice(person);
    let is_letter = |letter: char| letter.is_alphabetic() || matches!(letter, ' ' | '-' | '\'' | '’');
    let letters = name.chars().filter(|letter| letter.is_alphabetic()).count();
    if letters < LENGTH_MIN || name.chars().count() > LENGTH_MAX || !name.chars().all(is_letter) {
        let args = Args::new().count("least", LENGTH_MIN as i64).count("most", LENGTH_MAX as i64);
        return Some(voice.say("crop-name-letters", &args));
    }
    let own = match of {
        Of::Known(key) => Some(*key),
        Of::New(_) => None,
    };
    let others: Vec<_> = desk.house.crops.iter().filter(|crop| Some(crop.key) != own).map(crop_words).collect();
    let args = Args::new().text("name", name);
    match fault(own.as_ref().map_or(NO_KEY, CropKey::as_str), name, &others)? {
        NameFault::IsCrop(other) => {
            Some(voice.say("crop-name-is-crop", &args.text("crop", desk.house.crop_name(&other, &voice))))
        }
        NameFault::IsWord => Some(voice.say("crop-name-is-word", &args)),
    }
}

/// A free key that a person who reads the database knows the crop by.
pub(super) fn key_for(name: &str, is_free: impl Fn(&CropKey) -> bool) -> CropKey {
    let plain: String = folded(name)
        .chars()
        .map(|letter| if letter.is_ascii_alphanumeric() { letter } else { '-' })
        .take(KEY_LENGTH_MAX - 4)
        .collect();
    let plain = plain.trim_matches('-');
    let plain = if plain.is_empty() { NO_KEY } else { plain };
    let numbered = (2..1000).map(|number| format!("{plain}-{number}"));
    let mut keys = std::iter::once(plain.to_owned()).chain(numbered).filter_map(|text| text.parse().ok());
    keys.find(is_free).expect("a farm has fewer than a thousand crops")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_key_is_the_name_in_plain_letters_and_free() {
        for (name, taken, expected) in [
            ("king oyster", "", "king-oyster"),
            ("Lion's mane", "", "lions-mane"),
            ("soplówka", "", "soplowka"),
            ("enoki", "enoki", "enoki-2"),
            ("żż", "", "zz"),
            ("a name of thirty letters and so", "", "a-name-of-thirty-let"),
        ] {
            assert_eq!(key_for(name, |key| key.as_str() != taken).as_str(), expected, "{name}");
        }
    }
}
