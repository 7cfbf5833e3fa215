//! What to soak or open so that coming orders can be met. Rule: as many units as the shortage needs at the expected
//! yield, started so early that the flush is picked before packing; what can no longer come in time is said so.
//!
//! A plan of single deliveries: a flush started for one is not counted for the next. The forecast counts it as soon as
//! it is started, so the next plan has the smaller shortage.

use crate::clock::LocalDate;
use crate::quantity::Grams;
use chrono::Days;

/// How a crop grows from start to crates, for the flush that would be started.
#[derive(Clone, Debug, PartialEq)]
pub struct Growth {
    pub crop: String,
    /// Dry substrate of one unit, block or bag.
    pub dry_substrate: Grams,
    /// Fresh weight over dry substrate, mean of this flush, above zero (0.42 for 42 %).
    pub biological_efficiency: f64,
    /// Days from soaking or opening to the first pick: mean and standard deviation.
    pub first_pick_days: f64,
    pub first_pick_sd_days: f64,
    /// Days from the first pick to the last.
    pub spread_days: f64,
    /// Whole days between the last useful pick and the van: cooling and packing.
    pub cooling_days: u64,
    /// Units colonised or rested, and not started yet.
    pub ready_units: u32,
}

/// Orders expected beyond supply expected on one delivery date.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Shortage {
    pub crop: String,
    pub delivery: LocalDate,
    pub short: Grams,
}

/// What to do about one shortage.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Advice {
    /// Start `units` on `best_on`, at the latest on `latest_on`.
    Start {
        units: u32,
        /// The whole flush is probably picked before packing: mean and one standard deviation and the spread.
        best_on: LocalDate,
        /// The first picks are as likely as not before packing; later, it serves another delivery.
        latest_on: LocalDate,
        /// What the ready units cannot bring.
        uncovered: Grams,
    },
    /// The latest start is past: the shortage has to be shared or swapped.
    TooLate { latest_on: LocalDate },
    /// No unit is ready.
    NothingReady,
    /// The crop's growth is not known, or yields nothing.
    UnknownGrowth,
}

/// Advice for every shortage above zero, the earliest delivery first: it has the first claim on ready units.
pub fn plan(shortages: &[Shortage], growths: &[Growth], today: LocalDate) -> Vec<(Shortage, Advice)> {
    let mut ready: Vec<u32> = growths.iter().map(|growth| growth.ready_units).collect();
    let mut in_turn: Vec<&Shortage> = shortages.iter().filter(|one| one.short.is_positive()).collect();
    in_turn.sort_by(|a, b| (a.delivery, &a.crop).cmp(&(b.delivery, &b.crop)));
    let mut plan = Vec::new();
    for shortage in in_turn {
        let advice = match growths.iter().position(|growth| growth.crop == shortage.crop) {
            Some(index) => advise(shortage, &growths[index], &mut ready[index], today),
            None => Advice::UnknownGrowth,
        };
        plan.push((shortage.clone(), advice));
    }
    plan
}

fn advise(shortage: &Shortage, growth: &Growth, ready: &mut u32, today: LocalDate) -> Advice {
    let unit_g = growth.dry_substrate.get() as f64 * growth.biological_efficiency;
    if !unit_g.is_finite() || unit_g < 1.0 {
        return Advice::UnknownGrowth;
    }
    let all_picked_days = growth.first_pick_days + growth.first_pick_sd_days + growth.spread_days;
    let before = |days: f64| {
        let whole_days = days.max(0.0).ceil() as u64 + growth.cooling_days;
        shortage.delivery.checked_sub_days(Days::new(whole_days))
    };
    let (Some(best_on), Some(latest_on)) = (before(all_picked_days), before(growth.first_pick_days)) else {
        return Advice::UnknownGrowth;
    };
    if latest_on < today {
        return Advice::TooLate { latest_on };
    }
    if *ready == 0 {
        return Advice::NothingReady;
    }
    // A cast from f64 stops at the greatest count, which no farm has ready.
    let needed = (shortage.short.get() as f64 / unit_g).ceil() as u32;
    let units = needed.min(*ready);
    *ready -= units;
    let brought = Grams::new((f64::from(units) * unit_g).floor() as i64);
    Advice::Start { units, best_on: best_on.max(today), latest_on, uncovered: shortage.short.less(brought) }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn date(text: &str) -> LocalDate {
        text.parse().expect("a date")
    }

    /// A five-pound block at 60 % moisture, 0.42 in the first flush, 10 days with deviation 2 and spread 4: planning
    /// figures between published ranges (Pettipher 1988: 9 to 15 days from initiation to harvest).
    fn shiitake(ready_units: u32) -> Growth {
        Growth {
            crop: "shiitake".to_owned(),
            dry_substrate: Grams::new(907),
            biological_efficiency: 0.42,
            first_pick_days: 10.0,
            first_pick_sd_days: 2.0,
            spread_days: 4.0,
            cooling_days: 1,
            ready_units,
        }
    }

    fn shortage(delivery: &str, grams: i64) -> Shortage {
        Shortage { crop: "shiitake".to_owned(), delivery: date(delivery), short: Grams::new(grams) }
    }

    fn only(shortage: Shortage, growth: Growth, today: &str) -> Advice {
        plan(&[shortage], &[growth], date(today)).remove(0).1
    }

    /// 907 g × 0.42 = 380.94 g a block: 5000 g need 13.13, so 14 blocks.
    #[test]
    fn enough_blocks_are_soaked_early_enough() {
        let advice = only(shortage("2026-12-17", 5000), shiitake(40), "2026-11-25");
        let expected = Advice::Start {
            units: 14,
            best_on: date("2026-11-30"),
            latest_on: date("2026-12-06"),
            uncovered: Grams::ZERO,
        };
        assert_eq!(advice, expected);
    }

    #[test]
    fn the_best_day_may_be_today_and_the_latest_may_be_past() {
        let latest_on = date("2026-12-06");
        for (today, expected) in [
            ("2026-12-04", Advice::Start { units: 1, best_on: date("2026-12-04"), latest_on, uncovered: Grams::ZERO }),
            ("2026-12-06", Advice::Start { units: 1, best_on: latest_on, latest_on, uncovered: Grams::ZERO }),
            ("2026-12-07", Advice::TooLate { latest_on }),
        ] {
            assert_eq!(only(shortage("2026-12-17", 380), shiitake(40), today), expected, "{today}");
        }
    }

    #[test]
    fn the_earlier_delivery_has_the_first_claim_on_ready_blocks() {
        let shortages = [shortage("2026-12-24", 2000), shortage("2026-12-17", 2000), shortage("2026-12-31", 0)];
        let found = plan(&shortages, &[shiitake(8)], date("2026-11-25"));
        let told: Vec<(String, Advice)> = found.into_iter().map(|(one, how)| (one.delivery.to_string(), how)).collect();
        let start = |units, best_on: &str, latest_on: &str, uncovered| Advice::Start {
            units,
            best_on: date(best_on),
            latest_on: date(latest_on),
            uncovered: Grams::new(uncovered),
        };
        // Two blocks of 380.94 g are 761 g of the 2000 g.
        assert_eq!(told[0], ("2026-12-17".to_owned(), start(6, "2026-11-30", "2026-12-06", 0)));
        assert_eq!(told[1], ("2026-12-24".to_owned(), start(2, "2026-12-07", "2026-12-13", 1239)));
        assert_eq!(told.len(), 2);
        assert_eq!(only(shortage("2026-12-17", 2000), shiitake(0), "2026-11-25"), Advice::NothingReady);
    }

    #[test]
    fn a_crop_that_is_not_known_gets_no_invented_number() {
        let barren = Growth { biological_efficiency: 0.0, ..shiitake(40) };
        assert_eq!(only(shortage("2026-12-17", 2000), barren, "2026-11-25"), Advice::UnknownGrowth);
        let broken = Growth { biological_efficiency: f64::NAN, ..shiitake(40) };
        assert_eq!(only(shortage("2026-12-17", 2000), broken, "2026-11-25"), Advice::UnknownGrowth);
        assert_eq!(plan(&[shortage("2026-12-17", 2000)], &[], date("2026-11-25"))[0].1, Advice::UnknownGrowth);
    }
}
