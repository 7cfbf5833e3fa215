//! The crops this farm grows: the built-in ones, with the configuration's own added or in their place. Each comes with
//! what is believed of its harvest before the farm has a record of its own.

use crate::wording::{Args, Voice};
use scheduler::crop::Crop;
use scheduler::harvest::prior::{self, CropPrior};
use scheduler::quantity::Grams;
use scheduler::surplus::placement;

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

    /// What a fresh weight of a crop is once dried; of a crop that is no longer configured, a tenth.
    pub fn dried(&self, key: &str, fresh: Grams) -> Grams {
        placement::dried(fresh, self.get(key).map_or(10.0, |crop| crop.fresh_per_dried))
    }

    /// "5 lb shiitake", as plain text.
    pub fn amount(&self, key: &str, weight: Grams, voice: &Voice) -> String {
        voice.plain("amount-of", &Args::new().weight("weight", weight).text("crop", self.name(key, voice)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::config::{Config, SAMPLE};

    /// The sample with its example of a crop switched on, `from` in it replaced.
    fn example(from: &str, to: &str) -> Result<Config, crate::config::Error> {
        let (head, crop) = SAMPLE.split_once("# [[crop]]").expect("the sample shows a crop");
        let crop: String = crop.lines().map(|line| line.strip_prefix("# ").unwrap_or(line).to_owned() + "\n").collect();
        assert!(crop.contains(from), "{from}");
        Config::parse(&format!("{head}[[crop]]{}", crop.replacen(from, to, 1)))
    }

    fn crops(config: &Config) -> Crops {
        Crops::configured(&config.crops).expect("checked when the file was read")
    }

    #[test]
    fn a_crop_of_the_farms_own_is_added_or_takes_the_place_of_a_built_in_one() {
        let added = crops(&example("", "").expect("the example is right"));
        assert_eq!(
            added.iter().map(|crop| crop.key.as_str()).collect::<Vec<_>>(),
            ["shiitake", "oyster", "lions-mane"]
        );
        assert_eq!(added.get("lions-mane").map(|crop| crop.names["pl"].as_str()), Some("soplówka"));
        let replaced = crops(&example("\"lions-mane\"", "\"oyster\"").expect("a built-in key"));
        assert_eq!(replaced.iter().count(), 2);
        assert_eq!(replaced.get("oyster").map(|crop| crop.names["en"].as_str()), Some("lion's mane"));
    }

    #[test]
    fn what_is_wrong_with_a_crop_is_named() {
        for (from, to, expected) in [
            ("storage_days = 5", "storage_weeks = 5", "storage_weeks"),
            ("storage_days = 5\n", "", "storage_days"),
            ("\"lions-mane\"", "\"Lion's mane\"", "a crop key is"),
            ("be_mean = 0.40", "be_mean = -0.40", "be_mean"),
            ("number = 2", "number = 3", "flushes must be numbered"),
        ] {
            let error = example(from, to).expect_err(to).to_string();
            assert!(error.contains(expected), "{to}: {error}");
        }
    }
}
