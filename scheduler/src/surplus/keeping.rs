//! How long a lot keeps. Rule: the crop's shelf days hold at or below 5 °C (41 °F); every warmer day uses more than a
//! day of them; a colder one gives none back, because the shelf days are a promise to customers.
//!
//! Warmth speeds ageing as it speeds breathing: respiration of mushrooms rises from about 18 to about 145 mL CO2/kg h
//! from 0 to 20 °C (midpoints; Suslow & Cantwell, *Mushroom: recommendations for maintaining postharvest quality*, UC
//! Davis), a factor of 2.8 for ten degrees. The shelf days are planning figures at the low side of published ranges.
//! Local food codes come first; whatever looks or smells wrong is thrown away whatever the count says.

use crate::clock::LocalDate;
use chrono::Days;
use std::collections::BTreeMap;

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

/// The last date a lot picked on `picked_on` keeps when it stands at `temperature_c` all along; `None` means the cold
/// room is as cold as it should be.
pub fn keeps_until(picked_on: LocalDate, base_days: u16, temperature_c: Option<f64>) -> LocalDate {
    let days = f64::from(base_days) / days_used(temperature_c.unwrap_or(COLD_ROOM_GREATEST_C));
    picked_on + Days::new(days as u64)
}

/// The same with the temperature reported for single dates; dates without a report count as cold enough.
pub fn keeps_until_through(picked_on: LocalDate, base_days: u16, reports_c: &BTreeMap<LocalDate, f64>) -> LocalDate {
    let mut used = 0.0;
    let mut last = picked_on;
    for date in picked_on.iter_days().take(usize::from(base_days)) {
        used += reports_c.get(&date).map_or(1.0, |temperature_c| days_used(*temperature_c));
        if used > f64::from(base_days) {
            break;
        }
        last = date + Days::new(1);
    }
    last
}

#[cfg(test)]
mod tests {
    use super::*;

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
            assert_eq!(keeps_until(picked, base, temperature_c), date(last), "{base} {temperature_c:?}");
        }
    }

    #[test]
    fn one_warm_day_uses_nearly_three() {
        let picked = date("2026-11-24");
        let warm = BTreeMap::from([(date("2026-11-25"), 15.0)]);
        assert_eq!(keeps_until_through(picked, OYSTER_SHELF_DAYS, &BTreeMap::new()), date("2026-11-29"));
        assert_eq!(keeps_until_through(picked, OYSTER_SHELF_DAYS, &warm), date("2026-11-27"));
        let later = BTreeMap::from([(date("2026-12-10"), 30.0)]);
        assert_eq!(keeps_until_through(picked, OYSTER_SHELF_DAYS, &later), date("2026-11-29"));
    }

    #[test]
    fn a_steady_temperature_gives_the_same_either_way() {
        let picked = date("2026-11-24");
        for tenths in 0..300 {
            let temperature_c = f64::from(tenths) / 10.0;
            let reports = picked.iter_days().take(20).map(|date| (date, temperature_c)).collect();
            let steady = keeps_until(picked, SHIITAKE_SHELF_DAYS, Some(temperature_c));
            assert_eq!(keeps_until_through(picked, SHIITAKE_SHELF_DAYS, &reports), steady, "{temperature_c}");
        }
    }
}
