//! What the coming deliveries can count on: the cold room and the harvest still to come.

use super::Desk;
use scheduler::clock::LocalDate;
use scheduler::quantity::Grams;
use scheduler::store;
use scheduler::store::cold_room;

/// What may be ready of a crop for a delivery day.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Expectation {
    pub day: LocalDate,
    pub crop: String,
    /// Nine weeks in ten there is at least this.
    pub p10: Grams,
    pub p50: Grams,
    pub p90: Grams,
    /// What can be promised at the farm's level.
    pub promise: Grams,
    /// The part that lies in the cold room already.
    pub in_cold_room: Grams,
}

/// What may be ready of every crop for each of these days, in order of day and crop.
///
/// # Errors
/// Whatever the store fails with.
pub async fn on_days(desk: &mut Desk<'_>, days: &[LocalDate]) -> store::Result<Vec<Expectation>> {
    let lots = cold_room::lots(&mut desk.tx).await?;
    let mut expected = Vec::new();
    for &day in days {
        for crop in desk.house.crops.iter() {
            let key = crop.key.as_str();
            let good = |lot: &&cold_room::Lot| lot.crop == key && lot.ready_on <= day && day <= lot.keeps_until;
            let there: Grams = lots.iter().filter(good).map(|lot| lot.left).sum();
            let crop = key.to_owned();
            expected.push(Expectation {
                day,
                crop,
                p10: there,
                p50: there,
                p90: there,
                promise: there,
                in_cold_room: there,
            });
        }
    }
    Ok(expected)
}
