//! The food banks the farm knows: added, changed and taken off the list.

use super::answering;
use super::event::Event;
use crate::clock::LocalDate;
use crate::farm::Farm;
use crate::id::Id;
use crate::people::{Person, Role};
use crate::quantity::Grams;
use crate::store::giving::{self, FoodBank};
use crate::store::{self, people};
use crate::surplus::opening::Span;
use chrono::Weekday;

/// Adds a food bank under a name. Without hours it is never open, so that nothing is proposed before the family has said more.
/// `None` when the name is in use.
///
/// # Errors
/// Whatever the store fails with.
pub async fn add(farm: &mut Farm<'_>, name: &str) -> store::Result<Option<FoodBank>> {
    let banks = giving::food_banks(farm.tx).await?;
    if banks.iter().any(|bank| bank.name.to_lowercase() == name.to_lowercase()) {
        return Ok(None);
    }
    let bank = FoodBank {
        id: farm.new_id(),
        name: name.to_owned(),
        address: String::new(),
        travel_minutes: 0,
        least: Grams::new(1),
        greatest: farm.rules.orders.greatest_line(),
        crops: Vec::new(),
        has_cold_store: true,
        weekly: Vec::new(),
        closed: Vec::new(),
        full: Vec::new(),
        need: 0,
        last_drop_at: None,
    };
    giving::put_food_bank(farm.tx, &bank, farm.now).await?;
    Ok(Some(bank))
}

/// What is changed about a food bank.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Change {
    Address(String),
    TravelMinutes(i64),
    Hours(Vec<(Weekday, Span)>),
    Weights {
        least: Grams,
        greatest: Grams,
    },
    /// It takes this crop, or no longer; the last one stays.
    ToggleCrop(String),
    ToggleColdStore,
    /// Its need is greater than others', or as theirs.
    ToggleNeed,
    /// Closed on this date, or open after all.
    ToggleClosed(LocalDate),
}

/// Changes a food bank; `None` when it is not on the list.
///
/// # Errors
/// Whatever the store fails with.
pub async fn change(farm: &mut Farm<'_>, bank_id: Id, change: Change) -> store::Result<Option<FoodBank>> {
    let Some(mut bank) = giving::food_bank(farm.tx, bank_id).await? else { return Ok(None) };
    match change {
        Change::Address(address) => bank.address = address,
        Change::TravelMinutes(minutes) => bank.travel_minutes = minutes,
        Change::Hours(weekly) => bank.weekly = weekly,
        Change::Weights { least, greatest } => (bank.least, bank.greatest) = (least, greatest),
        Change::ToggleCrop(crop) => bank.crops = crops_toggled(&bank, crop, &farm.crops.keys()),
        Change::ToggleColdStore => bank.has_cold_store = !bank.has_cold_store,
        Change::ToggleNeed => bank.need = u8::from(bank.need == 0),
        Change::ToggleClosed(day) => toggle(&mut bank.closed, day),
    }
    giving::put_food_bank(farm.tx, &bank, farm.now).await?;
    Ok(Some(bank))
}

/// None would mean every crop again, so the last one stays.
fn crops_toggled(bank: &FoodBank, crop: String, all: &[String]) -> Vec<String> {
    let mut crops = if bank.crops.is_empty() { all.to_vec() } else { bank.crops.clone() };
    toggle(&mut crops, crop);
    if crops.is_empty() {
        return bank.crops.clone();
    }
    if all.iter().all(|crop| crops.contains(crop)) { Vec::new() } else { crops }
}

fn toggle<T: PartialEq>(all: &mut Vec<T>, one: T) {
    match all.iter().position(|other| *other == one) {
        Some(place) => drop(all.remove(place)),
        None => all.push(one),
    }
}

/// The food bank somebody speaks of: a contact of its own, the family of any on the list.
///
/// # Errors
/// Whatever the store fails with.
pub async fn own(farm: &mut Farm<'_>, person: &Person, bank_id: Id) -> store::Result<Option<FoodBank>> {
    let bank = giving::food_bank(farm.tx, bank_id).await?;
    Ok(bank.filter(|bank| person.role != Role::Pantry || person.partner_id == Some(bank.id)))
}

/// It is full on a date, or has room again. A drop that was to come then is declined. `None` for another's food bank.
///
/// # Errors
/// Whatever the store fails with.
pub async fn toggle_full(
    farm: &mut Farm<'_>,
    person: &Person,
    (bank_id, day): (Id, LocalDate),
) -> store::Result<Option<(FoodBank, Vec<Event>)>> {
    let Some(mut bank) = own(farm, person, bank_id).await? else { return Ok(None) };
    toggle(&mut bank.full, day);
    giving::put_food_bank(farm.tx, &bank, farm.now).await?;
    let mut events = Vec::new();
    if bank.full.contains(&day) {
        let zone = farm.zone();
        let is_then = |drop: &crate::surplus::drop::DropOff| {
            drop.partner_id == bank_id && drop.window.opens_at.local_date(zone) == day
        };
        events = answering::decline_all(farm, is_then).await?;
    }
    Ok(Some((bank, events)))
}

/// Whether a drop to a food bank is proposed or agreed: until then it stays on the list.
///
/// # Errors
/// Whatever the store fails with.
pub async fn has_drops(farm: &mut Farm<'_>, bank_id: Id) -> store::Result<bool> {
    Ok(giving::coming_drops(farm.tx).await?.iter().any(|drop| drop.partner_id == bank_id))
}

/// Takes a food bank off the list once no drop to it is coming; the contacts it had, who have no place any more.
///
/// # Errors
/// Whatever the store fails with.
pub async fn remove(farm: &mut Farm<'_>, bank_id: Id) -> store::Result<Vec<Person>> {
    if has_drops(farm, bank_id).await? {
        return Ok(Vec::new());
    }
    giving::remove_food_bank(farm.tx, bank_id, farm.now).await?;
    people::contacts_of_partner(farm.tx, bank_id).await
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_last_crop_stays_and_all_of_them_are_none() {
        let bank = |crops: &[&str]| FoodBank {
            id: Id::new(5),
            name: "Harbour Table".into(),
            address: String::new(),
            travel_minutes: 25,
            least: Grams::new(900),
            greatest: Grams::new(27_000),
            crops: crops.iter().map(|crop| (*crop).to_owned()).collect(),
            has_cold_store: true,
            need: 0,
            weekly: Vec::new(),
            closed: Vec::new(),
            full: Vec::new(),
            last_drop_at: None,
        };
        let all = ["oyster".to_owned(), "shiitake".to_owned()];
        for (before, toggled, after) in [
            (vec![], "oyster", vec!["shiitake"]),
            (vec!["shiitake"], "shiitake", vec!["shiitake"]),
            (vec!["shiitake"], "oyster", vec![]),
        ] {
            assert_eq!(crops_toggled(&bank(&before), toggled.to_owned(), &all), after, "{before:?} {toggled}");
        }
    }
}
