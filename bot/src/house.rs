//! What stays the same while the program runs, the configuration, the words and the farm's days; and the crops, which are
//! read anew in each transaction, as the keeper adds and changes them by chat.

use crate::config::Config;
use crate::phrase::KeptReaders;
use crate::wording::{Args, Language, Voice, Wording};
use chrono_tz::Tz;
use scheduler::delivery::calendar::Calendar;
use scheduler::farm::catalogue::Crops;
use scheduler::quantity::Grams;
use scheduler::store::{self, Tx, crops};
use std::sync::Arc;

/// The farm as this program knows it.
#[derive(Clone)]
pub struct House {
    pub config: Arc<Config>,
    pub wording: Arc<Wording>,
    pub calendar: Arc<Calendar>,
    pub crops: Arc<Crops>,
    /// What people type is read by these.
    pub readers: Arc<KeptReaders>,
    /// Those of the program and the configuration.
    base: Arc<Crops>,
    /// Seconds within which plain notices to one chat become one message.
    pub gather_seconds: i64,
    /// Messages and presses of one account that are looked at within a minute; `None` where time stands still meanwhile.
    pub most_a_minute: Option<i64>,
}

/// A minute: nobody waits for what they did not ask for, and one message rings once.
const GATHER_SECONDS: i64 = 60;

impl House {
    /// Puts a checked configuration and the words together. The crops are those of the program and the configuration;
    /// [`House::of`] adds what was said by chat.
    pub fn new(config: impl Into<Arc<Config>>, wording: impl Into<Arc<Wording>>) -> House {
        let config = config.into();
        let most_a_minute = Some(config.chat.most_a_minute);
        let calendar = Arc::new(config.calendar());
        let crops = Crops::configured(&config.crops).expect("crops are checked when the file is read");
        let base = Arc::new(crops);
        let (wording, crops) = (wording.into(), Arc::clone(&base));
        let readers = Arc::default();
        House { config, wording, calendar, crops, readers, base, gather_seconds: GATHER_SECONDS, most_a_minute }
    }

    /// The same for a clock that is moved by hand: every notice is told at once and by itself, and nobody is too fast.
    pub fn at_once(self) -> House {
        House { gather_seconds: 0, most_a_minute: None, ..self }
    }

    /// The same farm with its crops as this transaction sees them, so that a change by another process over the same
    /// database holds from the next transaction on.
    ///
    /// # Errors
    /// Whatever the store fails with.
    pub async fn of(&self, tx: &mut Tx) -> store::Result<House> {
        let said = crops::all(tx).await?;
        let crops = if said.is_empty() { Arc::clone(&self.base) } else { Arc::new(self.base.with(&said)) };
        Ok(House { crops, ..self.clone() })
    }

    /// What a crop is called in the reader's language; a crop that is no longer configured goes by its key.
    pub fn crop_name(&self, key: &str, voice: &Voice) -> String {
        let names = self.crops.get(key).map(|crop| &crop.names);
        let name = names.and_then(|names| names.get(voice.reader().language.tag()).or_else(|| names.get("en")));
        name.cloned().unwrap_or_else(|| key.to_owned())
    }

    /// "5 lb shiitake", as plain text.
    pub fn amount(&self, key: &str, weight: Grams, voice: &Voice) -> String {
        voice.plain("amount-of", &Args::new().weight("weight", weight).text("crop", self.crop_name(key, voice)))
    }

    /// "5 lb oyster" for each line, as plain text.
    pub fn amounts(&self, lines: &[(String, Grams)], voice: &Voice) -> Vec<String> {
        lines.iter().map(|(crop, grams)| self.amount(crop, *grams, voice)).collect()
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
