//! Pictures and printed pages to draw on: shapes and measured texts in, PNG or PDF out. What is drawn is decided elsewhere.
//!
//! Rule: no text leaves its room, and the same drawing gives the same bytes. Both kinds write in the embedded font, whose
//! widths are measured in [`lettering`].

#![forbid(unsafe_code)]

pub mod canvas;
pub mod lettering;
pub mod palette;
pub mod paper;
mod pdf;
