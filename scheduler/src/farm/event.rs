//! What has happened on the farm: each variant the facts somebody may have to hear, never a text. Who is told of which is
//! the chat's table.

use super::ordering::About;
use super::ordering::book::Book;
use super::{giving, surplus};
use crate::id::Id;

/// Something that has happened.
#[derive(Clone, Debug)]
pub enum Event {
    OrdersChanged(OrdersChanged),
    Surplus(surplus::Event),
    Giving(giving::Event),
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
