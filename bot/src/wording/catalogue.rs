//! The messages of every language, parsed once at start. A language that cannot be read stops the start; a key missing later
//! does not stop anything.

use super::dates::{Dates, HourClock};
use super::languages::Language;
use super::numbers::{Numbers, write_count};
use super::voice::{Reader, Voice};
use fluent::concurrent::FluentBundle;
use fluent::{FluentArgs, FluentError, FluentResource};
use icu_locale_core::Locale;
use std::sync::Arc;
use unic_langid::LanguageIdentifier;

/// Why a language could not be read.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    #[error("locales/{language}/{file} is not Fluent: {detail}")]
    Syntax { language: String, file: String, detail: String },
    #[error("locales/{language}/{file} defines a message again: {detail}")]
    Again { language: String, file: String, detail: String },
    #[error("locales/{language} names no usable CLDR locale in `language-formats`: {detail}")]
    Formats { language: String, detail: String },
}

/// One language's messages and formatters.
pub(super) struct Room {
    bundle: FluentBundle<Arc<FluentResource>>,
    pub(super) numbers: Numbers,
    pub(super) dates: Dates,
}

/// Every language on board. Cheap to clone.
#[derive(Clone)]
pub struct Wording(Arc<Vec<(Language, Room)>>);

impl Wording {
    /// The wording built into the program.
    ///
    /// # Errors
    /// When a file is not Fluent, a message is defined twice, or a language's CLDR locale is unknown.
    pub fn embedded() -> Result<Wording, Error> {
        let rooms = Language::all().map(|language| Ok((language, Room::new(language.tag(), language.files())?)));
        Ok(Wording(Arc::new(rooms.collect::<Result<_, Error>>()?)))
    }

    /// The voice that speaks to `reader`.
    pub fn reader(&self, reader: Reader) -> Voice {
        Voice::new(self.clone(), reader)
    }

    /// The clock that readers of a language are used to.
    pub fn habitual_clock(&self, language: Language) -> HourClock {
        self.room(language).dates.habit()
    }

    /// One language alone, from texts that are not built in.
    #[cfg(test)]
    pub(super) fn of_one(language: Language, files: &[(&str, &str)]) -> Result<Wording, Error> {
        Ok(Wording(Arc::new(vec![(language, Room::new(language.tag(), files)?)])))
    }

    /// The language's room, else English's, else the first.
    pub(super) fn room(&self, language: Language) -> &Room {
        let find = |wanted| self.0.iter().find(|(language, _)| *language == wanted);
        let (_, room) = find(language).or_else(|| find(Language::ENGLISH)).unwrap_or(&self.0[0]);
        room
    }
}

impl Room {
    fn new(language: &str, files: &[(&str, &str)]) -> Result<Room, Error> {
        let mut resources = Vec::new();
        for (file, text) in files {
            let resource = FluentResource::try_new((*text).to_owned()).map_err(|(_, errors)| Error::Syntax {
                language: language.to_owned(),
                file: (*file).to_owned(),
                detail: joined(&errors),
            })?;
            resources.push(((*file).to_owned(), Arc::new(resource)));
        }
        let formats = |detail: String| Error::Formats { language: language.to_owned(), detail };
        // The locale for formats is itself a message, so a first bundle is asked for it.
        let tag = language.parse().map_err(|error| formats(format!("{error}")))?;
        let name = message(&bundle(language, tag, &resources)?, "language-formats", None)
            .map(|(name, _)| name)
            .ok_or_else(|| formats("no such message".to_owned()))?;
        let locale: Locale = name.parse().map_err(|error| formats(format!("{name}: {error}")))?;
        let tag = name.parse().map_err(|error| formats(format!("{name}: {error}")))?;
        Ok(Room {
            bundle: bundle(language, tag, &resources)?,
            numbers: Numbers::new(&locale).map_err(formats)?,
            dates: Dates::new(&locale).map_err(|detail| Error::Formats { language: language.to_owned(), detail })?,
        })
    }

    /// The message with its arguments, and what went wrong in it; `None` when there is no such message.
    pub(super) fn message(&self, key: &str, args: &FluentArgs) -> Option<(String, Vec<FluentError>)> {
        message(&self.bundle, key, Some(args))
    }
}

fn bundle(
    language: &str,
    locale: LanguageIdentifier,
    resources: &[(String, Arc<FluentResource>)],
) -> Result<FluentBundle<Arc<FluentResource>>, Error> {
    let mut bundle = FluentBundle::new_concurrent(vec![locale]);
    bundle.set_use_isolating(false);
    bundle.set_formatter(Some(write_count));
    for (file, resource) in resources {
        bundle.add_resource(resource.clone()).map_err(|errors| Error::Again {
            language: language.to_owned(),
            file: file.clone(),
            detail: joined(&errors),
        })?;
    }
    Ok(bundle)
}

fn message(
    bundle: &FluentBundle<Arc<FluentResource>>,
    key: &str,
    args: Option<&FluentArgs>,
) -> Option<(String, Vec<FluentError>)> {
    let pattern = bundle.get_message(key)?.value()?;
    let mut errors = Vec::new();
    let text = bundle.format_pattern(pattern, args, &mut errors).into_owned();
    Some((text, errors))
}

fn joined<E: ToString>(errors: &[E]) -> String {
    errors.iter().map(ToString::to_string).collect::<Vec<_>>().join("; ")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn refused(text: &str) -> String {
        Wording::of_one(Language::ENGLISH, &[("general.ftl", text)])
            .map(|_| ())
            .expect_err("must be refused")
            .to_string()
    }

    #[test]
    fn a_broken_language_stops_the_start() {
        assert!(refused("language-formats = en-US\nbroken = { $n -> [one] x }\n").contains("is not Fluent"));
        assert!(refused("language-formats = en-US\na = 1\na = 2\n").contains("again"));
        assert!(refused("a = 1\n").contains("no such message"));
        assert!(refused("language-formats = no such\n").contains("no usable CLDR locale"));
    }
}
