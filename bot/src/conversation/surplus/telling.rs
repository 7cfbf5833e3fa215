//! What has happened to what is left, in the words of each who hears of it.

use super::{Ask, claims, left, market, offer_card, warmth};
use crate::conversation::audience::Audience;
use crate::conversation::letter::Patience;
use crate::conversation::shortfall::card;
use crate::conversation::{Button, Desk, Letter};
use crate::house::House;
use crate::intent::Intent;
use crate::wording::{Args, DateForm, Voice};
use scheduler::clock::LocalDate;
use scheduler::farm::closed_day::{ClosedDay, Occasion};
use scheduler::farm::surplus::Event;
use scheduler::quantity::Grams;
use scheduler::store::{self, deliveries};
use scheduler::surplus::offer::Offer;

/// Tells one audience of an event.
///
/// # Errors
/// Whatever the store fails with.
pub async fn tell(desk: &mut Desk<'_>, event: &Event, audience: Audience) -> store::Result<()> {
    let house = desk.house;
    match event {
        Event::Asked { offer, .. } => {
            let write = |voice: &Voice| offer_card::card(house, voice, &offer_card::Shown::fresh(offer)).at_end();
            desk.tell_audience(audience, |voice| write(voice).patient(Patience::Until(offer.deadline))).await
        }
        Event::OfferChanged { offer_id, by } => offer_card::show_others(desk, *offer_id, *by).await,
        Event::Yielded { crop, withdrawn, left } => {
            desk.tell_audience(audience, |voice| {
                let args = Args::new().text("what", house.amount(crop, *withdrawn, voice));
                Letter::new(voice.say("offer-yielded", &args.weight("left", *left)))
            })
            .await
        }
        Event::Ended { offer } => {
            desk.tell_audience(audience, |voice| {
                let args = Args::new().text("what", house.amount(&offer.crop, offer.offered, voice));
                Letter::new(voice.say("offer-ended", &args.weight("taken", offer.taken()).weight("left", offer.left)))
            })
            .await
        }
        Event::MarketUnsaid { lines } => {
            desk.tell_audience(audience, |voice| market::unsaid(house, voice, lines)).await
        }
        Event::MarketAssumed { lines } => {
            desk.tell_audience(audience, |voice| {
                let args = Args::new().list("what", house.amounts(lines, voice));
                let back =
                    Button::new(voice.plain("button-market-back", &Args::new()), Intent::Surplus(Ask::MarketBack));
                Letter::new(voice.say("market-assumed", &args)).row([back])
            })
            .await
        }
        Event::Lapsed { lots } => {
            desk.tell_audience(audience, |voice| {
                let line = |(crop, grams, picked): &(String, Grams, LocalDate)| {
                    let args = Args::new().text("amount", house.amount(crop, *grams, voice));
                    voice.say("lapsed-line", &args.date_as("picked", *picked, DateForm::Short))
                };
                let mut said = vec![voice.say("lapsed", &Args::new())];
                said.extend(lots.iter().map(line));
                Letter::new(said.join("\n"))
            })
            .await
        }
        Event::LeftOver => left::tell(desk, &audience).await,
        Event::ColdRoomWarm { tenths_c, aged, .. } => warmth::tell(desk, (*tenths_c, aged), &audience).await,
        Event::RuleOffers { offer, buyers } => {
            desk.tell_audience(audience, |voice| rule_offers(house, voice, (offer, *buyers))).await
        }
        Event::RuleGives { crop, rest } => {
            desk.tell_audience(audience, |voice| {
                let args = Args::new().text("what", house.amount(crop, *rest, voice));
                Letter::new(voice.say("rule-gives", &args))
            })
            .await
        }
        Event::DayChanged { day, buyer_id } => {
            let Some(closed) = deliveries::on(&mut desk.tx, *day).await? else { return Ok(()) };
            let theirs = ClosedDay::load(&mut desk.farm(), &closed).await?.of_buyer(&house.crops, *buyer_id);
            desk.tell_audience(audience, |voice| card::write(house, voice, (&theirs, &Occasion::Closed))).await
        }
        Event::Claim(claimed, what) => claims::tell(desk, (claimed, *what), audience).await,
    }
}

fn rule_offers(house: &House, voice: &Voice, (offer, buyers): (&Offer, i64)) -> Letter {
    let args = Args::new()
        .text("what", house.amount(&offer.crop, offer.offered, voice))
        .count("buyers", buyers)
        .day_time("deadline", offer.deadline);
    let stop = voice.plain("button-stop-it", &Args::new());
    let ask = Ask::Withdraw { offer: offer.id };
    Letter::new(voice.say("rule-offered", &args)).row([Button::new(stop, Intent::Surplus(ask))])
}
