//! What a message is told. Values keep their type until the reader's voice writes them.

use super::dates::DateForm;
use chrono::NaiveTime;
use scheduler::clock::{LocalDate, UtcSeconds};
use scheduler::money::Cents;
use scheduler::quantity::Grams;

/// Named arguments of one message.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Args(Vec<(&'static str, Argument)>);

/// One argument.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Argument {
    Text(String),
    Said(String),
    Word(&'static str),
    Count(i64),
    Weight(Grams),
    Between(Grams, Grams),
    Date(LocalDate, DateForm),
    Day { date: LocalDate, today: LocalDate },
    Time(UtcSeconds),
    WallTime(NaiveTime),
    DayTime(UtcSeconds),
    List(Vec<String>),
    Percent(f64),
    Money(Cents, String),
}

impl Args {
    /// None.
    pub fn new() -> Args {
        Args::default()
    }

    /// Text as a person or a setting gave it.
    pub fn text(self, name: &'static str, text: impl Into<String>) -> Args {
        self.with(name, Argument::Text(text.into()))
    }

    /// Text that `Voice::say` made: already HTML, not escaped again.
    pub fn said(self, name: &'static str, html: impl Into<String>) -> Args {
        self.with(name, Argument::Said(html.into()))
    }

    /// A message without arguments, in the reader's language, such as `day-today`.
    pub fn word(self, name: &'static str, key: &'static str) -> Args {
        self.with(name, Argument::Word(key))
    }

    /// A whole number: chooses the plural form, and is printed with its grouping.
    pub fn count(self, name: &'static str, number: i64) -> Args {
        self.with(name, Argument::Count(number))
    }

    /// A weight in the reader's units.
    pub fn weight(self, name: &'static str, weight: Grams) -> Args {
        self.with(name, Argument::Weight(weight))
    }

    /// "between 4 lb and 6 lb"; one weight when both read alike.
    pub fn between(self, name: &'static str, low: Grams, high: Grams) -> Args {
        self.with(name, Argument::Between(low, high))
    }

    /// Weekday, day and month in words.
    pub fn date(self, name: &'static str, date: LocalDate) -> Args {
        self.date_as(name, date, DateForm::Words)
    }

    /// A day in another form.
    pub fn date_as(self, name: &'static str, date: LocalDate, form: DateForm) -> Args {
        self.with(name, Argument::Date(date, form))
    }

    /// "yesterday", "today", "tomorrow", else weekday, day and month in words.
    pub fn day(self, name: &'static str, date: LocalDate, today: LocalDate) -> Args {
        self.with(name, Argument::Day { date, today })
    }

    /// The time of day in the reader's zone and on the reader's clock.
    pub fn time(self, name: &'static str, at: UtcSeconds) -> Args {
        self.with(name, Argument::Time(at))
    }

    /// A time of day that belongs to no one day, such as opening hours.
    pub fn wall_time(self, name: &'static str, time: NaiveTime) -> Args {
        self.with(name, Argument::WallTime(time))
    }

    /// Weekday, day, month and time of day in the reader's zone.
    pub fn day_time(self, name: &'static str, at: UtcSeconds) -> Args {
        self.with(name, Argument::DayTime(at))
    }

    /// "a, b and c".
    pub fn list(self, name: &'static str, items: Vec<String>) -> Args {
        self.with(name, Argument::List(items))
    }

    /// A share, 1 being the whole, as a whole percentage.
    pub fn percent(self, name: &'static str, share: f64) -> Args {
        self.with(name, Argument::Percent(share))
    }

    /// An amount of the currency with this ISO 4217 code.
    pub fn money(self, name: &'static str, amount: Cents, currency: impl Into<String>) -> Args {
        self.with(name, Argument::Money(amount, currency.into()))
    }

    pub(super) fn iter(&self) -> impl Iterator<Item = &(&'static str, Argument)> {
        self.0.iter()
    }

    fn with(mut self, name: &'static str, argument: Argument) -> Args {
        self.0.push((name, argument));
        self
    }
}
