//! Weights in the reader's units. Unit signs are the same in every language on board (NIST SP 811 for kg and g).

use super::numbers::Numbers;
use scheduler::quantity::{Grams, UnitSystem, pounds_and_ounces};

/// A weight: "2 lb 8 oz", "5 lb", "12 oz", or "1.5 kg", "750 g". Ounces are rounded to the nearest whole one; kilograms show
/// every gram.
pub fn write(weight: Grams, units: UnitSystem, numbers: &Numbers) -> String {
    let size = if weight < Grams::ZERO { -weight } else { weight };
    let written = match units {
        UnitSystem::Avoirdupois => avoirdupois(size, numbers),
        UnitSystem::Metric => metric(size, numbers),
    };
    if weight < Grams::ZERO { format!("-{written}") } else { written }
}

fn avoirdupois(weight: Grams, numbers: &Numbers) -> String {
    match pounds_and_ounces(weight) {
        (pounds, 0) => format!("{} lb", numbers.whole(pounds)),
        (0, ounces) => format!("{} oz", numbers.whole(ounces)),
        (pounds, ounces) => format!("{} lb {} oz", numbers.whole(pounds), numbers.whole(ounces)),
    }
}

fn metric(weight: Grams, numbers: &Numbers) -> String {
    if weight.get() < 1000 {
        format!("{} g", numbers.whole(weight.get()))
    } else {
        format!("{} kg", numbers.thousandths(weight.get()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn numbers(locale: &str) -> Numbers {
        Numbers::new(&locale.parse().expect("a locale")).expect("CLDR knows it")
    }

    /// 1 lb = 453.59237 g (NIST SP 811, appendix B); decimal signs from CLDR 47.
    #[test]
    fn weights_read_in_the_readers_units() {
        use UnitSystem::{Avoirdupois, Metric};
        for (grams, units, locale, expected) in [
            (2268, Avoirdupois, "en", "5 lb"),
            (1134, Avoirdupois, "es-MX", "2 lb 8 oz"),
            (340, Avoirdupois, "en", "12 oz"),
            (453, Avoirdupois, "en", "1 lb"),
            (0, Avoirdupois, "en", "0 lb"),
            (9, Avoirdupois, "en", "0 lb"),
            (-1134, Avoirdupois, "en", "-2 lb 8 oz"),
            (907_185, Avoirdupois, "en", "2,000 lb"),
            (1500, Metric, "en", "1.5 kg"),
            (1500, Metric, "es-MX", "1.5 kg"),
            (1500, Metric, "pl", "1,5 kg"),
            (2500, Metric, "fr-CA", "2,5 kg"),
            (750, Metric, "pl", "750 g"),
            (1000, Metric, "pl", "1 kg"),
            (2268, Metric, "en", "2.268 kg"),
            (0, Metric, "en", "0 g"),
        ] {
            assert_eq!(write(Grams::new(grams), units, &numbers(locale)), expected);
        }
    }

    proptest! {
        #[test]
        fn no_weight_reads_sixteen_ounces(grams in -5_000_000i64..5_000_000) {
            let written = write(Grams::new(grams), UnitSystem::Avoirdupois, &numbers("en"));
            prop_assert!(!written.contains("16 oz"), "{}", written);
        }
    }
}
