//! Where the harvest of the last weeks went, as a picture and in words.

use crate::conversation::Desk;
use crate::pictures::{Went, WentPicture, WentWeek};
use chrono::{Days, NaiveTime};
use scheduler::clock::{instant_at, monday_of};
use scheduler::quantity::Grams;
use scheduler::store;
use scheduler::store::cold_room::{self, MoveKind};
use std::collections::BTreeMap;

/// Weeks looked at, this one with them.
const WEEKS: u64 = 8;

/// The picture of the last weeks in which something left the cold room, the newest first. Weeks begin on Monday.
///
/// # Errors
/// Whatever the store fails with.
pub async fn picture(desk: &mut Desk<'_>) -> store::Result<WentPicture> {
    let zone = desk.house.zone();
    let this_monday = monday_of(desk.today());
    let first = this_monday - Days::new(7 * (WEEKS - 1));
    let since = instant_at(first, NaiveTime::MIN, zone);
    let until = desk.now.plus_seconds(1);
    let mut sums: BTreeMap<_, BTreeMap<Went, Grams>> = BTreeMap::new();
    for (at, kind, grams) in cold_room::moves_between(&mut desk.tx, since, until).await? {
        if let Some(went) = way(kind) {
            let week = sums.entry(monday_of(at.local_date(zone))).or_default();
            *week.entry(went).or_default() += grams;
        }
    }
    let weeks = sums.into_iter().rev().map(|(monday, parts)| WentWeek {
        monday,
        parts: parts.into_iter().filter(|(_, grams)| grams.is_positive()).collect(),
    });
    let weeks = weeks.filter(|week| !week.parts.is_empty()).collect();
    Ok(WentPicture { farm: desk.house.config.farm.name.clone(), weeks })
}

/// Where a movement took it; a slip of the pen went nowhere. What comes back counts against where it had been.
fn way(kind: MoveKind) -> Option<Went> {
    Some(match kind {
        MoveKind::Delivered | MoveKind::SoldBeside => Went::Sold,
        MoveKind::Collected => Went::Offered,
        MoveKind::Market | MoveKind::Returned => Went::Market,
        MoveKind::Dried => Went::Dried,
        MoveKind::Given | MoveKind::GivenBeside => Went::Given,
        MoveKind::Discarded | MoveKind::Lapsed => Went::Lost,
        MoveKind::Corrected => return None,
    })
}
