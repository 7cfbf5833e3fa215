//! A pick: from the shelf into the cold room, one lot a line; all lines or none. Taken back by a correcting entry on both
//! sides, so that the record and the cold room always balance.

use super::choosing::{self, Wanted};
use super::shelf::{self, Shelf};
use super::{Ask, Waiting, button, close_question, refuse, shelves, shelves_button};
use crate::conversation::{Desk, Letter};
use crate::intent::{Waiting as Question, unclear};
use crate::phrase::{self, LINE_LEAST, LINE_MOST};
use crate::wording::{Args, Voice};
use scheduler::clock::LocalDate;
use scheduler::farm::{batches, picking};
use scheduler::harvest::batch::Fault;
use scheduler::id::Id;
use scheduler::people::Person;
use scheduler::quantity::{Amount, Grams, UnitSystem, WeightUnit, grams_from};
use scheduler::store;
use serde::{Deserialize, Serialize};

/// One line of a pick.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct PickLine {
    pub crop: String,
    pub grams: Grams,
    /// Where it was picked, once that is known.
    pub batch: Option<Id>,
}

/// What was picked on one day.
#[derive(Clone, Debug)]
pub struct Pick {
    pub lines: Vec<PickLine>,
    pub day: Option<LocalDate>,
    /// An unlikely weight was confirmed.
    pub sure: bool,
}

/// Asks which batch is picked; the only one is taken.
///
/// # Errors
/// Whatever the store fails with.
pub async fn pick_where(desk: &mut Desk<'_>, person: &Person) -> store::Result<()> {
    let voice = desk.voice(person);
    let wanted = Wanted {
        crop: None,
        batch: None,
        question: voice.say("pick-where", &Args::new()),
        none_fits: voice.say("none-to-pick", &Args::new()),
        fits: &Shelf::is_fruiting,
        ask: &|batch| Ask::PickWeight { batch },
    };
    match choosing::choose(desk, person, wanted).await? {
        Some(shelf) => how_much(desk, person, shelf.batch.id).await,
        None => Ok(()),
    }
}

/// Asks for the weight.
///
/// # Errors
/// Whatever the store fails with.
pub async fn how_much(desk: &mut Desk<'_>, person: &Person, batch: Id) -> store::Result<()> {
    let Some(shelf) = choosing::named(desk, person, batch, None).await? else { return Ok(()) };
    let voice = desk.voice(person);
    if let Some(html) = not_begun(desk, &voice, &shelf) {
        return refuse(desk, person, html).await;
    }
    desk.ask(person, &Question::Growing(Waiting::PickWeight { batch })).await?;
    let unit = match person.units {
        UnitSystem::Metric => WeightUnit::Kilogram,
        UnitSystem::Avoirdupois => WeightUnit::Pound,
    };
    let offered = [1, 2, 4, 8].into_iter().filter_map(|number| {
        let grams = grams_from(Amount { numerator: number, denominator: 1 }, unit)?;
        let lines = vec![(shelf.batch.crop.clone(), grams)];
        Some(button(voice.weight(grams), Ask::Picked { lines, batch: Some(batch), day: None, sure: false }))
    });
    let args = Args::new().text("batch", shelf::name(desk.house, &voice, &shelf));
    let letter = Letter::new(voice.say("pick-how-much", &args)).row(offered);
    desk.answer(person, letter.row([shelves_button(&voice)])).await
}

/// Writes a pick down.
///
/// # Errors
/// Whatever the store fails with.
pub async fn pick(desk: &mut Desk<'_>, person: &Person, mut pick: Pick) -> store::Result<()> {
    if pick.lines.is_empty() {
        return pick_where(desk, person).await;
    }
    let today = desk.today();
    let day = pick.day.unwrap_or(today);
    let mut from: Vec<Shelf> = Vec::new();
    for at in 0..pick.lines.len() {
        let Some(mut shelf) = batch_of_line(desk, person, &pick, at).await? else { return Ok(()) };
        let grams = pick.lines[at].grams;
        if let Some(html) = fault(desk, person, &shelf, (grams, day)) {
            return refuse(desk, person, html).await;
        }
        if !pick.sure && is_unlikely(&shelf, grams, day) {
            return ask_if_sure(desk, person, &shelf, pick, grams).await;
        }
        pick.lines[at].batch = Some(shelf.batch.id);
        shelf.flush.picked.push((day, grams));
        from.push(shelf);
    }
    close_question(desk, person).await?;
    record(desk, person, (&pick, day), &from).await
}

/// The batch of one line, with what earlier lines took from the same flush counted in.
async fn batch_of_line(desk: &mut Desk<'_>, person: &Person, pick: &Pick, at: usize) -> store::Result<Option<Shelf>> {
    let voice = desk.voice(person);
    let house = desk.house;
    let line = &pick.lines[at];
    let day = pick.day.unwrap_or(desk.today());
    let amount = house.amount(&line.crop, line.grams, &voice);
    let fits = |shelf: &Shelf| shelf.is_fruiting() && shelf.flush.initiated_on.is_some_and(|since| since <= day);
    let ask = |batch: Id| {
        let mut lines = pick.lines.clone();
        lines[at].batch = Some(batch);
        Ask::PickLines { lines, day: pick.day, sure: pick.sure }
    };
    let wanted = Wanted {
        crop: Some(&line.crop),
        batch: line.batch,
        question: voice.say("pick-which-batch", &Args::new().text("amount", amount)),
        none_fits: voice.say("none-to-pick", &Args::new()),
        fits: &fits,
        ask: &ask,
    };
    let Some(mut shelf) = choosing::choose(desk, person, wanted).await? else { return Ok(None) };
    let earlier = pick.lines[..at].iter().filter(|earlier| earlier.batch == Some(shelf.batch.id));
    shelf.flush.picked.extend(earlier.map(|earlier| (day, earlier.grams)));
    Ok(Some(shelf))
}

fn not_begun(desk: &Desk<'_>, voice: &Voice, shelf: &Shelf) -> Option<String> {
    if shelf.is_fruiting() {
        return None;
    }
    let args = Args::new().text("batch", shelf::name(desk.house, voice, shelf));
    Some(match (&shelf.before, desk.house.crops.is_bagged(&shelf.batch.crop)) {
        (Some(_), _) => voice.say("already-resting", &args),
        (None, true) => voice.say("not-opened", &args),
        (None, false) => voice.say("not-soaked", &args),
    })
}

/// Why this pick cannot be written down, HTML.
fn fault(desk: &Desk<'_>, person: &Person, shelf: &Shelf, (grams, day): (Grams, LocalDate)) -> Option<String> {
    let voice = desk.voice(person);
    if grams < LINE_LEAST {
        return Some(voice.say("pick-too-little", &Args::new().weight("least", LINE_LEAST)));
    }
    if grams > LINE_MOST {
        return Some(unclear::say(desk, &voice, &phrase::Question::TooMuch { limit: LINE_MOST }));
    }
    let Some(crop) = desk.house.crops.get(&shelf.batch.crop) else {
        let question = phrase::Question::UnknownCrop { word: shelf.batch.crop.clone() };
        return Some(unclear::say(desk, &voice, &question));
    };
    let today = desk.today();
    let found = not_begun(desk, &voice, shelf);
    if found.is_some() {
        return found;
    }
    let args = Args::new().text("batch", shelf::name(desk.house, &voice, shelf));
    match shelf.facts(crop.key).fault_in_pick(day, grams, today)? {
        Fault::PickInFuture { picked_on, .. } => Some(voice.say("day-to-come", &args.day("day", picked_on, today))),
        Fault::PickBeforeStart { picked_on, started_on } => {
            let args = args.day("day", picked_on, today).day("since", started_on, today);
            let is_bagged = desk.house.crops.is_bagged(&shelf.batch.crop);
            Some(if is_bagged { voice.say("before-opened", &args) } else { voice.say("before-soaked", &args) })
        }
        Fault::TooHeavy { total, limit } => {
            Some(voice.say("pick-too-heavy", &args.weight("total", total).weight("limit", limit)))
        }
        _ => Some(voice.say("pick-too-little", &Args::new().weight("least", LINE_LEAST))),
    }
}

/// The same weight again on one day may be one pick told twice; more than the dry weight in one flush may be a slip.
fn is_unlikely(shelf: &Shelf, grams: Grams, day: LocalDate) -> bool {
    is_told_twice(shelf, grams, day) || is_heavy(shelf, grams)
}

fn is_told_twice(shelf: &Shelf, grams: Grams, day: LocalDate) -> bool {
    shelf.flush.picked.contains(&(day, grams))
}

fn is_heavy(shelf: &Shelf, grams: Grams) -> bool {
    let dry = shelf.batch.dry_per_unit.checked_times(shelf.batch.units).unwrap_or(Grams::new(i64::MAX));
    shelf.picked() + grams > dry
}

async fn ask_if_sure(
    desk: &mut Desk<'_>,
    person: &Person,
    shelf: &Shelf,
    pick: Pick,
    grams: Grams,
) -> store::Result<()> {
    let voice = desk.voice(person);
    let house = desk.house;
    let args = Args::new()
        .text("batch", shelf::name(house, &voice, shelf))
        .text("amount", house.amount(&shelf.batch.crop, grams, &voice));
    let html = if is_heavy(shelf, grams) {
        voice.say("pick-heavy-question", &args)
    } else {
        voice.say("pick-twice-question", &args)
    };
    let ask = Ask::PickLines { lines: pick.lines, day: pick.day, sure: true };
    let letter = Letter::new(html).row([
        button(voice.plain("button-yes", &Args::new()), ask),
        button(voice.plain("button-no", &Args::new()), Ask::Nothing),
    ]);
    desk.answer(person, letter).await
}

async fn record(
    desk: &mut Desk<'_>,
    person: &Person,
    (pick, day): (&Pick, LocalDate),
    from: &[Shelf],
) -> store::Result<()> {
    let voice = desk.voice(person);
    let (house, today) = (desk.house, desk.today());
    let mut said = Vec::new();
    let mut lots = Vec::new();
    for (line, shelf) in pick.lines.iter().zip(from) {
        let crop = house.crops.get(&line.crop).expect("the crop was found when the line was checked");
        let lot = picking::enter(&mut desk.farm(), person, (shelf, crop), (line.grams, day)).await?;
        lots.push(lot.id);
        let args = Args::new()
            .text("amount", house.amount(&line.crop, line.grams, &voice))
            .text("batch", shelf::name(house, &voice, shelf))
            .day("day", day, today);
        said.push(voice.say("done-picked", &args));
        let args = Args::new().day("ready", lot.ready_on, today).day("until", lot.keeps_until, today);
        said.push(voice.say("done-picked-keeps", &args));
    }
    let undo = Ask::UndoPick { lots };
    if let [shelf] = from {
        return shelves::changed(desk, person, (said.join("\n"), shelf.batch.id), Some(undo)).await;
    }
    for shelf in batches::active(&mut desk.farm()).await? {
        if from.iter().any(|one| one.batch.id == shelf.batch.id) {
            said.extend(shelves::card(desk, &voice, &shelf));
        }
    }
    let letter = Letter::new(said.join("\n")).row([button(voice.plain("button-undo", &Args::new()), undo)]);
    desk.answer(person, letter.row([shelves_button(&voice)])).await
}

/// Takes a pick back while nothing of it has left the cold room.
///
/// # Errors
/// Whatever the store fails with.
pub async fn undo(desk: &mut Desk<'_>, person: &Person, lot_ids: Vec<Id>) -> store::Result<()> {
    let voice = desk.voice(person);
    let Some(lots) = picking::take_back(&mut desk.farm(), person, &lot_ids).await? else {
        return refuse(desk, person, voice.say("pick-undo-late", &Args::new())).await;
    };
    let said = lots.iter().map(|(lot, _)| {
        let amount = desk.house.amount(&lot.crop, lot.picked, &voice);
        voice.say("pick-undone", &Args::new().text("amount", amount))
    });
    let said: Vec<String> = said.collect();
    match lots.as_slice() {
        [(_, batch)] => shelves::changed(desk, person, (said.join("\n"), *batch), None).await,
        _ => refuse(desk, person, said.join("\n")).await,
    }
}
