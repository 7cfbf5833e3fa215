//! The packing list to print and to take into a spreadsheet: the same lines as the card, from which lot each comes.

use crate::conversation::letter::{File, FileKind};
use crate::conversation::{Desk, Letter, table};
use crate::house::House;
use crate::pictures::{Crate, CrateLine, PackingSheet};
use crate::wording::{Args, DateForm, Voice, key};
use scheduler::clock::LocalDate;
use scheduler::farm::packing::PackingList;
use scheduler::people::Person;
use scheduler::store;
use scheduler::store::deliveries;
use serde::{Deserialize, Serialize};

/// As what the list is wanted.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Form {
    /// A PDF to print.
    Sheet,
    /// CSV.
    Table,
}

/// Brings the list of a day as a file; the card it was asked from stays as it is.
pub(super) async fn send(desk: &mut Desk<'_>, person: &Person, (day, form): (LocalDate, Form)) -> store::Result<()> {
    let Some(closed) = deliveries::on(&mut desk.tx, day).await? else { return super::no_run(desk, person).await };
    let facts = PackingList::load(&mut desk.farm(), closed).await?;
    let (house, voice) = (desk.house, desk.voice(person));
    let args = Args::new().date("day", day);
    let (caption, bytes, extension) = match form {
        Form::Sheet => {
            let paper = house.config.farm.paper;
            (voice.say("packing-sheet-file", &args), sheet(&facts, house, &voice).pdf(paper, &voice), "pdf")
        }
        Form::Table => (voice.say("packing-file", &args), table(&facts, house, &voice), "csv"),
    };
    let file = File { name: format!("packing-{day}.{extension}"), bytes, kind: FileKind::Document };
    desk.hand(person, Letter::new(caption).with_file(file)).await
}

fn sheet(facts: &PackingList, house: &House, voice: &Voice) -> PackingSheet {
    let draws = facts.draws();
    let crates = facts.names.iter().map(|(buyer, name)| {
        let mut lines: Vec<CrateLine> = Vec::new();
        for draw in draws.iter().filter(|draw| draw.award.buyer_id == *buyer) {
            let crop = house.crop_name(&draw.award.crop, voice);
            let lot = draw.lot.map(|lot| voice.date(lot.picked_on, DateForm::Short));
            // A standing and a one-off order are weighed into the crate together.
            match lines.iter_mut().find(|line| line.crop == crop && line.lot == lot) {
                Some(line) => line.weight += draw.grams,
                None => lines.push(CrateLine { crop, weight: draw.grams, lot }),
            }
        }
        Crate { buyer: name.clone(), note: None, lines }
    });
    // Who has everything already needs no crate.
    let crates = crates.filter(|packed| !packed.lines.is_empty());
    PackingSheet { farm: house.config.farm.name.clone(), day: facts.closed.day, crates: crates.collect() }
}

/// Restaurant, crop, weight in grams, and the day the lot was picked.
fn table(facts: &PackingList, house: &House, voice: &Voice) -> Vec<u8> {
    let heading = [
        key("packing-column-buyer"),
        key("packing-column-crop"),
        key("packing-column-grams"),
        key("packing-column-lot"),
    ];
    let mut rows = vec![heading.map(|text_key| voice.plain(text_key, &Args::new())).to_vec()];
    rows.extend(facts.draws().into_iter().map(|draw| {
        let buyer = facts.names.get(&draw.award.buyer_id).cloned().unwrap_or_default();
        let lot = draw.lot.map(|lot| lot.picked_on.to_string()).unwrap_or_default();
        vec![buyer, house.crop_name(&draw.award.crop, voice), draw.grams.get().to_string(), lot]
    }));
    table::csv(rows)
}
