//! Ordering: what a restaurant asks for one delivery, and its standing orders. Rule: a change is worked out first, so that
//! it can be said back, and then stored whole; it can be undone until orders close.

pub mod book;
pub mod change;
pub mod day;
pub mod edits;
pub mod limits;
pub mod standing;

pub use book::Book;
pub use change::{About, Change};

use crate::quantity::Grams;
use std::collections::BTreeMap;

/// Weights by crop.
pub type Sums = BTreeMap<String, Grams>;
