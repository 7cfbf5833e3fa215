//! The next surplus: what the coming deliveries will likely have beyond what is asked of them. Rule: what is free now is not
//! counted again, and what is left after one delivery is not counted for the next.

use crate::conversation::Desk;
use crate::pictures::about;
use crate::wording::{Args, Voice};
use scheduler::allotment::{DayDraws, Owed};
use scheduler::clock::LocalDate;
use scheduler::farm::{asked, expected, futures, stock};
use scheduler::quantity::Grams;
use scheduler::store;
use scheduler::surplus::count::Stock;

/// Deliveries looked ahead: further on, orders still come.
const DELIVERIES: usize = 2;

/// What a delivery will likely have left of a crop.
pub struct Surplus {
    day: LocalDate,
    crop: String,
    /// In nine of ten futures there is at least this, in half of them, in one of ten.
    low: Grams,
    likely: Grams,
    high: Grams,
}

/// What the coming deliveries will likely have left, in their order; crops with less than a pack are not named.
///
/// # Errors
/// Whatever the store fails with.
pub async fn coming(desk: &mut Desk<'_>, free: &Stock) -> store::Result<Vec<Surplus>> {
    let deliveries = desk.house.calendar.upcoming(desk.now, DELIVERIES);
    let Some(last) = deliveries.last().map(|delivery| delivery.date) else { return Ok(Vec::new()) };
    let (today, now) = (desk.today(), desk.now);
    // No delivery was yesterday's any more: every promise counts.
    let mut owed = stock::owed_beside(&mut desk.farm(), today.pred_opt().unwrap_or(today), |_| true).await?;
    for delivery in deliveries.iter().filter(|delivery| delivery.is_open(now)) {
        let lines = asked::between(&mut desk.farm(), delivery.date, delivery.date).await?;
        owed.extend(lines.into_iter().map(|line| Owed { crop: line.crop, day: line.day, grams: line.grams }));
    }
    let free = free.lots.iter().filter(|lot| lot.free.is_positive());
    owed.extend(free.map(|lot| Owed { crop: lot.crop.clone(), day: today, grams: lot.free }));
    let growth = expected::growth(&mut desk.farm()).await?;
    let futures = futures::until(&mut desk.farm(), &growth, last).await?;
    let crops = desk.house.crops.keys();
    let mut found = Vec::new();
    for delivery in deliveries {
        let day = delivery.date;
        let draws = DayDraws::left_for(day, &crops, futures.draws(), &owed);
        for crop in desk.house.crops.iter() {
            let of = |level| draws.quantile(crop.key.as_str(), level);
            let likely = of(0.5);
            if likely >= crop.pack_step && likely.is_positive() {
                let name = crop.key.as_str().to_owned();
                owed.push(Owed { crop: name.clone(), day, grams: likely });
                found.push(Surplus { day, crop: name, low: of(0.1), likely, high: of(0.9) });
            }
        }
    }
    Ok(found)
}

/// A line for each, no more exact than a forecast is.
pub fn lines(desk: &Desk<'_>, voice: &Voice, found: &[Surplus]) -> Vec<String> {
    let units = voice.reader().units;
    let line = |one: &Surplus| {
        let args = Args::new()
            .text("crop", desk.house.crop_name(&one.crop, voice))
            .day("day", one.day, desk.today())
            .weight("likely", about(one.likely, units))
            .between("range", about(one.low, units), about(one.high, units));
        voice.say("left-next", &args)
    };
    found.iter().map(line).collect()
}
