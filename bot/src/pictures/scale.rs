//! Weights along a line: round steps in the reader's units, and how exactly a forecast is said.

use scheduler::quantity::{Amount, Grams, UnitSystem, WeightUnit, grams_from};

/// Steps between nothing and the end, at most.
const STEPS_MAX: i64 = 4;
/// No farm weighs more; keeps every position finite.
const LARGEST: Grams = Grams::new(1_000_000_000);

/// A line of weights from nothing to a round end.
#[derive(Clone, Debug, PartialEq)]
pub struct Scale {
    /// The marked weights, ascending, the first nothing.
    pub ticks: Vec<Grams>,
}

impl Scale {
    /// The line on which `largest` still has a place.
    pub fn reaching(largest: Grams, units: UnitSystem) -> Scale {
        let largest = largest.at_most(LARGEST);
        let step = round_steps(units).find(|step| step.get() * STEPS_MAX >= largest.get()).unwrap_or(LARGEST);
        let count = (largest.get() + step.get() - 1).div_euclid(step.get()).max(1);
        Scale { ticks: (0..=count).map(|number| Grams::new(number * step.get())).collect() }
    }

    /// Where on the line a weight is: 0 at nothing, 1 at the end; what lies outside is at the end it is past.
    pub fn place(&self, weight: Grams) -> f32 {
        let end = self.ticks.last().map_or(1, |tick| tick.get()).max(1);
        (weight.get().clamp(0, end) as f64 / end as f64) as f32
    }
}

fn round_steps(units: UnitSystem) -> Box<dyn Iterator<Item = Grams>> {
    let tens = (0..9).flat_map(|power| [1, 2, 5].map(|step| step * 10_i64.pow(power)));
    match units {
        UnitSystem::Metric => Box::new(tens.skip(3).map(Grams::new)),
        UnitSystem::Avoirdupois => {
            let ounces = [1, 2, 4, 8].into_iter().map(|ounces| weight(ounces, WeightUnit::Ounce));
            Box::new(ounces.chain(tens.map(|pounds| weight(pounds, WeightUnit::Pound))))
        }
    }
}

/// A forecast weight rounded to what it can be sure of: whole pounds from 5 lb up, else 4 oz; 500 g from 10 kg up, 100 g from
/// 1 kg up, else 10 g (common practice, no source).
pub fn about(forecast: Grams, units: UnitSystem) -> Grams {
    let forecast = forecast.at_most(LARGEST);
    let nearest = |step: Grams| (forecast.get() * 2 + step.get()).div_euclid(step.get() * 2);
    match units {
        UnitSystem::Metric => {
            let step = match forecast.get() {
                10_000.. => Grams::new(500),
                1_000.. => Grams::new(100),
                _ => Grams::new(10),
            };
            Grams::new(nearest(step) * step.get())
        }
        UnitSystem::Avoirdupois if forecast >= weight(5, WeightUnit::Pound) => {
            // The pound is not a whole number of grams: count exactly, then convert once.
            let pounds = (i128::from(forecast.get()) * 200_000 + 45_359_237) / (2 * 45_359_237);
            weight(i64::try_from(pounds).unwrap_or(i64::MAX), WeightUnit::Pound)
        }
        UnitSystem::Avoirdupois => {
            let quarter_pounds = (i128::from(forecast.get()) * 800_000 + 45_359_237) / (2 * 45_359_237);
            weight(i64::try_from(quarter_pounds * 4).unwrap_or(i64::MAX), WeightUnit::Ounce)
        }
    }
}

fn weight(number: i64, unit: WeightUnit) -> Grams {
    grams_from(Amount { numerator: number, denominator: 1 }, unit).unwrap_or(LARGEST)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const UNITS: [UnitSystem; 2] = [UnitSystem::Metric, UnitSystem::Avoirdupois];

    /// 1 lb = 453.59237 g (NIST SP 811, appendix B).
    #[test]
    fn forecasts_are_said_in_round_weights() {
        for (grams, units, expected) in [
            (12_345, UnitSystem::Metric, 12_500),
            (1_249, UnitSystem::Metric, 1_200),
            (444, UnitSystem::Metric, 440),
            (5_000, UnitSystem::Avoirdupois, 4_990),
            (1_000, UnitSystem::Avoirdupois, 1_021),
            (45_359, UnitSystem::Avoirdupois, 45_359),
            (0, UnitSystem::Avoirdupois, 0),
        ] {
            assert_eq!(about(Grams::new(grams), units), Grams::new(expected), "{grams} {units:?}");
        }
    }

    #[test]
    fn steps_are_round_in_the_readers_units() {
        let ticks = |largest, units| Scale::reaching(Grams::new(largest), units).ticks;
        assert_eq!(ticks(14_500, UnitSystem::Metric), [0, 5_000, 10_000, 15_000].map(Grams::new));
        assert_eq!(ticks(8_000, UnitSystem::Avoirdupois), [0, 2268, 4536, 6804, 9072].map(Grams::new));
        assert_eq!(ticks(0, UnitSystem::Metric).len(), 2);
    }

    proptest! {
        #[test]
        fn every_weight_has_its_place(largest in 0i64..2_000_000_000, weight in i64::MIN..i64::MAX) {
            for units in UNITS {
                let scale = Scale::reaching(Grams::new(largest), units);
                prop_assert!((2..=6).contains(&scale.ticks.len()));
                let place = scale.place(Grams::new(weight));
                prop_assert!((0.0..=1.0).contains(&place));
                let end = scale.ticks[scale.ticks.len() - 1];
                prop_assert!(end >= Grams::new(largest).at_most(LARGEST));
            }
        }

        #[test]
        fn rounding_keeps_the_order(low in 0i64..3_000_000, more in 0i64..100_000) {
            for units in UNITS {
                prop_assert!(about(Grams::new(low), units) <= about(Grams::new(low + more), units));
            }
        }
    }
}
