//! Reminding the driver, and what was handed over. Rule: what is handed over leaves the cold room and enters the record in
//! the same transaction, to the gram; never more than was agreed.

use super::event::{By, Event, GiftEvent};
use super::{Gift, Outcome, correcting, gift, gift_of};
use crate::clock::LocalDate;
use crate::farm::{Farm, stock};
use crate::id::Id;
use crate::people::Person;
use crate::quantity::Grams;
use crate::store;
use crate::store::cold_room::{self, MoveKind, Movement};
use crate::store::giving::{self, Given};
use crate::surplus::drop::{self, Event as Step, Refused, Reminder, State};

/// The driver is to be reminded of a drop, if it is still agreed.
///
/// # Errors
/// Whatever the store fails with.
pub async fn remind(farm: &mut Farm<'_>, drop_id: Id, reminder: Reminder) -> store::Result<Vec<Event>> {
    let Some(gift) = gift(farm, drop_id).await? else { return Ok(Vec::new()) };
    let Ok(drop) = drop::apply(&gift.drop, Step::Remind(reminder), farm.now) else { return Ok(Vec::new()) };
    giving::put_drop(farm.tx, &drop).await?;
    Ok(vec![Event::of(&Gift { drop, ..gift }, GiftEvent::Reminded(reminder))])
}

/// After closing: nobody has said what became of an agreed drop.
///
/// # Errors
/// Whatever the store fails with.
pub async fn ask_after(farm: &mut Farm<'_>, drop_id: Id) -> store::Result<Vec<Event>> {
    let gift = gift(farm, drop_id).await?.filter(|gift| gift.drop.state() == State::Agreed);
    Ok(gift.iter().map(|gift| Event::of(gift, GiftEvent::NotHeard)).collect())
}

/// The agreed drops whose day has come.
///
/// # Errors
/// Whatever the store fails with.
pub async fn agreed_until(farm: &mut Farm<'_>, day: LocalDate) -> store::Result<Vec<Gift>> {
    let zone = farm.zone();
    let mut gifts = Vec::new();
    for drop in giving::coming_drops(farm.tx).await? {
        if drop.state() == State::Agreed
            && drop.window.opens_at.local_date(zone) <= day
            && let Some(bank) = giving::food_bank(farm.tx, drop.partner_id).await?
        {
            gifts.push(Gift { drop, bank });
        }
    }
    Ok(gifts)
}

/// What came of a hand-over, or of the correction of one.
#[derive(Clone, Debug)]
pub enum HandOver {
    Unknown,
    Refused(Gift, Refused),
    /// The cold room does not hold so much of this crop.
    NotInColdRoom {
        crop: String,
        grams: Grams,
    },
    Done(Gift, Vec<Event>),
}

/// These weights were handed over; without lines, all that was agreed.
///
/// # Errors
/// Whatever the store fails with.
pub async fn hand_over(
    farm: &mut Farm<'_>,
    person: &Person,
    (drop_id, lines): (Id, Vec<(String, Grams)>),
) -> store::Result<HandOver> {
    let Some(gift) = gift_of(farm, person, drop_id).await? else { return Ok(HandOver::Unknown) };
    if gift.drop.is_assumed {
        return confirm(farm, person, (gift, lines)).await;
    }
    let handed = if lines.is_empty() { gift.drop.load() } else { lines };
    let drop = match drop::apply(&gift.drop, Step::HandOver(handed.clone()), farm.now) {
        Ok(drop) => drop,
        Err(refused) => return Ok(HandOver::Refused(gift, refused)),
    };
    let day = drop.window.opens_at.local_date(farm.zone());
    for (crop, grams) in &handed {
        if !stock::holds(farm, crop, (*grams, day)).await? {
            return Ok(HandOver::NotInColdRoom { crop: crop.clone(), grams: *grams });
        }
    }
    let gift = Gift { drop, ..gift };
    for (crop, grams) in &handed {
        take_and_enter(farm, Some(person.id), &gift, (crop, *grams)).await?;
    }
    giving::put_drop(farm.tx, &gift.drop).await?;
    let event = Event::of(&gift, GiftEvent::HandedOver(By::from(person)));
    Ok(HandOver::Done(gift, vec![event]))
}

/// Somebody says after all what was handed over: as it was assumed, or other weights.
async fn confirm(
    farm: &mut Farm<'_>,
    person: &Person,
    (gift, lines): (Gift, Vec<(String, Grams)>),
) -> store::Result<HandOver> {
    if !lines.is_empty() {
        return correcting::correct(farm, person, (gift.drop.id, lines)).await;
    }
    match drop::apply(&gift.drop, Step::Confirm, farm.now) {
        Ok(drop) => {
            giving::put_drop(farm.tx, &drop).await?;
            let gift = Gift { drop, ..gift };
            let event = Event::of(&gift, GiftEvent::HandedOver(By::from(person)));
            Ok(HandOver::Done(gift, vec![event]))
        }
        Err(refused) => Ok(HandOver::Refused(gift, refused)),
    }
}

/// Nobody has said what became of an agreed drop in the time for that: it counts as handed over as agreed, as far as the cold
/// room's books hold it, and as called off where they hold nothing of it.
///
/// # Errors
/// Whatever the store fails with.
pub(in crate::farm) async fn assume(farm: &mut Farm<'_>, drop_id: Id) -> store::Result<Vec<Event>> {
    let Some(before) = gift(farm, drop_id).await? else { return Ok(Vec::new()) };
    let day = before.drop.window.opens_at.local_date(farm.zone());
    let lots = cold_room::lots(farm.tx).await?;
    let there = |crop: &str| -> Grams {
        let good = lots.iter().filter(|lot| lot.crop == crop && lot.keeps_until >= day);
        good.map(|lot| lot.left).sum()
    };
    let handed = before.drop.load().into_iter().map(|(crop, grams)| (crop.clone(), grams.at_most(there(&crop))));
    let handed: Vec<(String, Grams)> = handed.filter(|(_, grams)| grams.is_positive()).collect();
    let (step, what) = if handed.is_empty() {
        (Step::Cancel, GiftEvent::Lapsed)
    } else {
        (Step::Assume(handed.clone()), GiftEvent::Assumed)
    };
    let Ok(drop) = drop::apply(&before.drop, step, farm.now) else { return Ok(Vec::new()) };
    let gift = Gift { drop, ..before };
    for (crop, grams) in &handed {
        take_and_enter(farm, None, &gift, (crop, *grams)).await?;
    }
    giving::put_drop(farm.tx, &gift.drop).await?;
    Ok(vec![Event::of(&gift, what)])
}

/// Takes a crop out of the cold room and enters it, lot by lot.
pub(super) async fn take_and_enter(
    farm: &mut Farm<'_>,
    by: Option<Id>,
    gift: &Gift,
    (crop, grams): (&str, Grams),
) -> store::Result<()> {
    let one = &gift.drop;
    let day = one.window.opens_at.local_date(farm.zone());
    let movement = Movement { kind: MoveKind::Given, subject: Some(one.id), person_id: by, now: farm.now };
    let price = farm.crops.get(crop).and_then(|kind| kind.price_per_kilogram);
    for (lot_id, part) in cold_room::take_parts(farm.tx, crop, (grams, day), &movement).await? {
        let given = Given {
            id: farm.new_id(),
            at: farm.now,
            day,
            partner_id: gift.bank.id,
            partner: gift.bank.name.clone(),
            drop_id: Some(one.id),
            lot_id,
            crop: crop.to_owned(),
            grams: part,
            value: price.map(|price| price.per_kilogram_for(part)),
            corrects: None,
            is_assumed: by.is_none(),
        };
        giving::enter(farm.tx, &given, by).await?;
    }
    Ok(())
}

/// Takes a hand-over back: entries of the opposite weight, the stock in the cold room again, the drop agreed as before.
///
/// # Errors
/// Whatever the store fails with.
pub async fn take_back(farm: &mut Farm<'_>, person: &Person, drop_id: Id) -> store::Result<Outcome> {
    let Some(gift) = gift_of(farm, person, drop_id).await? else { return Ok(Outcome::Unknown) };
    let Ok(drop) = drop::apply(&gift.drop, Step::TakeBack, farm.now) else { return Ok(Outcome::NotNow(gift)) };
    for (crop, grams) in gift.drop.handed_load() {
        correcting::lessen(farm, person, (gift.drop.id, &crop), grams).await?;
    }
    giving::put_drop(farm.tx, &drop).await?;
    let gift = Gift { drop, ..gift };
    let event = Event::of(&gift, GiftEvent::TakenBack);
    Ok(Outcome::Done(gift, vec![event]))
}

/// Keeps how warm it was at the hand-over, tenths of a degree Celsius; `false` when no such drop was handed over.
///
/// # Errors
/// Whatever the store fails with.
pub async fn measure(farm: &mut Farm<'_>, drop_id: Id, tenths_c: i64) -> store::Result<bool> {
    let Some(one) = giving::drop_by_id(farm.tx, drop_id).await? else { return Ok(false) };
    let Ok(one) = drop::apply(&one, Step::Measure(tenths_c), farm.now) else { return Ok(false) };
    giving::put_drop(farm.tx, &one).await?;
    Ok(true)
}
