//! Offers to the buyers. Rule: first come, first served, inside the farm's one transaction; whoever was told "yours"
//! keeps it until they give it back; everybody else's card shows what is left. Whoever is in their quiet hours is asked when
//! these end, what is left by then, and the offer stays open long enough for them.

use super::super::desk::{Audience, READ_MINUTES};
use super::super::letter::Patience;
use super::super::{Desk, Letter, giving};
use super::{Ask, Waiting, collecting, left, offer_card, stock};
use crate::intent::Waiting as Question;
use crate::wording::Args;
use scheduler::clock::LocalDate;
use scheduler::id::Id;
use scheduler::money::Cents;
use scheduler::people::quiet::QuietHours;
use scheduler::people::{Buyer, Person};
use scheduler::quantity::Grams;
use scheduler::store::occurrences::{self, Planned};
use scheduler::store::surplus::{self, Claim, Offer};
use scheduler::store::{self, deliveries, people};
use scheduler::surplus::offers::{self, Candidate, Plan, Taking};

/// How long an offer's end is still worth doing late: always.
const END_USEFUL_MINUTES: i64 = 365 * 24 * 60;
/// Minutes an offer stays open at least for whoever is asked after their quiet hours; judged: a morning's work is done.
const LEAST_OPEN_MINUTES: i64 = 180;
/// Days looked back for how well a buyer likes a crop.
const LIKING_DAYS: u64 = 90;

/// Offers all that is free of a crop to every buyer with a contact here.
pub(super) async fn offer(desk: &mut Desk<'_>, person: &Person, crop: &str) -> store::Result<()> {
    let voice = desk.voice(person);
    let house = desk.house;
    let name = house.crops.name(crop, &voice);
    let candidates = candidates(desk, crop).await?;
    let Some(offer) = planned(desk, crop, &candidates).await? else {
        let args = Args::new().text("crop", name).weight("free", Grams::ZERO);
        return left::refused(desk, person, voice.say("surplus-more-than-free", &args)).await;
    };
    // Whoever wakes too late to answer is not asked.
    let deadline = offer.deadline.plus_minutes(1 - READ_MINUTES).max(desk.now.plus_seconds(1));
    let plan = Plan { starts_at: desk.now, deadline, wave_size: 0, minutes_between_waves: 0 };
    let asking = offers::asking(&candidates, plan, house.zone());
    let asked: Vec<Id> = asking.asked.into_iter().map(|(_, buyer)| buyer).collect();
    if asked.is_empty() {
        return left::refused(desk, person, voice.say("offer-nobody", &Args::new())).await;
    }
    surplus::add_offer(&mut desk.tx, &offer).await?;
    for (job, due_at) in [("offer_end", offer.deadline), ("collect_end", offer.collect_until)] {
        let planned = Planned::about(job, offer.id, due_at, due_at.plus_minutes(END_USEFUL_MINUTES));
        occurrences::plan(&mut desk.tx, &planned).await?;
    }
    let now = desk.now;
    for buyer_id in &asked {
        surplus::ask_buyer(&mut desk.tx, offer.id, *buyer_id, now).await?;
        desk.tell_buyer(*buyer_id, |voice| {
            let card = offer_card::card(house, voice, &offer_card::Shown::fresh(&offer));
            card.at_end().patient(Patience::Until(offer.deadline))
        })
        .await?;
    }
    let args = Args::new()
        .text("what", house.crops.amount(crop, offer.offered, &voice))
        .count("buyers", asked.len() as i64)
        .day_time("deadline", offer.deadline);
    let undo = Ask::Withdraw { offer: offer.id };
    left::show(desk, person, Some((voice.say("offer-made", &args), Some(undo)))).await
}

/// The offer of all that is free of a crop and keeps long enough; `None` when nothing is free.
async fn planned(desk: &mut Desk<'_>, crop: &str, candidates: &[Candidate]) -> store::Result<Option<Offer>> {
    let zone = desk.house.zone();
    let config = &desk.house.config.offers;
    let stock = stock::now(desk).await?;
    let Some(last) = stock::free_lots(&stock, crop, desk.today()).last() else { return Ok(None) };
    // Not longer than it keeps.
    let keeps = stock::end_of(last.keeps_until, zone);
    let times = (desk.now, config.open_hours * 60, LEAST_OPEN_MINUTES);
    let open_until = offers::open_until(candidates, times, zone);
    let collect_until = open_until.plus_minutes(config.collect_hours * 60).min(keeps);
    let deadline = open_until.min(collect_until);
    let offered = stock::free_until(&stock, crop, collect_until.plus_seconds(-1).local_date(zone));
    let kind = desk.house.crops.get(crop);
    let off = 100 - config.discount_percent.clamp(0, 100);
    Ok(Some(Offer {
        id: desk.new_id(),
        crop: crop.to_owned(),
        offered,
        left: offered,
        least: kind.map_or(Grams::new(1), |kind| kind.pack_step),
        price_per_kilogram: kind
            .and_then(|kind| kind.price_per_kilogram)
            .map(|price| Cents::new(price.get() * off / 100)),
        made_at: desk.now,
        deadline,
        collect_until,
        closed_at: None,
    }))
}

/// The buyers with a contact.
async fn candidates(desk: &mut Desk<'_>, crop: &str) -> store::Result<Vec<Candidate>> {
    let (now, zone) = (desk.now, desk.house.zone());
    let served = surplus::last_served(&mut desk.tx).await?;
    let since: LocalDate = desk.today() - chrono::Days::new(LIKING_DAYS);
    let mut candidates = Vec::new();
    for buyer in people::buyers(&mut desk.tx).await? {
        let contacts = people::contacts_of_buyer(&mut desk.tx, buyer.id).await?;
        // The restaurant reads it when the first of its contacts does.
        let awake_at = |quiet: Option<QuietHours>| quiet.map_or(now, |quiet| quiet.awake_at(now, zone));
        let Some(quiet) = contacts.iter().map(|contact| contact.quiet).min_by_key(|quiet| awake_at(*quiet)) else {
            continue;
        };
        let awards = deliveries::awards_of_buyer(&mut desk.tx, buyer.id, since).await?;
        let times = awards.iter().filter(|award| award.crop == crop).count();
        candidates.push(Candidate {
            buyer: buyer.id,
            // Everybody is asked, whoever ordered it more often first.
            liking: u16::try_from(times).unwrap_or(u16::MAX - 1) + 1,
            last_served_at: served.iter().find(|(id, _)| *id == buyer.id).map(|(_, at)| *at),
            quiet,
        });
    }
    Ok(candidates)
}

/// The offer and the buyer somebody answers for; `None`, and said so, when the press means nothing any more.
async fn found(desk: &mut Desk<'_>, person: &Person, offer_id: Id) -> store::Result<Option<(Offer, Buyer)>> {
    let offer = surplus::offer_by_id(&mut desk.tx, offer_id).await?;
    let asked = surplus::asked_buyers(&mut desk.tx, offer_id).await?;
    let buyer_id = person.buyer_id.filter(|buyer_id| asked.iter().any(|(id, _)| id == buyer_id));
    let buyer = match buyer_id {
        Some(buyer_id) => people::buyer_by_id(&mut desk.tx, buyer_id).await?,
        None => None,
    };
    let found = offer.zip(buyer);
    if found.is_none() {
        let letter = Letter::new(desk.voice(person).say("stale-button", &Args::new()));
        desk.answer(person, letter).await?;
    }
    Ok(found)
}

/// A buyer takes so much.
pub(super) async fn take(desk: &mut Desk<'_>, person: &Person, (offer_id, asked): (Id, Grams)) -> store::Result<()> {
    let Some((offer, buyer)) = found(desk, person, offer_id).await? else { return Ok(()) };
    let voice = desk.voice(person);
    let house = desk.house;
    desk.close_question(person).await?;
    let what = |grams| Args::new().text("what", house.crops.amount(&offer.crop, grams, &voice));
    if offer.closed_at.is_some() {
        let note = voice.say("offer-too-late", &Args::new());
        return offer_card::show_one(desk, &offer, (person, &note)).await;
    }
    let on_offer = offers::Offer {
        left: offer.left,
        smallest_take: offer.least,
        pack_step: offer.least,
        deadline: offer.deadline,
    };
    let (granted, note) = match offers::take(on_offer, asked, desk.now) {
        Taking::Granted { granted, .. } => (granted, voice.say("offer-granted", &what(granted))),
        Taking::Partly { granted, .. } => (granted, voice.say("offer-partly", &what(granted))),
        Taking::TooSmall { smallest, .. } => {
            let note = voice.say("offer-too-small", &what(smallest));
            return offer_card::show_one(desk, &offer, (person, &note)).await;
        }
        Taking::Gone => {
            let note = voice.say("offer-gone", &Args::new());
            return offer_card::show_one(desk, &offer, (person, &note)).await;
        }
        Taking::Over { .. } => {
            let note = voice.say("offer-too-late", &Args::new());
            return offer_card::show_one(desk, &offer, (person, &note)).await;
        }
    };
    let claim = Claim {
        id: desk.new_id(),
        offer_id,
        buyer_id: buyer.id,
        crop: offer.crop.clone(),
        grams: granted,
        at: desk.now,
        collect_until: offer.collect_until,
        collected_at: None,
        given_back_at: None,
    };
    surplus::add_claim(&mut desk.tx, &claim, Some(person.id)).await?;
    offer_card::show_all(desk, offer_id, Some((person, &note))).await?;
    let left = offer.left - granted;
    desk.tell_family(Audience::Keepers, |voice| {
        let args = Args::new().text("buyer", buyer.name.clone());
        let args = args.text("what", house.crops.amount(&claim.crop, claim.grams, voice)).weight("left", left);
        collecting::claim_card(voice, &claim, voice.say("claim-made", &args.day_time("until", claim.collect_until)))
    })
    .await
}

/// Asks a buyer to type how much.
pub(super) async fn ask_weight(desk: &mut Desk<'_>, person: &Person, offer_id: Id) -> store::Result<()> {
    let Some((offer, _)) = found(desk, person, offer_id).await? else { return Ok(()) };
    let voice = desk.voice(person);
    desk.ask(person, &Question::Surplus(Waiting::TakeWeight { offer: offer_id })).await?;
    let note = voice.say("offer-weight-question", &Args::new().weight("left", offer.left));
    offer_card::show_one(desk, &offer, (person, &note)).await
}

/// The crop on offer.
pub(super) async fn crop_of(desk: &mut Desk<'_>, offer_id: Id) -> store::Result<Option<String>> {
    Ok(surplus::offer_by_id(&mut desk.tx, offer_id).await?.map(|offer| offer.crop))
}

/// A buyer wants none of it.
pub(super) async fn no_thanks(desk: &mut Desk<'_>, person: &Person, offer_id: Id) -> store::Result<()> {
    let Some((offer, buyer)) = found(desk, person, offer_id).await? else { return Ok(()) };
    let now = desk.now;
    surplus::set_declined(&mut desk.tx, offer_id, buyer.id, Some(now)).await?;
    offer_card::show_others(desk, &offer, person).await?;
    let letter = offer_card::card(desk.house, &desk.voice(person), &offer_card::shown(desk, &offer, buyer.id).await?);
    desk.answer(person, letter).await
}

/// A buyer who passed would like to see it after all.
pub(super) async fn look_again(desk: &mut Desk<'_>, person: &Person, offer_id: Id) -> store::Result<()> {
    let Some((offer, buyer)) = found(desk, person, offer_id).await? else { return Ok(()) };
    surplus::set_declined(&mut desk.tx, offer_id, buyer.id, None).await?;
    offer_card::show_others(desk, &offer, person).await?;
    let letter = offer_card::card(desk.house, &desk.voice(person), &offer_card::shown(desk, &offer, buyer.id).await?);
    desk.answer(person, letter).await
}

/// A buyer gives back what they took.
pub(super) async fn give_back(desk: &mut Desk<'_>, person: &Person, claim_id: Id) -> store::Result<()> {
    let Some(claim) = collecting::waiting_claim(desk, person, claim_id).await? else { return Ok(()) };
    let Some((_, buyer)) = found(desk, person, claim.offer_id).await? else { return Ok(()) };
    if buyer.id != claim.buyer_id {
        let letter = Letter::new(desk.voice(person).say("stale-button", &Args::new()));
        return desk.answer(person, letter).await;
    }
    let now = desk.now;
    surplus::give_back(&mut desk.tx, &claim, now).await?;
    let voice = desk.voice(person);
    let house = desk.house;
    let what = house.crops.amount(&claim.crop, claim.grams, &voice);
    let note = voice.say("offer-given-back", &Args::new().text("what", what));
    offer_card::show_all(desk, claim.offer_id, Some((person, &note))).await?;
    collecting::settle_claim(desk, &claim, |voice| {
        let what = house.crops.amount(&claim.crop, claim.grams, voice);
        voice.say("claim-given-back", &Args::new().text("buyer", buyer.name.clone()).text("what", what))
    })
    .await
}

/// The keeper takes an offer back: what was taken stays taken.
pub(super) async fn withdraw(desk: &mut Desk<'_>, person: &Person, offer_id: Id) -> store::Result<()> {
    let voice = desk.voice(person);
    let now = desk.now;
    if !surplus::close_offer(&mut desk.tx, offer_id, now).await? {
        return left::refused(desk, person, voice.say("offer-closed-before", &Args::new())).await;
    }
    offer_card::show_all(desk, offer_id, None).await?;
    left::show(desk, person, Some((voice.say("offer-withdrawn", &Args::new()), None))).await
}

/// The deadline: the offer closes, and what nobody took goes on to a food bank.
pub(super) async fn end(desk: &mut Desk<'_>, offer_id: Id) -> store::Result<()> {
    let now = desk.now;
    let house = desk.house;
    if !surplus::close_offer(&mut desk.tx, offer_id, now).await? {
        return Ok(());
    }
    let Some(offer) = surplus::offer_by_id(&mut desk.tx, offer_id).await? else { return Ok(()) };
    offer_card::show_all(desk, offer_id, None).await?;
    let taken = offer.offered - offer.left;
    left::tell_keepers(desk, |voice| {
        let args = Args::new().text("what", house.crops.amount(&offer.crop, offer.offered, voice));
        voice.say("offer-ended", &args.weight("taken", taken).weight("left", offer.left))
    })
    .await?;
    if offer.left.is_positive() {
        giving::propose(desk, vec![(offer.crop, offer.left)], None).await?;
    }
    Ok(())
}
