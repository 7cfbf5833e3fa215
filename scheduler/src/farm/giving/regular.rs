//! Regular drops: proposed to a food bank once, agreed once, ended by either side. What each of its dates comes to is in
//! [`super::filling`].

use super::event::{By, Event, RegularEvent};
use super::{Gift, Outcome, Regular, answering, filling, is_theirs};
use crate::clock::{LocalDate, UtcSeconds, instant_at, wall_time};
use crate::delivery::calendar::{Calendar, Exception};
use crate::farm::Farm;
use crate::id::Id;
use crate::orders::recurrence::{Recurrence, Rhythm};
use crate::people::{Person, Role};
use crate::store;
use crate::store::giving::{self, FoodBank};
use crate::store::standing_giving;
use crate::surplus::drop::DropOff;
use crate::surplus::opening::Hours;
use crate::surplus::standing::{self, Call, Event as Step, StandingDrop, call};
use chrono::{Datelike, Days, Weekday};
use chrono_tz::Tz;

/// How far the next date is looked for: a year and a day.
const AHEAD_DAYS: u64 = 366;

/// A regular drop as asked for.
#[derive(Clone, Debug)]
pub struct Wanted {
    pub bank: Id,
    pub every_weeks: u16,
    pub weekdays: Vec<Weekday>,
    /// Minutes of the local day; without one, when it opens.
    pub minute: Option<u16>,
}

/// The regular drops that run or are proposed, the oldest first.
///
/// # Errors
/// Whatever the store fails with.
pub async fn running(farm: &mut Farm<'_>) -> store::Result<Vec<Regular>> {
    let banks = giving::food_banks(farm.tx).await?;
    let running = standing_giving::running(farm.tx).await?.into_iter();
    let with_bank = |drop: StandingDrop| {
        let bank = banks.iter().find(|bank| bank.id == drop.partner_id)?.clone();
        Some(Regular { drop, bank })
    };
    Ok(running.filter_map(with_bank).collect())
}

/// The regular drop of a food bank that runs or is proposed.
///
/// # Errors
/// Whatever the store fails with.
pub async fn of_bank(farm: &mut Farm<'_>, bank_id: Id) -> store::Result<Option<Regular>> {
    Ok(running(farm).await?.into_iter().find(|regular| regular.bank.id == bank_id))
}

impl Regular {
    /// Its dates as a recurrence. A stored text that is malformed is logged, and has no date.
    pub fn recurrence(&self, zone: Tz) -> Option<Recurrence> {
        match Recurrence::parse(&self.drop.recurrence, zone) {
            Ok(recurrence) => Some(recurrence),
            Err(error) => {
                tracing::error!(standing_drop = self.drop.id.get(), %error, "regular drop left out");
                None
            }
        }
    }

    /// The next date on which it is brought.
    pub fn next_date(&self, calendar: &Calendar, now: UtcSeconds) -> Option<LocalDate> {
        let today = now.local_date(calendar.zone);
        let last = today.checked_add_days(Days::new(AHEAD_DAYS))?;
        let dates = self.recurrence(calendar.zone)?.dates_between(today, last).ok()?;
        dates.into_iter().find(|date| match self.call_on(calendar, *date) {
            Call::Bring(window) => window.opens_at > now,
            Call::Closed | Call::Full => false,
        })
    }

    /// What a date of it comes to.
    pub fn call_on(&self, calendar: &Calendar, date: LocalDate) -> Call {
        let is_farm_closed = calendar.dates.exceptions.get(&date) == Some(&Exception::NoDelivery);
        let (hours, full) = (self.bank.hours(), &self.bank.full);
        call((date, self.drop.opens_minute), (&hours, full), is_farm_closed, calendar.zone)
    }
}

/// A regular drop as it would be kept, and whether the food bank is open then on all its weekdays; `None` where nothing of
/// that kind recurs.
pub fn made(farm: &Farm<'_>, wanted: &Wanted, bank: &FoodBank) -> Option<(Regular, bool)> {
    let (zone, today) = (farm.zone(), farm.today());
    let usual = usual_hours(bank);
    let is_wanted = |day: &LocalDate| wanted.weekdays.contains(&day.weekday());
    let first = today.iter_days().take(14).find(is_wanted)?;
    let minute = wanted.minute.or_else(|| usual.on(first).first().map(|span| span.opens()))?;
    // Today, if there is still time to bring something.
    let from = if instant_at(today, wall_time(minute), zone) > farm.now { today } else { today.succ_opt()? };
    let rhythm = Rhythm { every_weeks: wanted.every_weeks, weekdays: wanted.weekdays.clone(), from, until: None };
    let recurrence = Recurrence::of(&rhythm, zone).ok()?;
    let mut week = from.iter_days().take(7).filter(is_wanted);
    let is_always_open = week.all(|day| call((day, minute), (&usual, &[]), false, zone) != Call::Closed);
    let mut drop = StandingDrop::proposed(farm.new_id(), bank.id, farm.now);
    drop.recurrence = recurrence.text().to_owned();
    drop.opens_minute = minute;
    Some((Regular { drop, bank: bank.clone() }, is_always_open))
}

/// Its hours without exceptions.
fn usual_hours(bank: &FoodBank) -> Hours {
    FoodBank { closed: Vec::new(), ..bank.clone() }.hours()
}

/// What came of the wish for a regular drop.
#[derive(Clone, Debug)]
pub enum Proposal {
    UnknownBank,
    /// There is one already.
    Running(Regular),
    /// Fresh mushrooms need a cold store, and it has none.
    NoColdStore(FoodBank),
    /// Nothing of that kind recurs.
    NoDates(FoodBank),
    /// The food bank is not open then.
    NotOpen(Regular),
    Done(Regular, Vec<Event>),
}

/// Who said what about which regular drop.
struct Said<'p> {
    person: &'p Person,
    id: Id,
    step: Step,
}

/// The regular drop after a step, not stored yet; `None` where the step comes too late or the drop is not this person's to
/// speak of.
async fn after(farm: &mut Farm<'_>, said: Said<'_>) -> store::Result<Option<Regular>> {
    let one = standing_giving::by_id(farm.tx, said.id).await?;
    let one = one.filter(|one| is_theirs(said.person, one.partner_id));
    let Some(drop) = one.and_then(|one| standing::apply(&one, said.step, farm.now).ok()) else { return Ok(None) };
    let bank = giving::food_bank(farm.tx, drop.partner_id).await?;
    Ok(bank.map(|bank| Regular { drop, bank }))
}

async fn store_step(
    farm: &mut Farm<'_>,
    said: Said<'_>,
    what: RegularEvent,
) -> store::Result<Option<(Regular, Event)>> {
    let by = By::from(said.person);
    let Some(regular) = after(farm, said).await? else { return Ok(None) };
    standing_giving::put(farm.tx, &regular.drop).await?;
    let event = Event::Regular(Box::new(regular.clone()), what, by);
    Ok(Some((regular, event)))
}

/// The food bank agrees, or the keeper says that it did; its coming dates are planned.
///
/// # Errors
/// Whatever the store fails with.
pub async fn agree(farm: &mut Farm<'_>, person: &Person, id: Id) -> store::Result<Option<(Regular, Event)>> {
    let agreed = store_step(farm, Said { person, id, step: Step::Agree }, RegularEvent::Agreed).await?;
    if let Some((regular, _)) = &agreed {
        filling::plan(farm, regular).await?;
    }
    Ok(agreed)
}

/// The food bank does not want it.
///
/// # Errors
/// Whatever the store fails with.
pub async fn decline(farm: &mut Farm<'_>, person: &Person, id: Id) -> store::Result<Option<(Regular, Event)>> {
    store_step(farm, Said { person, id, step: Step::Decline }, RegularEvent::Declined).await
}

/// The regular drop that somebody may end; `None` when it is over already or not theirs to end.
///
/// # Errors
/// Whatever the store fails with.
pub async fn to_stop(farm: &mut Farm<'_>, person: &Person, id: Id) -> store::Result<Option<Regular>> {
    after(farm, Said { person, id, step: Step::Stop }).await
}

/// Either side ends it. A drop that is agreed already stays.
///
/// # Errors
/// Whatever the store fails with.
pub async fn stop(farm: &mut Farm<'_>, person: &Person, id: Id) -> store::Result<Option<(Regular, Event)>> {
    store_step(farm, Said { person, id, step: Step::Stop }, RegularEvent::Stopped).await
}

/// Proposes one to the food bank.
///
/// # Errors
/// Whatever the store fails with.
pub async fn propose(farm: &mut Farm<'_>, person: &Person, wanted: &Wanted) -> store::Result<Proposal> {
    let Some(bank) = giving::food_bank(farm.tx, wanted.bank).await? else { return Ok(Proposal::UnknownBank) };
    if let Some(running) = of_bank(farm, bank.id).await? {
        return Ok(Proposal::Running(running));
    }
    if !bank.has_cold_store {
        return Ok(Proposal::NoColdStore(bank));
    }
    let Some((regular, is_always_open)) = made(farm, wanted, &bank) else { return Ok(Proposal::NoDates(bank)) };
    if !is_always_open {
        return Ok(Proposal::NotOpen(regular));
    }
    standing_giving::put(farm.tx, &regular.drop).await?;
    let event = Event::Regular(Box::new(regular.clone()), RegularEvent::Proposed, By::from(person));
    Ok(Proposal::Done(regular, vec![event]))
}

/// A date that was left out, or put back.
#[derive(Clone, Debug)]
pub struct DateSet {
    pub regular: Regular,
    /// Drops filled for the date, called off by the family.
    pub called_off: Vec<Gift>,
    pub events: Vec<Event>,
}

/// Leaves a date out, or puts it back. A drop that was filled for it already is declined by the food bank or called off by
/// the family. `None` where that cannot be said any more.
///
/// # Errors
/// Whatever the store fails with.
pub async fn set_date(
    farm: &mut Farm<'_>,
    person: &Person,
    (id, day, is_on): (Id, LocalDate, bool),
) -> store::Result<Option<DateSet>> {
    let zone = farm.zone();
    let stored = standing_giving::by_id(farm.tx, id).await?.filter(|_| day >= farm.today());
    let changed = stored
        .and_then(|one| Recurrence::parse(&one.recurrence, zone).ok())
        .and_then(|dates| if is_on { dates.with_again(day).ok()? } else { dates.without(day).ok()? });
    let Some(changed) = changed else { return Ok(None) };
    let step = Step::SetDates(changed.text().to_owned());
    let what = RegularEvent::DateSet { day, is_on };
    let set = store_step(farm, Said { person, id, step }, what).await?;
    let Some((regular, event)) = set else { return Ok(None) };
    let mut set = DateSet { regular, called_off: Vec::new(), events: vec![event] };
    if is_on {
        filling::plan(farm, &set.regular).await?;
        return Ok(Some(set));
    }
    let is_filled = |drop: &DropOff| drop.standing_id == Some(id) && drop.window.opens_at.local_date(zone) == day;
    if person.role == Role::Pantry {
        set.events.extend(answering::decline_all(farm, is_filled).await?);
        return Ok(Some(set));
    }
    for drop in giving::coming_drops(farm.tx).await?.into_iter().filter(is_filled) {
        if let Outcome::Done(gift, events) = answering::call_off(farm, person, drop.id).await? {
            set.called_off.push(gift);
            set.events.extend(events);
        }
    }
    Ok(Some(set))
}
