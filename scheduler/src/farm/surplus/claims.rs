//! What was taken of an offer: it goes along with the next delivery where it keeps until then and the van is not packed, or it
//! is fetched. Rule: until that day's orders are closed it is set aside by itself, then it is a line of the delivery like any
//! other; it leaves the cold room when the keeper says that it was fetched, and is free again when nobody came.

use super::event::{ClaimEvent, Claimed, Event};
use super::offering::END_USEFUL_MINUTES;
use crate::clock::LocalDate;
use crate::delivery::award;
use crate::farm::stock::{self, Held, Holder};
use crate::farm::{self, Farm, lines};
use crate::id::Id;
use crate::people::Person;
use crate::quantity::Grams;
use crate::store;
use crate::store::cold_room::{self, MoveKind, Movement};
use crate::store::deliveries::{self, Award, Closed, Source};
use crate::store::occurrences;
use crate::store::{people, surplus};
use crate::surplus::claim::{self, Claim, Event as Step};
use crate::surplus::count::{Bound, Purpose};
use crate::surplus::offer::{self, Offer};
use crate::timetable::{Job, Occurrence};
use std::collections::BTreeSet;

/// The delivery that `grams` of an offer can go along with; none when the stock does not keep until then.
pub(super) async fn day_for(farm: &mut Farm<'_>, offer: &Offer, grams: Grams) -> store::Result<Option<LocalDate>> {
    let Some(next) = farm.calendar.next_delivery(farm.now) else { return Ok(None) };
    if deliveries::on(farm.tx, next.date).await?.as_ref().is_some_and(is_loaded) {
        return Ok(None);
    }
    let mut held = stock::held(farm).await?;
    let missing_before = missing(farm, &held, &offer.crop).await?;
    let mut rest = grams;
    for one in held.iter_mut().filter(|one| one.holder == Holder::Offer && one.bound.crop == offer.crop) {
        let part = rest.at_most(one.bound.weight);
        one.bound.weight -= part;
        rest -= part;
    }
    let bound = Bound { purpose: Purpose::Promised, crop: offer.crop.clone(), date: next.date, weight: grams };
    held.push(Held { holder: Holder::Taken, bound });
    Ok((missing(farm, &held, &offer.crop).await? <= missing_before).then_some(next.date))
}

fn is_loaded(closed: &Closed) -> bool {
    closed.packed_at.is_some() || closed.delivered_at.is_some()
}

/// What is spoken for of a crop beyond the stock that keeps for it.
async fn missing(farm: &mut Farm<'_>, held: &[Held], crop: &str) -> store::Result<Grams> {
    let stock = stock::counted(farm, held).await?;
    Ok(stock.uncovered.iter().filter(|one| one.crop == crop).map(|one| one.weight).sum())
}

/// A claim has been made: where it goes along it is a line at once if orders are closed, otherwise when they are.
pub(super) async fn made(farm: &mut Farm<'_>, claim: Claim) -> store::Result<(Claim, Option<Event>)> {
    let Some(day) = claim.goes_on() else { return Ok((claim, None)) };
    if deliveries::on(farm.tx, day).await?.is_some() {
        let claim = join_line(farm, &claim, day).await?;
        let buyer_id = claim.buyer_id;
        return Ok((claim, Some(Event::DayChanged { day, buyer_id })));
    }
    // Should that day be given up, somebody asks what became of it.
    let due_at = stock::end_of(day, farm.zone());
    let useful_until = due_at.plus_minutes(END_USEFUL_MINUTES);
    occurrences::plan(farm.tx, &Occurrence { job: Job::AlongEnd(claim.id), due_at, useful_until }).await?;
    Ok((claim, None))
}

/// Orders of a day are closed: what waits for it becomes lines. The restaurants it is for.
///
/// # Errors
/// Whatever the store fails with.
pub async fn join(farm: &mut Farm<'_>, day: LocalDate) -> store::Result<(BTreeSet<Id>, Vec<farm::Event>)> {
    let (mut buyers, mut events) = (BTreeSet::new(), Vec::new());
    for claim in surplus::claims_waiting(farm.tx).await? {
        if claim.goes_on() == Some(day) {
            let claim = join_line(farm, &claim, day).await?;
            buyers.insert(claim.buyer_id);
            events.push(event(farm, claim, ClaimEvent::GoesAlong { day }).await?);
        }
    }
    Ok((buyers, events))
}

/// Adds a claim to the buyer's line of what goes along that day; the claim as it is then.
async fn join_line(farm: &mut Farm<'_>, claim: &Claim, day: LocalDate) -> store::Result<Claim> {
    let awards = deliveries::awards_on(farm.tx, day).await?;
    let is_theirs =
        |award: &Award| award.buyer_id == claim.buyer_id && award.crop == claim.crop && award.source == Source::Offer;
    let found = awards.into_iter().find(is_theirs);
    let of_them = (claim.buyer_id, day);
    let line = found.unwrap_or_else(|| Award::new(farm.new_id(), of_them, (claim.crop.clone(), Source::Offer)));
    lines::change(farm, &line, (award::Event::Offer(claim.grams), None)).await?;
    let claim = claim::apply(claim, Step::JoinLine(line.id), farm.now).expect("it waits for this delivery");
    surplus::put_state(farm.tx, &claim).await?;
    Ok(claim)
}

/// Takes a claim off the delivery's line again, where it is one; `None` when the van is packed.
pub(super) async fn leave(farm: &mut Farm<'_>, person: &Person, claim: &Claim) -> store::Result<Option<Vec<Event>>> {
    let claim::State::InLine { award_id, .. } = claim.state() else { return Ok(Some(Vec::new())) };
    let Some(award) = deliveries::award_by_id(farm.tx, award_id).await? else { return Ok(None) };
    let closed = deliveries::on(farm.tx, award.day).await?;
    if closed.is_none_or(|closed| is_loaded(&closed)) || award.delivered.is_some() {
        return Ok(None);
    }
    lines::change(farm, &award, (award::Event::GiveBack(claim.grams), Some(person.id))).await?;
    Ok(Some(vec![Event::DayChanged { day: award.day, buyer_id: claim.buyer_id }]))
}

/// Stores a claim that was given back; its grams are on offer again while the offer is open.
pub(super) async fn store_return(farm: &mut Farm<'_>, claim: &Claim) -> store::Result<()> {
    surplus::put_state(farm.tx, claim).await?;
    let offer = surplus::offer_by_id(farm.tx, claim.offer_id).await?;
    match offer.and_then(|offer| offer::apply(&offer, offer::Event::Return(claim.grams), farm.now).ok()) {
        Some(offer) => surplus::put_offer(farm.tx, &offer).await,
        None => Ok(()),
    }
}

/// What came of a word about a claim.
#[derive(Clone, Debug)]
pub enum Settled {
    /// It is over already, or not theirs to say.
    Unknown,
    /// The cold room does not hold so much.
    NotInColdRoom(Claim),
    Done(Box<Claimed>, Vec<farm::Event>),
}

/// The buyer fetches after all what was to go along.
///
/// # Errors
/// Whatever the store fails with.
pub async fn pick_up(farm: &mut Farm<'_>, person: &Person, claim_id: Id) -> store::Result<Settled> {
    let claim = surplus::claim_by_id(farm.tx, claim_id).await?;
    let may = |claim: &Claim| person.buyer_id == Some(claim.buyer_id) && farm.now < claim.collect_until;
    let after = claim.filter(may).and_then(|claim| claim::apply(&claim, Step::PickUp, farm.now).ok());
    let Some(claim) = after else { return Ok(Settled::Unknown) };
    surplus::put_state(farm.tx, &claim).await?;
    let changed = Event::OfferChanged { offer_id: claim.offer_id, by: Some(person.id) };
    let settled = done(farm, claim, ClaimEvent::PickedUp).await?;
    Ok(match settled {
        Settled::Done(claimed, mut events) => {
            events.insert(0, changed.into());
            Settled::Done(claimed, events)
        }
        other => other,
    })
}

/// The keeper says that the buyer has fetched it: it leaves the cold room.
///
/// # Errors
/// Whatever the store fails with.
pub async fn collected(farm: &mut Farm<'_>, person: &Person, claim_id: Id) -> store::Result<Settled> {
    let Some(before) = surplus::claim_by_id(farm.tx, claim_id).await? else { return Ok(Settled::Unknown) };
    let Ok(claim) = claim::apply(&before, Step::Collect, farm.now) else { return Ok(Settled::Unknown) };
    if before.is_assumed {
        surplus::put_state(farm.tx, &claim).await?;
        return done(farm, claim, ClaimEvent::Collected).await;
    }
    let today = farm.today();
    if !stock::holds(farm, &claim.crop, (claim.grams, today)).await? {
        return Ok(Settled::NotInColdRoom(before));
    }
    let movement =
        Movement { kind: MoveKind::Collected, subject: Some(claim.id), person_id: Some(person.id), now: farm.now };
    cold_room::take(farm.tx, &claim.crop, (claim.grams, today), &movement).await?;
    surplus::put_state(farm.tx, &claim).await?;
    done(farm, claim, ClaimEvent::Collected).await
}

/// The keeper says that nobody came for it: it is free again.
///
/// # Errors
/// Whatever the store fails with.
pub async fn not_collected(farm: &mut Farm<'_>, by: Option<Id>, claim_id: Id) -> store::Result<Settled> {
    let Some(before) = surplus::claim_by_id(farm.tx, claim_id).await? else { return Ok(Settled::Unknown) };
    let Ok(claim) = claim::apply(&before, Step::StayUncollected, farm.now) else { return Ok(Settled::Unknown) };
    if before.is_assumed {
        let movement = Movement { kind: MoveKind::Collected, subject: Some(claim.id), person_id: by, now: farm.now };
        cold_room::put_back(farm.tx, claim.grams, &movement).await?;
    }
    store_return(farm, &claim).await?;
    done(farm, claim, ClaimEvent::NotCollected).await
}

/// The time to collect is over: what of an offer still waits to be fetched.
///
/// # Errors
/// Whatever the store fails with.
pub async fn uncollected(farm: &mut Farm<'_>, offer_id: Id) -> store::Result<Vec<farm::Event>> {
    let mut events = Vec::new();
    for claim in surplus::claims_of(farm.tx, offer_id).await? {
        if claim.state() == claim::State::Waits(None) {
            events.push(event(farm, claim, ClaimEvent::StillHere).await?);
        }
    }
    Ok(events)
}

/// The delivery that it was to go along with did not take place.
///
/// # Errors
/// Whatever the store fails with.
pub async fn left_behind(farm: &mut Farm<'_>, claim_id: Id) -> store::Result<Vec<farm::Event>> {
    match surplus::claim_by_id(farm.tx, claim_id).await? {
        Some(claim) if matches!(claim.state(), claim::State::Waits(Some(_))) => {
            Ok(vec![event(farm, claim, ClaimEvent::StillHere).await?])
        }
        _ => Ok(Vec::new()),
    }
}

/// Nobody has said what became of it in the time for that: it counts as collected where the cold room holds it, and else as
/// not collected. What was to go along with a delivery that did not take place is free again.
///
/// # Errors
/// Whatever the store fails with.
pub(in crate::farm) async fn assume(farm: &mut Farm<'_>, before: &Claim) -> store::Result<Vec<farm::Event>> {
    let today = farm.today();
    let is_along = matches!(before.state(), claim::State::Waits(Some(_)));
    if is_along || !stock::holds(farm, &before.crop, (before.grams, today)).await? {
        return Ok(match not_collected(farm, None, before.id).await? {
            Settled::Done(_, events) => events,
            Settled::Unknown | Settled::NotInColdRoom(_) => Vec::new(),
        });
    }
    let Ok(claim) = claim::apply(before, Step::Assume, farm.now) else { return Ok(Vec::new()) };
    let movement = Movement { kind: MoveKind::Collected, subject: Some(claim.id), person_id: None, now: farm.now };
    cold_room::take(farm.tx, &claim.crop, (claim.grams, today), &movement).await?;
    surplus::put_state(farm.tx, &claim).await?;
    Ok(vec![event(farm, claim, ClaimEvent::Assumed).await?])
}

/// Asks once more what became of a claim.
///
/// # Errors
/// Whatever the store fails with.
pub(in crate::farm) async fn ask_again(farm: &mut Farm<'_>, claim: Claim) -> store::Result<farm::Event> {
    event(farm, claim, ClaimEvent::StillHere).await
}

async fn claimed(farm: &mut Farm<'_>, claim: Claim) -> store::Result<Box<Claimed>> {
    let buyer = people::buyer_by_id(farm.tx, claim.buyer_id).await?.map(|buyer| buyer.name).unwrap_or_default();
    Ok(Box::new(Claimed { claim, buyer }))
}

async fn event(farm: &mut Farm<'_>, claim: Claim, what: ClaimEvent) -> store::Result<farm::Event> {
    Ok(Event::Claim(claimed(farm, claim).await?, what).into())
}

async fn done(farm: &mut Farm<'_>, claim: Claim, what: ClaimEvent) -> store::Result<Settled> {
    let claimed = claimed(farm, claim).await?;
    let event = Event::Claim(claimed.clone(), what).into();
    Ok(Settled::Done(claimed, vec![event]))
}
