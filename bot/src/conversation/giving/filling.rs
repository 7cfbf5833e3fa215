//! Filling a regular drop: on the day before with what is free then, and once more before the driver leaves, when the
//! market may have brought something back. With nothing to bring it is skipped, and both sides hear of it; where the food
//! bank is closed or full, the next one is asked.

use super::super::audience::Audience;
use super::super::surplus::stock;
use super::super::{Desk, Letter};
use super::{Ask, answering, button, proposing, regular, told};
use crate::wording::{Args, Voice, key};
use chrono::Days;
use scheduler::clock::{LocalDate, instant_at};
use scheduler::id::Id;
use scheduler::quantity::Grams;
use scheduler::store;
use scheduler::store::giving::{self, FoodBank};
use scheduler::store::occurrences::{self, Planned};
use scheduler::store::standing_giving;
use scheduler::surplus::drop::{self, DropOff, Event};
use scheduler::surplus::opening::Window;
use scheduler::surplus::standing::{Call, Fill, StandingDrop, State, fill};

/// The job's name.
pub const JOB: &str = "drop_fill";
/// Days planned ahead each morning: a fortnight without the program is made up for.
const AHEAD_DAYS: u64 = 15;

/// The two looks at a date.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Look {
    DayBefore,
    BeforeLeaving,
}

/// Plans the coming dates of every regular drop; what is planned already stays.
///
/// # Errors
/// Whatever the store fails with.
pub async fn plan_all(desk: &mut Desk<'_>) -> store::Result<()> {
    for one in standing_giving::running(&mut desk.tx).await? {
        plan(desk, &one).await?;
    }
    Ok(())
}

/// Plans the coming dates of one.
pub(super) async fn plan(desk: &mut Desk<'_>, one: &StandingDrop) -> store::Result<()> {
    let (house, zone, today) = (desk.house, desk.house.zone(), desk.today());
    let Some(bank) = giving::food_bank(&mut desk.tx, one.partner_id).await? else { return Ok(()) };
    let last = today.checked_add_days(Days::new(AHEAD_DAYS)).unwrap_or(today);
    let dates = regular::recurrence(house, one).and_then(|dates| dates.dates_between(today, last).ok());
    for date in dates.unwrap_or_default().into_iter().filter(|_| one.state() == State::Agreed) {
        let opens_at = instant_at(date, super::hours::wall_time(one.opens_minute), zone);
        let eve = instant_at(date.pred_opt().unwrap_or(date), house.config.rules.giving.fills, zone);
        let leaving = opens_at.plus_minutes(-(bank.travel_minutes + house.config.rules.giving.spare_minutes));
        for (look, due_at) in [("eve", eve.min(leaving)), ("leave", leaving)] {
            let planned = Planned {
                key: format!("{JOB} {} {date} {look}", one.id),
                job: JOB.to_owned(),
                subject: Some(one.id),
                // Agreed after its time: at once.
                due_at: due_at.max(desk.now),
                useful_until: opens_at.max(desk.now),
            };
            if opens_at > desk.now {
                occurrences::plan(&mut desk.tx, &planned).await?;
            }
        }
    }
    Ok(())
}

/// The date and the look that a planned occurrence is about.
fn meant(planned: &Planned) -> Option<(LocalDate, Look)> {
    let mut words = planned.key.split(' ').skip(2);
    let date = words.next()?.parse().ok()?;
    match words.next()? {
        "eve" => Some((date, Look::DayBefore)),
        "leave" => Some((date, Look::BeforeLeaving)),
        _ => None,
    }
}

/// Looks at a date of a regular drop.
///
/// # Errors
/// Whatever the store fails with.
pub(super) async fn due(desk: &mut Desk<'_>, planned: &Planned, id: Id) -> store::Result<()> {
    let (Some((date, look)), Some(one)) = (meant(planned), standing_giving::by_id(&mut desk.tx, id).await?) else {
        return Ok(());
    };
    let Some(bank) = giving::food_bank(&mut desk.tx, one.partner_id).await? else { return Ok(()) };
    let dates = regular::recurrence(desk.house, &one).and_then(|dates| dates.dates_between(date, date).ok());
    if one.state() != State::Agreed || dates.is_none_or(|dates| dates.is_empty()) {
        return Ok(());
    }
    let zone = desk.house.zone();
    let filled = giving::drops(&mut desk.tx).await?.into_iter();
    let filled =
        filled.rev().find(|drop| drop.standing_id == Some(id) && drop.window.opens_at.local_date(zone) == date);
    match (filled, regular::call_on(desk.house, &one, &bank, date), look) {
        (Some(drop), _, Look::BeforeLeaving) if drop.state() == drop::State::Agreed => {
            more(desk, (drop, &bank), date).await
        }
        (Some(_), ..) => Ok(()),
        (None, Call::Bring(window), look) => first(desk, (&one, &bank), (window, date), look).await,
        (None, Call::Closed, Look::DayBefore) => passed_on(desk, &bank, date, key("regular-closed")).await,
        (None, Call::Full, Look::DayBefore) => passed_on(desk, &bank, date, key("regular-full")).await,
        (None, Call::Closed | Call::Full, Look::BeforeLeaving) => Ok(()),
    }
}

/// What is free, is ready and keeps until `date`, the first to expire first.
async fn free_for(desk: &mut Desk<'_>, date: LocalDate) -> store::Result<Vec<(String, Grams)>> {
    let stock = stock::now(desk).await?;
    let crops = desk.house.crops.keys().into_iter();
    let wanted: Vec<(String, Grams)> =
        crops.map(|crop| (stock.free_of(&crop), crop)).map(|(free, crop)| (crop, free)).collect();
    let mut parts = proposing::free_parts(desk, &wanted).await?;
    parts.retain(|part| part.ready_on <= date && part.keeps_until >= date);
    parts.sort_by_key(|part| part.keeps_until);
    Ok(parts.into_iter().map(|part| (part.crop, part.grams)).collect())
}

fn filled(bank: &FoodBank, free: &[(String, Grams)], already: Grams) -> Fill {
    let is_taken = |crop: &str| bank.crops.is_empty() || bank.crops.iter().any(|taken| taken == crop);
    fill(free, already, (bank.least, bank.greatest), is_taken)
}

/// Nothing is in it yet.
async fn first(
    desk: &mut Desk<'_>,
    (one, bank): (&StandingDrop, &FoodBank),
    (window, date): (Window, LocalDate),
    look: Look,
) -> store::Result<()> {
    let free = free_for(desk, date).await?;
    match (filled(bank, &free, Grams::ZERO), look) {
        (Fill::Bring(lines), _) => bring(desk, (one, bank), window, lines).await,
        // The market may bring something back.
        (_, Look::DayBefore) => Ok(()),
        (Fill::Nothing, Look::BeforeLeaving) => skipped(desk, bank, date, None).await,
        (Fill::TooLittle { free }, Look::BeforeLeaving) => skipped(desk, bank, date, Some(free)).await,
    }
}

async fn bring(
    desk: &mut Desk<'_>,
    (one, bank): (&StandingDrop, &FoodBank),
    window: Window,
    lines: Vec<(String, Grams)>,
) -> store::Result<()> {
    let house = desk.house;
    let mut drop = DropOff::proposed(desk.new_id(), bank.id, window, desk.now);
    drop.standing_id = Some(one.id);
    // The food bank agreed to all of them at once.
    let agreed = drop::apply(&drop, Event::Agree, desk.now);
    let Ok(drop) = agreed.and_then(|drop| drop::apply(&drop, Event::Add(lines), desk.now)) else { return Ok(()) };
    giving::put_drop(&mut desk.tx, &drop).await?;
    desk.tell_partner(bank.id, |voice| {
        let args = told(house, voice, (&drop, bank)).text("farm", house.config.farm.name.clone());
        let lines = [voice.say("gift-regular-comes", &args), voice.say("gift-caution", &Args::new())];
        Letter::new(lines.join("\n\n")).on_card(format!("gift-{}", drop.id)).row([button(
            voice,
            key("button-not-this-time"),
            Ask::Decline { drop: drop.id },
        )])
    })
    .await?;
    answering::set_going(desk, (&drop, bank), key("regular-filled")).await
}

/// Before leaving: what has become free since goes along.
async fn more(desk: &mut Desk<'_>, (drop, bank): (DropOff, &FoodBank), date: LocalDate) -> store::Result<()> {
    let free = free_for(desk, date).await?;
    let Fill::Bring(lines) = filled(bank, &free, drop.weight()) else { return Ok(()) };
    let Ok(drop) = drop::apply(&drop, Event::Add(lines), desk.now) else { return Ok(()) };
    giving::put_drop(&mut desk.tx, &drop).await?;
    let house = desk.house;
    let text = |voice: &Voice| voice.say("regular-more", &told(house, voice, (&drop, bank)));
    desk.tell_partner(bank.id, |voice| Letter::new(text(voice))).await?;
    desk.tell_family(Audience::Keepers, |voice| Letter::new(text(voice))).await
}

/// Nothing this time.
async fn skipped(desk: &mut Desk<'_>, bank: &FoodBank, date: LocalDate, free: Option<Grams>) -> store::Result<()> {
    let farm = desk.house.config.farm.name.clone();
    let args = || Args::new().text("bank", bank.name.clone()).date("day", date);
    desk.tell_family(Audience::Everyone, |voice| {
        Letter::new(match free {
            Some(free) => voice.say("regular-too-little", &args().weight("free", free).weight("least", bank.least)),
            None => voice.say("regular-nothing", &args()),
        })
    })
    .await?;
    desk.tell_partner(bank.id, |voice| {
        Letter::new(voice.say("gift-regular-nothing", &args().text("farm", farm.clone())))
    })
    .await
}

/// Closed or full on this date: the family hears of it, and what would have been brought is proposed to the next.
async fn passed_on(desk: &mut Desk<'_>, bank: &FoodBank, date: LocalDate, text_key: &'static str) -> store::Result<()> {
    desk.tell_family(Audience::Everyone, |voice| {
        Letter::new(voice.say(text_key, &Args::new().text("bank", bank.name.clone()).date("day", date)))
    })
    .await?;
    let free = free_for(desk, date).await?;
    match filled(bank, &free, Grams::ZERO) {
        Fill::Bring(lines) => proposing::propose(desk, lines, None).await,
        Fill::Nothing | Fill::TooLittle { .. } => Ok(()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use scheduler::clock::UtcSeconds;

    #[test]
    fn an_occurrence_says_which_date_and_which_look() {
        let planned = |key: &str| Planned {
            key: key.to_owned(),
            job: JOB.to_owned(),
            subject: None,
            due_at: UtcSeconds::new(0),
            useful_until: UtcSeconds::new(0),
        };
        let date = "2026-06-06".parse::<LocalDate>().expect("a date");
        assert_eq!(meant(&planned("drop_fill 77 2026-06-06 eve")), Some((date, Look::DayBefore)));
        assert_eq!(meant(&planned("drop_fill 77 2026-06-06 leave")), Some((date, Look::BeforeLeaving)));
        assert_eq!(meant(&planned("drop_fill 77")), None);
        // Due in one instant, the filling goes before the reminder that tells of it.
        assert!("drop_fill 99" < "drop_leave 11");
    }
}
