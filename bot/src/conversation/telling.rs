//! Telling what has happened: each event of the farm to its audience, each reader in their own words.

use super::audience::{self, Audience};
use super::{Desk, Letter, giving, ordering, surplus};
use crate::wording::Voice;
use scheduler::farm::Event;
use scheduler::store::{self, people};

/// Tells everything that has happened in this transaction and was not told yet.
///
/// # Errors
/// Whatever the store fails with.
pub async fn tell(desk: &mut Desk<'_>) -> store::Result<()> {
    for event in desk.take_events() {
        for audience in audience::of(&event) {
            tell_one(desk, &event, audience).await?;
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
    }
}
