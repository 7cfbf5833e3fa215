//! Every text a person reads: Fluent messages from `locales/`, with CLDR forms for weights, dates, times and numbers.
//!
//! Rule: nothing else in the program writes words for people, and a key is always a plain literal in the call, or is
//! marked by [`key`] where it is chosen, so that the check in this module's tests can hold calls and files together.
//!
//! A message pattern is Telegram HTML (`<b>`, `<i>`, `<code>`); every argument is escaped by [`Voice::say`] and nowhere
//! else. Isolation marks are off: no language here is written right to left, and marks would count towards lengths and get
//! copied along. Instead bidirectional controls are dropped from arguments (see `escape`). A right-to-left language
//! would need them on.

mod args;
mod catalogue;
#[cfg(test)]
mod check;
mod dates;
mod escape;
mod languages;
mod numbers;
mod voice;
mod weights;

pub use args::Args;
pub use catalogue::{Error, Wording};
pub use dates::{DateForm, HourClock};
pub use languages::Language;
pub use voice::{Reader, Voice};

/// Marks a literal as a message key where it is chosen apart from the call that says it.
pub const fn key(key: &'static str) -> &'static str {
    key
}
