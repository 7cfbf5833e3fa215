//! Several changes at once, of one or more days or of standing orders: so much more or less of a crop, another weight, none of
//! it. Worked out as the weights that come of them, so that they can be said back beside what is there.

use super::book::Book;
use super::limits::{self, Refused};
use super::{About, Change, Sums, day};
use crate::clock::LocalDate;
use crate::farm::Farm;
use crate::quantity::Grams;
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;

/// What is to become of a crop.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum How {
    /// So much in all.
    Set(Grams),
    More(Grams),
    /// At most all there is.
    Less(Grams),
    Nothing,
}

impl How {
    fn of(self, now: Grams) -> Grams {
        match self {
            How::Set(grams) => grams,
            How::More(grams) => now + grams,
            How::Less(grams) => now.less(grams),
            How::Nothing => Grams::ZERO,
        }
    }
}

/// One crop of one day.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Edit {
    pub day: LocalDate,
    /// Everything asked for that day where left out.
    pub crop: Option<String>,
    pub how: How,
}

/// What a crop is and will be on a day.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Becomes {
    pub day: LocalDate,
    pub crop: String,
    pub was: Grams,
    pub will: Grams,
}

/// The change that the edits make together, and what becomes of each crop.
///
/// # Errors
/// The first weight that is not taken.
pub fn edited(farm: &Farm<'_>, book: Book, edits: &[Edit]) -> Result<(Change, Vec<Becomes>), Refused> {
    let mut after = book.clone();
    let mut lines: Vec<Becomes> = Vec::new();
    for edit in edits {
        let crops: Vec<String> = match &edit.crop {
            Some(crop) => vec![crop.clone()],
            None => day::asked_of(&after, (edit.day, None), farm).into_keys().collect(),
        };
        for crop in crops {
            let now = after.total_on(edit.day, &crop);
            let will = edit.how.of(now);
            if will.is_positive() {
                limits::weight((farm.crops, farm.rules), &crop, will)?;
            }
            after.set_total(farm, (edit.day, &crop), will);
            match lines.iter_mut().find(|line| line.day == edit.day && line.crop == crop) {
                Some(line) => line.will = will,
                None => lines.push(Becomes { day: edit.day, crop, was: now, will }),
            }
        }
    }
    let first = edits.iter().map(|edit| edit.day).min().unwrap_or(book.today);
    Ok((Change { before: book, after, about: About::Day(first) }, lines))
}

/// The days that edits touch, in order.
pub fn days(edits: &[Edit]) -> BTreeSet<LocalDate> {
    edits.iter().map(|edit| edit.day).collect()
}

/// What standing orders become; `None` where a crop has none, or several.
pub fn standing(farm: &Farm<'_>, book: Book, edits: &[(String, How)]) -> Result<Option<Change>, Refused> {
    let mut after = book.clone();
    for (crop, how) in edits {
        let mut own = after.standing.iter_mut().filter(|kept| kept.stored.crop == *crop);
        let (Some(kept), None) = (own.next(), own.next()) else { return Ok(None) };
        let will = how.of(kept.order.usual);
        if will.is_positive() {
            limits::weight((farm.crops, farm.rules), crop, will)?;
            kept.amend(farm.calendar, book.today, |order| order.usual = will);
        } else {
            after.standing.retain(|kept| kept.stored.crop != *crop);
        }
    }
    Ok(Some(Change { before: book, after, about: About::Standing }))
}

/// Where two crops change places on a day: so much of the one, all where no weight is given, becomes so much of the other.
pub fn swap(book: &Book, day: LocalDate, (from, to): (&str, &str), grams: Option<(Side, Grams)>) -> Vec<Edit> {
    let there = book.total_on(day, from);
    let (less, more) = match grams {
        None => (How::Nothing, How::More(there)),
        Some((Side::From, grams)) => (How::Less(grams), How::More(grams.min(there))),
        Some((Side::To, grams)) => (How::Nothing, How::More(grams)),
    };
    let edit = |crop: &str, how| Edit { day, crop: Some(crop.to_owned()), how };
    vec![edit(from, less), edit(to, more)]
}

/// Beside which of the two crops a weight was given.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Side {
    From,
    To,
}

/// The usual of a day, with changes: where a standing order is due, what is asked that day; otherwise what was asked last.
pub fn usual(
    farm: &Farm<'_>,
    book: Book,
    (day, last): (LocalDate, &Sums),
    edits: &[(String, How)],
) -> Result<(Change, Vec<Becomes>), Refused> {
    let is_due = farm.crops.iter().any(|crop| book.standing_on(day, crop.key.as_str()).is_some());
    let base = if is_due {
        Vec::new()
    } else {
        last.iter().map(|(crop, grams)| Edit { day, crop: Some(crop.clone()), how: How::Set(*grams) }).collect()
    };
    let changes = edits.iter().map(|(crop, how)| Edit { day, crop: Some(crop.clone()), how: *how });
    edited(farm, book, &base.into_iter().chain(changes).collect::<Vec<_>>())
}
