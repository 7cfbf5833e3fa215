//! How long a lot keeps. Rule: the crop's shelf days hold at or below 5 °C (41 °F); every warmer day uses more than a
//! day of them, from when it became warm; a colder one gives none back, because the shelf days are a promise to customers.
//!
//! Warmth speeds ageing as it speeds breathing: respiration of mushrooms rises from about 18 to about 145 mL CO2/kg h
//! from 0 to 20 °C (midpoints; Suslow & Cantwell, *Mushroom: recommendations for maintaining postharvest quality*, UC
//! Davis), a factor of 2.8 for ten degrees. The shelf days are planning figures at the low side of published ranges.
//! Local food codes come first; whatever looks or smells wrong is thrown away whatever the count says.

use crate::clock::LocalDate;
use chrono::{Duration, NaiveDateTime, NaiveTime};

/// Shelf days of shiitake at or below 5 °C.
pub const SHIITAKE_SHELF_DAYS: u16 = 10;
/// Shelf days of oyster mushrooms at or below 5 °C.
pub const OYSTER_SHELF_DAYS: u16 = 5;
/// 41 °F, the warmest at which the shelf days hold (FDA Food Code 3-501.16(A)(2) as adopted by states).
pub const COLD_ROOM_GREATEST_C: f64 = 5.0;
/// How many times faster for ten degrees more.
pub const Q10: f64 = 2.8;

/// Shelf days one day at `temperature_c` uses: 1 at or below 5 °C, 2.8 at 15 °C. A reading that is no number counts as
/// 1.
pub fn days_used(temperature_c: f64) -> f64 {
    if temperature_c.is_finite() { Q10.powf((temperature_c - COLD_ROOM_GREATEST_C).max(0.0) / 10.0) } else { 1.0 }
}

/// The last date a lot picked on `picked_on` is good, that kept cold would be good for `base_days`. `readings` are what the
/// cold room was said to be, by local time, rising, in °C: each counts from then until the next, the last one for good, and
/// before the first it was cold. Days are those of the clock on the wall.
pub fn keeps_until(picked_on: LocalDate, base_days: u16, readings: &[(NaiveDateTime, f64)]) -> LocalDate {
    let mut at = picked_on.and_time(NaiveTime::MIN);
    let mut left = f64::from(base_days);
    let mut pace = 1.0;
    for (since, temperature_c) in readings {
        let days = (*since - at).num_seconds() as f64 / 86_400.0;
        if days * pace > left {
            break;
        }
        if days > 0.0 {
            left -= days * pace;
            at = *since;
        }
        pace = days_used(*temperature_c);
    }
    // A millionth of a day forgives what binary fractions lose.
    let seconds = (left / pace + 1e-6) * 86_400.0;
    (at + Duration::seconds(seconds as i64)).date()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn date(text: &str) -> LocalDate {
        text.parse().expect("a date")
    }

    /// Suslow & Cantwell, UC Davis: 14-22 mL at 0 °C, 132-158 mL at 20 °C; midpoints 18 and 145.
    #[test]
    fn the_factor_follows_published_respiration() {
        let for_ten_degrees = (145.0_f64 / 18.0).sqrt();
        assert!((for_ten_degrees - Q10).abs() < 0.05, "{for_ten_degrees}");
        // 50 mL at 10 °C and 35 mL at 5 °C lie on the same curve within the published spread.
        assert!((days_used(10.0) - 50.0 / 35.0).abs() < 0.3);
    }

    fn at(text: &str) -> NaiveDateTime {
        text.parse().expect("a local time")
    }

    #[test]
    fn warmth_shortens_and_cold_does_not_lengthen() {
        let picked = date("2026-11-24");
        for (base, temperature_c, last) in [
            (SHIITAKE_SHELF_DAYS, None, "2026-12-04"),
            (SHIITAKE_SHELF_DAYS, Some(0.0), "2026-12-04"),
            (SHIITAKE_SHELF_DAYS, Some(5.0), "2026-12-04"),
            // 10 / 2.8 = 3.57 days.
            (SHIITAKE_SHELF_DAYS, Some(15.0), "2026-11-27"),
            (OYSTER_SHELF_DAYS, None, "2026-11-29"),
            (OYSTER_SHELF_DAYS, Some(f64::NAN), "2026-11-29"),
            (OYSTER_SHELF_DAYS, Some(25.0), "2026-11-24"),
            (0, None, "2026-11-24"),
        ] {
            let readings: Vec<_> = temperature_c.map(|warm| (at("2026-11-20T08:00:00"), warm)).into_iter().collect();
            assert_eq!(keeps_until(picked, base, &readings), date(last), "{base} {temperature_c:?}");
        }
    }

    /// Oyster of 24 November, good until the 29th. Warm from the 26th at noon: 2.5 days are used, and of the 2.5 left each
    /// day at 15 °C uses 2.8, so that 0.893 days remain: the 27th at 9:26. Cold again a quarter of a day after noon:
    /// 2.5 - 0.25 × 2.8 = 1.8 days from the 26th at 18:00, the 28th at 13:12.
    #[test]
    fn a_warm_spell_shortens_what_remains_and_not_what_passed() {
        let picked = date("2026-11-24");
        let warm = (at("2026-11-26T12:00:00"), 15.0);
        let cold = (at("2026-11-26T18:00:00"), 4.0);
        let late = (at("2026-12-10T12:00:00"), 30.0);
        for (readings, last) in [
            (vec![], "2026-11-29"),
            (vec![warm], "2026-11-27"),
            (vec![warm, cold], "2026-11-28"),
            // Too late for this lot, and its last day does not change any more.
            (vec![late], "2026-11-29"),
            (vec![warm, late], "2026-11-27"),
        ] {
            assert_eq!(keeps_until(picked, OYSTER_SHELF_DAYS, &readings), date(last), "{readings:?}");
        }
    }

    proptest! {
        /// Whatever is said of the cold room, a lot is good no longer than kept cold and not before it was picked; and a
        /// word of the same warmth once more changes nothing.
        #[test]
        fn warmth_never_lengthens(readings in prop::collection::vec((0i64..480, -5.0..40.0f64), 0..8)) {
            let picked = date("2026-11-24");
            let mut readings: Vec<_> =
                readings.into_iter().map(|(hour, warm)| (at("2026-11-20T00:00:00") + Duration::hours(hour), warm)).collect();
            readings.sort_by_key(|(since, _)| *since);
            let last = keeps_until(picked, SHIITAKE_SHELF_DAYS, &readings);
            prop_assert!((picked..=date("2026-12-04")).contains(&last));
            if let Some((since, warm)) = readings.last().copied() {
                readings.push((since + Duration::hours(7), warm));
                prop_assert_eq!(keeps_until(picked, SHIITAKE_SHELF_DAYS, &readings), last);
            }
        }
    }
}
