//! Who there is: roles, and what each person reads in.

pub mod quiet;

use crate::id::Id;
use crate::quantity::UnitSystem;
use quiet::QuietHours;
use serde::{Deserialize, Serialize};

/// What a person does here.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Role {
    /// Owns the farm: everything, and who joins.
    Keeper,
    /// Soaks, picks and packs.
    Grower,
    /// Carries the deliveries and drops.
    Driver,
    /// Orders for a restaurant.
    Buyer,
    /// Answers for a food bank.
    Pantry,
}

impl Role {
    /// All roles, the keeper first.
    pub const ALL: [Role; 5] = [Role::Keeper, Role::Grower, Role::Driver, Role::Buyer, Role::Pantry];

    /// Whether this is one of the family.
    pub const fn is_family(self) -> bool {
        matches!(self, Role::Keeper | Role::Grower | Role::Driver)
    }
}

/// How a person reads hours.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum HourClock {
    Twelve,
    TwentyFour,
}

/// Somebody who has joined.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Person {
    pub id: Id,
    /// Their private chat, which is also their account number at the messaging service.
    pub chat_id: i64,
    pub name: String,
    pub role: Role,
    /// Language tag, such as "es".
    pub language: String,
    pub units: UnitSystem,
    pub hour_clock: HourClock,
    /// When nothing comes that can wait; `None` is never.
    pub quiet: Option<QuietHours>,
    /// The restaurant a buyer's contact orders for.
    pub buyer_id: Option<Id>,
    /// The food bank a pantry contact answers for.
    pub partner_id: Option<Id>,
}

/// What a restaurant's short line does when nobody answers by the deadline.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum WhenSilent {
    /// Take what is promised.
    Take,
    /// Drop the line.
    Drop,
}

/// A restaurant.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Buyer {
    pub id: Id,
    pub name: String,
    pub when_silent: WhenSilent,
    /// Relative weight in sharing, at least 1.
    pub weight: i64,
}

/// What an invitation makes of who uses it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Place {
    pub role: Role,
    pub buyer_id: Option<Id>,
    pub partner_id: Option<Id>,
}
