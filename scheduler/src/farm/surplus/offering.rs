//! Offers to the buyers. Rule: everybody's card shows what is left; whoever is in their quiet hours is asked when these end,
//! what is left by then, and the offer stays open long enough for them. Orders come first: what is on offer and nobody has
//! taken is withdrawn as far as an order needs it.

use super::advice;
use super::event::Event;
use crate::clock::{LocalDate, UtcSeconds};
use crate::farm::stock::{self, Holder};
use crate::farm::{self, Farm, giving};
use crate::id::Id;
use crate::people::quiet::QuietHours;
use crate::quantity::Grams;
use crate::store::occurrences;
use crate::store::{self, deliveries, people, surplus};
use crate::surplus::asking::{Candidate, Plan, asking, open_until};
use crate::surplus::chances::offer_times;
use crate::surplus::offer::{Event as Step, Offer, apply};
use crate::timetable::{Job, Occurrence};
use std::collections::BTreeMap;

/// How long an offer's end is still worth doing late: always.
pub(super) const END_USEFUL_MINUTES: i64 = 365 * 24 * 60;
/// Minutes an offer stays open at least for whoever is asked after their quiet hours; judged: a morning's work is done.
const LEAST_OPEN_MINUTES: i64 = 180;
/// Minutes somebody must have left to answer, or they are not asked; judged.
const LEAST_ANSWER_MINUTES: i64 = 60;
/// Days looked back for how well a buyer likes a crop.
const LIKING_DAYS: u64 = 90;

/// How an offer is made.
#[derive(Clone, Debug)]
pub struct Terms {
    /// All that is free, if nothing is said.
    pub grams: Option<Grams>,
    /// The last day of what is offered; that of the last lot to expire, if nothing is said.
    pub keeps_until: Option<LocalDate>,
    pub open_minutes: i64,
    /// An end of its own, not after what the minutes give.
    pub until: Option<UtcSeconds>,
}

impl Terms {
    /// As the farm's rules have it.
    pub fn usual(farm: &Farm<'_>) -> Terms {
        Terms { grams: None, keeps_until: None, open_minutes: farm.rules.offers.open_hours * 60, until: None }
    }
}

/// What became of an offer that was to be made.
#[derive(Clone, Debug)]
pub enum Made {
    NothingFree,
    /// There is nobody to ask.
    Nobody,
    Offered {
        offer: Offer,
        buyers: i64,
        events: Vec<farm::Event>,
    },
}

/// Makes an offer of what is free of a crop: stores it, plans its end and asks the first buyers, or all.
///
/// # Errors
/// Whatever the store fails with.
pub async fn make(farm: &mut Farm<'_>, crop: &str, terms: &Terms) -> store::Result<Made> {
    let candidates = candidates(farm, crop).await?;
    let Some(offer) = planned(farm, (crop, terms), &candidates).await? else { return Ok(Made::NothingFree) };
    let in_order = order_of_asking(farm, &offer, &candidates);
    if in_order.is_empty() {
        return Ok(Made::Nobody);
    }
    surplus::put_offer(farm.tx, &offer).await?;
    for (job, due_at) in [(Job::OfferEnd(offer.id), offer.deadline), (Job::CollectEnd(offer.id), offer.collect_until)] {
        let useful_until = due_at.plus_minutes(END_USEFUL_MINUTES);
        occurrences::plan(farm.tx, &Occurrence { job, due_at, useful_until }).await?;
    }
    let rules = &farm.rules.offers;
    let first = if rules.wave_buyers == 0 { in_order.len() } else { rules.wave_buyers.min(in_order.len()) };
    let wave_at = farm.now.plus_minutes(rules.wave_minutes);
    if first < in_order.len() && wave_at < offer.deadline {
        let wave = Occurrence { job: Job::OfferWave(offer.id), due_at: wave_at, useful_until: offer.deadline };
        occurrences::plan(farm.tx, &wave).await?;
    }
    let events = ask(farm, &offer, &in_order[..first]).await?;
    Ok(Made::Offered { offer, buyers: in_order.len() as i64, events })
}

/// Asks the buyers who were not in the first wave, if something is left.
///
/// # Errors
/// Whatever the store fails with.
pub async fn next_wave(farm: &mut Farm<'_>, offer_id: Id) -> store::Result<Vec<farm::Event>> {
    let offer = surplus::offer_by_id(farm.tx, offer_id).await?;
    let Some(offer) = offer.filter(|offer| offer.is_open() && offer.left.is_positive()) else {
        return Ok(Vec::new());
    };
    let asked = surplus::asked_buyers(farm.tx, offer_id).await?;
    let candidates = candidates(farm, &offer.crop).await?;
    let mut others = order_of_asking(farm, &offer, &candidates);
    others.retain(|buyer| !asked.iter().any(|(id, _)| id == buyer));
    ask(farm, &offer, &others).await
}

async fn ask(farm: &mut Farm<'_>, offer: &Offer, buyers: &[Id]) -> store::Result<Vec<farm::Event>> {
    for buyer_id in buyers {
        surplus::ask_buyer(farm.tx, offer.id, *buyer_id, farm.now).await?;
    }
    Ok(vec![Event::Asked { offer: offer.clone(), buyers: buyers.to_vec() }.into()])
}

/// The offer of what is free of a crop and keeps long enough; `None` when nothing is free.
async fn planned(
    farm: &mut Farm<'_>,
    (crop, terms): (&str, &Terms),
    candidates: &[Candidate],
) -> store::Result<Option<Offer>> {
    let (now, zone) = (farm.now, farm.zone());
    let rules = &farm.rules.offers;
    let stock = stock::now(farm).await?;
    let Some(last) = stock::free_lots(&stock, crop, farm.today()).last() else { return Ok(None) };
    let keeps_until = terms.keeps_until.unwrap_or(last.keeps_until);
    let free = stock::free_until(&stock, crop, farm.today());
    let last_call = advice::last_call(farm, (crop, terms.grams.unwrap_or(free), keeps_until)).await?;
    // Whoever sleeps now has time after waking.
    let open_until = open_until(candidates, (now, terms.open_minutes, LEAST_OPEN_MINUTES), zone);
    let times = (open_until.since(now) / 60, rules.collect_hours * 60);
    let good_until = stock::end_of(keeps_until, zone);
    let (mut deadline, mut collect_until) = offer_times(now, times, (good_until, last_call));
    if let Some(until) = terms.until.filter(|until| *until < deadline) {
        let minutes = until.since(now) / 60;
        (deadline, collect_until) = offer_times(now, (minutes, times.1), (good_until, last_call));
    }
    let offered = stock::free_until(&stock, crop, collect_until.plus_seconds(-1).local_date(zone));
    let offered = terms.grams.map_or(offered, |grams| offered.at_most(grams));
    if !offered.is_positive() || deadline <= now {
        return Ok(None);
    }
    let kind = farm.crops.get(crop);
    let price = kind.and_then(|kind| kind.price_per_kilogram);
    let mut offer = Offer::open(farm.new_id(), crop, offered, now);
    offer.least = kind.map_or(offer.least, |kind| kind.pack_step);
    offer.price_per_kilogram = price.map(|price| advice::reduced(price, rules.discount_percent));
    offer.deadline = deadline;
    offer.collect_until = collect_until;
    Ok(Some(offer))
}

/// The buyers with a contact.
async fn candidates(farm: &mut Farm<'_>, crop: &str) -> store::Result<Vec<Candidate>> {
    let (now, zone) = (farm.now, farm.zone());
    let served = surplus::last_served(farm.tx).await?;
    let since: LocalDate = farm.today() - chrono::Days::new(LIKING_DAYS);
    let mut candidates = Vec::new();
    for buyer in people::buyers(farm.tx).await? {
        let contacts = people::contacts_of_buyer(farm.tx, buyer.id).await?;
        // The restaurant reads it when the first of its contacts does.
        let awake_at = |quiet: Option<QuietHours>| quiet.map_or(now, |quiet| quiet.awake_at(now, zone));
        let Some(quiet) = contacts.iter().map(|contact| contact.quiet).min_by_key(|quiet| awake_at(*quiet)) else {
            continue;
        };
        let awards = deliveries::awards_of_buyer(farm.tx, buyer.id, since).await?;
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

/// Whom to ask, whoever likes the crop most first; whoever wakes too late to answer is not asked.
fn order_of_asking(farm: &Farm<'_>, offer: &Offer, candidates: &[Candidate]) -> Vec<Id> {
    let deadline = offer.deadline.plus_minutes(1 - LEAST_ANSWER_MINUTES).max(farm.now.plus_seconds(1));
    let plan = Plan { starts_at: farm.now, deadline, wave_size: 0, minutes_between_waves: 0 };
    let asking = asking(candidates, plan, farm.zone());
    asking.asked.into_iter().map(|(_, buyer)| buyer).collect()
}

/// Closes an offer; `None` when it was closed before.
async fn close(farm: &mut Farm<'_>, offer_id: Id) -> store::Result<Option<Offer>> {
    let offer = surplus::offer_by_id(farm.tx, offer_id).await?;
    let closed = offer.and_then(|offer| apply(&offer, Step::Close, farm.now).ok());
    if let Some(offer) = &closed {
        surplus::put_offer(farm.tx, offer).await?;
    }
    Ok(closed)
}

/// The keeper takes an offer back: what was taken stays taken. `None` when it was closed before.
///
/// # Errors
/// Whatever the store fails with.
pub async fn withdraw(farm: &mut Farm<'_>, offer_id: Id) -> store::Result<Option<Vec<farm::Event>>> {
    let closed = close(farm, offer_id).await?;
    Ok(closed.map(|_| vec![Event::OfferChanged { offer_id, by: None }.into()]))
}

/// The deadline: the offer closes, and what nobody took goes on to a food bank.
///
/// # Errors
/// Whatever the store fails with.
pub async fn end(farm: &mut Farm<'_>, offer_id: Id) -> store::Result<Vec<farm::Event>> {
    let Some(offer) = close(farm, offer_id).await? else { return Ok(Vec::new()) };
    let mut events: Vec<farm::Event> =
        vec![Event::OfferChanged { offer_id, by: None }.into(), Event::Ended { offer: offer.clone() }.into()];
    if offer.left.is_positive() {
        let proposed = giving::proposing::propose(farm, vec![(offer.crop, offer.left)], None).await?;
        events.extend(proposed.into_iter().map(farm::Event::from));
    }
    Ok(events)
}

/// Orders come first: withdraws up to `needed` of each crop from what is on offer, the newest offer first.
///
/// # Errors
/// Whatever the store fails with.
pub async fn yield_to(farm: &mut Farm<'_>, needed: &BTreeMap<String, Grams>) -> store::Result<Vec<farm::Event>> {
    let (mut needed, mut events) = (needed.clone(), Vec::new());
    for offer in surplus::open_offers(farm.tx).await?.into_iter().rev() {
        let Some(need) = needed.get_mut(&offer.crop).filter(|need| need.is_positive()) else { continue };
        let Ok(after) = apply(&offer, Step::Yield(*need), farm.now) else { continue };
        surplus::put_offer(farm.tx, &after).await?;
        let withdrawn = need.at_most(offer.left);
        *need -= withdrawn;
        events.push(Event::OfferChanged { offer_id: offer.id, by: None }.into());
        let left = offer.left - withdrawn;
        events.push(Event::Yielded { crop: offer.crop, withdrawn, left }.into());
    }
    Ok(events)
}

/// Withdraws what the promises of `day`, out of a stock that is known, leave uncovered of what is on offer.
///
/// # Errors
/// Whatever the store fails with.
pub async fn make_room(farm: &mut Farm<'_>, day: LocalDate) -> store::Result<Vec<farm::Event>> {
    let there = stock::ready_on(farm, day).await?;
    let mut firm: BTreeMap<String, Grams> = BTreeMap::new();
    let mut offered: BTreeMap<String, Grams> = BTreeMap::new();
    for held in stock::held(farm).await? {
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
    yield_to(farm, &needed).await
}
