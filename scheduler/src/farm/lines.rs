//! The lines of closed delivery days: every change of one goes through its state machine and is kept with its reason.

use super::{Farm, forgotten};
use crate::clock::LocalDate;
use crate::delivery::award::Event;
use crate::id::Id;
use crate::store;
use crate::store::deliveries::{self, Award, Closed};
use chrono::Days;

/// Stores what has happened to a line; `by` did it, nobody where the farm did. Gives the line as it is then, or as it was
/// where that cannot happen to it.
///
/// # Errors
/// Whatever the store fails with.
pub async fn change(farm: &mut Farm<'_>, line: &Award, (event, by): (Event, Option<Id>)) -> store::Result<Award> {
    match line.after(event) {
        Ok(changed) => {
            deliveries::put_award(farm.tx, &changed, (event.why(), by), farm.now).await?;
            Ok(changed)
        }
        Err(_) => {
            tracing::warn!(award_id = line.id.get(), ?event, state = ?line.state, "cannot happen to this line");
            Ok(line.clone())
        }
    }
}

/// The lines of a day of which something is promised or delivered.
///
/// # Errors
/// Whatever the store fails with.
pub async fn live(farm: &mut Farm<'_>, day: LocalDate) -> store::Result<Vec<Award>> {
    let awards = deliveries::awards_on(farm.tx, day).await?;
    Ok(awards.into_iter().filter(|award| award.promised.is_positive() || award.delivered.is_some()).collect())
}

/// The closed delivery that is packed or carried now: the first that is not over, yesterday's included; after those the
/// newest of the days before that nobody has entered.
///
/// # Errors
/// Whatever the store fails with.
pub async fn current(farm: &mut Farm<'_>) -> store::Result<Option<Closed>> {
    let yesterday = farm.today().checked_sub_days(Days::new(1)).unwrap_or(farm.today());
    for closed in deliveries::from(farm.tx, yesterday).await? {
        if closed.delivered_at.is_none() && !live(farm, closed.day).await?.is_empty() {
            return Ok(Some(closed));
        }
    }
    let earlier = forgotten::earlier(farm).await?;
    Ok(earlier.into_iter().find(|closed| closed.delivered_at.is_none()))
}

/// The run of a restaurant's that a word about it means: the one that is carried now, or else the last one that nobody has
/// confirmed.
///
/// # Errors
/// Whatever the store fails with.
pub async fn meant_by(farm: &mut Farm<'_>, buyer: Id) -> store::Result<Option<Closed>> {
    if let Some(closed) = current(farm).await? {
        return Ok(Some(closed));
    }
    for closed in forgotten::earlier(farm).await? {
        let theirs = live(farm, closed.day).await?.into_iter().find(|line| line.buyer_id == buyer && line.is_assumed);
        if theirs.is_some() {
            return Ok(Some(closed));
        }
    }
    Ok(None)
}
