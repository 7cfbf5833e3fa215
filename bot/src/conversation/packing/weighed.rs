//! The morning's stock is known: promises are kept while it lasts, more of it first tops up lines that were cut, and
//! where it does not last it is cut fairly and everybody hears at once. What changes the cold room before the crates are
//! packed, such as a pick taken back or entered late, has it shared again.

use super::list;
use crate::conversation::audience::Audience;
use crate::conversation::cutoff::share::DaySharing;
use crate::conversation::letter::Patience;
use crate::conversation::shortfall::card::{DayFacts, Occasion};
use crate::conversation::{Desk, Letter};
use crate::wording::Args;
use scheduler::farm::stock::{self, Holder};
use scheduler::farm::surplus::offering;
use scheduler::planted::{self, Bug};
use scheduler::quantity::Grams;
use scheduler::store;
use scheduler::store::deliveries::{self, Award, Closed, State, Why};
use std::collections::BTreeMap;

/// Shares the stock on hand for the day for the first time and tells whoever it changes something for.
///
/// # Errors
/// Whatever the store fails with.
pub async fn share_first(desk: &mut Desk<'_>, closed: &Closed) -> store::Result<()> {
    deliveries::mark_shared(&mut desk.tx, closed.day, desk.now).await?;
    share_stock(desk, closed).await?;
    Ok(())
}

/// Shares the stock of today's delivery again where this transaction has changed the cold room, it was shared before, and
/// no crate is packed or handed over yet; the family gets the list as it is then.
///
/// # Errors
/// Whatever the store fails with.
pub async fn share_again(desk: &mut Desk<'_>) -> store::Result<()> {
    if !desk.tx.is_stock_moved() || planted::is_on(Bug::ShareOnce) {
        return Ok(());
    }
    let today = desk.today();
    let Some(closed) = deliveries::on(&mut desk.tx, today).await? else { return Ok(()) };
    if closed.shared_at.is_none() || closed.packed_at.is_some() || closed.delivered_at.is_some() {
        return Ok(());
    }
    let awards = deliveries::awards_on(&mut desk.tx, today).await?;
    if awards.iter().all(|award| award.delivered.is_none()) && share_stock(desk, &closed).await? {
        list::tell(desk, closed).await?;
    }
    Ok(())
}

/// Shares the stock on hand for the day and tells whoever it changes something for; whether it changed anything.
async fn share_stock(desk: &mut Desk<'_>, closed: &Closed) -> store::Result<bool> {
    let before = DayFacts::load(desk, closed).await?;
    let supply = supply_for(desk, &before).await?;
    let house = desk.house;
    let open: Vec<_> = before.awards.iter().filter(|award| award.delivered.is_none()).cloned().collect();
    let claims = capped(desk, &open).await?;
    let shares = DaySharing::of(desk, closed.day).await?.again(&supply, &claims);
    let mut is_changed = false;
    for mut award in open {
        let mut given = shares.get(&award.id).copied().unwrap_or_default();
        if planted::is_on(Bug::LowerPromise) {
            let pack = house.crops.get(&award.crop).map_or(Grams::ZERO, |crop| crop.pack_step);
            given = given.less(pack).less(pack);
        }
        let why = match given.cmp(&award.promised) {
            std::cmp::Ordering::Equal => continue,
            std::cmp::Ordering::Less => Why::Weighed,
            std::cmp::Ordering::Greater => Why::ToppedUp,
        };
        is_changed = true;
        award.promised = given;
        if given >= award.asked && matches!(award.state, State::Taken | State::Silent) {
            award.state = State::Full;
        }
        deliveries::put_award(&mut desk.tx, &award, (why, None), desk.now).await?;
    }
    let events = offering::make_room(&mut desk.farm(), closed.day).await?;
    desk.happened(events);
    tell(desk, (&before, closed)).await?;
    Ok(is_changed)
}

/// The lines as sharing sees them: what somebody has said is packed is all that such a line asks for.
async fn capped(desk: &mut Desk<'_>, open: &[Award]) -> store::Result<Vec<Award>> {
    let mut claims = Vec::with_capacity(open.len());
    for award in open {
        let history = deliveries::history_of(&mut desk.tx, award.id).await?;
        let packed = history.iter().rev().find(|(_, _, why)| *why == Why::Packed).map(|(_, grams, _)| *grams);
        claims.push(Award { asked: packed.unwrap_or(award.asked), ..award.clone() });
    }
    Ok(claims)
}

/// Stock on hand by crop; what other closed days are promised of it, what buyers took of an offer and what a food bank was
/// asked about is not for topping up.
async fn supply_for(desk: &mut Desk<'_>, facts: &DayFacts) -> store::Result<BTreeMap<String, Grams>> {
    let day = facts.closed.day;
    let is_theirs = |holder| matches!(holder, Holder::Taken | Holder::Drop(_));
    let owed = stock::by_crop(stock::owed_beside(&mut desk.farm(), day, is_theirs).await?);
    let mut supply = stock::ready_on(&mut desk.farm(), day).await?;
    for (crop, ready) in &mut supply {
        let owed = owed.get(crop).copied().unwrap_or_default();
        *ready = ready.less(owed).max(ready.at_most(facts.promised_of(crop)));
    }
    Ok(supply)
}

async fn tell(desk: &mut Desk<'_>, (before, closed): (&DayFacts, &Closed)) -> store::Result<()> {
    let house = desk.house;
    let after = DayFacts::load(desk, closed).await?;
    let mut is_cut = false;
    for buyer_id in after.buyer_ids() {
        let (was, is) = (before.of_buyer(house, buyer_id), after.of_buyer(house, buyer_id));
        let occasion = if is.is_worse_than(&was) {
            is_cut = true;
            Occasion::Less
        } else if is.is_better_than(&was) {
            Occasion::Better
        } else {
            continue;
        };
        desk.tell_buyer(buyer_id, |voice| is.write(house, voice, &occasion).at_end()).await?;
    }
    if !is_cut {
        return Ok(());
    }
    desk.tell_family(Audience::Everyone, |voice| {
        let mut lines = vec![voice.say("packing-cut", &Args::new().date("day", closed.day))];
        for award in &after.awards {
            let was = before.awards.iter().find(|other| other.id == award.id).map_or(Grams::ZERO, |was| was.promised);
            if award.promised < was {
                let args = Args::new()
                    .text("buyer", after.name_of(award.buyer_id))
                    .text("crop", house.crop_name(&award.crop, voice))
                    .weight("before", was)
                    .weight("now", award.promised);
                lines.push(voice.say("packing-cut-line", &args));
            }
        }
        Letter::new(lines.join("\n")).patient(Patience::Cannot)
    })
    .await
}
