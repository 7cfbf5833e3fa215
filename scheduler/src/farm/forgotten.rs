//! What somebody was to say and did not: a run nobody ticked off, crates nobody called packed. It is asked for when it is
//! usually over and once more next morning; after the farm's stated time it counts as done as it was planned. Rule: what is
//! assumed is marked so until somebody confirms or corrects it, and it never takes the place of what was said.

use super::closed_day::{ClosedDay, Occasion};
use super::delivering;
use super::event::{Event, Unsaid};
use super::giving::{self as farm_giving, handing_over};
use super::packing::PackingList;
use super::surplus::event as surplus_events;
use super::surplus::{claims, market, offering};
use super::{Farm, lines, stock};
use crate::clock::{LocalDate, UtcSeconds};
use crate::id::Id;
use crate::store::cold_room::{self, Lot, MoveKind, Movement};
use crate::store::deliveries::{self, Award, Closed};
use crate::store::{self, giving, occurrences, surplus};
use crate::surplus::drop::State;
use crate::timetable::{Job, Occurrence};
use chrono::Days;

/// Minutes from the van's leaving to the end of a run nobody has ended yet. Common practice, no source.
const RUN_MINUTES: i64 = 240;
/// Runs whose usual length is looked at.
const RUNS_LOOKED_AT: i64 = 8;
/// A run ended later than that was entered later, and says nothing of how long it takes.
const RUN_MINUTES_MOST: i64 = 14 * 60;
/// What is assumed late is still worth assuming: nothing else would ever end it.
const ASSUME_USEFUL_MINUTES: i64 = 400 * 24 * 60;
/// Whoever is asked has at least so long to answer.
const ANSWER_MINUTES: i64 = 12 * 60;
/// Whatever else was to be said is asked for on the first morning and assumed from the second on.
const A_DAY_SECONDS: i64 = 24 * 3600;
/// How far back a run can be entered or put right.
pub const ENTERED_DAYS: u64 = 56;

/// Plans what happens when nobody says anything of a closed day's delivery.
///
/// # Errors
/// Whatever the store fails with.
pub async fn watch_run(farm: &mut Farm<'_>, day: LocalDate) -> store::Result<()> {
    let departs_at = farm.calendar.departure(day);
    let ask_at = departs_at.plus_minutes(usual_minutes(farm).await?);
    let stated = departs_at.plus_minutes(farm.rules.delivery.assumed_hours * 60);
    // A delivery of an earlier version of the program is asked about before anything is assumed of it.
    let counts_at = stated.max(ask_at).max(farm.now.plus_minutes(ANSWER_MINUTES));
    for (job, due_at, useful_until) in [
        (Job::PackAssume(day), departs_at, counts_at),
        (Job::RunAsk(day), ask_at, counts_at),
        (Job::RunAssume(day), counts_at, counts_at.plus_minutes(ASSUME_USEFUL_MINUTES)),
    ] {
        if useful_until > farm.now && (due_at >= farm.now || job == Job::RunAssume(day)) {
            occurrences::plan(farm.tx, &Occurrence { job, due_at, useful_until }).await?;
        }
    }
    Ok(())
}

/// How long the runs of late took, minutes: the middle one.
async fn usual_minutes(farm: &mut Farm<'_>) -> store::Result<i64> {
    let ended = deliveries::ended_runs(farm.tx, RUNS_LOOKED_AT).await?.into_iter();
    let minutes = ended.map(|(day, at)| at.since(farm.calendar.departure(day)) / 60);
    let mut minutes: Vec<i64> = minutes.filter(|minutes| (1..=RUN_MINUTES_MOST).contains(minutes)).collect();
    minutes.sort_unstable();
    Ok(minutes.get(minutes.len() / 2).copied().unwrap_or(RUN_MINUTES))
}

/// When a run counts as delivered if nobody says anything.
async fn counts_at(farm: &mut Farm<'_>, day: LocalDate) -> store::Result<UtcSeconds> {
    let planned = occurrences::due_of(farm.tx, &Job::RunAssume(day).key(farm.now)).await?;
    Ok(planned.unwrap_or(farm.now))
}

/// The run is usually over by now: what nobody has said of it is asked for.
///
/// # Errors
/// Whatever the store fails with.
pub async fn ask_run(farm: &mut Farm<'_>, day: LocalDate) -> store::Result<Vec<Event>> {
    match deliveries::on(farm.tx, day).await?.filter(|closed| closed.delivered_at.is_none()) {
        Some(closed) => asked(farm, closed, Unsaid::JustOver).await,
        None => Ok(Vec::new()),
    }
}

/// The next morning: every earlier run of which nobody has said how it went.
///
/// # Errors
/// Whatever the store fails with.
async fn ask_earlier_runs(farm: &mut Farm<'_>) -> store::Result<Vec<Event>> {
    let mut events = Vec::new();
    for closed in earlier(farm).await?.into_iter().filter(|closed| closed.delivered_at.is_none()) {
        watch_run(farm, closed.day).await?;
        events.extend(asked(farm, closed, Unsaid::DayBefore).await?);
    }
    Ok(events)
}

async fn asked(farm: &mut Farm<'_>, closed: Closed, unsaid: Unsaid) -> store::Result<Vec<Event>> {
    let day = closed.day;
    let list = PackingList::load(farm, closed).await?;
    if list.awards.is_empty() {
        return Ok(Vec::new());
    }
    let counts_at = counts_at(farm, day).await?;
    Ok(vec![Event::RunUnsaid { list: Box::new(list), counts_at, unsaid }])
}

/// The van has left, and nobody has said that it is packed: it counts as packed as listed.
///
/// # Errors
/// Whatever the store fails with.
pub async fn assume_packed(farm: &mut Farm<'_>, day: LocalDate) -> store::Result<Vec<Event>> {
    let is_open = |closed: &Closed| closed.packed_at.is_none() && closed.delivered_at.is_none();
    if deliveries::on(farm.tx, day).await?.filter(is_open).is_none() || lines::live(farm, day).await?.is_empty() {
        return Ok(Vec::new());
    }
    deliveries::mark_packed(farm.tx, day, (farm.now, true)).await?;
    let Some(closed) = deliveries::on(farm.tx, day).await? else { return Ok(Vec::new()) };
    Ok(vec![Event::PackingAssumed(Box::new(PackingList::load(farm, closed).await?))])
}

/// The time to say how the run went is over: whoever is not marked counts as served with what was packed, as far as the
/// cold room's books hold it.
///
/// # Errors
/// Whatever the store fails with.
pub async fn assume_delivered(farm: &mut Farm<'_>, day: LocalDate) -> store::Result<Vec<Event>> {
    let Some(closed) = deliveries::on(farm.tx, day).await?.filter(|closed| closed.delivered_at.is_none()) else {
        return Ok(Vec::new());
    };
    let open = lines::live(farm, day).await?.into_iter().filter(|line| line.delivered.is_none());
    let open: Vec<_> = open.collect();
    if open.is_empty() {
        return Ok(Vec::new());
    }
    let mut missing = Vec::new();
    let mut served: Vec<Id> = Vec::new();
    for line in &open {
        served.push(line.buyer_id);
        missing.extend(delivering::record(farm, None, (line, line.promised)).await?);
    }
    served.dedup();
    deliveries::mark_delivered(farm.tx, day, farm.now).await?;
    let facts = ClosedDay::load(farm, &closed).await?;
    let theirs = |buyer| Event::BuyerDay(facts.of_buyer(farm.crops, buyer), Occasion::Assumed);
    let mut events: Vec<Event> = served.into_iter().map(theirs).collect();
    let list = PackingList::load(farm, facts.closed).await?;
    events.push(Event::RunAssumed { list: Box::new(list), missing });
    Ok(events)
}

/// Every morning: what nobody has said is asked for once more, and what was asked for long enough counts as done; whatever is
/// over leaves every list, once said.
///
/// # Errors
/// Whatever the store fails with.
pub async fn each_morning(farm: &mut Farm<'_>) -> store::Result<Vec<Event>> {
    let mut events = ask_earlier_runs(farm).await?;
    events.extend(offers_over(farm).await?);
    events.extend(claims_unsaid(farm).await?);
    events.extend(drops_unsaid(farm).await?);
    events.extend(market::unsaid(farm).await?);
    events.extend(lapsed(farm).await?);
    Ok(events)
}

/// Offers whose time is over although nothing ended them.
async fn offers_over(farm: &mut Farm<'_>) -> store::Result<Vec<Event>> {
    let (now, mut events) = (farm.now, Vec::new());
    for offer in surplus::open_offers(farm.tx).await?.into_iter().filter(|offer| offer.deadline < now) {
        events.extend(offering::end(farm, offer.id).await?);
    }
    Ok(events)
}

async fn claims_unsaid(farm: &mut Farm<'_>) -> store::Result<Vec<Event>> {
    let mut events = Vec::new();
    for claim in surplus::claims_waiting(farm.tx).await? {
        let was_due = match claim.goes_on() {
            Some(day) => stock::end_of(day, farm.zone()),
            None => claim.collect_until,
        };
        match waited(farm, was_due) {
            Waited::NotYet => {}
            Waited::SinceYesterday => events.push(claims::ask_again(farm, claim).await?),
            Waited::Longer => events.extend(claims::assume(farm, &claim).await?),
        }
    }
    Ok(events)
}

async fn drops_unsaid(farm: &mut Farm<'_>) -> store::Result<Vec<Event>> {
    let mut events = Vec::new();
    for drop in giving::coming_drops(farm.tx).await? {
        let found = match (drop.state(), waited(farm, drop.window.closes_at)) {
            (_, Waited::NotYet) => Vec::new(),
            // Its time to answer was over long ago.
            (State::Proposed, _) => farm_giving::answering::silent(farm, drop.id).await?,
            (_, Waited::SinceYesterday) => handing_over::ask_after(farm, drop.id).await?,
            (_, Waited::Longer) => handing_over::assume(farm, drop.id).await?,
        };
        events.extend(found.into_iter().map(Event::from));
    }
    Ok(events)
}

/// How long something has waited for a word.
enum Waited {
    NotYet,
    /// It was due since the last morning.
    SinceYesterday,
    Longer,
}

fn waited(farm: &Farm<'_>, was_due: UtcSeconds) -> Waited {
    match farm.now.since(was_due) {
        // What ended in the night was asked for then.
        _ if was_due.local_date(farm.zone()) >= farm.today() => Waited::NotYet,
        ..=0 => Waited::NotYet,
        1..=A_DAY_SECONDS => Waited::SinceYesterday,
        _ => Waited::Longer,
    }
}

/// Lots that have been past their days for a whole day leave the books and every list, once said. What somebody has still to
/// say of such a crop (a run, a market day, a drop) comes first.
async fn lapsed(farm: &mut Farm<'_>) -> store::Result<Vec<Event>> {
    let today = farm.today();
    let owed: Vec<Award> = deliveries::awards_owed(farm.tx).await?.into_iter().filter(|one| one.day < today).collect();
    let kept = surplus::market_holds(farm.tx).await?;
    let drops = giving::coming_drops(farm.tx).await?;
    let claims = surplus::claims_waiting(farm.tx).await?;
    let is_waited_for = |crop: &str| {
        owed.iter().any(|award| award.crop == crop)
            || kept.iter().any(|hold| hold.crop == crop && hold.day < today)
            || drops
                .iter()
                .any(|drop| drop.window.closes_at < farm.now && drop.lines.iter().any(|line| line.crop == crop))
            || claims.iter().any(|claim| claim.crop == crop && claim.collect_until < farm.now)
    };
    let yesterday = today.pred_opt().unwrap_or(today);
    let lots = cold_room::lots(farm.tx).await?.into_iter();
    let lots: Vec<Lot> = lots.filter(|lot| lot.keeps_until < yesterday && !is_waited_for(&lot.crop)).collect();
    let movement = Movement { kind: MoveKind::Lapsed, subject: None, person_id: None, now: farm.now };
    for lot in &lots {
        cold_room::take_from_lot(farm.tx, lot.id, lot.left, &movement).await?;
    }
    if lots.is_empty() {
        return Ok(Vec::new());
    }
    let lots = lots.into_iter().map(|lot| (lot.crop, lot.left, lot.picked_on)).collect();
    Ok(vec![surplus_events::Event::Lapsed { lots }.into()])
}

/// Closed deliveries of earlier days that can still be entered or put right, the newest first.
///
/// # Errors
/// Whatever the store fails with.
pub async fn earlier(farm: &mut Farm<'_>) -> store::Result<Vec<Closed>> {
    let today = farm.today();
    let from = today.checked_sub_days(Days::new(ENTERED_DAYS)).unwrap_or(today);
    let mut earlier = Vec::new();
    for closed in deliveries::from(farm.tx, from).await?.into_iter().rev().filter(|closed| closed.day < today) {
        if !lines::live(farm, closed.day).await?.is_empty() {
            earlier.push(closed);
        }
    }
    Ok(earlier)
}
