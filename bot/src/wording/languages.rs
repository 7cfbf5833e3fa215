//! The languages on board: one folder of `locales/` each.

use std::fmt;

include!(concat!(env!("OUT_DIR"), "/locales.rs"));

/// A language with a folder in `locales/`; its tag is the folder's name.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Language(&'static str);

impl Language {
    /// The language every message is written in first, and that stands in for a missing one.
    pub const ENGLISH: Language = Language("en");

    /// Every language, by tag.
    pub fn all() -> impl Iterator<Item = Language> {
        LOCALES.iter().map(|(tag, _, _)| Language(tag))
    }

    /// The tag, as stored: "en", "es".
    pub fn tag(self) -> &'static str {
        self.0
    }

    /// The language of an IETF tag such as a chat's `language_code`: "es-MX" and "ES_mx" are Spanish; `None` when we
    /// do not speak it.
    pub fn from_code(code: &str) -> Option<Language> {
        let whole = code.trim().replace('_', "-").to_ascii_lowercase();
        let primary = whole.split('-').next().unwrap_or_default();
        let find = |wanted: &str| Language::all().find(|language| language.0.eq_ignore_ascii_case(wanted));
        find(&whole).or_else(|| find(primary))
    }

    /// The language of a chat's `language_code` if it has one we speak, else `fallback`.
    pub fn of_chat(code: Option<&str>, fallback: Language) -> Language {
        code.and_then(Language::from_code).unwrap_or(fallback)
    }

    /// Names and texts of this language's files.
    pub(super) fn files(self) -> &'static [(&'static str, &'static str)] {
        LOCALES.iter().find(|(tag, _, _)| *tag == self.0).map_or(&[], |(_, files, _)| files)
    }

    /// The text of this language's `words.toml`: what people's words stand for.
    pub fn words(self) -> &'static str {
        LOCALES.iter().find(|(tag, _, _)| *tag == self.0).map_or("", |(_, _, words)| words)
    }
}

impl fmt::Display for Language {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_of_chats_find_their_language() {
        for (code, expected) in [
            (Some("es-MX"), "es"),
            (Some("ES_us"), "es"),
            (Some("pl"), "pl"),
            (Some("en-GB"), "en"),
            (Some("ja"), "en"),
            (Some(""), "en"),
            (None, "en"),
        ] {
            assert_eq!(Language::of_chat(code, Language::ENGLISH).tag(), expected, "{code:?}");
        }
    }

    #[test]
    fn english_is_on_board() {
        assert!(Language::all().any(|language| language == Language::ENGLISH));
    }
}
