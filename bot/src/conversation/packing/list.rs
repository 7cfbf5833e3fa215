//! The packing list: who gets what from which lot, as a message.

use super::files::Form;
use super::{Ask, Stage, run};
use crate::conversation::letter::Patience;
use crate::conversation::{Button, Desk, Letter, cutoff};
use crate::house::House;
use crate::intent::Intent;
use crate::wording::{Args, DateForm, Voice};
use scheduler::clock::LocalDate;
use scheduler::farm::Event;
use scheduler::farm::packing::{self, AllPacked, PackingList};
use scheduler::farm::{answering, lines, weighing};
use scheduler::id::Id;
use scheduler::people::Person;
use scheduler::quantity::Grams;
use scheduler::store;
use scheduler::store::cold_room::Lot;
use scheduler::store::deliveries::{self, Award, Closed};
use std::collections::BTreeMap;

/// Restaurants in one message: the service takes 4096 characters.
const BUYERS_MAX: usize = 25;
/// Restaurants or lines to choose from: the service takes 100 buttons.
const CHOICES_MAX: usize = 90;

/// "5 lb shiitake and 2 lb oyster" of a restaurant.
pub(super) fn amounts_of(facts: &PackingList, buyer_id: Id, (house, voice): (&House, &Voice)) -> Vec<String> {
    facts.amounts_of(buyer_id).into_iter().map(|(crop, weight)| house.amount(&crop, weight, voice)).collect()
}

pub(in crate::conversation) fn card(day: LocalDate) -> String {
    format!("packing-{day}")
}

/// The morning's job: silent buyers are settled, the weighed stock is shared, the list goes to the family.
///
/// # Errors
/// Whatever the store fails with.
pub async fn morning(desk: &mut Desk<'_>) -> store::Result<()> {
    cutoff::close_due(desk).await?;
    let day = desk.today();
    let Some(closed) = deliveries::on(&mut desk.tx, day).await? else { return Ok(()) };
    if closed.packed_at.is_some() || closed.delivered_at.is_some() {
        return Ok(());
    }
    let mut events = answering::settle_silent(&mut desk.farm(), &closed).await?;
    events.extend(weighing::share_first(&mut desk.farm(), &closed).await?);
    desk.happened(events);
    tell(desk, closed).await
}

/// Sends the list to the family, if there is anything to pack.
pub(super) async fn tell(desk: &mut Desk<'_>, closed: Closed) -> store::Result<()> {
    let facts = PackingList::load(&mut desk.farm(), closed).await?;
    if !facts.awards.is_empty() {
        desk.happened([Event::PackingList(Box::new(facts))]);
    }
    Ok(())
}

/// One message of the list as the family is sent it.
pub fn told(house: &House, voice: &Voice, (facts, part): (&PackingList, usize)) -> Letter {
    let departs_at = house.calendar.departure(facts.closed.day);
    write(facts, part, house, voice).at_end().patient(Patience::Cannot).useful_until(departs_at)
}

/// Shows the list of the delivery that is packed or carried now.
pub(super) async fn show(desk: &mut Desk<'_>, person: &Person) -> store::Result<()> {
    match show_again(desk, person).await? {
        Some(_) => Ok(()),
        None => super::no_run(desk, person).await,
    }
}

/// Shows the list as it stands now; `None`, and nothing shown, when nothing is packed or carried.
pub(super) async fn show_again(desk: &mut Desk<'_>, person: &Person) -> store::Result<Option<PackingList>> {
    let Some(closed) = lines::current(&mut desk.farm()).await? else { return Ok(None) };
    let facts = PackingList::load(&mut desk.farm(), closed).await?;
    let voice = desk.voice(person);
    for part in 0..parts(&facts) {
        let letter = write(&facts, part, desk.house, &voice).at_end();
        desk.answer(person, letter).await?;
    }
    Ok(Some(facts))
}

/// Everything is packed as listed: the run can begin.
pub(super) async fn packed(desk: &mut Desk<'_>, person: &Person, day: LocalDate) -> store::Result<()> {
    let args = Args::new().date("day", day);
    let facts = match packing::all_packed(&mut desk.farm(), day).await? {
        AllPacked::NoDelivery => return super::no_run(desk, person).await,
        AllPacked::Already => {
            let text = desk.voice(person).say("packing-packed-already", &args);
            return desk.answer(person, Letter::new(text)).await;
        }
        AllPacked::TooEarly => {
            let text = desk.voice(person).say("run-not-yet", &args);
            return desk.answer(person, Letter::new(text)).await;
        }
        AllPacked::Done(list) => list,
    };
    let args = args.text("name", person.name.clone());
    let house = desk.house;
    let last = parts(&facts) - 1;
    let packed = |voice: &Voice| {
        let list = write(&facts, last, house, voice).html;
        Letter::new(format!("{list}\n\n{}", voice.say("packing-packed", &args)))
    };
    let letter = packed(&desk.voice(person));
    desk.answer(person, letter).await?;
    desk.settle_card(&card(day), packed).await?;
    run::send(desk, facts.closed).await
}

/// Asks whose weights differ.
pub(super) async fn other_weights(
    desk: &mut Desk<'_>,
    person: &Person,
    (day, stage): (LocalDate, Stage),
) -> store::Result<()> {
    let is_open = |closed: &Closed| match stage {
        Stage::Packed => is_unpacked(closed) && closed.delivered_at.is_none(),
        Stage::Delivered => true,
    };
    let Some(closed) = deliveries::on(&mut desk.tx, day).await?.filter(is_open) else {
        let text = desk.voice(person).say("packing-packed-already", &Args::new().date("day", day));
        return desk.answer(person, Letter::new(text)).await;
    };
    let facts = PackingList::load_choices(&mut desk.farm(), closed).await?;
    let voice = desk.voice(person);
    let mut letter = Letter::new(voice.say("packing-whose", &Args::new()));
    for (buyer, name) in facts.names.iter().take(CHOICES_MAX) {
        let ask = Ask::OtherWeightsOf { day, buyer: *buyer, stage };
        letter = letter.row([Button::new(name.clone(), Intent::Packing(ask))]);
    }
    letter = letter.row([back((day, stage), &voice)]);
    desk.answer(person, letter).await
}

/// Asks which line of a restaurant differs; asks for the weight at once where there is one line.
pub(super) async fn other_weights_of(
    desk: &mut Desk<'_>,
    person: &Person,
    (day, buyer, stage): (LocalDate, Id, Stage),
) -> store::Result<()> {
    let Some(closed) = deliveries::on(&mut desk.tx, day).await? else { return super::no_run(desk, person).await };
    let facts = PackingList::load_choices(&mut desk.farm(), closed).await?;
    let theirs: Vec<&Award> = facts.awards.iter().filter(|award| award.buyer_id == buyer).collect();
    if let [only] = theirs[..] {
        return super::weight::ask(desk, person, (only.id, stage)).await;
    }
    let voice = desk.voice(person);
    let name = facts.names.get(&buyer).cloned().unwrap_or_default();
    let mut letter = Letter::new(voice.say("packing-which", &Args::new().text("buyer", name)));
    for award in theirs.into_iter().take(CHOICES_MAX) {
        let label = desk.house.amount(&award.crop, award.delivered.unwrap_or(award.promised), &voice);
        letter = letter.row([Button::new(label, Intent::Packing(Ask::OtherWeight { award: award.id, stage }))]);
    }
    letter = letter.row([back((day, stage), &voice)]);
    desk.answer(person, letter).await
}

/// Whether nobody has said yet that the crates are packed.
pub(super) fn is_unpacked(closed: &Closed) -> bool {
    closed.packed_at.is_none() || closed.is_packing_assumed
}

fn back((day, stage): (LocalDate, Stage), voice: &Voice) -> Button {
    let ask = match stage {
        Stage::Packed => Ask::List,
        Stage::Delivered => Ask::RunOf { day },
    };
    Button::new(voice.plain("button-back-to-list", &Args::new()), Intent::Packing(ask))
}

/// How many messages the list takes.
pub fn parts(facts: &PackingList) -> usize {
    facts.names.len().div_ceil(BUYERS_MAX).max(1)
}

/// One message of the list.
pub(in crate::conversation) fn write(facts: &PackingList, part: usize, house: &House, voice: &Voice) -> Letter {
    let day = facts.closed.day;
    let mut lines = Vec::new();
    if part == 0 {
        lines.push(voice.say("packing-heading", &Args::new().date("day", day)));
    }
    for (buyer, name) in facts.names.iter().skip(part * BUYERS_MAX).take(BUYERS_MAX) {
        let amounts = amounts_of(facts, *buyer, (house, voice));
        lines.push(voice.say("packing-row", &Args::new().text("buyer", name.clone()).list("amounts", amounts)));
    }
    if part + 1 < parts(facts) {
        return Letter::new(lines.join("\n"));
    }
    lines.push(String::new());
    lines.extend(totals(facts, house, voice));
    lines.push(voice.say("cold-chain", &Args::new()));
    if facts.closed.is_packing_assumed {
        lines.push(voice.say("packing-assumed", &Args::new()));
    }
    let file = |form, label: &str| Button::new(label, Intent::Packing(Ask::File { day, form }));
    let print = file(Form::Sheet, &voice.plain("button-print", &Args::new()));
    let table = file(Form::Table, &voice.plain("button-table", &Args::new()));
    let mut letter = Letter::new(lines.join("\n")).on_card(card(day));
    if is_unpacked(&facts.closed) {
        let label = voice.plain("button-all-packed", &Args::new());
        letter = letter.row([Button::new(label, Intent::Packing(Ask::Packed { day }))]);
        let label = voice.plain("button-other-weights", &Args::new());
        letter = letter.row([Button::new(label, Intent::Packing(Ask::OtherWeights { day, stage: Stage::Packed }))]);
    }
    letter.row([print, table])
}

/// Each crop's sum, and the lots it comes from in the order they are emptied.
fn totals(facts: &PackingList, house: &House, voice: &Voice) -> Vec<String> {
    let mut by_crop: BTreeMap<&str, Vec<(Option<&Lot>, Grams)>> = BTreeMap::new();
    for draw in facts.draws() {
        let of_crop = by_crop.entry(&draw.award.crop).or_default();
        match of_crop.iter_mut().find(|(lot, _)| lot.map(|lot| lot.id) == draw.lot.map(|lot| lot.id)) {
            Some((_, grams)) => *grams += draw.grams,
            None => of_crop.push((draw.lot, draw.grams)),
        }
    }
    let mut lines = Vec::new();
    for (crop, lots) in by_crop {
        let total: Grams = lots.iter().map(|(_, grams)| *grams).sum();
        lines.push(voice.say("packing-total", &Args::new().text("amount", house.amount(crop, total, voice))));
        for (lot, grams) in lots {
            let args = Args::new().weight("weight", grams);
            lines.push(match lot {
                Some(lot) => voice.say("packing-lot", &args.date_as("picked", lot.picked_on, DateForm::Short)),
                None => voice.say("packing-no-lot", &args),
            });
        }
    }
    lines
}
