//! One restaurant's orders in hand: read once, changed in memory, and only the differences stored. Rule: what is asked of
//! a crop on a day is its standing order's weight on that day and the one-off line on top of it.

use crate::clock::LocalDate;
use crate::delivery::calendar::Calendar;
use crate::farm::asked::read_standing;
use crate::farm::{Crops, Farm, look_soon};
use crate::id::Id;
use crate::orders::recurrence::Error;
use crate::orders::standing::{Call, StandingOrder};
use crate::quantity::Grams;
use crate::store;
use crate::store::orders::{self, OneOff, Standing};
use chrono::Days;
use std::collections::BTreeMap;

/// How far ahead orders are looked at, days.
pub const HORIZON_DAYS: u64 = 400;

/// A standing order, read.
#[derive(Clone, Debug, PartialEq)]
pub struct Kept {
    pub stored: Standing,
    pub order: StandingOrder,
    /// What it means on each of its dates from today to the horizon.
    pub calls: BTreeMap<LocalDate, Call>,
}

/// Everything a restaurant has ordered from today on.
#[derive(Clone, Debug, PartialEq)]
pub struct Book {
    pub buyer_id: Id,
    pub today: LocalDate,
    pub standing: Vec<Kept>,
    /// Standing orders whose stored recurrence cannot be read.
    pub unreadable: Vec<Standing>,
    pub once: BTreeMap<(LocalDate, String), Grams>,
}

/// Where a weight on a day comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Origin {
    /// A standing order of this usual weight.
    Standing {
        usual: Grams,
    },
    Once,
}

/// One weight of one crop on a day.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DayLine {
    pub crop: String,
    pub grams: Grams,
    pub origin: Origin,
}

impl Kept {
    /// # Errors
    /// When its dates cannot be counted.
    pub fn new(stored: Standing, order: StandingOrder, calendar: &Calendar, today: LocalDate) -> Result<Kept, Error> {
        let mut kept = Kept { stored, order, calls: BTreeMap::new() };
        kept.count(calendar, today)?;
        Ok(kept)
    }

    /// Brings the stored form and the calls up to date with the order.
    fn count(&mut self, calendar: &Calendar, today: LocalDate) -> Result<(), Error> {
        let calls = self.order.calls_between(today, horizon(today), calendar)?;
        self.calls = calls.into_iter().collect();
        self.stored.usual = self.order.usual;
        self.stored.recurrence = self.order.recurrence.text().to_owned();
        self.stored.changed = self.order.changed.clone();
        self.stored.paused = self.order.pause.map(|pause| (pause.from, pause.resumes_on));
        Ok(())
    }

    /// Changes the order; one that this would spoil stays as it was.
    pub fn amend(&mut self, calendar: &Calendar, today: LocalDate, change: impl FnOnce(&mut StandingOrder)) {
        let mut amended = self.clone();
        change(&mut amended.order);
        match amended.count(calendar, today) {
            Ok(()) => *self = amended,
            Err(error) => tracing::error!(standing_id = self.stored.id.get(), %error, "standing order not changed"),
        }
    }

    fn weight_on(&self, day: LocalDate) -> Option<Grams> {
        self.calls.get(&day).and_then(|call| call.weight())
    }
}

fn horizon(today: LocalDate) -> LocalDate {
    today.checked_add_days(Days::new(HORIZON_DAYS)).unwrap_or(today)
}

impl Book {
    /// Reads what a restaurant has ordered.
    ///
    /// # Errors
    /// Whatever the store fails with.
    pub async fn read(farm: &mut Farm<'_>, buyer_id: Id) -> store::Result<Book> {
        let today = farm.today();
        let mut book = Book { buyer_id, today, standing: Vec::new(), unreadable: Vec::new(), once: BTreeMap::new() };
        for stored in orders::standing_of_buyer(farm.tx, buyer_id).await? {
            let kept = read_standing(farm.zone(), &stored)
                .and_then(|order| Kept::new(stored.clone(), order, farm.calendar, today));
            match kept {
                Ok(kept) => book.standing.push(kept),
                Err(error) => {
                    tracing::error!(standing_id = stored.id.get(), %error, "standing order cannot be read");
                    book.unreadable.push(stored);
                }
            }
        }
        for line in orders::one_off_of_buyer(farm.tx, buyer_id, today).await? {
            book.once.insert((line.day, line.crop), line.grams);
        }
        Ok(book)
    }

    /// What is asked for a day, in the farm's order of crops, standing orders first.
    pub fn on(&self, day: LocalDate, crops: &Crops) -> Vec<DayLine> {
        let standing = self.standing.iter().filter_map(|kept| {
            let origin = Origin::Standing { usual: kept.order.usual };
            Some(DayLine { crop: kept.stored.crop.clone(), grams: kept.weight_on(day)?, origin })
        });
        let once = self.once.iter().filter(|((of, _), _)| *of == day).map(|((_, crop), grams)| DayLine {
            crop: crop.clone(),
            grams: *grams,
            origin: Origin::Once,
        });
        let mut lines: Vec<DayLine> = standing.chain(once).collect();
        let place = |crop: &str| crops.iter().position(|one| one.key.as_str() == crop).unwrap_or(usize::MAX);
        lines.sort_by_key(|line| (place(&line.crop), line.origin == Origin::Once));
        lines
    }

    /// What standing orders ask of a crop on a day, if any does.
    pub fn standing_on(&self, day: LocalDate, crop: &str) -> Option<Grams> {
        let weights = self.standing.iter().filter(|kept| kept.stored.crop == crop);
        weights.filter_map(|kept| kept.weight_on(day)).reduce(|sum, weight| sum + weight)
    }

    /// What the one-off line asks of a crop on a day.
    pub fn once_on(&self, day: LocalDate, crop: &str) -> Grams {
        self.once.get(&(day, crop.to_owned())).copied().unwrap_or_default()
    }

    /// All that is asked of a crop on a day.
    pub fn total_on(&self, day: LocalDate, crop: &str) -> Grams {
        self.standing_on(day, crop).unwrap_or_default() + self.once_on(day, crop)
    }

    /// Whether a standing order rests on this day.
    pub fn is_paused_on(&self, day: LocalDate) -> bool {
        self.standing.iter().any(|kept| kept.calls.get(&day) == Some(&Call::Paused))
    }

    /// The first date from `from` on for which a standing order asks something.
    pub fn next_of(&self, id: Id, from: LocalDate) -> Option<LocalDate> {
        let kept = self.standing.iter().find(|kept| kept.stored.id == id)?;
        kept.calls.range(from..).find(|(_, call)| call.weight().is_some()).map(|(day, _)| *day)
    }

    /// Puts the one-off line of a crop on a day; zero takes it away.
    pub fn set_once(&mut self, day: LocalDate, crop: &str, grams: Grams) {
        if grams.is_positive() {
            self.once.insert((day, crop.to_owned()), grams);
        } else {
            self.once.remove(&(day, crop.to_owned()));
        }
    }

    /// Makes `total` all that is asked of a crop on a day. What a one-off line can hold goes there; otherwise the
    /// standing order's date is changed, this once.
    pub fn set_total(&mut self, farm: &Farm<'_>, (day, crop): (LocalDate, &str), total: Grams) {
        let calendar = farm.calendar;
        if !total.is_positive() {
            self.skip(calendar, day, crop);
            self.set_once(day, crop, Grams::ZERO);
            return;
        }
        let Some(standing) = self.standing_on(day, crop) else { return self.set_once(day, crop, total) };
        let pack = farm.crops.get(crop).map_or(Grams::new(1), |crop| crop.pack_step);
        if self.once_on(day, crop).is_positive() && total.less(standing) >= pack {
            return self.set_once(day, crop, total.less(standing));
        }
        self.set_once(day, crop, Grams::ZERO);
        let today = self.today;
        let mut is_first = true;
        for kept in self.standing.iter_mut().filter(|kept| kept.stored.crop == crop) {
            if kept.weight_on(day).is_none() {
                continue;
            }
            kept.amend(calendar, today, |order| {
                // Its own date, so neither can say no.
                if !is_first {
                    let _ = order.skip(day);
                } else if total == order.usual {
                    order.changed.remove(&day);
                } else {
                    let _ = order.change(day, total);
                }
            });
            is_first = false;
        }
    }

    /// Leaves a crop's standing orders out on a day, for good.
    fn skip(&mut self, calendar: &Calendar, day: LocalDate, crop: &str) {
        let today = self.today;
        for kept in self.standing.iter_mut().filter(|kept| kept.stored.crop == crop) {
            if kept.weight_on(day).is_some() {
                kept.amend(calendar, today, |order| {
                    let _ = order.skip(day);
                });
            }
        }
    }

    /// Stores what differs from `before`.
    ///
    /// # Errors
    /// Whatever the store fails with.
    pub async fn store(&self, farm: &mut Farm<'_>, before: &Book, by: Id) -> store::Result<()> {
        let mark = (farm.now, Some(by));
        let (was, is) = (before.stored(), self.stored());
        for (id, order) in &is {
            if was.get(id) != Some(order) {
                orders::put_standing(farm.tx, order, mark).await?;
            }
        }
        for id in was.keys().filter(|id| !is.contains_key(id)) {
            orders::end_standing(farm.tx, *id, farm.now).await?;
        }
        for (day, crop) in before.once.keys().chain(self.once.keys()) {
            let grams = self.once_on(*day, crop);
            if before.once_on(*day, crop) != grams {
                let line = OneOff { buyer_id: self.buyer_id, day: *day, crop: crop.clone(), grams };
                orders::put_one_off(farm.tx, &line, mark).await?;
            }
        }
        look_soon::look_soon(farm).await
    }

    /// Every standing order as stored, readable or not.
    pub fn stored(&self) -> BTreeMap<Id, Standing> {
        let all = self.standing.iter().map(|kept| &kept.stored).chain(&self.unreadable);
        all.map(|stored| (stored.id, stored.clone())).collect()
    }
}
