//! The coming drops as a table, for whoever drives or plans the week.

use super::super::letter::{File, FileKind};
use super::super::{Desk, Letter, table};
use crate::wording::{Args, key};
use scheduler::people::Person;
use scheduler::store;
use scheduler::store::giving;
use scheduler::surplus::drop::State;

/// Brings the table; the list it was asked from stays as it is.
pub(super) async fn send(desk: &mut Desk<'_>, person: &Person) -> store::Result<()> {
    let (voice, house) = (desk.voice(person), desk.house);
    let heading = [
        key("given-column-day"),
        key("drops-column-from"),
        key("drops-column-until"),
        key("given-column-bank"),
        key("drops-column-address"),
        key("given-column-crop"),
        key("drops-column-grams"),
        key("drops-column-agreed"),
    ];
    let mut rows = vec![heading.map(|text_key| voice.plain(text_key, &Args::new())).to_vec()];
    for drop in giving::coming_drops(&mut desk.tx).await? {
        let Some(bank) = giving::food_bank(&mut desk.tx, drop.partner_id).await? else { continue };
        let (opens, closes) = (drop.window.opens_at.local(house.zone()), drop.window.closes_at.local(house.zone()));
        let agreed = if drop.state() == State::Agreed { key("button-yes") } else { key("button-no") };
        for line in &drop.lines {
            rows.push(vec![
                opens.date().to_string(),
                opens.format("%H:%M").to_string(),
                closes.format("%H:%M").to_string(),
                bank.name.clone(),
                bank.address.clone(),
                house.crop_name(&line.crop, &voice),
                line.grams.get().to_string(),
                voice.plain(agreed, &Args::new()),
            ]);
        }
    }
    let file = File { name: format!("drops-{}.csv", desk.today()), bytes: table::csv(rows), kind: FileKind::Document };
    desk.hand(person, Letter::new(voice.say("drops-file", &Args::new())).with_file(file)).await
}
