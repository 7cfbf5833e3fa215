//! The crops this farm grows: the built-in ones, with the configuration's own added or in their place. Each comes with
//! what is believed of its harvest before the farm has a record of its own.

use crate::wording::{Args, Voice};
use scheduler::crop::Crop;
use scheduler::harvest::prior::{self, CropPrior};
use scheduler::quantity::Grams;

/// Every crop by key.
#[derive(Clone, Debug)]
pub struct Crops(Vec<CropPrior>);

impl Crops {
    /// The built-in crops, with `own` tables added; a table with a built-in key replaces that crop whole.
    ///
    /// # Errors
    /// What is wrong with a table, in words.
    pub fn configured(own: &[toml::Table]) -> Result<Crops, String> {
        let mut crops = prior::built_in();
        if !own.is_empty() {
            let own: Vec<toml::Value> = own.iter().cloned().map(toml::Value::Table).collect();
            let file = toml::Table::from_iter([("crop".to_owned(), toml::Value::Array(own))]);
            for crop in prior::parse(&file.to_string()).map_err(|error| error.to_string())? {
                match crops.iter_mut().find(|known| known.crop.key == crop.crop.key) {
                    Some(known) => *known = crop,
                    None => crops.push(crop),
                }
            }
        }
        Ok(Crops(crops))
    }

    /// What is believed of each crop's harvest.
    pub fn priors(&self) -> &[CropPrior] {
        &self.0
    }

    /// The crops, in the farm's order.
    pub fn iter(&self) -> impl Iterator<Item = &Crop> {
        self.0.iter().map(|prior| &prior.crop)
    }

    /// The crop with this key.
    pub fn get(&self, key: &str) -> Option<&Crop> {
        self.iter().find(|crop| crop.key.as_str() == key)
    }

    /// What a crop is called in the reader's language; a crop that is no longer configured goes by its key.
    pub fn name(&self, key: &str, voice: &Voice) -> String {
        let names = self.get(key).map(|crop| &crop.names);
        let name = names.and_then(|names| names.get(voice.reader().language.tag()).or_else(|| names.get("en")));
        name.cloned().unwrap_or_else(|| key.to_owned())
    }

    /// "5 lb shiitake", as plain text.
    pub fn amount(&self, key: &str, weight: Grams, voice: &Voice) -> String {
        voice.plain("amount-of", &Args::new().weight("weight", weight).text("crop", self.name(key, voice)))
    }
}
