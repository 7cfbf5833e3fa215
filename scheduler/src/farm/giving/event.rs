//! What happens to drops, for whoever has to hear of it.

use super::proposing::Unplaced;
use super::{Gift, Regular};
use crate::clock::LocalDate;
use crate::id::Id;
use crate::people::{Person, Role};
use crate::quantity::Grams;
use crate::store::giving::FoodBank;
use crate::surplus::drop::Reminder;

/// Something that has happened.
#[derive(Clone, Debug)]
pub enum Event {
    Gift(Box<Gift>, GiftEvent),
    /// No food bank can take this.
    NobodyTakes(Unplaced),
    /// A date of a regular drop on which nothing is brought.
    Skipped(Skipped),
    Regular(Box<Regular>, RegularEvent, By),
}

impl Event {
    pub(super) fn of(gift: &Gift, what: GiftEvent) -> Event {
        Event::Gift(Box::new(gift.clone()), what)
    }
}

/// What happened to a drop.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum GiftEvent {
    /// The food bank is asked; by telephone where it has no contact here.
    Proposed {
        has_contact: bool,
    },
    Agreed,
    /// A date of a regular drop was filled: it is agreed from the start.
    Filled,
    /// The food bank cannot take it, or did not answer: the next one is asked.
    PassedOn,
    CalledOff(By),
    Reminded(Reminder),
    /// Its time is over, and nobody has said that it was handed over.
    NotHeard,
    HandedOver(By),
    /// Nobody has said how it went: it counts as handed over as agreed.
    Assumed,
    /// Nobody has said how it went, and nothing of it is there: it is off.
    Lapsed,
    /// It was not handed over after all.
    TakenBack,
    Corrected,
    /// More goes along than was said.
    MoreGoes,
}

/// What happened to a regular drop.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RegularEvent {
    Proposed,
    Agreed,
    Declined,
    Stopped,
    /// A date is left out, or brought after all.
    DateSet {
        day: LocalDate,
        is_on: bool,
    },
}

/// Who did it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct By {
    pub person_id: Id,
    pub role: Role,
}

impl From<&Person> for By {
    fn from(person: &Person) -> By {
        By { person_id: person.id, role: person.role }
    }
}

/// A date of a regular drop on which nothing is brought.
#[derive(Clone, Debug)]
pub struct Skipped {
    pub bank: FoodBank,
    pub date: LocalDate,
    pub why: WhySkipped,
}

/// Why nothing is brought.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum WhySkipped {
    NothingFree,
    TooLittleFree(Grams),
    Closed,
    Full,
}
