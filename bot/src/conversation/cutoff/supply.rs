//! What a delivery day can count on once the other closed days have what they were promised: the same lot is not
//! promised twice, in no imagined future.

use super::futures;
use super::share::{self, DaySharing, wanted};
use crate::conversation::expected::Growth;
use crate::conversation::surplus::stock::{self, Holder};
use crate::conversation::surplus::yielding;
use crate::conversation::{Desk, expected};
use scheduler::allotment::{DayDraws, DayPromise, Owed};
use scheduler::clock::LocalDate;
use scheduler::quantity::Grams;
use scheduler::store::deliveries::{self, Award};
use scheduler::store::{self, cold_room, surplus};
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
    let owed = spoken_for(desk, day).await?;
    let draws = draws_beside(desk, (day, &growth), &owed).await?;
    let promise = sharing.promise(&draws, awards);
    let given = promised_of(&promise, awards);
    let asked: Grams = awards.iter().map(wanted).sum();
    if given.values().copied().sum::<Grams>() >= asked || surplus::open_offers(&mut desk.tx).await?.is_empty() {
        return Ok((draws, promise));
    }
    let owed = spoken_for_by(desk, day, |holder| !matches!(holder, Holder::Award | Holder::Offer)).await?;
    let all = draws_beside(desk, (day, &growth), &owed).await?;
    let with_offers = sharing.promise(&all, awards);
    let more: BTreeMap<String, Grams> = promised_of(&with_offers, awards)
        .into_iter()
        .map(|(crop, grams)| (crop.clone(), grams.less(given.get(&crop).copied().unwrap_or_default())))
        .collect();
    if !more.values().any(|grams| grams.is_positive()) {
        return Ok((draws, promise));
    }
    yielding::withdraw(desk, &more).await?;
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

/// What closed days from today on, other than `day`, are still promised, by crop.
///
/// # Errors
/// Whatever the store fails with.
pub async fn owed_elsewhere(desk: &mut Desk<'_>, day: LocalDate) -> store::Result<BTreeMap<String, Grams>> {
    let mut owed: BTreeMap<String, Grams> = BTreeMap::new();
    for one in promised_elsewhere(desk, day).await? {
        *owed.entry(one.crop).or_default() += one.grams;
    }
    Ok(owed)
}

async fn promised_elsewhere(desk: &mut Desk<'_>, day: LocalDate) -> store::Result<Vec<Owed>> {
    let today = desk.today();
    let awards = deliveries::awards_owed(&mut desk.tx).await?.into_iter();
    let elsewhere = awards.filter(|award| award.day >= today && award.day != day);
    Ok(elsewhere.map(|award| Owed { crop: award.crop, day: award.day, grams: award.promised }).collect())
}

/// What may not be promised anew: what other days are owed, what is kept for a market, on offer or taken, and what a food
/// bank was asked about. A promise already made comes before all but the other promises.
///
/// # Errors
/// Whatever the store fails with.
pub async fn spoken_for(desk: &mut Desk<'_>, day: LocalDate) -> store::Result<Vec<Owed>> {
    spoken_for_by(desk, day, |holder| holder != Holder::Award).await
}

async fn spoken_for_by(
    desk: &mut Desk<'_>,
    day: LocalDate,
    counts: impl Fn(Holder) -> bool,
) -> store::Result<Vec<Owed>> {
    let mut spoken_for = promised_elsewhere(desk, day).await?;
    let held = stock::held(desk).await?.into_iter().filter(|held| counts(held.holder));
    spoken_for.extend(held.map(|held| Owed { crop: held.bound.crop, day: held.bound.date, grams: held.bound.weight }));
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
