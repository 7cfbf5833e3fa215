//! Talking a shortage over: a buyer takes what is promised, swaps, moves the line to the next delivery or drops it. Rule:
//! what an answer frees is shared at once, and nobody's promise is lowered by it.

use super::closed_day::{BuyerDay, ClosedDay, Occasion, SwapPart};
use super::event::{DayTable, Event, Moment};
use super::ordering::Sums;
use super::sharing::{self, DaySharing};
use super::{Farm, lines, look_soon, supply};
use crate::clock::LocalDate;
use crate::delivery::award::{self, Award, Source};
use crate::id::Id;
use crate::people::{Person, WhenSilent};
use crate::quantity::Grams;
use crate::store::deliveries::{self, Closed};
use crate::store::occurrences::{self, Outcome};
use crate::store::orders::{self, OneOff};
use crate::store::{self, people};
use crate::timetable::Job;
use std::collections::{BTreeMap, BTreeSet};

/// What a buyer says of a line that is short.
#[derive(Clone, Debug, PartialEq)]
pub enum Answer {
    /// Take what is promised.
    Take,
    /// Take so much of another crop of which there is unpromised stock.
    Swap { crop: String, grams: Grams, part: SwapPart },
    /// Nothing of it now, the whole line with the next delivery still open.
    Move,
    /// Nothing of it.
    Drop,
}

/// What whoever answered is shown.
pub struct Answered {
    pub day: BuyerDay,
    /// Why: answered, or why that cannot be.
    pub occasion: Occasion,
    pub events: Vec<Event>,
}

/// Takes an answer; `None` when the line is not theirs or not there any more.
///
/// # Errors
/// Whatever the store fails with.
pub async fn answer(
    farm: &mut Farm<'_>,
    person: &Person,
    (award_id, answer): (Id, Answer),
) -> store::Result<Option<Answered>> {
    let award = deliveries::award_by_id(farm.tx, award_id).await?;
    let Some(award) = award.filter(|award| Some(award.buyer_id) == person.buyer_id) else { return Ok(None) };
    let Some(closed) = deliveries::on(farm.tx, award.day).await? else { return Ok(None) };
    let buyer_id = award.buyer_id;
    let before = ClosedDay::load(farm, &closed).await?;
    let refusal = if farm.now >= farm.calendar.departure(award.day) {
        Some(Occasion::Gone)
    } else if !award.waits() {
        Some(Occasion::AlreadyAnswered)
    } else if !before.takes_answers {
        Some(Occasion::TooLate)
    } else {
        choose(farm, person, (&answer, &award, &before)).await?
    };
    if let Some(occasion) = refusal {
        let day = before.of_buyer(farm.crops, buyer_id);
        return Ok(Some(Answered { day, occasion, events: Vec::new() }));
    }
    top_up(farm, &closed).await?;
    let after = ClosedDay::load(farm, &closed).await?;
    let day = after.of_buyer(farm.crops, buyer_id);
    let by_them = Occasion::AnsweredBy { person_id: person.id, name: person.name.clone() };
    let mut events = vec![Event::BuyerDay(day.clone(), by_them)];
    events.extend(changes(farm, (&before, &after), Some(buyer_id)));
    events.extend(settle_if_answered(farm, &closed).await?);
    Ok(Some(Answered { day, occasion: Occasion::Answered, events }))
}

/// Stores the choice, or says why it cannot be.
async fn choose(
    farm: &mut Farm<'_>,
    person: &Person,
    (answer, award, day): (&Answer, &Award, &ClosedDay),
) -> store::Result<Option<Occasion>> {
    let event = match answer {
        Answer::Take => award::Event::Take,
        Answer::Swap { crop, grams, part } => {
            if *grams > day.free_of(crop) || !grams.is_positive() || *crop == award.crop {
                return Ok(Some(Occasion::SwapGone));
            }
            swap_in(farm, person, (award, day), (crop, *grams)).await?;
            match part {
                SwapPart::Missing => award::Event::SwapMissing,
                SwapPart::Whole => award::Event::SwapWhole,
            }
        }
        Answer::Move => {
            let Some(next) = farm.calendar.next_open_delivery(farm.now) else {
                return Ok(Some(Occasion::NoLaterDelivery));
            };
            order_again(farm, person, award, next.date).await?;
            award::Event::Move
        }
        Answer::Drop => award::Event::Drop,
    };
    lines::change(farm, award, (event, Some(person.id))).await?;
    Ok(None)
}

/// The line of the other crop; a second swap into the same crop adds to it.
async fn swap_in(
    farm: &mut Farm<'_>,
    person: &Person,
    (award, day): (&Award, &ClosedDay),
    (crop, grams): (&str, Grams),
) -> store::Result<()> {
    let is_it = |other: &&Award| other.buyer_id == award.buyer_id && other.crop == crop && other.source == Source::Swap;
    let there = day.awards.iter().find(is_it).cloned();
    let line = there
        .unwrap_or_else(|| Award::new(farm.new_id(), (award.buyer_id, award.day), (crop.to_owned(), Source::Swap)));
    lines::change(farm, &line, (award::Event::SwapIn(grams), Some(person.id))).await?;
    Ok(())
}

/// A moved line becomes a one-off line of the later day, on top of what is ordered there.
async fn order_again(farm: &mut Farm<'_>, person: &Person, award: &Award, day: LocalDate) -> store::Result<()> {
    let there = orders::one_off_between(farm.tx, day, day).await?;
    let there = there.iter().find(|line| line.buyer_id == award.buyer_id && line.crop == award.crop);
    let grams = there.map_or(Grams::ZERO, |line| line.grams) + award.asked;
    let line = OneOff { buyer_id: award.buyer_id, day, crop: award.crop.clone(), grams };
    orders::put_one_off(farm.tx, &line, (farm.now, Some(person.id))).await?;
    look_soon::look_soon(farm).await
}

/// Shares what the day's promises leave among the lines that were cut.
async fn top_up(farm: &mut Farm<'_>, closed: &Closed) -> store::Result<()> {
    let expected = deliveries::expected_on(farm.tx, closed.day).await?;
    let mut supply: Sums = expected.into_iter().map(|one| (one.crop, one.promise)).collect();
    let awards = deliveries::awards_on(farm.tx, closed.day).await?;
    // What goes along of an offer was set aside beforehand.
    for line in awards.iter().filter(|award| award.source == Source::Offer) {
        *supply.entry(line.crop.clone()).or_default() += line.promised;
    }
    // Promises are not what is shared here: where less is expected than promised, the weighing will tell.
    for (crop, promised) in supply::promised_by_crop(&awards) {
        let there = supply.entry(crop).or_default();
        *there = promised.max(*there);
    }
    let shares = DaySharing::of(farm, closed.day).await?.again(&supply, &awards);
    raise(farm, &awards, &shares).await
}

/// Shares a harvest that is better than the day was promised from.
///
/// # Errors
/// Whatever the store fails with.
pub async fn share_better_harvest(farm: &mut Farm<'_>, closed: &Closed) -> store::Result<Vec<Event>> {
    let before = ClosedDay::load(farm, closed).await?;
    let sharing = DaySharing::of(farm, closed.day).await?;
    let promise = Box::pin(supply::promise(farm, closed.day, (&sharing, &before.awards))).await?;
    raise(farm, &before.awards, &sharing::given(&promise.made.allotment)).await?;
    let after = ClosedDay::load(farm, closed).await?;
    let mut events = promise.events;
    events.extend(changes(farm, (&before, &after), None));
    events.extend(settle_if_answered(farm, closed).await?);
    Ok(events)
}

/// Stores every share that is more than was promised.
async fn raise(farm: &mut Farm<'_>, awards: &[Award], shares: &BTreeMap<Id, Grams>) -> store::Result<()> {
    for award in awards {
        let given = shares.get(&award.id).copied().unwrap_or_default();
        if given > award.promised {
            lines::change(farm, award, (award::Event::Raise(given), None)).await?;
        }
    }
    Ok(())
}

/// What each restaurant but `except` hears: that its promise grew, or that its choices changed.
fn changes(farm: &Farm<'_>, (before, after): (&ClosedDay, &ClosedDay), except: Option<Id>) -> Vec<Event> {
    let mut events = Vec::new();
    for buyer_id in after.buyer_ids().into_iter().filter(|id| Some(*id) != except) {
        let (was, is) = (before.of_buyer(farm.crops, buyer_id), after.of_buyer(farm.crops, buyer_id));
        if is.is_better_than(&was) {
            events.push(Event::BuyerDay(is, Occasion::Better));
        } else if is != was && is.must_answer() {
            events.push(Event::BuyerDay(is, Occasion::Changed));
        }
    }
    events
}

/// Settles the day once no line waits for an answer.
async fn settle_if_answered(farm: &mut Farm<'_>, closed: &Closed) -> store::Result<Vec<Event>> {
    let awards = deliveries::awards_on(farm.tx, closed.day).await?;
    if closed.settled_at.is_some() || awards.iter().any(Award::waits) {
        return Ok(Vec::new());
    }
    settle(farm, closed).await
}

/// Gives every silent buyer their own default and settles the day. A settled day stays as it is.
///
/// # Errors
/// Whatever the store fails with.
pub async fn settle_silent(farm: &mut Farm<'_>, closed: &Closed) -> store::Result<Vec<Event>> {
    if closed.settled_at.is_some() {
        return Ok(Vec::new());
    }
    let before = ClosedDay::load(farm, closed).await?;
    let mut silent: BTreeSet<Id> = BTreeSet::new();
    for award in before.awards.iter().filter(|award| award.waits()) {
        silent.insert(award.buyer_id);
        let buyer = people::buyer_by_id(farm.tx, award.buyer_id).await?;
        let default = buyer.map_or(WhenSilent::Take, |buyer| buyer.when_silent);
        lines::change(farm, award, (award::Event::Silence(default), None)).await?;
    }
    top_up(farm, closed).await?;
    deliveries::mark_settled(farm.tx, closed.day, farm.now).await?;
    let after = ClosedDay::load(farm, closed).await?;
    let mut events = Vec::new();
    for buyer_id in after.buyer_ids() {
        let (was, is) = (before.of_buyer(farm.crops, buyer_id), after.of_buyer(farm.crops, buyer_id));
        if silent.contains(&buyer_id) {
            events.push(Event::BuyerDay(is, Occasion::Silent));
        } else if is.is_better_than(&was) {
            events.push(Event::BuyerDay(is, Occasion::Better));
        }
    }
    events.extend(settle(farm, closed).await?);
    Ok(events)
}

async fn settle(farm: &mut Farm<'_>, closed: &Closed) -> store::Result<Vec<Event>> {
    deliveries::mark_settled(farm.tx, closed.day, farm.now).await?;
    // Where the time for answers has ended by itself, that occurrence is being done and is marked by who does it.
    if farm.now < closed.answers_by {
        let key = Job::AnswersEnd(closed.day).key(closed.answers_by);
        occurrences::finish(farm.tx, &key, Outcome::CalledOff, farm.now).await?;
    }
    let day = ClosedDay::load(farm, closed).await?;
    Ok(vec![Event::DayTable(DayTable { day, moment: Moment::Settled })])
}
