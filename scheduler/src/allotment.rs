//! Who gets what when orders and harvest meet: shares, promises, and the reasons for both.
//!
//! Pure decisions over lots and claims; who asked in which words and where the answer is kept is none of its business. Start at
//! [`solve()`] for the share-out, at [`promise`] for how much to promise before the harvest is known and at
//! [`day`] for one delivery day of it, at [`warning`] for what will probably be short, at [`resolve_after_weighing`] for the day it is.

pub mod claims;
pub mod day;
pub mod explain;
pub mod promise;
pub mod record;
pub mod rotation;
pub mod rules;
pub mod solve;
pub mod warning;
pub mod weighing;

mod draw;
mod least_cost;
mod levels;
mod minimums;
mod network;
mod packs;

pub use claims::{Claim, Lot};
pub use day::{DayDraws, DayPromise, Owed, promise_day};
pub use explain::{Shortage, Why};
pub use promise::{Promise, SupplyDraws, promise_at_level};
pub use solve::{Allotment, Award, Promised, Sharing, Terms, solve};
pub use weighing::resolve_after_weighing;
