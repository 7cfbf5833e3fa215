//! What leaves the cold room by drying or by being thrown away. Rule: only what is free is dried; what is thrown away may be
//! spoken for, and what is then missing is said.

use crate::farm::{Farm, stock};
use crate::id::Id;
use crate::people::Person;
use crate::quantity::Grams;
use crate::store;
use crate::store::cold_room::{self, MoveKind, Movement};

/// Weights of lots.
pub type Parts = Vec<(Id, Grams)>;

/// What came of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Out {
    /// No more than this may go that way.
    MoreThan(Grams),
    Done {
        parts: Parts,
        /// What is spoken for of the crop and not there any more.
        uncovered: Grams,
    },
}

/// Dries so much of a crop.
///
/// # Errors
/// Whatever the store fails with.
pub async fn dry(farm: &mut Farm<'_>, person: &Person, (crop, grams): (&str, Grams)) -> store::Result<Out> {
    let stock = stock::now(farm).await?;
    let lots = stock.lots.iter().filter(|lot| lot.crop == crop).map(|lot| (lot.lot, lot.free)).collect();
    take(farm, (MoveKind::Dried, person), (crop, grams), lots).await
}

/// Throws so much of a crop away.
///
/// # Errors
/// Whatever the store fails with.
pub async fn discard(farm: &mut Farm<'_>, person: &Person, (crop, grams): (&str, Grams)) -> store::Result<Out> {
    let stock = stock::now(farm).await?;
    let lots = stock.lots.iter().filter(|lot| lot.crop == crop).map(|lot| (lot.lot, lot.in_cold_room)).collect();
    take(farm, (MoveKind::Discarded, person), (crop, grams), lots).await
}

/// Takes `grams` out of `lots` in their order.
async fn take(
    farm: &mut Farm<'_>,
    (kind, person): (MoveKind, &Person),
    (crop, grams): (&str, Grams),
    lots: Parts,
) -> store::Result<Out> {
    let there: Grams = lots.iter().map(|(_, part)| *part).sum();
    if grams > there || !grams.is_positive() {
        return Ok(Out::MoreThan(there));
    }
    let movement = Movement { kind, subject: None, person_id: Some(person.id), now: farm.now };
    let mut missing = grams;
    let mut parts = Parts::new();
    for (lot, there) in lots {
        let part = there.at_most(missing);
        if part.is_positive() {
            cold_room::take_from_lot(farm.tx, lot, part, &movement).await?;
            missing -= part;
            parts.push((lot, part));
        }
    }
    let uncovered = stock::now(farm).await?.uncovered.into_iter().filter(|one| one.crop == crop);
    Ok(Out::Done { parts, uncovered: uncovered.map(|one| one.weight).sum() })
}

/// Takes a drying or a throwing away back.
///
/// # Errors
/// Whatever the store fails with.
pub async fn put_back(farm: &mut Farm<'_>, person: &Person, (kind, parts): (MoveKind, Parts)) -> store::Result<()> {
    let movement = Movement { kind, subject: None, person_id: Some(person.id), now: farm.now };
    for (lot, part) in parts {
        cold_room::take_from_lot(farm.tx, lot, -part, &movement).await?;
    }
    Ok(())
}
