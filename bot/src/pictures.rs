//! Pictures and printable sheets: typed facts and a reader's [`crate::wording::Voice`] in, finished bytes out.
//!
//! Rule: nothing here asks the store or the clock, the same input gives the same bytes, and nothing is told by colour alone:
//! every mark has a shape of its own and a word beside it. No text leaves its place: names are cut with an ellipsis,
//! weights are written smaller.
//!
//! The crate `drawing` has the canvas, the pages and the font; here is what is put on them.

use crate::wording::{Args, Voice};
use drawing::paper::Pages;

mod board;
mod caption;
mod drop;
mod forecast;
mod given;
mod packing;
#[cfg(test)]
mod samples;
mod scale;
mod week;
mod went;

pub use drawing::palette::Theme;
pub use drawing::paper::Paper;
pub use drop::DropSheet;
pub use forecast::{CropRow, DayBand, ForecastPicture};
pub use given::{GivenRow, GivenSheet};
pub use packing::{Crate, CrateLine, PackingSheet};
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

/// The sheet as PDF in the reader's language, its pages numbered.
fn printed(pages: Pages, voice: &Voice) -> Vec<u8> {
    pages.pdf(voice.reader().language.tag(), |page, pages| {
        let number = |at: usize| i64::try_from(at).unwrap_or(i64::MAX);
        voice.plain("sheet-page", &Args::new().count("page", number(page)).count("pages", number(pages)))
    })
}
