//! A new standing order by buttons: crop, weight, how often; the first that is missing is asked for.

use super::standing::{self, New};
use super::{Ask, Draft, button, refuse, reply, weights};
use crate::conversation::ordering::limits;
use crate::conversation::{Desk, Letter};
use crate::wording::{Args, key};
use scheduler::people::Person;
use scheduler::store;

/// Asks for what is missing; says the whole back when nothing is.
///
/// # Errors
/// Whatever the store fails with.
pub async fn go_on(desk: &mut Desk<'_>, person: &Person, draft: Draft) -> store::Result<()> {
    let (voice, house) = (desk.voice(person), desk.house);
    let say = |text_key| voice.plain(text_key, &Args::new());
    let Some(crop) = draft.crop.clone() else { return ask_crop(desk, person, draft).await };
    let Some(known) = house.crops.get(&crop) else {
        return refuse(desk, person, limits::unknown_crop(house, &voice, &crop)).await;
    };
    let Some(grams) = draft.grams else {
        let args = Args::new().text("crop", house.crop_name(&crop, &voice));
        let mut letter = Letter::new(voice.say("standing-which-weight", &args));
        for few in weights::usual(voice.reader().units, known.pack_step).chunks(3) {
            let with = |grams| Ask::Draft(Draft { grams: Some(grams), ..draft.clone() });
            letter = letter.row(few.iter().map(|grams| button(voice.weight(*grams), with(*grams))));
        }
        letter = letter.row([button(say(key("standing-button-other-weight")), Ask::TypeDraft(draft))]);
        return reply(desk, person, letter).await;
    };
    let Some(every_weeks) = draft.every_weeks else {
        let args = Args::new().text("amount", house.amount(&crop, grams, &voice));
        let with = |weeks| Ask::Draft(Draft { every_weeks: Some(weeks), ..draft.clone() });
        let letter = Letter::new(voice.say("standing-how-often", &args)).row([
            button(say(key("standing-button-weekly")), with(1)),
            button(say(key("standing-button-second")), with(2)),
        ]);
        return reply(desk, person, letter).await;
    };
    let lines = vec![(crop, grams)];
    let new = New { lines, every_weeks, weekdays: Vec::new(), from: None, until: None, sure: false };
    standing::start(desk, person, new).await
}

/// Which crop?
///
/// # Errors
/// Whatever the store fails with.
pub async fn ask_crop(desk: &mut Desk<'_>, person: &Person, draft: Draft) -> store::Result<()> {
    let (voice, house) = (desk.voice(person), desk.house);
    let mut letter = Letter::new(voice.say("standing-which-crop", &Args::new()));
    for crop in house.crops.grown() {
        let label = house.crop_name(crop.key.as_str(), &voice);
        let with = Draft { crop: Some(crop.key.to_string()), ..draft.clone() };
        letter = letter.row([button(label, Ask::Draft(with))]);
    }
    reply(desk, person, letter).await
}
