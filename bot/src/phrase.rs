//! Free text into typed phrases, one vocabulary and set of forms a language.
//!
//! The rule kept here: what is ambiguous is asked about, never guessed, and a word that was not understood is never
//! dropped if it could change the meaning. A reading is a value; nothing is stored or sent from here.

mod amounts;
mod chunks;
pub mod courtesy;
mod dates;
mod guess;
mod limits;
mod lines;
mod meaning;
pub mod naming;
mod parts;
mod readers;
mod swap;
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
    /// Read but for these words, which were not understood and turn no meaning that is known: to be asked, never done.
    Guess {
        phrase: Phrase,
        left: Vec<String>,
    },
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
    /// "add 2 lb oyster", "no oyster Thursday, 4 lb shiitake": several lines of one or more days, each with what is to become
    /// of it.
    Edits {
        edits: Vec<Edit>,
        of: Of,
    },
    /// "the usual plus 2 lb oyster".
    UsualWith {
        edits: Vec<Edit>,
        when: Option<When>,
    },
    /// "make it 8 lb": what was spoken of last.
    MakeIt {
        weight: Weight,
        when: Option<When>,
        of: Of,
    },
    /// "swap the oyster for shiitake". Without `from` it is what is ordered beside `to`.
    Swap {
        from: Option<String>,
        to: String,
        weight: Option<SwapWeight>,
        when: Option<When>,
    },
    /// "skip June 11 and June 18".
    SkipDays {
        days: Vec<LocalDate>,
    },
    /// "no oyster this time".
    NoCrop {
        crop: String,
        when: Option<When>,
    },
    /// "pause until June 3"; `until` is the first day wanted again, `from` the first that is not.
    Pause {
        from: Option<LocalDate>,
        until: Option<LocalDate>,
        /// "until further notice".
        is_open: bool,
    },
    /// "start again"; `from` is the first day wanted.
    Resume {
        from: Option<LocalDate>,
    },
    /// "end my standing order", "no more oyster".
    EndStanding {
        crop: Option<String>,
    },
    /// "cancel Thursday's order", "cancel the oyster".
    Cancel {
        when: Option<When>,
        crop: Option<String>,
    },
    /// "cancel that": what was ordered last.
    CancelThat,
    /// "yes, 6 lb": an answer that says how much.
    Agree {
        crop: Option<String>,
        weight: Weight,
    },
    /// "we have no room", perhaps on a day.
    Full {
        when: Option<When>,
    },
    /// A day with a time, or a time alone: minutes from midnight.
    Moment {
        when: Option<When>,
        minute: u16,
    },
    /// "twenty minutes late".
    Late {
        minutes: Option<i64>,
    },
    NobodyThere,
    /// "did not want the oyster".
    Refused {
        crop: Option<String>,
        weight: Option<Weight>,
    },
    SetOff,
    /// "take that back".
    Undo,
    /// "the flush is over".
    FlushOver {
        crop: Option<String>,
        batch: Option<String>,
    },
    /// "no pins yet".
    NothingYet {
        crop: Option<String>,
        batch: Option<String>,
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

/// What is to become of one crop on one day.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Edit {
    /// The crop's key.
    pub crop: String,
    pub how: How,
    pub when: Option<When>,
}

/// How much of a crop is wanted beside what is ordered.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum How {
    /// So much in all.
    Set(Weight),
    More(Weight),
    Less(Weight),
    Nothing,
}

/// What a change is of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Of {
    /// One delivery.
    Day,
    Standing,
}

/// A weight beside one of two crops that change places.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SwapWeight {
    /// So much of the one that goes.
    From(Weight),
    /// So much of the one that comes.
    To(Weight),
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
    /// The text asks something; it orders nothing. `wish` is what it would want if it did not ask.
    IsQuestion {
        wish: Option<Box<Phrase>>,
    },
    /// One of these is meant.
    WhichOf {
        phrases: Vec<Phrase>,
    },
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

/// "2 more lbs": what stands between a number and its unit is put before both.
fn in_order(mut terms: Vec<vocabulary::Term>) -> Vec<vocabulary::Term> {
    use vocabulary::{Term, Verb};
    for at in 0..terms.len().saturating_sub(2) {
        if let [Term::Digits(_) | Term::Number(_), Term::Verb(Verb::More | Verb::Less), Term::Unit(..)] =
            &terms[at..at + 3]
        {
            terms.swap(at, at + 1);
        }
    }
    terms
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

    /// Whether a word turns what is said beside it: "maybe", "except", "not".
    fn turns(&self, word: &str) -> bool {
        use vocabulary::{Term, Verb};
        let terms = self.vocabulary.terms(&tokens::tokens(word), self.vocabulary.habits);
        let turns = |term: &Term| {
            matches!(
                term,
                Term::Doubt(_)
                    | Term::But(_)
                    | Term::Except(_)
                    | Term::Or(_)
                    | Term::Instead(_)
                    | Term::InsteadOf
                    | Term::Asking
                    | Term::Verb(Verb::No | Verb::Without | Verb::Nothing | Verb::Skip | Verb::Cancel | Verb::Less)
            )
        };
        terms.iter().any(turns)
    }

    /// Reads one text whose numbers are written as in the language of `numbers`.
    fn read_with_numbers_of(&self, numbers: &Reader, text: &str, context: &Context) -> Reading {
        if text.chars().count() > TEXT_CHARACTERS_MOST {
            return Reading::Unclear(Question::TooLong { limit: TEXT_CHARACTERS_MOST });
        }
        let terms = self.vocabulary.terms(&tokens::tokens(text), numbers.vocabulary.habits);
        let chunks = chunks::chunks(&in_order(terms));
        meaning::reading(&chunks, context, self.vocabulary.crop_keys())
    }
}
