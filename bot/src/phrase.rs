//! Free text into typed phrases, one vocabulary and set of forms a language.
//!
//! The rule kept here: what is ambiguous is asked about, never guessed, and a word that was not understood is never
//! dropped if it could change the meaning. A reading is a value; nothing is stored or sent from here.

mod amounts;
mod chunks;
pub mod courtesy;
mod dates;
mod limits;
mod lines;
mod meaning;
pub mod naming;
mod readers;
mod tokens;
mod vocabulary;
mod words;

#[cfg(test)]
mod tests;

pub use limits::broken_limit;
pub use readers::{KeptReaders, Readers};
pub use tokens::folded;
pub use words::{Error as WordsError, Words};

use chrono::Weekday;
use scheduler::clock::LocalDate;
use scheduler::quantity::{Amount, Grams, UnitSystem, WeightUnit};

/// The longest text that is read, in characters. Ours: an order of ten crops fits three times over.
pub const TEXT_CHARACTERS_MOST: usize = 500;
/// The largest weight of one line. Ours: many times a small farm's weekly crop, so only a slip exceeds it.
pub const LINE_MOST: Grams = Grams::new(200_000);
/// The least weight of one line. Ours: under an ounce nothing is packed.
pub const LINE_LEAST: Grams = Grams::new(20);
/// The most blocks or bags in one report. Ours.
pub const UNITS_MOST: i64 = 10_000;
/// How far ahead a date may lie, in days.
pub const AHEAD_DAYS_MOST: i64 = 400;

/// Words people use for one crop.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CropWords {
    /// The crop's key, such as `shiitake`.
    pub key: String,
    /// Names and synonyms, any case, accents optional, one or several words each; a language may bring its own beside these.
    pub words: Vec<String>,
}

/// Which of day and month is written first in "3/5".
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum DayMonthOrder {
    DayFirst,
    MonthFirst,
}

/// What a reading depends on beside the text.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Context {
    /// The day on which the text was written, in the farm's zone.
    pub today: LocalDate,
    /// What a bare number means: pounds or kilograms; `None` asks.
    pub unit_default: Option<UnitSystem>,
    /// How this person writes "3/5"; `None` asks when both are possible.
    pub day_month_order: Option<DayMonthOrder>,
    /// The day taken for a standing order that names none.
    pub delivery_weekday: Option<Weekday>,
}

/// What a text was read as.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Reading {
    Understood(Phrase),
    /// Something must be asked before anything is done.
    Unclear(Question),
    /// Nothing in the text is known here: small talk, another script, an empty message.
    Nothing,
}

/// What a person wants or reports.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Phrase {
    /// "5 lb shiitake and 2 oyster for Thursday".
    Order {
        lines: Vec<Line>,
        when: Option<When>,
    },
    /// "every other Thursday 3 kg oyster from June"; `every_weeks` is 1–52, `until` is the last day wanted.
    Standing {
        lines: Vec<Line>,
        every_weeks: u8,
        weekdays: Vec<Weekday>,
        from: Option<LocalDate>,
        until: Option<LocalDate>,
    },
    /// "same as last week".
    SameAsLast {
        when: Option<When>,
    },
    /// "skip next week"; with a crop, only that one.
    Skip {
        when: Option<When>,
        crop: Option<String>,
    },
    /// "make it 3 lb oyster on Thursday".
    Change {
        lines: Vec<Line>,
        when: Option<When>,
    },
    /// "no oyster this time".
    NoCrop {
        crop: String,
        when: Option<When>,
    },
    /// "pause until June 3"; `until` is the first day wanted again.
    Pause {
        until: Option<LocalDate>,
    },
    /// "start again"; `from` is the first day wanted.
    Resume {
        from: Option<LocalDate>,
    },
    /// "end my standing order", "no more oyster".
    EndStanding {
        crop: Option<String>,
    },
    /// "cancel Thursday's order".
    Cancel {
        when: Option<When>,
    },
    /// "picked 4 lb shiitake"; `on` is today or before.
    Pick {
        lines: Vec<Line>,
        batch: Option<String>,
        on: Option<LocalDate>,
    },
    /// "picked 4 lb from batch 12": the batch tells the crop.
    PickFromBatch {
        weight: Weight,
        batch: String,
        on: Option<LocalDate>,
    },
    /// "pins on batch 12".
    PinsSeen {
        crop: Option<String>,
        batch: Option<String>,
        on: Option<LocalDate>,
    },
    /// "lost 3 blocks of shiitake".
    Lost {
        units: i64,
        crop: Option<String>,
        batch: Option<String>,
        on: Option<LocalDate>,
    },
    /// "soaked 10 shiitake"; without units a whole batch, which is then named: "soaked batch 12".
    Soaked {
        units: Option<i64>,
        crop: Option<String>,
        batch: Option<String>,
        on: Option<LocalDate>,
    },
    /// "opened 6 bags", or a whole batch as above.
    Opened {
        units: Option<i64>,
        crop: Option<String>,
        batch: Option<String>,
        on: Option<LocalDate>,
    },
    /// "back with 4 lb oyster, 1 shiitake".
    MarketReturn {
        lines: Vec<Line>,
        on: Option<LocalDate>,
    },
    /// "dropped off 12 lb oyster at 38 F".
    HandedOver {
        lines: Vec<Line>,
        temperature: Option<Temperature>,
        on: Option<LocalDate>,
    },
    /// "cold room: 12 lb oyster, 3 lb shiitake": what was counted there.
    Stock {
        lines: Vec<Line>,
    },
    /// "threw away 2 lb oyster".
    ThrownAway {
        lines: Vec<Line>,
    },
    Yes,
    No,
    Help,
    ShowOrders,
    /// "today": the family's screen of the day, or the day itself where a date was asked for.
    Today,
    /// A weight alone, as an answer to "how much?".
    Weight(Weight),
    /// A day alone, as an answer to "when?".
    Date(When),
}

/// A crop and how much of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line {
    /// The crop's key.
    pub crop: String,
    pub weight: Weight,
}

/// A weight in grams beside what was typed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Weight {
    /// [`LINE_LEAST`] to [`LINE_MOST`].
    pub grams: Grams,
    /// The number typed, in lowest terms; "2 lb 4 oz" is 36 ounces.
    pub amount: Amount,
    pub unit: WeightUnit,
}

/// The day a phrase is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum When {
    On(LocalDate),
    /// The week that begins on this Monday.
    Week(LocalDate),
    NextDelivery,
}

/// A temperature as typed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Temperature {
    pub tenths: i32,
    pub scale: TemperatureScale,
}

/// The scale of a temperature.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum TemperatureScale {
    Celsius,
    Fahrenheit,
}

/// What has to be asked, with what the question needs.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Question {
    /// The text is longer than [`TEXT_CHARACTERS_MOST`].
    TooLong {
        limit: usize,
    },
    /// A weight without a unit.
    UnitMissing {
        amount: Amount,
    },
    /// Zero, negative, or under the limit.
    TooLittle {
        limit: Grams,
    },
    TooMuch {
        limit: Grams,
    },
    /// No block or bag, or more than the limit.
    UnitsOutOfRange {
        limit: i64,
    },
    /// The number can be read as either of these weights ("10.000 g").
    WhichWeight {
        candidates: Vec<Weight>,
    },
    UnknownCrop {
        word: String,
    },
    WeightMissing {
        crop: String,
    },
    CropMissing,
    /// The same crop twice.
    CropTwice {
        crop: String,
    },
    /// How many blocks or bags.
    UnitsMissing,
    WhichDate {
        candidates: Vec<LocalDate>,
    },
    DateInPast {
        date: LocalDate,
    },
    DateTooFar {
        days: i64,
    },
    /// 30 February, or a date that is another weekday than the one typed.
    NoSuchDate,
    /// Celsius or Fahrenheit.
    WhichScale,
    /// The text asks something; it orders nothing.
    IsQuestion,
    /// Two different wishes in one text.
    SeveralWishes,
    /// The wish is clear, its object is not ("skip two weeks", "order").
    Incomplete,
    /// Words that were not understood and could change the meaning; empty when known words stand out of place.
    NotUnderstood {
        words: Vec<String>,
    },
}

/// Reads the texts of one language with one farm's crops.
#[derive(Debug)]
pub struct Reader {
    vocabulary: vocabulary::Vocabulary,
}

impl Reader {
    /// A reader of these words that knows `crops`.
    pub fn new(words: &Words, crops: &[CropWords]) -> Reader {
        Reader { vocabulary: vocabulary::Vocabulary::new(words, crops) }
    }

    /// Reads one text. Never panics; equal arguments give equal readings.
    pub fn read(&self, text: &str, context: &Context) -> Reading {
        self.read_with_numbers_of(self, text, context)
    }

    /// Reads one text whose numbers are written as in the language of `numbers`.
    fn read_with_numbers_of(&self, numbers: &Reader, text: &str, context: &Context) -> Reading {
        if text.chars().count() > TEXT_CHARACTERS_MOST {
            return Reading::Unclear(Question::TooLong { limit: TEXT_CHARACTERS_MOST });
        }
        let terms = self.vocabulary.terms(&tokens::tokens(text), numbers.vocabulary.habits);
        let chunks = chunks::chunks(&terms);
        meaning::reading(&chunks, context, self.vocabulary.crop_keys())
    }
}
