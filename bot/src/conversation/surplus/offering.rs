//! Offers to the buyers. Rule: first come, first served, inside the farm's one transaction; whoever was told "yours"
//! keeps it until they give it back; everybody else's card shows what is left.

use super::super::{Button, Desk, Letter, giving};
use super::{Ask, Waiting, left, stock};
use crate::house::House;
use crate::intent::{Intent, Waiting as Question};
use crate::wording::{Args, Voice, key};
use scheduler::clock::LocalDate;
use scheduler::id::Id;
use scheduler::money::Cents;
use scheduler::people::{Buyer, Person};
use scheduler::quantity::{Grams, UnitSystem};
use scheduler::store::cold_room::{self, MoveKind, Movement};
use scheduler::store::occurrences::{self, Planned};
use scheduler::store::surplus::{self, Claim, Offer};
use scheduler::store::{self, deliveries, people};
use scheduler::surplus::offers::{self, Candidate, Plan, Taking};

/// How long an offer's end is still worth doing late: always.
const END_USEFUL_MINUTES: i64 = 365 * 24 * 60;
/// Days looked back for how well a buyer likes a crop.
const LIKING_DAYS: u64 = 90;

fn card_name(offer_id: Id) -> String {
    format!("offer-{offer_id}")
}

/// Offers all that is free of a crop to every buyer with a contact here.
pub(super) async fn offer(desk: &mut Desk<'_>, person: &Person, crop: &str) -> store::Result<()> {
    let voice = desk.voice(person);
    let house = desk.house;
    let name = house.crops.name(crop, &voice);
    let Some(offer) = planned(desk, crop).await? else {
        let args = Args::new().text("crop", name).weight("free", Grams::ZERO);
        return left::refused(desk, person, voice.say("surplus-more-than-free", &args)).await;
    };
    let asked = order_of_asking(desk, &offer).await?;
    if asked.is_empty() {
        return left::refused(desk, person, voice.say("offer-nobody", &Args::new())).await;
    }
    surplus::add_offer(&mut desk.tx, &offer).await?;
    for (job, due_at) in [("offer_end", offer.deadline), ("collect_end", offer.collect_until)] {
        let planned = Planned {
            key: format!("{job} {}", offer.id),
            job: job.to_owned(),
            subject: Some(offer.id),
            due_at,
            useful_until: due_at.plus_minutes(END_USEFUL_MINUTES),
        };
        occurrences::plan(&mut desk.tx, &planned).await?;
    }
    let now = desk.now;
    for buyer_id in &asked {
        surplus::ask_buyer(&mut desk.tx, offer.id, *buyer_id, now).await?;
        desk.tell_buyer(*buyer_id, |voice| card(house, voice, &Shown::fresh(&offer)).at_end()).await?;
    }
    let args = Args::new()
        .text("what", house.crops.amount(crop, offer.offered, &voice))
        .count("buyers", asked.len() as i64)
        .day_time("deadline", offer.deadline);
    let undo = Ask::Withdraw { offer: offer.id };
    left::show(desk, person, Some((voice.say("offer-made", &args), Some(undo)))).await
}

/// The offer of all that is free of a crop and keeps long enough; `None` when nothing is free.
async fn planned(desk: &mut Desk<'_>, crop: &str) -> store::Result<Option<Offer>> {
    let zone = desk.house.zone();
    let config = &desk.house.config.offers;
    let stock = stock::now(desk).await?;
    let Some(last) = stock::free_lots(&stock, crop, desk.today()).last() else { return Ok(None) };
    // Not longer than it keeps.
    let keeps = stock::end_of(last.keeps_until, zone);
    let open_until = desk.now.plus_minutes(config.open_hours * 60);
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

/// The buyers with a contact, whoever likes the crop most first.
async fn order_of_asking(desk: &mut Desk<'_>, offer: &Offer) -> store::Result<Vec<Id>> {
    let served = surplus::last_served(&mut desk.tx).await?;
    let since: LocalDate = desk.today() - chrono::Days::new(LIKING_DAYS);
    let mut candidates = Vec::new();
    for buyer in people::buyers(&mut desk.tx).await? {
        if people::contacts_of_buyer(&mut desk.tx, buyer.id).await?.is_empty() {
            continue;
        }
        let awards = deliveries::awards_of_buyer(&mut desk.tx, buyer.id, since).await?;
        let times = awards.iter().filter(|award| award.crop == offer.crop).count();
        candidates.push(Candidate {
            buyer: buyer.id,
            // Everybody is asked, whoever ordered it more often first.
            liking: u16::try_from(times).unwrap_or(u16::MAX - 1) + 1,
            last_served_at: served.iter().find(|(id, _)| *id == buyer.id).map(|(_, at)| *at),
            quiet: None,
        });
    }
    let plan = Plan { starts_at: desk.now, deadline: offer.deadline, wave_size: 0, minutes_between_waves: 0 };
    let asking = offers::asking(&candidates, plan, desk.house.zone());
    Ok(asking.asked.into_iter().map(|(_, buyer)| buyer).collect())
}

/// One buyer's view of an offer.
struct Shown<'o> {
    offer: &'o Offer,
    /// This buyer's own, those given back left out.
    claims: Vec<Claim>,
    has_declined: bool,
}

impl<'o> Shown<'o> {
    fn fresh(offer: &'o Offer) -> Shown<'o> {
        Shown { offer, claims: Vec::new(), has_declined: false }
    }
}

async fn shown<'o>(desk: &mut Desk<'_>, offer: &'o Offer, buyer_id: Id) -> store::Result<Shown<'o>> {
    let claims = surplus::claims_of(&mut desk.tx, offer.id).await?;
    let asked = surplus::asked_buyers(&mut desk.tx, offer.id).await?;
    Ok(Shown {
        offer,
        claims: claims.into_iter().filter(|one| one.buyer_id == buyer_id && one.given_back_at.is_none()).collect(),
        has_declined: asked.iter().any(|(id, declined)| *id == buyer_id && declined.is_some()),
    })
}

fn card(house: &House, voice: &Voice, shown: &Shown<'_>) -> Letter {
    let offer = shown.offer;
    let is_open = offer.closed_at.is_none();
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
    let what = |grams| Args::new().text("what", house.crops.amount(&offer.crop, grams, voice));
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
        let text_key = if claim.collected_at.is_some() { key("offer-collected") } else { key("offer-yours") };
        lines.push(voice.say(text_key, &what(claim.grams).day_time("until", claim.collect_until)));
    }
    let mut letter = Letter::new(lines.join("\n"));
    if is_open && offer.left.is_positive() {
        letter = with_takes(letter, voice, shown);
    }
    for claim in shown.claims.iter().filter(|claim| claim.waits()) {
        let label = voice.plain("button-give-back", &Args::new().weight("weight", claim.grams));
        letter = letter.row([Button::new(label, Intent::Surplus(Ask::GiveBack { claim: claim.id }))]);
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

/// Shows the offer to everybody who was asked as it stands now: to `person`, who acted, with a note as the answer.
async fn show_all(desk: &mut Desk<'_>, offer_id: Id, answer: Option<(&Person, &str)>) -> store::Result<()> {
    let house = desk.house;
    let Some(offer) = surplus::offer_by_id(&mut desk.tx, offer_id).await? else { return Ok(()) };
    if let Some((person, note)) = answer {
        let shown = shown(desk, &offer, person.buyer_id.unwrap_or(offer.id)).await?;
        let mut letter = card(house, &desk.voice(person), &shown);
        letter.html = format!("<b>{note}</b>\n\n{}", letter.html);
        let letter = if desk.is_press() { Letter { card: None, ..letter } } else { letter.at_end() };
        desk.answer(person, letter).await?;
    }
    for (buyer_id, _) in surplus::asked_buyers(&mut desk.tx, offer_id).await? {
        let shown = shown(desk, &offer, buyer_id).await?;
        if shown.has_declined && shown.claims.is_empty() {
            continue;
        }
        for contact in people::contacts_of_buyer(&mut desk.tx, buyer_id).await? {
            if answer.is_none_or(|(person, _)| person.id != contact.id) {
                let letter = card(house, &desk.voice(&contact), &shown);
                desk.tell(&contact, letter).await?;
            }
        }
    }
    Ok(())
}

/// Answers with the buyer's own card under a note; nobody else's changes.
async fn show_one(desk: &mut Desk<'_>, offer: &Offer, (person, note): (&Person, &str)) -> store::Result<()> {
    let shown = shown(desk, offer, person.buyer_id.unwrap_or(offer.id)).await?;
    let mut letter = card(desk.house, &desk.voice(person), &shown);
    letter.html = format!("<b>{note}</b>\n\n{}", letter.html);
    let letter = if desk.is_press() { Letter { card: None, ..letter } } else { letter.at_end() };
    desk.answer(person, letter).await
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
        return show_one(desk, &offer, (person, &note)).await;
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
            return show_one(desk, &offer, (person, &note)).await;
        }
        Taking::Gone => {
            let note = voice.say("offer-gone", &Args::new());
            return show_one(desk, &offer, (person, &note)).await;
        }
        Taking::Over { .. } => {
            let note = voice.say("offer-too-late", &Args::new());
            return show_one(desk, &offer, (person, &note)).await;
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
    show_all(desk, offer_id, Some((person, &note))).await?;
    let left = offer.left - granted;
    desk.tell_family(super::super::desk::Audience::Keepers, |voice| {
        let args = Args::new().text("buyer", buyer.name.clone());
        let args = args.text("what", house.crops.amount(&claim.crop, claim.grams, voice)).weight("left", left);
        claim_card(voice, &claim, voice.say("claim-made", &args.day_time("until", claim.collect_until)))
    })
    .await
}

fn claim_card(voice: &Voice, claim: &Claim, html: String) -> Letter {
    Letter::new(html).on_card(format!("claim-{}", claim.id)).row([Button::new(
        voice.plain("button-collected", &Args::new()),
        Intent::Surplus(Ask::Collected { claim: claim.id }),
    )])
}

/// Asks a buyer to type how much.
pub(super) async fn ask_weight(desk: &mut Desk<'_>, person: &Person, offer_id: Id) -> store::Result<()> {
    let Some((offer, _)) = found(desk, person, offer_id).await? else { return Ok(()) };
    let voice = desk.voice(person);
    desk.ask(person, &Question::Surplus(Waiting::TakeWeight { offer: offer_id })).await?;
    let note = voice.say("offer-weight-question", &Args::new().weight("left", offer.left));
    show_one(desk, &offer, (person, &note)).await
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
    show_others(desk, &offer, person).await?;
    let letter = card(desk.house, &desk.voice(person), &shown(desk, &offer, buyer.id).await?);
    desk.answer(person, letter).await
}

/// A buyer who passed would like to see it after all.
pub(super) async fn look_again(desk: &mut Desk<'_>, person: &Person, offer_id: Id) -> store::Result<()> {
    let Some((offer, buyer)) = found(desk, person, offer_id).await? else { return Ok(()) };
    surplus::set_declined(&mut desk.tx, offer_id, buyer.id, None).await?;
    show_others(desk, &offer, person).await?;
    let letter = card(desk.house, &desk.voice(person), &shown(desk, &offer, buyer.id).await?);
    desk.answer(person, letter).await
}

/// Shows the offer to the other contacts of the same buyer.
async fn show_others(desk: &mut Desk<'_>, offer: &Offer, person: &Person) -> store::Result<()> {
    let Some(buyer_id) = person.buyer_id else { return Ok(()) };
    let shown = shown(desk, offer, buyer_id).await?;
    for contact in people::contacts_of_buyer(&mut desk.tx, buyer_id).await? {
        if contact.id != person.id {
            let letter = card(desk.house, &desk.voice(&contact), &shown);
            desk.tell(&contact, letter).await?;
        }
    }
    Ok(())
}

/// The claim, if it still waits; otherwise the press is answered as out of date.
async fn waiting_claim(desk: &mut Desk<'_>, person: &Person, claim_id: Id) -> store::Result<Option<Claim>> {
    let claim = surplus::claim_by_id(&mut desk.tx, claim_id).await?.filter(Claim::waits);
    if claim.is_none() {
        let letter = Letter::new(desk.voice(person).say("stale-button", &Args::new()));
        desk.answer(person, letter).await?;
    }
    Ok(claim)
}

/// A buyer gives back what they took.
pub(super) async fn give_back(desk: &mut Desk<'_>, person: &Person, claim_id: Id) -> store::Result<()> {
    let Some(claim) = waiting_claim(desk, person, claim_id).await? else { return Ok(()) };
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
    show_all(desk, claim.offer_id, Some((person, &note))).await?;
    settle_claim(desk, &claim, |voice| {
        let what = house.crops.amount(&claim.crop, claim.grams, voice);
        voice.say("claim-given-back", &Args::new().text("buyer", buyer.name.clone()).text("what", what))
    })
    .await
}

/// Tells the keepers what became of a claim, over its card.
async fn settle_claim(desk: &mut Desk<'_>, claim: &Claim, write: impl Fn(&Voice) -> String) -> store::Result<()> {
    desk.settle_card(&format!("claim-{}", claim.id), |voice| Letter::new(write(voice))).await
}

async fn buyer_name(desk: &mut Desk<'_>, buyer_id: Id) -> store::Result<String> {
    Ok(people::buyer_by_id(&mut desk.tx, buyer_id).await?.map(|buyer| buyer.name).unwrap_or_default())
}

/// The keeper says that the buyer has fetched it: it leaves the cold room.
pub(super) async fn collected(desk: &mut Desk<'_>, person: &Person, claim_id: Id) -> store::Result<()> {
    let Some(claim) = waiting_claim(desk, person, claim_id).await? else { return Ok(()) };
    let voice = desk.voice(person);
    let house = desk.house;
    let what = house.crops.amount(&claim.crop, claim.grams, &voice);
    let today = desk.today();
    if !stock::holds(desk, &claim.crop, (claim.grams, today)).await? {
        let text = voice.say("surplus-not-in-cold-room", &Args::new().text("what", what));
        return desk.answer(person, claim_card(&voice, &claim, text)).await;
    }
    let movement =
        Movement { kind: MoveKind::Collected, subject: Some(claim.id), person_id: Some(person.id), now: desk.now };
    cold_room::take(&mut desk.tx, &claim.crop, (claim.grams, today), &movement).await?;
    let now = desk.now;
    surplus::mark_collected(&mut desk.tx, claim.id, now).await?;
    let buyer = buyer_name(desk, claim.buyer_id).await?;
    let write = |voice: &Voice| {
        let what = house.crops.amount(&claim.crop, claim.grams, voice);
        voice.say("claim-collected", &Args::new().text("buyer", buyer.clone()).text("what", what))
    };
    desk.answer(person, Letter::new(write(&voice))).await?;
    settle_claim(desk, &claim, write).await?;
    show_buyer(desk, &claim).await
}

/// Shows the offer to the contacts of the claim's buyer as it stands now.
async fn show_buyer(desk: &mut Desk<'_>, claim: &Claim) -> store::Result<()> {
    let house = desk.house;
    let Some(offer) = surplus::offer_by_id(&mut desk.tx, claim.offer_id).await? else { return Ok(()) };
    let shown = shown(desk, &offer, claim.buyer_id).await?;
    desk.tell_buyer(claim.buyer_id, |voice| card(house, voice, &shown)).await
}

/// The keeper says that nobody came for it: it is free again.
pub(super) async fn not_collected(desk: &mut Desk<'_>, person: &Person, claim_id: Id) -> store::Result<()> {
    let Some(claim) = waiting_claim(desk, person, claim_id).await? else { return Ok(()) };
    let now = desk.now;
    let house = desk.house;
    surplus::give_back(&mut desk.tx, &claim, now).await?;
    let buyer = buyer_name(desk, claim.buyer_id).await?;
    let voice = desk.voice(person);
    let write = |voice: &Voice| {
        let what = house.crops.amount(&claim.crop, claim.grams, voice);
        voice.say("claim-not-collected", &Args::new().text("buyer", buyer.clone()).text("what", what))
    };
    desk.answer(person, Letter::new(write(&voice))).await?;
    settle_claim(desk, &claim, write).await?;
    show_buyer(desk, &claim).await?;
    desk.tell_buyer(claim.buyer_id, |voice| {
        let what = house.crops.amount(&claim.crop, claim.grams, voice);
        Letter::new(voice.say("offer-not-collected", &Args::new().text("what", what)))
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
    show_all(desk, offer_id, None).await?;
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
    show_all(desk, offer_id, None).await?;
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

/// The time to collect is over: the keepers are asked about whatever still waits.
pub(super) async fn ask_uncollected(desk: &mut Desk<'_>, offer_id: Id) -> store::Result<()> {
    let house = desk.house;
    for claim in surplus::claims_of(&mut desk.tx, offer_id).await?.into_iter().filter(Claim::waits) {
        let buyer = buyer_name(desk, claim.buyer_id).await?;
        desk.tell_family(super::super::desk::Audience::Keepers, |voice| {
            let what = house.crops.amount(&claim.crop, claim.grams, voice);
            let args = Args::new().text("buyer", buyer.clone()).text("what", what);
            claim_card(voice, &claim, voice.say("claim-still-here", &args)).at_end().row([Button::new(
                voice.plain("button-not-collected", &Args::new()),
                Intent::Surplus(Ask::NotCollected { claim: claim.id }),
            )])
        })
        .await?;
    }
    Ok(())
}
