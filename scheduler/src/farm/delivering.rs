//! The run: who has got what. Rule: every gram that goes out leaves a lot the moment it is recorded, and what no lot on the
//! books can cover is not recorded.

use super::closed_day::{ClosedDay, Occasion};
use super::event::Event;
use super::{Farm, lines, stock};
use crate::delivery::award::{self, Award};
use crate::id::Id;
use crate::quantity::Grams;
use crate::store;
use crate::store::cold_room::{self, MoveKind, Movement};
use crate::store::deliveries::{self, Closed};

/// What came of recording: what the lots could not cover, by crop, and what has happened.
#[derive(Debug, Default)]
pub struct Recorded {
    pub missing: Vec<(String, Grams)>,
    pub events: Vec<Event>,
}

/// What of a line can be handed over at most, by the books.
///
/// # Errors
/// Whatever the store fails with.
pub async fn most_delivered(farm: &mut Farm<'_>, line: &Award) -> store::Result<Grams> {
    let ready = stock::ready_on(farm, line.day).await?.get(&line.crop).copied().unwrap_or_default();
    Ok(ready + line.delivered.unwrap_or_default())
}

/// A restaurant has got `named`, and of what is not named there what was packed.
///
/// # Errors
/// Whatever the store fails with.
pub async fn delivered(
    farm: &mut Farm<'_>,
    by: Id,
    (closed, buyer, named): (&Closed, Id, &[(String, Grams)]),
) -> store::Result<Recorded> {
    let mut missing = Vec::new();
    for line in lines::live(farm, closed.day).await?.into_iter().filter(|line| line.buyer_id == buyer) {
        let said = named.iter().find(|(crop, _)| *crop == line.crop).map(|(_, grams)| *grams);
        let wanted = match (said, line.delivered) {
            (Some(grams), _) => grams,
            (None, None) => line.promised,
            // What was only assumed is confirmed.
            (None, Some(grams)) if line.is_assumed => grams,
            (None, Some(_)) => continue,
        };
        missing.extend(record(farm, Some(by), (&line, wanted)).await?);
    }
    after_delivery(farm, (closed, buyer), missing).await
}

/// Another weight was handed over of a line.
///
/// # Errors
/// Whatever the store fails with.
pub async fn weigh_out(
    farm: &mut Farm<'_>,
    by: Id,
    (line, closed): (&Award, &Closed),
    grams: Grams,
) -> store::Result<Recorded> {
    let missing = record(farm, Some(by), (line, grams)).await?;
    after_delivery(farm, (closed, line.buyer_id), missing.into_iter().collect()).await
}

/// Whoever is not marked yet, or only by assumption, has got what was packed, and the run is over.
///
/// # Errors
/// Whatever the store fails with.
pub async fn all_delivered(farm: &mut Farm<'_>, by: Id, closed: &Closed) -> store::Result<Recorded> {
    let mut recorded = Recorded::default();
    let mut served: Vec<Id> = Vec::new();
    for line in
        lines::live(farm, closed.day).await?.into_iter().filter(|line| line.delivered.is_none() || line.is_assumed)
    {
        served.push(line.buyer_id);
        let grams = line.delivered.unwrap_or(line.promised);
        recorded.missing.extend(record(farm, Some(by), (&line, grams)).await?);
    }
    served.dedup();
    let day = ClosedDay::load(farm, closed).await?;
    let theirs = |buyer| Event::BuyerDay(day.of_buyer(farm.crops, buyer), Occasion::Delivered);
    recorded.events.extend(served.into_iter().map(theirs));
    deliveries::mark_delivered(farm.tx, closed.day, farm.now).await?;
    Ok(recorded)
}

/// Tells the restaurant once all of its lines are recorded, and ends the run with the last of them.
async fn after_delivery(
    farm: &mut Farm<'_>,
    (closed, buyer): (&Closed, Id),
    missing: Vec<(String, Grams)>,
) -> store::Result<Recorded> {
    let mut recorded = Recorded { missing, events: Vec::new() };
    let awards = lines::live(farm, closed.day).await?;
    if awards.iter().filter(|award| award.buyer_id == buyer).all(|award| award.delivered.is_some()) {
        let theirs = ClosedDay::load(farm, closed).await?.of_buyer(farm.crops, buyer);
        recorded.events.push(Event::BuyerDay(theirs, Occasion::Delivered));
    }
    if awards.iter().all(|award| award.delivered.is_some()) {
        deliveries::mark_delivered(farm.tx, closed.day, farm.now).await?;
    }
    Ok(recorded)
}

/// Records one line's delivered weight, as somebody said it or by assumption, and moves the lots by what changed. Gives what
/// the lots on the books could not cover.
pub(super) async fn record(
    farm: &mut Farm<'_>,
    by: Option<Id>,
    (line, wanted): (&Award, Grams),
) -> store::Result<Option<(String, Grams)>> {
    let movement = Movement { kind: MoveKind::Delivered, subject: Some(line.id), person_id: by, now: farm.now };
    let recorded = line.delivered.unwrap_or_default();
    let now_delivered = if wanted >= recorded {
        let more = (wanted - recorded, line.day);
        recorded + cold_room::take_as_of(farm.tx, &line.crop, more, &movement).await?
    } else {
        cold_room::put_back(farm.tx, recorded - wanted, &movement).await?;
        wanted
    };
    let event = if by.is_some() { award::Event::Deliver } else { award::Event::Assume };
    lines::change(farm, line, (event(now_delivered), by)).await?;
    Ok((now_delivered < wanted).then(|| (line.crop.clone(), wanted - now_delivered)))
}
