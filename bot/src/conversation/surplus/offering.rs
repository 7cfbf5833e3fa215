//! Offers to the buyers, as they are made, answered and withdrawn.

use super::{Ask, Waiting, left, offer_card};
use crate::conversation::{Desk, Letter};
use crate::intent::Waiting as Question;
use crate::wording::{Args, key};
use scheduler::farm::surplus::offering::{self, Made, Terms};
use scheduler::farm::surplus::taking::{self, GivenBack, Taken};
use scheduler::id::Id;
use scheduler::people::Person;
use scheduler::quantity::Grams;
use scheduler::store::{self, surplus};
use scheduler::surplus::offer::Refused;

/// Offers all that is free of a crop to the buyers on the farm's usual terms.
pub(super) async fn offer_all(desk: &mut Desk<'_>, person: &Person, crop: &str) -> store::Result<()> {
    let terms = Terms::usual(&desk.farm());
    offer(desk, person, (crop, &terms)).await
}

/// Offers what is free of a crop to the buyers with a contact here.
pub(super) async fn offer(desk: &mut Desk<'_>, person: &Person, (crop, terms): (&str, &Terms)) -> store::Result<()> {
    let (voice, house) = (desk.voice(person), desk.house);
    match offering::make(&mut desk.farm(), crop, terms).await? {
        Made::NothingFree => {
            let args = Args::new().text("crop", house.crop_name(crop, &voice)).weight("free", Grams::ZERO);
            left::refused(desk, person, voice.say("surplus-more-than-free", &args)).await
        }
        Made::Nobody => left::refused(desk, person, voice.say("offer-nobody", &Args::new())).await,
        Made::Offered { offer, buyers, events } => {
            desk.happened(events);
            let args = Args::new()
                .text("what", house.amount(crop, offer.offered, &voice))
                .count("buyers", buyers)
                .day_time("deadline", offer.deadline);
            let undo = Ask::Withdraw { offer: offer.id };
            left::show(desk, person, Some((voice.say("offer-made", &args), Some(undo)))).await
        }
    }
}

async fn stale(desk: &mut Desk<'_>, person: &Person) -> store::Result<()> {
    let letter = Letter::new(desk.voice(person).say("stale-button", &Args::new()));
    desk.answer(person, letter).await
}

/// A buyer takes so much.
pub(super) async fn take(desk: &mut Desk<'_>, person: &Person, (offer_id, asked): (Id, Grams)) -> store::Result<()> {
    let (voice, house) = (desk.voice(person), desk.house);
    let taken = taking::take(&mut desk.farm(), person, (offer_id, asked)).await?;
    let what = |crop: &str, grams| Args::new().text("what", house.amount(crop, grams, &voice));
    let note = match taken {
        Taken::NotAsked => return stale(desk, person).await,
        Taken::Refused(_, Refused::Over) => voice.say("offer-too-late", &Args::new()),
        Taken::Refused(_, Refused::Gone) => voice.say("offer-gone", &Args::new()),
        Taken::Refused(offer, Refused::TooSmall { smallest }) => {
            voice.say("offer-too-small", &what(&offer.crop, smallest))
        }
        Taken::Granted { claim, is_less, events, .. } => {
            desk.happened(events);
            let text_key = if is_less { key("offer-partly") } else { key("offer-granted") };
            voice.say(text_key, &what(&claim.crop, claim.grams))
        }
    };
    desk.close_question(person).await?;
    offer_card::answer(desk, person, (offer_id, &note)).await
}

/// Asks a buyer to type how much.
pub(super) async fn ask_weight(desk: &mut Desk<'_>, person: &Person, offer_id: Id) -> store::Result<()> {
    let asked = taking::asked(&mut desk.farm(), person, offer_id).await?;
    let Some((offer, _)) = asked else { return stale(desk, person).await };
    desk.ask(person, &Question::Surplus(Waiting::TakeWeight { offer: offer_id })).await?;
    let note = desk.voice(person).say("offer-weight-question", &Args::new().weight("left", offer.left));
    offer_card::answer(desk, person, (offer_id, &note)).await
}

/// The crop on offer.
pub(super) async fn crop_of(desk: &mut Desk<'_>, offer_id: Id) -> store::Result<Option<String>> {
    Ok(surplus::offer_by_id(&mut desk.tx, offer_id).await?.map(|offer| offer.crop))
}

/// A buyer wants none of it, or having passed would like to see it after all.
pub(super) async fn pass(
    desk: &mut Desk<'_>,
    person: &Person,
    (offer_id, has_passed): (Id, bool),
) -> store::Result<()> {
    let passed = taking::pass(&mut desk.farm(), person, (offer_id, has_passed)).await?;
    let Some(offer) = passed else { return stale(desk, person).await };
    offer_card::show_colleagues(desk, &offer, person).await?;
    offer_card::answer_plain(desk, person, &offer).await
}

/// A buyer gives back what they took.
pub(super) async fn give_back(desk: &mut Desk<'_>, person: &Person, claim_id: Id) -> store::Result<()> {
    let (voice, house) = (desk.voice(person), desk.house);
    match taking::give_back(&mut desk.farm(), person, claim_id).await? {
        GivenBack::Unknown => stale(desk, person).await,
        GivenBack::Packed => desk.answer(person, Letter::new(voice.say("offer-packed-already", &Args::new()))).await,
        GivenBack::Done(claim, events) => {
            desk.happened(events);
            let what = house.amount(&claim.crop, claim.grams, &voice);
            let note = voice.say("offer-given-back", &Args::new().text("what", what));
            offer_card::answer(desk, person, (claim.offer_id, &note)).await
        }
    }
}

/// The keeper takes an offer back: what was taken stays taken.
pub(super) async fn withdraw(desk: &mut Desk<'_>, person: &Person, offer_id: Id) -> store::Result<()> {
    let voice = desk.voice(person);
    let Some(events) = offering::withdraw(&mut desk.farm(), offer_id).await? else {
        return left::refused(desk, person, voice.say("offer-closed-before", &Args::new())).await;
    };
    desk.happened(events);
    left::show(desk, person, Some((voice.say("offer-withdrawn", &Args::new()), None))).await
}
