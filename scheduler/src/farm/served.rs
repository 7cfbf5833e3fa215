//! How well each restaurant was served, from the record of what was asked, promised and delivered.

use super::Farm;
use crate::allotment::record::{Line, fill_rates, looks_back_to, weeks_served};
use crate::allotment::rotation::WeekServed;
use crate::clock::{LocalDate, monday_of};
use crate::id::Id;
use crate::quantity::Grams;
use crate::store;
use crate::store::deliveries::{self, Award, Source, State};
use chrono::Duration;
use std::collections::BTreeMap;

/// What each restaurant asked for and was given in the week before that of `day`.
///
/// # Errors
/// Whatever the store fails with.
pub async fn in_week_before(farm: &mut Farm<'_>, day: LocalDate) -> store::Result<BTreeMap<Id, WeekServed>> {
    let monday = monday_of(day) - Duration::weeks(1);
    let lines = lines(farm, monday, monday + Duration::days(6)).await?;
    let served = weeks_served(&lines, monday, 1).into_iter();
    Ok(served.filter_map(|(buyer, weeks)| Some((buyer, *weeks.last()?))).collect())
}

/// The share of what each restaurant asked for that it was given, 0 to 1, over the eight weeks up to `day`.
///
/// # Errors
/// Whatever the store fails with.
pub async fn rates_until(farm: &mut Farm<'_>, day: LocalDate) -> store::Result<BTreeMap<Id, f64>> {
    let lines = lines(farm, looks_back_to(day), day).await?;
    let rates = fill_rates(&lines, day).into_iter();
    Ok(rates.map(|(buyer, rate)| (buyer, *rate.numer() as f64 / *rate.denom() as f64)).collect())
}

async fn lines(farm: &mut Farm<'_>, from: LocalDate, to: LocalDate) -> store::Result<Vec<Line>> {
    let awards = deliveries::awards_between(farm.tx, from, to).await?;
    Ok(awards.iter().filter_map(counted).collect())
}

/// What was taken of an offer is no order. A swap the restaurant chose makes up for what it asked; a moved line is counted where it was moved to.
fn counted(award: &Award) -> Option<Line> {
    if award.state == State::Moved || award.source == Source::Offer {
        return None;
    }
    let asked = if award.source == Source::Swap { Grams::ZERO } else { award.asked };
    let given = award.delivered.unwrap_or(award.promised);
    Some(Line { buyer: award.buyer_id, day: award.day, asked, given })
}
