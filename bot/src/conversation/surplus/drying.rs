//! Drying and throwing away. Rule: only what is free is dried; what is past goes first when something is thrown away.

use super::super::Desk;
use super::{Ask, left, stock};
use crate::wording::{Args, DateForm};
use scheduler::id::Id;
use scheduler::people::Person;
use scheduler::quantity::Grams;
use scheduler::store;
use scheduler::store::cold_room::{self, MoveKind, Movement};
use scheduler::surplus::count::Count;

/// Puts so much of a crop into the drier.
pub(super) async fn dry(desk: &mut Desk<'_>, person: &Person, (crop, grams): (String, Grams)) -> store::Result<()> {
    let voice = desk.voice(person);
    let stock = stock::now(desk).await?;
    let free = stock.free_of(&crop);
    let name = desk.house.crop_name(&crop, &voice);
    if grams > free || !grams.is_positive() {
        let args = Args::new().text("crop", name).weight("free", free);
        return left::refused(desk, person, voice.say("surplus-more-than-free", &args)).await;
    }
    let lots: Vec<(Id, Grams)> =
        stock.lots.iter().filter(|lot| lot.crop == crop).map(|lot| (lot.lot, lot.free)).collect();
    let parts = take(desk, person, (MoveKind::Dried, grams, lots)).await?;
    let args =
        Args::new().text("crop", name).weight("weight", grams).weight("dried", desk.house.crops.dried(&crop, grams));
    let undo = Ask::PutBack { kind: MoveKind::Dried, parts };
    let label =
        Args::new().text("crop", desk.house.crop_name(&crop, &voice)).date_as("day", desk.today(), DateForm::WithYear);
    let text = [voice.say("surplus-dried", &args), voice.say("surplus-dried-label", &label)].join("\n");
    left::show(desk, person, Some((text, Some(undo)))).await
}

/// Throws so much of a crop away.
pub(super) async fn discard(desk: &mut Desk<'_>, person: &Person, (crop, grams): (String, Grams)) -> store::Result<()> {
    let voice = desk.voice(person);
    let stock = stock::now(desk).await?;
    let name = desk.house.crop_name(&crop, &voice);
    let lots: Vec<&Count> = stock.lots.iter().filter(|lot| lot.crop == crop).collect();
    let there: Grams = lots.iter().map(|lot| lot.in_cold_room).sum();
    if grams > there || !grams.is_positive() {
        let args = Args::new().text("crop", name).weight("there", there);
        return left::refused(desk, person, voice.say("surplus-more-than-there", &args)).await;
    }
    let lots = lots.iter().map(|lot| (lot.lot, lot.in_cold_room)).collect();
    let parts = take(desk, person, (MoveKind::Discarded, grams, lots)).await?;
    let mut text = voice.say("surplus-discarded", &Args::new().text("crop", name.clone()).weight("weight", grams));
    let missing = stock::now(desk).await?.uncovered.into_iter().filter(|one| one.crop == crop);
    let missing: Grams = missing.map(|one| one.weight).sum();
    if missing.is_positive() {
        let args = Args::new().text("crop", name).weight("weight", missing);
        text = format!("{text}\n{}", voice.say("surplus-promises-uncovered", &args));
    }
    let undo = Ask::PutBack { kind: MoveKind::Discarded, parts };
    left::show(desk, person, Some((text, Some(undo)))).await
}

/// Takes `grams` out of `lots` in their order; every part.
async fn take(
    desk: &mut Desk<'_>,
    person: &Person,
    (kind, grams, lots): (MoveKind, Grams, Vec<(Id, Grams)>),
) -> store::Result<Vec<(Id, Grams)>> {
    let movement = Movement { kind, subject: None, person_id: Some(person.id), now: desk.now };
    let mut missing = grams;
    let mut parts = Vec::new();
    for (lot, there) in lots {
        let part = there.at_most(missing);
        if part.is_positive() {
            cold_room::take_from_lot(&mut desk.tx, lot, part, &movement).await?;
            missing -= part;
            parts.push((lot, part));
        }
    }
    Ok(parts)
}

/// Takes a drying or throwing away back.
pub(super) async fn put_back(
    desk: &mut Desk<'_>,
    person: &Person,
    (kind, parts): (MoveKind, Vec<(Id, Grams)>),
) -> store::Result<()> {
    let movement = Movement { kind, subject: None, person_id: Some(person.id), now: desk.now };
    for (lot, part) in parts {
        cold_room::take_from_lot(&mut desk.tx, lot, -part, &movement).await?;
    }
    let text = desk.voice(person).say("surplus-put-back", &Args::new());
    left::show(desk, person, Some((text, None))).await
}
