//! What the tests draw: readers in each language, and a folder for looking at the results.

use crate::wording::{HourClock, Language, Reader, Voice, Wording};
use scheduler::clock::LocalDate;
use scheduler::quantity::{Grams, UnitSystem};
use std::path::PathBuf;
use std::{env, fs};

/// A reader of each language, the Polish one in kilograms.
pub fn voices() -> [Voice; 3] {
    let wording = Wording::embedded().expect("the wording is whole");
    [
        ("en", UnitSystem::Avoirdupois, HourClock::Twelve),
        ("es", UnitSystem::Avoirdupois, HourClock::Twelve),
        ("pl", UnitSystem::Metric, HourClock::TwentyFour),
    ]
    .map(|(tag, units, hour_clock)| {
        let language = Language::from_code(tag).expect("on board");
        wording.reader(Reader { language, units, hour_clock, zone: chrono_tz::America::Chicago })
    })
}

pub fn day(text: &str) -> LocalDate {
    text.parse().expect("a date")
}

pub fn grams(kilograms: f64) -> Grams {
    Grams::new((kilograms * 1000.0).round() as i64)
}

/// A name as long as nobody would choose it.
pub fn long_name() -> String {
    "Kwiaciarnia-Restauracja „Pod Złotą Łyżką” & <Söhne> ".repeat(6) + &"W".repeat(200)
}

/// Keeps a result to be looked at in the folder named by `PINSET_SAMPLES`; without it, nowhere.
pub fn keep(name: &str, bytes: &[u8]) {
    if let Some(folder) = env::var_os("PINSET_SAMPLES").map(PathBuf::from) {
        fs::create_dir_all(&folder).expect("the folder for samples");
        fs::write(folder.join(name), bytes).expect("a sample");
    }
}
