//! What a delivery day can count on once the other closed days have what they were promised: the same lot is not
//! promised twice.

use crate::conversation::Desk;
use crate::conversation::expected::{self, Expectation};
use crate::conversation::surplus::stock::{self, Holder};
use scheduler::clock::LocalDate;
use scheduler::quantity::Grams;
use scheduler::store::deliveries::{self, Award};
use scheduler::store::{self, cold_room};
use std::collections::BTreeMap;

/// The expectation of each crop for `day`, less what other closed days still need of it.
///
/// # Errors
/// Whatever the store fails with.
pub async fn free_on(desk: &mut Desk<'_>, day: LocalDate) -> store::Result<Vec<Expectation>> {
    let owed = spoken_for(desk, day).await?;
    let lots = cold_room::lots(&mut desk.tx).await?;
    let mut expected = expected::on_days(desk, &[day]).await?;
    for one in &mut expected {
        // What would not keep until `day` serves the other days first and is not in the expectation anyway.
        let spoils = lots.iter().filter(|lot| lot.crop == one.crop && lot.keeps_until < day);
        let spoils: Grams = spoils.map(|lot| lot.left).sum();
        let reserved = owed.get(&one.crop).copied().unwrap_or_default().less(spoils);
        for figure in [&mut one.p10, &mut one.p50, &mut one.p90, &mut one.promise, &mut one.in_cold_room] {
            *figure = figure.less(reserved);
        }
    }
    Ok(expected)
}

/// What closed days from today on, other than `day`, are still promised, by crop.
///
/// # Errors
/// Whatever the store fails with.
pub async fn owed_elsewhere(desk: &mut Desk<'_>, day: LocalDate) -> store::Result<BTreeMap<String, Grams>> {
    let today = desk.today();
    let mut owed: BTreeMap<String, Grams> = BTreeMap::new();
    for award in deliveries::awards_owed(&mut desk.tx).await? {
        if award.day >= today && award.day != day {
            *owed.entry(award.crop).or_default() += award.promised;
        }
    }
    Ok(owed)
}

/// What may not be promised anew, by crop: what other days are owed, what is kept for a market, on offer or taken, and
/// what a food bank was asked about. A promise already made comes before all but the other promises.
async fn spoken_for(desk: &mut Desk<'_>, day: LocalDate) -> store::Result<BTreeMap<String, Grams>> {
    let mut spoken_for = owed_elsewhere(desk, day).await?;
    for held in stock::held(desk).await?.into_iter().filter(|held| held.holder != Holder::Award) {
        *spoken_for.entry(held.bound.crop).or_default() += held.bound.weight;
    }
    Ok(spoken_for)
}

/// What lies in the cold room and may go out on `day`, by crop.
///
/// # Errors
/// Whatever the store fails with.
pub async fn ready_on(desk: &mut Desk<'_>, day: LocalDate) -> store::Result<BTreeMap<String, Grams>> {
    let mut ready: BTreeMap<String, Grams> = BTreeMap::new();
    for lot in cold_room::lots(&mut desk.tx).await? {
        if lot.ready_on <= day && day <= lot.keeps_until {
            *ready.entry(lot.crop).or_default() += lot.left;
        }
    }
    Ok(ready)
}

/// What is promised of each crop.
pub fn promised_by_crop(awards: &[Award]) -> BTreeMap<String, Grams> {
    let mut sums: BTreeMap<String, Grams> = BTreeMap::new();
    for award in awards {
        *sums.entry(award.crop.clone()).or_default() += award.promised;
    }
    sums
}
