//! What a delivery day can count on once the other closed days have what they were promised: the same lot is not
//! promised twice, in no imagined future.

use super::futures;
use super::share::{self, DaySharing, wanted};
use crate::conversation::expected::Growth;
use crate::conversation::{Desk, expected};
use scheduler::allotment::{DayDraws, DayPromise, Owed};
use scheduler::clock::LocalDate;
use scheduler::farm::stock::{self, Holder};
use scheduler::farm::surplus::offering;
use scheduler::quantity::Grams;
use scheduler::store::deliveries::Award;
use scheduler::store::{self, surplus};
use std::collections::BTreeMap;

/// What `day` can have of every crop, in joint draws, once what is owed beside it is served.
async fn draws_beside(
    desk: &mut Desk<'_>,
    (day, growth): (LocalDate, &Growth),
    owed: &[Owed],
) -> store::Result<DayDraws> {
    let last = owed.iter().map(|one| one.day).max().unwrap_or(day).max(day);
    let futures = futures::until(desk, growth, last).await?;
    Ok(DayDraws::left_for(day, &desk.house.crops.keys(), futures.draws(), owed))
}

/// What can be promised to `awards` of `day`: with what is on offer left alone where that is enough; otherwise with what of
/// it nobody has taken, which is then withdrawn as far as it is needed.
///
/// # Errors
/// Whatever the store fails with.
pub async fn promise(
    desk: &mut Desk<'_>,
    day: LocalDate,
    (sharing, awards): (&DaySharing<'_>, &[Award]),
) -> store::Result<(DayDraws, DayPromise)> {
    let growth = expected::growth(desk).await?;
    let owed = stock::owed_beside(&mut desk.farm(), day, |_| true).await?;
    let draws = draws_beside(desk, (day, &growth), &owed).await?;
    let promise = sharing.promise(&draws, awards);
    let given = promised_of(&promise, awards);
    let asked: Grams = awards.iter().map(wanted).sum();
    if given.values().copied().sum::<Grams>() >= asked || surplus::open_offers(&mut desk.tx).await?.is_empty() {
        return Ok((draws, promise));
    }
    let owed = stock::owed_beside(&mut desk.farm(), day, |holder| holder != Holder::Offer).await?;
    let all = draws_beside(desk, (day, &growth), &owed).await?;
    let with_offers = sharing.promise(&all, awards);
    let more: BTreeMap<String, Grams> = promised_of(&with_offers, awards)
        .into_iter()
        .map(|(crop, grams)| (crop.clone(), grams.less(given.get(&crop).copied().unwrap_or_default())))
        .collect();
    if !more.values().any(|grams| grams.is_positive()) {
        return Ok((draws, promise));
    }
    let events = offering::yield_to(&mut desk.farm(), &more).await?;
    desk.happened(events);
    Ok((all, with_offers))
}

fn promised_of(promise: &DayPromise, awards: &[Award]) -> BTreeMap<String, Grams> {
    let shares = share::given(&promise.allotment);
    let mut sums: BTreeMap<String, Grams> = BTreeMap::new();
    for award in awards {
        *sums.entry(award.crop.clone()).or_default() += shares.get(&award.id).copied().unwrap_or_default();
    }
    sums
}

/// What is promised of each crop.
pub fn promised_by_crop(awards: &[Award]) -> BTreeMap<String, Grams> {
    let mut sums: BTreeMap<String, Grams> = BTreeMap::new();
    for award in awards {
        *sums.entry(award.crop.clone()).or_default() += award.promised;
    }
    sums
}
