//! What is asked for one delivery: placed, changed, the same as last time, skipped, withdrawn. Each works out a [`Change`]
//! and stores nothing.

use super::{About, Book, Change, Sums};
use crate::clock::LocalDate;
use crate::farm::Farm;
use crate::quantity::Grams;
use crate::store::deliveries::{self, Source};
use crate::store::{self, orders};
use chrono::Days;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// How far back "last time" may be, days.
const LAST_TIME_DAYS: u64 = 120;

/// How a one-off line goes with a standing order for the same crop and day.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Beside {
    InPlace,
    OnTop,
}

/// What of `sums` a standing order asks already that day: whether the weight is in its place or on top must be said.
pub fn due_beside(book: &Book, day: LocalDate, sums: &Sums) -> Sums {
    sums.keys().filter_map(|crop| Some((crop.clone(), book.standing_on(day, crop)?))).collect()
}

/// Sets the one-off line of each crop; with [`Beside::InPlace`] a standing order's date takes the weight instead.
pub fn place(farm: &Farm<'_>, book: Book, (day, sums): (LocalDate, &Sums), beside: Option<Beside>) -> Change {
    let mut after = book.clone();
    for (crop, grams) in sums {
        if beside == Some(Beside::InPlace) && book.standing_on(day, crop).is_some() {
            after.set_total(farm, (day, crop), *grams);
        } else {
            after.set_once(day, crop, *grams);
        }
    }
    Change { before: book, after, about: About::Day(day) }
}

/// Sets all that is asked of each crop on that day: the standing order's date where one is due, or the one-off line.
pub fn set_totals(farm: &Farm<'_>, book: Book, (day, sums): (LocalDate, &Sums)) -> Change {
    let mut after = book.clone();
    for (crop, grams) in sums {
        after.set_total(farm, (day, crop), *grams);
    }
    Change { before: book, after, about: About::Day(day) }
}

/// Makes a day's crops what they were last time. Other one-off lines go; other standing orders stay.
pub fn same_as_last(farm: &Farm<'_>, book: Book, (day, last): (LocalDate, &Sums)) -> Change {
    let mut after = book.clone();
    for line in book.on(day, farm.crops) {
        if !last.contains_key(&line.crop) {
            after.set_once(day, &line.crop, Grams::ZERO);
        }
    }
    for (crop, grams) in last {
        if after.total_on(day, crop) != *grams {
            after.set_total(farm, (day, crop), *grams);
        }
    }
    Change { before: book, after, about: About::Day(day) }
}

/// What is asked of one crop or of all on a day, standing orders and one-off lines added up.
pub fn asked_of(book: &Book, (day, crop): (LocalDate, Option<&str>), farm: &Farm<'_>) -> Sums {
    let mut sums = Sums::new();
    for line in book.on(day, farm.crops) {
        if crop.is_none_or(|crop| crop == line.crop) {
            *sums.entry(line.crop).or_default() += line.grams;
        }
    }
    sums
}

/// Asks nothing of these crops on a day: standing orders leave the date out, one-off lines go.
pub fn skip(farm: &Farm<'_>, book: Book, (day, sums): (LocalDate, &Sums)) -> Change {
    let none = sums.keys().map(|crop| (crop.clone(), Grams::ZERO)).collect();
    set_totals(farm, book, (day, &none))
}

/// The one-off lines of one crop or of all on a day.
pub fn once_of(book: &Book, (day, crop): (LocalDate, Option<&str>)) -> Sums {
    let is_meant = |(of, its): &(LocalDate, String)| *of == day && crop.is_none_or(|crop| crop == its);
    let lines = book.once.iter().filter(|(key, _)| is_meant(key));
    lines.map(|((_, crop), grams)| (crop.clone(), *grams)).collect()
}

/// Takes these one-off lines back; standing orders stay.
pub fn withdraw(book: Book, (day, sums): (LocalDate, &Sums)) -> Change {
    let mut after = book.clone();
    for crop in sums.keys() {
        after.set_once(day, crop, Grams::ZERO);
    }
    Change { before: book, after, about: About::Day(day) }
}

/// What was asked on the last day before `day` on which anything was: at cut-off as closed, otherwise as it stands.
///
/// # Errors
/// Whatever the store fails with.
pub async fn last_before(farm: &mut Farm<'_>, book: &Book, day: LocalDate) -> store::Result<Option<Sums>> {
    let from = day.checked_sub_days(Days::new(LAST_TIME_DAYS)).unwrap_or(day);
    let mut by_day: BTreeMap<LocalDate, Sums> = BTreeMap::new();
    let mut closed: BTreeMap<LocalDate, Sums> = BTreeMap::new();
    for award in deliveries::awards_of_buyer(farm.tx, book.buyer_id, from).await? {
        let is_order = matches!(award.source, Source::Standing | Source::Once) && award.asked.is_positive();
        if is_order && award.day < day {
            *closed.entry(award.day).or_default().entry(award.crop).or_default() += award.asked;
        }
    }
    for line in orders::one_off_of_buyer(farm.tx, book.buyer_id, from).await? {
        if line.day < day {
            *by_day.entry(line.day).or_default().entry(line.crop).or_default() += line.grams;
        }
    }
    for kept in &book.standing {
        for (date, call) in kept.calls.range(..day) {
            if let Some(grams) = call.weight() {
                *by_day.entry(*date).or_default().entry(kept.stored.crop.clone()).or_default() += grams;
            }
        }
    }
    // A closed day's awards are what was really asked.
    by_day.extend(closed);
    Ok(by_day.pop_last().map(|(_, sums)| sums))
}
