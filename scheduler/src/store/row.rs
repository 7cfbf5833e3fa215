//! Reading columns as domain types.

use super::{Error, Result};
use crate::clock::{LocalDate, UtcSeconds};
use crate::id::Id;
use crate::quantity::Grams;
use serde::de::DeserializeOwned;
use sqlx::Row;
use sqlx::any::AnyRow;

/// The columns of a row, by name.
pub(super) trait Columns {
    fn integer(&self, column: &str) -> Result<i64>;
    fn integer_opt(&self, column: &str) -> Result<Option<i64>>;
    fn text(&self, column: &str) -> Result<String>;
    fn text_opt(&self, column: &str) -> Result<Option<String>>;

    fn id(&self, column: &str) -> Result<Id> {
        Ok(Id::new(self.integer(column)?))
    }

    fn id_opt(&self, column: &str) -> Result<Option<Id>> {
        Ok(self.integer_opt(column)?.map(Id::new))
    }

    fn grams(&self, column: &str) -> Result<Grams> {
        Ok(Grams::new(self.integer(column)?))
    }

    fn grams_opt(&self, column: &str) -> Result<Option<Grams>> {
        Ok(self.integer_opt(column)?.map(Grams::new))
    }

    fn instant(&self, column: &str) -> Result<UtcSeconds> {
        Ok(UtcSeconds::new(self.integer(column)?))
    }

    fn instant_opt(&self, column: &str) -> Result<Option<UtcSeconds>> {
        Ok(self.integer_opt(column)?.map(UtcSeconds::new))
    }

    fn day(&self, column: &str) -> Result<LocalDate> {
        let text = self.text(column)?;
        text.parse().map_err(|_| Error::malformed(column, text))
    }

    fn day_opt(&self, column: &str) -> Result<Option<LocalDate>> {
        match self.text_opt(column)? {
            None => Ok(None),
            Some(text) => text.parse().map(Some).map_err(|_| Error::malformed(column, text)),
        }
    }

    /// A column that holds JSON.
    fn json<T: DeserializeOwned>(&self, column: &str) -> Result<T> {
        let text = self.text(column)?;
        serde_json::from_str(&text).map_err(|_| Error::malformed(column, text))
    }

    /// A column that holds one word of a unit-only enum, by its serde name.
    fn word<T: DeserializeOwned>(&self, column: &str) -> Result<T> {
        let text = self.text(column)?;
        from_word(&text).ok_or_else(|| Error::malformed(column, text))
    }
}

impl Columns for AnyRow {
    fn integer(&self, column: &str) -> Result<i64> {
        Ok(self.try_get(column)?)
    }

    fn integer_opt(&self, column: &str) -> Result<Option<i64>> {
        Ok(self.try_get(column)?)
    }

    fn text(&self, column: &str) -> Result<String> {
        Ok(self.try_get(column)?)
    }

    fn text_opt(&self, column: &str) -> Result<Option<String>> {
        Ok(self.try_get(column)?)
    }
}

/// The enum variant with this serde name.
pub(super) fn from_word<T: DeserializeOwned>(word: &str) -> Option<T> {
    serde_json::from_value(serde_json::Value::String(word.to_owned())).ok()
}

/// The serde name of a unit-only enum's variant, as it is stored.
pub(super) fn word<T: serde::Serialize>(value: T) -> String {
    match serde_json::to_value(value) {
        Ok(serde_json::Value::String(word)) => word,
        other => unreachable!("only unit-only enums are stored as words, not {other:?}"),
    }
}

/// A value as JSON text.
pub(super) fn json<T: serde::Serialize>(value: &T) -> String {
    serde_json::to_string(value).expect("stored forms have string keys and finite numbers")
}
