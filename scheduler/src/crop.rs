//! What the farm grows: a short key for every table and log, names for people, and how the crop is kept and packed.

use crate::money::Cents;
use crate::quantity::Grams;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::fmt;
use std::str::FromStr;

/// Longest key, in letters.
pub const KEY_LENGTH_MAX: usize = 24;

/// A crop's short name inside the program: 1 to 24 of `a`–`z`, `0`–`9` and `-`.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct CropKey {
    /// Unused places stay zero, so the derived order is the order of the text.
    letters: [u8; KEY_LENGTH_MAX],
}

/// Why a text is no crop key.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("a crop key is 1 to {KEY_LENGTH_MAX} of a-z, 0-9 and -")]
pub struct CropKeyError;

impl CropKey {
    /// The key as text.
    pub fn as_str(&self) -> &str {
        let length = self.letters.iter().position(|&letter| letter == 0).unwrap_or(KEY_LENGTH_MAX);
        std::str::from_utf8(&self.letters[..length]).expect("keys are made of ASCII only")
    }
}

impl FromStr for CropKey {
    type Err = CropKeyError;

    fn from_str(text: &str) -> Result<CropKey, CropKeyError> {
        let is_letter = |b: u8| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'-';
        if text.is_empty() || text.len() > KEY_LENGTH_MAX || !text.bytes().all(is_letter) {
            return Err(CropKeyError);
        }
        let mut letters = [0; KEY_LENGTH_MAX];
        letters[..text.len()].copy_from_slice(text.as_bytes());
        Ok(CropKey { letters })
    }
}

impl TryFrom<String> for CropKey {
    type Error = CropKeyError;
    fn try_from(text: String) -> Result<CropKey, CropKeyError> {
        text.parse()
    }
}

impl From<CropKey> for String {
    fn from(key: CropKey) -> String {
        key.as_str().to_owned()
    }
}

impl fmt::Display for CropKey {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.as_str())
    }
}

impl fmt::Debug for CropKey {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:?}", self.as_str())
    }
}

/// What a crop grows in, and with it what its start is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum GrownIn {
    /// A block of sawdust, soaked to start it.
    Block,
    /// A bag of straw or the like, opened to start it.
    Bag,
}

/// How a crop is named, grown, kept, packed and priced.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Crop {
    pub key: CropKey,
    /// Language tag (`en`, `es`, …) to the name people use.
    pub names: BTreeMap<String, String>,
    pub grown_in: GrownIn,
    /// Weights for buyers are multiples of this; at least 1 g.
    pub pack_step: Grams,
    /// Days after the pick on which it may still be delivered, held at or below 5 °C (41 °F).
    pub storage_days: u32,
    /// Hours in the cold room before it may be packed.
    pub cooling_hours: u32,
    /// Usual price of a kilogram, where the farm has one.
    pub price_per_kilogram: Option<Cents>,
    /// Grams of fresh mushroom that dry to one gram.
    pub fresh_per_dried: f64,
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test stops where a step fails")]
mod tests {
    use super::*;

    #[test]
    fn keys_are_short_plain_words() {
        for (text, is_key) in [
            ("shiitake", true),
            ("oyster-2", true),
            ("abcdefghijklmnopqrstuvwx", true),
            ("abcdefghijklmnopqrstuvwxy", false),
            ("", false),
            ("Shiitake", false),
            ("seta ostra", false),
            ("café", false),
        ] {
            assert_eq!(text.parse::<CropKey>().is_ok(), is_key, "{text}");
        }
        let (oyster, shiitake): (CropKey, CropKey) = ("oyster".parse().unwrap(), "shiitake".parse().unwrap());
        assert!(oyster < shiitake);
        assert_eq!(shiitake.to_string(), "shiitake");
        assert_eq!(serde_json::to_string(&oyster).unwrap(), "\"oyster\"");
        assert!(serde_json::from_str::<CropKey>("\"Oyster\"").is_err());
    }
}
