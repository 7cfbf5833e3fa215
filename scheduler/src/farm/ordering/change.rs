//! A change of a restaurant's orders: stored, kept for undoing. Rule: undoing puts back exactly what the change touched,
//! and only while that is still as the change left it and orders are open.

use super::Book;
use super::book::Kept;
use crate::clock::{LocalDate, UtcSeconds};
use crate::farm::Farm;
use crate::farm::asked::read_standing;
use crate::farm::event::{Event, OrdersChanged};
use crate::id::Id;
use crate::quantity::Grams;
use crate::store;
use crate::store::orders::{self, Standing};
use serde::{Deserialize, Serialize};

/// Steps by one person on one day within this time are undone together.
pub const BURST_SECONDS: i64 = 10 * 60;
/// Deliveries looked at for the first one a change touches.
const DELIVERIES_LOOKED_AT: usize = 60;

/// What a change is about, and so what is said back.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum About {
    Day(LocalDate),
    /// A day, by one of many small steps.
    Step(LocalDate),
    /// One standing order, by one of many small steps.
    Order(Id),
    Standing,
}

/// A change, worked out and not yet stored.
#[derive(Clone, Debug)]
pub struct Change {
    pub before: Book,
    pub after: Book,
    pub about: About,
}

/// What came of a change.
#[derive(Clone, Debug)]
pub enum Changed {
    /// It would have changed nothing.
    AsItWas { book: Book },
    /// It is stored; `undo` names it for undoing.
    Done { book: Book, undo: Id, events: Vec<Event> },
}

/// What came of undoing.
#[derive(Clone, Debug)]
pub enum Undone {
    /// There is nothing to take back.
    Nothing,
    /// Another change was made since.
    Overtaken,
    /// Orders are closed.
    Closed,
    Done {
        book: Book,
        about: About,
        events: Vec<Event>,
    },
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
struct StandingWas {
    id: Id,
    before: Option<Standing>,
    after: Option<Standing>,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
struct OnceWas {
    day: LocalDate,
    crop: String,
    before: Grams,
    after: Grams,
}

/// What is kept for undoing: only what the change touched.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
struct Record {
    change: Id,
    by: Id,
    about: About,
    /// When orders close for the first delivery that the change touches.
    closes_at: Option<UtcSeconds>,
    standing: Vec<StandingWas>,
    once: Vec<OnceWas>,
}

/// Stores a change.
///
/// # Errors
/// Whatever the store fails with.
pub async fn store(farm: &mut Farm<'_>, by: Id, change: Change) -> store::Result<Changed> {
    if change.before == change.after {
        return Ok(Changed::AsItWas { book: change.after });
    }
    change.after.store(farm, &change.before, by).await?;
    let undo = keep(farm, by, &change).await?;
    let events = vec![changed((by, change.about), &change.after, false)];
    Ok(Changed::Done { book: change.after, undo, events })
}

fn changed((by, about): (Id, About), book: &Book, is_undone: bool) -> Event {
    Event::OrdersChanged(OrdersChanged { by, about, is_undone, book: book.clone() })
}

async fn keep(farm: &mut Farm<'_>, by: Id, change: &Change) -> store::Result<Id> {
    let (before, after, about) = (&change.before, &change.after, change.about);
    let (was, is) = (before.stored(), after.stored());
    let mut ids: Vec<Id> = was.keys().chain(is.keys()).copied().collect();
    ids.sort_unstable();
    ids.dedup();
    let standing = ids.into_iter().filter(|id| was.get(id) != is.get(id));
    let standing = standing.map(|id| StandingWas { id, before: was.get(&id).cloned(), after: is.get(&id).cloned() });
    let mut lines: Vec<&(LocalDate, String)> = before.once.keys().chain(after.once.keys()).collect();
    lines.sort_unstable();
    lines.dedup();
    let once = lines.into_iter().map(|(day, crop)| OnceWas {
        day: *day,
        crop: crop.clone(),
        before: before.once_on(*day, crop),
        after: after.once_on(*day, crop),
    });
    let mut record = Record {
        change: farm.new_id(),
        by,
        about,
        closes_at: None,
        standing: standing.collect(),
        once: once.filter(|line| line.before != line.after).collect(),
    };
    record.closes_at = first_closing(farm, (before, after), &record.once);
    let earlier = orders::take_undo(farm.tx, before.buyer_id).await?;
    if let Some((text, made_at)) = earlier {
        let earlier: Option<Record> = serde_json::from_str(&text).ok();
        let is_burst = |earlier: &Record| {
            matches!(about, About::Step(_) | About::Order(_))
                && earlier.about == about
                && earlier.by == by
                && farm.now.since(made_at) < BURST_SECONDS
        };
        if let Some(earlier) = earlier.filter(is_burst) {
            record = merged(earlier, record);
        }
    }
    let text = serde_json::to_string(&record).expect("a record has string keys only");
    orders::put_undo(farm.tx, before.buyer_id, &text, farm.now).await?;
    Ok(record.change)
}

fn first_closing(farm: &Farm<'_>, (before, after): (&Book, &Book), once: &[OnceWas]) -> Option<UtcSeconds> {
    let crops = farm.crops;
    let coming = farm.calendar.upcoming(farm.now, DELIVERIES_LOOKED_AT);
    let touched = coming.into_iter().filter(|delivery| delivery.is_open(farm.now));
    let standing = touched.filter(|one| before.on(one.date, crops) != after.on(one.date, crops));
    let standing = standing.filter_map(|delivery| delivery.cutoff_at);
    let once = once.iter().filter_map(|line| farm.calendar.cutoff_for(line.day));
    standing.chain(once).min()
}

/// The later change with what was before the earlier one.
fn merged(earlier: Record, later: Record) -> Record {
    let mut record = later;
    record.closes_at = earlier.closes_at.into_iter().chain(record.closes_at).min();
    for was in earlier.standing {
        match record.standing.iter_mut().find(|one| one.id == was.id) {
            Some(one) => one.before = was.before,
            None => record.standing.push(was),
        }
    }
    for was in earlier.once {
        match record.once.iter_mut().find(|one| (one.day, &one.crop) == (was.day, &was.crop)) {
            Some(one) => one.before = was.before,
            None => record.once.push(was),
        }
    }
    record
}

/// Takes the last change of a restaurant back; `change` names it, so that a button never takes back a later one.
///
/// # Errors
/// Whatever the store fails with.
pub async fn undo(farm: &mut Farm<'_>, (by, before): (Id, &Book), change: Option<Id>) -> store::Result<Undone> {
    let kept = orders::take_undo(farm.tx, before.buyer_id).await?;
    let record = kept.as_ref().and_then(|(text, _)| serde_json::from_str::<Record>(text).ok());
    let (Some((text, made_at)), Some(record)) = (kept, record) else { return Ok(Undone::Nothing) };
    if change.is_some_and(|change| change != record.change) {
        orders::put_undo(farm.tx, before.buyer_id, &text, made_at).await?;
        return Ok(Undone::Overtaken);
    }
    if record.closes_at.is_some_and(|closes_at| closes_at <= farm.now) {
        return Ok(Undone::Closed);
    }
    let Some(book) = put_back(farm, before, &record) else { return Ok(Undone::Overtaken) };
    book.store(farm, before, by).await?;
    let events = vec![changed((by, record.about), &book, true)];
    Ok(Undone::Done { book, about: record.about, events })
}

/// What a restaurant ordered last for a day, while the change that did it can still be taken back.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Last {
    pub day: LocalDate,
    /// One-off lines as the change left them, nothing that it took away.
    pub lines: Vec<(String, Grams)>,
    pub made_at: UtcSeconds,
}

/// The last change of a day's orders, if the last change was one.
///
/// # Errors
/// Whatever the store fails with.
pub async fn last(farm: &mut Farm<'_>, buyer_id: Id) -> store::Result<Option<Last>> {
    let Some((text, made_at)) = orders::undo_kept(farm.tx, buyer_id).await? else { return Ok(None) };
    let Ok(record) = serde_json::from_str::<Record>(&text) else { return Ok(None) };
    let (About::Day(day) | About::Step(day)) = record.about else { return Ok(None) };
    let once = record.once.iter().filter(|line| line.day == day && line.after.is_positive());
    let lines = once.map(|line| (line.crop.clone(), line.after)).collect();
    Ok(Some(Last { day, lines, made_at }))
}

/// The book as it was before; `None` when something has changed since.
fn put_back(farm: &Farm<'_>, now: &Book, record: &Record) -> Option<Book> {
    let mut book = now.clone();
    let stored = now.stored();
    for was in &record.standing {
        if stored.get(&was.id) != was.after.as_ref() {
            return None;
        }
        book.standing.retain(|kept| kept.stored.id != was.id);
        book.unreadable.retain(|one| one.id != was.id);
        let Some(before) = &was.before else { continue };
        let kept = read_standing(farm.zone(), before)
            .and_then(|order| Kept::new(before.clone(), order, farm.calendar, book.today));
        match kept {
            Ok(kept) => book.standing.push(kept),
            Err(_) => book.unreadable.push(before.clone()),
        }
    }
    book.standing.sort_by_key(|kept| kept.stored.id);
    for was in &record.once {
        if now.once_on(was.day, &was.crop) != was.after {
            return None;
        }
        book.set_once(was.day, &was.crop, was.before);
    }
    Some(book)
}
