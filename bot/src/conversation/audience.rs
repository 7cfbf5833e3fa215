//! Who is told of what has happened: one table for every event of the farm. Whoever asked for it is answered by the task
//! itself and is not in the table.

use scheduler::farm::Event;
use scheduler::id::Id;

/// Whom a notice is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Audience {
    /// The family: in their group chat where there is one, otherwise each of them.
    Everyone,
    Keepers,
    /// Those who carry; the keepers where nobody is a driver.
    Drivers,
    /// The contacts of a restaurant but the one who did it.
    Colleagues {
        buyer_id: Id,
        of: Id,
    },
}

/// Who is told of an event, in this order.
pub fn of(event: &Event) -> Vec<Audience> {
    match event {
        Event::OrdersChanged(changed) => {
            vec![Audience::Colleagues { buyer_id: changed.book.buyer_id, of: changed.by }]
        }
    }
}
