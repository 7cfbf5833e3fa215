//! Tokens into terms: the words of one language with what each stands for. The longest known run of words wins; a word
//! that is not known exactly may be a slip of exactly one crop, weekday or longer keyword, never of a number or unit.

use super::amounts::{self, Digits};
use super::tokens::Token;
use super::words::{Habits, Words};
use super::{CropWords, TemperatureScale};
use chrono::Weekday;
use scheduler::quantity::{Amount, WeightUnit};
use std::collections::HashMap;
use strsim::osa_distance;

/// What a word, a run of words or a mark stands for, whatever the language.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Term {
    Digits(Digits),
    Minus,
    Number(i64),
    Ordinal(u32),
    /// A sign such as ½.
    Glyph(Amount),
    /// "half", "quarter" as words.
    Part(Amount),
    /// "quarters", which say nothing without their number.
    Parts(Amount),
    /// "półtora": three halves in one word.
    OneAndHalf,
    /// "a", "una": one before a unit, else courtesy.
    One,
    Unit(WeightUnit, i64),
    /// A unit whose form alone says one: "kilogram" in Polish.
    OneUnit(WeightUnit),
    Hash,
    /// Blocks or bags.
    Piece,
    Crop(usize),
    Mushroom,
    Weekday(Weekday),
    /// "Thursdays": every one of them.
    Weekdays(Weekday),
    Month(u32),
    /// "th", "st".
    Nth,
    /// Days from today.
    Near(i64),
    This,
    Next,
    /// A feast by name, which falls on a day of its own each year.
    Feast(Feast),
    /// "at", "a las": before a time of day; before a day a small word as any other.
    At,
    /// "before", "about": before a time of day; anywhere else it changes the meaning.
    TimeLead(String),
    /// "am", "pm", "o'clock".
    Clock(Clock),
    /// "in the morning".
    DayPart,
    /// "until further notice".
    Further,
    NextDelivery,
    Week,
    Days,
    Months,
    Weekly(u8),
    Every,
    Other,
    /// "los": before a weekday, every one of them.
    TheMany,
    The,
    Of,
    In,
    For,
    From,
    Until,
    EndOf,
    And,
    /// "plus": an "and" that adds to what is there.
    Plus,
    /// "but": parts two wishes.
    But(String),
    /// "except": takes what follows from what stands before.
    Except(String),
    /// "slimy", "from the cold room": harmless where something was thrown away, else a complaint or a place.
    Waste(String),
    Minutes,
    Or(String),
    /// "by": how much less, or until when.
    By,
    /// "to": before the weight that something is brought to.
    To,
    InsteadOf,
    /// "instead", without saying of what.
    Instead(String),
    Comma,
    Dash,
    /// The end of a sentence.
    Stop,
    Courtesy,
    Each,
    /// "po": "each" before a weight, "after" before a day.
    Apiece,
    Standing,
    Batch,
    Degree,
    Scale(TemperatureScale),
    Polite,
    Question,
    /// "for me": harmless beside a weight, and the opposite of a wish after "hold".
    ForMe,
    /// "do you have": whatever follows is asked, not ordered.
    Asking,
    /// A word that changes the meaning in a way that is not read here: "maybe", "except".
    Doubt(String),
    Verb(Verb),
    /// Not known.
    Word(String),
}

/// What is wanted or reported.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub(super) enum Verb {
    Order,
    Same,
    Skip,
    /// "nothing", which is a skip when a day stands beside it.
    Nothing,
    Change,
    /// "add", "another": on top of what is ordered.
    More,
    /// "less", "take off".
    Less,
    /// "bump": to a weight, or by one.
    Raise,
    /// "reduce": to a weight, or by one.
    Lower,
    Swap,
    /// "hold the": without it, unless it is held for somebody.
    Hold,
    /// "cancel that": what was spoken of last.
    CancelThat,
    Without,
    Pause,
    Resume,
    End,
    Cancel,
    Pick,
    Pins,
    Lost,
    /// Lost too: blocks and bags, or a weight out of the cold room.
    Thrown,
    Soaked,
    Opened,
    Return,
    HandedOver,
    /// What lies in the cold room.
    Stock,
    FlushOver,
    /// Nothing to be seen yet.
    NothingYet,
    /// A food bank has no room.
    Full,
    /// A driver comes late.
    Late,
    NobodyThere,
    /// A restaurant did not take what was brought.
    Refused,
    SetOff,
    Undo,
    Yes,
    No,
    Help,
    ShowOrders,
    Today,
}

/// How a time of day is written after its hour.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub(super) enum Clock {
    Morning,
    Afternoon,
    Hour,
}

/// Feasts on which kitchens close.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub(super) enum Feast {
    NewYear,
    Easter,
    MemorialDay,
    IndependenceDay,
    LaborDay,
    Halloween,
    Thanksgiving,
    ChristmasEve,
    Christmas,
    NewYearsEve,
}

#[derive(Debug)]
pub(super) struct Vocabulary {
    pub(super) habits: Habits,
    /// By first word; the longest run first.
    runs: HashMap<String, Vec<(Vec<String>, Term)>>,
    /// Single words that a slip may stand for.
    forgiving: Vec<(String, Term)>,
    crop_keys: Vec<String>,
}

impl Vocabulary {
    pub(super) fn new(words: &Words, crops: &[CropWords]) -> Vocabulary {
        let mut made = Vocabulary {
            habits: words.habits,
            runs: HashMap::new(),
            forgiving: Vec::new(),
            crop_keys: crops.iter().map(|crop| crop.key.clone()).collect(),
        };
        for (way, term) in &words.ways {
            made.add(way, term.clone());
        }
        for (index, crop) in crops.iter().enumerate() {
            for name in words.crop_names(&crop.key, &crop.words) {
                made.add(&name, Term::Crop(index));
            }
        }
        for runs in made.runs.values_mut() {
            runs.sort_by_key(|(words, _)| std::cmp::Reverse(words.len()));
        }
        made
    }

    pub(super) fn crop_keys(&self) -> &[String] {
        &self.crop_keys
    }

    /// Terms for the tokens, none left out but courtesies that carry no word; `habits` says how numbers are written.
    pub(super) fn terms(&self, tokens: &[Token], habits: Habits) -> Vec<Term> {
        let mut terms = Vec::new();
        let mut at = 0;
        while at < tokens.len() {
            let (term, taken) = self.term_at(&tokens[at..], habits);
            terms.push(term);
            at += taken;
        }
        terms
    }

    fn add(&mut self, way: &str, term: Term) {
        let words: Vec<String> = way.split_whitespace().map(str::to_owned).collect();
        let Some(first) = words.first() else { return };
        if words.len() == 1 && slip_reach(&term, first.len()) > 0 {
            self.forgiving.push((first.clone(), term.clone()));
        }
        let runs = self.runs.entry(first.clone()).or_default();
        // Crops are added last, so that none takes a word of the language.
        if !runs.iter().any(|(known, _)| *known == words) {
            runs.push((words, term));
        }
    }

    fn term_at(&self, tokens: &[Token], habits: Habits) -> (Term, usize) {
        match &tokens[0] {
            Token::Word(word) => self.words_at(word, tokens),
            Token::Numeric(text) => (Term::Digits(amounts::digits(text, habits)), 1),
            Token::Part(part) => (Term::Glyph(*part), 1),
            Token::Minus => (Term::Minus, 1),
            Token::Foreign(word) => (Term::Word(word.clone()), 1),
            Token::Mark(mark) => (mark_term(*mark), 1),
        }
    }

    fn words_at(&self, word: &str, tokens: &[Token]) -> (Term, usize) {
        let found = self.run_at(word, &tokens[1..]);
        // A mended first word may begin a longer run: "cancle my order".
        let mended = || self.slip(word).and_then(|known| self.run_at(known, &tokens[1..]));
        found.or_else(mended).unwrap_or_else(|| (Term::Word(word.to_owned()), 1))
    }

    /// The longest known run of words that begins with `first` and goes on with `rest`.
    fn run_at(&self, first: &str, rest: &[Token]) -> Option<(Term, usize)> {
        let fits = |words: &[String]| {
            words.len() <= rest.len() + 1
                && words[1..]
                    .iter()
                    .zip(rest)
                    .all(|(known, token)| matches!(token, Token::Word(typed) | Token::Numeric(typed) if typed == known))
        };
        let found = self.runs.get(first)?.iter().find(|(words, _)| fits(words))?;
        Some((found.1.clone(), found.0.len()))
    }

    /// The one known word a mistyped word is near to; `None` when none or several with other meanings are equally near.
    fn slip(&self, word: &str) -> Option<&str> {
        let mut nearest: Option<(usize, &str, &Term)> = None;
        let mut tied = false;
        for (known, term) in &self.forgiving {
            if word.len() < 5 || known.as_bytes()[0] != word.as_bytes()[0] {
                continue;
            }
            let distance = osa_distance(known, word);
            if distance > slip_reach(term, known.len()) {
                continue;
            }
            match nearest {
                Some((best, _, _)) if best < distance => {}
                Some((best, _, other)) if best == distance => tied |= other != term,
                _ => {
                    nearest = Some((distance, known, term));
                    tied = false;
                }
            }
        }
        nearest.filter(|_| !tied).map(|(_, known, _)| known)
    }
}

/// How many slips are forgiven in a word of so many letters.
fn slip_reach(term: &Term, letters: usize) -> usize {
    match term {
        Term::Crop(_) | Term::Weekday(_) | Term::Weekdays(_) => match letters {
            0..5 => 0,
            5..8 => 1,
            _ => 2,
        },
        Term::Verb(Verb::Yes | Verb::No | Verb::Nothing | Verb::Without | Verb::More | Verb::Less) => 0,
        Term::Verb(_) | Term::Month(_) | Term::Near(_) | Term::Every | Term::Standing if letters >= 6 => 1,
        _ => 0,
    }
}

fn mark_term(mark: char) -> Term {
    match mark {
        ',' | ';' | '\n' | '•' => Term::Comma,
        '&' => Term::And,
        '+' => Term::Plus,
        '-' | '–' | '—' => Term::Dash,
        '#' => Term::Hash,
        '°' => Term::Degree,
        '?' | '❓' | '❔' => Term::Question,
        '.' | '!' => Term::Stop,
        '¡' | ':' | '(' | ')' | '"' | '“' | '”' | '„' | '…' | '*' | '_' => Term::Courtesy,
        '¿' => Term::Question,
        '👍' | '👌' | '✅' | '✔' => Term::Verb(Verb::Yes),
        '👎' | '❌' => Term::Verb(Verb::No),
        other => Term::Word(other.to_string()),
    }
}
