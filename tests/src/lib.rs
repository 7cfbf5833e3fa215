//! Whole weeks through the local server, and checks against published values. Each test file is one scenario.

#![forbid(unsafe_code)]

pub mod book;
pub mod calendars;
pub mod cold_store;
pub mod farm;
pub mod hostile;
pub mod narrow_disk;
pub mod plants;
pub mod poison;
pub mod pouring;
pub mod process;
pub mod simulation;
pub mod stored;
pub mod tasks;
pub mod texts;
pub mod year;
