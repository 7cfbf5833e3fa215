//! The crops this farm grows: the built-in ones, with the configuration's own added or in their place.

use crate::wording::{Args, Voice};
use scheduler::crop::Crop;
use scheduler::quantity::Grams;

/// Every crop by key.
#[derive(Clone, Debug)]
pub struct Crops(Vec<Crop>);

impl Crops {
    /// Shiitake and oyster.
    pub fn built_in() -> Crops {
        let crop = |key: &str, names: [(&str, &str); 3], storage_days| Crop {
            key: key.parse().expect("a crop key"),
            names: names.map(|(tag, name)| (tag.to_owned(), name.to_owned())).into(),
            pack_step: Grams::new(250),
            storage_days,
            cooling_hours: 12,
            price_per_kilogram: None,
            fresh_per_dried: 10.0,
        };
        Crops(vec![
            crop("shiitake", [("en", "shiitake"), ("es", "shiitake"), ("pl", "shiitake")], 10),
            crop("oyster", [("en", "oyster"), ("es", "ostra"), ("pl", "boczniak")], 5),
        ])
    }

    /// The crops, in the farm's order.
    pub fn iter(&self) -> impl Iterator<Item = &Crop> {
        self.0.iter()
    }

    /// The crop with this key.
    pub fn get(&self, key: &str) -> Option<&Crop> {
        self.0.iter().find(|crop| crop.key.as_str() == key)
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
