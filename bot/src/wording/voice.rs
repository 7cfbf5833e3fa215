//! One reader's voice: the only place where an argument becomes part of a message, and so the only place that escapes.

use super::args::{Args, Argument};
use super::catalogue::{Room, Wording};
use super::dates::{DateForm, HourClock};
use super::escape;
use super::languages::Language;
use super::weights;
use chrono_tz::Tz;
use fluent::{FluentArgs, FluentError, FluentValue};
use scheduler::clock::{LocalDate, UtcSeconds};
use scheduler::money::Cents;
use scheduler::quantity::{Grams, UnitSystem};

/// Who reads.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Reader {
    pub language: Language,
    pub units: UnitSystem,
    pub hour_clock: HourClock,
    /// The farm's zone.
    pub zone: Tz,
}

/// Says messages to one reader. Cheap to clone.
#[derive(Clone)]
pub struct Voice {
    wording: Wording,
    reader: Reader,
}

/// Where a text goes.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Form {
    Html,
    Plain,
}

impl Voice {
    pub(super) fn new(wording: Wording, reader: Reader) -> Voice {
        Voice { wording, reader }
    }

    /// Who is spoken to.
    pub fn reader(&self) -> Reader {
        self.reader
    }

    /// The message as Telegram HTML, every argument escaped. A key that no language has is logged and shown as ‹key›.
    pub fn say(&self, key: &str, args: &Args) -> String {
        self.compose(key, args, Form::Html)
    }

    /// The message as plain text: button labels, command descriptions, words in pictures and sheets.
    pub fn plain(&self, key: &str, args: &Args) -> String {
        self.compose(key, args, Form::Plain)
    }

    /// A weight alone, plain, as for the cell of a table.
    pub fn weight(&self, weight: Grams) -> String {
        weights::write(weight, self.reader.units, &self.room().numbers)
    }

    /// A day alone, plain.
    pub fn date(&self, date: LocalDate, form: DateForm) -> String {
        self.room().dates.date(date, form)
    }

    /// A whole number alone, plain.
    pub fn number(&self, number: i64) -> String {
        self.room().numbers.whole(number)
    }

    /// A temperature alone, plain, in the reader's scale: tenths of a degree Celsius in, F = 1.8 C + 32 (NIST SP 811,
    /// appendix B.8), whole degrees Fahrenheit out.
    pub fn temperature(&self, tenths_c: i64) -> String {
        let numbers = &self.room().numbers;
        match self.reader.units {
            UnitSystem::Metric => format!("{} °C", numbers.thousandths(tenths_c * 100)),
            UnitSystem::Avoirdupois => format!("{} °F", numbers.whole((tenths_c * 18 + 3200 + 50).div_euclid(100))),
        }
    }

    fn room(&self) -> &Room {
        self.wording.room(self.reader.language)
    }

    fn compose(&self, key: &str, args: &Args, form: Form) -> String {
        let (text, errors) = self.compose_with_errors(key, args, form);
        if !errors.is_empty() {
            // Names of arguments only: their values are nobody's business in a log.
            tracing::error!(key, language = self.reader.language.tag(), ?errors, "a message is not whole");
        }
        one_stop(text)
    }

    fn compose_with_errors(&self, key: &str, args: &Args, form: Form) -> (String, Vec<FluentError>) {
        let mut values = FluentArgs::new();
        for (name, argument) in args.iter() {
            values.set(*name, self.value(argument, form));
        }
        let spoken = self.room().message(key, &values);
        spoken.or_else(|| self.wording.room(Language::ENGLISH).message(key, &values)).unwrap_or_else(|| {
            tracing::error!(key, language = self.reader.language.tag(), "no such message");
            (format!("‹{}›", escape::html(key)), Vec::new())
        })
    }

    fn value(&self, argument: &Argument, form: Form) -> FluentValue<'static> {
        let text = match argument {
            Argument::Count(number) => return FluentValue::from(*number),
            Argument::Said(html) if form == Form::Html => return FluentValue::from(html.clone()),
            Argument::Said(html) => escape::unmarked(html),
            other => escape::clean(&self.written(other)),
        };
        FluentValue::from(if form == Form::Html { escape::html(&text) } else { text })
    }

    /// An argument in the reader's language, units and clock; unescaped.
    fn written(&self, argument: &Argument) -> String {
        let zone = self.reader.zone;
        let clock = self.reader.hour_clock;
        let Room { dates, numbers, .. } = self.room();
        match argument {
            Argument::Text(text) | Argument::Said(text) => text.clone(),
            Argument::Word(key) => self.plain(key, &Args::new()),
            Argument::Count(number) => numbers.whole(*number),
            Argument::Weight(weight) => self.weight(*weight),
            Argument::Between(low, high) => self.between(*low, *high),
            Argument::Date(date, form) => dates.date(*date, *form),
            Argument::Day { date, today } => self.day(*date, *today),
            Argument::Time(at) => dates.time(at.local(zone).time(), clock),
            Argument::WallTime(time) => dates.time(*time, clock),
            Argument::DayTime(at) => self.day_time(*at),
            Argument::List(items) => numbers.list(items),
            Argument::Percent(share) => self.percent(*share),
            Argument::Money(amount, currency) => self.money(*amount, currency),
        }
    }

    fn between(&self, low: Grams, high: Grams) -> String {
        let (low, high) = (self.weight(low), self.weight(high));
        if low == high { low } else { self.plain("format-between", &Args::new().text("low", low).text("high", high)) }
    }

    fn day(&self, date: LocalDate, today: LocalDate) -> String {
        match date.signed_duration_since(today).num_days() {
            -1 => self.plain("day-yesterday", &Args::new()),
            0 => self.plain("day-today", &Args::new()),
            1 => self.plain("day-tomorrow", &Args::new()),
            _ => self.date(date, DateForm::Words),
        }
    }

    fn day_time(&self, at: UtcSeconds) -> String {
        let local = at.local(self.reader.zone);
        let time = self.room().dates.time(local.time(), self.reader.hour_clock);
        let day = self.date(local.date(), DateForm::Words);
        self.plain("format-day-time", &Args::new().text("day", day).text("time", time))
    }

    fn percent(&self, share: f64) -> String {
        // Saturates, and NaN is 0: a share is never meant to leave 0..=1 by much.
        let percent = (share * 100.0).round() as i64;
        self.plain("format-percent", &Args::new().text("number", self.number(percent)))
    }

    fn money(&self, amount: Cents, currency: &str) -> String {
        let amount = self.room().numbers.cents(amount);
        self.plain("format-money", &Args::new().text("amount", amount).text("currency", currency))
    }

    /// The message, and what Fluent found wrong in it, for the check.
    #[cfg(test)]
    pub(super) fn say_with_errors(&self, key: &str, args: &Args) -> (String, Vec<FluentError>) {
        self.compose_with_errors(key, args, Form::Html)
    }
}

/// An hour such as "9:00 a.m." brings its stop along; at the end of a sentence one is enough.
fn one_stop(text: String) -> String {
    if text.contains(".m..") { text.replace(".m..", ".m.") } else { text }
}

#[cfg(test)]
mod tests {
    use super::*;
    use chrono::NaiveTime;
    use scheduler::clock::instant_of;

    fn voice(tag: &str, units: UnitSystem, hour_clock: HourClock) -> Voice {
        let language = Language::from_code(tag).expect("on board");
        let zone = chrono_tz::America::Chicago;
        Wording::embedded().expect("the wording is whole").reader(Reader { language, units, hour_clock, zone })
    }

    fn voices() -> [Voice; 3] {
        [
            voice("en", UnitSystem::Avoirdupois, HourClock::Twelve),
            voice("es", UnitSystem::Avoirdupois, HourClock::Twelve),
            voice("pl", UnitSystem::Metric, HourClock::TwentyFour),
        ]
    }

    fn written(argument: Argument) -> [String; 3] {
        voices().map(|voice| voice.written(&argument))
    }

    fn day(text: &str) -> LocalDate {
        text.parse().expect("a date")
    }

    #[test]
    fn values_read_in_the_readers_way() {
        let at = instant_of("2026-03-03T18:00:00".parse().expect("a moment"), chrono_tz::America::Chicago);
        let noon = NaiveTime::from_hms_opt(12, 30, 0).expect("a time");
        let thursday = day("2026-03-05");
        for (argument, expected) in [
            (Argument::Weight(Grams::new(1134)), ["2 lb 8 oz", "2 lb 8 oz", "1,134 kg"]),
            (
                Argument::Between(Grams::new(2268), Grams::new(2722)),
                ["between 5 lb and 6 lb", "entre 5 lb y 6 lb", "od 2,268 kg do 2,722 kg"],
            ),
            (Argument::Between(Grams::new(500), Grams::new(500)), ["1 lb 2 oz", "1 lb 2 oz", "500 g"]),
            (
                Argument::Date(thursday, DateForm::Words),
                ["Thursday, March 5", "jueves, 5 de marzo", "czwartek, 5 marca"],
            ),
            (Argument::Day { date: thursday, today: day("2026-03-04") }, ["tomorrow", "mañana", "jutro"]),
            (Argument::Day { date: thursday, today: thursday }, ["today", "hoy", "dziś"]),
            (Argument::Day { date: thursday, today: day("2026-03-06") }, ["yesterday", "ayer", "wczoraj"]),
            (
                Argument::Day { date: thursday, today: day("2026-03-01") },
                ["Thursday, March 5", "jueves, 5 de marzo", "czwartek, 5 marca"],
            ),
            (Argument::Time(at), ["6:00 PM", "6:00 p.m.", "18:00"]),
            (Argument::WallTime(noon), ["12:30 PM", "12:30 p.m.", "12:30"]),
            (
                Argument::DayTime(at),
                ["Tuesday, March 3 at 6:00 PM", "martes, 3 de marzo, 6:00 p.m.", "wtorek, 3 marca, godz. 18:00"],
            ),
            (Argument::Percent(0.85), ["85%", "85%", "85%"]),
            (Argument::Money(Cents::new(123_450), "USD".to_owned()), ["$1,234.50", "$1,234.50", "1234,50 USD"]),
            (
                Argument::List(vec!["shiitake".to_owned(), "oyster".to_owned()]),
                ["shiitake and oyster", "shiitake y oyster", "shiitake i oyster"],
            ),
            (Argument::Word("day-today"), ["today", "hoy", "dziś"]),
        ] {
            assert_eq!(written(argument.clone()), expected, "{argument:?}");
        }
    }

    #[test]
    fn counts_choose_the_plural_form() {
        for (number, expected) in [
            (1, ["1 block", "1 bloque", "1 blok"]),
            (2, ["2 blocks", "2 bloques", "2 bloki"]),
            (5, ["5 blocks", "5 bloques", "5 bloków"]),
            (22, ["22 blocks", "22 bloques", "22 bloki"]),
            (12_345, ["12,345 blocks", "12,345 bloques", "12 345 bloków"]),
        ] {
            assert_eq!(
                voices().map(|voice| voice.plain("count-blocks", &Args::new().count("number", number))),
                expected
            );
        }
    }

    #[test]
    fn only_arguments_are_escaped_and_only_in_html() {
        let [voice, ..] = voices();
        let args = Args::new().text("farm", "Salt & <Pepper>\u{202E}");
        assert!(voice.say("stranger", &args).contains("Salt &amp; &lt;Pepper&gt;"));
        assert!(voice.plain("stranger", &args).contains("Salt & <Pepper>"));
        let said = Args::new().said("farm", "<b>Salt &amp; Pepper</b>");
        assert!(voice.say("stranger", &said).contains("<b>Salt &amp; Pepper</b>"));
        assert!(voice.plain("stranger", &said).contains("Salt & Pepper"));
    }

    #[test]
    fn a_missing_key_is_shown_and_nothing_falls_over() {
        let [_, voice, _] = voices();
        assert_eq!(voice.say("no-such-<key>", &Args::new()), "‹no-such-&lt;key&gt;›");
        assert!(voice.plain("stranger", &Args::new()).contains("{$farm}"));
    }
}
