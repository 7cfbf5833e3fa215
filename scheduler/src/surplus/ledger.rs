//! Where every gram went. Rule: entries are never changed; a correction is another entry, and sums are over all of
//! them.
//!
//! The figures about meals, value and deduction are records for the family and for whoever advises it. They are no tax
//! or legal advice: **ask an adviser** before using any of them in a return. Among the conditions not checked here are
//! a written statement of the recipient, its use for the ill, the needy or infants, and the cap of 15 % of income (26
//! U.S.C. 170(e)(3)(A) and (C)).

use crate::clock::LocalDate;
use crate::id::Id;
use crate::money::Cents;
use crate::quantity::Grams;
use chrono::Datelike;
use std::collections::BTreeMap;

/// Micrograms in the 1.2 lb of food that count as one meal (Feeding America, citing USDA, What We Eat in America
/// 2011-2012): 1.2 × 453.59237 g.
const MEAL_MICROGRAMS: i128 = 544_310_844;

/// Where a weight went.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Destination {
    /// Delivered on an order.
    Sold,
    /// Taken by a buyer from an offer.
    Offered,
    /// Sold at the market.
    Market,
    Dried,
    /// Handed over to a food bank.
    Given {
        partner: Id,
    },
    Lost,
}

/// One entry.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Entry {
    pub id: Id,
    pub date: LocalDate,
    pub crop: String,
    pub lot: Id,
    pub destination: Destination,
    /// Negative only in a correction.
    pub weight: Grams,
    /// The entry it corrects.
    pub corrects: Option<Id>,
}

/// Why a correction is not entered.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Correction {
    Entered,
    /// It names no entry of the ledger, or one that is itself a correction.
    Unknown,
    /// It would leave less than nothing of what it corrects.
    BelowZero {
        stands: Grams,
    },
    /// It says what already stands.
    Nothing,
}

/// The entries, in the order they were made.
#[derive(Clone, Debug, Default)]
pub struct Ledger {
    entries: Vec<Entry>,
}

impl Ledger {
    /// A ledger read back from where it was stored.
    pub fn of(entries: Vec<Entry>) -> Ledger {
        Ledger { entries }
    }

    pub fn entries(&self) -> &[Entry] {
        &self.entries
    }

    /// Enters a weight above zero; false, and nothing entered, otherwise.
    pub fn enter(&mut self, entry: Entry) -> bool {
        let is_sound = entry.weight.is_positive() && entry.corrects.is_none();
        if is_sound {
            self.entries.push(entry);
        }
        is_sound
    }

    /// What stands of an entry after its corrections.
    pub fn stands(&self, entry: Id) -> Grams {
        self.entries.iter().filter(|one| one.id == entry || one.corrects == Some(entry)).map(|one| one.weight).sum()
    }

    /// Corrects an entry so that `right` stands of it, by an entry of the difference on the original's date, so that
    /// the month it belongs to is put right.
    pub fn correct(&mut self, entry: Id, right: Grams, correction: Id) -> Correction {
        let Some(original) = self.entries.iter().find(|one| one.id == entry && one.corrects.is_none()).cloned() else {
            return Correction::Unknown;
        };
        let stands = self.stands(entry);
        if right < Grams::ZERO {
            return Correction::BelowZero { stands };
        }
        if right == stands {
            return Correction::Nothing;
        }
        self.entries.push(Entry { id: correction, weight: right - stands, corrects: Some(entry), ..original });
        Correction::Entered
    }

    /// Weight given to each partner in each month, as (year, month).
    pub fn given_by_month(&self) -> BTreeMap<(Id, (i32, u32)), Grams> {
        let mut sums = BTreeMap::new();
        for entry in &self.entries {
            if let Destination::Given { partner } = entry.destination {
                *sums.entry((partner, (entry.date.year(), entry.date.month()))).or_default() += entry.weight;
            }
        }
        sums
    }

    /// Weight by destination from `from` to `to`, both included.
    pub fn by_destination(&self, from: LocalDate, to: LocalDate) -> BTreeMap<Destination, Grams> {
        let mut sums = BTreeMap::new();
        for entry in self.entries.iter().filter(|entry| from <= entry.date && entry.date <= to) {
            *sums.entry(entry.destination).or_default() += entry.weight;
        }
        sums
    }

    /// Everything that left one lot; with what is still there it is what was picked.
    pub fn out_of(&self, lot: Id) -> Grams {
        self.entries.iter().filter(|entry| entry.lot == lot).map(|entry| entry.weight).sum()
    }
}

/// Whole meals in a weight of food, rounded down: pounds divided by 1.2. The weight is a whole gram and may stand for
/// half a gram more, so that 12 lb, kept as 5443 g, are the 10 meals they are published as. Plain water does not count.
pub fn meals(weight: Grams) -> i64 {
    let micrograms = i128::from(weight.less(Grams::ZERO).get()) * 1_000_000 + 500_000;
    // At most an i64 of grams times a million over half a billion: it fits.
    i64::try_from(micrograms / MEAL_MICROGRAMS).unwrap_or(i64::MAX)
}

/// What the enhanced deduction for given food comes to, before its cap: the lesser of the basis with half the gain and
/// twice the basis (26 U.S.C. 170(e)(3)(B)); without a gain, the fair market value. Half cents are dropped. For an
/// adviser's eyes; see the head of this module.
pub fn enhanced_deduction(fair_market_value: Cents, basis: Cents) -> Cents {
    let (value, basis) = (fair_market_value.get().max(0), basis.get().max(0));
    if value <= basis {
        return Cents::new(value);
    }
    Cents::new((basis + (value - basis) / 2).min(basis.saturating_mul(2)))
}

/// The basis some growers without inventories may choose: a quarter of the fair market value (26 U.S.C.
/// 170(e)(3)(C)(iv)). Whether it applies is for an adviser.
pub fn basis_by_quarter(fair_market_value: Cents) -> Cents {
    Cents::new(fair_market_value.get().max(0) / 4)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::{Amount, WeightUnit, grams_from};
    use proptest::prelude::*;

    fn date(text: &str) -> LocalDate {
        text.parse().expect("a date")
    }

    fn entry(id: i64, day: &str, destination: Destination, grams: i64) -> Entry {
        Entry {
            id: Id::new(id),
            date: date(day),
            crop: "oyster".to_owned(),
            lot: Id::new(77),
            destination,
            weight: Grams::new(grams),
            corrects: None,
        }
    }

    /// 12 lb = 10 meals is published (Feeding America, citing USDA); 25 lb = 20.83, so 20 whole ones.
    #[test]
    fn twelve_pounds_are_ten_meals() {
        for (pounds, expected) in [(0, 0), (1, 0), (12, 10), (24, 20), (25, 20), (120, 100), (1200, 1000)] {
            let weight = grams_from(Amount { numerator: pounds, denominator: 1 }, WeightUnit::Pound).expect("fits");
            assert_eq!(meals(weight), expected, "{pounds} lb");
        }
        for (grams, expected) in [(543, 0), (544, 1), (5442, 9), (5443, 10), (-5443, 0)] {
            assert_eq!(meals(Grams::new(grams)), expected, "{grams} g");
        }
    }

    /// 26 U.S.C. 170(e)(3)(B). The first row is an accounting article's produce for a food bank, the second example 9.1
    /// of a tax treatise (goods listed at 10, worth 5 near expiry); the others are computed from the rule.
    #[test]
    fn the_deduction_follows_the_rule() {
        for (value, basis, expected) in [
            (10_000_000, 8_500_000, 9_250_000),
            (500, 100, 200),
            (10_000, 4_000, 7_000),
            (9_000, 3_000, 6_000),
            (10_000, 2_500, 5_000),
            (8_000, 8_000, 8_000),
            (5_000, 6_000, 5_000),
            (10_000, 0, 0),
            (-1, 5, 0),
        ] {
            assert_eq!(
                enhanced_deduction(Cents::new(value), Cents::new(basis)),
                Cents::new(expected),
                "{value} {basis}"
            );
        }
        assert_eq!(basis_by_quarter(Cents::new(10_000)), Cents::new(2_500));
    }

    #[test]
    fn corrections_are_entries_and_put_their_month_right() {
        let (pantry, table) = (Id::new(1), Id::new(2));
        let mut ledger = Ledger::default();
        assert!(ledger.enter(entry(10, "2026-10-31", Destination::Given { partner: pantry }, 5000)));
        assert!(ledger.enter(entry(11, "2026-11-07", Destination::Given { partner: pantry }, 2000)));
        assert!(ledger.enter(entry(12, "2026-11-07", Destination::Given { partner: table }, 700)));
        assert!(ledger.enter(entry(13, "2026-11-07", Destination::Dried, 300)));
        assert!(!ledger.enter(entry(14, "2026-11-07", Destination::Lost, 0)));
        assert_eq!(ledger.correct(Id::new(10), Grams::new(4200), Id::new(20)), Correction::Entered);
        assert_eq!(ledger.correct(Id::new(10), Grams::new(4200), Id::new(21)), Correction::Nothing);
        assert_eq!(ledger.correct(Id::new(99), Grams::new(1), Id::new(21)), Correction::Unknown);
        assert_eq!(ledger.correct(Id::new(20), Grams::new(1), Id::new(21)), Correction::Unknown);
        let below = ledger.correct(Id::new(10), Grams::new(-1), Id::new(21));
        assert_eq!(below, Correction::BelowZero { stands: Grams::new(4200) });
        assert_eq!(ledger.entries().len(), 5);
        let given = ledger.given_by_month();
        assert_eq!(given[&(pantry, (2026, 10))], Grams::new(4200));
        assert_eq!(given[&(pantry, (2026, 11))], Grams::new(2000));
        assert_eq!(given[&(table, (2026, 11))], Grams::new(700));
        let november = ledger.by_destination(date("2026-11-01"), date("2026-11-30"));
        assert_eq!(november[&Destination::Dried], Grams::new(300));
        assert_eq!(november[&Destination::Given { partner: pantry }], Grams::new(2000));
        assert_eq!(ledger.out_of(Id::new(77)), Grams::new(7200));
    }

    proptest! {
        /// However often it is corrected, what stands is what was said last, and the months sum to all that was given.
        #[test]
        fn what_was_said_last_stands(first in 1i64..10_000, corrections in prop::collection::vec(0i64..10_000, 0..12)) {
            let mut ledger = Ledger::default();
            ledger.enter(entry(1, "2026-11-07", Destination::Given { partner: Id::new(5) }, first));
            let mut said = first;
            for (number, right) in (2..).zip(corrections) {
                let changed = ledger.correct(Id::new(1), Grams::new(right), Id::new(number));
                prop_assert_eq!(changed == Correction::Entered, right != said);
                said = right;
            }
            prop_assert_eq!(ledger.stands(Id::new(1)), Grams::new(said));
            prop_assert_eq!(ledger.given_by_month().into_values().sum::<Grams>(), Grams::new(said));
        }
    }
}
