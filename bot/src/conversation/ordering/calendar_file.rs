//! The standing deliveries of the coming half year as an iCalendar file (RFC 5545). Rule: one all-day event a delivery,
//! as it stands now: pauses, skipped and changed dates and days without delivery are in it already, and the same day has
//! the same UID in every file, so that a newer file replaces an older one.

use super::{Ask, View, button, read_book, refuse, reply};
use crate::conversation::letter::{File, FileKind};
use crate::conversation::{Desk, Letter, calendar};
use crate::house::House;
use crate::wording::{Args, Voice};
use chrono::Days;
use icalendar::{Component, Event, EventLike};
use scheduler::clock::UtcSeconds;
use scheduler::farm::ordering::Book;
use scheduler::farm::ordering::book::{Kept, Origin};
use scheduler::people::Person;
use scheduler::store;
use std::collections::BTreeSet;

/// How far the file reaches.
const FILE_DAYS: u64 = 182;

/// Sends the file.
///
/// # Errors
/// Whatever the store fails with.
pub async fn send(desk: &mut Desk<'_>, person: &Person) -> store::Result<()> {
    let Some(book) = read_book(desk, person).await? else { return Ok(()) };
    let (voice, house) = (desk.voice(person), desk.house);
    let Some(text) = file(house, &voice, &book, desk.now) else {
        return refuse(desk, person, voice.say("standing-file-empty", &Args::new())).await;
    };
    let file = File { name: "deliveries.ics".to_owned(), bytes: text.into_bytes(), kind: FileKind::Document };
    let letter = Letter::new(voice.say("standing-file", &Args::new()))
        .with_file(file)
        .row([button(voice.plain("order-button-standing", &Args::new()), Ask::Show(View::Standing))]);
    reply(desk, person, letter).await
}

/// The file's text; `None` when no standing delivery is coming.
fn file(house: &House, voice: &Voice, book: &Book, now: UtcSeconds) -> Option<String> {
    let last = book.today.checked_add_days(Days::new(FILE_DAYS))?;
    let of_order = |kept: &Kept| kept.calls.range(..=last).map(|(day, _)| *day).collect::<Vec<_>>();
    let days: BTreeSet<_> = book.standing.iter().flat_map(of_order).collect();
    let mut calendar = calendar::empty("Standing deliveries");
    for day in days {
        let lines = book.on(day, &house.crops).into_iter().filter(|line| line.origin != Origin::Once);
        let amounts: Vec<String> = lines.map(|line| house.amount(&line.crop, line.grams, voice)).collect();
        if amounts.is_empty() {
            continue;
        }
        let args = Args::new().text("farm", house.config.farm.name.clone()).list("amounts", amounts);
        let mut event = Event::new();
        event
            .uid(&format!("delivery-{day}-{}@pinset", book.buyer_id))
            .timestamp(now.to_utc())
            .starts(day)
            .summary(&voice.plain("standing-file-event", &args));
        if let Some(closes_at) = house.calendar.cutoff_for(day) {
            event.description(&voice.plain("order-closes", &Args::new().day_time("until", closes_at)));
        }
        calendar.push(event.done());
    }
    (!calendar.components.is_empty()).then(|| calendar.to_string())
}
