//! Offers to the buyers. Rule: first come, first served, inside the farm's one transaction; whoever was told "yours"
//! keeps it until they give it back; everybody else's card shows what is left. Whoever is in their quiet hours is asked when
//! these end, what is left by then, and the offer stays open long enough for them.

use super::super::audience::Audience;
use super::super::desk::READ_MINUTES;
use super::super::letter::Patience;
use super::super::{Desk, Letter, giving};
use super::{Ask, Waiting, advice, along, collecting, left, offer_card, stock};
use crate::intent::Waiting as Question;
use crate::wording::{Args, key};
use scheduler::clock::{LocalDate, UtcSeconds};
use scheduler::id::Id;
use scheduler::people::quiet::QuietHours;
use scheduler::people::{Buyer, Person};
use scheduler::quantity::Grams;
use scheduler::store::occurrences::{self, Planned};
use scheduler::store::surplus;
use scheduler::store::{self, deliveries, people};
use scheduler::surplus::asking::{Candidate, Plan, asking, open_until};
use scheduler::surplus::chances::offer_times;
use scheduler::surplus::claim::{self, Claim, Taking};
use scheduler::surplus::offer::{self, Event, Offer, Refused};

/// How long an offer's end is still worth doing late: always.
pub(super) const END_USEFUL_MINUTES: i64 = 365 * 24 * 60;
/// Minutes an offer stays open at least for whoever is asked after their quiet hours; judged: a morning's work is done.
const LEAST_OPEN_MINUTES: i64 = 180;
/// Days looked back for how well a buyer likes a crop.
const LIKING_DAYS: u64 = 90;

/// How an offer is made.
#[derive(Clone, Debug)]
pub(super) struct Terms {
    /// All that is free, if nothing is said.
    pub grams: Option<Grams>,
    /// The last day of what is offered; that of the last lot to expire, if nothing is said.
    pub keeps_until: Option<LocalDate>,
    pub open_minutes: i64,
    /// An end of its own, not after what the minutes give.
    pub until: Option<UtcSeconds>,
}

impl Terms {
    /// As the farm's configuration has it.
    pub(super) fn usual(desk: &Desk<'_>) -> Terms {
        let open_minutes = desk.house.config.rules.offers.open_hours * 60;
        Terms { grams: None, keeps_until: None, open_minutes, until: None }
    }
}

/// Offers what is free of a crop to the buyers with a contact here.
pub(super) async fn offer(desk: &mut Desk<'_>, person: &Person, (crop, terms): (&str, &Terms)) -> store::Result<()> {
    let voice = desk.voice(person);
    let house = desk.house;
    match make(desk, (crop, terms)).await? {
        Made::NothingFree => {
            let args = Args::new().text("crop", house.crop_name(crop, &voice)).weight("free", Grams::ZERO);
            left::refused(desk, person, voice.say("surplus-more-than-free", &args)).await
        }
        Made::Nobody => left::refused(desk, person, voice.say("offer-nobody", &Args::new())).await,
        Made::Offered { offer, buyers } => {
            let args = Args::new()
                .text("what", house.amount(crop, offer.offered, &voice))
                .count("buyers", buyers)
                .day_time("deadline", offer.deadline);
            let undo = Ask::Withdraw { offer: offer.id };
            left::show(desk, person, Some((voice.say("offer-made", &args), Some(undo)))).await
        }
    }
}

/// What became of an offer that was to be made.
pub(super) enum Made {
    NothingFree,
    Nobody,
    Offered { offer: Offer, buyers: i64 },
}

/// Makes an offer: stores it, plans its end and asks the first buyers, or all.
pub(super) async fn make(desk: &mut Desk<'_>, (crop, terms): (&str, &Terms)) -> store::Result<Made> {
    let candidates = candidates(desk, crop).await?;
    let Some(offer) = planned(desk, (crop, terms), &candidates).await? else { return Ok(Made::NothingFree) };
    let in_order = order_of_asking(desk, &offer, &candidates);
    if in_order.is_empty() {
        return Ok(Made::Nobody);
    }
    surplus::put_offer(&mut desk.tx, &offer).await?;
    for (job, due_at) in [("offer_end", offer.deadline), ("collect_end", offer.collect_until)] {
        let planned = Planned::about(job, offer.id, due_at, due_at.plus_minutes(END_USEFUL_MINUTES));
        occurrences::plan(&mut desk.tx, &planned).await?;
    }
    let config = &desk.house.config.rules.offers;
    let first = if config.wave_buyers == 0 { in_order.len() } else { config.wave_buyers.min(in_order.len()) };
    let wave_at = desk.now.plus_minutes(config.wave_minutes);
    if first < in_order.len() && wave_at < offer.deadline {
        let planned = Planned::about("offer_wave", offer.id, wave_at, offer.deadline);
        occurrences::plan(&mut desk.tx, &planned).await?;
    }
    ask(desk, &offer, &in_order[..first]).await?;
    Ok(Made::Offered { offer, buyers: in_order.len() as i64 })
}

/// Asks the buyers who were not in the first wave, if something is left.
pub(super) async fn next_wave(desk: &mut Desk<'_>, offer_id: Id) -> store::Result<()> {
    let offer = surplus::offer_by_id(&mut desk.tx, offer_id).await?;
    let Some(offer) = offer.filter(|offer| offer.is_open() && offer.left.is_positive()) else {
        return Ok(());
    };
    let asked = surplus::asked_buyers(&mut desk.tx, offer_id).await?;
    let candidates = candidates(desk, &offer.crop).await?;
    let mut others = order_of_asking(desk, &offer, &candidates);
    others.retain(|buyer| !asked.iter().any(|(id, _)| id == buyer));
    ask(desk, &offer, &others).await
}

async fn ask(desk: &mut Desk<'_>, offer: &Offer, buyers: &[Id]) -> store::Result<()> {
    let (now, house) = (desk.now, desk.house);
    for buyer_id in buyers {
        surplus::ask_buyer(&mut desk.tx, offer.id, *buyer_id, now).await?;
        desk.tell_buyer(*buyer_id, |voice| {
            let card = offer_card::card(house, voice, &offer_card::Shown::fresh(offer));
            card.at_end().patient(Patience::Until(offer.deadline))
        })
        .await?;
    }
    Ok(())
}

/// The offer of what is free of a crop and keeps long enough; `None` when nothing is free.
async fn planned(
    desk: &mut Desk<'_>,
    (crop, terms): (&str, &Terms),
    candidates: &[Candidate],
) -> store::Result<Option<Offer>> {
    let zone = desk.house.zone();
    let config = &desk.house.config.rules.offers;
    let stock = stock::now(desk).await?;
    let Some(last) = stock::free_lots(&stock, crop, desk.today()).last() else { return Ok(None) };
    let keeps_until = terms.keeps_until.unwrap_or(last.keeps_until);
    let free = stock::free_until(&stock, crop, desk.today());
    let last_call = advice::last_call(desk, (crop, terms.grams.unwrap_or(free), keeps_until)).await?;
    // Whoever sleeps now has time after waking.
    let open_until = open_until(candidates, (desk.now, terms.open_minutes, LEAST_OPEN_MINUTES), zone);
    let times = (open_until.since(desk.now) / 60, config.collect_hours * 60);
    let good_until = stock::end_of(keeps_until, zone);
    let (mut deadline, mut collect_until) = offer_times(desk.now, times, (good_until, last_call));
    if let Some(until) = terms.until.filter(|until| *until < deadline) {
        let minutes = until.since(desk.now) / 60;
        (deadline, collect_until) = offer_times(desk.now, (minutes, times.1), (good_until, last_call));
    }
    let offered = stock::free_until(&stock, crop, collect_until.plus_seconds(-1).local_date(zone));
    let offered = terms.grams.map_or(offered, |grams| offered.at_most(grams));
    if !offered.is_positive() || deadline <= desk.now {
        return Ok(None);
    }
    let kind = desk.house.crops.get(crop);
    let price = kind.and_then(|kind| kind.price_per_kilogram);
    let mut offer = Offer::open(desk.new_id(), crop, offered, desk.now);
    offer.least = kind.map_or(offer.least, |kind| kind.pack_step);
    offer.price_per_kilogram = price.map(|price| advice::reduced(price, config.discount_percent));
    offer.deadline = deadline;
    offer.collect_until = collect_until;
    Ok(Some(offer))
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

/// Whom to ask, whoever likes the crop most first; whoever wakes too late to answer is not asked.
fn order_of_asking(desk: &Desk<'_>, offer: &Offer, candidates: &[Candidate]) -> Vec<Id> {
    let deadline = offer.deadline.plus_minutes(1 - READ_MINUTES).max(desk.now.plus_seconds(1));
    let plan = Plan { starts_at: desk.now, deadline, wave_size: 0, minutes_between_waves: 0 };
    let asking = asking(candidates, plan, desk.house.zone());
    asking.asked.into_iter().map(|(_, buyer)| buyer).collect()
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
    let what = |grams| Args::new().text("what", house.amount(&offer.crop, grams, &voice));
    let after = match offer::apply(&offer, Event::Take(asked), desk.now) {
        Ok(after) => after,
        Err(refused) => {
            let note = match refused {
                Refused::Over => voice.say("offer-too-late", &Args::new()),
                Refused::Gone => voice.say("offer-gone", &Args::new()),
                Refused::TooSmall { smallest } => voice.say("offer-too-small", &what(smallest)),
            };
            return offer_card::show_one(desk, &offer, (person, &note)).await;
        }
    };
    let granted = offer.left - after.left;
    let text_key = if asked > offer.left { key("offer-partly") } else { key("offer-granted") };
    let note = voice.say(text_key, &what(granted));
    let goes_on = along::day_for(desk, &offer, granted).await?;
    let taking = Taking { id: desk.new_id(), buyer_id: buyer.id, grams: granted, goes_on };
    let mut claim = Claim::of(&offer, taking, desk.now);
    surplus::put_offer(&mut desk.tx, &after).await?;
    surplus::add_claim(&mut desk.tx, &claim, Some(person.id)).await?;
    along::made(desk, &mut claim).await?;
    offer_card::show_all(desk, offer_id, Some((person, &note))).await?;
    let left = after.left;
    desk.tell_family(Audience::Keepers, |voice| {
        let args = Args::new().text("buyer", buyer.name.clone());
        let args = args.text("what", house.amount(&claim.crop, claim.grams, voice)).weight("left", left);
        let text = match claim.goes_on() {
            Some(day) => voice.say("claim-made-along", &args.date("day", day)),
            None => voice.say("claim-made", &args.day_time("until", claim.collect_until)),
        };
        if claim.waits() { collecting::claim_card(voice, &claim, text) } else { Letter::new(text) }
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
    let event = claim::Event::GiveBack;
    let Some((claim, after)) = collecting::claim_after(desk, person, (claim_id, event)).await? else { return Ok(()) };
    let Some((offer, buyer)) = found(desk, person, claim.offer_id).await? else { return Ok(()) };
    if buyer.id != claim.buyer_id {
        let letter = Letter::new(desk.voice(person).say("stale-button", &Args::new()));
        return desk.answer(person, letter).await;
    }
    let voice = desk.voice(person);
    if !along::leave(desk, person, &claim).await? {
        let letter = Letter::new(voice.say("offer-packed-already", &Args::new()));
        return desk.answer(person, letter).await;
    }
    collecting::return_to(desk, &offer, &after).await?;
    let house = desk.house;
    let what = house.amount(&claim.crop, claim.grams, &voice);
    let note = voice.say("offer-given-back", &Args::new().text("what", what));
    offer_card::show_all(desk, claim.offer_id, Some((person, &note))).await?;
    collecting::settle_claim(desk, &claim, |voice| {
        let what = house.amount(&claim.crop, claim.grams, voice);
        voice.say("claim-given-back", &Args::new().text("buyer", buyer.name.clone()).text("what", what))
    })
    .await
}

/// Closes an offer; `None` when it was closed before.
async fn close(desk: &mut Desk<'_>, offer_id: Id) -> store::Result<Option<Offer>> {
    let Some(offer) = surplus::offer_by_id(&mut desk.tx, offer_id).await? else { return Ok(None) };
    let Ok(offer) = offer::apply(&offer, Event::Close, desk.now) else { return Ok(None) };
    surplus::put_offer(&mut desk.tx, &offer).await?;
    Ok(Some(offer))
}

/// The keeper takes an offer back: what was taken stays taken.
pub(super) async fn withdraw(desk: &mut Desk<'_>, person: &Person, offer_id: Id) -> store::Result<()> {
    let voice = desk.voice(person);
    if close(desk, offer_id).await?.is_none() {
        return left::refused(desk, person, voice.say("offer-closed-before", &Args::new())).await;
    }
    offer_card::show_all(desk, offer_id, None).await?;
    left::show(desk, person, Some((voice.say("offer-withdrawn", &Args::new()), None))).await
}

/// The deadline: the offer closes, and what nobody took goes on to a food bank.
pub(super) async fn end(desk: &mut Desk<'_>, offer_id: Id) -> store::Result<()> {
    let house = desk.house;
    let Some(offer) = close(desk, offer_id).await? else { return Ok(()) };
    offer_card::show_all(desk, offer_id, None).await?;
    let taken = offer.taken();
    left::tell_keepers(desk, |voice| {
        let args = Args::new().text("what", house.amount(&offer.crop, offer.offered, voice));
        voice.say("offer-ended", &args.weight("taken", taken).weight("left", offer.left))
    })
    .await?;
    if offer.left.is_positive() {
        giving::propose(desk, vec![(offer.crop, offer.left)], None).await?;
    }
    Ok(())
}
