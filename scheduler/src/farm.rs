//! The business of the farm: one module a use case. A use case takes typed facts and who asks, decides with the pure
//! modules, writes through `store`, and returns what came of it: a typed outcome, or the [`Event`]s that somebody may have
//! to hear of. It knows no chat, no language and no button; the chat, the timetable and a test without a chat call the
//! same functions.

pub mod answering;
pub mod asked;
pub mod batch_changes;
pub mod batches;
pub mod catalogue;
pub mod closed_day;
pub mod closing;
pub mod coming;
pub mod delivering;
pub mod event;
pub mod expected;
pub mod forgotten;
pub mod futures;
pub mod giving;
pub mod jobs;
pub mod lines;
pub mod look_soon;
pub mod ordering;
pub mod packing;
pub mod picking;
pub mod plan;
pub mod rules;
pub mod served;
pub mod sharing;
pub mod stock;
pub mod stocktake;
pub mod supply;
pub mod surplus;
pub mod underway;
pub mod warning;
pub mod weighing;

pub use catalogue::Crops;
pub use event::Event;
pub use rules::Rules;

use crate::clock::{LocalDate, UtcSeconds};
use crate::delivery::calendar::Calendar;
use crate::id::Id;
use crate::store::Tx;
use chrono_tz::Tz;

/// The farm as one transaction sees it.
pub struct Farm<'t> {
    pub tx: &'t mut Tx,
    pub now: UtcSeconds,
    pub calendar: &'t Calendar,
    pub crops: &'t Crops,
    pub rules: &'t Rules,
}

impl Farm<'_> {
    /// The farm's zone.
    pub fn zone(&self) -> Tz {
        self.calendar.zone
    }

    /// The farm's calendar day.
    pub fn today(&self) -> LocalDate {
        self.now.local_date(self.zone())
    }

    /// A new identifier.
    pub fn new_id(&self) -> Id {
        self.tx.new_id(self.now)
    }
}
