//! Room warmth: development runs with thermal time, in proportion to the degrees above the crop's base temperature.
//! Days are learnt and forecast at the crop's reference temperature; a warmer room shortens them, a cooler one
//! stretches them. The law is the usual degree-day one, its base judged (see the table of priors).

use crate::clock::LocalDate;
use crate::harvest::prior::CropPrior;
use std::collections::BTreeMap;

/// Pace is kept within these, however odd a reading.
const PACE_LOW: f64 = 0.4;
const PACE_HIGH: f64 = 1.8;

/// Days a reading stands for when no newer one follows (judged: a season's drift, not a cold night's).
const READING_DAYS: i64 = 14;

/// A room's mean temperature, °C, from `from` to `to`, both included: each day has the latest reading of that day or of
/// the fortnight before; days without one are left out. `None` when no day has one.
pub fn mean_temperature_c(readings: &BTreeMap<LocalDate, f64>, from: LocalDate, to: LocalDate) -> Option<f64> {
    let (mut sum, mut days) = (0.0, 0);
    // A reading's days end where the next one begins.
    let mut begun = readings.iter().peekable();
    while let Some((&day, &celsius)) = begun.next() {
        let next = begun.peek().map(|next| *next.0);
        let until = day + chrono::Duration::days(READING_DAYS - 1);
        let until = next.map_or(until, |next| until.min(next - chrono::Duration::days(1)));
        let count = (until.min(to) - day.max(from)).num_days() + 1;
        if count > 0 && celsius.is_finite() {
            sum += celsius * count as f64;
            days += count;
        }
    }
    (days > 0).then(|| sum / days as f64)
}

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

    /// Trade facts, common practice without source: shiitake fruits at 50–60 °F and some two weeks after the soak, oyster at
    /// 70–80 °F and some two weeks after opening. At those warmths the table's first flush comes in 9 to 16 days.
    #[test]
    fn days_at_the_trades_warmths_are_about_two_weeks() {
        let [shiitake, oyster] = &built_in()[..] else { panic!("two crops") };
        for (prior, fahrenheit) in [(shiitake, 52.0), (shiitake, 60.0), (oyster, 70.0), (oyster, 80.0)] {
            // NIST SP 811, appendix B.8.
            let celsius = (fahrenheit - 32.0) / 1.8;
            assert_eq!(warmth(prior, celsius), Warmth::Fruiting, "{fahrenheit}");
            let days = prior.flushes[0].days_mean / pace(prior, Some(celsius));
            assert!((9.0..=16.0).contains(&days), "{} {fahrenheit}: {days}", prior.crop.key);
        }
        // 50 °F is a degree under the 11 °C of Pettipher 1988: said, and slow.
        assert_eq!(warmth(shiitake, 10.0), Warmth::TooCold);
    }

    #[test]
    fn a_reading_holds_until_the_next_or_a_fortnight() {
        let day = |text: &str| -> LocalDate { text.parse().expect("a day") };
        let readings = BTreeMap::from([(day("2027-03-01"), 10.0), (day("2027-03-05"), 16.0)]);
        for (from, to, wanted) in [
            ("2027-02-20", "2027-02-28", None),
            ("2027-02-20", "2027-03-01", Some(10.0)),
            ("2027-03-01", "2027-03-08", Some(13.0)),
            ("2027-03-05", "2027-03-09", Some(16.0)),
            ("2027-03-18", "2027-03-30", Some(16.0)),
            ("2027-03-19", "2027-03-30", None),
            ("2027-03-09", "2027-03-02", None),
        ] {
            assert_eq!(mean_temperature_c(&readings, day(from), day(to)), wanted, "{from} {to}");
        }
        assert_eq!(mean_temperature_c(&BTreeMap::new(), day("2027-03-01"), day("2027-03-02")), None);
    }
}
