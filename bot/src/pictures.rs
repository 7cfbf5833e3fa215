//! Pictures and printable sheets: typed facts and a reader's [`crate::wording::Voice`] in, finished bytes out.
//!
//! Rule: nothing here asks the store or the clock, the same input gives the same bytes, and nothing is told by colour alone:
//! every mark has a shape of its own and a word beside it. No text leaves its place: names are cut with an ellipsis,
//! weights are written smaller.
//!
//! Pictures are drawn as SVG and rasterised; sheets are drawn straight as PDF with real text. Both write in the embedded
//! font, whose widths are measured in [`lettering`].

mod board;
mod canvas;
mod caption;
mod drop;
mod forecast;
mod given;
mod lettering;
mod packing;
mod palette;
mod paper;
#[cfg(test)]
mod samples;
mod scale;
mod week;
mod went;

pub use drop::DropSheet;
pub use forecast::{CropRow, DayBand, ForecastPicture};
pub use given::{GivenRow, GivenSheet};
pub use packing::{Crate, CrateLine, PackingSheet};
pub use palette::Theme;
pub use paper::Paper;
pub use scale::about;
pub use week::{CropTasks, Task, WeekPicture};
pub use went::{Went, WentPicture, WentWeek};

/// A picture for a chat.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Picture {
    pub png: Vec<u8>,
    /// The same in words, as Telegram HTML of at most 1024 characters, so that it can be the photo's caption.
    pub caption: String,
}
