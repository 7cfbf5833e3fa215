//! A buyer's answer to an offer. Rule: first come, first served, inside the farm's one transaction.

use super::claims;
use super::event::{ClaimEvent, Claimed, Event};
use crate::farm::{self, Farm};
use crate::id::Id;
use crate::people::{Buyer, Person};
use crate::quantity::Grams;
use crate::store::{self, people, surplus};
use crate::surplus::claim::{self, Claim, Taking};
use crate::surplus::offer::{self, Event as Step, Offer, Refused};

/// The offer and the buyer somebody answers for; `None` where they were not asked.
///
/// # Errors
/// Whatever the store fails with.
pub async fn asked(farm: &mut Farm<'_>, person: &Person, offer_id: Id) -> store::Result<Option<(Offer, Buyer)>> {
    let Some(offer) = surplus::offer_by_id(farm.tx, offer_id).await? else { return Ok(None) };
    let asked = surplus::asked_buyers(farm.tx, offer_id).await?;
    let Some(buyer_id) = person.buyer_id.filter(|buyer_id| asked.iter().any(|(id, _)| id == buyer_id)) else {
        return Ok(None);
    };
    let buyer = people::buyer_by_id(farm.tx, buyer_id).await?;
    Ok(buyer.map(|buyer| (offer, buyer)))
}

/// What came of a taking.
#[derive(Clone, Debug)]
pub enum Taken {
    NotAsked,
    Refused(Offer, Refused),
    Granted { offer: Offer, claim: Claim, is_less: bool, events: Vec<farm::Event> },
}

/// A buyer takes so much.
///
/// # Errors
/// Whatever the store fails with.
pub async fn take(farm: &mut Farm<'_>, person: &Person, (offer_id, wanted): (Id, Grams)) -> store::Result<Taken> {
    let Some((before, buyer)) = asked(farm, person, offer_id).await? else { return Ok(Taken::NotAsked) };
    let offer = match offer::apply(&before, Step::Take(wanted), farm.now) {
        Ok(offer) => offer,
        Err(refused) => return Ok(Taken::Refused(before, refused)),
    };
    let granted = before.left - offer.left;
    let goes_on = claims::day_for(farm, &before, granted).await?;
    let taking = Taking { id: farm.new_id(), buyer_id: buyer.id, grams: granted, goes_on };
    let claim = Claim::of(&before, taking, farm.now);
    surplus::put_offer(farm.tx, &offer).await?;
    surplus::add_claim(farm.tx, &claim, Some(person.id)).await?;
    let (claim, day_changed) = claims::made(farm, claim).await?;
    let mut events = vec![Event::OfferChanged { offer_id, by: Some(person.id) }];
    let claimed = Claimed { claim: claim.clone(), buyer: buyer.name };
    events.push(Event::Claim(Box::new(claimed), ClaimEvent::Made { left: offer.left }));
    events.extend(day_changed);
    let events = events.into_iter().map(farm::Event::from).collect();
    Ok(Taken::Granted { offer, claim, is_less: wanted > before.left, events })
}

/// A buyer wants none of it, or would like to see it after all; `None` where they were not asked.
///
/// # Errors
/// Whatever the store fails with.
pub async fn pass(
    farm: &mut Farm<'_>,
    person: &Person,
    (offer_id, has_passed): (Id, bool),
) -> store::Result<Option<Offer>> {
    let Some((offer, buyer)) = asked(farm, person, offer_id).await? else { return Ok(None) };
    let at = has_passed.then_some(farm.now);
    surplus::set_declined(farm.tx, offer_id, buyer.id, at).await?;
    Ok(Some(offer))
}

/// What came of giving back.
#[derive(Clone, Debug)]
pub enum GivenBack {
    /// It is over already, or another's.
    Unknown,
    /// The van is packed.
    Packed,
    Done(Claim, Vec<farm::Event>),
}

/// A buyer gives back what they took; while its offer is open it is on offer again.
///
/// # Errors
/// Whatever the store fails with.
pub async fn give_back(farm: &mut Farm<'_>, person: &Person, claim_id: Id) -> store::Result<GivenBack> {
    let Some(before) = surplus::claim_by_id(farm.tx, claim_id).await? else { return Ok(GivenBack::Unknown) };
    let Ok(claim) = claim::apply(&before, claim::Event::GiveBack, farm.now) else { return Ok(GivenBack::Unknown) };
    let Some((_, buyer)) = asked(farm, person, claim.offer_id).await? else { return Ok(GivenBack::Unknown) };
    if buyer.id != claim.buyer_id {
        return Ok(GivenBack::Unknown);
    }
    let Some(day_changed) = claims::leave(farm, person, &before).await? else { return Ok(GivenBack::Packed) };
    claims::store_return(farm, &claim).await?;
    let mut events = vec![Event::OfferChanged { offer_id: claim.offer_id, by: Some(person.id) }];
    let claimed = Claimed { claim: claim.clone(), buyer: buyer.name };
    events.push(Event::Claim(Box::new(claimed), ClaimEvent::GivenBack));
    events.extend(day_changed);
    let events = events.into_iter().map(farm::Event::from).collect();
    Ok(GivenBack::Done(claim, events))
}
