//! The files: one text or dialogue a line.

use anyhow::Context;
use scheduler::clock::LocalDate;
use serde::Deserialize;
use serde::de::DeserializeOwned;
use std::path::Path;

/// The languages, as the files are named.
pub const LANGUAGES: [&str; 3] = ["en", "es", "pl"];

/// Who writes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Who {
    Restaurant,
    FoodBank,
    Driver,
    Grower,
    Keeper,
}

/// What the farm is in the middle of when it is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Situation {
    Plain,
    Standing,
    Ordered,
    Short,
    Offer,
    DropAsked,
    DropAgreed,
    NothingOpen,
    OnRun,
    BeforeRun,
    Growing,
    Week,
}

/// One text.
#[derive(Clone, Debug, Deserialize)]
pub struct Text {
    pub id: String,
    pub role: Who,
    pub situation: Situation,
    pub text: String,
    /// `false` where a careful person would have to ask back.
    pub clear: bool,
    pub means: Vec<Meaning>,
}

/// Several messages of one person, and what must be on the books when it is over.
#[derive(Clone, Debug, Deserialize)]
pub struct Dialogue {
    pub id: String,
    pub role: Who,
    pub situation: Situation,
    pub says: Vec<String>,
    pub after: Vec<Entry>,
}

/// How an amount is meant.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum How {
    #[default]
    Set,
    More,
    Less,
}

/// What a text does not say of an order.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Unsaid {
    Day,
    Amount,
    Crop,
}

/// What is meant. Facts that are not said are left out.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(tag = "act", rename_all = "snake_case")]
pub enum Meaning {
    Order(Order),
    Standing {
        crop: Option<String>,
        grams: Option<i64>,
        every_weeks: Option<u16>,
        from: Option<LocalDate>,
        until: Option<LocalDate>,
    },
    Cancel {
        crop: Option<String>,
        day: Option<LocalDate>,
        #[serde(default)]
        standing: bool,
    },
    Skip {
        from: LocalDate,
        to: LocalDate,
    },
    Swap {
        from_crop: String,
        to_crop: String,
        grams: Option<i64>,
        day: Option<LocalDate>,
    },
    Accept {
        grams: Option<i64>,
    },
    Refuse {},
    Later {},
    Instead {
        crop: Option<String>,
    },
    Ask(Question),
    Complaint {},
    Person {},
    Courtesy {},
    Undo {},
    Unclear {},
    OtherTime {
        day: Option<LocalDate>,
        time: Option<String>,
    },
    WhoComes {},
    Hours {},
    Pause {
        from: Option<LocalDate>,
        to: Option<LocalDate>,
    },
    Delivered {
        buyer: Option<String>,
    },
    Late {
        buyer: Option<String>,
    },
    NobodyThere {
        buyer: Option<String>,
    },
    Refused {
        buyer: Option<String>,
        crop: Option<String>,
        grams: Option<i64>,
    },
    Left {},
    Picked {
        crop: Option<String>,
        grams: Option<i64>,
        day: Option<LocalDate>,
    },
    Pins {
        crop: Option<String>,
    },
    NothingYet {},
    Started {
        crop: Option<String>,
        units: Option<i64>,
        day: Option<LocalDate>,
    },
    Soaked {
        crop: Option<String>,
        units: Option<i64>,
        day: Option<LocalDate>,
    },
    ThrownOut {
        crop: Option<String>,
        units: Option<i64>,
    },
    ThrownAway {
        crop: Option<String>,
        grams: Option<i64>,
    },
    FlushOver {
        crop: Option<String>,
    },
    Temperature {
        celsius_tenths: i64,
    },
    OrderFor(Order),
    CancelFor {
        buyer: Option<String>,
        crop: Option<String>,
        day: Option<LocalDate>,
    },
    Stock {
        crop: Option<String>,
        grams: Option<i64>,
    },
    Price {
        crop: Option<String>,
        cents: i64,
        unit: String,
    },
}

/// So much of a crop for a day.
#[derive(Clone, Debug, Default, PartialEq, Deserialize)]
pub struct Order {
    /// Only where somebody orders for another.
    pub buyer: Option<String>,
    pub crop: Option<String>,
    pub grams: Option<i64>,
    pub day: Option<LocalDate>,
    #[serde(default)]
    pub how: How,
    #[serde(default)]
    pub unsaid: Vec<Unsaid>,
}

/// A question, by its subject.
#[derive(Clone, Debug, Default, PartialEq, Deserialize)]
pub struct Question {
    pub about: String,
    pub crop: Option<String>,
    pub grams: Option<i64>,
    pub day: Option<LocalDate>,
}

/// One thing on the books.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Entry {
    BuyerOrder { crop: String, grams: i64, day: LocalDate },
    Standing { crop: String, grams: i64, every_weeks: u16 },
    Picked { crop: String, grams: i64, day: LocalDate },
    Skipped { from: LocalDate, to: LocalDate },
    Drop(String),
    Delivered(String),
}

/// Every line of a file of this form.
///
/// # Errors
/// When the file cannot be read, or a line is not of this form.
pub fn lines<T: DeserializeOwned>(file: &Path) -> anyhow::Result<Vec<T>> {
    let text = std::fs::read_to_string(file).with_context(|| file.display().to_string())?;
    let lines = text.lines().enumerate().filter(|(_, line)| !line.trim().is_empty());
    lines
        .map(|(at, line)| serde_json::from_str(line).with_context(|| format!("{}:{}", file.display(), at + 1)))
        .collect()
}
