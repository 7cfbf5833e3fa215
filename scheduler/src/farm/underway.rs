//! What happens on the road: a delay, a door that nobody opens, and what a restaurant does not take.

use super::closed_day::ClosedDay;
use super::delivering::{self, Recorded};
use super::event::Event;
use super::{Farm, lines};
use crate::id::Id;
use crate::quantity::Grams;
use crate::store;
use crate::store::deliveries::Closed;

/// Something to hear of while the van is out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum OnTheRoad {
    /// So many minutes later than usual, where that was said.
    Late {
        buyer: Id,
        name: String,
        minutes: Option<i64>,
    },
    NobodyThere {
        buyer: Id,
        name: String,
    },
}

/// The run that is under way today.
///
/// # Errors
/// Whatever the store fails with.
pub async fn run(farm: &mut Farm<'_>) -> store::Result<Option<Closed>> {
    let today = farm.today();
    Ok(lines::current(farm).await?.filter(|closed| closed.day == today))
}

/// Who has not got everything yet, with their names.
///
/// # Errors
/// Whatever the store fails with.
pub async fn waiting(farm: &mut Farm<'_>, closed: &Closed) -> store::Result<Vec<(Id, String)>> {
    let day = ClosedDay::load(farm, closed).await?;
    let waits = lines::live(farm, closed.day).await?.into_iter().filter(|line| line.delivered.is_none());
    let mut buyers: Vec<Id> = waits.map(|line| line.buyer_id).collect();
    buyers.sort_unstable();
    buyers.dedup();
    Ok(buyers.into_iter().map(|buyer| (buyer, day.name_of(buyer))).collect())
}

/// The driver is late: for one restaurant, or for all that still wait.
///
/// # Errors
/// Whatever the store fails with.
pub async fn late(
    farm: &mut Farm<'_>,
    closed: &Closed,
    (minutes, buyer): (Option<i64>, Option<Id>),
) -> store::Result<Vec<Event>> {
    let waiting = waiting(farm, closed).await?.into_iter().filter(|(id, _)| buyer.is_none_or(|buyer| buyer == *id));
    Ok(waiting.map(|(buyer, name)| Event::OnTheRoad(OnTheRoad::Late { buyer, name, minutes })).collect())
}

/// A restaurant did not take so much of a crop, or none of it: what it took is what was packed less that.
///
/// # Errors
/// Whatever the store fails with.
pub async fn refused(
    farm: &mut Farm<'_>,
    by: Id,
    (closed, buyer): (&Closed, Id),
    (crop, grams): (&str, Option<Grams>),
) -> store::Result<Option<Recorded>> {
    let theirs = lines::live(farm, closed.day).await?.into_iter().filter(|line| line.buyer_id == buyer);
    let of_crop: Vec<Grams> = theirs.filter(|line| line.crop == crop).map(|line| line.promised).collect();
    // Several lines of a crop: which of them is meant is told by its button.
    let [packed] = of_crop.as_slice() else { return Ok(None) };
    let taken = grams.map_or(Grams::ZERO, |grams| packed.less(grams));
    delivering::delivered(farm, by, (closed, buyer, &[(crop.to_owned(), taken)])).await.map(Some)
}
