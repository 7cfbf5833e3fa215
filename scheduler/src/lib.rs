//! What the farm has, owes and should do next, and when.
//!
//! The modules decide; `store` remembers. Nothing here talks to a chat or to the network. Start at `harvest` for what
//! will be ready, `orders` for what is asked, `allotment` for who gets what, `surplus` for what is left.

#![forbid(unsafe_code)]

pub mod allotment;
pub mod clock;
pub mod crop;
pub mod delivery;
pub mod farm;
pub mod growing;
pub mod harvest;
pub mod id;
pub mod money;
pub mod orders;
pub mod people;
pub mod planted;
pub mod quantity;
pub mod store;
pub mod surplus;
pub mod timetable;
