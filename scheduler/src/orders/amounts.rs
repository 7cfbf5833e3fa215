//! How much one order line may ask. Rule: at least one pack, at most a weight beyond which a typing slip is likelier
//! than an order; in between it is taken as asked, to the nearest gram.

use crate::quantity::{Amount, Grams, WeightUnit, grams_from};

/// The most one line may ask: 200 kg. Common practice, no source: no small indoor farm packs that for one buyer, and a
/// slipped decimal point reaches it soon.
pub const LINE_GREATEST: Grams = Grams::new(200_000);

/// What an asked amount comes to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Asked {
    Accepted(Grams),
    /// Less than one pack.
    BelowSmallest {
        asked: Grams,
        smallest: Grams,
    },
    AboveGreatest {
        greatest: Grams,
    },
    /// Zero, negative or no number at all.
    NotAnAmount,
}

/// Judges `amount` of `unit` for a crop sold in packs of `pack_step`.
pub fn judge(amount: Amount, unit: WeightUnit, pack_step: Grams) -> Asked {
    if amount.numerator <= 0 || amount.denominator <= 0 {
        return Asked::NotAnAmount;
    }
    // A weight too large for the type is too large for an order.
    let Some(asked) = grams_from(amount, unit) else {
        return Asked::AboveGreatest { greatest: LINE_GREATEST };
    };
    if asked > LINE_GREATEST {
        Asked::AboveGreatest { greatest: LINE_GREATEST }
    } else if asked < pack_step || !asked.is_positive() {
        Asked::BelowSmallest { asked, smallest: pack_step }
    } else {
        Asked::Accepted(asked)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Conversions: 1 lb = 453.59237 g exactly (NIST SP 811, appendix B).
    #[test]
    fn amounts_are_rounded_to_the_gram_and_kept_within_limits() {
        let pack = Grams::new(250);
        for (numerator, denominator, unit, expected) in [
            (5, 2, WeightUnit::Pound, Asked::Accepted(Grams::new(1134))),
            (250, 1, WeightUnit::Gram, Asked::Accepted(pack)),
            (2499, 10, WeightUnit::Gram, Asked::Accepted(pack)),
            (249, 1, WeightUnit::Gram, Asked::BelowSmallest { asked: Grams::new(249), smallest: pack }),
            (8, 1, WeightUnit::Ounce, Asked::BelowSmallest { asked: Grams::new(227), smallest: pack }),
            (1, 1000, WeightUnit::Gram, Asked::BelowSmallest { asked: Grams::ZERO, smallest: pack }),
            (200, 1, WeightUnit::Kilogram, Asked::Accepted(LINE_GREATEST)),
            (200_001, 1, WeightUnit::Gram, Asked::AboveGreatest { greatest: LINE_GREATEST }),
            (i64::MAX, 1, WeightUnit::Kilogram, Asked::AboveGreatest { greatest: LINE_GREATEST }),
            (0, 1, WeightUnit::Kilogram, Asked::NotAnAmount),
            (-3, 1, WeightUnit::Kilogram, Asked::NotAnAmount),
            (3, 0, WeightUnit::Kilogram, Asked::NotAnAmount),
        ] {
            assert_eq!(
                judge(Amount { numerator, denominator }, unit, pack),
                expected,
                "{numerator}/{denominator} {unit:?}"
            );
        }
    }
}
