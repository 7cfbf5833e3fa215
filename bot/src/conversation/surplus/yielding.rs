//! Orders come first: what is on offer and nobody has taken is withdrawn as far as an order needs it. Rule: what somebody was
//! told is theirs stays theirs.

use super::stock::Holder;
use super::{left, offer_card, stock};
use crate::conversation::Desk;
use crate::conversation::cutoff::supply;
use crate::wording::Args;
use scheduler::clock::LocalDate;
use scheduler::quantity::Grams;
use scheduler::store;
use scheduler::store::surplus;
use scheduler::surplus::offer::{Event, apply};
use std::collections::BTreeMap;

/// Withdraws up to `needed` of each crop from what is on offer, the newest offer first; everybody's card is edited and the
/// keepers are told.
///
/// # Errors
/// Whatever the store fails with.
pub async fn withdraw(desk: &mut Desk<'_>, needed: &BTreeMap<String, Grams>) -> store::Result<()> {
    let house = desk.house;
    let mut needed = needed.clone();
    for offer in surplus::open_offers(&mut desk.tx).await?.into_iter().rev() {
        let Some(need) = needed.get_mut(&offer.crop) else { continue };
        let withdrawn = need.less(Grams::ZERO).at_most(offer.left);
        let Ok(after) = apply(&offer, Event::Yield(withdrawn), desk.now) else { continue };
        if !withdrawn.is_positive() {
            continue;
        }
        *need -= withdrawn;
        let left = offer.left - withdrawn;
        surplus::put_offer(&mut desk.tx, &after).await?;
        offer_card::show_all(desk, offer.id, None).await?;
        left::tell_keepers(desk, |voice| {
            let args = Args::new().text("what", house.amount(&offer.crop, withdrawn, voice));
            voice.say("offer-yielded", &args.weight("left", left))
        })
        .await?;
    }
    Ok(())
}

/// Withdraws what the promises of `day`, out of a stock that is known, leave uncovered of what is on offer.
///
/// # Errors
/// Whatever the store fails with.
pub async fn make_room(desk: &mut Desk<'_>, day: LocalDate) -> store::Result<()> {
    let there = supply::ready_on(desk, day).await?;
    let mut firm: BTreeMap<String, Grams> = BTreeMap::new();
    let mut offered: BTreeMap<String, Grams> = BTreeMap::new();
    for held in stock::held(desk).await? {
        let sums = match held.holder {
            Holder::Offer => &mut offered,
            // What other days are promised is for their own morning, and the market goes last.
            Holder::Award if held.bound.date != day => continue,
            Holder::Market => continue,
            Holder::Award | Holder::Taken | Holder::Drop(_) => &mut firm,
        };
        *sums.entry(held.bound.crop).or_default() += held.bound.weight;
    }
    let of = |sums: &BTreeMap<String, Grams>, crop: &String| sums.get(crop).copied().unwrap_or_default();
    let needed = offered
        .iter()
        .map(|(crop, left)| (crop.clone(), (of(&firm, crop) + *left).less(of(&there, crop)).at_most(*left)))
        .collect();
    withdraw(desk, &needed).await
}
