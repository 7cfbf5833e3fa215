//! What a delivery day can count on once the other closed days have what they were promised: the same lot is not
//! promised twice, in no imagined future.

use super::expected::{self, Growth};
use super::ordering::Sums;
use super::sharing::{self, DaySharing, wanted};
use super::stock::{self, Holder};
use super::surplus::offering;
use super::{Event, Farm, futures};
use crate::allotment::{DayDraws, DayPromise, Owed};
use crate::clock::LocalDate;
use crate::quantity::Grams;
use crate::store::deliveries::Award;
use crate::store::{self, surplus};

/// What `day` can have of every crop, in joint draws, once what is owed beside it is served.
async fn draws_beside(
    farm: &mut Farm<'_>,
    (day, growth): (LocalDate, &Growth),
    owed: &[Owed],
) -> store::Result<DayDraws> {
    let last = owed.iter().map(|one| one.day).max().unwrap_or(day).max(day);
    let futures = futures::until(farm, growth, last).await?;
    Ok(DayDraws::left_for(day, &farm.crops.keys(), futures.draws(), owed))
}

/// What can be promised to the lines of a day.
pub struct Promise {
    /// What the day can have, in joint draws.
    pub draws: DayDraws,
    pub made: DayPromise,
    /// What of the offers was withdrawn for it.
    pub events: Vec<Event>,
}

/// What can be promised to `awards` of `day`: with what is on offer left alone where that is enough; otherwise with what of
/// it nobody has taken, which is then withdrawn as far as it is needed.
///
/// # Errors
/// Whatever the store fails with.
pub async fn promise(
    farm: &mut Farm<'_>,
    day: LocalDate,
    (sharing, awards): (&DaySharing<'_>, &[Award]),
) -> store::Result<Promise> {
    let growth = expected::growth(farm).await?;
    let owed = stock::owed_beside(farm, day, |_| true).await?;
    let draws = draws_beside(farm, (day, &growth), &owed).await?;
    let made = sharing.promise(&draws, awards);
    let given = promised_of(&made, awards);
    let asked: Grams = awards.iter().map(wanted).sum();
    let as_it_is = Promise { draws, made, events: Vec::new() };
    if given.values().copied().sum::<Grams>() >= asked || surplus::open_offers(farm.tx).await?.is_empty() {
        return Ok(as_it_is);
    }
    let owed = stock::owed_beside(farm, day, |holder| holder != Holder::Offer).await?;
    let draws = draws_beside(farm, (day, &growth), &owed).await?;
    let made = sharing.promise(&draws, awards);
    let yields: Sums = promised_of(&made, awards)
        .into_iter()
        .map(|(crop, grams)| (crop.clone(), grams.less(given.get(&crop).copied().unwrap_or_default())))
        .collect();
    if !yields.values().any(|grams| grams.is_positive()) {
        return Ok(as_it_is);
    }
    let events = offering::yield_to(farm, &yields).await?;
    Ok(Promise { draws, made, events })
}

fn promised_of(promise: &DayPromise, awards: &[Award]) -> Sums {
    let shares = sharing::given(&promise.allotment);
    let mut sums: Sums = Sums::new();
    for award in awards {
        *sums.entry(award.crop.clone()).or_default() += shares.get(&award.id).copied().unwrap_or_default();
    }
    sums
}

/// What is promised of each crop.
pub fn promised_by_crop(awards: &[Award]) -> Sums {
    let mut sums: Sums = Sums::new();
    for award in awards {
        *sums.entry(award.crop.clone()).or_default() += award.promised;
    }
    sums
}
