//! What is believed of a crop before the farm has a record: read from a table in words and numbers, checked, and never
//! changed by the code. A farm's own crops come in the same form as the two built in.

use crate::crop::{Crop, CropKey, GrownIn};
use crate::money::Cents;
use crate::quantity::Grams;
use serde::Deserialize;
use std::collections::{BTreeMap, BTreeSet};

/// The table that ships with the program.
const BUILT_IN: &str = include_str!("../../data/priors.toml");

/// Most flushes a crop may have.
pub const FLUSHES_MAX: usize = 8;

/// What is believed of one flush of a crop.
#[derive(Clone, Copy, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FlushPrior {
    /// 1 for the first flush.
    pub number: u8,
    /// Mean fresh weight over dry substrate weight, a ratio above 0.
    pub be_mean: f64,
    /// Its coefficient of variation between batches, above 0.
    pub be_cv: f64,
    /// Days from start to first pick at the crop's reference temperature: mean, above 0.
    pub days_mean: f64,
    /// Standard deviation of those days, above 0.
    pub days_sd: f64,
    /// Days from the first to the last pick.
    pub spread_days: u8,
    /// Days from the last pick to the next start; none when the units are retired after this flush.
    #[serde(default)]
    pub rest_days_mean: Option<f64>,
    #[serde(default)]
    pub rest_days_sd: Option<f64>,
}

/// What is believed of a crop.
#[derive(Clone, Debug, PartialEq)]
pub struct CropPrior {
    pub crop: Crop,
    /// Chance that a unit is lost before its first flush, 0 to 1.
    pub unit_loss_chance: f64,
    /// Chance that a whole flush gives nothing, 0 to 1.
    pub failure_chance: f64,
    /// Chance that the units are thrown out after a flush although the crop has another, 0 to 1.
    pub thrown_out_chance: f64,
    /// Days from pins seen to first pick.
    pub pins_to_pick_days: f64,
    pub pins_to_pick_days_sd: f64,
    /// Room temperatures at which the crop fruits, °C.
    pub fruiting_low_c: f64,
    pub fruiting_high_c: f64,
    /// The room temperature the days are given for, °C.
    pub reference_c: f64,
    /// The temperature at which growth would stop, °C.
    pub base_c: f64,
    /// Flush 1 first, without gaps.
    pub flushes: Vec<FlushPrior>,
    /// Field name to the words that say where its value comes from.
    pub source: BTreeMap<String, String>,
}

impl CropPrior {
    /// What is believed of flush `number`, 1 the first; `None` after the last.
    pub fn flush(&self, number: u8) -> Option<&FlushPrior> {
        usize::from(number).checked_sub(1).and_then(|index| self.flushes.get(index))
    }

    /// Whether every value lies in its range and the flushes follow each other.
    ///
    /// # Errors
    /// The first value that does not.
    pub fn check(&self) -> Result<(), PriorError> {
        self.check_ranges()?;
        self.check_flushes()
    }

    fn check_ranges(&self) -> Result<(), PriorError> {
        let crop = &self.crop;
        let within = |value: f64, low: f64, high: f64| value >= low && value <= high;
        for (field, is_good) in [
            ("names", !crop.names.is_empty() && crop.names.values().all(|name| !name.trim().is_empty())),
            ("pack_step_g", (1..=100_000).contains(&crop.pack_step.get())),
            ("storage_days", (1..=60).contains(&crop.storage_days)),
            ("cooling_hours", crop.cooling_hours <= 72),
            ("price_per_kilogram_cents", crop.price_per_kilogram.is_none_or(|price| price >= Cents::ZERO)),
            ("fresh_per_dried", within(crop.fresh_per_dried, 1.0, 50.0)),
            ("unit_loss_chance", within(self.unit_loss_chance, 0.0, 0.9)),
            ("failure_chance", within(self.failure_chance, 0.0, 0.9)),
            ("thrown_out_chance", within(self.thrown_out_chance, 0.0, 0.9)),
            ("pins_to_pick_days", within(self.pins_to_pick_days, 0.5, 60.0)),
            ("pins_to_pick_days_sd", within(self.pins_to_pick_days_sd, 0.05, 30.0)),
            ("fruiting_high_c", within(self.fruiting_high_c, self.fruiting_low_c, 45.0)),
            ("reference_c", within(self.reference_c, self.fruiting_low_c, self.fruiting_high_c)),
            ("base_c", within(self.base_c, -10.0, self.fruiting_low_c - 1.0)),
        ] {
            if !is_good {
                return Err(PriorError::OutOfRange { crop: crop.key, field });
            }
        }
        Ok(())
    }

    fn check_flushes(&self) -> Result<(), PriorError> {
        let crop = self.crop.key;
        let numbered = self.flushes.iter().enumerate().all(|(index, flush)| usize::from(flush.number) == index + 1);
        if self.flushes.is_empty() || self.flushes.len() > FLUSHES_MAX || !numbered {
            return Err(PriorError::Numbering { crop });
        }
        let within = |value: f64, low: f64, high: f64| value >= low && value <= high;
        for flush in &self.flushes {
            for (field, is_good) in [
                ("be_mean", within(flush.be_mean, 0.001, 3.0)),
                ("be_cv", within(flush.be_cv, 0.01, 3.0)),
                ("days_mean", within(flush.days_mean, 1.0, 120.0)),
                ("days_sd", within(flush.days_sd, 0.1, 60.0)),
                ("spread_days", flush.spread_days <= 7),
                ("rest_days_mean", flush.rest_days_mean.is_none_or(|days| within(days, 0.1, 200.0))),
                ("rest_days_sd", flush.rest_days_sd.is_none_or(|days| within(days, 0.1, 100.0))),
            ] {
                if !is_good {
                    return Err(PriorError::OutOfRange { crop, field });
                }
            }
            let is_last = usize::from(flush.number) == self.flushes.len();
            if !is_last && (flush.rest_days_mean.is_none() || flush.rest_days_sd.is_none()) {
                return Err(PriorError::NoRest { crop, number: flush.number });
            }
        }
        Ok(())
    }
}

/// Why a table of priors is refused.
#[derive(Debug, thiserror::Error)]
pub enum PriorError {
    #[error("the table of crops cannot be read: {0}")]
    Unreadable(#[from] toml::de::Error),
    #[error("{0} is described twice")]
    Twice(CropKey),
    #[error("{crop}: {field} is out of its range")]
    OutOfRange { crop: CropKey, field: &'static str },
    #[error("{crop}: flushes must be numbered 1, 2, … without gaps, at most {FLUSHES_MAX}")]
    Numbering { crop: CropKey },
    #[error("{crop}: flush {number} has a following flush but no rest")]
    NoRest { crop: CropKey, number: u8 },
    #[error("{crop}: a source is given for {field}, which is not a field")]
    UnknownSource { crop: CropKey, field: String },
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    #[serde(default)]
    crop: Vec<CropRow>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct CropRow {
    key: CropKey,
    names: BTreeMap<String, String>,
    grown_in: GrownIn,
    pack_step_g: i64,
    storage_days: u32,
    cooling_hours: u32,
    price_per_kilogram_cents: Option<i64>,
    fresh_per_dried: f64,
    unit_loss_chance: f64,
    failure_chance: f64,
    #[serde(default = "usually_thrown_out")]
    thrown_out_chance: f64,
    pins_to_pick_days: f64,
    pins_to_pick_days_sd: f64,
    fruiting_low_c: f64,
    fruiting_high_c: f64,
    reference_c: f64,
    base_c: f64,
    flush: Vec<FlushPrior>,
    #[serde(default)]
    source: BTreeMap<String, String>,
}

/// For a crop of the farm's own that does not say.
fn usually_thrown_out() -> f64 {
    0.05
}

/// Every field a source may be given for.
const FIELDS: [&str; 20] = [
    "pack_step_g",
    "storage_days",
    "cooling_hours",
    "fresh_per_dried",
    "unit_loss_chance",
    "failure_chance",
    "thrown_out_chance",
    "pins_to_pick_days",
    "pins_to_pick_days_sd",
    "fruiting_low_c",
    "fruiting_high_c",
    "reference_c",
    "base_c",
    "be_mean",
    "be_cv",
    "days_mean",
    "days_sd",
    "spread_days",
    "rest_days_mean",
    "rest_days_sd",
];

/// The crops that ship with the program: shiitake and oyster.
pub fn built_in() -> Vec<CropPrior> {
    parse(BUILT_IN).expect("the built-in table is checked by a test")
}

/// Crops from a table in the form of `data/priors.toml`.
///
/// # Errors
/// Unknown keys, values out of range, gaps in the flushes: see [`PriorError`].
pub fn parse(text: &str) -> Result<Vec<CropPrior>, PriorError> {
    let table: Table = toml::from_str(text)?;
    let mut seen = BTreeSet::new();
    let mut priors = Vec::with_capacity(table.crop.len());
    for row in table.crop {
        if !seen.insert(row.key) {
            return Err(PriorError::Twice(row.key));
        }
        priors.push(row.into_prior()?);
    }
    Ok(priors)
}

impl CropRow {
    fn into_prior(self) -> Result<CropPrior, PriorError> {
        if let Some(field) = self.source.keys().find(|field| !FIELDS.contains(&field.as_str())) {
            return Err(PriorError::UnknownSource { crop: self.key, field: field.clone() });
        }
        let prior = CropPrior {
            crop: Crop {
                key: self.key,
                names: self.names,
                grown_in: self.grown_in,
                pack_step: Grams::new(self.pack_step_g),
                storage_days: self.storage_days,
                cooling_hours: self.cooling_hours,
                price_per_kilogram: self.price_per_kilogram_cents.map(Cents::new),
                fresh_per_dried: self.fresh_per_dried,
            },
            unit_loss_chance: self.unit_loss_chance,
            failure_chance: self.failure_chance,
            thrown_out_chance: self.thrown_out_chance,
            pins_to_pick_days: self.pins_to_pick_days,
            pins_to_pick_days_sd: self.pins_to_pick_days_sd,
            fruiting_low_c: self.fruiting_low_c,
            fruiting_high_c: self.fruiting_high_c,
            reference_c: self.reference_c,
            base_c: self.base_c,
            flushes: self.flush,
            source: self.source,
        };
        prior.check()?;
        Ok(prior)
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test stops where a step fails")]
mod tests {
    use super::*;

    #[test]
    fn every_built_in_value_has_its_source() {
        for prior in built_in() {
            for field in FIELDS {
                assert!(prior.source.get(field).is_some_and(|words| words.len() > 5), "{} {field}", prior.crop.key);
            }
            assert_eq!(prior.flushes.len(), 4);
        }
    }

    /// Plain arithmetic on the priors: 100 blocks of 5 lb at 40 % dry give 84, 48, 26, 12 lb; 50 bags of 20 lb at 30 %
    /// dry give 144, 66, 30, 12 lb; one standard deviation of the first flush is 21 lb and 36 lb.
    #[test]
    fn the_priors_give_the_pounds_worked_out_by_hand() {
        let built_in = built_in();
        for (key, dry_lb, flushes_lb, first_sd_lb) in
            [("shiitake", 200.0, [84.0, 48.0, 26.0, 12.0], 21.0), ("oyster", 300.0, [144.0, 66.0, 30.0, 12.0], 36.0)]
        {
            let prior = built_in.iter().find(|prior| prior.crop.key.as_str() == key).unwrap();
            for (flush, pounds) in prior.flushes.iter().zip(flushes_lb) {
                assert!((flush.be_mean * dry_lb - pounds).abs() < 1e-9, "{key} {}", flush.number);
            }
            assert!((prior.flushes[0].be_mean * prior.flushes[0].be_cv * dry_lb - first_sd_lb).abs() < 1e-9);
        }
    }

    #[test]
    fn a_bad_table_is_refused_with_its_reason() {
        let good = BUILT_IN;
        for (from, to, reason) in [
            ("storage_days = 10", "storage_days = 10\nstorage_weeks = 1", "unknown field"),
            ("be_mean = 0.42", "be_mean = -0.42", "be_mean is out of its range"),
            ("be_mean = 0.42", "be_mean = nan", "be_mean is out of its range"),
            ("number = 2", "number = 3", "without gaps"),
            ("key = \"oyster\"", "key = \"shiitake\"", "shiitake is described twice"),
            ("key = \"oyster\"", "key = \"Oyster\"", "a crop key is"),
            (", rest_days_mean = 14.0, rest_days_sd = 5.0", "", "no rest"),
            ("cooling_hours = 12", "cooling_hours = 100", "cooling_hours is out of its range"),
            ("be_cv = \"no shi", "be_kv = \"no shi", "not a field"),
        ] {
            assert!(good.contains(from), "{from}");
            let refusal = parse(&good.replacen(from, to, 1)).unwrap_err().to_string();
            assert!(refusal.contains(reason), "{from} -> {to}: {refusal}");
        }
    }
}
