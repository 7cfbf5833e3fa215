//! Holds the wording files, the languages and the calls together: same keys and arguments in every language, every plural
//! form there, every message whole with sample arguments and within the chat's limits, no key unknown, none unused.
//!
//! The check returns what is wrong as lines, so that it can itself be checked on broken samples.

mod messages;
mod played;
mod pseudo;
mod published;
mod reading;
mod render;
mod source;

use super::languages::{LOCALES, Language};
use icu_locale_core::Locale;
use icu_plurals::{PluralCategory, PluralRules, PluralRulesOptions};
use messages::{Message, Wanted, messages, with_mentions};
use source::{Call, Token};
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use std::{fs, io};

/// One language's files, and all its messages by key.
struct Spoken<'a> {
    language: Language,
    files: Vec<(&'a str, &'a str)>,
    messages: BTreeMap<String, Message>,
}

/// One file of the program, tokenised.
struct Source {
    path: String,
    tokens: Vec<Token>,
}

impl<'a> Spoken<'a> {
    fn new(language: Language, files: &[(&'a str, &'a str)]) -> Spoken<'a> {
        let messages = files.iter().flat_map(|(_, text)| messages(text)).collect();
        Spoken { language, files: files.to_vec(), messages }
    }

    fn plural_rules(&self) -> PluralRules {
        let name = self.messages.get("language-formats").map(|message| message.text.clone()).unwrap_or_default();
        let locale: Locale = name.parse().expect("the catalogue's tests read the locale");
        PluralRules::try_new(locale.into(), PluralRulesOptions::default()).expect("CLDR knows the locale")
    }

    /// Two numbers of each plural form that whole numbers up to a thousand take.
    fn sample_numbers(&self) -> BTreeMap<String, Vec<i64>> {
        let rules = self.plural_rules();
        let mut samples: BTreeMap<String, Vec<i64>> = BTreeMap::new();
        for number in 0..=1000_i64 {
            let of_form = samples.entry(name(rules.category_for(number.unsigned_abs()))).or_default();
            if of_form.len() < 2 {
                of_form.push(number);
            }
        }
        samples
    }
}

fn name(category: PluralCategory) -> String {
    format!("{category:?}").to_lowercase()
}

fn problems(languages: &[Spoken], sources: &[Source]) -> Vec<String> {
    let english = languages.iter().find(|spoken| spoken.language == Language::ENGLISH).expect("English is on board");
    let mut found = Vec::new();
    for spoken in languages {
        compare(english, spoken, &mut found);
        missing_forms(spoken, &mut found);
    }
    let calls: Vec<Call> = sources.iter().flat_map(|source| source::calls(&source.path, &source.tokens)).collect();
    for call in &calls {
        check_call(call, english, &mut found);
    }
    unused(english, sources, &mut found);
    if found.is_empty() {
        let plain_keys: BTreeSet<&str> = calls
            .iter()
            .filter(|call| matches!(call.method.as_str(), "plain" | "word"))
            .flat_map(|call| call.keys.iter().map(String::as_str))
            .collect();
        languages.iter().for_each(|spoken| render::check(spoken, &plain_keys, &mut found));
        render::check_pseudo(english, &mut found);
    }
    found
}

/// Same keys, and the same arguments of the same kind, as in English.
fn compare(english: &Spoken, other: &Spoken, found: &mut Vec<String>) {
    let tag = other.language;
    for key in english.messages.keys().filter(|key| !key.starts_with('-')) {
        if !other.messages.contains_key(key) {
            found.push(format!("{tag}: `{key}` is missing"));
            continue;
        }
        // What a message is made of counts: a language may need another form of a word than English.
        let names = |spoken: &Spoken| with_mentions(key, &spoken.messages).arguments.into_keys().collect::<Vec<_>>();
        let (wanted, given) = (names(english), names(other));
        if wanted != given {
            found.push(format!("{tag}: `{key}` uses {given:?}, in English {wanted:?}"));
        }
    }
    for key in other.messages.keys().filter(|key| !key.starts_with('-') && !english.messages.contains_key(*key)) {
        found.push(format!("{tag}: `{key}` is not in English"));
    }
    for (key, message) in &other.messages {
        for mention in message.mentions.iter().filter(|mention| !other.messages.contains_key(*mention)) {
            found.push(format!("{tag}: `{key}` is made of `{mention}`, which does not exist"));
        }
    }
}

/// A choice by number has every form its language's whole numbers take; the default may stand for one of them.
fn missing_forms(spoken: &Spoken, found: &mut Vec<String>) {
    let needed: Vec<String> = spoken.sample_numbers().into_keys().collect();
    for (key, message) in &spoken.messages {
        for choice in &message.plural_choices {
            let missing: Vec<&String> = needed.iter().filter(|form| !choice.contains(*form)).collect();
            let default_stands_in = missing.as_slice() == ["many"] && choice.contains("other");
            if !missing.is_empty() && !default_stands_in {
                found.push(format!("{}: `{key}` lacks the plural forms {missing:?}", spoken.language));
            }
        }
    }
}

fn check_call(call: &Call, english: &Spoken, found: &mut Vec<String>) {
    for key in &call.keys {
        if !english.messages.contains_key(key) {
            found.push(format!("{}: `{key}` is no message", call.path));
            continue;
        }
        let Some(args) = &call.args else { continue };
        for (wanted, kind) in with_mentions(key, &english.messages).arguments {
            match args.iter().find(|(_, name)| *name == wanted) {
                None => found.push(format!("{}: `{key}` is not told `{wanted}`", call.path)),
                Some((method, _)) if matches!(kind, Wanted::Number(_)) && method != "count" => {
                    found.push(format!("{}: `{key}` chooses by `{wanted}`, which must be a count", call.path));
                }
                Some(_) => {}
            }
        }
    }
}

fn unused(english: &Spoken, sources: &[Source], found: &mut Vec<String>) {
    let mut used: BTreeSet<String> = sources.iter().flat_map(|source| source::texts(&source.tokens)).collect();
    used.extend(english.messages.values().flat_map(|message| message.mentions.iter().cloned()));
    for key in english.messages.keys().filter(|key| !used.contains(*key)) {
        found.push(format!("`{key}` is said nowhere"));
    }
}

fn program() -> Vec<Source> {
    let mut sources = Vec::new();
    read_sources(&Path::new(env!("CARGO_MANIFEST_DIR")).join("src"), &mut sources)
        .expect("the program's source is there");
    sources
}

fn read_sources(folder: &Path, sources: &mut Vec<Source>) -> io::Result<()> {
    for entry in fs::read_dir(folder)? {
        let path = entry?.path();
        if path.is_dir() && !path.ends_with("wording/check") {
            read_sources(&path, sources)?;
        } else if path.extension().is_some_and(|kind| kind == "rs") && !path.ends_with("wording/check.rs") {
            let tokens = source::tokens(&fs::read_to_string(&path)?);
            sources.push(Source { path: path.display().to_string(), tokens });
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_wording_and_the_program_agree() {
        let languages: Vec<Spoken> = Language::all().map(|language| Spoken::new(language, language.files())).collect();
        assert_eq!(languages.len(), LOCALES.len());
        let sources = program();
        let found = problems(&languages, &sources);
        assert!(found.is_empty(), "\n{}\n", found.join("\n"));
        reading::keep(&reading::page(&languages, &sources));
    }

    fn found(english: &str, polish: &str, source: &str) -> Vec<String> {
        let formats = |locale: &str, text: &str| format!("language-formats = {locale}\n{text}");
        let (english, polish) = (formats("en-US", english), formats("pl", polish));
        let spoken = |tag: &str, text| Spoken::new(Language::from_code(tag).expect("on board"), &[("a.ftl", text)]);
        let source = format!("(\"language-formats\") {source}");
        let source = Source { path: "a.rs".to_owned(), tokens: source::tokens(&source) };
        problems(&[spoken("en", &english), spoken("pl", &polish)], &[source])
    }

    /// Each way to be wrong is found, and nothing else is.
    #[test]
    fn what_is_wrong_is_found() {
        let counted = "a = { $n ->\n    [one] { $n } x\n   *[other] { $n } y\n}\n";
        let counted_polish = "a = { $n ->\n    [one] { $n } x\n    [few] { $n } y\n   *[other] { $n } z\n}\n";
        let long = format!("a-caption = {}\n", "x".repeat(1025));
        for (english, polish, source, expected) in [
            ("a = x\n", "a = x\n", r#"v.say("a", &no)"#, &[][..]),
            (counted, counted_polish, r#"v.say("a", &Args::new().count("n", 1))"#, &[]),
            ("a = x\n", "", r#"v.say("a", &no)"#, &["pl: `a` is missing"]),
            ("a = x\n", "a = x\nb = y\n", r#"v.say("a", &no)"#, &["pl: `b` is not in English"]),
            ("a = { $x }\n", "a = { $y }\n", r#"v.say("a", &no)"#, &[r#"pl: `a` uses ["y"], in English ["x"]"#]),
            ("a = x\n", "a = { b }\n", r#"v.say("a", &no)"#, &["pl: `a` is made of `b`, which does not exist"]),
            (counted, counted, r#"v.say("a", &no)"#, &[r#"pl: `a` lacks the plural forms ["few", "many"]"#]),
            ("a = x\n", "a = x\n", r#"v.say("a", &no); v.say("b", &no)"#, &["a.rs: `b` is no message"]),
            ("a = x\n", "a = x\n", r#"v.say("a", &no); f(key("b"))"#, &["a.rs: `b` is no message"]),
            ("a = { $x }\n", "a = { $x }\n", r#"v.say("a", &Args::new())"#, &["a.rs: `a` is not told `x`"]),
            (
                counted,
                counted_polish,
                r#"v.say("a", &Args::new().text("n", x))"#,
                &["a.rs: `a` chooses by `n`, which must be a count"],
            ),
            ("a = x\n", "a = x\n", "", &["`a` is said nowhere"]),
            ("a = x\n", "a = <b>x\n", r#"v.say("a", &no)"#, &["pl: `a` is not the chat's HTML: <b> is not closed"]),
            ("a = x\n", "a = x & y\n", r#"v.say("a", &no)"#, &["pl: `a` is not the chat's HTML: a bare &"]),
            ("a = x\n", "a = <b>x</b>\n", r#"v.plain("a", &no)"#, &["pl: `a` is said plain but has markup"]),
            (&long, "a-caption = x\n", r#"v.say("a-caption", &no)"#, &["en: `a-caption` is 1025 long, at most 1024"]),
        ] {
            let found = found(english, polish, source);
            let known = |problem: &&String| !problem.starts_with("pseudo");
            assert_eq!(found.iter().filter(known).collect::<Vec<_>>(), expected, "{english} | {polish} | {source}");
        }
    }

    #[test]
    fn polish_numbers_take_three_forms() {
        let polish = Language::from_code("pl").expect("on board");
        let samples = Spoken::new(polish, polish.files()).sample_numbers();
        assert_eq!(samples.into_keys().collect::<Vec<_>>(), ["few", "many", "one"]);
    }
}
