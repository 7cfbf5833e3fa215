//! Cut-off: what is asked for a delivery day is set against what can be promised. A day is closed once, and nobody is
//! promised what is not expected.

use super::closed_day::{ClosedDay, Occasion};
use super::event::{DayTable, Event, Moment};
use super::sharing::{self, DaySharing};
use super::surplus::claims;
use super::{Farm, answering, asked, expected, forgotten, lines, supply};
use crate::clock::LocalDate;
use crate::delivery::award::{self, Award, Source};
use crate::delivery::calendar::Delivery;
use crate::id::Id;
use crate::planted::{self, Bug};
use crate::quantity::Grams;
use crate::store::deliveries::{self, Closed, Expected};
use crate::store::{self, occurrences, people};
use crate::timetable::{Job, Occurrence};
use std::collections::{BTreeMap, BTreeSet};

/// Coming deliveries among which closed ones are looked for; the first open one ends the look.
const DELIVERIES_LOOKED_AT: usize = 60;

/// Closes every delivery whose cut-off has passed and whose van has not left; one that is closed stays as it is.
///
/// # Errors
/// Whatever the store fails with.
pub async fn close_due(farm: &mut Farm<'_>) -> store::Result<Vec<Event>> {
    let now = farm.now;
    let coming = farm.calendar.upcoming(now, DELIVERIES_LOOKED_AT);
    let mut events = Vec::new();
    for delivery in coming.into_iter().take_while(|delivery| !delivery.is_open(now)) {
        let was_open = delivery.cutoff_at.is_some();
        if was_open && deliveries::on(farm.tx, delivery.date).await?.is_none() {
            // On the heap: the forecast's draws make it a large future.
            events.extend(Box::pin(close(farm, delivery)).await?);
        }
    }
    Ok(events)
}

/// Ends the time for answers of a day.
///
/// # Errors
/// Whatever the store fails with.
pub async fn answers_end(farm: &mut Farm<'_>, day: LocalDate) -> store::Result<Vec<Event>> {
    match deliveries::on(farm.tx, day).await? {
        Some(closed) => answering::settle_silent(farm, &closed).await,
        None => Ok(Vec::new()),
    }
}

/// Closes the orders of a delivery, promises what holds, and adds what goes along of offers.
async fn close(farm: &mut Farm<'_>, delivery: Delivery) -> store::Result<Vec<Event>> {
    let (day, now) = (delivery.date, farm.now);
    let answer_minutes = farm.rules.promise.answer_hours * 60;
    let closed = Closed {
        day,
        closed_at: now,
        // What is promised now is drawn from it.
        seed: i64::try_from(expected::seed_on(farm.today())).unwrap_or_default(),
        // Closed late, answers still have to come before the van leaves.
        answers_by: now.plus_minutes(answer_minutes).min(delivery.departs_at),
        settled_at: None,
        shared_at: None,
        packed_at: None,
        is_packing_assumed: false,
        delivered_at: None,
    };
    deliveries::close(farm.tx, &closed).await?;
    let asked = asked_on(farm, day).await?;
    let mut events = promise(farm, day, &asked).await?;
    events.extend(claims::join(farm, day).await?.1);
    events.extend(say_closed(farm, &closed).await?);
    Ok(events)
}

/// What a day that was just closed holds; until when a shortage may be answered is planned.
async fn say_closed(farm: &mut Farm<'_>, closed: &Closed) -> store::Result<Vec<Event>> {
    let day = ClosedDay::load(farm, closed).await?;
    if day.awards.iter().any(Award::waits) {
        let departs_at = farm.calendar.departure(closed.day);
        let useful_until = departs_at.max(closed.answers_by);
        let end = Occurrence { job: Job::AnswersEnd(closed.day), due_at: closed.answers_by, useful_until };
        occurrences::plan(farm.tx, &end).await?;
    } else {
        deliveries::mark_settled(farm.tx, closed.day, farm.now).await?;
    }
    if day.awards.is_empty() {
        return Ok(vec![Event::NothingOrdered { day: closed.day }]);
    }
    forgotten::watch_run(farm, closed.day).await?;
    let theirs = |buyer_id| Event::BuyerDay(day.of_buyer(farm.crops, buyer_id), Occasion::Closed);
    let mut events: Vec<Event> = day.buyer_ids().into_iter().map(theirs).collect();
    events.push(Event::DayTable(DayTable { day, moment: Moment::Closed }));
    Ok(events)
}

/// One line for each buyer, crop and source: two standing orders of one crop are one line.
async fn asked_on(farm: &mut Farm<'_>, day: LocalDate) -> store::Result<Vec<Award>> {
    let present: BTreeSet<Id> = people::buyers(farm.tx).await?.into_iter().map(|buyer| buyer.id).collect();
    let mut sums: BTreeMap<(Id, String, Source), Grams> = BTreeMap::new();
    for line in asked::between(farm, day, day).await? {
        if present.contains(&line.buyer_id) && line.grams.is_positive() {
            *sums.entry((line.buyer_id, line.crop, line.source)).or_default() += line.grams;
        }
    }
    let award = |((buyer_id, crop, source), asked)| Award {
        asked,
        ..Award::new(farm.new_id(), (buyer_id, day), (crop, source))
    };
    Ok(sums.into_iter().map(award).collect())
}

/// Promises what holds at the farm's level, all crops together, and keeps what the family is told to expect.
async fn promise(farm: &mut Farm<'_>, day: LocalDate, asked: &[Award]) -> store::Result<Vec<Event>> {
    let sharing = DaySharing::of(farm, day).await?;
    let supply::Promise { draws, made, events } = supply::promise(farm, day, (&sharing, asked)).await?;
    for (crop, supply) in made.supply {
        let [p10, p50, p90] = [0.1, 0.5, 0.9].map(|p| draws.quantile(&crop, p));
        let expected = Expected { day, crop, p10, p50, p90, promise: supply };
        deliveries::record_expected(farm.tx, &expected, farm.now).await?;
    }
    deliveries::record_chance(farm.tx, day, made.holds).await?;
    let shares = sharing::given(&made.allotment);
    for line in asked {
        let mut given = shares.get(&line.id).copied().unwrap_or_default();
        if planted::is_on(Bug::OverAward) && given.is_positive() {
            given += farm.crops.get(&line.crop).map_or(Grams::ZERO, |crop| crop.pack_step);
        }
        lines::change(farm, line, (award::Event::Promise(given), None)).await?;
    }
    Ok(events)
}
