//! Weights. Inside the program every weight is whole grams; pounds and ounces exist only where a person reads or types.
//!
//! The pound is 453.59237 g exactly (NIST SP 811, appendix B; NIST Handbook 44, appendix C), an ounce a sixteenth of it.

use serde::{Deserialize, Serialize};
use std::fmt;
use std::iter::Sum;
use std::ops::{Add, AddAssign, Neg, Sub, SubAssign};

/// Hundred-thousandths of a gram in one international avoirdupois pound (exact).
const POUND_IN_1E5_GRAMS: i128 = 45_359_237;
/// Hundred-thousandths of a gram in one gram.
const GRAM_IN_1E5_GRAMS: i128 = 100_000;

/// A weight or a difference of weights, whole grams.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Grams(i64);

impl Grams {
    /// Nothing.
    pub const ZERO: Grams = Grams(0);

    /// A weight of so many grams.
    pub const fn new(grams: i64) -> Grams {
        Grams(grams)
    }

    /// The whole number of grams.
    pub const fn get(self) -> i64 {
        self.0
    }

    /// Sum, or `None` when it does not fit.
    pub fn checked_add(self, other: Grams) -> Option<Grams> {
        self.0.checked_add(other.0).map(Grams)
    }

    /// `self` times a count, or `None` when it does not fit.
    pub fn checked_times(self, count: i64) -> Option<Grams> {
        self.0.checked_mul(count).map(Grams)
    }

    /// Difference, never below zero.
    pub fn less(self, other: Grams) -> Grams {
        Grams(self.0.saturating_sub(other.0).max(0))
    }

    /// The largest whole number of `step`s within this weight, as a weight. A step of zero or less changes nothing.
    pub fn floor_to(self, step: Grams) -> Grams {
        if step.0 <= 0 { self } else { Grams(self.0.div_euclid(step.0) * step.0) }
    }

    /// Whether anything is there.
    pub fn is_positive(self) -> bool {
        self.0 > 0
    }

    /// The lesser of two weights.
    pub fn at_most(self, other: Grams) -> Grams {
        Grams(self.0.min(other.0))
    }
}

impl Add for Grams {
    type Output = Grams;
    fn add(self, other: Grams) -> Grams {
        Grams(self.0.saturating_add(other.0))
    }
}

impl AddAssign for Grams {
    fn add_assign(&mut self, other: Grams) {
        *self = *self + other;
    }
}

impl Sub for Grams {
    type Output = Grams;
    fn sub(self, other: Grams) -> Grams {
        Grams(self.0.saturating_sub(other.0))
    }
}

impl SubAssign for Grams {
    fn sub_assign(&mut self, other: Grams) {
        *self = *self - other;
    }
}

impl Neg for Grams {
    type Output = Grams;
    fn neg(self) -> Grams {
        Grams(self.0.saturating_neg())
    }
}

impl Sum for Grams {
    fn sum<I: Iterator<Item = Grams>>(all: I) -> Grams {
        all.fold(Grams::ZERO, Add::add)
    }
}

/// For logs and test failures; people read weights through the bot's wording.
impl fmt::Display for Grams {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} g", self.0)
    }
}

/// A unit a person may type or read.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum WeightUnit {
    Gram,
    Kilogram,
    Ounce,
    Pound,
}

/// Which pair of units a person reads.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum UnitSystem {
    /// Kilograms and grams.
    Metric,
    /// Pounds and ounces.
    Avoirdupois,
}

/// A typed amount as an exact fraction: "2½" is 5/2, "1.5" is 15/10.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Amount {
    pub numerator: i64,
    /// Always at least 1.
    pub denominator: i64,
}

/// Grams for `amount` of `unit`, rounded to the nearest gram, halves up; `None` when the amount is negative, its
/// denominator is not positive, or the result does not fit.
pub fn grams_from(amount: Amount, unit: WeightUnit) -> Option<Grams> {
    if amount.numerator < 0 || amount.denominator <= 0 {
        return None;
    }
    // Every unit as hundred-thousandths of a gram over 16, so that the ounce is whole too.
    let per_unit: i128 = match unit {
        WeightUnit::Gram => GRAM_IN_1E5_GRAMS * 16,
        WeightUnit::Kilogram => GRAM_IN_1E5_GRAMS * 16 * 1000,
        WeightUnit::Ounce => POUND_IN_1E5_GRAMS,
        WeightUnit::Pound => POUND_IN_1E5_GRAMS * 16,
    };
    let top = i128::from(amount.numerator).checked_mul(per_unit)?;
    let bottom = i128::from(amount.denominator) * GRAM_IN_1E5_GRAMS * 16;
    let rounded = (top * 2 + bottom) / (bottom * 2);
    i64::try_from(rounded).ok().map(Grams)
}

/// Whole pounds and whole ounces (0–15) nearest to a weight. Ounces are rounded first and then carried, so 453 g reads
/// 1 lb 0 oz and never 0 lb 16 oz. A negative weight gives both parts negative or zero.
pub fn pounds_and_ounces(weight: Grams) -> (i64, i64) {
    let ounces = to_ounces_rounded(weight);
    (ounces / 16, ounces % 16)
}

fn to_ounces_rounded(weight: Grams) -> i64 {
    let top = i128::from(weight.0.unsigned_abs()) * GRAM_IN_1E5_GRAMS * 16;
    let rounded = (top * 2 + POUND_IN_1E5_GRAMS) / (POUND_IN_1E5_GRAMS * 2);
    // An i64 of grams is fewer ounces than grams, so this always fits.
    let ounces = i64::try_from(rounded).unwrap_or(i64::MAX);
    if weight.0 < 0 { -ounces } else { ounces }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn nearest(numerator: i64, denominator: i64, unit: WeightUnit) -> i64 {
        grams_from(Amount { numerator, denominator }, unit).expect("fits").get()
    }

    /// Exact conversions: 1 lb = 453.59237 g (NIST SP 811 appendix B, NIST Handbook 44 appendix C), rounded half up.
    #[test]
    fn pounds_and_ounces_convert_as_nist_defines_them() {
        for (numerator, denominator, unit, grams) in [
            (1, 1, WeightUnit::Ounce, 28),
            (4, 1, WeightUnit::Ounce, 113),
            (1, 2, WeightUnit::Pound, 227),
            (1, 1, WeightUnit::Pound, 454),
            (11, 10, WeightUnit::Pound, 499),
            (5, 2, WeightUnit::Pound, 1134),
            (55, 16, WeightUnit::Pound, 1559),
            (5, 1, WeightUnit::Pound, 2268),
            (10, 1, WeightUnit::Pound, 4536),
            (100, 1, WeightUnit::Pound, 45359),
            (3, 2, WeightUnit::Kilogram, 1500),
            (250, 1, WeightUnit::Gram, 250),
        ] {
            assert_eq!(nearest(numerator, denominator, unit), grams, "{numerator}/{denominator} {unit:?}");
        }
    }

    #[test]
    fn ounces_carry_into_pounds() {
        for (grams, pounds, ounces) in
            [(453, 1, 0), (454, 1, 0), (500, 1, 2), (1000, 2, 3), (2500, 5, 8), (25000, 55, 2)]
        {
            assert_eq!(pounds_and_ounces(Grams::new(grams)), (pounds, ounces), "{grams} g");
        }
    }

    #[test]
    fn whole_pounds_survive_the_round_trip() {
        for pounds in 0..2000 {
            assert_eq!(pounds_and_ounces(Grams::new(nearest(pounds, 1, WeightUnit::Pound))), (pounds, 0));
        }
    }

    #[test]
    fn amounts_that_do_not_fit_are_refused() {
        assert_eq!(grams_from(Amount { numerator: i64::MAX, denominator: 1 }, WeightUnit::Kilogram), None);
        assert_eq!(grams_from(Amount { numerator: -1, denominator: 1 }, WeightUnit::Gram), None);
        assert_eq!(grams_from(Amount { numerator: 1, denominator: 0 }, WeightUnit::Gram), None);
    }
}
