//! What has happened on the farm: each variant the facts somebody may have to hear, never a text. Who is told of which is
//! the chat's table.

use super::closed_day::{BuyerDay, ClosedDay, Occasion};
use super::ordering::About;
use super::ordering::book::Book;
use super::packing::PackingList;
use super::underway::OnTheRoad;
use super::warning::told::News;
use super::{giving, surplus};
use crate::allotment::warning::Risk;
use crate::clock::{LocalDate, UtcSeconds};
use crate::delivery::calendar::Delivery;
use crate::id::Id;
use crate::quantity::Grams;

/// Something that has happened.
#[derive(Clone, Debug)]
pub enum Event {
    OrdersChanged(OrdersChanged),
    Surplus(surplus::Event),
    Giving(giving::Event),
    /// A closed day is another one for a restaurant.
    BuyerDay(BuyerDay, Occasion),
    /// The day's table is new, or settled.
    DayTable(DayTable),
    /// Orders are closed and nothing was asked.
    NothingOrdered {
        day: LocalDate,
    },
    /// Less is there than was promised, and promises were cut.
    DayCut {
        before: Box<ClosedDay>,
        after: Box<ClosedDay>,
    },
    EarlyWarning(EarlyWarning),
    OnTheRoad(OnTheRoad),
    /// What is to be packed.
    PackingList(Box<PackingList>),
    /// The van has left, and nobody has said that it is packed: it counts as packed as listed.
    PackingAssumed(Box<PackingList>),
    /// Nobody has said how a run went; it counts as delivered as packed from then on.
    RunUnsaid {
        list: Box<PackingList>,
        counts_at: UtcSeconds,
        unsaid: Unsaid,
    },
    /// The time to say it is over: the run counts as delivered as packed. With what the books did not hold.
    RunAssumed {
        list: Box<PackingList>,
        missing: Vec<(String, Grams)>,
    },
    /// What is to be picked tonight: crop, promised, ready.
    PickingDue {
        day: LocalDate,
        crops: Vec<(String, Grams, Grams)>,
    },
}

impl From<surplus::Event> for Event {
    fn from(event: surplus::Event) -> Event {
        Event::Surplus(event)
    }
}

impl From<giving::Event> for Event {
    fn from(event: giving::Event) -> Event {
        Event::Giving(event)
    }
}

/// How long ago somebody was to say it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unsaid {
    JustOver,
    DayBefore,
}

/// A restaurant's orders are not what they were.
#[derive(Clone, Debug)]
pub struct OrdersChanged {
    /// Who changed them.
    pub by: Id,
    pub about: About,
    /// The change took an earlier one back.
    pub is_undone: bool,
    /// Everything the restaurant has ordered now.
    pub book: Book,
}

/// Coming deliveries will more likely than not be short.
#[derive(Clone, Debug)]
pub struct EarlyWarning {
    /// The deliveries that still take orders.
    pub open: Vec<Delivery>,
    pub risks: Vec<(Risk, News)>,
}

/// The family's table of a closed day.
#[derive(Clone, Debug)]
pub struct DayTable {
    pub day: ClosedDay,
    pub moment: Moment,
}

/// When the table is told.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Moment {
    Closed,
    /// Every answer is in.
    Settled,
}
