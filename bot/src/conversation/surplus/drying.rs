//! Drying and throwing away. Rule: only what is free is dried; what is past goes first when something is thrown away.

use super::{Ask, left};
use crate::conversation::Desk;
use crate::wording::{Args, DateForm};
use scheduler::farm::surplus::out::{self, Out, Parts};
use scheduler::people::Person;
use scheduler::quantity::Grams;
use scheduler::store;
use scheduler::store::cold_room::MoveKind;

/// Puts so much of a crop into the drier.
pub(super) async fn dry(desk: &mut Desk<'_>, person: &Person, (crop, grams): (String, Grams)) -> store::Result<()> {
    let (voice, house) = (desk.voice(person), desk.house);
    let crop_is = || Args::new().text("crop", house.crop_name(&crop, &voice));
    let parts = match out::dry(&mut desk.farm(), person, (&crop, grams)).await? {
        Out::MoreThan(free) => {
            let text = voice.say("surplus-more-than-free", &crop_is().weight("free", free));
            return left::refused(desk, person, text).await;
        }
        Out::Done { parts, .. } => parts,
    };
    let args = crop_is().weight("weight", grams).weight("dried", house.crops.dried(&crop, grams));
    let label = crop_is().date_as("day", desk.today(), DateForm::WithYear);
    let text = [voice.say("surplus-dried", &args), voice.say("surplus-dried-label", &label)].join("\n");
    let undo = Ask::PutBack { kind: MoveKind::Dried, parts };
    left::show(desk, person, Some((text, Some(undo)))).await
}

/// Throws so much of a crop away.
pub(super) async fn discard(desk: &mut Desk<'_>, person: &Person, (crop, grams): (String, Grams)) -> store::Result<()> {
    let (voice, house) = (desk.voice(person), desk.house);
    let crop_is = || Args::new().text("crop", house.crop_name(&crop, &voice));
    let (parts, uncovered) = match out::discard(&mut desk.farm(), person, (&crop, grams)).await? {
        Out::MoreThan(there) => {
            let text = voice.say("surplus-more-than-there", &crop_is().weight("there", there));
            return left::refused(desk, person, text).await;
        }
        Out::Done { parts, uncovered } => (parts, uncovered),
    };
    let mut lines = vec![voice.say("surplus-discarded", &crop_is().weight("weight", grams))];
    if uncovered.is_positive() {
        lines.push(voice.say("surplus-promises-uncovered", &crop_is().weight("weight", uncovered)));
    }
    let undo = Ask::PutBack { kind: MoveKind::Discarded, parts };
    left::show(desk, person, Some((lines.join("\n"), Some(undo)))).await
}

/// Takes a drying or throwing away back.
pub(super) async fn put_back(
    desk: &mut Desk<'_>,
    person: &Person,
    (kind, parts): (MoveKind, Parts),
) -> store::Result<()> {
    out::put_back(&mut desk.farm(), person, (kind, parts)).await?;
    let text = desk.voice(person).say("surplus-put-back", &Args::new());
    left::show(desk, person, Some((text, None))).await
}
