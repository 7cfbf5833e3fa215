//! Giving: drops to food banks, agreed once or regularly, and the record of what was given. Rule: a drop never takes promised
//! stock, is proposed within the food bank's hours, and what is handed over leaves the cold room and enters the record
//! together.

pub mod answering;
pub mod correcting;
pub mod event;
pub mod filling;
pub mod food_banks;
pub mod handing_over;
pub mod proposing;
pub mod regular;

pub use event::Event;

use super::Farm;
use crate::id::Id;
use crate::people::{Person, Role};
use crate::store;
use crate::store::giving::{self, FoodBank};
use crate::surplus::drop::DropOff;
use crate::surplus::standing::StandingDrop;

/// A drop with the food bank it is for.
#[derive(Clone, Debug)]
pub struct Gift {
    pub drop: DropOff,
    pub bank: FoodBank,
}

/// A regular drop with the food bank it is for.
#[derive(Clone, Debug)]
pub struct Regular {
    pub drop: StandingDrop,
    pub bank: FoodBank,
}

/// What came of a wish about a drop.
#[derive(Clone, Debug)]
pub enum Outcome {
    /// There is no such drop, or it is another food bank's.
    Unknown,
    /// It comes too late; the drop as it stands.
    NotNow(Gift),
    /// Done; the drop as it is now.
    Done(Gift, Vec<Event>),
}

/// Whether somebody may speak of what concerns this food bank: its contact of its own, the family of every one.
fn is_theirs(person: &Person, partner_id: Id) -> bool {
    person.role != Role::Pantry || person.partner_id == Some(partner_id)
}

/// The drop somebody speaks of; `None` when there is no such drop, or it is another food bank's.
///
/// # Errors
/// Whatever the store fails with.
pub async fn gift_of(farm: &mut Farm<'_>, person: &Person, drop_id: Id) -> store::Result<Option<Gift>> {
    let gift = gift(farm, drop_id).await?;
    Ok(gift.filter(|gift| is_theirs(person, gift.drop.partner_id)))
}

async fn gift(farm: &mut Farm<'_>, drop_id: Id) -> store::Result<Option<Gift>> {
    let Some(drop) = giving::drop_by_id(farm.tx, drop_id).await? else { return Ok(None) };
    let bank = giving::food_bank(farm.tx, drop.partner_id).await?;
    Ok(bank.map(|bank| Gift { drop, bank }))
}
