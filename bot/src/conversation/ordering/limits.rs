//! Why an order is not taken, in words: every refusal is a sentence with the limit or with what is still possible.

use super::{Ask, button, reply};
use crate::conversation::{Desk, Letter};
use crate::house::House;
use crate::wording::{Args, DateForm, Voice, key};
use scheduler::clock::LocalDate;
use scheduler::delivery::calendar::Delivery;
use scheduler::farm::ordering::limits::{self, NotTaken, Refused};
use scheduler::people::Person;
use scheduler::quantity::Grams;
use scheduler::store;

/// The sentence of a refusal.
pub fn refusal(house: &House, voice: &Voice, refused: &Refused) -> String {
    match refused {
        Refused::UnknownCrop { crop } => unknown_crop(house, voice, crop),
        Refused::RestingCrop { crop } => {
            let args = Args::new().text("crop", house.crop_name(crop, voice)).list("crops", grown(house, voice));
            voice.say("order-resting-crop", &args)
        }
        Refused::TooMuch { crop, greatest } => {
            let args = Args::new().text("crop", house.crop_name(crop, voice)).weight("greatest", *greatest);
            voice.say("order-too-much", &args)
        }
        Refused::TooLittle { crop, smallest } => {
            let args = Args::new().text("crop", house.crop_name(crop, voice)).weight("smallest", *smallest);
            voice.say("order-too-little", &args)
        }
    }
}

/// A weight of a crop as one line, or the sentence that says what is wrong.
pub fn weight(house: &House, voice: &Voice, crop: &str, grams: Grams) -> Result<Grams, String> {
    let farm = (&*house.crops, &house.config.rules);
    limits::weight(farm, crop, grams).map_err(|refused| refusal(house, voice, &refused))
}

/// "We don't grow …": and what there is.
pub fn unknown_crop(house: &House, voice: &Voice, crop: &str) -> String {
    voice.say("order-unknown-crop", &Args::new().text("crop", crop).list("crops", grown(house, voice)))
}

fn grown(house: &House, voice: &Voice) -> Vec<String> {
    house.crops.grown().map(|one| house.crop_name(one.key.as_str(), voice)).collect()
}

/// The delivery that orders are taken for: on `day`, or the next one. Otherwise the person is answered with what is still
/// possible, `again` on a button for that day, and there is none.
///
/// # Errors
/// Whatever the store fails with.
pub async fn open_delivery(
    desk: &mut Desk<'_>,
    person: &Person,
    day: Option<LocalDate>,
    again: impl Fn(LocalDate) -> Ask,
) -> store::Result<Option<Delivery>> {
    let voice = desk.voice(person);
    let no_delivery = || voice.say("order-no-delivery", &Args::new());
    let (text_key, day, next) = match limits::open_delivery(&desk.farm(), day) {
        Ok(delivery) => return Ok(Some(delivery)),
        Err(NotTaken::NoDelivery) => {
            reply(desk, person, Letter::new(no_delivery())).await?;
            return Ok(None);
        }
        Err(NotTaken::Past { day, next }) => (key("order-day-past"), day, next),
        Err(NotTaken::Far { day, next }) => (key("order-day-far"), day, next),
        Err(NotTaken::Closed { day, next }) => (key("order-day-closed"), day, next),
        Err(NotTaken::NotADeliveryDay { day, next }) => (key("order-day-none"), day, next),
    };
    let mut letter = Letter::new("");
    let possible = match next.and_then(|next| Some((next, next.cutoff_at?))) {
        Some((next, closes_at)) => {
            letter = letter.row([button(
                voice.plain("order-button-that-day", &Args::new().date_as("day", next.date, DateForm::Short)),
                again(next.date),
            )]);
            voice.say("order-still-possible", &Args::new().date("day", next.date).day_time("until", closes_at))
        }
        None => no_delivery(),
    };
    let text = voice.say(text_key, &Args::new().date_as("day", day, DateForm::WithYear));
    letter.html = format!("{text}\n{possible}");
    reply(desk, person, letter).await?;
    Ok(None)
}
