//! What to start growing, and when.

pub mod plan;
