//! The early warning: which coming delivery will more likely than not be short, by how much, and what would help.
//!
//! Rule kept: in every draw an earlier delivery is served before a later one, and what is spoken for before both. What is
//! offered as help is there at the farm's promise level, so that help does not make the next shortage.

use crate::allotment::claims::{Claim, Lot};
use crate::allotment::day::Owed;
use crate::allotment::draw::Filling;
use crate::allotment::promise::SupplyDraws;
use crate::allotment::rules::weighted_equal_awards;
use crate::clock::LocalDate;
use crate::growing::plan::{Advice, Growth, Shortage, plan};
use crate::quantity::Grams;
use std::collections::{BTreeMap, BTreeSet};

/// A shortage is worth a warning from this chance on.
const EVEN_CHANCE: f64 = 0.5;

/// A crop of a delivery that will probably be short.
#[derive(Clone, Debug, PartialEq)]
pub struct Risk {
    pub day: LocalDate,
    pub crop: String,
    pub asked: Grams,
    /// The chance, 0 to 1, that not all of it is there.
    pub chance: f64,
    /// What is missing in the middle of all draws.
    pub short: Grams,
    /// What would help, in the order in which it hurts least.
    pub helps: Vec<Help>,
}

/// One thing that would help.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Help {
    /// Start so many units more; the delivery can then still have all or part of what is missing.
    Start { units: u32, best_on: LocalDate, latest_on: LocalDate, uncovered: Grams },
    /// So much of another crop is free that day, at most what is missing.
    Swap { crop: String, grams: Grams },
    /// So much more of the crop is free on a later delivery, at most what is missing.
    Move { to: LocalDate, grams: Grams },
    /// If nobody asks for more than this, there is enough.
    AskLess { each: Grams },
}

impl Risk {
    /// What there is in the middle of all draws.
    pub fn likely(&self) -> Grams {
        self.asked.less(self.short)
    }
}

/// Every risk among `claims`, by day and crop. `owed` is spoken for beside them; `level` (0 to 1) is the farm's promise level.
/// Swaps, tiers and smallest amounts of the claims play no part.
pub fn risks(draws: SupplyDraws, (claims, owed): (&[Claim], &[Owed]), level: f64) -> Vec<Risk> {
    let book = Book::of(draws, claims, owed);
    let mut found = book.short();
    for risk in &mut found {
        risk.helps = book.helps(risk, level);
    }
    found
}

/// The same risks without what would help, which is most of the reckoning.
pub fn short(draws: SupplyDraws, claims: &[Claim], owed: &[Owed]) -> Vec<Risk> {
    Book::of(draws, claims, owed).short()
}

/// What each delivery lacks of each crop at the promise level: in a share `level` (0 to 1) of all draws no more is missing.
pub fn lacking(draws: SupplyDraws, (claims, owed): (&[Claim], &[Owed]), level: f64) -> Vec<Shortage> {
    let book = Book::of(draws, claims, owed);
    let mut found = Vec::new();
    for crop in book.asked.keys() {
        for (delivery, mut missing) in book.missing(crop) {
            missing.sort_unstable();
            let place = (missing.len() as f64 * level).ceil() as usize;
            let short = missing.get(place.clamp(1, missing.len().max(1)) - 1).copied().unwrap_or_default();
            found.push(Shortage { crop: (*crop).to_owned(), delivery, short: Grams::new(short) });
        }
    }
    found
}

/// Adds what can still be started for each risk, which is the first thing to do where it is possible.
pub fn add_starts(risks: &mut [Risk], growths: &[Growth], today: LocalDate) {
    let shortage = |risk: &Risk| Shortage { crop: risk.crop.clone(), delivery: risk.day, short: risk.short };
    let shortages: Vec<Shortage> = risks.iter().map(shortage).collect();
    for (shortage, advice) in plan(&shortages, growths, today) {
        let Advice::Start { units, best_on, latest_on, uncovered } = advice else { continue };
        let of = |risk: &&mut Risk| risk.crop == shortage.crop && risk.day == shortage.delivery;
        if let Some(risk) = risks.iter_mut().find(of) {
            risk.helps.insert(0, Help::Start { units, best_on, latest_on, uncovered });
        }
    }
}

/// What is asked and owed of each crop on each day, against the draws.
struct Book<'a> {
    draws: SupplyDraws<'a>,
    lots: Vec<&'a Lot>,
    claims: &'a [Claim],
    asked: BTreeMap<&'a str, BTreeMap<LocalDate, i64>>,
    owed: BTreeMap<&'a str, Vec<(LocalDate, i64)>>,
}

impl<'a> Book<'a> {
    fn of(draws: SupplyDraws<'a>, claims: &'a [Claim], owed: &'a [Owed]) -> Book<'a> {
        let mut asked: BTreeMap<&str, BTreeMap<LocalDate, i64>> = BTreeMap::new();
        for claim in claims.iter().filter(|claim| claim.grams.is_positive()) {
            let sum = asked.entry(&claim.crop).or_default().entry(claim.date).or_default();
            *sum = sum.saturating_add(claim.grams.get());
        }
        let mut owed_of: BTreeMap<&str, Vec<(LocalDate, i64)>> = BTreeMap::new();
        for one in owed.iter().filter(|one| one.grams.is_positive()) {
            owed_of.entry(&one.crop).or_default().push((one.day, one.grams.get()));
        }
        owed_of.values_mut().for_each(|orders| orders.sort_unstable());
        Book { draws, lots: draws.lots.iter().collect(), claims, asked, owed: owed_of }
    }

    /// (day, grams, whether it is asked and not owed) in order of days, what is owed first.
    fn orders(&self, crop: &str) -> Vec<(LocalDate, i64, bool)> {
        let owed = self.owed.get(crop).into_iter().flatten().map(|&(day, grams)| (day, grams, false));
        let asked = self.asked.get(crop).into_iter().flatten().map(|(&day, &grams)| (day, grams, true));
        let mut orders: Vec<(LocalDate, i64, bool)> = owed.chain(asked).collect();
        orders.sort_by_key(|&(day, _, is_asked)| (day, is_asked));
        orders
    }

    /// What each day lacks of what is asked of a crop, in every draw.
    fn missing(&self, crop: &str) -> BTreeMap<LocalDate, Vec<i64>> {
        let orders = self.orders(crop);
        let plain: Vec<(LocalDate, i64)> = orders.iter().map(|&(day, grams, _)| (day, grams)).collect();
        let filling = Filling::new(crop, &self.lots, &plain);
        let mut missing: BTreeMap<LocalDate, Vec<i64>> = BTreeMap::new();
        for row in self.draws.rows {
            for (&(day, _, is_asked), lacking) in orders.iter().zip(filling.missing(row)) {
                if is_asked {
                    missing.entry(day).or_default().push(lacking);
                }
            }
        }
        missing
    }

    /// Every risk, by day and crop, without what would help.
    fn short(&self) -> Vec<Risk> {
        let mut found = Vec::new();
        for (crop, asked_on) in &self.asked {
            let mut missing = self.missing(crop);
            for (&day, &asked) in asked_on {
                let Some(missing) = missing.get_mut(&day).filter(|missing| !missing.is_empty()) else { continue };
                let short_in = missing.iter().filter(|&&grams| grams > 0).count();
                let chance = short_in as f64 / missing.len() as f64;
                if chance <= EVEN_CHANCE {
                    continue;
                }
                missing.sort_unstable();
                let short = Grams::new(missing[missing.len() / 2]);
                let (crop, asked) = ((*crop).to_owned(), Grams::new(asked));
                found.push(Risk { day, crop, asked, chance, short, helps: Vec::new() });
            }
        }
        found.sort_by(|a, b| (a.day, &a.crop).cmp(&(b.day, &b.crop)));
        found
    }

    /// What is there of a crop for a day beyond everything owed and asked, at the level.
    fn free(&self, crop: &str, day: LocalDate, level: f64) -> Grams {
        let orders: Vec<(LocalDate, i64)> = self.orders(crop).into_iter().map(|(day, grams, _)| (day, grams)).collect();
        let mut with_day = orders.clone();
        with_day.insert(orders.partition_point(|order| order.0 <= day), (day, i64::MAX));
        let [before, with_day] = [&orders, &with_day].map(|orders| Filling::new(crop, &self.lots, orders));
        let mut free: Vec<i64> = self.draws.rows.iter().map(|row| with_day.most(row) - before.most(row)).collect();
        free.sort_unstable();
        let place = ((1.0 - level).clamp(0.0, 1.0) * free.len() as f64).floor() as usize;
        Grams::new(free.get(place.min(free.len().saturating_sub(1))).copied().unwrap_or(0))
    }

    fn helps(&self, risk: &Risk, level: f64) -> Vec<Help> {
        let mut helps = Vec::new();
        let others: BTreeSet<&str> =
            self.lots.iter().map(|lot| lot.crop.as_str()).filter(|crop| *crop != risk.crop).collect();
        for crop in others {
            let grams = self.free(crop, risk.day, level).at_most(risk.short);
            if grams.is_positive() {
                helps.push(Help::Swap { crop: crop.to_owned(), grams });
            }
        }
        let days: BTreeSet<LocalDate> =
            self.claims.iter().map(|claim| claim.date).filter(|day| *day > risk.day).collect();
        let free_on = |to: LocalDate| (to, self.free(&risk.crop, to, level).at_most(risk.short));
        if let Some((to, grams)) = days.into_iter().map(free_on).find(|(_, grams)| grams.is_positive()) {
            helps.push(Help::Move { to, grams });
        }
        helps.extend(self.ask_less(risk));
        helps
    }

    /// The equal share of what is likely there, in whole packs.
    fn ask_less(&self, risk: &Risk) -> Option<Help> {
        let asks: Vec<&Claim> =
            self.claims.iter().filter(|claim| claim.crop == risk.crop && claim.date == risk.day).collect();
        let pairs: Vec<(i64, u32)> = asks.iter().map(|claim| (claim.grams.get(), claim.weight.max(1))).collect();
        let awards = weighted_equal_awards(&pairs, risk.likely().get());
        let cut = asks.iter().zip(awards).filter(|(claim, award)| award.ceil().to_integer() < claim.grams.get().into());
        let each = cut.map(|(claim, award)| {
            let whole = i64::try_from(award.to_integer()).unwrap_or(i64::MAX);
            Grams::new(whole).floor_to(claim.pack_step)
        });
        each.max().filter(|each| each.is_positive()).map(|each| Help::AskLess { each })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::allotment::solve::tests::{claim, day, lot};

    fn rows(rows: &[&[i64]]) -> Vec<Vec<Grams>> {
        rows.iter().map(|row| row.iter().map(|&grams| Grams::new(grams)).collect()).collect()
    }

    /// Shiitake for two days, 4000 g for the first and 2000 g that come later; plenty of oysters.
    fn farm() -> ([Lot; 3], Vec<Vec<Grams>>) {
        let lots = [lot(1, "shiitake", (4, 6), 0), lot(2, "shiitake", (10, 14), 0), lot(3, "oyster", (4, 12), 0)];
        (lots, rows(&[&[4000, 2000, 3000], &[4000, 2000, 3000], &[4000, 2000, 3000], &[9000, 2000, 0]]))
    }

    fn four_asks(grams: i64) -> Vec<Claim> {
        let ask = |id| Claim { pack_step: Grams::new(250), ..claim(id, "shiitake", 4, grams) };
        (1..=4).map(ask).collect()
    }

    #[test]
    fn a_risk_says_which_delivery_by_how_much_and_what_helps() {
        let (lots, rows) = farm();
        let draws = SupplyDraws { lots: &lots, rows: &rows };
        let mut claims = four_asks(2000);
        claims.push(claim(5, "shiitake", 11, 500));
        let found = risks(draws, (&claims, &[]), 0.75);
        assert_eq!(found.len(), 1, "{found:?}");
        let risk = &found[0];
        assert_eq!(
            (risk.day, risk.asked, risk.short, risk.likely()),
            (day(4), Grams::new(8000), Grams::new(4000), Grams::new(4000))
        );
        assert_eq!(risk.chance, 0.75);
        let expected = [
            Help::Swap { crop: "oyster".into(), grams: Grams::new(3000) },
            Help::Move { to: day(11), grams: Grams::new(1500) },
            Help::AskLess { each: Grams::new(1000) },
        ];
        assert_eq!(risk.helps, expected);
        // What another buyer is owed or asks for of the oysters is not offered.
        let owed = [Owed { crop: "oyster".into(), day: day(12), grams: Grams::new(2800) }];
        let found = risks(draws, (&claims, &owed), 0.75);
        assert_eq!(found[0].helps[0], Help::Swap { crop: "oyster".into(), grams: Grams::new(200) });
    }

    #[test]
    fn an_even_chance_is_no_warning_and_more_than_even_is() {
        let lots = [lot(1, "shiitake", (4, 6), 0)];
        let claims = four_asks(1000);
        for (rows, expected) in [
            (rows(&[&[3000], &[4000]]), None),
            (rows(&[&[3000], &[3500], &[4000]]), Some((2.0 / 3.0, 500))),
            (rows(&[&[0]]), Some((1.0, 4000))),
            (rows(&[]), None),
        ] {
            let found = risks(SupplyDraws { lots: &lots, rows: &rows }, (&claims, &[]), 0.8);
            let told = found.first().map(|risk| (risk.chance, risk.short.get()));
            assert_eq!(told, expected, "{rows:?}");
        }
    }

    /// Four draws that lack 0, 500, 1000 and 2000 g: in three of four no more than 1000 g, in all no more than 2000 g.
    #[test]
    fn what_is_lacking_depends_on_the_level() {
        let lots = [lot(1, "shiitake", (4, 6), 0)];
        let rows = rows(&[&[3000], &[3500], &[4000], &[2000]]);
        for (level, short) in [(0.0, 0), (0.25, 0), (0.5, 500), (0.75, 1000), (0.76, 2000), (1.0, 2000)] {
            let found = lacking(SupplyDraws { lots: &lots, rows: &rows }, (&four_asks(1000), &[]), level);
            assert_eq!(
                found,
                [Shortage { crop: "shiitake".into(), delivery: day(4), short: Grams::new(short) }],
                "{level}"
            );
        }
    }

    #[test]
    fn an_earlier_delivery_is_served_before_a_later_one() {
        let lots = [lot(1, "shiitake", (4, 12), 0)];
        let rows = rows(&[&[5000]]);
        let claims = [claim(1, "shiitake", 4, 4000), claim(2, "shiitake", 11, 4000), claim(3, "shiitake", 4, 0)];
        let draws = SupplyDraws { lots: &lots, rows: &rows };
        let days = |owed: &[Owed]| -> Vec<(LocalDate, i64)> {
            risks(draws, (&claims, owed), 0.8).iter().map(|risk| (risk.day, risk.short.get())).collect()
        };
        assert_eq!(days(&[]), [(day(11), 3000)]);
        let owed = [Owed { crop: "shiitake".into(), day: day(4), grams: Grams::new(2000) }];
        assert_eq!(days(&owed), [(day(4), 1000), (day(11), 4000)]);
    }

    /// 907 g × 0.42 = 380.94 g a block, so 1000 g need three; planning figures as in the growing plan's own tests.
    #[test]
    fn what_can_still_be_started_comes_first() {
        let lots = [lot(1, "shiitake", (4, 6), 0)];
        let rows = rows(&[&[3000]]);
        let mut found = risks(SupplyDraws { lots: &lots, rows: &rows }, (&four_asks(1000), &[]), 0.8);
        let growth = Growth {
            crop: "shiitake".into(),
            dry_substrate: Grams::new(907),
            biological_efficiency: 0.42,
            first_pick_days: 10.0,
            first_pick_sd_days: 2.0,
            spread_days: 4.0,
            cooling_days: 1,
            ready_units: 40,
        };
        let today: LocalDate = "2026-02-10".parse().expect("a day");
        add_starts(&mut found, &[growth], today);
        let start = Help::Start {
            units: 3,
            best_on: "2026-02-15".parse().expect("a day"),
            latest_on: "2026-02-21".parse().expect("a day"),
            uncovered: Grams::ZERO,
        };
        assert_eq!(found[0].helps, [start, Help::AskLess { each: Grams::new(750) }]);
    }

    #[test]
    fn asks_without_measure_are_a_risk_like_any_other() {
        let lots = [lot(1, "shiitake", (4, 6), 0)];
        let rows = rows(&[&[3000]]);
        let claims = [claim(1, "shiitake", 4, i64::MAX), claim(2, "shiitake", 4, i64::MAX)];
        let found = risks(SupplyDraws { lots: &lots, rows: &rows }, (&claims, &[]), 0.8);
        assert_eq!(found[0].likely(), Grams::new(3000));
        assert_eq!(found[0].helps, [Help::AskLess { each: Grams::new(1500) }]);
    }
}
