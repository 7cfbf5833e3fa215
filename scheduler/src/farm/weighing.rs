//! The morning's stock is known: promises are kept while it lasts, more of it first tops up lines that were cut, and where
//! it does not last it is cut fairly. What changes the cold room before the crates are packed, such as a pick taken back or
//! entered late, has it shared again.

use super::closed_day::{ClosedDay, Occasion};
use super::event::Event;
use super::ordering::Sums;
use super::sharing::DaySharing;
use super::stock::{self, Holder};
use super::surplus::offering;
use super::{Farm, lines};
use crate::delivery::award::{self, Award, Why};
use crate::planted::{self, Bug};
use crate::quantity::Grams;
use crate::store;
use crate::store::deliveries::{self, Closed};

/// Shares the stock on hand for the day for the first time.
///
/// # Errors
/// Whatever the store fails with.
pub async fn share_first(farm: &mut Farm<'_>, closed: &Closed) -> store::Result<Vec<Event>> {
    deliveries::mark_shared(farm.tx, closed.day, farm.now).await?;
    Ok(Box::pin(share_stock(farm, closed)).await?.0)
}

/// Shares the stock of today's delivery again where this transaction has changed the cold room, it was shared before, and
/// no crate is packed or handed over yet. With the day whose promises that has changed.
///
/// # Errors
/// Whatever the store fails with.
pub async fn share_again(farm: &mut Farm<'_>) -> store::Result<(Vec<Event>, Option<Closed>)> {
    let nothing = (Vec::new(), None);
    if !farm.tx.is_stock_moved() || planted::is_on(Bug::ShareOnce) {
        return Ok(nothing);
    }
    let today = farm.today();
    let Some(closed) = deliveries::on(farm.tx, today).await? else { return Ok(nothing) };
    if closed.shared_at.is_none() || closed.packed_at.is_some() || closed.delivered_at.is_some() {
        return Ok(nothing);
    }
    let awards = deliveries::awards_on(farm.tx, today).await?;
    if awards.iter().any(|award| award.delivered.is_some()) {
        return Ok(nothing);
    }
    let (events, is_changed) = Box::pin(share_stock(farm, &closed)).await?;
    Ok((events, is_changed.then_some(closed)))
}

/// Shares the stock on hand for the day; whether it changed a promise.
async fn share_stock(farm: &mut Farm<'_>, closed: &Closed) -> store::Result<(Vec<Event>, bool)> {
    let before = ClosedDay::load(farm, closed).await?;
    let supply = supply_for(farm, &before).await?;
    let open: Vec<Award> = before.awards.iter().filter(|award| award.delivered.is_none()).cloned().collect();
    let claims = capped(farm, &open).await?;
    let shares = DaySharing::of(farm, closed.day).await?.again(&supply, &claims);
    let mut is_changed = false;
    for line in &open {
        let mut given = shares.get(&line.id).copied().unwrap_or_default();
        if planted::is_on(Bug::LowerPromise) {
            let pack = farm.crops.get(&line.crop).map_or(Grams::ZERO, |crop| crop.pack_step);
            given = given.less(pack).less(pack);
        }
        let event = match given.cmp(&line.promised) {
            std::cmp::Ordering::Equal => continue,
            std::cmp::Ordering::Less => award::Event::Weigh(given),
            std::cmp::Ordering::Greater => award::Event::Raise(given),
        };
        is_changed = true;
        lines::change(farm, line, (event, None)).await?;
    }
    let mut events = offering::make_room(farm, closed.day).await?;
    if !is_changed {
        return Ok((events, false));
    }
    let after = ClosedDay::load(farm, closed).await?;
    let mut is_cut = false;
    for buyer_id in after.buyer_ids() {
        let (was, is) = (before.of_buyer(farm.crops, buyer_id), after.of_buyer(farm.crops, buyer_id));
        if is.is_worse_than(&was) {
            is_cut = true;
            events.push(Event::BuyerDay(is, Occasion::Less));
        } else if is.is_better_than(&was) {
            events.push(Event::BuyerDay(is, Occasion::Better));
        }
    }
    if is_cut {
        events.push(Event::DayCut { before: Box::new(before), after: Box::new(after) });
    }
    Ok((events, true))
}

/// The lines as sharing sees them: what somebody has said is packed is all that such a line asks for.
async fn capped(farm: &mut Farm<'_>, open: &[Award]) -> store::Result<Vec<Award>> {
    let mut claims = Vec::with_capacity(open.len());
    for line in open {
        let history = deliveries::history_of(farm.tx, line.id).await?;
        let packed = history.iter().rev().find(|(_, _, why)| *why == Why::Packed).map(|(_, grams, _)| *grams);
        claims.push(Award { asked: packed.unwrap_or(line.asked), ..line.clone() });
    }
    Ok(claims)
}

/// Stock on hand by crop; what other closed days are promised of it, what buyers took of an offer and what a food bank was
/// asked about is not for topping up.
async fn supply_for(farm: &mut Farm<'_>, day: &ClosedDay) -> store::Result<Sums> {
    let is_firm = |holder| matches!(holder, Holder::Taken | Holder::Drop(_));
    let owed = stock::by_crop(stock::owed_beside(farm, day.closed.day, is_firm).await?);
    let mut supply = stock::ready_on(farm, day.closed.day).await?;
    for (crop, ready) in &mut supply {
        let owed = owed.get(crop).copied().unwrap_or_default();
        *ready = ready.less(owed).max(ready.at_most(day.promised_of(crop)));
    }
    Ok(supply)
}
