//! What a restaurant's words mean beside the card it was just shown: a shortage to answer, or an offer to take of. Only what
//! one of the card's own buttons does is done so.

use super::Intent;
use crate::conversation::{Desk, shortfall, surplus};
use crate::phrase::{Phrase, When};
use scheduler::clock::{LocalDate, monday_of};
use scheduler::id::Id;
use scheduler::people::Person;
use scheduler::quantity::Grams;
use scheduler::store::{self, buttons, deliveries, surplus as offers};

/// The button that says the same as the phrase; `None` where none does.
///
/// # Errors
/// Whatever the store fails with.
pub async fn button(desk: &mut Desk<'_>, person: &Person, phrase: &Phrase) -> store::Result<Option<Intent>> {
    let live = buttons::live_in(&mut desk.tx, person.chat_id).await?;
    let Some((newest, _)) = live.first() else { return Ok(None) };
    let newest = newest.clone();
    let own: Vec<Intent> = live
        .iter()
        .filter(|(card, _)| *card == newest)
        .filter_map(|(_, intent)| serde_json::from_str(intent).ok())
        .collect();
    match own.iter().find_map(shortage) {
        Some(award) => of_shortage(desk, (award, &own), phrase).await,
        None => of_offer(desk, &own, phrase).await,
    }
}

fn shortage(intent: &Intent) -> Option<Id> {
    match intent {
        Intent::Shortfall(shortfall::Ask::Drop { award }) => Some(*award),
        _ => None,
    }
}

async fn of_shortage(
    desk: &mut Desk<'_>,
    (award, own): (Id, &[Intent]),
    phrase: &Phrase,
) -> store::Result<Option<Intent>> {
    // Two lines are short: which is meant is asked by their buttons.
    if own.iter().filter_map(shortage).any(|other| other != award) {
        return Ok(None);
    }
    let Some(line) = deliveries::award_by_id(&mut desk.tx, award).await? else { return Ok(None) };
    let is_of_day = |when: &Option<When>| match when {
        None | Some(When::NextDelivery) => true,
        Some(When::On(day)) => *day == line.day,
        Some(When::Week(monday)) => *monday == monday_of(line.day),
    };
    let next = desk.house.calendar.next_open_delivery(desk.now).map(|delivery| delivery.date);
    let has = |wanted: shortfall::Ask| {
        let wanted = Intent::Shortfall(wanted);
        own.contains(&wanted).then_some(wanted)
    };
    let take = |crop: Option<&String>, grams: Grams| {
        let is_it = crop.is_none_or(|crop| *crop == line.crop) && is_near(grams, line.promised);
        is_it.then(|| has(shortfall::Ask::Take { award })).flatten()
    };
    Ok(match phrase {
        Phrase::Weight(weight) | Phrase::MakeIt { weight, when: None, .. } => take(None, weight.grams),
        Phrase::Agree { crop, weight } => take(crop.as_ref(), weight.grams),
        Phrase::Order { lines, when } if is_of_day(when) => match lines.as_slice() {
            [one] => take(Some(&one.crop), one.weight.grams),
            _ => None,
        },
        Phrase::Date(when) if is_day(when, next) => has(shortfall::Ask::Move { award }),
        Phrase::Swap { from, to, weight: None, when } if is_of_day(when) => {
            let is_from = from.as_ref().is_none_or(|from| *from == line.crop);
            let whole = own.iter().find(|intent| {
                matches!(intent, Intent::Shortfall(shortfall::Ask::Swap { crop, part, .. })
                    if crop == to && *part == shortfall::SwapPart::Whole)
            });
            whole.filter(|_| is_from).cloned()
        }
        Phrase::NoCrop { crop, when } if *crop == line.crop && is_of_day(when) => has(shortfall::Ask::Drop { award }),
        Phrase::Cancel { crop, when } if crop.as_ref().is_none_or(|crop| *crop == line.crop) && is_of_day(when) => {
            has(shortfall::Ask::Drop { award })
        }
        Phrase::Skip { crop: None, when } if is_of_day(when) => has(shortfall::Ask::Drop { award }),
        Phrase::CancelThat => has(shortfall::Ask::Drop { award }),
        _ => None,
    })
}

fn is_day(when: &When, day: Option<LocalDate>) -> bool {
    day.is_some_and(|day| match when {
        When::On(on) => *on == day,
        When::Week(monday) => *monday == monday_of(day),
        When::NextDelivery => true,
    })
}

/// The same weight, said in another unit or rounded.
fn is_near(said: Grams, meant: Grams) -> bool {
    (said.get() - meant.get()).abs() * 50 <= meant.get()
}

async fn of_offer(desk: &mut Desk<'_>, own: &[Intent], phrase: &Phrase) -> store::Result<Option<Intent>> {
    let offer = own.iter().find_map(|intent| match intent {
        Intent::Surplus(surplus::Ask::TakeOther { offer }) => Some(*offer),
        _ => None,
    });
    let Some(offer_id) = offer else { return Ok(None) };
    let Some(offer) = offers::offer_by_id(&mut desk.tx, offer_id).await? else { return Ok(None) };
    let take = |crop: Option<&String>, grams: Grams| {
        let ask = surplus::Ask::Take { offer: offer_id, grams };
        crop.is_none_or(|crop| *crop == offer.crop).then_some(Intent::Surplus(ask))
    };
    let no_thanks = Intent::Surplus(surplus::Ask::NoThanks { offer: offer_id });
    Ok(match phrase {
        Phrase::Agree { crop, weight } => take(crop.as_ref(), weight.grams),
        Phrase::Order { lines, when: None } => match lines.as_slice() {
            [one] => take(Some(&one.crop), one.weight.grams),
            _ => None,
        },
        Phrase::NoCrop { crop, when: None } if *crop == offer.crop => Some(no_thanks).filter(|no| own.contains(no)),
        Phrase::Full { when: None } => Some(no_thanks).filter(|no| own.contains(no)),
        _ => None,
    })
}
