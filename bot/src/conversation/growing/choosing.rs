//! Which batch is meant: the one that fits, or a question with a button for each.

use super::shelf::{self, Shelf};
use super::{Ask, button, refuse, shelves_button};
use crate::conversation::{Desk, Letter};
use crate::intent::unclear;
use crate::phrase::Question;
use crate::wording::Args;
use scheduler::farm::batches;
use scheduler::id::Id;
use scheduler::people::Person;
use scheduler::store;

/// Most buttons under one question; the service takes a hundred.
const BUTTONS_MOST: usize = 60;

/// What is known of the batch that is meant.
pub struct Wanted<'a> {
    pub crop: Option<&'a str>,
    pub batch: Option<Id>,
    /// The question when several fit, HTML.
    pub question: String,
    /// The refusal when none of several fits, HTML.
    pub none_fits: String,
    pub fits: &'a (dyn Fn(&Shelf) -> bool + Sync),
    /// What a button asks for once the batch is chosen.
    pub ask: &'a (dyn Fn(Id) -> Ask + Sync),
}

/// The batch, or `None` when the person was answered. A batch that was named, or is the only one, is given even where
/// it does not fit: the caller then says why.
///
/// # Errors
/// Whatever the store fails with.
pub async fn choose(desk: &mut Desk<'_>, person: &Person, wanted: Wanted<'_>) -> store::Result<Option<Shelf>> {
    let voice = desk.voice(person);
    let house = desk.house;
    if let Some(crop) = wanted.crop.filter(|crop| house.crops.get(crop).is_none()) {
        let html = unclear::say(desk, &voice, &Question::UnknownCrop { word: crop.to_owned() });
        refuse(desk, person, html).await?;
        return Ok(None);
    }
    if let Some(batch) = wanted.batch {
        return named(desk, person, batch, wanted.crop).await;
    }
    let of_crop = |shelf: &Shelf| wanted.crop.is_none_or(|crop| crop == shelf.batch.crop);
    let mut there: Vec<Shelf> = batches::active(&mut desk.farm()).await?.into_iter().filter(of_crop).collect();
    if there.is_empty() {
        let html = match wanted.crop {
            Some(crop) => voice.say("no-batch-of", &Args::new().text("crop", house.crop_name(crop, &voice))),
            None => voice.say("shelves-empty", &Args::new()),
        };
        refuse(desk, person, html).await?;
        return Ok(None);
    }
    if there.len() > 1 {
        there.retain(|shelf| (wanted.fits)(shelf));
    }
    if there.len() < 2 {
        let found = there.pop();
        if found.is_none() {
            refuse(desk, person, wanted.none_fits).await?;
        }
        return Ok(found);
    }
    let today = desk.today();
    let mut letter = Letter::new(wanted.question);
    for shelf in there.iter().take(BUTTONS_MOST) {
        let label = shelf::label(house, &voice, shelf, today);
        letter = letter.row([button(label, (wanted.ask)(shelf.batch.id))]);
    }
    desk.answer(person, letter.row([shelves_button(&voice)])).await?;
    Ok(None)
}

/// A batch by its identifier: there, not spent, and of the crop where one was named.
///
/// # Errors
/// Whatever the store fails with.
pub async fn named(
    desk: &mut Desk<'_>,
    person: &Person,
    batch: Id,
    crop: Option<&str>,
) -> store::Result<Option<Shelf>> {
    let voice = desk.voice(person);
    let house = desk.house;
    let refusal = match batches::find(&mut desk.farm(), batch).await? {
        Some(shelf) if shelf.is_spent => {
            voice.say("batch-is-spent", &Args::new().text("batch", shelf::name(house, &voice, &shelf)))
        }
        None => voice.say("batch-unknown", &Args::new()),
        Some(shelf) if crop.is_some_and(|crop| crop != shelf.batch.crop) => {
            let args = Args::new()
                .text("batch", shelf::name(house, &voice, &shelf))
                .text("crop", house.crop_name(crop.unwrap_or_default(), &voice));
            voice.say("batch-of-another-crop", &args)
        }
        Some(shelf) => return Ok(Some(shelf)),
    };
    refuse(desk, person, refusal).await?;
    Ok(None)
}
