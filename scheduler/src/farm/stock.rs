//! What lies in the cold room, who it is spoken for by, and what is free. The one place where this is worked out. Rule: what
//! is promised, kept for the market, on offer, taken or meant for a food bank is not free.

use super::Farm;
use crate::allotment::Owed;
use crate::clock::{LocalDate, UtcSeconds, instant_at};
use crate::id::Id;
use crate::quantity::Grams;
use crate::store::{self, cold_room, deliveries, giving, surplus};
use crate::surplus::count::{self, Bound, Count, Purpose, Stock};
use std::collections::BTreeMap;

/// What a weight of the cold room is spoken for by, as the family reads it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Holder {
    Award,
    Market,
    /// On offer: an order that needs it comes first.
    Offer,
    /// Taken from an offer and not collected: it is theirs.
    Taken,
    Drop(Id),
}

/// A weight that is spoken for.
#[derive(Clone, Debug)]
pub struct Held {
    pub holder: Holder,
    pub bound: Bound,
}

/// Everything that is spoken for.
///
/// # Errors
/// Whatever the store fails with.
pub async fn held(farm: &mut Farm<'_>) -> store::Result<Vec<Held>> {
    let (today, zone) = (farm.today(), farm.zone());
    let mut held = Vec::new();
    let mut hold = |holder, crop: &str, date: LocalDate, weight| {
        let purpose = if holder == Holder::Market { Purpose::Market } else { Purpose::Promised };
        held.push(Held { holder, bound: Bound { purpose, crop: crop.to_owned(), date: date.max(today), weight } });
    };
    for award in deliveries::awards_owed(farm.tx).await? {
        hold(Holder::Award, &award.crop, award.day, award.promised);
    }
    for kept in surplus::market_holds(farm.tx).await? {
        hold(Holder::Market, &kept.crop, kept.day, kept.grams);
    }
    for offer in surplus::open_offers(farm.tx).await? {
        hold(Holder::Offer, &offer.crop, last_day(offer.collect_until, zone), offer.left);
    }
    for claim in surplus::claims_waiting(farm.tx).await? {
        let until = claim.goes_on().unwrap_or_else(|| last_day(claim.collect_until, zone));
        hold(Holder::Taken, &claim.crop, until, claim.grams);
    }
    for drop in giving::coming_drops(farm.tx).await? {
        for line in &drop.lines {
            hold(Holder::Drop(drop.id), &line.crop, drop.window.opens_at.local_date(zone), line.grams);
        }
    }
    Ok(held)
}

/// The last local day before `until`: the end of a day is the first instant of the next.
fn last_day(until: UtcSeconds, zone: chrono_tz::Tz) -> LocalDate {
    until.plus_seconds(-1).local_date(zone)
}

/// The first instant after a local day.
pub fn end_of(day: LocalDate, zone: chrono_tz::Tz) -> UtcSeconds {
    instant_at(day.succ_opt().unwrap_or(day), chrono::NaiveTime::MIN, zone)
}

/// Counts the cold room against what is spoken for.
///
/// # Errors
/// Whatever the store fails with.
pub async fn counted(farm: &mut Farm<'_>, held: &[Held]) -> store::Result<Stock> {
    let lots = cold_room::lots(farm.tx).await?;
    let lots: Vec<count::Lot> = lots
        .into_iter()
        .map(|lot| count::Lot { id: lot.id, crop: lot.crop, keeps_until: lot.keeps_until, in_cold_room: lot.left })
        .collect();
    let bound: Vec<Bound> = held.iter().map(|one| one.bound.clone()).collect();
    Ok(count::count(&lots, &bound, farm.today()))
}

/// What is free now.
///
/// # Errors
/// Whatever the store fails with.
pub async fn now(farm: &mut Farm<'_>) -> store::Result<Stock> {
    let held = held(farm).await?;
    counted(farm, &held).await
}

/// The lots of a crop with something free that keep until `day`, first to expire first.
pub fn free_lots<'s>(stock: &'s Stock, crop: &'s str, day: LocalDate) -> impl Iterator<Item = &'s Count> {
    stock.lots.iter().filter(move |lot| lot.crop == crop && lot.free.is_positive() && lot.keeps_until >= day)
}

/// How much of a crop is free and keeps until `day`.
pub fn free_until(stock: &Stock, crop: &str, day: LocalDate) -> Grams {
    free_lots(stock, crop, day).map(|lot| lot.free).sum()
}

/// Whether the cold room holds so much of a crop, whoever it is for, that is good on `day`.
///
/// # Errors
/// Whatever the store fails with.
pub async fn holds(farm: &mut Farm<'_>, crop: &str, (grams, day): (Grams, LocalDate)) -> store::Result<bool> {
    let lots = cold_room::lots(farm.tx).await?;
    let good = lots.iter().filter(|lot| lot.crop == crop && lot.keeps_until >= day);
    Ok(good.map(|lot| lot.left).sum::<Grams>() >= grams)
}

/// What lies in the cold room and may go out on `day`, by crop.
///
/// # Errors
/// Whatever the store fails with.
pub async fn ready_on(farm: &mut Farm<'_>, day: LocalDate) -> store::Result<BTreeMap<String, Grams>> {
    let mut ready: BTreeMap<String, Grams> = BTreeMap::new();
    for lot in cold_room::lots(farm.tx).await? {
        if lot.ready_on <= day && day <= lot.keeps_until {
            *ready.entry(lot.crop).or_default() += lot.left;
        }
    }
    Ok(ready)
}

/// What may not be promised anew on `day`: what other days from today on are still promised, and of everything else that is
/// spoken for what `counts`. A promise already made comes before all but the other promises.
///
/// # Errors
/// Whatever the store fails with.
pub async fn owed_beside(
    farm: &mut Farm<'_>,
    day: LocalDate,
    counts: impl Fn(Holder) -> bool,
) -> store::Result<Vec<Owed>> {
    let today = farm.today();
    let awards = deliveries::awards_owed(farm.tx).await?.into_iter();
    let elsewhere = awards.filter(|award| award.day >= today && award.day != day);
    let mut owed: Vec<Owed> =
        elsewhere.map(|award| Owed { crop: award.crop, day: award.day, grams: award.promised }).collect();
    let others = held(farm).await?.into_iter().filter(|held| held.holder != Holder::Award && counts(held.holder));
    owed.extend(others.map(|held| Owed { crop: held.bound.crop, day: held.bound.date, grams: held.bound.weight }));
    Ok(owed)
}

/// Weights by crop, summed.
pub fn by_crop(owed: Vec<Owed>) -> BTreeMap<String, Grams> {
    let mut sums: BTreeMap<String, Grams> = BTreeMap::new();
    for one in owed {
        *sums.entry(one.crop).or_default() += one.grams;
    }
    sums
}
