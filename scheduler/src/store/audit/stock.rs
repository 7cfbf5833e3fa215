//! Promises against what lies in the cold room, and drops against opening hours: invariants that take the domain's own types.

use super::super::{Result, Tx, cold_room, deliveries, giving};
use super::Fault;
use crate::clock::LocalDate;
use crate::quantity::Grams;
use chrono_tz::Tz;
use std::collections::BTreeMap;

/// A crop of which a packing morning's promises are more than is there.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TooMuch {
    pub day: LocalDate,
    pub crop: String,
    pub promised: Grams,
    pub ready: Grams,
}

/// From the morning's weighing until the crates are packed no promise of the day is more than the cold room can keep. `None`
/// where the day is not between the two.
///
/// # Errors
/// Whatever the store fails with.
pub async fn promised_beyond_stock(tx: &mut Tx, day: LocalDate) -> Result<Option<Vec<TooMuch>>> {
    let Some(closed) = deliveries::on(tx, day).await? else { return Ok(None) };
    let awards = deliveries::awards_on(tx, day).await?;
    let has_begun = closed.packed_at.is_some() || awards.iter().any(|award| award.delivered.is_some());
    if closed.shared_at.is_none() || has_begun {
        return Ok(None);
    }
    let mut promised: BTreeMap<String, Grams> = BTreeMap::new();
    for award in awards {
        *promised.entry(award.crop).or_default() += award.promised;
    }
    let lots = cold_room::lots(tx).await?;
    let ready = |crop: &str| -> Grams {
        let fit = lots.iter().filter(|lot| lot.crop == crop && lot.ready_on <= day && day <= lot.keeps_until);
        fit.map(|lot| lot.left).sum()
    };
    let all = promised.into_iter().map(|(crop, promised)| TooMuch { day, ready: ready(&crop), crop, promised });
    Ok(Some(all.filter(|one| one.promised > one.ready).collect()))
}

/// What of this is wrong today.
pub(super) async fn faults(tx: &mut Tx, (today, zone): (LocalDate, Tz)) -> Result<Vec<Fault>> {
    let mut faults = Vec::new();
    for one in promised_beyond_stock(tx, today).await?.unwrap_or_default() {
        let TooMuch { day, crop, promised, ready } = one;
        faults.push(Fault {
            what: format!("award (day {day}, crop {crop}): {promised} are promised, {ready} are in the cold room"),
            mend: "weigh the crop, then lower the promise on the packing list (/packing) and tell the restaurant"
                .into(),
            by_itself: None,
        });
    }
    let banks = giving::food_banks(tx).await?;
    for drop in giving::coming_drops(tx).await? {
        let Some(bank) = banks.iter().find(|bank| bank.id == drop.partner_id) else { continue };
        let (hours, last) = (bank.hours(), drop.window.closes_at.plus_seconds(-1));
        let is_open = hours.is_open(drop.window.opens_at, zone) && hours.is_open(last, zone);
        if !is_open {
            faults.push(Fault {
                what: format!("drop_off (id {}): at {} {} is closed", drop.id, drop.window.opens_at, bank.name),
                mend: "ask the food bank when it is there, then write its hours anew or call the drop off".into(),
                by_itself: None,
            });
        }
    }
    Ok(faults)
}
