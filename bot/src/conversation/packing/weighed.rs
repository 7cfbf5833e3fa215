//! The morning's stock is known: promises are kept while it lasts, more of it first tops up lines that were cut, and
//! where it does not last it is cut fairly and everybody hears at once.

use crate::conversation::cutoff::share::DaySharing;
use crate::conversation::cutoff::supply;
use crate::conversation::desk::Audience;
use crate::conversation::letter::Patience;
use crate::conversation::shortfall::card::{DayFacts, Occasion};
use crate::conversation::{Desk, Letter};
use crate::wording::Args;
use scheduler::planted::{self, Bug};
use scheduler::quantity::Grams;
use scheduler::store;
use scheduler::store::deliveries::{self, Closed, State, Why};
use std::collections::BTreeMap;

/// Shares the stock on hand for the day and tells whoever it changes something for.
///
/// # Errors
/// Whatever the store fails with.
pub async fn share_stock(desk: &mut Desk<'_>, closed: &Closed) -> store::Result<()> {
    let before = DayFacts::load(desk, closed).await?;
    let supply = supply_for(desk, &before).await?;
    let house = desk.house;
    let open: Vec<_> = before.awards.iter().filter(|award| award.delivered.is_none()).cloned().collect();
    let shares = DaySharing::of(desk, closed.day).await?.again(&supply, &open);
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
        award.promised = given;
        if given >= award.asked && matches!(award.state, State::Taken | State::Silent) {
            award.state = State::Full;
        }
        deliveries::put_award(&mut desk.tx, &award, (why, None), desk.now).await?;
    }
    tell(desk, (&before, closed)).await
}

/// Stock on hand by crop; what other closed days are promised of it is not for topping up.
async fn supply_for(desk: &mut Desk<'_>, facts: &DayFacts) -> store::Result<BTreeMap<String, Grams>> {
    let owed = supply::owed_elsewhere(desk, facts.closed.day).await?;
    let mut supply = supply::ready_on(desk, facts.closed.day).await?;
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
                    .text("crop", house.crops.name(&award.crop, voice))
                    .weight("before", was)
                    .weight("now", award.promised);
                lines.push(voice.say("packing-cut-line", &args));
            }
        }
        Letter::new(lines.join("\n")).patient(Patience::Cannot)
    })
    .await
}
