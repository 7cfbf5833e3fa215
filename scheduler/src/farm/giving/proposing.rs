//! Proposing a drop: to the best food bank first, and what it cannot take to the next.

use super::event::{Event, GiftEvent};
use super::{Gift, Outcome, gift_of};
use crate::clock::{LocalDate, UtcSeconds, instant_at};
use crate::farm::{Crops, Farm, stock};
use crate::id::Id;
use crate::people::Person;
use crate::planted::{self, Bug};
use crate::quantity::Grams;
use crate::store::giving::{self, FoodBank};
use crate::store::occurrences;
use crate::store::{self, cold_room, people};
use crate::surplus::drop::{DropOff, Line, State};
use crate::surplus::opening::Window;
use crate::surplus::partners::{self, Candidate, LeftOut, Load, Partner};
use crate::timetable::{Job, Occurrence};

/// The least time a food bank has to answer before the driver must leave. Common practice, no source.
pub const ANSWER_MINUTES_LEAST: i64 = 120;
/// An answer that did not come is worth noticing however late: a year.
const SILENCE_USEFUL_MINUTES: i64 = 365 * 24 * 60;

/// A part of the load: grams of a lot that are free.
pub(super) struct Part {
    pub crop: String,
    pub ready_on: LocalDate,
    pub keeps_until: LocalDate,
    pub grams: Grams,
}

/// What no food bank can take, and why.
#[derive(Clone, Debug)]
pub struct Unplaced {
    pub rest: Vec<(String, Grams)>,
    pub banks: Vec<FoodBank>,
    pub reasons: Vec<(Id, LeftOut)>,
}

/// Gives all that is free of a crop: what that is, and what happened; `None` when nothing is free.
///
/// # Errors
/// Whatever the store fails with.
pub async fn give(farm: &mut Farm<'_>, crop: &str) -> store::Result<Option<(Grams, Vec<Event>)>> {
    let free = stock::now(farm).await?.free_of(crop);
    if !free.is_positive() {
        return Ok(None);
    }
    Ok(Some((free, propose(farm, vec![(crop.to_owned(), free)], None).await?)))
}

/// Proposes the stock of a drop that came to nothing once more.
///
/// # Errors
/// Whatever the store fails with.
pub async fn again(farm: &mut Farm<'_>, person: &Person, drop_id: Id) -> store::Result<Outcome> {
    let Some(gift) = gift_of(farm, person, drop_id).await? else { return Ok(Outcome::Unknown) };
    if gift.drop.state().is_coming() || gift.drop.state() == State::HandedOver {
        return Ok(Outcome::NotNow(gift));
    }
    let events = propose(farm, gift.drop.load(), None).await?;
    Ok(Outcome::Done(gift, events))
}

/// Proposes what is free of `wanted` to food banks: with `chain`, to those not yet asked about this stock.
///
/// # Errors
/// Whatever the store fails with.
pub async fn propose(
    farm: &mut Farm<'_>,
    wanted: Vec<(String, Grams)>,
    chain: Option<Id>,
) -> store::Result<Vec<Event>> {
    let mut parts = free_parts(farm, &wanted).await?;
    let banks = giving::food_banks(farm.tx).await?;
    let mut asked = match chain {
        Some(chain) => giving::asked_in_chain(farm.tx, chain).await?,
        None => Vec::new(),
    };
    let (mut chain, mut events) = (chain, Vec::new());
    let reasons = loop {
        match best(farm, &parts, (&banks, &asked)) {
            Ok((candidate, hand_over_by)) => {
                let bank = banks.iter().find(|bank| bank.id == candidate.partner).expect("ranked from these");
                let mut drop = made(farm, bank, candidate.window);
                drop.chain = chain.unwrap_or(drop.id);
                drop.lines = allot(farm, &mut parts, (bank, candidate.weight, hand_over_by));
                chain = Some(drop.chain);
                asked.push(bank.id);
                events.push(ask(farm, Gift { drop, bank: bank.clone() }).await?);
            }
            Err(reasons) => break reasons,
        }
    };
    let rest = summed(&parts);
    if !rest.is_empty() {
        events.push(Event::NobodyTakes(Unplaced { rest, banks, reasons }));
    }
    Ok(events)
}

/// What is free of `wanted`, lot by lot, first to expire first.
pub(super) async fn free_parts(farm: &mut Farm<'_>, wanted: &[(String, Grams)]) -> store::Result<Vec<Part>> {
    let stock = stock::now(farm).await?;
    let lots = cold_room::lots(farm.tx).await?;
    let mut parts = Vec::new();
    for (crop, grams) in wanted {
        let mut missing = *grams;
        for count in stock::free_lots(&stock, crop, farm.today()) {
            let grams = count.free.at_most(missing);
            let Some(lot) = lots.iter().find(|lot| lot.id == count.lot).filter(|_| grams.is_positive()) else {
                continue;
            };
            missing -= grams;
            parts.push(Part { crop: crop.clone(), ready_on: lot.ready_on, keeps_until: lot.keeps_until, grams });
        }
    }
    Ok(parts)
}

fn summed(parts: &[Part]) -> Vec<(String, Grams)> {
    let mut sums: Vec<(String, Grams)> = Vec::new();
    for part in parts.iter().filter(|part| part.grams.is_positive()) {
        match sums.iter_mut().find(|(crop, _)| *crop == part.crop) {
            Some((_, sum)) => *sum += part.grams,
            None => sums.push((part.crop.clone(), part.grams)),
        }
    }
    sums
}

/// The food banks as the ranking sees them.
pub fn partners_of(crops: &Crops, banks: &[FoodBank]) -> Vec<Partner> {
    let crops = crops.keys();
    banks.iter().map(|bank| bank.as_partner(&crops)).collect()
}

/// The best food bank for as much as can be brought while it keeps, and until when; why nobody can otherwise.
fn best(
    farm: &Farm<'_>,
    parts: &[Part],
    (banks, asked): (&[FoodBank], &[Id]),
) -> Result<(Candidate, UtcSeconds), Vec<(Id, LeftOut)>> {
    let zone = farm.zone();
    let partners = partners_of(farm.crops, banks);
    let mut days: Vec<LocalDate> =
        parts.iter().filter(|part| part.grams.is_positive()).map(|part| part.keeps_until).collect();
    days.sort_unstable();
    days.dedup();
    let mut reasons = Vec::new();
    // With an earlier last day more lots can go, so that day is tried first.
    for day in days {
        let going: Vec<&Part> =
            parts.iter().filter(|part| part.keeps_until >= day && part.grams.is_positive()).collect();
        let ready = going.iter().map(|part| instant_at(part.ready_on, chrono::NaiveTime::MIN, zone)).max();
        let earliest = farm.now.plus_minutes(ANSWER_MINUTES_LEAST);
        let hand_over_by = stock::end_of(day, zone);
        let load = Load {
            lots: going.iter().map(|part| (part.crop.clone(), part.grams)).collect(),
            ready_at: ready.map_or(earliest, |ready| ready.max(earliest)),
            hand_over_by,
            needs_cold_store: true,
            already_asked: asked.to_vec(),
        };
        let ranking = partners::rank(&load, &partners, zone);
        if let Some(candidate) = ranking.candidates.first() {
            return Ok((*candidate, hand_over_by));
        }
        reasons = ranking.left_out;
    }
    Err(reasons)
}

/// Takes up to `weight` of what the food bank accepts off the parts that keep until then, first to expire first.
fn allot(
    farm: &Farm<'_>,
    parts: &mut [Part],
    (bank, weight, hand_over_by): (&FoodBank, Grams, UtcSeconds),
) -> Vec<Line> {
    let zone = farm.zone();
    let mut missing = weight;
    let mut lines: Vec<Line> = Vec::new();
    let mut in_turn: Vec<&mut Part> = parts.iter_mut().collect();
    in_turn.sort_by_key(|part| part.keeps_until);
    for part in in_turn {
        if !bank.takes(&part.crop) || stock::end_of(part.keeps_until, zone) < hand_over_by {
            continue;
        }
        let grams = part.grams.at_most(missing);
        if !grams.is_positive() {
            continue;
        }
        part.grams -= grams;
        missing -= grams;
        match lines.iter_mut().find(|line| line.crop == part.crop) {
            Some(line) => line.grams += grams,
            None => lines.push(Line { crop: part.crop.clone(), grams, handed: None }),
        }
    }
    lines
}

/// A proposal to be answered before the driver has to leave, but not before anybody could read it.
fn made(farm: &Farm<'_>, bank: &FoodBank, window: Window) -> DropOff {
    let early_minutes = if planted::is_on(Bug::DropBeforeOpening) { -60 } else { 0 };
    let window = Window { opens_at: window.opens_at.plus_minutes(early_minutes), ..window };
    let rules = &farm.rules.giving;
    let leaving = window.opens_at.plus_minutes(-(bank.travel_minutes + rules.spare_minutes));
    let mut drop = DropOff::proposed(farm.new_id(), bank.id, window, farm.now);
    drop.answer_by = farm.now.plus_minutes(rules.answer_hours * 60).min(leaving).max(farm.now.plus_minutes(30));
    drop
}

/// Stores a proposal, and plans what happens when nobody answers.
async fn ask(farm: &mut Farm<'_>, gift: Gift) -> store::Result<Event> {
    let drop = &gift.drop;
    giving::put_drop(farm.tx, drop).await?;
    let useful_until = drop.answer_by.plus_minutes(SILENCE_USEFUL_MINUTES);
    let silence = Occurrence { job: Job::DropAnswerEnd(drop.id), due_at: drop.answer_by, useful_until };
    occurrences::plan(farm.tx, &silence).await?;
    let has_contact = !people::contacts_of_partner(farm.tx, gift.bank.id).await?.is_empty();
    Ok(Event::of(&gift, GiftEvent::Proposed { has_contact }))
}
