//! What lies in the cold room, lot by lot, the first to expire first: for whoever picks, packs or carries.

use super::Ask;
use crate::conversation::{Button, Desk, Letter, pages, surplus};
use crate::intent::Intent;
use crate::wording::{Args, DateForm};
use scheduler::people::Person;
use scheduler::quantity::Grams;
use scheduler::store;
use scheduler::store::cold_room::{self, Lot};
use std::collections::BTreeMap;

/// Lots on one page.
const PAGE: usize = 12;

/// One page of the list.
///
/// # Errors
/// Whatever the store fails with.
pub async fn show(desk: &mut Desk<'_>, person: &Person, page: usize) -> store::Result<()> {
    let (voice, house, today) = (desk.voice(person), desk.house, desk.today());
    let lots: Vec<Lot> = cold_room::lots(&mut desk.tx).await?;
    let mut lines = vec![voice.say("cold-room-heading", &Args::new())];
    lines.extend(surplus::warmth::lines(desk, &voice).await?);
    if lots.is_empty() {
        lines.push(voice.say("left-nothing", &Args::new()));
        return desk.answer(person, Letter::new(lines.join("\n"))).await;
    }
    let mut sums: BTreeMap<&str, Grams> = BTreeMap::new();
    for lot in &lots {
        *sums.entry(&lot.crop).or_default() += lot.left;
    }
    let sums = sums.into_iter().map(|(crop, sum)| house.amount(crop, sum, &voice));
    lines.push(voice.say("cold-room-sums", &Args::new().list("amounts", sums.collect())));
    lines.push(String::new());
    let page = pages::page(&voice, &lots, (page, PAGE), |page| Intent::Views(Ask::ColdRoom { page }));
    for lot in page.items {
        let args = Args::new()
            .text("amount", house.amount(&lot.crop, lot.left, &voice))
            .date_as("picked", lot.picked_on, DateForm::Short)
            .day("ready", lot.ready_on, today)
            .date_as("until", lot.keeps_until, DateForm::Short);
        lines.push(if lot.keeps_until < today {
            voice.say("cold-room-past", &args)
        } else if lot.ready_on > today {
            voice.say("cold-room-cooling", &args)
        } else {
            voice.say("cold-room-lot", &args)
        });
    }
    lines.push(String::new());
    lines.push(voice.say("cold-chain", &Args::new()));
    lines.extend(page.line);
    let count = Button::new(voice.plain("button-count", &Args::new()), Intent::Surplus(surplus::Ask::Count));
    desk.answer(person, Letter::new(lines.join("\n")).row(page.row).row([count])).await
}
