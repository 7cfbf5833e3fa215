//! The order book of the coming deliveries that are still open, against the joint draws: for the early warning and the growing
//! plan alike.

use super::futures::{self, Futures};
use crate::conversation::Desk;
use crate::conversation::expected::Growth;
use scheduler::allotment::{Claim, Owed};
use scheduler::delivery::calendar::Delivery;
use scheduler::farm::{asked, stock};
use scheduler::id::Id;
use scheduler::quantity::Grams;
use scheduler::store;

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
pub async fn load(desk: &mut Desk<'_>, growth: &Growth, count: usize) -> store::Result<Option<Coming>> {
    let coming = desk.house.calendar.upcoming(desk.now, count);
    let open: Vec<Delivery> = coming.into_iter().filter(|delivery| delivery.is_open(desk.now)).collect();
    let (Some(first), Some(last)) = (open.first(), open.last()) else { return Ok(None) };
    let asked = asked::between(&mut desk.farm(), first.date, last.date).await?;
    let claims = claims(desk, asked);
    if claims.is_empty() {
        return Ok(None);
    }
    let likely = asked::likely_between(&mut desk.farm(), first.date, last.date).await?;
    let likely = self::claims(desk, likely);
    let owed = stock::owed_beside(&mut desk.farm(), first.date, |_| true).await?;
    let futures = futures::until(desk, growth, last.date).await?;
    Ok(Some(Coming { open, claims, likely, owed, futures }))
}

fn claims(desk: &Desk<'_>, lines: Vec<asked::AskedLine>) -> Vec<Claim> {
    let crops = &desk.house.crops;
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
