//! When things fall due: cron expressions and times before a delivery, read in the farm's zone, and the occurrences they make.
//!
//! Rule: an expression names readings of the wall clock. Each reading stands for one instant by the rule of
//! [`crate::clock`], and an instant fires once, however many readings stand for it.

pub mod dates;
pub mod expression;
pub mod job;
pub mod occurrence;
pub mod retry;
pub mod rhythm;

pub use dates::{DeliveryDates, Exception};
pub use expression::{Error, Expression};
pub use job::{Job, Look};
pub use occurrence::{Lateness, Occurrence, Recurring, decide_late, due_between};
pub use rhythm::{Before, Rhythm, When};
