//! Cut-off: what is asked for a delivery day is set against what can be promised, and everybody hears at once. A day is
//! closed once, and nobody is promised what is not expected.

pub mod coming;
pub mod futures;
pub mod share;
pub mod supply;
pub mod table;
pub mod warning;

use super::audience::Audience;
use super::shortfall::card::{DayFacts, Occasion};
use super::{Desk, Letter, expected, shortfall};
use crate::conversation::letter::Patience;
use crate::wording::Args;
use scheduler::clock::LocalDate;
use scheduler::delivery::calendar::Delivery;
use scheduler::farm::asked;
use scheduler::farm::surplus::claims;
use scheduler::id::Id;
use scheduler::planted::{self, Bug};
use scheduler::quantity::Grams;
use scheduler::store::deliveries::{self, Award, Closed, Expected, Source, State, Why};
use scheduler::store::occurrences;
use scheduler::store::{self, people};
use scheduler::timetable::{Job, Occurrence};
use share::DaySharing;
use std::collections::{BTreeMap, BTreeSet};

/// Coming deliveries among which closed ones are looked for; the first open one ends the look.
const DELIVERIES_LOOKED_AT: usize = 60;

/// Closes every delivery whose cut-off has passed and whose van has not left; one that is closed stays as it is.
///
/// # Errors
/// Whatever the store fails with.
pub async fn close_due(desk: &mut Desk<'_>) -> store::Result<()> {
    let now = desk.now;
    let coming = desk.house.calendar.upcoming(now, DELIVERIES_LOOKED_AT);
    for delivery in coming.into_iter().take_while(|delivery| !delivery.is_open(now)) {
        let was_open = delivery.cutoff_at.is_some();
        if was_open && deliveries::on(&mut desk.tx, delivery.date).await?.is_none() {
            close(desk, delivery).await?;
        }
    }
    Ok(())
}

/// Ends a day's time for answers.
///
/// # Errors
/// Whatever the store fails with.
pub async fn answers_end(desk: &mut Desk<'_>, day: LocalDate) -> store::Result<()> {
    match deliveries::on(&mut desk.tx, day).await? {
        Some(closed) => shortfall::settle::settle_silent(desk, &closed).await,
        None => Ok(()),
    }
}

async fn close(desk: &mut Desk<'_>, delivery: Delivery) -> store::Result<()> {
    let (day, now) = (delivery.date, desk.now);
    let answer_minutes = desk.house.config.rules.promise.answer_hours * 60;
    let closed = Closed {
        day,
        closed_at: now,
        // What is promised now is drawn from it.
        seed: i64::try_from(expected::seed_on(desk.today())).unwrap_or_default(),
        // Closed late, answers still have to come before the van leaves.
        answers_by: now.plus_minutes(answer_minutes).min(delivery.departs_at),
        settled_at: None,
        shared_at: None,
        packed_at: None,
        delivered_at: None,
    };
    deliveries::close(&mut desk.tx, &closed).await?;
    let mut awards = asked_on(desk, day).await?;
    promise(desk, day, &mut awards).await?;
    let (along, events) = claims::join(&mut desk.farm(), day).await?;
    desk.happened(events);
    if awards.is_empty() && along.is_empty() {
        deliveries::mark_settled(&mut desk.tx, day, now).await?;
        return desk
            .tell_family(Audience::Everyone, |voice| {
                Letter::new(voice.say("cutoff-no-orders", &Args::new().date("day", day)))
            })
            .await;
    }
    for award in &awards {
        deliveries::put_award(&mut desk.tx, award, (Why::Cutoff, None), now).await?;
    }
    if awards.iter().any(|award| award.state == State::Short) {
        let useful_until = delivery.departs_at.max(closed.answers_by);
        let end = Occurrence { job: Job::AnswersEnd(day), due_at: closed.answers_by, useful_until };
        occurrences::plan(&mut desk.tx, &end).await?;
    } else {
        deliveries::mark_settled(&mut desk.tx, day, now).await?;
    }
    let facts = DayFacts::load(desk, &closed).await?;
    let buyers: BTreeSet<Id> = awards.iter().map(|award| award.buyer_id).chain(along).collect();
    let house = desk.house;
    for buyer_id in buyers {
        let their_day = facts.of_buyer(house, buyer_id);
        desk.tell_buyer(buyer_id, |voice| {
            // A short line wants its answer in time, at night too where the time ends before the morning is well begun.
            let letter = their_day.write(house, voice, &Occasion::Closed);
            // After that time they read what was decided instead.
            letter.patient(Patience::Until(closed.answers_by)).useful_until(None)
        })
        .await?;
    }
    table::tell(desk, &facts, table::Moment::Closed).await
}

/// One award for each buyer, crop and source: two standing orders of one crop are one line.
async fn asked_on(desk: &mut Desk<'_>, day: LocalDate) -> store::Result<Vec<Award>> {
    let present: BTreeSet<Id> = people::buyers(&mut desk.tx).await?.into_iter().map(|buyer| buyer.id).collect();
    let mut sums: BTreeMap<(Id, String, Source), Grams> = BTreeMap::new();
    for line in asked::between(&mut desk.farm(), day, day).await? {
        if present.contains(&line.buyer_id) && line.grams.is_positive() {
            *sums.entry((line.buyer_id, line.crop, line.source)).or_default() += line.grams;
        }
    }
    let award = |((buyer_id, crop, source), asked)| Award {
        id: desk.new_id(),
        buyer_id,
        day,
        crop,
        source,
        asked,
        promised: Grams::ZERO,
        delivered: None,
        state: State::Short,
    };
    Ok(sums.into_iter().map(award).collect())
}

/// Promises what holds at the farm's level, all crops together, and keeps what the family is told to expect.
async fn promise(desk: &mut Desk<'_>, day: LocalDate, awards: &mut [Award]) -> store::Result<()> {
    let sharing = DaySharing::of(desk, day).await?;
    let (draws, promise) = supply::promise(desk, day, (&sharing, awards)).await?;
    for (crop, supply) in promise.supply {
        let [p10, p50, p90] = [0.1, 0.5, 0.9].map(|p| draws.quantile(&crop, p));
        let expected = Expected { day, crop, p10, p50, p90, promise: supply };
        deliveries::record_expected(&mut desk.tx, &expected, desk.now).await?;
    }
    deliveries::record_chance(&mut desk.tx, day, promise.holds).await?;
    let shares = share::given(&promise.allotment);
    for award in awards {
        award.promised = shares.get(&award.id).copied().unwrap_or_default();
        if planted::is_on(Bug::OverAward) && award.promised.is_positive() {
            award.promised += desk.house.crops.get(&award.crop).map_or(Grams::ZERO, |crop| crop.pack_step);
        }
        award.state = if award.promised >= award.asked { State::Full } else { State::Short };
    }
    Ok(())
}
