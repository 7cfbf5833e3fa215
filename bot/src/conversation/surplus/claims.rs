//! What was taken of an offer, as it is fetched, given up and told.

use super::{Ask, offer_card};
use crate::conversation::audience::{Audience, claim_card as card};
use crate::conversation::{Button, Desk, Letter};
use crate::house::House;
use crate::intent::Intent;
use crate::wording::{Args, Voice};
use scheduler::farm::surplus::claims::{self, Settled};
use scheduler::farm::surplus::event::{ClaimEvent, Claimed};
use scheduler::id::Id;
use scheduler::people::Person;
use scheduler::store;
use scheduler::surplus::claim::Claim;

fn with_collected(voice: &Voice, claim: &Claim, html: String) -> Letter {
    Letter::new(html).on_card(card(claim.id)).row([Button::new(
        voice.plain("button-collected", &Args::new()),
        Intent::Surplus(Ask::Collected { claim: claim.id }),
    )])
}

/// What the keepers read of a claim.
fn letter(house: &House, voice: &Voice, (claimed, what): (&Claimed, ClaimEvent)) -> Letter {
    let claim = &claimed.claim;
    let args = Args::new().text("buyer", claimed.buyer.clone());
    let args = args.text("what", house.amount(&claim.crop, claim.grams, voice));
    match what {
        ClaimEvent::Made { left } => {
            let args = args.weight("left", left);
            let text = match claim.goes_on() {
                Some(day) => voice.say("claim-made-along", &args.date("day", day)),
                None => voice.say("claim-made", &args.day_time("until", claim.collect_until)),
            };
            if claim.waits() { with_collected(voice, claim, text) } else { Letter::new(text) }
        }
        ClaimEvent::PickedUp => {
            let text = voice.say("claim-picked-up", &args.day_time("until", claim.collect_until));
            with_collected(voice, claim, text)
        }
        ClaimEvent::StillHere | ClaimEvent::Assumed => {
            let text = if what == ClaimEvent::Assumed {
                voice.say("claim-assumed", &args)
            } else {
                voice.say("claim-still-here", &args)
            };
            let not_collected = Button::new(
                voice.plain("button-not-collected", &Args::new()),
                Intent::Surplus(Ask::NotCollected { claim: claim.id }),
            );
            with_collected(voice, claim, text).at_end().row([not_collected])
        }
        ClaimEvent::GivenBack => Letter::new(voice.say("claim-given-back", &args)),
        ClaimEvent::GoesAlong { day } => Letter::new(voice.say("claim-goes-along", &args.date("day", day))),
        ClaimEvent::Collected => Letter::new(voice.say("claim-collected", &args)),
        ClaimEvent::NotCollected => Letter::new(voice.say("claim-not-collected", &args)),
    }
}

/// Tells the keepers over the claim's card, and the restaurant over the offer's.
pub(super) async fn tell(
    desk: &mut Desk<'_>,
    (claimed, what): (&Claimed, ClaimEvent),
    audience: Audience,
) -> store::Result<()> {
    let house = desk.house;
    let claim = &claimed.claim;
    if !matches!(audience, Audience::Buyer(_)) {
        return desk.tell_audience(audience, |voice| letter(house, voice, (claimed, what))).await;
    }
    offer_card::show_buyer(desk, claim).await?;
    if what != ClaimEvent::NotCollected {
        return Ok(());
    }
    desk.tell_audience(audience, |voice| {
        let what = house.amount(&claim.crop, claim.grams, voice);
        Letter::new(voice.say("offer-not-collected", &Args::new().text("what", what)))
    })
    .await
}

/// The keeper says that the buyer has fetched it.
pub(super) async fn collected(desk: &mut Desk<'_>, person: &Person, claim_id: Id) -> store::Result<()> {
    let settled = claims::collected(&mut desk.farm(), person, claim_id).await?;
    answer(desk, person, (settled, ClaimEvent::Collected)).await
}

/// The keeper says that nobody came for it: it is free again.
pub(super) async fn not_collected(desk: &mut Desk<'_>, person: &Person, claim_id: Id) -> store::Result<()> {
    let settled = claims::not_collected(&mut desk.farm(), Some(person.id), claim_id).await?;
    answer(desk, person, (settled, ClaimEvent::NotCollected)).await
}

async fn answer(desk: &mut Desk<'_>, person: &Person, (settled, what): (Settled, ClaimEvent)) -> store::Result<()> {
    let (voice, house) = (desk.voice(person), desk.house);
    let answer = match settled {
        Settled::Unknown => Letter::new(voice.say("stale-button", &Args::new())),
        Settled::NotInColdRoom(claim) => {
            let what = house.amount(&claim.crop, claim.grams, &voice);
            let text = voice.say("surplus-not-in-cold-room", &Args::new().text("what", what));
            with_collected(&voice, &claim, text)
        }
        Settled::Done(claimed, events) => {
            desk.happened(events);
            Letter::new(letter(house, &voice, (&claimed, what)).html)
        }
    };
    desk.answer(person, answer).await
}

/// The buyer fetches after all what was to go along.
pub(super) async fn pick_up(desk: &mut Desk<'_>, person: &Person, claim_id: Id) -> store::Result<()> {
    let voice = desk.voice(person);
    match claims::pick_up(&mut desk.farm(), person, claim_id).await? {
        Settled::Done(claimed, events) => {
            desk.happened(events);
            let until = claimed.claim.collect_until;
            let note = voice.say("offer-picked-up", &Args::new().day_time("until", until));
            offer_card::answer(desk, person, (claimed.claim.offer_id, &note)).await
        }
        Settled::Unknown | Settled::NotInColdRoom(_) => {
            desk.answer(person, Letter::new(voice.say("stale-button", &Args::new()))).await
        }
    }
}
