//! What a farm says of a crop by chat: the everyday values of a crop it has, or how a new one differs from the one it
//! grows like. What is not said stays as it is.

use crate::crop::{Crop, CropKey};
use crate::harvest::prior::{CropPrior, FlushPrior};
use crate::money::Cents;
use crate::quantity::Grams;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::ops::RangeInclusive;

/// Days from start to first pick, whole days. Ours: the trade's crops lie between one and seven weeks.
pub const FIRST_PICK_DAYS: RangeInclusive<i64> = 2..=90;
/// Fresh weight of the first flush over dry substrate, percent. Ours: the best whole crops on record reach 135.
pub const FIRST_FLUSH_PERCENT: RangeInclusive<i64> = 2..=150;
/// Days a crop keeps. Ours: no fresh mushroom keeps longer.
pub const KEEPS_DAYS: RangeInclusive<i64> = 1..=60;
/// Hours in the cold room before packing. Ours: three nights at most.
pub const COOLING_HOURS: RangeInclusive<i64> = 0..=72;
/// Pack step, grams. Ours: under 20 g nothing is packed, and nobody's step is over a crate.
pub const PACK_GRAMS: RangeInclusive<i64> = 20..=25_000;
/// Price of a kilogram in hundredths, 0 for none. Ours: more is a slip of the thumb.
pub const PRICE_CENTS: RangeInclusive<i64> = 0..=1_000_000;

/// Everything that can be said; `None` is what was not.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Changes {
    /// Names by language tag; a language not named keeps its name.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub names: BTreeMap<String, String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pack_step: Option<Grams>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub keeps_days: Option<u32>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cooling_hours: Option<u32>,
    /// Of a kilogram; nothing says that there is no price.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub price: Option<Cents>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub first_pick_days: Option<u32>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub first_flush_percent: Option<u32>,
}

impl Changes {
    /// The crop with what was said of it.
    #[must_use]
    pub fn of(&self, crop: &Crop) -> Crop {
        let names = crop.names.iter().chain(&self.names).map(|(tag, name)| (tag.clone(), name.clone())).collect();
        Crop {
            names,
            pack_step: self.pack_step.unwrap_or(crop.pack_step),
            storage_days: self.keeps_days.unwrap_or(crop.storage_days),
            cooling_hours: self.cooling_hours.unwrap_or(crop.cooling_hours),
            price_per_kilogram: match self.price {
                Some(Cents::ZERO) => None,
                Some(price) => Some(price),
                None => crop.price_per_kilogram,
            },
            ..crop.clone()
        }
    }

    /// A crop of this key that grows like `model` but for what was said. Days and yields of all its flushes stand to each
    /// other, and to their spreads, as the model's do.
    #[must_use]
    pub fn like(&self, model: &CropPrior, key: CropKey) -> CropPrior {
        let first = model.flushes.first();
        let slower = ratio(self.first_pick_days, first.map(|flush| flush.days_mean));
        let richer = ratio(self.first_flush_percent, first.map(|flush| flush.be_mean * 100.0));
        let flush = |flush: &FlushPrior| FlushPrior {
            be_mean: flush.be_mean * richer,
            days_mean: flush.days_mean * slower,
            days_sd: flush.days_sd * slower,
            ..*flush
        };
        let unnamed = Crop { key, names: BTreeMap::new(), price_per_kilogram: None, ..model.crop.clone() };
        CropPrior {
            crop: self.of(&unnamed),
            pins_to_pick_days: model.pins_to_pick_days * slower,
            pins_to_pick_days_sd: model.pins_to_pick_days_sd * slower,
            flushes: model.flushes.iter().map(flush).collect(),
            ..model.clone()
        }
    }
}

fn ratio(said: Option<u32>, of_model: Option<f64>) -> f64 {
    said.zip(of_model).map_or(1.0, |(said, model)| f64::from(said) / model)
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test stops where a step fails")]
mod tests {
    use super::*;
    use crate::harvest::prior::built_in;

    /// Plain arithmetic on the built-in table: oyster's first flush comes after 12 days with 0.48 of the dry substrate, the
    /// second after 8 with 0.22.
    #[test]
    fn a_crop_like_another_keeps_its_proportions() {
        let oyster = &built_in()[1];
        let said = Changes {
            names: BTreeMap::from([("en".to_owned(), "king oyster".to_owned())]),
            first_pick_days: Some(18),
            first_flush_percent: Some(24),
            keeps_days: Some(9),
            price: Some(Cents::new(2400)),
            ..Changes::default()
        };
        let made = said.like(oyster, "king-oyster".parse().unwrap());
        assert_eq!(made.crop.names.len(), 1, "the model's names are the model's");
        assert_eq!((made.crop.storage_days, made.crop.pack_step), (9, oyster.crop.pack_step));
        assert_eq!(made.crop.price_per_kilogram, Some(Cents::new(2400)));
        for (number, days, efficiency) in [(1, 18.0, 0.24), (2, 12.0, 0.11)] {
            let flush = made.flush(number).unwrap();
            assert!((flush.days_mean - days).abs() < 1e-9 && (flush.be_mean - efficiency).abs() < 1e-9, "{number}");
            let before = oyster.flush(number).unwrap();
            assert!((flush.days_sd / flush.days_mean - before.days_sd / before.days_mean).abs() < 1e-9);
        }
        assert!((made.pins_to_pick_days - 7.5).abs() < 1e-9);
        made.check().unwrap();
    }

    /// Whatever the limits let through is a crop that the table's own check takes.
    #[test]
    fn the_outermost_values_make_a_sound_crop() {
        for model in built_in() {
            for days in [*FIRST_PICK_DAYS.start(), *FIRST_PICK_DAYS.end()] {
                for percent in [*FIRST_FLUSH_PERCENT.start(), *FIRST_FLUSH_PERCENT.end()] {
                    let said = Changes {
                        names: BTreeMap::from([("en".to_owned(), "new".to_owned())]),
                        first_pick_days: u32::try_from(days).ok(),
                        first_flush_percent: u32::try_from(percent).ok(),
                        ..Changes::default()
                    };
                    said.like(&model, "new".parse().unwrap()).check().unwrap();
                }
            }
        }
    }

    #[test]
    fn what_is_not_said_stays() {
        let shiitake = &built_in()[0].crop;
        assert_eq!(Changes::default().of(shiitake), *shiitake);
        let priced = Changes { price: Some(Cents::new(1800)), ..Changes::default() }.of(shiitake);
        assert_eq!(priced.price_per_kilogram, Some(Cents::new(1800)));
        let unpriced = Changes { price: Some(Cents::ZERO), ..Changes::default() }.of(&priced);
        assert_eq!(unpriced.price_per_kilogram, None);
    }
}
