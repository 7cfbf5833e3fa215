//! What was taken of an offer goes along with the next delivery, where it keeps until then and the van is not packed. Rule:
//! until that day's orders are closed it is set aside by itself; then it is a line of the delivery like any other.

use super::super::shortfall::card::{DayFacts, Occasion};
use super::super::{Desk, Letter};
use super::offering::END_USEFUL_MINUTES;
use super::stock::{self, Held, Holder};
use super::{collecting, offer_card};
use crate::wording::{Args, Voice};
use scheduler::clock::LocalDate;
use scheduler::id::Id;
use scheduler::people::Person;
use scheduler::quantity::Grams;
use scheduler::store;
use scheduler::store::deliveries::{self, Award, Closed, Source, State, Why};
use scheduler::store::occurrences::{self, Planned};
use scheduler::store::surplus;
use scheduler::surplus::claim::{self, Claim, Event};
use scheduler::surplus::count::{Bound, Purpose};
use scheduler::surplus::offer::Offer;
use std::collections::BTreeSet;

/// The delivery that `grams` of an offer can go along with; none when the stock does not keep until then.
pub(super) async fn day_for(desk: &mut Desk<'_>, offer: &Offer, grams: Grams) -> store::Result<Option<LocalDate>> {
    let Some(next) = desk.house.calendar.next_delivery(desk.now) else { return Ok(None) };
    if deliveries::on(&mut desk.tx, next.date).await?.as_ref().is_some_and(is_loaded) {
        return Ok(None);
    }
    let mut held = stock::held(desk).await?;
    let missing_before = missing(desk, &held, &offer.crop).await?;
    let mut rest = grams;
    for one in held.iter_mut().filter(|one| one.holder == Holder::Offer && one.bound.crop == offer.crop) {
        let part = rest.at_most(one.bound.weight);
        one.bound.weight -= part;
        rest -= part;
    }
    let bound = Bound { purpose: Purpose::Promised, crop: offer.crop.clone(), date: next.date, weight: grams };
    held.push(Held { holder: Holder::Taken, bound });
    Ok((missing(desk, &held, &offer.crop).await? <= missing_before).then_some(next.date))
}

fn is_loaded(closed: &Closed) -> bool {
    closed.packed_at.is_some() || closed.delivered_at.is_some()
}

/// What is spoken for of a crop beyond the stock that keeps for it.
async fn missing(desk: &mut Desk<'_>, held: &[Held], crop: &str) -> store::Result<Grams> {
    let stock = stock::counted(desk, held).await?;
    Ok(stock.uncovered.iter().filter(|one| one.crop == crop).map(|one| one.weight).sum())
}

/// A claim has been made; where it goes along it is a line at once if orders are closed, otherwise when they are.
pub(super) async fn made(desk: &mut Desk<'_>, claim: &mut Claim) -> store::Result<()> {
    let Some(day) = claim.goes_on() else { return Ok(()) };
    match deliveries::on(&mut desk.tx, day).await? {
        Some(closed) => {
            *claim = line(desk, claim, day).await?;
            tell_day(desk, &closed, claim.buyer_id).await
        }
        // Should that day be given up, somebody asks what became of it.
        None => {
            let due_at = stock::end_of(day, desk.house.zone());
            let planned = Planned::about("along_end", claim.id, due_at, due_at.plus_minutes(END_USEFUL_MINUTES));
            occurrences::plan(&mut desk.tx, &planned).await
        }
    }
}

/// Orders of a day are closed: what waits for it becomes lines. The restaurants it is for.
///
/// # Errors
/// Whatever the store fails with.
pub async fn join(desk: &mut Desk<'_>, day: LocalDate) -> store::Result<BTreeSet<Id>> {
    let mut buyers = BTreeSet::new();
    for claim in surplus::claims_waiting(&mut desk.tx).await? {
        if claim.goes_on() == Some(day) {
            let claim = line(desk, &claim, day).await?;
            buyers.insert(claim.buyer_id);
            settle(desk, &claim, day).await?;
        }
    }
    Ok(buyers)
}

/// Nothing is left to press on the keepers' card, and nothing to choose on the buyer's.
async fn settle(desk: &mut Desk<'_>, claim: &Claim, day: LocalDate) -> store::Result<()> {
    let house = desk.house;
    let buyer = collecting::buyer_name(desk, claim.buyer_id).await?;
    collecting::settle_claim(desk, claim, |voice| {
        let what = house.amount(&claim.crop, claim.grams, voice);
        voice.say("claim-goes-along", &Args::new().text("buyer", buyer.clone()).text("what", what).date("day", day))
    })
    .await?;
    offer_card::show_buyer(desk, claim).await
}

/// Adds a claim to the buyer's line of what goes along that day; the claim as it is then.
async fn line(desk: &mut Desk<'_>, claim: &Claim, day: LocalDate) -> store::Result<Claim> {
    let awards = deliveries::awards_on(&mut desk.tx, day).await?;
    let is_theirs =
        |award: &Award| award.buyer_id == claim.buyer_id && award.crop == claim.crop && award.source == Source::Offer;
    let found = awards.into_iter().find(is_theirs).unwrap_or_else(|| Award {
        id: desk.new_id(),
        buyer_id: claim.buyer_id,
        day,
        crop: claim.crop.clone(),
        source: Source::Offer,
        asked: Grams::ZERO,
        promised: Grams::ZERO,
        delivered: None,
        state: State::Full,
    });
    let award =
        Award { asked: found.asked + claim.grams, promised: found.promised + claim.grams, state: State::Full, ..found };
    deliveries::put_award(&mut desk.tx, &award, (Why::Offered, None), desk.now).await?;
    let claim = claim::apply(claim, Event::JoinLine(award.id), desk.now).expect("it waits for this delivery");
    surplus::put_state(&mut desk.tx, &claim).await?;
    Ok(claim)
}

/// Takes a claim off the delivery's line again; `false` when the van is packed.
pub(super) async fn leave(desk: &mut Desk<'_>, person: &Person, claim: &Claim) -> store::Result<bool> {
    let claim::State::InLine { award_id, .. } = claim.state() else { return Ok(true) };
    let Some(award) = deliveries::award_by_id(&mut desk.tx, award_id).await? else { return Ok(false) };
    let closed = deliveries::on(&mut desk.tx, award.day).await?;
    let Some(closed) = closed.filter(|closed| !is_loaded(closed) && award.delivered.is_none()) else {
        return Ok(false);
    };
    let promised = award.promised.less(claim.grams);
    let state = if promised.is_positive() { award.state } else { State::Dropped };
    let award = Award { asked: award.asked.less(claim.grams), promised, state, ..award };
    deliveries::put_award(&mut desk.tx, &award, (Why::Dropped, Some(person.id)), desk.now).await?;
    tell_day(desk, &closed, claim.buyer_id).await?;
    Ok(true)
}

/// Shows a restaurant its day as it stands now.
async fn tell_day(desk: &mut Desk<'_>, closed: &Closed, buyer_id: Id) -> store::Result<()> {
    let house = desk.house;
    let theirs = DayFacts::load(desk, closed).await?.of_buyer(house, buyer_id);
    desk.tell_buyer(buyer_id, |voice| theirs.write(house, voice, &Occasion::Closed)).await
}

/// The buyer fetches it after all.
pub(super) async fn pick_up(desk: &mut Desk<'_>, person: &Person, claim_id: Id) -> store::Result<()> {
    let claim = surplus::claim_by_id(&mut desk.tx, claim_id).await?;
    let may = |claim: &Claim| person.buyer_id == Some(claim.buyer_id) && desk.now < claim.collect_until;
    let after = claim.filter(may).and_then(|claim| claim::apply(&claim, Event::PickUp, desk.now).ok());
    let Some(claim) = after else {
        let letter = Letter::new(desk.voice(person).say("stale-button", &Args::new()));
        return desk.answer(person, letter).await;
    };
    surplus::put_state(&mut desk.tx, &claim).await?;
    let house = desk.house;
    let note = desk.voice(person).say("offer-picked-up", &Args::new().day_time("until", claim.collect_until));
    offer_card::show_all(desk, claim.offer_id, Some((person, &note))).await?;
    let buyer = collecting::buyer_name(desk, claim.buyer_id).await?;
    desk.settle_card(&collecting::card(claim.id), |voice: &Voice| {
        let args = Args::new().text("buyer", buyer.clone()).text("what", house.amount(&claim.crop, claim.grams, voice));
        let text = voice.say("claim-picked-up", &args.day_time("until", claim.collect_until));
        collecting::claim_card(voice, &claim, text)
    })
    .await
}
