//! Proposing a drop: to the best food bank first, what it cannot take to the next, and a word to the keepers either way.

use super::super::audience::Audience;
use super::super::surplus::stock;
use super::super::{Desk, Letter};
use super::{Ask, button, found, told};
use crate::conversation::letter::Patience;
use crate::house::House;
use crate::wording::{Args, Voice, key};
use scheduler::clock::{LocalDate, UtcSeconds, instant_at};
use scheduler::id::Id;
use scheduler::people::Person;
use scheduler::planted::{self, Bug};
use scheduler::quantity::Grams;
use scheduler::store::giving::{self, FoodBank};
use scheduler::store::occurrences::{self, Planned};
use scheduler::store::{self, cold_room, people};
use scheduler::surplus::drop::{DropOff, Line, State};
use scheduler::surplus::opening::Window;
use scheduler::surplus::partners::{self, Candidate, LeftOut, Load, Partner};

/// The least time a food bank has to answer before the driver must leave. Common practice, no source.
pub const ANSWER_MINUTES_LEAST: i64 = 120;

/// A part of the load: grams of a lot that are free.
pub(super) struct Part {
    pub crop: String,
    pub ready_on: LocalDate,
    pub keeps_until: LocalDate,
    pub grams: Grams,
}

/// What no food bank can take, and why.
struct Unplaced {
    rest: Vec<(String, Grams)>,
    banks: Vec<FoodBank>,
    reasons: Vec<(Id, LeftOut)>,
}

/// The keeper gives all that is free of a crop.
pub(super) async fn give(desk: &mut Desk<'_>, person: &Person, crop: &str) -> store::Result<()> {
    let voice = desk.voice(person);
    let free = stock::now(desk).await?.free_of(crop);
    if !free.is_positive() {
        let args = Args::new().text("crop", desk.house.crop_name(crop, &voice)).weight("free", free);
        return desk.answer(person, Letter::new(voice.say("surplus-more-than-free", &args))).await;
    }
    let args = Args::new().text("what", desk.house.amount(crop, free, &voice));
    desk.answer(person, Letter::new(voice.say("drop-looking", &args))).await?;
    propose(desk, vec![(crop.to_owned(), free)], None).await
}

/// The keeper proposes the stock of a drop that came to nothing once more.
pub(super) async fn again(desk: &mut Desk<'_>, person: &Person, drop_id: Id) -> store::Result<()> {
    let Some((drop, _)) = found(desk, person, drop_id).await? else { return Ok(()) };
    if drop.state().is_coming() || drop.state() == State::HandedOver {
        return super::stale(desk, person).await;
    }
    let voice = desk.voice(person);
    let what = super::super::surplus::amounts(desk.house, &voice, &drop.load());
    desk.answer(person, Letter::new(voice.say("drop-looking", &Args::new().list("what", what)))).await?;
    propose(desk, drop.load(), None).await
}

/// Proposes what is free of `wanted` to food banks: with `chain`, to those not yet asked about this stock.
///
/// # Errors
/// Whatever the store fails with.
pub async fn propose(desk: &mut Desk<'_>, wanted: Vec<(String, Grams)>, chain: Option<Id>) -> store::Result<()> {
    let mut parts = free_parts(desk, &wanted).await?;
    let banks = giving::food_banks(&mut desk.tx).await?;
    let mut asked = match chain {
        Some(chain) => giving::asked_in_chain(&mut desk.tx, chain).await?,
        None => Vec::new(),
    };
    let mut chain = chain;
    let reasons = loop {
        match best(desk, &parts, (&banks, &asked)) {
            Ok((candidate, hand_over_by)) => {
                let bank = banks.iter().find(|bank| bank.id == candidate.partner).expect("ranked from these");
                let lines = allot(desk, &mut parts, (bank, candidate.weight, hand_over_by));
                let drop = made(desk, (bank, candidate.window, chain), lines);
                chain = Some(drop.chain);
                asked.push(bank.id);
                ask(desk, &drop, bank).await?;
            }
            Err(reasons) => break reasons,
        }
    };
    let rest = summed(&parts);
    if rest.is_empty() {
        return Ok(());
    }
    tell_nobody(desk, &Unplaced { rest, banks, reasons }).await
}

/// What is free of `wanted`, lot by lot, first to expire first.
pub(super) async fn free_parts(desk: &mut Desk<'_>, wanted: &[(String, Grams)]) -> store::Result<Vec<Part>> {
    let stock = stock::now(desk).await?;
    let lots = cold_room::lots(&mut desk.tx).await?;
    let mut parts = Vec::new();
    for (crop, grams) in wanted {
        let mut missing = *grams;
        for count in stock::free_lots(&stock, crop, desk.today()) {
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
pub fn partners_of(house: &House, banks: &[FoodBank]) -> Vec<Partner> {
    let crops = house.crops.keys();
    banks.iter().map(|bank| bank.as_partner(&crops)).collect()
}

/// The best food bank for as much as can be brought while it keeps, and until when; why nobody can otherwise.
fn best(
    desk: &Desk<'_>,
    parts: &[Part],
    (banks, asked): (&[FoodBank], &[Id]),
) -> Result<(Candidate, UtcSeconds), Vec<(Id, LeftOut)>> {
    let zone = desk.house.zone();
    let partners = partners_of(desk.house, banks);
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
        let earliest = desk.now.plus_minutes(ANSWER_MINUTES_LEAST);
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
    desk: &Desk<'_>,
    parts: &mut [Part],
    (bank, weight, hand_over_by): (&FoodBank, Grams, UtcSeconds),
) -> Vec<Line> {
    let zone = desk.house.zone();
    let mut missing = weight;
    let mut lines: Vec<Line> = Vec::new();
    let mut in_turn: Vec<&mut Part> = parts.iter_mut().collect();
    in_turn.sort_by_key(|part| part.keeps_until);
    for part in in_turn {
        let is_accepted = bank.crops.is_empty() || bank.crops.contains(&part.crop);
        if !is_accepted || stock::end_of(part.keeps_until, zone) < hand_over_by {
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

fn made(desk: &Desk<'_>, (bank, window, chain): (&FoodBank, Window, Option<Id>), lines: Vec<Line>) -> DropOff {
    let early_minutes = if planted::is_on(Bug::DropBeforeOpening) { -60 } else { 0 };
    let window = Window { opens_at: window.opens_at.plus_minutes(early_minutes), ..window };
    let config = &desk.house.config.rules.giving;
    let leaving = window.opens_at.plus_minutes(-(bank.travel_minutes + config.spare_minutes));
    let mut drop = DropOff::proposed(desk.new_id(), bank.id, window, desk.now);
    drop.chain = chain.unwrap_or(drop.id);
    // Before the driver has to leave, but not before anybody could read it.
    drop.answer_by = desk.now.plus_minutes(config.answer_hours * 60).min(leaving).max(desk.now.plus_minutes(30));
    drop.lines = lines;
    drop
}

/// Stores a proposal and asks the food bank's contacts.
async fn ask(desk: &mut Desk<'_>, drop: &DropOff, bank: &FoodBank) -> store::Result<()> {
    let house = desk.house;
    giving::put_drop(&mut desk.tx, drop).await?;
    let planned = Planned {
        key: format!("drop_answer_end {}", drop.id),
        job: "drop_answer_end".to_owned(),
        subject: Some(drop.id),
        due_at: drop.answer_by,
        useful_until: drop.answer_by.plus_minutes(365 * 24 * 60),
    };
    occurrences::plan(&mut desk.tx, &planned).await?;
    let until = Patience::Until(drop.answer_by);
    desk.tell_partner(bank.id, |voice| gift_card(house, voice, (drop, bank)).patient(until)).await?;
    let has_contact = !people::contacts_of_partner(&mut desk.tx, bank.id).await?.is_empty();
    let text_key = if has_contact { key("drop-asked") } else { key("drop-call-them") };
    desk.tell_family(Audience::Keepers, |voice| {
        let args = told(house, voice, (drop, bank)).day_time("answer_by", drop.answer_by);
        Letter::new(voice.say(text_key, &args))
            .on_card(format!("keep-{}", drop.id))
            .row([button(voice, key("button-agreed-by-phone"), Ask::Agree { drop: drop.id })])
            .row([button(voice, key("button-call-off"), Ask::CallOff { drop: drop.id })])
    })
    .await
}

/// The food bank's card of a proposal.
pub(super) fn gift_card(house: &crate::house::House, voice: &Voice, (drop, bank): (&DropOff, &FoodBank)) -> Letter {
    let args = told(house, voice, (drop, bank)).text("farm", house.config.farm.name.clone());
    let lines = [
        voice.say("gift-proposed", &args.day_time("answer_by", drop.answer_by)),
        voice.say("gift-caution", &Args::new()),
    ];
    Letter::new(lines.join("\n\n"))
        .on_card(format!("gift-{}", drop.id))
        .row([button(voice, key("button-agree"), Ask::Agree { drop: drop.id })])
        .row([
            button(voice, key("button-other-time"), Ask::OtherTimes { drop: drop.id }),
            button(voice, key("button-not-this-time"), Ask::Decline { drop: drop.id }),
        ])
}

/// Nobody can take it: the keepers are told why, food bank by food bank, and what else can be done.
async fn tell_nobody(desk: &mut Desk<'_>, unplaced: &Unplaced) -> store::Result<()> {
    let Unplaced { rest, banks, reasons } = unplaced;
    let house = desk.house;
    desk.tell_family(Audience::Keepers, |voice| {
        let what = super::super::surplus::amounts(house, voice, rest);
        let mut lines = vec![voice.say("drop-nobody", &Args::new().list("what", what))];
        if banks.is_empty() {
            lines.push(voice.say("banks-none", &Args::new()));
        }
        lines.extend(reasons.iter().filter_map(|(id, why)| {
            let bank = banks.iter().find(|bank| bank.id == *id)?;
            let args = Args::new().text("bank", bank.name.clone());
            Some(match why {
                LeftOut::AlreadyAsked => voice.say("left-out-asked", &args),
                LeftOut::NoColdStore => voice.say("left-out-warm", &args),
                LeftOut::TakesNoneOfIt => voice.say("left-out-crops", &args),
                LeftOut::TooLittle { least, .. } => voice.say("left-out-too-little", &args.weight("least", *least)),
                LeftOut::ClosedInTime => voice.say("left-out-closed", &args),
                LeftOut::FullInTime => voice.say("left-out-full", &args),
            })
        }));
        Letter::new(lines.join("\n"))
    })
    .await
}
