//! What is left: counted, offered to buyers, kept for the market, dried, given. Rule: promised stock is never touched, and
//! what somebody was told is theirs stays theirs.

pub mod advice;
pub mod claims;
pub mod event;
pub mod market;
pub mod offering;
pub mod out;
pub mod rules;
pub mod taking;
pub mod warmth;

pub use event::Event;
