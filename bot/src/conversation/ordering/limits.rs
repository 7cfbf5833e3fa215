//! What is not taken, and why: crops, weights and days. Every refusal is a sentence with the limit or with what is still
//! possible, and changes nothing.

use super::{Ask, Lines, button, reply};
use crate::conversation::{Desk, Letter};
use crate::house::House;
use crate::wording::{Args, DateForm, Voice, key};
use chrono::Days;
use scheduler::clock::LocalDate;
use scheduler::delivery::calendar::Delivery;
use scheduler::orders::amounts::{self, Asked};
use scheduler::orders::cutoff::{Cutoff, decide};
use scheduler::people::Person;
use scheduler::quantity::{Amount, Grams, WeightUnit};
use scheduler::store;
use std::collections::BTreeMap;

/// Days ahead for which an order is taken: within what the book looks at.
const AHEAD_DAYS: u64 = 365;

/// The greatest weight of one line: the farm's own, and never over what the rule of amounts allows.
pub fn greatest(house: &House) -> Grams {
    let kilograms = Grams::new(1000).checked_times(house.config.orders.greatest_line_kg);
    kilograms.unwrap_or(amounts::LINE_GREATEST).at_most(amounts::LINE_GREATEST)
}

/// Lines by crop, a crop named twice added up; or the sentence that says what is wrong.
pub fn lines(house: &House, voice: &Voice, lines: &Lines) -> Result<BTreeMap<String, Grams>, String> {
    let mut sums: BTreeMap<String, Grams> = BTreeMap::new();
    for (crop, grams) in lines {
        // A weight below zero must not hide in a sum.
        weight(house, voice, crop, *grams)?;
        *sums.entry(crop.clone()).or_default() += *grams;
    }
    for (crop, grams) in &sums {
        weight(house, voice, crop, *grams)?;
    }
    Ok(sums)
}

/// A weight of a crop as one line, or the sentence that says what is wrong.
pub fn weight(house: &House, voice: &Voice, crop: &str, grams: Grams) -> Result<Grams, String> {
    let Some(known) = house.crops.get(crop) else { return Err(unknown_crop(house, voice, crop)) };
    if house.crops.is_resting(crop) {
        return Err(resting_crop(house, voice, crop));
    }
    let amount = Amount { numerator: grams.get(), denominator: 1 };
    judged(house, voice, (crop, known.pack_step), amounts::judge(amount, WeightUnit::Gram, known.pack_step))
}

/// What a judged amount comes to, or the sentence that says what is wrong.
pub fn judged(house: &House, voice: &Voice, (crop, pack_step): (&str, Grams), asked: Asked) -> Result<Grams, String> {
    let name = house.crops.name(crop, voice);
    let too_much =
        |greatest| voice.say("order-too-much", &Args::new().text("crop", name.clone()).weight("greatest", greatest));
    match asked {
        Asked::Accepted(grams) if grams > greatest(house) => Err(too_much(greatest(house))),
        Asked::Accepted(grams) => Ok(grams),
        Asked::AboveGreatest { .. } => Err(too_much(greatest(house))),
        Asked::BelowSmallest { .. } | Asked::NotAnAmount => {
            Err(voice.say("order-too-little", &Args::new().text("crop", name).weight("smallest", pack_step)))
        }
    }
}

/// "We don't grow …": and what there is.
pub fn unknown_crop(house: &House, voice: &Voice, crop: &str) -> String {
    voice.say("order-unknown-crop", &Args::new().text("crop", crop).list("crops", grown(house, voice)))
}

/// "We are not growing …": and what there is.
fn resting_crop(house: &House, voice: &Voice, crop: &str) -> String {
    let args = Args::new().text("crop", house.crops.name(crop, voice));
    voice.say("order-resting-crop", &args.list("crops", grown(house, voice)))
}

fn grown(house: &House, voice: &Voice) -> Vec<String> {
    house.crops.grown().map(|one| house.crops.name(one.key.as_str(), voice)).collect()
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
    let (voice, house, today) = (desk.voice(person), desk.house, desk.today());
    let next_open = house.calendar.next_open_delivery(desk.now);
    let Some(day) = day else {
        if next_open.is_none() {
            reply(desk, person, Letter::new(voice.say("order-no-delivery", &Args::new()))).await?;
        }
        return Ok(next_open);
    };
    let (text_key, next) = if day < today {
        (key("order-day-past"), next_open)
    } else if today.checked_add_days(Days::new(AHEAD_DAYS)).is_some_and(|last| day > last) {
        (key("order-day-far"), next_open)
    } else {
        match decide(&house.calendar, day, desk.now) {
            Cutoff::Open(delivery) => return Ok(Some(delivery)),
            Cutoff::Closed { next, .. } => (key("order-day-closed"), next),
            Cutoff::NotADeliveryDay { next } => (key("order-day-none"), next),
        }
    };
    let mut text = voice.say(text_key, &Args::new().date_as("day", day, DateForm::WithYear));
    let mut letter = Letter::new("");
    match next.and_then(|next| Some((next, next.cutoff_at?))) {
        Some((next, closes_at)) => {
            text += "\n";
            text +=
                &voice.say("order-still-possible", &Args::new().date("day", next.date).day_time("until", closes_at));
            letter = letter.row([button(
                voice.plain("order-button-that-day", &Args::new().date_as("day", next.date, DateForm::Short)),
                again(next.date),
            )]);
        }
        None => {
            text += "\n";
            text += &voice.say("order-no-delivery", &Args::new());
        }
    }
    letter.html = text;
    reply(desk, person, letter).await?;
    Ok(None)
}
