//! What buyers ask for: standing orders and their dates, amounts, and until when an order is taken.

pub mod amounts;
pub mod cutoff;
pub mod recurrence;
pub mod standing;
