//! What has happened on the farm: each variant the facts somebody may have to hear, never a text. Who is told of which is
//! the chat's table.

use super::ordering::About;
use super::ordering::book::Book;
use crate::id::Id;

/// Something that has happened.
#[derive(Clone, Debug)]
pub enum Event {
    OrdersChanged(OrdersChanged),
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
