//! What the farm has, owes and should do next, and when.
//!
//! The modules decide; `store` remembers. Nothing here talks to a chat or to the network. Start at `harvest` for what
//! will be ready, `orders` for what is asked, `allotment` for who gets what, `surplus` for what is left.

pub mod allotment;
pub mod clock;
pub mod id;
pub mod money;
pub mod quantity;
