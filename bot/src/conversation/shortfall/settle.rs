//! What follows an answer, or none: freed stock tops up lines that were cut, silent buyers get their own default, and
//! the family sees the final table. A promise only ever grows here.

use super::card::{DayFacts, Occasion};
use crate::conversation::cutoff::share::{self, DaySharing};
use crate::conversation::cutoff::supply;
use crate::conversation::{Desk, cutoff};
use scheduler::id::Id;
use scheduler::people::WhenSilent;
use scheduler::quantity::Grams;
use scheduler::store::deliveries::{self, Award, Closed, Source, State, Why};
use scheduler::store::occurrences::{self, Outcome};
use scheduler::store::{self, people};
use scheduler::timetable::Job;
use std::collections::{BTreeMap, BTreeSet};

/// Shares what the day's promises leave among the lines that were cut.
///
/// # Errors
/// Whatever the store fails with.
pub async fn top_up(desk: &mut Desk<'_>, closed: &Closed) -> store::Result<()> {
    let expected = deliveries::expected_on(&mut desk.tx, closed.day).await?;
    let mut supply: BTreeMap<String, Grams> = expected.into_iter().map(|one| (one.crop, one.promise)).collect();
    let awards = deliveries::awards_on(&mut desk.tx, closed.day).await?;
    // What goes along of an offer was set aside beforehand.
    for line in awards.iter().filter(|award| award.source == Source::Offer) {
        *supply.entry(line.crop.clone()).or_default() += line.promised;
    }
    // Promises are not what is shared here: where less is expected than promised, the weighing will tell.
    for (crop, promised) in supply::promised_by_crop(&awards) {
        let there = supply.entry(crop).or_default();
        *there = promised.max(*there);
    }
    let shares = DaySharing::of(desk, closed.day).await?.again(&supply, &awards);
    raise(desk, awards, &shares).await
}

/// Shares a harvest that is better than the day was promised from, and tells those it reaches.
///
/// # Errors
/// Whatever the store fails with.
pub async fn share_better_harvest(desk: &mut Desk<'_>, closed: &Closed) -> store::Result<()> {
    let before = DayFacts::load(desk, closed).await?;
    let sharing = DaySharing::of(desk, closed.day).await?;
    let (_, promise) = supply::promise(desk, closed.day, (&sharing, &before.awards)).await?;
    raise(desk, before.awards.clone(), &share::given(&promise.allotment)).await?;
    let after = DayFacts::load(desk, closed).await?;
    tell_changes(desk, (&before, &after), None).await?;
    settle_if_answered(desk, closed).await
}

/// Stores every share that is more than was promised.
async fn raise(desk: &mut Desk<'_>, awards: Vec<Award>, shares: &BTreeMap<Id, Grams>) -> store::Result<()> {
    for mut award in awards {
        let given = shares.get(&award.id).copied().unwrap_or_default();
        if given > award.promised {
            award.promised = given;
            if given >= award.asked && matches!(award.state, State::Short | State::Taken) {
                award.state = State::Full;
            }
            deliveries::put_award(&mut desk.tx, &award, (Why::ToppedUp, None), desk.now).await?;
        }
    }
    Ok(())
}

/// Tells each restaurant but `except` whose promise grew; one whose choices changed has its card edited.
///
/// # Errors
/// Whatever the store fails with.
pub async fn tell_changes(
    desk: &mut Desk<'_>,
    (before, after): (&DayFacts, &DayFacts),
    except: Option<Id>,
) -> store::Result<()> {
    let house = desk.house;
    for buyer_id in after.buyer_ids().into_iter().filter(|id| Some(*id) != except) {
        let (was, is) = (before.of_buyer(house, buyer_id), after.of_buyer(house, buyer_id));
        if is.is_better_than(&was) {
            desk.tell_buyer(buyer_id, |voice| is.write(house, voice, &Occasion::Better).at_end()).await?;
        } else if is != was && is.must_answer() {
            desk.tell_buyer(buyer_id, |voice| is.write(house, voice, &Occasion::Closed)).await?;
        }
    }
    Ok(())
}

/// Settles the day once no line waits for an answer.
///
/// # Errors
/// Whatever the store fails with.
pub async fn settle_if_answered(desk: &mut Desk<'_>, closed: &Closed) -> store::Result<()> {
    let awards = deliveries::awards_on(&mut desk.tx, closed.day).await?;
    if closed.settled_at.is_some() || awards.iter().any(|award| award.state == State::Short) {
        return Ok(());
    }
    settle(desk, closed).await
}

/// Gives every silent buyer their own default and settles the day. A settled day stays as it is.
///
/// # Errors
/// Whatever the store fails with.
pub async fn settle_silent(desk: &mut Desk<'_>, closed: &Closed) -> store::Result<()> {
    if closed.settled_at.is_some() {
        return Ok(());
    }
    let before = DayFacts::load(desk, closed).await?;
    let mut silent: BTreeSet<Id> = BTreeSet::new();
    for mut award in before.awards.clone() {
        if award.state != State::Short {
            continue;
        }
        silent.insert(award.buyer_id);
        let buyer = people::buyer_by_id(&mut desk.tx, award.buyer_id).await?;
        match buyer.map_or(WhenSilent::Take, |buyer| buyer.when_silent) {
            WhenSilent::Take => award.state = State::Silent,
            WhenSilent::Drop => {
                award.state = State::Dropped;
                award.promised = Grams::ZERO;
            }
        }
        deliveries::put_award(&mut desk.tx, &award, (Why::Silent, None), desk.now).await?;
    }
    top_up(desk, closed).await?;
    deliveries::mark_settled(&mut desk.tx, closed.day, desk.now).await?;
    let house = desk.house;
    let after = DayFacts::load(desk, closed).await?;
    for buyer_id in after.buyer_ids() {
        let (was, is) = (before.of_buyer(house, buyer_id), after.of_buyer(house, buyer_id));
        if silent.contains(&buyer_id) {
            desk.tell_buyer(buyer_id, |voice| is.write(house, voice, &Occasion::Silent).at_end()).await?;
        } else if is.is_better_than(&was) {
            desk.tell_buyer(buyer_id, |voice| is.write(house, voice, &Occasion::Better).at_end()).await?;
        }
    }
    settle(desk, closed).await
}

async fn settle(desk: &mut Desk<'_>, closed: &Closed) -> store::Result<()> {
    deliveries::mark_settled(&mut desk.tx, closed.day, desk.now).await?;
    // Where the time for answers has ended by itself, that occurrence is being done and is marked by who does it.
    if desk.now < closed.answers_by {
        let key = Job::AnswersEnd(closed.day).key(closed.answers_by);
        occurrences::finish(&mut desk.tx, &key, Outcome::CalledOff, desk.now).await?;
    }
    let facts = DayFacts::load(desk, closed).await?;
    cutoff::table::tell(desk, &facts, cutoff::table::Moment::Settled).await
}
