//! What is free. Rule: in the cold room, less what is promised, less what is kept for the market; the first to expire
//! goes first, each promise out of lots that keep until its date, promises before market.

use crate::clock::LocalDate;
use crate::id::Id;
use crate::quantity::Grams;

/// One lot as it stands in the cold room.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Lot {
    pub id: Id,
    pub crop: String,
    /// The last date it may be sold or given.
    pub keeps_until: LocalDate,
    pub in_cold_room: Grams,
}

/// What a weight is bound for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Purpose {
    Promised,
    Market,
}

/// A weight of a crop that is spoken for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Bound {
    pub purpose: Purpose,
    pub crop: String,
    /// The date it is needed.
    pub date: LocalDate,
    pub weight: Grams,
}

/// Where one lot's grams stand: the four last weights sum to the first.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Count {
    pub lot: Id,
    pub crop: String,
    pub keeps_until: LocalDate,
    /// Whole days it still keeps, 0 on its last date, negative after it.
    pub days_left: i64,
    pub in_cold_room: Grams,
    pub promised: Grams,
    pub kept_for_market: Grams,
    pub free: Grams,
    /// Past its last date: neither sold nor given.
    pub past: Grams,
}

/// The count of all lots, and what the stock does not cover.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Stock {
    /// By crop, then the first to expire first, then by lot.
    pub lots: Vec<Count>,
    /// What is bound beyond the stock, with the missing weight. The coming picks must bring it.
    pub uncovered: Vec<Bound>,
}

impl Stock {
    /// Free grams of one crop.
    pub fn free_of(&self, crop: &str) -> Grams {
        self.lots.iter().filter(|count| count.crop == crop).map(|count| count.free).sum()
    }
}

/// Counts `lots` on `today` against what is bound. Negative weights count as nothing.
pub fn count(lots: &[Lot], bound: &[Bound], today: LocalDate) -> Stock {
    let mut counts: Vec<Count> = lots.iter().map(|lot| untouched(lot, today)).collect();
    counts.sort_by(|a, b| (&a.crop, a.keeps_until, a.lot).cmp(&(&b.crop, b.keeps_until, b.lot)));
    let mut in_turn: Vec<&Bound> = bound.iter().collect();
    // Rising dates, each from the first lot to expire that still serves it: what keeps longest stays for later dates.
    in_turn.sort_by_key(|one| (one.purpose, one.date));
    let mut uncovered = Vec::new();
    for one in in_turn {
        let missing = draw(&mut counts, one);
        if missing.is_positive() {
            uncovered.push(Bound { weight: missing, ..one.clone() });
        }
    }
    Stock { lots: counts, uncovered }
}

fn untouched(lot: &Lot, today: LocalDate) -> Count {
    let days_left = lot.keeps_until.signed_duration_since(today).num_days();
    let here = lot.in_cold_room.less(Grams::ZERO);
    let (free, past) = if days_left < 0 { (Grams::ZERO, here) } else { (here, Grams::ZERO) };
    Count {
        lot: lot.id,
        crop: lot.crop.clone(),
        keeps_until: lot.keeps_until,
        days_left,
        in_cold_room: here,
        promised: Grams::ZERO,
        kept_for_market: Grams::ZERO,
        free,
        past,
    }
}

fn draw(counts: &mut [Count], bound: &Bound) -> Grams {
    let mut missing = bound.weight.less(Grams::ZERO);
    for count in counts.iter_mut().filter(|count| count.crop == bound.crop && count.keeps_until >= bound.date) {
        let taken = missing.at_most(count.free);
        count.free -= taken;
        missing -= taken;
        match bound.purpose {
            Purpose::Promised => count.promised += taken,
            Purpose::Market => count.kept_for_market += taken,
        }
    }
    missing
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn day(number: u64) -> LocalDate {
        LocalDate::from_ymd_opt(2026, 11, 1).expect("a date") + chrono::Days::new(number)
    }

    fn lot(id: i64, crop: &str, keeps: u64, grams: i64) -> Lot {
        Lot { id: Id::new(id), crop: crop.to_owned(), keeps_until: day(keeps), in_cold_room: Grams::new(grams) }
    }

    fn bound(purpose: Purpose, crop: &str, date: u64, grams: i64) -> Bound {
        Bound { purpose, crop: crop.to_owned(), date: day(date), weight: Grams::new(grams) }
    }

    /// Lots as (promised, market, free, past).
    fn parts(stock: &Stock) -> Vec<(i64, i64, i64, i64)> {
        let of =
            |count: &Count| (count.promised.get(), count.kept_for_market.get(), count.free.get(), count.past.get());
        stock.lots.iter().map(of).collect()
    }

    #[test]
    fn the_first_to_expire_goes_first() {
        let lots = [lot(2, "oyster", 9, 3000), lot(1, "oyster", 6, 2000), lot(3, "shiitake", 12, 1000)];
        let stock = count(&lots, &[bound(Purpose::Promised, "oyster", 5, 2500)], day(4));
        assert_eq!(parts(&stock), [(2000, 0, 0, 0), (500, 0, 2500, 0), (0, 0, 1000, 0)]);
        assert_eq!(stock.free_of("oyster"), Grams::new(2500));
        assert_eq!(stock.lots[0].days_left, 2);
        assert!(stock.uncovered.is_empty());
    }

    /// The lot that expires first serves the first date, so that the later date is covered too.
    #[test]
    fn each_promise_gets_lots_that_keep_until_its_date() {
        let lots = [lot(1, "oyster", 6, 1000), lot(2, "oyster", 12, 1000)];
        let wanted = [bound(Purpose::Promised, "oyster", 12, 1000), bound(Purpose::Promised, "oyster", 5, 1200)];
        let stock = count(&lots, &wanted, day(4));
        assert_eq!(parts(&stock), [(1000, 0, 0, 0), (1000, 0, 0, 0)]);
        assert_eq!(stock.uncovered, [bound(Purpose::Promised, "oyster", 12, 200)]);
    }

    #[test]
    fn promises_come_before_the_market_and_past_lots_serve_nobody() {
        let lots = [lot(1, "oyster", 3, 800), lot(2, "oyster", 8, 1000)];
        let wanted = [bound(Purpose::Market, "oyster", 5, 600), bound(Purpose::Promised, "oyster", 6, 700)];
        let stock = count(&lots, &wanted, day(4));
        assert_eq!(parts(&stock), [(0, 0, 0, 800), (700, 300, 0, 0)]);
        assert_eq!(stock.uncovered, [bound(Purpose::Market, "oyster", 5, 300)]);
    }

    proptest! {
        /// Every gram is in exactly one place, nothing is drawn from a lot that does not keep, and something bound
        /// stays uncovered only when no lot that keeps until its date has anything free.
        #[test]
        fn every_gram_is_counted_once(
            lots in prop::collection::vec((0u64..12, -5i64..3000), 0..8),
            wanted in prop::collection::vec((any::<bool>(), 4u64..12, -5i64..3000), 0..8),
        ) {
            let lots: Vec<Lot> =
                (1..).zip(&lots).map(|(id, (keeps, grams))| lot(id, "oyster", *keeps, *grams)).collect();
            let wanted: Vec<Bound> = wanted
                .iter()
                .map(|(market, date, grams)| {
                    bound(if *market { Purpose::Market } else { Purpose::Promised }, "oyster", *date, *grams)
                })
                .collect();
            let stock = count(&lots, &wanted, day(4));
            for count in &stock.lots {
                let sum = count.promised + count.kept_for_market + count.free + count.past;
                prop_assert_eq!(sum, count.in_cold_room);
                prop_assert!(count.days_left >= 0 || count.free == Grams::ZERO);
            }
            for missing in &stock.uncovered {
                let serves = |count: &&Count| count.keeps_until >= missing.date && count.free.is_positive();
                prop_assert!(stock.lots.iter().find(serves).is_none());
            }
            let asked: Grams = wanted.iter().map(|one| one.weight.less(Grams::ZERO)).sum();
            let missing: Grams = stock.uncovered.iter().map(|one| one.weight).sum();
            let drawn: Grams = stock.lots.iter().map(|one| one.promised + one.kept_for_market).sum();
            prop_assert_eq!(drawn + missing, asked);
        }
    }
}
