//! Correcting what was entered as given. Rule: no entry is changed; what was wrong is put right by entries of the
//! difference, on the day of the drop, that name the entries they correct, and the cold room moves along to the gram.

use super::event::{Event, GiftEvent};
use super::handing_over::{HandOver, take_and_enter};
use super::{Gift, gift_of};
use crate::farm::{Farm, stock};
use crate::id::Id;
use crate::money::Cents;
use crate::people::Person;
use crate::quantity::Grams;
use crate::store;
use crate::store::cold_room::{self, MoveKind, Movement};
use crate::store::giving::{self, Given};
use crate::surplus::drop::{self, Event as Step};
use crate::surplus::ledger::{Correction, Ledger};

/// Other weights were handed over than was entered; a crop that is not named stays as it is.
///
/// # Errors
/// Whatever the store fails with.
pub async fn correct(
    farm: &mut Farm<'_>,
    person: &Person,
    (drop_id, right): (Id, Vec<(String, Grams)>),
) -> store::Result<HandOver> {
    let Some(before) = gift_of(farm, person, drop_id).await? else { return Ok(HandOver::Unknown) };
    let drop = match drop::apply(&before.drop, Step::Correct(right.clone()), farm.now) {
        Ok(drop) => drop,
        Err(refused) => return Ok(HandOver::Refused(before, refused)),
    };
    let handed = before.drop.handed_load();
    let stands =
        |crop: &str| handed.iter().find(|(other, _)| other == crop).map(|(_, grams)| *grams).unwrap_or_default();
    let day = drop.window.opens_at.local_date(farm.zone());
    for (crop, grams) in &right {
        let missing = grams.less(stands(crop));
        if !stock::holds(farm, crop, (missing, day)).await? {
            return Ok(HandOver::NotInColdRoom { crop: crop.clone(), grams: missing });
        }
    }
    let gift = Gift { drop, bank: before.bank };
    for (crop, grams) in &right {
        let stands = stands(crop);
        if *grams < stands {
            lessen(farm, person, (drop_id, crop), stands - *grams).await?;
        } else if *grams > stands {
            take_and_enter(farm, Some(person.id), &gift, (crop, *grams - stands)).await?;
        }
    }
    giving::put_drop(farm.tx, &gift.drop).await?;
    let event = Event::of(&gift, GiftEvent::Corrected);
    Ok(HandOver::Done(gift, vec![event]))
}

/// Takes `too_much` of a crop out of what stands entered for a drop, the newest entry first, and back into its lots.
pub(super) async fn lessen(
    farm: &mut Farm<'_>,
    person: &Person,
    (drop_id, crop): (Id, &str),
    too_much: Grams,
) -> store::Result<()> {
    let mut entries = giving::ledger(farm.tx).await?;
    entries.retain(|entry| entry.drop_id == Some(drop_id) && entry.crop == crop);
    let mut ledger = Ledger::of(entries.iter().map(Given::as_entry).collect());
    let movement =
        Movement { kind: MoveKind::Given, subject: Some(drop_id), person_id: Some(person.id), now: farm.now };
    let mut missing = too_much;
    for entry in entries.iter().rev().filter(|entry| entry.corrects.is_none() && entry.grams.is_positive()) {
        let stands = ledger.stands(entry.id);
        let part = stands.at_most(missing);
        let id = farm.new_id();
        if !part.is_positive() || ledger.correct(entry.id, stands - part, id) != Correction::Entered {
            continue;
        }
        missing -= part;
        let correction = Given {
            id,
            at: farm.now,
            grams: -part,
            value: value_lessened(&entries, entry, stands - part),
            corrects: Some(entry.id),
            ..entry.clone()
        };
        giving::enter(farm.tx, &correction, Some(person.id)).await?;
        cold_room::take_from_lot(farm.tx, entry.lot_id, -part, &movement).await?;
    }
    Ok(())
}

/// What a correction takes off an entry's value when `right` of its weight stands: the value falls in proportion to the
/// weight, at the price of the day it was entered, to the cent.
fn value_lessened(entries: &[Given], entry: &Given, right: Grams) -> Option<Cents> {
    let entered = entry.value?;
    let before: Cents = entries
        .iter()
        .filter(|one| one.id == entry.id || one.corrects == Some(entry.id))
        .filter_map(|one| one.value)
        .sum();
    let (value, right, weight) = (i128::from(entered.get()), i128::from(right.get()), i128::from(entry.grams.get()));
    let after = (2 * value * right + weight) / (2 * weight);
    Some(Cents::new(i64::try_from(after).unwrap_or(i64::MAX) - before.get()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::clock::UtcSeconds;

    fn entry(id: i64, (grams, cents): (i64, i64), corrects: Option<i64>) -> Given {
        Given {
            id: Id::new(id),
            at: UtcSeconds::new(0),
            day: "2026-06-05".parse().expect("a date"),
            partner_id: Id::new(1),
            partner: "Harbour Table".to_owned(),
            drop_id: Some(Id::new(2)),
            lot_id: Id::new(3),
            crop: "oyster".to_owned(),
            grams: Grams::new(grams),
            value: Some(Cents::new(cents)),
            corrects: corrects.map(Id::new),
            is_assumed: false,
        }
    }

    /// 1,000 g at 10.01: a third of it stands for 3.34, and when nothing stands nothing is left of the value.
    #[test]
    fn what_stands_keeps_its_part_of_the_value() {
        let first = entry(10, (1000, 1001), None);
        let to_third = value_lessened(std::slice::from_ref(&first), &first, Grams::new(334));
        assert_eq!(to_third, Some(Cents::new(334 - 1001)));
        let both = [first.clone(), entry(11, (-666, 334 - 1001), Some(10)), entry(12, (500, 999), None)];
        assert_eq!(value_lessened(&both, &first, Grams::ZERO), Some(Cents::new(-334)));
        assert_eq!(value_lessened(&both, &Given { value: None, ..first }, Grams::ZERO), None);
    }
}
