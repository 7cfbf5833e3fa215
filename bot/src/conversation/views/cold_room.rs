//! What lies in the cold room, lot by lot, the first to expire first: for whoever picks, packs or carries.

use super::Ask;
use crate::conversation::{Button, Desk, Letter, surplus};
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
    let sums = sums.into_iter().map(|(crop, sum)| house.crops.amount(crop, sum, &voice));
    lines.push(voice.say("cold-room-sums", &Args::new().list("amounts", sums.collect())));
    lines.push(String::new());
    let pages = lots.len().div_ceil(PAGE);
    let page = page.min(pages - 1);
    for lot in lots.iter().skip(page * PAGE).take(PAGE) {
        let args = Args::new()
            .text("amount", house.crops.amount(&lot.crop, lot.left, &voice))
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
    let mut letter = Letter::new("");
    if pages > 1 {
        let args = Args::new().text("page", (page + 1).to_string()).text("pages", pages.to_string());
        lines.push(voice.say("shelves-page", &args));
        let turn = |label: String, page| Button::new(label, Intent::Views(Ask::ColdRoom { page }));
        let earlier = page.checked_sub(1).map(|page| turn(voice.plain("button-earlier-page", &Args::new()), page));
        let later = (page + 1 < pages).then(|| turn(voice.plain("button-later-page", &Args::new()), page + 1));
        letter = letter.row(earlier.into_iter().chain(later));
    }
    letter.html = lines.join("\n");
    desk.answer(person, letter).await
}
