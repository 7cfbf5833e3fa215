//! The packing list: who gets what from which lot, as a message.

use super::files::Form;
use super::lots::{Draw, plan};
use super::{Ask, Stage, current, live_awards, run, weighed};
use crate::conversation::audience::Audience;
use crate::conversation::letter::Patience;
use crate::conversation::shortfall::settle;
use crate::conversation::{Button, Desk, Letter, cutoff};
use crate::house::House;
use crate::intent::Intent;
use crate::wording::{Args, DateForm, Voice};
use scheduler::clock::LocalDate;
use scheduler::id::Id;
use scheduler::people::Person;
use scheduler::quantity::Grams;
use scheduler::store::cold_room::{self, Lot};
use scheduler::store::deliveries::{self, Award, Closed, State};
use scheduler::store::{self, people};
use std::collections::BTreeMap;

/// Restaurants in one message: the service takes 4096 characters.
const BUYERS_MAX: usize = 25;
/// Restaurants or lines to choose from: the service takes 100 buttons.
const CHOICES_MAX: usize = 90;

/// What the list is made from.
pub(super) struct Facts {
    pub closed: Closed,
    pub awards: Vec<Award>,
    pub names: BTreeMap<Id, String>,
    lots: Vec<Lot>,
}

impl Facts {
    pub(super) async fn load(desk: &mut Desk<'_>, closed: Closed) -> store::Result<Facts> {
        let awards = live_awards(desk, closed.day).await?;
        Facts::of(desk, closed, awards).await
    }

    /// Every line that could have a weight, so that one entered as nothing can be corrected.
    async fn load_choices(desk: &mut Desk<'_>, closed: Closed) -> store::Result<Facts> {
        let awards = deliveries::awards_on(&mut desk.tx, closed.day).await?.into_iter();
        let is_choice = |award: &Award| {
            award.promised.is_positive() || matches!(award.state, State::Full | State::Taken | State::Silent)
        };
        Facts::of(desk, closed, awards.filter(is_choice).collect()).await
    }

    async fn of(desk: &mut Desk<'_>, closed: Closed, awards: Vec<Award>) -> store::Result<Facts> {
        let mut names = BTreeMap::new();
        for award in &awards {
            if let Some(buyer) = people::buyer_by_id(&mut desk.tx, award.buyer_id).await? {
                names.insert(buyer.id, buyer.name);
            }
        }
        Ok(Facts { awards, names, lots: cold_room::lots(&mut desk.tx).await?, closed })
    }

    /// From which lot each line is filled.
    pub(super) fn draws(&self) -> Vec<Draw<'_>> {
        plan(&self.awards, &self.lots, self.closed.day)
    }

    /// "5 lb shiitake and 2 lb oyster" of a restaurant, one weight a crop: delivered weights where they are known.
    pub(super) fn amounts_of(&self, buyer_id: Id, house: &House, voice: &Voice) -> Vec<String> {
        let mut of_crop: BTreeMap<&str, Grams> = BTreeMap::new();
        for line in self.awards.iter().filter(|award| award.buyer_id == buyer_id) {
            *of_crop.entry(&line.crop).or_default() += line.delivered.unwrap_or(line.promised);
        }
        of_crop.into_iter().map(|(crop, weight)| house.amount(crop, weight, voice)).collect()
    }
}

fn card(day: LocalDate) -> String {
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
    settle::settle_silent(desk, &closed).await?;
    weighed::share_first(desk, &closed).await?;
    tell(desk, closed).await
}

/// Sends the list to the family, if there is anything to pack.
pub(super) async fn tell(desk: &mut Desk<'_>, closed: Closed) -> store::Result<()> {
    let facts = Facts::load(desk, closed).await?;
    if facts.awards.is_empty() {
        return Ok(());
    }
    let house = desk.house;
    let departs_at = house.calendar.departure(facts.closed.day);
    for part in 0..parts(&facts) {
        desk.tell_family(Audience::Everyone, |voice| {
            write(&facts, part, house, voice).at_end().patient(Patience::Cannot).useful_until(departs_at)
        })
        .await?;
    }
    Ok(())
}

/// Shows the list of the delivery that is packed or carried now.
pub(super) async fn show(desk: &mut Desk<'_>, person: &Person) -> store::Result<()> {
    match show_again(desk, person).await? {
        Some(_) => Ok(()),
        None => super::no_run(desk, person).await,
    }
}

/// Shows the list as it stands now; `None`, and nothing shown, when nothing is packed or carried.
pub(super) async fn show_again(desk: &mut Desk<'_>, person: &Person) -> store::Result<Option<Facts>> {
    let Some(closed) = current(desk).await? else { return Ok(None) };
    let facts = Facts::load(desk, closed).await?;
    let voice = desk.voice(person);
    for part in 0..parts(&facts) {
        let letter = write(&facts, part, desk.house, &voice).at_end();
        desk.answer(person, letter).await?;
    }
    Ok(Some(facts))
}

/// Everything is packed as listed: the run can begin.
pub(super) async fn packed(desk: &mut Desk<'_>, person: &Person, day: LocalDate) -> store::Result<()> {
    let Some(closed) = deliveries::on(&mut desk.tx, day).await? else { return super::no_run(desk, person).await };
    let args = Args::new().date("day", day);
    if closed.packed_at.is_some() || closed.delivered_at.is_some() {
        let text = desk.voice(person).say("packing-packed-already", &args);
        return desk.answer(person, Letter::new(text)).await;
    }
    if day > desk.today() {
        let text = desk.voice(person).say("run-not-yet", &args);
        return desk.answer(person, Letter::new(text)).await;
    }
    deliveries::mark_packed(&mut desk.tx, day, desk.now).await?;
    let args = args.text("name", person.name.clone());
    let house = desk.house;
    let facts = Facts::load(desk, Closed { packed_at: Some(desk.now), ..closed }).await?;
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
        Stage::Packed => closed.packed_at.is_none() && closed.delivered_at.is_none(),
        Stage::Delivered => closed.delivered_at.is_none(),
    };
    let Some(closed) = deliveries::on(&mut desk.tx, day).await?.filter(is_open) else {
        let text = desk.voice(person).say("packing-packed-already", &Args::new().date("day", day));
        return desk.answer(person, Letter::new(text)).await;
    };
    let facts = Facts::load_choices(desk, closed).await?;
    let voice = desk.voice(person);
    let mut letter = Letter::new(voice.say("packing-whose", &Args::new()));
    for (buyer, name) in facts.names.iter().take(CHOICES_MAX) {
        let ask = Ask::OtherWeightsOf { day, buyer: *buyer, stage };
        letter = letter.row([Button::new(name.clone(), Intent::Packing(ask))]);
    }
    letter = letter.row([back(stage, &voice)]);
    desk.answer(person, letter).await
}

/// Asks which line of a restaurant differs; asks for the weight at once where there is one line.
pub(super) async fn other_weights_of(
    desk: &mut Desk<'_>,
    person: &Person,
    (day, buyer, stage): (LocalDate, Id, Stage),
) -> store::Result<()> {
    let Some(closed) = deliveries::on(&mut desk.tx, day).await? else { return super::no_run(desk, person).await };
    let facts = Facts::load_choices(desk, closed).await?;
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
    letter = letter.row([back(stage, &voice)]);
    desk.answer(person, letter).await
}

fn back(stage: Stage, voice: &Voice) -> Button {
    let ask = match stage {
        Stage::Packed => Ask::List,
        Stage::Delivered => Ask::Run,
    };
    Button::new(voice.plain("button-back-to-list", &Args::new()), Intent::Packing(ask))
}

fn parts(facts: &Facts) -> usize {
    facts.names.len().div_ceil(BUYERS_MAX).max(1)
}

fn write(facts: &Facts, part: usize, house: &House, voice: &Voice) -> Letter {
    let day = facts.closed.day;
    let mut lines = Vec::new();
    if part == 0 {
        lines.push(voice.say("packing-heading", &Args::new().date("day", day)));
    }
    for (buyer, name) in facts.names.iter().skip(part * BUYERS_MAX).take(BUYERS_MAX) {
        let amounts = facts.amounts_of(*buyer, house, voice);
        lines.push(voice.say("packing-row", &Args::new().text("buyer", name.clone()).list("amounts", amounts)));
    }
    if part + 1 < parts(facts) {
        return Letter::new(lines.join("\n"));
    }
    lines.push(String::new());
    lines.extend(totals(facts, house, voice));
    lines.push(voice.say("cold-chain", &Args::new()));
    let file = |form, label: &str| Button::new(label, Intent::Packing(Ask::File { day, form }));
    let print = file(Form::Sheet, &voice.plain("button-print", &Args::new()));
    let table = file(Form::Table, &voice.plain("button-table", &Args::new()));
    let mut letter = Letter::new(lines.join("\n")).on_card(card(day));
    if facts.closed.packed_at.is_none() {
        let label = voice.plain("button-all-packed", &Args::new());
        letter = letter.row([Button::new(label, Intent::Packing(Ask::Packed { day }))]);
        let label = voice.plain("button-other-weights", &Args::new());
        letter = letter.row([Button::new(label, Intent::Packing(Ask::OtherWeights { day, stage: Stage::Packed }))]);
    }
    letter.row([print, table])
}

/// Each crop's sum, and the lots it comes from in the order they are emptied.
fn totals(facts: &Facts, house: &House, voice: &Voice) -> Vec<String> {
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
