//! Days and times as CLDR writes them in one locale. No form is all digits: 3/5 is March to some and May to others.

use super::escape::plain_spaces;
use chrono::{Datelike, NaiveDate, NaiveDateTime, NaiveTime, Timelike};
use icu_calendar::{Date, Gregorian};
use icu_datetime::fieldsets::enums::{
    CalendarPeriodFieldSet, CompositeDateTimeFieldSet as Fields, DateFieldSet, TimeFieldSet,
};
use icu_datetime::fieldsets::{E, MDE, T, YM, YMDE};
use icu_datetime::input::{DateTime, Time};
use icu_datetime::preferences::HourCycle;
use icu_datetime::{DateTimeFormatterPreferences, FixedCalendarDateTimeFormatter};
use icu_locale_core::Locale;
pub use scheduler::people::HourClock;

/// Told apart by its hour: 13 or 1.
const AFTERNOON: NaiveTime = NaiveTime::from_hms_opt(13, 0, 0).expect("a time of day");

/// How much of a day is said.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DateForm {
    /// "Thursday, March 5, 2026".
    WithYear,
    /// "Thursday, March 5".
    Words,
    /// "Thu, Mar 5", for tables and buttons.
    Short,
    /// "Thursday".
    Weekday,
    /// "March 2026".
    Month,
}

type Formatter = FixedCalendarDateTimeFormatter<Gregorian, Fields>;

/// Formatters of one locale.
pub struct Dates {
    with_year: Formatter,
    words: Formatter,
    short: Formatter,
    weekday: Formatter,
    month: Formatter,
    twelve: Formatter,
    twenty_four: Formatter,
    /// What the locale itself writes.
    habit: HourClock,
}

impl Dates {
    /// # Errors
    /// Says why, when CLDR as compiled in has nothing for the locale.
    pub fn new(locale: &Locale) -> Result<Dates, String> {
        let of = |fields| formatter(locale, None, fields);
        let afternoon = write(&of(Fields::Time(TimeFieldSet::T(T::hm())))?, NaiveDate::default().and_time(AFTERNOON));
        Ok(Dates {
            habit: if afternoon.contains("13") { HourClock::TwentyFour } else { HourClock::Twelve },
            with_year: of(Fields::Date(DateFieldSet::YMDE(YMDE::long())))?,
            words: of(Fields::Date(DateFieldSet::MDE(MDE::long())))?,
            short: of(Fields::Date(DateFieldSet::MDE(MDE::medium())))?,
            weekday: of(Fields::Date(DateFieldSet::E(E::long())))?,
            month: of(Fields::CalendarPeriod(CalendarPeriodFieldSet::YM(YM::long())))?,
            twelve: formatter(locale, Some(HourCycle::H12), Fields::Time(TimeFieldSet::T(T::hm())))?,
            twenty_four: formatter(locale, Some(HourCycle::H23), Fields::Time(TimeFieldSet::T(T::hm())))?,
        })
    }

    /// The clock people who write so are used to.
    pub fn habit(&self) -> HourClock {
        self.habit
    }

    /// A day in words.
    pub fn date(&self, date: NaiveDate, form: DateForm) -> String {
        let formatter = match form {
            DateForm::WithYear => &self.with_year,
            DateForm::Words => &self.words,
            DateForm::Short => &self.short,
            DateForm::Weekday => &self.weekday,
            DateForm::Month => &self.month,
        };
        write(formatter, date.and_time(NaiveTime::MIN))
    }

    /// The time of day, to the minute.
    pub fn time(&self, time: NaiveTime, clock: HourClock) -> String {
        let formatter = match clock {
            HourClock::Twelve => &self.twelve,
            HourClock::TwentyFour => &self.twenty_four,
        };
        write(formatter, NaiveDate::default().and_time(time))
    }
}

fn formatter(locale: &Locale, cycle: Option<HourCycle>, fields: Fields) -> Result<Formatter, String> {
    let mut preferences = DateTimeFormatterPreferences::from(locale);
    preferences.hour_cycle = cycle;
    Formatter::try_new(preferences, fields).map_err(|error| error.to_string())
}

fn write(formatter: &Formatter, local: NaiveDateTime) -> String {
    match for_icu(local) {
        Some(local) => plain_spaces(&formatter.format(&local).to_string()),
        // Only years beyond 9999 come here.
        None => local.format("%Y-%m-%d %H:%M").to_string(),
    }
}

fn for_icu(local: NaiveDateTime) -> Option<DateTime<Gregorian>> {
    let small = |number: u32| u8::try_from(number).ok();
    let date = Date::try_new_gregorian(local.year(), small(local.month())?, small(local.day())?).ok()?;
    let time = Time::try_new(small(local.hour())?, small(local.minute())?, 0, 0).ok()?;
    Some(DateTime { date, time })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn dates(locale: &str) -> Dates {
        Dates::new(&locale.parse().expect("a locale")).expect("CLDR knows it")
    }

    /// CLDR 47 (checked with Babel 2.18): 5 March 2026, 14:07; no-break spaces as plain ones. Times
    /// in the Americas' Spanish (es-419): es-MX of ICU4X 2.4 pads the hour. pt-PT is left out: there ICU4X gives digits.
    #[test]
    fn full_dates_and_times_follow_cldr() {
        let moment: NaiveDateTime = "2026-03-05T14:07:00".parse().expect("a moment");
        for (locale, clock, date, time) in [
            ("en-US", HourClock::Twelve, "Thursday, March 5, 2026", "2:07 PM"),
            ("es-419", HourClock::Twelve, "jueves, 5 de marzo de 2026", "2:07 p.m."),
            ("fr-CA", HourClock::TwentyFour, "jeudi 5 mars 2026", "14 h 07"),
            ("pl-PL", HourClock::TwentyFour, "czwartek, 5 marca 2026", "14:07"),
            ("fr-FR", HourClock::TwentyFour, "jeudi 5 mars 2026", "14:07"),
        ] {
            assert_eq!(dates(locale).date(moment.date(), DateForm::WithYear), date, "{locale}");
            assert_eq!(dates(locale).time(moment.time(), clock), time, "{locale}");
        }
        assert_eq!(dates("es-MX").date(moment.date(), DateForm::WithYear), "jueves, 5 de marzo de 2026");
    }

    #[test]
    fn every_form_reads_as_people_write() {
        let date: NaiveDate = "2026-03-05".parse().expect("a date");
        for (locale, words, short, weekday, month) in [
            ("en-US", "Thursday, March 5", "Thu, Mar 5", "Thursday", "March 2026"),
            ("es-419", "jueves, 5 de marzo", "jue, 5 mar", "jueves", "marzo de 2026"),
            ("pl", "czwartek, 5 marca", "czw., 5 mar", "czwartek", "marzec 2026"),
        ] {
            assert_eq!(dates(locale).date(date, DateForm::Words), words);
            assert_eq!(dates(locale).date(date, DateForm::Short), short);
            assert_eq!(dates(locale).date(date, DateForm::Weekday), weekday);
            assert_eq!(dates(locale).date(date, DateForm::Month), month);
        }
    }

    /// Preferred hour cycles of CLDR 47 (supplemental, "timeData"): US and 419 `h`, PL and FR `H`.
    #[test]
    fn the_clock_of_a_locale_is_its_habit() {
        for (locale, clock) in [
            ("en-US", HourClock::Twelve),
            ("es-419", HourClock::Twelve),
            ("pl", HourClock::TwentyFour),
            ("fr-FR", HourClock::TwentyFour),
        ] {
            assert_eq!(dates(locale).habit(), clock, "{locale}");
        }
    }

    #[test]
    fn midnight_and_noon_are_told_apart() {
        let dates = dates("en-US");
        let at = |hour| NaiveTime::from_hms_opt(hour, 0, 0).expect("a time");
        assert_eq!(dates.time(at(0), HourClock::Twelve), "12:00 AM");
        assert_eq!(dates.time(at(12), HourClock::Twelve), "12:00 PM");
        assert_eq!(dates.time(at(0), HourClock::TwentyFour), "00:00");
    }
}
