//! Telling what has happened: each event of the farm to its audience, each reader in their own words.

use super::audience::{self, Audience};
use super::{Desk, Letter, cutoff, giving, ordering, packing, shortfall, surplus};
use crate::wording::{Args, Voice};
use scheduler::farm::Event;
use scheduler::store::{self, people};

/// Tells everything that has happened in this transaction and was not told yet.
///
/// # Errors
/// Whatever the store fails with.
pub async fn tell(desk: &mut Desk<'_>) -> store::Result<()> {
    for event in desk.take_events() {
        for audience in audience::of(&event) {
            Box::pin(tell_one(desk, &event, audience)).await?;
        }
    }
    Ok(())
}

async fn tell_one(desk: &mut Desk<'_>, event: &Event, audience: Audience) -> store::Result<()> {
    let (house, now) = (desk.house, desk.now);
    match event {
        Event::OrdersChanged(changed) => {
            let by = people::by_id(&mut desk.tx, changed.by).await?.map(|person| person.name).unwrap_or_default();
            let write = |voice: &Voice| -> Letter { ordering::told(house, voice, changed, (&by, now)) };
            desk.tell_audience(audience, write).await
        }
        Event::Surplus(event) => surplus::tell(desk, event, audience).await,
        Event::Giving(event) => giving::tell(desk, event, audience).await,
        Event::BuyerDay(day, occasion) => {
            desk.tell_audience(audience, |voice| shortfall::card::told(house, voice, (day, occasion))).await
        }
        Event::DayTable(table) => {
            for part in 0..cutoff::table::parts(table) {
                desk.tell_audience(audience.clone(), |voice| cutoff::table::letter(house, voice, (table, part)))
                    .await?;
            }
            Ok(())
        }
        Event::EarlyWarning(warning) => {
            let today = desk.today();
            desk.tell_audience(audience, |voice| cutoff::warning::letter(house, voice, (warning, today))).await
        }
        Event::OnTheRoad(on_the_road) => {
            let is_theirs = matches!(audience, Audience::Buyer(_));
            desk.tell_audience(audience, |voice| packing::underway::told(voice, (on_the_road, is_theirs))).await
        }
        Event::NothingOrdered { day } => {
            let write = |voice: &Voice| Letter::new(voice.say("cutoff-no-orders", &Args::new().date("day", *day)));
            desk.tell_audience(audience, write).await
        }
        Event::DayCut { before, after } => {
            desk.tell_audience(audience, |voice| packing::cut(house, voice, (before, after))).await
        }
        Event::PackingList(list) => {
            for part in 0..packing::list::parts(list) {
                desk.tell_audience(audience.clone(), |voice| packing::list::told(house, voice, (list, part))).await?;
            }
            Ok(())
        }
        Event::PackingAssumed(list) => match audience {
            Audience::Card(_) => {
                let last = packing::list::parts(list) - 1;
                desk.tell_audience(audience, |voice| packing::list::write(list, last, house, voice)).await
            }
            _ => desk.tell_audience(audience, |voice| packing::run::left(house, voice, list)).await,
        },
        Event::RunUnsaid { list, counts_at, unsaid } => {
            let write = |voice: &Voice| packing::run::unsaid(house, voice, (list, *counts_at, *unsaid));
            desk.tell_audience(audience, write).await
        }
        Event::RunAssumed { list, missing } => {
            desk.tell_audience(audience, |voice| packing::run::assumed(house, voice, (list, missing))).await
        }
        Event::PickingDue { day, crops } => {
            desk.tell_audience(audience, |voice| packing::eve::letter(house, voice, (*day, crops))).await
        }
    }
}
