//! What stays the same while the program runs: the configuration, the words and the farm's days.

use crate::config::Config;
use crate::crops::Crops;
use crate::wording::{Language, Wording};
use chrono_tz::Tz;
use scheduler::delivery::calendar::Calendar;

/// The farm as this program knows it.
pub struct House {
    pub config: Config,
    pub wording: Wording,
    pub calendar: Calendar,
    pub crops: Crops,
    /// Seconds within which plain notices to one chat become one message.
    pub gather_seconds: i64,
}

/// A minute: nobody waits for what they did not ask for, and one message rings once.
const GATHER_SECONDS: i64 = 60;

impl House {
    /// Puts a checked configuration and the words together.
    pub fn new(config: Config, wording: Wording) -> House {
        let calendar = config.calendar();
        let crops = Crops::configured(&config.crops).expect("crops are checked when the file is read");
        House { config, wording, calendar, crops, gather_seconds: GATHER_SECONDS }
    }

    /// The same, with every notice told at once and by itself.
    pub fn at_once(self) -> House {
        House { gather_seconds: 0, ..self }
    }

    /// The farm's zone.
    pub fn zone(&self) -> Tz {
        self.config.farm.zone
    }

    /// The language for a tag or a messaging account's language code; the farm's own where that is not spoken here.
    pub fn language(&self, code: Option<&str>) -> Language {
        let farm = Language::of_chat(Some(&self.config.farm.language), Language::ENGLISH);
        Language::of_chat(code, farm)
    }
}
