//! The order book of the coming deliveries that are still open, against the joint draws: for the early warning and the growing
//! plan alike.

use super::expected::Growth;
use super::futures::{self, Futures};
use super::{Farm, asked, stock};
use crate::allotment::{Claim, Owed};
use crate::delivery::calendar::Delivery;
use crate::id::Id;
use crate::quantity::Grams;
use crate::store;

/// What is asked, what is spoken for before it, and what may be there.
pub struct Coming {
    pub open: Vec<Delivery>,
    /// As the book has it.
    pub claims: Vec<Claim>,
    /// As the buyers' own record lets expect it.
    pub likely: Vec<Claim>,
    pub owed: Vec<Owed>,
    pub futures: Futures,
}

/// The book of the next `count` deliveries, as far as they are open; `None` when nothing is asked for them.
///
/// # Errors
/// Whatever the store fails with.
pub async fn load(farm: &mut Farm<'_>, growth: &Growth, count: usize) -> store::Result<Option<Coming>> {
    let coming = farm.calendar.upcoming(farm.now, count);
    let open: Vec<Delivery> = coming.into_iter().filter(|delivery| delivery.is_open(farm.now)).collect();
    let (Some(first), Some(last)) = (open.first(), open.last()) else { return Ok(None) };
    let asked = asked::between(farm, first.date, last.date).await?;
    let claims = claims(farm, asked);
    if claims.is_empty() {
        return Ok(None);
    }
    let likely = asked::likely_between(farm, first.date, last.date).await?;
    let likely = self::claims(farm, likely);
    let owed = stock::owed_beside(farm, first.date, |_| true).await?;
    let futures = futures::until(farm, growth, last.date).await?;
    Ok(Some(Coming { open, claims, likely, owed, futures }))
}

fn claims(farm: &Farm<'_>, lines: Vec<asked::AskedLine>) -> Vec<Claim> {
    let crops = farm.crops;
    let claim = |(number, line): (i64, asked::AskedLine)| Claim {
        id: Id::new(number),
        buyer: line.buyer_id,
        date: line.day,
        smallest_useful: Grams::ZERO,
        pack_step: crops.get(&line.crop).map_or(Grams::new(1), |crop| crop.pack_step),
        crop: line.crop,
        grams: line.grams,
        swaps: Vec::new(),
        tier: 0,
        weight: 1,
    };
    (0..).zip(lines).map(claim).collect()
}
