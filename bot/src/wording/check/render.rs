//! Says every message with sample arguments and looks at what comes out.

use super::super::args::Args;
use super::super::catalogue::Wording;
use super::super::dates::HourClock;
use super::super::escape;
use super::super::languages::Language;
use super::super::voice::{Reader, Voice};
use super::messages::{Wanted, with_mentions};
use super::{Spoken, pseudo};
use scheduler::quantity::UnitSystem;
use std::collections::BTreeSet;

/// Text that would do harm were it not escaped.
const SAMPLE: &str = "Night <Heron> & Co.";
/// Telegram's HTML tags that a message may use (Bot API, "HTML style").
const TAGS: [&str; 9] = ["b", "i", "u", "s", "code", "pre", "blockquote", "tg-spoiler", "a"];
/// More combinations of samples than any message should ask for.
const COMBINATIONS_MAX: usize = 2000;

/// Every message of a language: whole, valid HTML, within the limits, and without markup where it is said plain.
pub fn check(spoken: &Spoken, plain_keys: &BTreeSet<&str>, found: &mut Vec<String>) {
    let tag = spoken.language;
    let voice = voice(spoken.language, &spoken.files);
    for key in keys(spoken) {
        let has_markup =
            |key: &String| spoken.messages.get(key).is_some_and(|message| message.text.contains(['<', '&']));
        if plain_keys.contains(key.as_str()) && has_markup(key) {
            found.push(format!("{tag}: `{key}` is said plain but has markup"));
            continue;
        }
        let problem = said(spoken, key, &voice).iter().find_map(|text| {
            text.as_ref().map_or_else(|errors| Some(format!("is not whole: {errors}")), |text| problem_of(key, text))
        });
        found.extend(problem.map(|problem| format!("{tag}: `{key}` {problem}")));
    }
}

/// Every English message in the made-up language: the same tags and arguments, and a third longer at least.
pub fn check_pseudo(english: &Spoken, found: &mut Vec<String>) {
    let files: Vec<(&str, String)> = english.files.iter().map(|(file, text)| (*file, pseudo::file(text))).collect();
    let files: Vec<(&str, &str)> = files.iter().map(|(file, text)| (*file, text.as_str())).collect();
    let (plain, made) = (voice(english.language, &english.files), voice(english.language, &files));
    for key in keys(english).filter(|key| *key != "language-formats") {
        for (before, after) in said(english, key, &plain).into_iter().zip(said(english, key, &made)) {
            let (Ok(before), Ok(after)) = (before, after) else {
                found.push(format!("pseudo: `{key}` is not whole"));
                break;
            };
            let sample = escape::html(SAMPLE);
            if tags(&before) != tags(&after) || before.matches(&sample).count() != after.matches(&sample).count() {
                found.push(format!("pseudo: `{key}` lost markup or an argument: {after}"));
            }
            let letters = |text: &str| text.replace(&sample, "").chars().filter(|c| c.is_alphabetic()).count();
            if letters(&before) >= 40 && letters(&after) * 3 < letters(&before) * 4 {
                found.push(format!("pseudo: `{key}` has text that is not in the files: {after}"));
            }
            found.extend(problem_of(key, &after).map(|problem| format!("pseudo: `{key}` {problem}")));
        }
    }
}

fn keys<'a>(spoken: &'a Spoken) -> impl Iterator<Item = &'a String> {
    spoken.messages.keys().filter(|key| !key.starts_with('-'))
}

fn voice(language: Language, files: &[(&str, &str)]) -> Voice {
    let wording = Wording::of_one(language, files).expect("the files are Fluent");
    let (units, hour_clock, zone) = (UnitSystem::Avoirdupois, HourClock::Twelve, chrono_tz::America::Chicago);
    wording.reader(Reader { language, units, hour_clock, zone })
}

/// The message with every combination of sample arguments; what Fluent found wrong as the error.
fn said(spoken: &Spoken, key: &str, voice: &Voice) -> Vec<Result<String, String>> {
    let message = with_mentions(key, &spoken.messages);
    let mut all = vec![Args::new()];
    for (name, wanted) in &message.arguments {
        // The name lives as long as the test program.
        let name: &'static str = Box::leak(name.clone().into_boxed_str());
        all = match wanted {
            Wanted::Text(choices) => {
                let texts = choices.iter().map(String::as_str).chain([SAMPLE]);
                texts.flat_map(|text| all.iter().map(move |args| args.clone().text(name, text))).collect()
            }
            Wanted::Number(exact) => {
                let numbers: BTreeSet<i64> =
                    spoken.sample_numbers().into_values().flatten().chain(exact.clone()).collect();
                numbers
                    .iter()
                    .flat_map(|number| all.iter().map(move |args| args.clone().count(name, *number)))
                    .collect()
            }
        };
        assert!(all.len() <= COMBINATIONS_MAX, "`{key}` makes too many choices at once");
    }
    all.iter()
        .map(|args| match voice.say_with_errors(key, args) {
            (text, errors) if errors.is_empty() => Ok(text),
            (_, errors) => Err(format!("{errors:?}")),
        })
        .collect()
}

fn problem_of(key: &str, html: &str) -> Option<String> {
    if let Some(problem) = problem_of_html(html) {
        return Some(format!("is not the chat's HTML: {problem}"));
    }
    // Telegram counts UTF-16 code units after its entities are read.
    let length = escape::unmarked(html).encode_utf16().count();
    let longest = longest(key);
    (length > longest).then(|| format!("is {length} long, at most {longest}"))
}

/// Bot API: sendMessage text 4096, captions 1024, BotCommand description 256. A button's label has no published
/// limit; 64 is what a phone shows whole on one row (common practice, no source).
fn longest(key: &str) -> usize {
    match key {
        _ if key.starts_with("command-") => 256,
        _ if key.starts_with("button-") => 64,
        _ if key.ends_with("-caption") => 1024,
        _ => 4096,
    }
}

fn problem_of_html(html: &str) -> Option<String> {
    let mut open = Vec::new();
    for tag in tags(html) {
        let name = tag.trim_matches(['<', '>', '/']).split(' ').next().unwrap_or_default();
        match (TAGS.contains(&name), tag.starts_with("</")) {
            (false, _) => return Some(format!("{tag} is no tag of the chat")),
            (true, false) => open.push(name),
            (true, true) if open.pop() == Some(name) => {}
            (true, true) => return Some(format!("{tag} closes nothing")),
        }
    }
    if let Some(name) = open.pop() {
        return Some(format!("<{name}> is not closed"));
    }
    let entities = ["&amp;", "&lt;", "&gt;", "&quot;"];
    let is_bare = |at: usize| !entities.iter().any(|entity| html[at..].starts_with(entity));
    html.match_indices('&').any(|(at, _)| is_bare(at)).then(|| "a bare &".to_owned())
}

/// Tags in their order.
fn tags(html: &str) -> Vec<&str> {
    html.split_inclusive('>').filter_map(|part| part.find('<').map(|at| &part[at..])).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::sync::LazyLock;

    static LANGUAGES: LazyLock<Vec<(Spoken<'static>, Voice, Vec<String>)>> = LazyLock::new(|| {
        let spoken = Language::all().map(|language| Spoken::new(language, language.files()));
        spoken
            .map(|spoken| {
                let (voice, keys) = (voice(spoken.language, &spoken.files), keys(&spoken).cloned().collect());
                (spoken, voice, keys)
            })
            .collect()
    });

    /// A message with one text for every argument that is one.
    fn with(spoken: &Spoken, (key, voice): (&str, &Voice), text: &str) -> String {
        let arguments = with_mentions(key, &spoken.messages).arguments;
        let args = arguments.iter().fold(Args::new(), |args, (name, wanted)| {
            let name: &'static str = Box::leak(name.clone().into_boxed_str());
            match wanted {
                Wanted::Text(_) => args.text(name, text),
                Wanted::Number(_) => args.count(name, 5),
            }
        });
        voice.say(key, &args)
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(4096))]

        /// Whatever somebody is called, the markup stays what the message's own is, and the name is read as it was typed.
        #[test]
        fn a_name_never_becomes_markup(
            language in any::<prop::sample::Index>(),
            key in any::<prop::sample::Index>(),
            name in "[<>&\"'/;=#a-zé\\PC]{1,40}",
        ) {
            let (spoken, voice, keys) = &LANGUAGES[language.index(LANGUAGES.len())];
            let key = &keys[key.index(keys.len())];
            let (plain, named) = (with(spoken, (key, voice), "x"), with(spoken, (key, voice), &name));
            prop_assert_eq!(tags(&plain), tags(&named));
            prop_assert_eq!(problem_of_html(&named), None);
            if plain.contains('x') && with(spoken, (key, voice), "y") != plain {
                prop_assert!(escape::unmarked(&named).contains(&escape::clean(&name)), "{}: {}", key, named);
            }
        }
    }
}
