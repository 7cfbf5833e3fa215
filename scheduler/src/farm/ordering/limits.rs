//! What is not taken, and why: crops, weights and days. A refusal carries the limit or what is still possible.

use super::Sums;
use crate::clock::LocalDate;
use crate::delivery::calendar::Delivery;
use crate::farm::{Crops, Farm, Rules};
use crate::orders::amounts::{self, Asked};
use crate::orders::cutoff::{Cutoff, decide};
use crate::quantity::{Amount, Grams, WeightUnit};
use chrono::Days;

/// Days ahead for which an order is taken: within what the book looks at.
const AHEAD_DAYS: u64 = 365;

/// Why a weight of a crop is not taken.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Refused {
    UnknownCrop { crop: String },
    RestingCrop { crop: String },
    TooMuch { crop: String, greatest: Grams },
    TooLittle { crop: String, smallest: Grams },
}

/// Why nothing is taken for a day, with the delivery that is still possible.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NotTaken {
    /// No day was asked for, and no delivery is open.
    NoDelivery,
    Past {
        day: LocalDate,
        next: Option<Delivery>,
    },
    Far {
        day: LocalDate,
        next: Option<Delivery>,
    },
    Closed {
        day: LocalDate,
        next: Option<Delivery>,
    },
    NotADeliveryDay {
        day: LocalDate,
        next: Option<Delivery>,
    },
}

/// Lines by crop, a crop named twice added up.
///
/// # Errors
/// The first line that is not taken.
pub fn lines((crops, rules): (&Crops, &Rules), lines: &[(String, Grams)]) -> Result<Sums, Refused> {
    let mut sums = Sums::new();
    for (crop, grams) in lines {
        // A weight below zero must not hide in a sum.
        weight((crops, rules), crop, *grams)?;
        *sums.entry(crop.clone()).or_default() += *grams;
    }
    for (crop, grams) in &sums {
        weight((crops, rules), crop, *grams)?;
    }
    Ok(sums)
}

/// A weight of a crop as one line.
///
/// # Errors
/// Why it is not taken.
pub fn weight((crops, rules): (&Crops, &Rules), crop: &str, grams: Grams) -> Result<Grams, Refused> {
    let Some(known) = crops.get(crop) else { return Err(Refused::UnknownCrop { crop: crop.to_owned() }) };
    if crops.is_resting(crop) {
        return Err(Refused::RestingCrop { crop: crop.to_owned() });
    }
    let amount = Amount { numerator: grams.get(), denominator: 1 };
    judged(rules, (crop, known.pack_step), amounts::judge(amount, WeightUnit::Gram, known.pack_step))
}

/// What a judged amount of a crop, sold in packs of `smallest`, comes to.
///
/// # Errors
/// Why it is not taken.
pub fn judged(rules: &Rules, (crop, smallest): (&str, Grams), asked: Asked) -> Result<Grams, Refused> {
    let (crop, greatest) = (crop.to_owned(), rules.orders.greatest_line());
    match asked {
        Asked::Accepted(grams) if grams <= greatest => Ok(grams),
        Asked::Accepted(_) | Asked::AboveGreatest { .. } => Err(Refused::TooMuch { crop, greatest }),
        Asked::BelowSmallest { .. } | Asked::NotAnAmount => Err(Refused::TooLittle { crop, smallest }),
    }
}

/// The delivery that orders are taken for: on `day`, or the next one that is open.
///
/// # Errors
/// Why nothing is taken for that day.
pub fn open_delivery(farm: &Farm<'_>, day: Option<LocalDate>) -> Result<Delivery, NotTaken> {
    let (calendar, now, today) = (farm.calendar, farm.now, farm.today());
    let next = calendar.next_open_delivery(now);
    let Some(day) = day else { return next.ok_or(NotTaken::NoDelivery) };
    if day < today {
        return Err(NotTaken::Past { day, next });
    }
    if today.checked_add_days(Days::new(AHEAD_DAYS)).is_some_and(|last| day > last) {
        return Err(NotTaken::Far { day, next });
    }
    match decide(calendar, day, now) {
        Cutoff::Open(delivery) => Ok(delivery),
        Cutoff::Closed { next, .. } => Err(NotTaken::Closed { day, next }),
        Cutoff::NotADeliveryDay { next } => Err(NotTaken::NotADeliveryDay { day, next }),
    }
}
