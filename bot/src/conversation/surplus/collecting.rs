//! Fetching what was taken of an offer. Rule: it leaves the cold room when the keeper says that it was fetched, and is
//! free again when the keeper says that nobody came.

use super::super::audience::Audience;
use super::super::{Button, Desk, Letter};
use super::{Ask, offer_card, stock};
use crate::intent::Intent;
use crate::wording::{Args, Voice};
use scheduler::id::Id;
use scheduler::people::Person;
use scheduler::store::cold_room::{self, MoveKind, Movement};
use scheduler::store::{self, people, surplus};
use scheduler::surplus::claim::{Claim, Event, State, apply};
use scheduler::surplus::offer::{self, Offer};

/// The name of the keepers' card of a claim.
pub(super) fn card(claim_id: Id) -> String {
    format!("claim-{claim_id}")
}

pub(super) fn claim_card(voice: &Voice, claim: &Claim, html: String) -> Letter {
    Letter::new(html).on_card(card(claim.id)).row([Button::new(
        voice.plain("button-collected", &Args::new()),
        Intent::Surplus(Ask::Collected { claim: claim.id }),
    )])
}

/// The claim before and after an event, not stored yet; `None`, and answered as out of date, where the event comes too late.
pub(super) async fn claim_after(
    desk: &mut Desk<'_>,
    person: &Person,
    (claim_id, event): (Id, Event),
) -> store::Result<Option<(Claim, Claim)>> {
    let claim = surplus::claim_by_id(&mut desk.tx, claim_id).await?;
    let both = claim.and_then(|claim| apply(&claim, event, desk.now).ok().map(|after| (claim, after)));
    if both.is_none() {
        let letter = Letter::new(desk.voice(person).say("stale-button", &Args::new()));
        desk.answer(person, letter).await?;
    }
    Ok(both)
}

/// Stores a claim that was given back; its grams are on offer again while the offer is open.
pub(super) async fn return_to(desk: &mut Desk<'_>, offer: &Offer, claim: &Claim) -> store::Result<()> {
    surplus::put_state(&mut desk.tx, claim).await?;
    match offer::apply(offer, offer::Event::Return(claim.grams), desk.now) {
        Ok(offer) => surplus::put_offer(&mut desk.tx, &offer).await,
        Err(_) => Ok(()),
    }
}

/// Tells the keepers what became of a claim, over its card.
pub(super) async fn settle_claim(
    desk: &mut Desk<'_>,
    claim: &Claim,
    write: impl Fn(&Voice) -> String,
) -> store::Result<()> {
    desk.settle_card(&card(claim.id), |voice| Letter::new(write(voice))).await
}

pub(super) async fn buyer_name(desk: &mut Desk<'_>, buyer_id: Id) -> store::Result<String> {
    Ok(people::buyer_by_id(&mut desk.tx, buyer_id).await?.map(|buyer| buyer.name).unwrap_or_default())
}

/// The keeper says that the buyer has fetched it: it leaves the cold room.
pub(super) async fn collected(desk: &mut Desk<'_>, person: &Person, claim_id: Id) -> store::Result<()> {
    let Some((claim, after)) = claim_after(desk, person, (claim_id, Event::Collect)).await? else { return Ok(()) };
    let voice = desk.voice(person);
    let house = desk.house;
    let what = house.amount(&claim.crop, claim.grams, &voice);
    let today = desk.today();
    if !stock::holds(desk, &claim.crop, (claim.grams, today)).await? {
        let text = voice.say("surplus-not-in-cold-room", &Args::new().text("what", what));
        return desk.answer(person, claim_card(&voice, &claim, text)).await;
    }
    let movement =
        Movement { kind: MoveKind::Collected, subject: Some(claim.id), person_id: Some(person.id), now: desk.now };
    cold_room::take(&mut desk.tx, &claim.crop, (claim.grams, today), &movement).await?;
    surplus::put_state(&mut desk.tx, &after).await?;
    let buyer = buyer_name(desk, claim.buyer_id).await?;
    let write = |voice: &Voice| {
        let what = house.amount(&claim.crop, claim.grams, voice);
        voice.say("claim-collected", &Args::new().text("buyer", buyer.clone()).text("what", what))
    };
    desk.answer(person, Letter::new(write(&voice))).await?;
    settle_claim(desk, &claim, write).await?;
    offer_card::show_buyer(desk, &claim).await
}

/// The keeper says that nobody came for it: it is free again.
pub(super) async fn not_collected(desk: &mut Desk<'_>, person: &Person, claim_id: Id) -> store::Result<()> {
    let Some((claim, after)) = claim_after(desk, person, (claim_id, Event::StayUncollected)).await? else {
        return Ok(());
    };
    let house = desk.house;
    if let Some(offer) = surplus::offer_by_id(&mut desk.tx, claim.offer_id).await? {
        return_to(desk, &offer, &after).await?;
    }
    let buyer = buyer_name(desk, claim.buyer_id).await?;
    let voice = desk.voice(person);
    let write = |voice: &Voice| {
        let what = house.amount(&claim.crop, claim.grams, voice);
        voice.say("claim-not-collected", &Args::new().text("buyer", buyer.clone()).text("what", what))
    };
    desk.answer(person, Letter::new(write(&voice))).await?;
    settle_claim(desk, &claim, write).await?;
    offer_card::show_buyer(desk, &claim).await?;
    desk.tell_buyer(claim.buyer_id, |voice| {
        let what = house.amount(&claim.crop, claim.grams, voice);
        Letter::new(voice.say("offer-not-collected", &Args::new().text("what", what)))
    })
    .await
}

/// The time to collect is over: the keepers are asked about whatever still waits to be fetched.
pub(super) async fn ask_uncollected(desk: &mut Desk<'_>, offer_id: Id) -> store::Result<()> {
    let claims = surplus::claims_of(&mut desk.tx, offer_id).await?;
    for claim in claims.into_iter().filter(|claim| claim.state() == State::Waits(None)) {
        ask_about(desk, &claim).await?;
    }
    Ok(())
}

/// The delivery that it was to go along with did not take place.
pub(super) async fn ask_left_behind(desk: &mut Desk<'_>, claim_id: Id) -> store::Result<()> {
    match surplus::claim_by_id(&mut desk.tx, claim_id).await? {
        Some(claim) if claim.waits() && claim.goes_on().is_some() => ask_about(desk, &claim).await,
        _ => Ok(()),
    }
}

async fn ask_about(desk: &mut Desk<'_>, claim: &Claim) -> store::Result<()> {
    let house = desk.house;
    let buyer = buyer_name(desk, claim.buyer_id).await?;
    desk.tell_family(Audience::Keepers, |voice| {
        let what = house.amount(&claim.crop, claim.grams, voice);
        let args = Args::new().text("buyer", buyer.clone()).text("what", what);
        claim_card(voice, claim, voice.say("claim-still-here", &args)).at_end().row([Button::new(
            voice.plain("button-not-collected", &Args::new()),
            Intent::Surplus(Ask::NotCollected { claim: claim.id }),
        )])
    })
    .await
}
