//! The market: what is kept for it, what goes there, what comes back. Rule: promises come first, and no more comes back than
//! went.

use super::event::Event;
use crate::clock::LocalDate;
use crate::farm::stock::{self, Holder};
use crate::farm::{self, Farm};
use crate::id::Id;
use crate::people::Person;
use crate::quantity::Grams;
use crate::store;
use crate::store::cold_room::{self, MoveKind, Movement};
use crate::store::surplus::{self, MarketHold};
use crate::surplus::market::{Return, judge};
use chrono::Datelike;
use std::collections::BTreeMap;

/// How long after it left something may come back from the market. Common practice, no source.
const MARKET_HOURS: i64 = 72;

/// The next market day, today included; `None` where the farm goes to no market.
pub fn next_day(farm: &Farm<'_>) -> Option<LocalDate> {
    farm.today().iter_days().take(7).find(|day| farm.rules.market.weekdays.contains(&day.weekday()))
}

/// How much of a crop is free and keeps until `day`.
///
/// # Errors
/// Whatever the store fails with.
pub async fn free_until(farm: &mut Farm<'_>, crop: &str, day: LocalDate) -> store::Result<Grams> {
    Ok(stock::free_until(&stock::now(farm).await?, crop, day))
}

/// What came of keeping something.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Keeping {
    /// That day is over.
    Past,
    MoreThanFree {
        free: Grams,
    },
    Kept,
}

/// Keeps a weight for a market day.
///
/// # Errors
/// Whatever the store fails with.
pub async fn keep(farm: &mut Farm<'_>, hold: &MarketHold) -> store::Result<Keeping> {
    let free = free_until(farm, &hold.crop, hold.day).await?;
    if hold.day < farm.today() {
        return Ok(Keeping::Past);
    }
    if hold.grams > free || !hold.grams.is_positive() {
        return Ok(Keeping::MoreThanFree { free });
    }
    surplus::hold_for_market(farm.tx, hold).await?;
    Ok(Keeping::Kept)
}

/// Lets go of what is kept for a market day; `false` when less is kept.
///
/// # Errors
/// Whatever the store fails with.
pub async fn release(farm: &mut Farm<'_>, hold: MarketHold) -> store::Result<bool> {
    let holds = surplus::market_holds(farm.tx).await?;
    let kept = holds.iter().find(|kept| kept.day == hold.day && kept.crop == hold.crop);
    if kept.is_none_or(|kept| kept.grams < hold.grams) {
        return Ok(false);
    }
    surplus::hold_for_market(farm.tx, &MarketHold { grams: -hold.grams, ..hold }).await?;
    Ok(true)
}

/// What is kept of a crop for today or an earlier market day.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Due {
    pub crop: String,
    pub kept: Grams,
    /// What the cold room has for it, once what is promised for today has its own.
    pub there: Grams,
}

/// What is kept for today or an earlier day leaves for the market, as far as it is there; nothing when nothing is kept.
///
/// # Errors
/// Whatever the store fails with.
pub async fn leave(farm: &mut Farm<'_>, person: &Person) -> store::Result<Vec<Due>> {
    let today = farm.today();
    let due = due(farm, today).await?;
    carry(farm, Some(person.id), (&due, today)).await?;
    Ok(due)
}

/// What was kept for a market day that is over: it is asked for on the morning after, and counts as having gone there on the
/// next.
///
/// # Errors
/// Whatever the store fails with.
pub(in crate::farm) async fn unsaid(farm: &mut Farm<'_>) -> store::Result<Vec<farm::Event>> {
    let yesterday = farm.today().pred_opt().unwrap_or(farm.today());
    let holds: Vec<MarketHold> = surplus::market_holds(farm.tx).await?;
    let over: Vec<MarketHold> = holds.into_iter().filter(|hold| hold.day <= yesterday).collect();
    if over.is_empty() {
        return Ok(Vec::new());
    }
    if over.iter().any(|hold| hold.day == yesterday) {
        let lines = over.into_iter().map(|hold| (hold.day, hold.crop, hold.grams)).collect();
        return Ok(vec![Event::MarketUnsaid { lines }.into()]);
    }
    let day = over.iter().map(|hold| hold.day).max().unwrap_or(yesterday);
    let due = due(farm, day).await?;
    carry(farm, None, (&due, day)).await?;
    let lines = due.into_iter().filter(|one| one.there.is_positive()).map(|one| (one.crop, one.there)).collect();
    Ok(vec![Event::MarketAssumed { lines }.into()])
}

/// What was kept for `day` or an earlier one, and what of it the cold room has that was good then.
async fn due(farm: &mut Farm<'_>, day: LocalDate) -> store::Result<Vec<Due>> {
    let mut kept: BTreeMap<String, Grams> = BTreeMap::new();
    for hold in surplus::market_holds(farm.tx).await?.into_iter().filter(|hold| hold.day <= day) {
        *kept.entry(hold.crop).or_default() += hold.grams;
    }
    let lots = cold_room::lots(farm.tx).await?;
    let held = stock::held(farm).await?;
    let due = kept.into_iter().map(|(crop, kept)| {
        let good = lots.iter().filter(|lot| lot.crop == crop && lot.keeps_until >= day);
        let is_first = |holder| matches!(holder, Holder::Award | Holder::Taken | Holder::Drop(_));
        let first = held.iter().filter(|one| is_first(one.holder) && one.bound.crop == crop && one.bound.date <= day);
        let there = good.map(|lot| lot.left).sum::<Grams>().less(first.map(|one| one.bound.weight).sum());
        Due { there: there.at_most(kept), crop, kept }
    });
    Ok(due.collect())
}

/// What is due goes to the market as far as it is there, and nothing is kept for those days any more.
async fn carry(farm: &mut Farm<'_>, by: Option<Id>, (due, day): (&[Due], LocalDate)) -> store::Result<()> {
    let movement = Movement { kind: MoveKind::Market, subject: None, person_id: by, now: farm.now };
    for one in due {
        cold_room::take(farm.tx, &one.crop, (one.there, day), &movement).await?;
    }
    for hold in surplus::market_holds(farm.tx).await?.into_iter().filter(|hold| hold.day <= day) {
        surplus::hold_for_market(farm.tx, &MarketHold { grams: -hold.grams, ..hold }).await?;
    }
    Ok(())
}

/// What came of bringing something back.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Back {
    Refused { crop: String, why: Return },
    Done,
}

/// Brings back what was not sold; what was kept for today or earlier counts as having gone there.
///
/// # Errors
/// Whatever the store fails with.
pub async fn bring_back(farm: &mut Farm<'_>, person: &Person, lines: &[(String, Grams)]) -> store::Result<Back> {
    let since = farm.now.plus_minutes(-MARKET_HOURS * 60);
    let today = farm.today();
    let due = due(farm, today).await?;
    for (crop, back) in lines {
        let there: Grams = cold_room::at_market(farm.tx, crop, since).await?.iter().map(|(_, part)| *part).sum();
        let leaving: Grams = due.iter().filter(|one| one.crop == *crop).map(|one| one.there).sum();
        match judge(there + leaving, *back) {
            Return::Accepted { .. } => {}
            why => return Ok(Back::Refused { crop: crop.clone(), why }),
        }
    }
    carry(farm, Some(person.id), (&due, today)).await?;
    let movement = Movement { kind: MoveKind::Returned, subject: None, person_id: Some(person.id), now: farm.now };
    for (crop, back) in lines {
        let mut missing = *back;
        // The first to expire was sold first, so the last to expire comes home.
        for (lot, part) in cold_room::at_market(farm.tx, crop, since).await? {
            let part = part.less(Grams::ZERO).at_most(missing);
            if part.is_positive() {
                cold_room::take_from_lot(farm.tx, lot, -part, &movement).await?;
                missing -= part;
            }
        }
    }
    Ok(Back::Done)
}
