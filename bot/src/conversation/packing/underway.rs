//! What the driver writes from the road. Where no restaurant is named and several still wait, the run card asks.

use super::run;
use crate::conversation::{Desk, Letter};
use crate::wording::{Args, Voice, key};
use scheduler::farm::event::Event;
use scheduler::farm::underway::{self, OnTheRoad};
use scheduler::id::Id;
use scheduler::people::Person;
use scheduler::quantity::Grams;
use scheduler::store;
use scheduler::store::deliveries::Closed;

/// Tells who still waits that the van is late.
pub(super) async fn late(
    desk: &mut Desk<'_>,
    person: &Person,
    (minutes, buyer): (Option<i64>, Option<Id>),
) -> store::Result<()> {
    let Some(closed) = underway::run(&mut desk.farm()).await? else { return super::no_run(desk, person).await };
    let events = underway::late(&mut desk.farm(), &closed, (minutes, buyer)).await?;
    let names = events.iter().filter_map(|event| match event {
        Event::OnTheRoad(OnTheRoad::Late { name, .. }) => Some(name.clone()),
        _ => None,
    });
    let names: Vec<String> = names.collect();
    if names.is_empty() {
        return run::show(desk, person).await;
    }
    desk.happened(events);
    let html = desk.voice(person).say("road-late-told", &Args::new().list("buyers", names));
    desk.answer(person, Letter::new(html)).await
}

/// Nobody opens: the keepers and the restaurant hear of it. It stays on the run until something is said of it.
pub(super) async fn nobody_there(desk: &mut Desk<'_>, person: &Person, buyer: Option<Id>) -> store::Result<()> {
    let Some((_, (buyer, name))) = stop(desk, person, buyer).await? else { return Ok(()) };
    desk.happened([Event::OnTheRoad(OnTheRoad::NobodyThere { buyer, name: name.clone() })]);
    let html = desk.voice(person).say("road-nobody-told", &Args::new().text("buyer", name));
    desk.answer(person, Letter::new(html)).await
}

/// Records what a restaurant took where it did not want all.
pub(super) async fn refused(
    desk: &mut Desk<'_>,
    person: &Person,
    buyer: Option<Id>,
    (crop, grams): (Option<String>, Option<Grams>),
) -> store::Result<()> {
    let Some((closed, (buyer, _))) = stop(desk, person, buyer).await? else { return Ok(()) };
    let which = super::Ask::OtherWeightsOf { day: closed.day, buyer, stage: super::Stage::Delivered };
    let Some(crop) = crop else { return Box::pin(super::act(desk, person, which)).await };
    let recorded = underway::refused(&mut desk.farm(), person.id, (&closed, buyer), (&crop, grams)).await?;
    match recorded {
        Some(recorded) => run::answer(desk, person, (&closed, recorded)).await,
        None => Box::pin(super::act(desk, person, which)).await,
    }
}

/// The restaurant that is meant: the one named, or the only one that still waits.
async fn stop(
    desk: &mut Desk<'_>,
    person: &Person,
    buyer: Option<Id>,
) -> store::Result<Option<(Closed, (Id, String))>> {
    let Some(closed) = underway::run(&mut desk.farm()).await? else {
        super::no_run(desk, person).await?;
        return Ok(None);
    };
    let mut waiting = underway::waiting(&mut desk.farm(), &closed).await?;
    waiting.retain(|(id, _)| buyer.is_none_or(|buyer| buyer == *id));
    match waiting.as_slice() {
        [one] => Ok(Some((closed, one.clone()))),
        _ => run::show(desk, person).await.map(|()| None),
    }
}

/// What a restaurant, or the keeper, reads.
pub fn told(voice: &Voice, (what, is_theirs): (&OnTheRoad, bool)) -> Letter {
    Letter::new(match what {
        OnTheRoad::Late { name, minutes, .. } => {
            let args = Args::new().text("buyer", name.clone());
            match (minutes, is_theirs) {
                (Some(minutes), true) => voice.say("road-late-minutes", &args.count("minutes", *minutes)),
                (None, true) => voice.say("road-late", &Args::new()),
                (Some(minutes), false) => voice.say("road-late-minutes-farm", &args.count("minutes", *minutes)),
                (None, false) => voice.say("road-late-farm", &args),
            }
        }
        OnTheRoad::NobodyThere { name, .. } => {
            let text_key = if is_theirs { key("road-nobody") } else { key("road-nobody-farm") };
            voice.say(text_key, &Args::new().text("buyer", name.clone()))
        }
    })
}
