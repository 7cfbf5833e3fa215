//! Room warmth: development runs with thermal time, in proportion to the degrees above the crop's base temperature.
//! Days are learnt and forecast at the crop's reference temperature; a warmer room shortens them, a cooler one
//! stretches them. The law is the usual degree-day one, its base judged (see the table of priors).

use crate::harvest::prior::CropPrior;

/// Pace is kept within these, however odd a reading.
const PACE_LOW: f64 = 0.4;
const PACE_HIGH: f64 = 1.8;

/// How a room's temperature sits with the crop.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Warmth {
    TooCold,
    Fruiting,
    TooWarm,
}

/// Whether the crop fruits at this room temperature, °C.
pub fn warmth(prior: &CropPrior, room_temperature_c: f64) -> Warmth {
    if room_temperature_c < prior.fruiting_low_c {
        Warmth::TooCold
    } else if room_temperature_c > prior.fruiting_high_c {
        Warmth::TooWarm
    } else {
        Warmth::Fruiting
    }
}

/// Speed of development against that at the reference temperature: 1 when nothing is known, within 0.4 to 1.8. Beyond
/// the fruiting range the crop goes no faster.
pub fn pace(prior: &CropPrior, room_temperature_c: Option<f64>) -> f64 {
    let Some(celsius) = room_temperature_c.filter(|celsius| celsius.is_finite()) else { return 1.0 };
    let felt = celsius.min(prior.fruiting_high_c);
    ((felt - prior.base_c) / (prior.reference_c - prior.base_c)).clamp(PACE_LOW, PACE_HIGH)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::harvest::prior::built_in;

    /// The ranges of Pettipher 1988 (shiitake, 11–26 °C); pace is proportional above the base.
    #[test]
    fn warmer_is_faster_within_reason() {
        let shiitake = &built_in()[0];
        for (celsius, wanted_pace, wanted) in [
            (16.0, 1.0, Warmth::Fruiting),
            (12.0, 0.75, Warmth::Fruiting),
            (20.0, 1.25, Warmth::Fruiting),
            (10.0, 0.625, Warmth::TooCold),
            (40.0, 1.625, Warmth::TooWarm),
            (-20.0, 0.4, Warmth::TooCold),
        ] {
            assert!((pace(shiitake, Some(celsius)) - wanted_pace).abs() < 1e-12, "{celsius}");
            assert_eq!(warmth(shiitake, celsius), wanted);
        }
        assert_eq!((pace(shiitake, None), pace(shiitake, Some(f64::NAN))), (1.0, 1.0));
    }
}
