//! The crops this farm grows: the built-in ones, with the configuration's own added or in their place, and what the keeper
//! said by chat on top. A crop whose values the configuration gives keeps them whatever was said by chat: the file is
//! looked after by hand, and what stands there should hold. Each crop comes with what is believed of its harvest before the
//! farm has a record of its own.

use crate::crop::{Crop, CropKey, GrownIn};
use crate::harvest::prior::{self, CropPrior};
use crate::quantity::Grams;
use crate::store::crops::Said;
use crate::surplus::placement;
use std::collections::{BTreeMap, BTreeSet};

/// Every crop by key.
#[derive(Clone, Debug)]
pub struct Crops {
    priors: Vec<CropPrior>,
    origins: BTreeMap<CropKey, Origin>,
    resting: BTreeSet<CropKey>,
}

/// Who says what a crop is like.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Origin {
    /// It ships with the program.
    BuiltIn,
    Configuration,
    /// The keeper added it; it grows like this built-in crop.
    Chat {
        grows_like: CropKey,
    },
}

impl Crops {
    /// The built-in crops, with `own` tables added; a table with a built-in key replaces that crop whole.
    ///
    /// # Errors
    /// What is wrong with a table, in words.
    pub fn configured(own: &[toml::Table]) -> Result<Crops, String> {
        let mut crops = prior::built_in();
        let mut origins: BTreeMap<CropKey, Origin> =
            crops.iter().map(|prior| (prior.crop.key, Origin::BuiltIn)).collect();
        if !own.is_empty() {
            let own: Vec<toml::Value> = own.iter().cloned().map(toml::Value::Table).collect();
            let file = toml::Table::from_iter([("crop".to_owned(), toml::Value::Array(own))]);
            for crop in prior::parse(&file.to_string()).map_err(|error| error.to_string())? {
                origins.insert(crop.crop.key, Origin::Configuration);
                match crops.iter_mut().find(|known| known.crop.key == crop.crop.key) {
                    Some(known) => *known = crop,
                    None => crops.push(crop),
                }
            }
        }
        Ok(Crops { priors: crops, origins, resting: BTreeSet::new() })
    }

    /// The same with what was said by chat.
    #[must_use]
    pub fn with(&self, said: &[Said]) -> Crops {
        let mut all = self.clone();
        for one in said {
            if one.resting_since.is_some() {
                all.resting.insert(one.key);
            }
            match (self.origins.get(&one.key), one.grows_like) {
                (Some(Origin::Configuration), _) => {}
                (Some(_), _) => {
                    let known = all.priors.iter_mut().find(|known| known.crop.key == one.key);
                    if let Some(known) = known {
                        known.crop = one.changes.of(&known.crop);
                    }
                }
                (None, Some(grows_like)) => {
                    if let Some(model) = self.priors.iter().find(|prior| prior.crop.key == grows_like) {
                        all.priors.push(one.changes.like(model, one.key));
                        all.origins.insert(one.key, Origin::Chat { grows_like });
                    }
                }
                // It was a crop of the configuration and is not there any more.
                (None, None) => {}
            }
        }
        all
    }

    /// What is believed of each crop's harvest.
    pub fn priors(&self) -> &[CropPrior] {
        &self.priors
    }

    /// The crops, in the farm's order.
    pub fn iter(&self) -> impl Iterator<Item = &Crop> {
        self.priors.iter().map(|prior| &prior.crop)
    }

    /// The crops' keys, in the farm's order.
    pub fn keys(&self) -> Vec<String> {
        self.iter().map(|crop| crop.key.as_str().to_owned()).collect()
    }

    /// Those that are not resting: what is grown, and may be ordered.
    pub fn grown(&self) -> impl Iterator<Item = &Crop> {
        self.iter().filter(|crop| !self.is_resting(crop.key.as_str()))
    }

    /// Whether no new orders are taken for a crop.
    pub fn is_resting(&self, key: &str) -> bool {
        self.resting.iter().any(|resting| resting.as_str() == key)
    }

    /// Who says what a crop is like; `None` for one that is not known.
    pub fn origin(&self, key: &str) -> Option<Origin> {
        self.origins.iter().find(|(known, _)| known.as_str() == key).map(|(_, origin)| *origin)
    }

    /// The crop with this key.
    pub fn get(&self, key: &str) -> Option<&Crop> {
        self.iter().find(|crop| crop.key.as_str() == key)
    }

    /// Whether a crop grows in bags that are opened, not in blocks that are soaked. One that is no longer configured is
    /// taken for blocks.
    pub fn is_bagged(&self, key: &str) -> bool {
        self.get(key).is_some_and(|crop| crop.grown_in == GrownIn::Bag)
    }

    /// What a fresh weight of a crop is once dried; of a crop that is no longer configured, a tenth.
    pub fn dried(&self, key: &str, fresh: Grams) -> Grams {
        placement::dried(fresh, self.get(key).map_or(10.0, |crop| crop.fresh_per_dried))
    }
}
