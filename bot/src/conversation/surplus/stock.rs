//! What is free now. Rule: what is promised, kept for the market, on offer, taken or meant for a food bank is not.

use super::super::Desk;
use scheduler::clock::{LocalDate, UtcSeconds, instant_at};
use scheduler::id::Id;
use scheduler::quantity::Grams;
use scheduler::store::{self, cold_room, deliveries, giving, surplus};
use scheduler::surplus::count::{self, Bound, Count, Purpose, Stock};

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
pub async fn held(desk: &mut Desk<'_>) -> store::Result<Vec<Held>> {
    let (today, zone) = (desk.today(), desk.house.zone());
    let mut held = Vec::new();
    let mut hold = |holder, crop: &str, date: LocalDate, weight| {
        let purpose = if holder == Holder::Market { Purpose::Market } else { Purpose::Promised };
        held.push(Held { holder, bound: Bound { purpose, crop: crop.to_owned(), date: date.max(today), weight } });
    };
    for award in deliveries::awards_owed(&mut desk.tx).await? {
        hold(Holder::Award, &award.crop, award.day, award.promised);
    }
    for kept in surplus::market_holds(&mut desk.tx).await? {
        hold(Holder::Market, &kept.crop, kept.day, kept.grams);
    }
    for offer in surplus::open_offers(&mut desk.tx).await? {
        hold(Holder::Offer, &offer.crop, last_day(offer.collect_until, zone), offer.left);
    }
    for claim in surplus::claims_waiting(&mut desk.tx).await? {
        let until = claim.goes_on().unwrap_or_else(|| last_day(claim.collect_until, zone));
        hold(Holder::Taken, &claim.crop, until, claim.grams);
    }
    for drop in giving::coming_drops(&mut desk.tx).await? {
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
pub async fn counted(desk: &mut Desk<'_>, held: &[Held]) -> store::Result<Stock> {
    let lots = cold_room::lots(&mut desk.tx).await?;
    let lots: Vec<count::Lot> = lots
        .into_iter()
        .map(|lot| count::Lot { id: lot.id, crop: lot.crop, keeps_until: lot.keeps_until, in_cold_room: lot.left })
        .collect();
    let bound: Vec<Bound> = held.iter().map(|one| one.bound.clone()).collect();
    Ok(count::count(&lots, &bound, desk.today()))
}

/// What is free now.
///
/// # Errors
/// Whatever the store fails with.
pub async fn now(desk: &mut Desk<'_>) -> store::Result<Stock> {
    let held = held(desk).await?;
    counted(desk, &held).await
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
pub async fn holds(desk: &mut Desk<'_>, crop: &str, (grams, day): (Grams, LocalDate)) -> store::Result<bool> {
    let lots = cold_room::lots(&mut desk.tx).await?;
    let good = lots.iter().filter(|lot| lot.crop == crop && lot.keeps_until >= day);
    Ok(good.map(|lot| lot.left).sum::<Grams>() >= grams)
}
