//! What the driver takes along on a drop: the day in their calendar (RFC 5545) and the sheet that is filled in at the door.

use super::super::calendar;
use super::super::letter::{File, FileKind};
use super::super::{Desk, Letter};
use super::stale;
use crate::pictures::DropSheet;
use crate::wording::{Args, Voice};
use icalendar::{Component, Event, EventLike};
use scheduler::farm::giving::{Gift, gift_of};
use scheduler::id::Id;
use scheduler::people::Person;
use scheduler::store;
use scheduler::surplus::drop::State;

/// Both papers of an agreed drop.
pub(super) fn letters(desk: &Desk<'_>, voice: &Voice, gift: &Gift) -> [Letter; 2] {
    let day = gift.drop.window.opens_at.local_date(desk.house.zone());
    let letter = |text: String, name: &str, bytes| {
        Letter::new(text).with_file(File { name: format!("drop-{day}.{name}"), bytes, kind: FileKind::Document })
    };
    let args = || Args::new().text("bank", gift.bank.name.clone()).date("day", day);
    [
        letter(voice.say("drop-calendar", &args()), "ics", event(desk, voice, gift)),
        letter(voice.say("drop-sheet", &args()), "pdf", sheet(desk, voice, gift)),
    ]
}

/// Brings the papers once more; the card they were asked from stays as it is.
pub(super) async fn hand(desk: &mut Desk<'_>, person: &Person, drop_id: Id) -> store::Result<()> {
    let gift = gift_of(&mut desk.farm(), person, drop_id).await?;
    let Some(gift) = gift.filter(|gift| gift.drop.state() == State::Agreed) else { return stale(desk, person).await };
    let voice = desk.voice(person);
    for letter in letters(desk, &voice, &gift) {
        desk.hand(person, letter).await?;
    }
    Ok(())
}

/// One event from opening to closing; a later file of the same drop replaces it.
fn event(desk: &Desk<'_>, voice: &Voice, gift: &Gift) -> Vec<u8> {
    let Gift { drop, bank } = gift;
    let leave_at = drop.window.opens_at.plus_minutes(-bank.travel_minutes);
    let args = super::told(desk.house, voice, gift).time("leave_at", leave_at);
    let lines = [voice.plain("drop-event-text", &args), voice.plain("drop-caution", &Args::new())];
    let mut event = Event::new();
    event
        .uid(&format!("drop-{}@pinset", drop.id))
        .timestamp(desk.now.to_utc())
        .starts(drop.window.opens_at.to_utc())
        .ends(drop.window.closes_at.to_utc())
        .summary(&voice.plain("drop-event", &Args::new().text("bank", bank.name.clone())))
        .location(&bank.address)
        .description(&lines.join("\n"));
    let mut calendar = calendar::empty("Food-bank drops");
    calendar.push(event.done());
    calendar.to_string().into_bytes()
}

fn sheet(desk: &Desk<'_>, voice: &Voice, gift: &Gift) -> Vec<u8> {
    let Gift { drop, bank } = gift;
    let (house, zone) = (desk.house, desk.house.zone());
    let (opens, closes) = (drop.window.opens_at.local(zone), drop.window.closes_at.local(zone));
    let goods = drop.load().into_iter().map(|(crop, grams)| (house.crop_name(&crop, voice), grams)).collect();
    let sheet = DropSheet {
        farm: house.config.farm.name.clone(),
        partner: bank.name.clone(),
        address: bank.address.clone(),
        day: opens.date(),
        window: (opens.time(), closes.time()),
        goods,
    };
    sheet.pdf(house.config.farm.paper, voice)
}
