//! Money as whole hundredths of the farm's currency.

use crate::quantity::Grams;
use serde::{Deserialize, Serialize};
use std::iter::Sum;
use std::ops::Add;

/// An amount of the farm's currency in hundredths.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Cents(i64);

impl Cents {
    pub const ZERO: Cents = Cents(0);

    /// So many hundredths.
    pub const fn new(cents: i64) -> Cents {
        Cents(cents)
    }

    /// The whole number of hundredths.
    pub const fn get(self) -> i64 {
        self.0
    }

    /// The price of `weight` at `self` a kilogram, rounded to the nearest cent, halves away from zero; saturates.
    pub fn per_kilogram_for(self, weight: Grams) -> Cents {
        let product = i128::from(self.0) * i128::from(weight.get());
        let rounded = (product.abs() + 500) / 1000 * product.signum();
        Cents(i64::try_from(rounded).unwrap_or(if rounded < 0 { i64::MIN } else { i64::MAX }))
    }
}

impl Add for Cents {
    type Output = Cents;
    fn add(self, other: Cents) -> Cents {
        Cents(self.0.saturating_add(other.0))
    }
}

impl Sum for Cents {
    fn sum<I: Iterator<Item = Cents>>(all: I) -> Cents {
        all.fold(Cents::ZERO, Add::add)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_price_rounds_to_the_nearest_cent() {
        assert_eq!(Cents::new(2200).per_kilogram_for(Grams::new(500)), Cents::new(1100));
        assert_eq!(Cents::new(2201).per_kilogram_for(Grams::new(500)), Cents::new(1101));
        assert_eq!(Cents::new(-2201).per_kilogram_for(Grams::new(500)), Cents::new(-1101));
    }
}
