//! Filling a regular drop: on the day before with what is free then, and once more before the driver leaves, when the market
//! may have brought something back. With nothing to bring it is skipped; where the food bank is closed or full, the next one
//! is asked.

use super::event::{Event, GiftEvent, Skipped, WhySkipped};
use super::{Gift, Regular, answering, proposing};
use crate::clock::{LocalDate, instant_at, wall_time};
use crate::farm::{Farm, stock};
use crate::id::Id;
use crate::quantity::Grams;
use crate::store;
use crate::store::giving::{self, FoodBank};
use crate::store::occurrences;
use crate::store::standing_giving;
use crate::surplus::drop::{self, DropOff, Event as Step};
use crate::surplus::opening::Window;
use crate::surplus::standing::{Call, Fill, State, fill};
use crate::timetable::{Job, Look, Occurrence};
use chrono::Days;

/// Days planned ahead each morning: a fortnight without the program is made up for.
const AHEAD_DAYS: u64 = 15;

/// Plans the coming dates of every regular drop; what is planned already stays.
///
/// # Errors
/// Whatever the store fails with.
pub async fn plan_all(farm: &mut Farm<'_>) -> store::Result<()> {
    for regular in super::regular::running(farm).await? {
        plan(farm, &regular).await?;
    }
    Ok(())
}

/// Plans the coming dates of one that is agreed.
pub(super) async fn plan(farm: &mut Farm<'_>, regular: &Regular) -> store::Result<()> {
    if regular.drop.state() != State::Agreed {
        return Ok(());
    }
    let (zone, today, now, rules) = (farm.zone(), farm.today(), farm.now, &farm.rules.giving);
    let (one, bank) = (&regular.drop, &regular.bank);
    let last = today.checked_add_days(Days::new(AHEAD_DAYS)).unwrap_or(today);
    let dates = regular.recurrence(zone).and_then(|dates| dates.dates_between(today, last).ok());
    for date in dates.unwrap_or_default() {
        let opens_at = instant_at(date, wall_time(one.opens_minute), zone);
        let eve = instant_at(date.pred_opt().unwrap_or(date), rules.fills, zone);
        let leaving = opens_at.plus_minutes(-(bank.travel_minutes + rules.spare_minutes));
        for (look, due_at) in [(Look::DayBefore, eve.min(leaving)), (Look::BeforeLeaving, leaving)] {
            let filling = Occurrence {
                job: Job::DropFill { standing: one.id, date, look },
                // Agreed after its time: at once.
                due_at: due_at.max(now),
                useful_until: opens_at.max(now),
            };
            if opens_at > now {
                occurrences::plan(farm.tx, &filling).await?;
            }
        }
    }
    Ok(())
}

/// Looks at a date of a regular drop.
///
/// # Errors
/// Whatever the store fails with.
pub async fn due(farm: &mut Farm<'_>, id: Id, (date, look): (LocalDate, Look)) -> store::Result<Vec<Event>> {
    let Some(one) = standing_giving::by_id(farm.tx, id).await? else { return Ok(Vec::new()) };
    let Some(bank) = giving::food_bank(farm.tx, one.partner_id).await? else { return Ok(Vec::new()) };
    let regular = Regular { drop: one, bank };
    let dates = regular.recurrence(farm.zone()).and_then(|dates| dates.dates_between(date, date).ok());
    if regular.drop.state() != State::Agreed || dates.is_none_or(|dates| dates.is_empty()) {
        return Ok(Vec::new());
    }
    let zone = farm.zone();
    let filled = giving::drops(farm.tx).await?.into_iter();
    let filled =
        filled.rev().find(|drop| drop.standing_id == Some(id) && drop.window.opens_at.local_date(zone) == date);
    match (filled, regular.call_on(farm.calendar, date), look) {
        (Some(drop), _, Look::BeforeLeaving) if drop.state() == drop::State::Agreed => {
            more(farm, Gift { drop, bank: regular.bank }, date).await
        }
        (Some(_), ..) => Ok(Vec::new()),
        (None, Call::Bring(window), look) => first(farm, &regular, (window, date), look).await,
        (None, Call::Closed, Look::DayBefore) => pass_on(farm, regular.bank, (date, WhySkipped::Closed)).await,
        (None, Call::Full, Look::DayBefore) => pass_on(farm, regular.bank, (date, WhySkipped::Full)).await,
        (None, Call::Closed | Call::Full, Look::BeforeLeaving) => Ok(Vec::new()),
    }
}

/// What is free, is ready and keeps until `date`, the first to expire first.
async fn free_for(farm: &mut Farm<'_>, date: LocalDate) -> store::Result<Vec<(String, Grams)>> {
    let stock = stock::now(farm).await?;
    let wanted: Vec<(String, Grams)> =
        farm.crops.keys().into_iter().map(|crop| (crop.clone(), stock.free_of(&crop))).collect();
    let mut parts = proposing::free_parts(farm, &wanted).await?;
    parts.retain(|part| part.ready_on <= date && part.keeps_until >= date);
    parts.sort_by_key(|part| part.keeps_until);
    Ok(parts.into_iter().map(|part| (part.crop, part.grams)).collect())
}

fn filled(bank: &FoodBank, free: &[(String, Grams)], already: Grams) -> Fill {
    fill(free, already, (bank.least, bank.greatest), |crop| bank.takes(crop))
}

/// Nothing is in it yet.
async fn first(
    farm: &mut Farm<'_>,
    regular: &Regular,
    (window, date): (Window, LocalDate),
    look: Look,
) -> store::Result<Vec<Event>> {
    let free = free_for(farm, date).await?;
    let why = match (filled(&regular.bank, &free, Grams::ZERO), look) {
        (Fill::Bring(lines), _) => return bring(farm, regular, window, lines).await,
        // The market may bring something back.
        (_, Look::DayBefore) => return Ok(Vec::new()),
        (Fill::Nothing, Look::BeforeLeaving) => WhySkipped::NothingFree,
        (Fill::TooLittle { free }, Look::BeforeLeaving) => WhySkipped::TooLittleFree(free),
    };
    Ok(vec![Event::Skipped(Skipped { bank: regular.bank.clone(), date, why })])
}

async fn bring(
    farm: &mut Farm<'_>,
    regular: &Regular,
    window: Window,
    lines: Vec<(String, Grams)>,
) -> store::Result<Vec<Event>> {
    let mut drop = DropOff::proposed(farm.new_id(), regular.bank.id, window, farm.now);
    drop.standing_id = Some(regular.drop.id);
    // The food bank agreed to every date at once.
    let agreed = drop::apply(&drop, Step::Agree, farm.now);
    let Ok(drop) = agreed.and_then(|drop| drop::apply(&drop, Step::Add(lines), farm.now)) else {
        return Ok(Vec::new());
    };
    giving::put_drop(farm.tx, &drop).await?;
    let gift = Gift { drop, bank: regular.bank.clone() };
    answering::plan_reminders(farm, &gift).await?;
    Ok(vec![Event::of(&gift, GiftEvent::Filled)])
}

/// Before leaving: what has become free since goes along.
async fn more(farm: &mut Farm<'_>, gift: Gift, date: LocalDate) -> store::Result<Vec<Event>> {
    let free = free_for(farm, date).await?;
    let Fill::Bring(lines) = filled(&gift.bank, &free, gift.drop.weight()) else { return Ok(Vec::new()) };
    let Ok(drop) = drop::apply(&gift.drop, Step::Add(lines), farm.now) else { return Ok(Vec::new()) };
    giving::put_drop(farm.tx, &drop).await?;
    Ok(vec![Event::of(&Gift { drop, ..gift }, GiftEvent::MoreGoes)])
}

/// Closed or full on this date: what would have been brought is proposed to the next.
async fn pass_on(
    farm: &mut Farm<'_>,
    bank: FoodBank,
    (date, why): (LocalDate, WhySkipped),
) -> store::Result<Vec<Event>> {
    let free = free_for(farm, date).await?;
    let fill = filled(&bank, &free, Grams::ZERO);
    let mut events = vec![Event::Skipped(Skipped { bank, date, why })];
    if let Fill::Bring(lines) = fill {
        events.extend(proposing::propose(farm, lines, None).await?);
    }
    Ok(events)
}
