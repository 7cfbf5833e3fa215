//! Steps of weight that a person would take: whole pounds, or half kilograms, in the units they read.

use scheduler::quantity::{Amount, Grams, UnitSystem, WeightUnit, grams_from, pounds_and_ounces};

/// So many steps, in grams: a pound each, or half a kilogram.
pub fn steps(number: i64, units: UnitSystem) -> Grams {
    let amount = Amount { numerator: number, denominator: if units == UnitSystem::Metric { 2 } else { 1 } };
    let unit = if units == UnitSystem::Metric { WeightUnit::Kilogram } else { WeightUnit::Pound };
    grams_from(amount, unit).unwrap_or_default()
}

/// Whole steps in a weight, and whether something is left over.
fn counted(weight: Grams, units: UnitSystem) -> (i64, bool) {
    match units {
        UnitSystem::Metric => (weight.get() / 500, weight.get() % 500 != 0),
        UnitSystem::Avoirdupois => {
            let (pounds, ounces) = pounds_and_ounces(weight);
            (pounds, ounces != 0)
        }
    }
}

/// Steps taken at once: large orders move in fives and tens.
fn stride(steps: i64) -> i64 {
    match steps {
        ..10 => 1,
        10..50 => 5,
        _ => 10,
    }
}

/// The next round weight above, at least one pack.
pub fn more(weight: Grams, units: UnitSystem, pack: Grams) -> Grams {
    let (count, _) = counted(weight, units);
    let stride = stride(count);
    steps((count / stride + 1) * stride, units).max(pack)
}

/// The next round weight below; zero when that is less than a pack.
pub fn less(weight: Grams, units: UnitSystem, pack: Grams) -> Grams {
    let (count, has_rest) = counted(weight, units);
    let top = if has_rest { count } else { count - 1 };
    let stride = stride(top);
    let below = steps((top / stride * stride).max(0), units);
    if below < pack { Grams::ZERO } else { below }
}

/// Weights to choose from for a crop of this pack.
pub fn usual(units: UnitSystem, pack: Grams) -> Vec<Grams> {
    let counts = [1, 2, 3, 4, 5, 6, 8, 10, 15, 20, 30, 40];
    counts.into_iter().map(|count| steps(count, units)).filter(|weight| *weight >= pack).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use UnitSystem::{Avoirdupois, Metric};

    /// 1 lb = 453.59237 g (NIST SP 811, appendix B).
    #[test]
    fn steps_land_on_round_weights_of_the_readers_units() {
        let pack = Grams::new(250);
        for (grams, units, below, above) in [
            (0, Avoirdupois, 0, 454),
            (454, Avoirdupois, 0, 907),
            (2268, Avoirdupois, 1814, 2722),
            (2400, Avoirdupois, 2268, 2722),
            (4536, Avoirdupois, 4082, 6804),
            (6804, Avoirdupois, 4536, 9072),
            (0, Metric, 0, 500),
            (250, Metric, 0, 500),
            (1500, Metric, 1000, 2000),
            (5000, Metric, 4500, 7500),
        ] {
            let weight = Grams::new(grams);
            assert_eq!(less(weight, units, pack).get(), below, "below {grams} {units:?}");
            assert_eq!(more(weight, units, pack).get(), above, "above {grams} {units:?}");
        }
    }

    #[test]
    fn up_and_down_again_comes_back() {
        for units in [Avoirdupois, Metric] {
            let mut weight = steps(1, units);
            for _ in 0..60 {
                let above = more(weight, units, Grams::new(250));
                assert!(above > weight);
                assert_eq!(less(above, units, Grams::new(250)), weight, "{weight} {units:?}");
                weight = above;
            }
        }
    }
}
