//! Counting the cold room: what somebody has weighed there against what the books say. Rule: the books are set right by
//! entries of the difference with their reason, and nothing else moves; a pick that was written too high or not at all is put
//! right in the growing record too, so that the forecast learns from what was really picked.

use super::batches::{self, Shelf};
use super::{Farm, picking};
use crate::people::Person;
use crate::quantity::Grams;
use crate::store;
use crate::store::cold_room::{self, Lot, MoveKind, Movement};
use crate::store::growing;
use serde::{Deserialize, Serialize};

/// What was weighed of a crop, and what the books say.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Difference {
    pub crop: String,
    pub counted: Grams,
    pub booked: Grams,
}

impl Difference {
    /// What lies there beyond the books.
    pub fn more(&self) -> Grams {
        self.counted.less(self.booked)
    }

    /// What the books say beyond what lies there.
    pub fn less(&self) -> Grams {
        self.booked.less(self.counted)
    }
}

/// What became of what is missing. What is there beyond the books is a pick that nobody wrote down.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Reason {
    Spoiled,
    Sold,
    Given,
    /// A pick was written down too high.
    WrongPick,
}

/// What was counted, crop by crop, against the books; a crop that is not named is not looked at.
///
/// # Errors
/// Whatever the store fails with.
pub async fn compare(farm: &mut Farm<'_>, counted: &[(String, Grams)]) -> store::Result<Vec<Difference>> {
    let lots = cold_room::lots(farm.tx).await?;
    let mut differences: Vec<Difference> = Vec::new();
    for (crop, grams) in counted {
        match differences.iter_mut().find(|one| one.crop == *crop) {
            // Two shelves of one crop.
            Some(one) => one.counted += *grams,
            None => {
                let booked = lots.iter().filter(|lot| lot.crop == *crop).map(|lot| lot.left).sum();
                differences.push(Difference { crop: crop.clone(), counted: *grams, booked });
            }
        }
    }
    Ok(differences)
}

/// Sets the books to what was counted; `None`, and nothing changes, when something is missing and nobody has said why.
///
/// # Errors
/// Whatever the store fails with.
pub async fn set_right(
    farm: &mut Farm<'_>,
    person: &Person,
    (counted, reason): (&[(String, Grams)], Option<Reason>),
) -> store::Result<Option<Vec<Difference>>> {
    let differences = compare(farm, counted).await?;
    if reason.is_none() && differences.iter().any(|one| one.less().is_positive()) {
        return Ok(None);
    }
    for one in &differences {
        if one.more().is_positive() {
            enter_pick(farm, person, (&one.crop, one.more())).await?;
        } else if let Some(reason) = reason.filter(|_| one.less().is_positive()) {
            take(farm, person, (&one.crop, one.less()), reason).await?;
        }
    }
    Ok(Some(differences))
}

/// What nobody wrote down was picked yesterday at the latest, as it was cold when it was weighed: of the batch of the crop
/// that is fruiting and was picked last, or of one that nobody knows.
async fn enter_pick(farm: &mut Farm<'_>, person: &Person, (crop, grams): (&str, Grams)) -> store::Result<()> {
    let Some(kind) = farm.crops.get(crop) else { return Ok(()) };
    let yesterday = farm.today().pred_opt().unwrap_or(farm.today());
    let is_fruiting = |shelf: &Shelf| {
        shelf.batch.crop == crop
            && shelf.is_fruiting()
            && shelf.flush.initiated_on.is_some_and(|since| since <= yesterday)
    };
    let shelves = batches::active(farm).await?.into_iter().filter(is_fruiting);
    let last_pick = |shelf: &Shelf| shelf.flush.picked.iter().map(|(day, _)| *day).max();
    match shelves.max_by_key(|shelf| (last_pick(shelf), shelf.flush.initiated_on)) {
        Some(shelf) => picking::enter(farm, person, (&shelf, kind), (grams, yesterday)).await?,
        None => picking::enter_unknown(farm, kind, (grams, yesterday)).await?,
    };
    Ok(())
}

/// Takes what is missing out of the lots: the first to expire, or for a pick written too high the newest.
async fn take(
    farm: &mut Farm<'_>,
    person: &Person,
    (crop, missing): (&str, Grams),
    reason: Reason,
) -> store::Result<()> {
    let mut lots: Vec<Lot> = cold_room::lots(farm.tx).await?.into_iter().filter(|lot| lot.crop == crop).collect();
    if reason == Reason::WrongPick {
        lots.sort_by_key(|lot| std::cmp::Reverse((lot.picked_on, lot.id)));
    }
    let kind = match reason {
        Reason::Spoiled => MoveKind::Discarded,
        Reason::Sold => MoveKind::SoldBeside,
        Reason::Given => MoveKind::GivenBeside,
        Reason::WrongPick => MoveKind::Corrected,
    };
    let movement = Movement { kind, subject: None, person_id: Some(person.id), now: farm.now };
    let flushes = growing::all_flushes(farm.tx).await?;
    let mut missing = missing;
    for lot in lots {
        let part = lot.left.at_most(missing);
        if !part.is_positive() {
            continue;
        }
        missing -= part;
        if reason == Reason::WrongPick {
            let flush = flushes.iter().find(|flush| Some(flush.id) == lot.flush_id);
            picking::lessen(farm, person, (&lot, flush.map(|flush| flush.batch_id)), part).await?;
        } else {
            cold_room::take_from_lot(farm.tx, lot.id, part, &movement).await?;
        }
    }
    Ok(())
}
