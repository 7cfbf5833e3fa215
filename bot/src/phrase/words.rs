//! What the words of one language stand for, read once from its `words.toml`: adding a folder under `locales/` adds a
//! language that is also read.

use super::TemperatureScale;
use super::tokens::folded;
use super::vocabulary::{Clock, Feast, Term, Verb};
use crate::wording;
use chrono::Weekday;
use scheduler::quantity::{Amount, WeightUnit};
use serde::Deserialize;
use serde::de::IntoDeserializer;
use serde::de::value::{Error as NoVariant, StrDeserializer};
use std::collections::{BTreeMap, HashMap};
use std::sync::{Arc, LazyLock};

/// Why a language's words could not be read.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    #[error("{0}")]
    Malformed(#[from] toml::de::Error),
    #[error("[{section}] has no entry called {key:?}")]
    Unknown { section: String, key: String },
    #[error("{way:?} is listed twice: as {first} and as {second}")]
    Twice { way: String, first: String, second: String },
}

/// How a language writes numbers and plurals.
#[derive(Clone, Copy, Debug, Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub(super) struct Habits {
    pub(super) point: Point,
    /// Whether "3.5" may be a date.
    pub(super) dotted_dates: bool,
    /// Whether crops' names have a plural in -s.
    plurals_in_s: bool,
}

/// What a point or comma before exactly three digits is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub(super) enum Point {
    /// A point parts decimals, a comma thousands.
    Decimal,
    /// Either is written for either, so both readings stand.
    Either,
}

/// The words of one language.
#[derive(Debug)]
pub struct Words {
    pub(super) habits: Habits,
    /// What each way of saying something stands for, folded.
    pub(super) ways: Vec<(String, Term)>,
    crops: BTreeMap<String, Vec<String>>,
}

type Section = BTreeMap<String, Vec<String>>;

/// A `words.toml` as it is written.
#[derive(Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
struct File {
    reading: Habits,
    wish: Section,
    number: Section,
    #[serde(default)]
    ordinal: Section,
    #[serde(default)]
    part: Section,
    #[serde(default)]
    parts: Section,
    unit: Section,
    #[serde(default)]
    one_unit: Section,
    weekday: Section,
    #[serde(default)]
    weekdays: Section,
    month: Section,
    near: Section,
    #[serde(default)]
    feast: Section,
    #[serde(default)]
    clock: Section,
    #[serde(default)]
    weekly: Section,
    #[serde(default)]
    scale: Section,
    word: Section,
    #[serde(default)]
    crop: Section,
}

static EMBEDDED: LazyLock<HashMap<wording::Language, Arc<Words>>> = LazyLock::new(|| {
    let read = |language: wording::Language| {
        let words = Words::parse(language.words());
        (language, Arc::new(words.unwrap_or_else(|error| panic!("locales/{language}/words.toml: {error}"))))
    };
    wording::Language::all().map(read).collect()
});

impl Words {
    /// The words built in for a language.
    pub fn of(language: wording::Language) -> Arc<Words> {
        Arc::clone(&EMBEDDED[&language])
    }

    /// The words of every language built in.
    pub fn all() -> impl Iterator<Item = (wording::Language, Arc<Words>)> {
        wording::Language::all().map(|language| (language, Words::of(language)))
    }

    /// Reads a `words.toml`.
    ///
    /// # Errors
    /// When the text is not TOML, names a term nobody knows, or lists a way of saying something twice.
    pub fn parse(text: &str) -> Result<Words, Error> {
        let file: File = toml::from_str(text)?;
        let mut words = Words { habits: file.reading, ways: Vec::new(), crops: file.crop };
        let sections = [
            ("wish", file.wish),
            ("number", file.number),
            ("ordinal", file.ordinal),
            ("part", file.part),
            ("parts", file.parts),
            ("unit", file.unit),
            ("one-unit", file.one_unit),
            ("weekday", file.weekday),
            ("weekdays", file.weekdays),
            ("month", file.month),
            ("near", file.near),
            ("feast", file.feast),
            ("clock", file.clock),
            ("weekly", file.weekly),
            ("scale", file.scale),
            ("word", file.word),
        ];
        let mut seen: HashMap<String, (&str, Term)> = HashMap::new();
        for (section, entries) in sections {
            for (key, ways) in entries {
                for way in ways {
                    let unknown = || Error::Unknown { section: section.to_owned(), key: key.clone() };
                    let (way, term) = (folded(&way), term(section, &key, &way).ok_or_else(unknown)?);
                    match seen.get(&way) {
                        None => {
                            seen.insert(way.clone(), (section, term.clone()));
                        }
                        // An inflected form may name one day and all of them: the one day wins, and a slip is asked about.
                        Some(("weekday", _)) if section == "weekdays" => {}
                        Some((_, first)) if *first == term => {}
                        Some((first_section, first)) => {
                            let first = format!("[{first_section}] {first:?}");
                            return Err(Error::Twice { way, first, second: format!("[{section}] {key}") });
                        }
                    }
                    words.ways.push((way, term));
                }
            }
        }
        Ok(words)
    }

    /// Folded names of a crop with this key, beside `given`, the names that the farm gives it.
    pub(super) fn crop_names(&self, key: &str, given: &[String]) -> Vec<String> {
        let mut names: Vec<String> = given.iter().map(|name| folded(name)).collect();
        names.push(folded(key));
        if self.habits.plurals_in_s {
            let plurals: Vec<String> =
                names.iter().filter(|name| !name.ends_with('s')).map(|name| format!("{name}s")).collect();
            names.extend(plurals);
        }
        names.extend(self.crops.get(key).into_iter().flatten().map(|name| folded(name)));
        names
    }
}

/// What an entry of a section stands for; `way` is the text itself.
fn term(section: &str, key: &str, way: &str) -> Option<Term> {
    Some(match section {
        "wish" => Term::Verb(variant::<Verb>(key)?),
        "number" => Term::Number(key.parse().ok()?),
        "ordinal" => Term::Ordinal(key.parse().ok()?),
        "part" => Term::Part(part(key)?),
        "parts" => Term::Parts(part(key)?),
        "unit" => {
            let (count, name) = key.split_once('-').unwrap_or(("1", key));
            Term::Unit(unit(name)?, count.parse().ok()?)
        }
        "one-unit" => Term::OneUnit(unit(key)?),
        "weekday" => Term::Weekday(key.parse::<Weekday>().ok()?),
        "weekdays" => Term::Weekdays(key.parse::<Weekday>().ok()?),
        "month" => Term::Month(key.parse().ok().filter(|month| (1..=12).contains(month))?),
        "near" => Term::Near(key.parse().ok()?),
        "feast" => Term::Feast(variant::<Feast>(key)?),
        "clock" => Term::Clock(variant::<Clock>(key)?),
        "weekly" => Term::Weekly(key.parse().ok()?),
        "scale" => Term::Scale(variant::<TemperatureScale>(key)?),
        "word" => word(key, way)?,
        _ => return None,
    })
}

/// A variant of an enum by its name in kebab case.
fn variant<'de, T: Deserialize<'de>>(name: &'de str) -> Option<T> {
    let name: StrDeserializer<'de, NoVariant> = name.into_deserializer();
    T::deserialize(name).ok()
}

fn part(text: &str) -> Option<Amount> {
    let (numerator, denominator) = text.split_once('/')?;
    Some(Amount { numerator: numerator.parse().ok()?, denominator: denominator.parse().ok()? })
}

fn unit(name: &str) -> Option<WeightUnit> {
    Some(match name {
        "gram" => WeightUnit::Gram,
        "kilogram" => WeightUnit::Kilogram,
        "ounce" => WeightUnit::Ounce,
        "pound" => WeightUnit::Pound,
        _ => return None,
    })
}

fn word(key: &str, way: &str) -> Option<Term> {
    Some(match key {
        "and" => Term::And,
        "apiece" => Term::Apiece,
        "asking" => Term::Asking,
        "at" => Term::At,
        "batch" => Term::Batch,
        "but" => Term::But(way.to_owned()),
        "by" => Term::By,
        "courtesy" => Term::Courtesy,
        "day-part" => Term::DayPart,
        "days" => Term::Days,
        "degree" => Term::Degree,
        "doubt" => Term::Doubt(way.to_owned()),
        "each" => Term::Each,
        "end-of" => Term::EndOf,
        "every" => Term::Every,
        "except" => Term::Except(way.to_owned()),
        "for" => Term::For,
        "for-me" => Term::ForMe,
        "from" => Term::From,
        "further" => Term::Further,
        "in" => Term::In,
        "instead" => Term::Instead(way.to_owned()),
        "instead-of" => Term::InsteadOf,
        "minutes" => Term::Minutes,
        "months" => Term::Months,
        "mushroom" => Term::Mushroom,
        "next" => Term::Next,
        "next-delivery" => Term::NextDelivery,
        "nth" => Term::Nth,
        "of" => Term::Of,
        "one" => Term::One,
        "one-and-half" => Term::OneAndHalf,
        "or" => Term::Or(way.to_owned()),
        "other" => Term::Other,
        "piece" => Term::Piece,
        "plus" => Term::Plus,
        "polite" => Term::Polite,
        "question" => Term::Question,
        "standing" => Term::Standing,
        "the" => Term::The,
        "the-many" => Term::TheMany,
        "this" => Term::This,
        "time-lead" => Term::TimeLead(way.to_owned()),
        "to" => Term::To,
        // Known, and known to be nothing else.
        "twin" => Term::Word(way.to_owned()),
        "until" => Term::Until,
        "waste" => Term::Waste(way.to_owned()),
        "week" => Term::Week,
        _ => return None,
    })
}
