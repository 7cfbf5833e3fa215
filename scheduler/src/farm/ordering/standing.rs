//! Standing orders: begun, given another usual weight, resting, ended. Each works out a [`Change`] and stores nothing. Rule: a new
//! one takes the place of those for the same crop on the same dates, from its first delivery on.

use super::book::Kept;
use super::{About, Book, Change, Sums};
use crate::clock::LocalDate;
use crate::delivery::calendar::Delivery;
use crate::farm::Farm;
use crate::id::Id;
use crate::orders::recurrence::{Error, Recurrence, Rhythm};
use crate::orders::standing::{Pause, StandingOrder};
use crate::quantity::Grams;
use crate::store::orders::Standing;
use chrono::{Datelike, Weekday};
use std::collections::BTreeMap;

/// Deliveries looked at for the first one of a new standing order: a year of daily ones.
const DELIVERIES_LOOKED_AT: usize = 366;

/// When a new standing order is due.
#[derive(Clone, Debug)]
pub struct Dates {
    pub every_weeks: u16,
    pub weekdays: Vec<Weekday>,
    /// The first delivery still open on or after it; without it, the next.
    pub from: Option<LocalDate>,
    pub until: Option<LocalDate>,
}

/// Why no standing order begins on these dates.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoDates {
    Past {
        from: LocalDate,
    },
    /// No delivery of these weekdays comes within a year.
    Far {
        from: LocalDate,
    },
    /// It would end before it begins.
    UntilEarly,
}

/// The first delivery of a new standing order.
///
/// # Errors
/// What is wrong with its dates.
pub fn first_delivery(farm: &Farm<'_>, dates: &Dates) -> Result<Delivery, NoDates> {
    let from = dates.from.unwrap_or(farm.today());
    if from < farm.today() {
        return Err(NoDates::Past { from });
    }
    let fits =
        |one: &Delivery| one.date >= from && one.is_open(farm.now) && dates.weekdays.contains(&one.date.weekday());
    let coming = farm.calendar.upcoming(farm.now, DELIVERIES_LOOKED_AT);
    let first = coming.into_iter().find(fits).ok_or(NoDates::Far { from })?;
    if dates.until.is_some_and(|until| until < first.date) {
        return Err(NoDates::UntilEarly);
    }
    Ok(first)
}

/// A new standing order for each crop, from `first` on; with those it takes the place of.
///
/// # Errors
/// When no rule can be made of the dates.
pub fn begin(
    farm: &Farm<'_>,
    before: Book,
    (dates, sums, first): (&Dates, &Sums, LocalDate),
) -> Result<(Change, Vec<Kept>), Error> {
    let today = before.today;
    let (every_weeks, weekdays) = (dates.every_weeks, dates.weekdays.clone());
    let recurrence = Recurrence::of(&Rhythm { every_weeks, weekdays, from: first, until: dates.until }, farm.zone())?;
    let (mut after, mut replaced) = (before.clone(), Vec::new());
    for (crop, grams) in sums {
        let order =
            StandingOrder { recurrence: recurrence.clone(), usual: *grams, changed: BTreeMap::new(), pause: None };
        let stored = Standing {
            id: farm.new_id(),
            buyer_id: before.buyer_id,
            crop: crop.clone(),
            usual: *grams,
            recurrence: recurrence.text().to_owned(),
            changed: BTreeMap::new(),
            paused: None,
        };
        let fresh = Kept::new(stored, order, farm.calendar, today)?;
        let meets = |kept: &Kept| {
            kept.stored.crop == *crop && kept.calls.range(first..).any(|(day, _)| fresh.calls.contains_key(day))
        };
        let mut stays = Vec::new();
        for mut kept in std::mem::take(&mut after.standing) {
            if !meets(&kept) {
                stays.push(kept);
                continue;
            }
            replaced.push(kept.clone());
            let has_dates_before = kept.calls.range(..first).next().is_some();
            if let Some(last) = first.pred_opt().filter(|_| has_dates_before) {
                kept.amend(farm.calendar, today, |order| {
                    // It has a date before, so it starts before.
                    let _ = order.end(last);
                });
                stays.push(kept);
            }
        }
        stays.push(fresh);
        after.standing = stays;
    }
    Ok((Change { before, after, about: About::Standing }, replaced))
}

/// Another usual weight, from the next delivery still open; `None` when the order is not there any more.
pub fn set_usual(farm: &Farm<'_>, before: Book, (id, to): (Id, Grams)) -> Option<Change> {
    let mut after = before.clone();
    let kept = after.standing.iter_mut().find(|kept| kept.stored.id == id)?;
    kept.amend(farm.calendar, before.today, |order| order.usual = to);
    Some(Change { before, after, about: About::Order(id) })
}

/// Rests every standing order, or lets it go on with `None`.
pub fn rest(farm: &Farm<'_>, before: Book, pause: Option<Pause>) -> Change {
    let mut after = before.clone();
    for kept in &mut after.standing {
        kept.amend(farm.calendar, before.today, |order| order.pause = pause);
    }
    Change { before, after, about: About::Standing }
}

/// Ends the standing orders that are meant, those that cannot be read too.
pub fn end(before: Book, is_meant: impl Fn(&Standing) -> bool) -> Change {
    let mut after = before.clone();
    after.standing.retain(|kept| !is_meant(&kept.stored));
    after.unreadable.retain(|stored| !is_meant(stored));
    Change { before, after, about: About::Standing }
}
