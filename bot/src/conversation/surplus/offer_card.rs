//! One buyer's card of an offer. Rule: it always shows what is left, and what is this buyer's own.

use super::Ask;
use crate::conversation::audience::Audience;
use crate::conversation::{Button, Desk, Letter};
use crate::house::House;
use crate::intent::Intent;
use crate::wording::{Args, Voice, key};
use scheduler::id::Id;
use scheduler::people::Person;
use scheduler::quantity::{Grams, UnitSystem};
use scheduler::store::{self, people, surplus};
use scheduler::surplus::claim::{Claim, State};
use scheduler::surplus::offer::Offer;

fn card_name(offer_id: Id) -> String {
    format!("offer-{offer_id}")
}

/// One buyer's view of an offer.
pub(super) struct Shown<'o> {
    offer: &'o Offer,
    /// This buyer's own, those given back left out.
    claims: Vec<Claim>,
    has_declined: bool,
}

impl<'o> Shown<'o> {
    pub(super) fn fresh(offer: &'o Offer) -> Shown<'o> {
        Shown { offer, claims: Vec::new(), has_declined: false }
    }
}

async fn shown<'o>(desk: &mut Desk<'_>, offer: &'o Offer, buyer_id: Id) -> store::Result<Shown<'o>> {
    let claims = surplus::claims_of(&mut desk.tx, offer.id).await?;
    let asked = surplus::asked_buyers(&mut desk.tx, offer.id).await?;
    Ok(Shown {
        offer,
        claims: claims.into_iter().filter(|one| one.buyer_id == buyer_id && !one.is_given_back()).collect(),
        has_declined: asked.iter().any(|(id, declined)| *id == buyer_id && declined.is_some()),
    })
}

/// The card of somebody who has not answered yet.
pub(in crate::conversation) fn fresh_card(house: &House, voice: &Voice, offer: &Offer) -> Letter {
    card(house, voice, &Shown::fresh(offer))
}

pub(super) fn card(house: &House, voice: &Voice, shown: &Shown<'_>) -> Letter {
    let offer = shown.offer;
    let is_open = offer.is_open();
    if shown.has_declined && shown.claims.is_empty() {
        // It is not edited any more until they look again.
        let letter = Letter::new(voice.say("offer-declined", &Args::new()));
        let again = Button::new(
            voice.plain("button-look-again", &Args::new()),
            Intent::Surplus(Ask::LookAgain { offer: offer.id }),
        );
        return letter.row([again]).on_card(card_name(offer.id));
    }
    let mut lines = Vec::new();
    let what = |grams| Args::new().text("what", house.amount(&offer.crop, grams, voice));
    if !is_open {
        lines.push(voice.say("offer-closed", &what(offer.offered)));
    } else if offer.left.is_positive() {
        lines.push(voice.say("offer-left", &what(offer.left)));
        lines.extend(price_line(house, voice, offer));
        let args = Args::new().day_time("deadline", offer.deadline).day_time("until", offer.collect_until);
        lines.push(voice.say("offer-times", &args));
    } else {
        lines.push(voice.say("offer-all-taken", &what(offer.offered)));
    }
    for claim in &shown.claims {
        let what = what(claim.grams);
        lines.push(match claim.state() {
            State::Collected(_) => voice.say("offer-collected", &what),
            State::Waits(Some(day)) | State::InLine { day, .. } => {
                voice.say("offer-yours-along", &what.date("day", day))
            }
            State::Waits(None) | State::GivenBack(_) => {
                voice.say("offer-yours", &what.day_time("until", claim.collect_until))
            }
        });
    }
    let mut letter = Letter::new(lines.join("\n"));
    if is_open && offer.left.is_positive() {
        letter = with_takes(letter, voice, shown);
    }
    for claim in shown.claims.iter().filter(|claim| claim.waits() || (is_open && claim.is_open())) {
        let label = voice.plain("button-give-back", &Args::new().weight("weight", claim.grams));
        let mut row = vec![Button::new(label, Intent::Surplus(Ask::GiveBack { claim: claim.id }))];
        if claim.waits() && claim.goes_on().is_some() {
            let label = voice.plain("button-pick-up", &Args::new());
            row.push(Button::new(label, Intent::Surplus(Ask::PickUp { claim: claim.id })));
        }
        letter = letter.row(row);
    }
    letter.on_card(card_name(offer.id))
}

fn with_takes(letter: Letter, voice: &Voice, shown: &Shown<'_>) -> Letter {
    let offer = shown.offer;
    let take = |grams| Intent::Surplus(Ask::Take { offer: offer.id, grams });
    let labelled = |text_key: &'static str, grams| voice.plain(text_key, &Args::new().weight("weight", grams));
    let half = Grams::new(offer.left.get() / 2).floor_to(offer.least);
    let mut row = vec![Button::new(labelled(key("button-all-of"), offer.left), take(offer.left))];
    if half > offer.least {
        row.push(Button::new(labelled(key("button-half-of"), half), take(half)));
    }
    if offer.least < offer.left {
        row.push(Button::new(labelled(key("button-one-pack"), offer.least), take(offer.least)));
    }
    let other = Button::new(
        voice.plain("button-other-amount", &Args::new()),
        Intent::Surplus(Ask::TakeOther { offer: offer.id }),
    );
    let mut last = vec![other];
    if shown.claims.is_empty() {
        let no = Intent::Surplus(Ask::NoThanks { offer: offer.id });
        last.push(Button::new(voice.plain("button-no-thanks", &Args::new()), no));
    }
    letter.row(row).row(last)
}

fn price_line(house: &House, voice: &Voice, offer: &Offer) -> Option<String> {
    let price = offer.price_per_kilogram?;
    let unit = match voice.reader().units {
        UnitSystem::Metric => Grams::new(1000),
        UnitSystem::Avoirdupois => Grams::new(454),
    };
    let currency = house.config.farm.currency.clone();
    let args = Args::new().money("price", price.per_kilogram_for(unit), currency).weight("weight", unit);
    Some(voice.say("offer-price", &args))
}

/// Shows an offer as it stands now to everybody who was asked, but the person who did it and was answered.
pub(super) async fn show_others(desk: &mut Desk<'_>, offer_id: Id, by: Option<Id>) -> store::Result<()> {
    let house = desk.house;
    let Some(offer) = surplus::offer_by_id(&mut desk.tx, offer_id).await? else { return Ok(()) };
    let is_over = !offer.is_open() || !offer.left.is_positive();
    for (buyer_id, _) in surplus::asked_buyers(&mut desk.tx, offer_id).await? {
        let shown = shown(desk, &offer, buyer_id).await?;
        if shown.has_declined && shown.claims.is_empty() {
            continue;
        }
        for contact in people::contacts_of_buyer(&mut desk.tx, buyer_id).await? {
            if by == Some(contact.id) {
                continue;
            }
            // Of an offer that is over before somebody was to read it, they need not hear.
            if is_over && shown.claims.is_empty() && desk.take_back(&contact, &card_name(offer.id)).await? {
                continue;
            }
            let letter = card(house, &desk.voice(&contact), &shown);
            desk.tell(&contact, letter).await?;
        }
    }
    Ok(())
}

/// Answers with the buyer's own card under a note.
pub(super) async fn answer(desk: &mut Desk<'_>, person: &Person, (offer_id, note): (Id, &str)) -> store::Result<()> {
    let Some(offer) = surplus::offer_by_id(&mut desk.tx, offer_id).await? else { return Ok(()) };
    let shown = shown(desk, &offer, person.buyer_id.unwrap_or(offer.id)).await?;
    let mut letter = card(desk.house, &desk.voice(person), &shown);
    letter.html = format!("<b>{note}</b>\n\n{}", letter.html);
    let letter = if desk.is_press() { Letter { card: None, ..letter } } else { letter.at_end() };
    desk.answer(person, letter).await
}

/// Answers with the buyer's own card.
pub(super) async fn answer_plain(desk: &mut Desk<'_>, person: &Person, offer: &Offer) -> store::Result<()> {
    let shown = shown(desk, offer, person.buyer_id.unwrap_or(offer.id)).await?;
    let letter = card(desk.house, &desk.voice(person), &shown);
    desk.answer(person, letter).await
}

/// Shows the offer to the other contacts of the same buyer.
pub(super) async fn show_colleagues(desk: &mut Desk<'_>, offer: &Offer, person: &Person) -> store::Result<()> {
    let Some(buyer_id) = person.buyer_id else { return Ok(()) };
    let (shown, house) = (shown(desk, offer, buyer_id).await?, desk.house);
    let audience = Audience::Colleagues { buyer_id, of: person.id };
    desk.tell_audience(audience, |voice| card(house, voice, &shown)).await
}

/// Shows the offer to the contacts of the claim's buyer as it stands now.
pub(super) async fn show_buyer(desk: &mut Desk<'_>, claim: &Claim) -> store::Result<()> {
    let house = desk.house;
    let Some(offer) = surplus::offer_by_id(&mut desk.tx, claim.offer_id).await? else { return Ok(()) };
    let shown = shown(desk, &offer, claim.buyer_id).await?;
    desk.tell_buyer(claim.buyer_id, |voice| card(house, voice, &shown)).await
}
