//! How a batch is called.

use crate::house::House;
use crate::wording::{Args, Voice, key};
use scheduler::clock::LocalDate;
pub use scheduler::farm::batches::Shelf;

/// "40 blocks", "12 bags".
pub fn units(house: &House, voice: &Voice, crop: &str, number: i64) -> String {
    let text_key = if house.crops.is_bagged(crop) { key("count-bags") } else { key("count-blocks") };
    voice.plain(text_key, &Args::new().count("number", number))
}

/// "shiitake, 40 blocks, room 1", as plain text.
pub fn name(house: &House, voice: &Voice, shelf: &Shelf) -> String {
    let crop = shelf.batch.crop.as_str();
    let args = Args::new()
        .text("crop", house.crop_name(crop, voice))
        .text("units", units(house, voice, crop, shelf.units_left()))
        .text("room", shelf.batch.room.clone());
    voice.plain("batch-name", &args)
}

/// The name with the day that tells it from its like, for a button.
pub fn label(house: &House, voice: &Voice, shelf: &Shelf, today: LocalDate) -> String {
    let args = Args::new().text("batch", name(house, voice, shelf));
    match shelf.flush.initiated_on {
        Some(day) if house.crops.is_bagged(&shelf.batch.crop) => {
            voice.plain("batch-label-opened", &args.day("day", day, today))
        }
        Some(day) => voice.plain("batch-label-soaked", &args.day("day", day, today)),
        None => voice.plain("batch-label-waiting", &args.day("day", shelf.waits_since(), today)),
    }
}
