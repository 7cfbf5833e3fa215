//! The food bank's answer: agreed, another time, not this time, or silence; and the family's calling off.

use super::event::{By, Event, GiftEvent};
use super::{Gift, Outcome, gift, gift_of, proposing};
use crate::clock::LocalDate;
use crate::farm::{Farm, stock};
use crate::id::Id;
use crate::people::Person;
use crate::quantity::Grams;
use crate::store;
use crate::store::giving;
use crate::store::occurrences;
use crate::surplus::count::Bound;
use crate::surplus::drop::{self, DropOff, Event as Step, Reminding, State};
use crate::surplus::opening::Window;
use crate::surplus::partners::MINUTES_TO_HAND_OVER;
use crate::timetable::{Job, Occurrence};

/// Other times shown at once.
const OTHER_TIMES_MAX: usize = 4;
/// Days looked through for other times: no fresh mushroom keeps longer.
const OTHER_TIMES_DAYS: i64 = 21;
/// Days after its end for which it is still asked what became of a drop.
const ASK_USEFUL_DAYS: i64 = 7;

/// The food bank agrees, or the keeper says that it did.
///
/// # Errors
/// Whatever the store fails with.
pub async fn agree(farm: &mut Farm<'_>, person: &Person, drop_id: Id) -> store::Result<Outcome> {
    step(farm, person, (drop_id, Step::Agree)).await
}

/// The food bank chooses one of the other times. The farm offered only times it can keep, so that settles it; `None` when it
/// cannot keep this one any more.
///
/// # Errors
/// Whatever the store fails with.
pub async fn agree_to(
    farm: &mut Farm<'_>,
    person: &Person,
    (drop_id, window): (Id, Window),
) -> store::Result<Option<Outcome>> {
    if let Some(gift) = gift_of(farm, person, drop_id).await?.filter(|gift| gift.drop.state() == State::Proposed) {
        let windows = other_windows(farm, &gift).await?;
        let is_possible = windows.iter().any(|other| other.closes_at == window.closes_at);
        if !is_possible || window.opens_at <= farm.now {
            return Ok(None);
        }
    }
    step(farm, person, (drop_id, Step::AgreeTo(window))).await.map(Some)
}

/// The food bank takes so much of the one crop that was proposed; the rest is proposed to the next one.
///
/// # Errors
/// Whatever the store fails with.
pub async fn agree_to_part(
    farm: &mut Farm<'_>,
    person: &Person,
    (drop_id, crop, grams): (Id, &str, Grams),
) -> store::Result<Outcome> {
    let Some(gift) = gift_of(farm, person, drop_id).await? else { return Ok(Outcome::Unknown) };
    let there = gift.drop.load().into_iter().find(|(of, _)| of == crop).map_or(Grams::ZERO, |(_, grams)| grams);
    if grams >= there {
        return agree(farm, person, drop_id).await;
    }
    let outcome = step(farm, person, (drop_id, Step::AgreeToPart { crop: crop.to_owned(), grams })).await?;
    let Outcome::Done(gift, mut events) = outcome else { return Ok(outcome) };
    // It said how much it wants: the rest is for others of the same round.
    let rest = vec![(crop.to_owned(), there.less(grams))];
    events.extend(proposing::propose(farm, rest, Some(gift.drop.chain)).await?);
    Ok(Outcome::Done(gift, events))
}

/// The drop that a food bank's contact speaks of: the one it was asked about last, or else the next agreed one.
///
/// # Errors
/// Whatever the store fails with.
pub async fn spoken_of(farm: &mut Farm<'_>, person: &Person, state: State) -> store::Result<Option<Gift>> {
    let coming = giving::coming_drops(farm.tx).await?.into_iter();
    let mut theirs: Vec<DropOff> =
        coming.filter(|drop| Some(drop.partner_id) == person.partner_id && drop.state() == state).collect();
    theirs.sort_by_key(|drop| (drop.proposed_at, drop.id));
    match if state == State::Proposed { theirs.pop() } else { theirs.into_iter().min_by_key(|one| one.window.opens_at) }
    {
        Some(drop) => gift_of(farm, person, drop.id).await,
        None => Ok(None),
    }
}

/// Not this time: the next food bank is asked.
///
/// # Errors
/// Whatever the store fails with.
pub async fn decline(farm: &mut Farm<'_>, person: &Person, drop_id: Id) -> store::Result<Outcome> {
    step(farm, person, (drop_id, Step::Decline)).await
}

/// The family calls a drop off, before or because it could not be brought.
///
/// # Errors
/// Whatever the store fails with.
pub async fn call_off(farm: &mut Farm<'_>, person: &Person, drop_id: Id) -> store::Result<Outcome> {
    step(farm, person, (drop_id, Step::Cancel)).await
}

/// The time to answer is over.
///
/// # Errors
/// Whatever the store fails with.
pub async fn silent(farm: &mut Farm<'_>, drop_id: Id) -> store::Result<Vec<Event>> {
    let Some(gift) = gift(farm, drop_id).await? else { return Ok(Vec::new()) };
    let Ok(drop) = drop::apply(&gift.drop, Step::StaySilent, farm.now) else { return Ok(Vec::new()) };
    giving::put_drop(farm.tx, &drop).await?;
    pass_on(farm, &Gift { drop, ..gift }).await
}

/// A food bank cannot take these coming drops: each goes to the next one.
pub(super) async fn decline_all(farm: &mut Farm<'_>, is_meant: impl Fn(&DropOff) -> bool) -> store::Result<Vec<Event>> {
    let mut events = Vec::new();
    for one in giving::coming_drops(farm.tx).await?.into_iter().filter(is_meant) {
        let Some(bank) = giving::food_bank(farm.tx, one.partner_id).await? else { continue };
        if let Ok(drop) = drop::apply(&one, Step::Decline, farm.now) {
            giving::put_drop(farm.tx, &drop).await?;
            events.extend(pass_on(farm, &Gift { drop, bank }).await?);
        }
    }
    Ok(events)
}

async fn step(farm: &mut Farm<'_>, person: &Person, (drop_id, step): (Id, Step)) -> store::Result<Outcome> {
    let Some(gift) = gift_of(farm, person, drop_id).await? else { return Ok(Outcome::Unknown) };
    let Ok(drop) = drop::apply(&gift.drop, step, farm.now) else { return Ok(Outcome::NotNow(gift)) };
    giving::put_drop(farm.tx, &drop).await?;
    let gift = Gift { drop, ..gift };
    let events = match gift.drop.state() {
        State::Agreed => {
            plan_reminders(farm, &gift).await?;
            vec![Event::of(&gift, GiftEvent::Agreed)]
        }
        State::Declined => pass_on(farm, &gift).await?,
        _ => vec![Event::of(&gift, GiftEvent::CalledOff(By::from(person)))],
    };
    Ok(Outcome::Done(gift, events))
}

/// The stock of a drop that came to nothing is proposed to the next food bank.
async fn pass_on(farm: &mut Farm<'_>, gift: &Gift) -> store::Result<Vec<Event>> {
    let mut events = vec![Event::of(gift, GiftEvent::PassedOn)];
    events.extend(proposing::propose(farm, gift.drop.load(), Some(gift.drop.chain)).await?);
    Ok(events)
}

/// Plans the reminders of an agreed drop.
pub(super) async fn plan_reminders(farm: &mut Farm<'_>, gift: &Gift) -> store::Result<()> {
    let (one, rules) = (&gift.drop, &farm.rules.giving);
    let how = Reminding {
        evening: rules.evening,
        minutes_to_get_there: gift.bank.travel_minutes,
        margin_minutes: rules.spare_minutes,
    };
    let at = drop::reminders(one.window, how, farm.now, farm.zone());
    for (job, due_at, useful_until) in [
        (Job::DropEve(one.id), at.evening_before, one.window.opens_at),
        (Job::DropLeave(one.id), at.before_leaving, one.window.closes_at),
        (Job::DropClose(one.id), at.ask_after, at.ask_after.plus_minutes(ASK_USEFUL_DAYS * 24 * 60)),
    ] {
        let useful_until = useful_until.max(due_at);
        occurrences::plan(farm.tx, &Occurrence { job, due_at, useful_until }).await?;
    }
    Ok(())
}

/// The other times at which a proposed drop could be brought: the stock still keeps and the food bank is open.
///
/// # Errors
/// Whatever the store fails with.
pub async fn other_windows(farm: &mut Farm<'_>, gift: &Gift) -> store::Result<Vec<Window>> {
    let zone = farm.zone();
    let spare = gift.bank.travel_minutes + farm.rules.giving.spare_minutes;
    let mut after = farm.now.plus_minutes(spare + 30);
    let last = farm.now.plus_minutes(OTHER_TIMES_DAYS * 24 * 60);
    let hours = gift.bank.taking_hours();
    let mut windows = Vec::new();
    while windows.len() < OTHER_TIMES_MAX {
        let Some(window) = hours.next_window(after, last, zone, MINUTES_TO_HAND_OVER) else { break };
        if !keeps_until(farm, gift.drop.id, window.opens_at.local_date(zone)).await? {
            break;
        }
        after = window.closes_at;
        if window.closes_at != gift.drop.window.closes_at {
            windows.push(window);
        }
    }
    Ok(windows)
}

/// Whether the drop's stock still keeps on `day` beside everything else that is spoken for.
async fn keeps_until(farm: &mut Farm<'_>, drop_id: Id, day: LocalDate) -> store::Result<bool> {
    let mut held = stock::held(farm).await?;
    let before = stock::counted(farm, &held).await?.uncovered;
    for one in held.iter_mut().filter(|one| one.holder == stock::Holder::Drop(drop_id)) {
        one.bound.date = day;
    }
    let after = stock::counted(farm, &held).await?.uncovered;
    let missing = |all: &[Bound]| -> Grams { all.iter().map(|one| one.weight).sum() };
    Ok(missing(&after) <= missing(&before))
}
