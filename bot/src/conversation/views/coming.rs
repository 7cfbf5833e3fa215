//! What may be ready for the coming deliveries, against what is asked.

use crate::conversation::Desk;
use crate::conversation::surplus::next;
use crate::pictures::{CropRow, DayBand, ForecastPicture, about};
use crate::wording::{Args, Voice};
use scheduler::clock::LocalDate;
use scheduler::farm::{asked, expected, stock};
use scheduler::quantity::Grams;
use scheduler::store::{self, deliveries};
use std::collections::BTreeMap;

/// Deliveries looked ahead: what is soaked today is picked within them.
const DELIVERIES: usize = 4;

/// The coming deliveries.
pub struct Coming {
    expected: Vec<expected::Expectation>,
    asked: BTreeMap<(LocalDate, String), Grams>,
    promised: BTreeMap<(LocalDate, String), Grams>,
    surplus: Vec<next::Surplus>,
}

/// Reads them.
///
/// # Errors
/// Whatever the store fails with.
pub async fn facts(desk: &mut Desk<'_>) -> store::Result<Coming> {
    let coming = desk.house.calendar.upcoming(desk.now, DELIVERIES);
    let days: Vec<LocalDate> = coming.iter().map(|delivery| delivery.date).collect();
    let expected = expected::on_days(&mut desk.farm(), &days).await?;
    let mut asked_of: BTreeMap<(LocalDate, String), Grams> = BTreeMap::new();
    if let (Some(first), Some(last)) = (days.first(), days.last()) {
        for line in asked::between(&mut desk.farm(), *first, *last).await? {
            *asked_of.entry((line.day, line.crop)).or_default() += line.grams;
        }
    }
    let mut promised: BTreeMap<(LocalDate, String), Grams> = BTreeMap::new();
    for award in deliveries::awards_owed(&mut desk.tx).await? {
        *promised.entry((award.day, award.crop)).or_default() += award.promised;
    }
    let stock = stock::now(&mut desk.farm()).await?;
    Ok(Coming { expected, asked: asked_of, promised, surplus: next::coming(desk, &stock).await? })
}

impl Coming {
    /// The same as a picture, ready to be drawn.
    pub fn picture(&self, desk: &Desk<'_>, voice: &Voice) -> ForecastPicture {
        let crops = desk.house.crops.iter().map(|crop| {
            let key = crop.key.as_str();
            let days = self.expected.iter().filter(|one| one.crop == key).map(|one| {
                let of =
                    |sums: &BTreeMap<_, Grams>| sums.get(&(one.day, one.crop.clone())).copied().unwrap_or_default();
                DayBand {
                    day: one.day,
                    p10: one.p10,
                    p50: one.p50,
                    p90: one.p90,
                    asked: of(&self.asked),
                    promised: of(&self.promised),
                }
            });
            CropRow { name: desk.house.crop_name(key, voice), days: days.collect() }
        });
        ForecastPicture { farm: desk.house.config.farm.name.clone(), crops: crops.collect() }
    }

    /// The page for one reader.
    pub fn write(&self, desk: &Desk<'_>, voice: &Voice) -> String {
        let mut lines = vec![voice.say("coming-heading", &Args::new())];
        let mut last_day = None;
        for one in &self.expected {
            if last_day != Some(one.day) {
                last_day = Some(one.day);
                lines.push(String::new());
                lines.push(voice.say("coming-day", &Args::new().date("day", one.day)));
            }
            let asked = self.asked.get(&(one.day, one.crop.clone())).copied().unwrap_or_default();
            // No more exact than a forecast is.
            let [low, likely, high] = [one.p10, one.p50, one.p90].map(|weight| about(weight, voice.reader().units));
            let args = Args::new().text("crop", desk.house.crop_name(&one.crop, voice)).weight("likely", likely);
            let args = args.weight("asked", asked);
            lines.push(match (low == high, asked > one.p50) {
                (true, false) => voice.say("coming-line-known", &args),
                (true, true) => voice.say("coming-line-known-short", &args),
                (false, false) => voice.say("coming-line", &args.between("range", low, high)),
                (false, true) => voice.say("coming-line-short", &args.between("range", low, high)),
            });
        }
        lines.extend(next::lines(desk, voice, &self.surplus));
        lines.push(String::new());
        lines.push(voice.say("coming-note", &Args::new()));
        lines.join("\n")
    }
}
