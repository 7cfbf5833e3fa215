//! Simulated quarters: the share of surplus that is placed before its storage life ends, when every lot follows the
//! placement advice, and when it follows the plain rule "offer all for a day, then give". The judged values of the model
//! were chosen while looking at fifty of them; what is asserted is asserted on fifty others.
//!
//! Both meet the same world, draw for draw: what buyers would take and when they look, what the market wants, which food
//! bank answers. The advice knows none of it; it learns uptake as the weeks go by. Drying takes any weight, so it is
//! left out here: with it the advice would place everything and the comparison would say nothing.

use chrono::Weekday;
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;
use scheduler::clock::UtcSeconds;
use scheduler::id::Id;
use scheduler::money::Cents;
use scheduler::quantity::Grams;
use scheduler::surplus::chances::{Giving, Market, Offering, Ways, chances};
use scheduler::surplus::placement::{Answering, Settled, Way, plan};
use scheduler::surplus::uptake::{Count, Kind, Record};
use std::ops::Range;

/// The quarters that were looked at when the model was made, and others.
const SEEN: Range<u64> = 0..50;
const FRESH: Range<u64> = 20_000..20_050;
const WEEKS: u64 = 13;
const BUYERS: usize = 5;
const PACK: Grams = Grams::new(250);
/// How long an offer may stay open. What is taken is fetched so much later. In this world buyers look at any hour of
/// sixteen.
const OPEN_HOURS: i64 = 20;
const LONG_HOURS: i64 = 12;
const FETCH_HOURS: i64 = 8;
/// The market on Saturday: leave at 7:00, home at 15:00.
const MARKET_LEAVES: i64 = 42;
const MARKET_HOME: i64 = 50;
/// Food banks: open from and to, greatest grams. Friday 9-12, Saturday 10-13, Tuesday 9-12.
const BANKS: [(i64, i64, i64); 3] = [(20, 23, 6000), (45, 48, 9000), (116, 119, 15_000)];
/// Hours a food bank has to answer, and must have before it opens.
const ANSWER_HOURS: i64 = 12;
const LEAD_HOURS: i64 = 3;
/// Sold price, and what a gift is worth to this made-up family, a kilogram.
const PRICE: Cents = Cents::new(2200);
const GIFT_WORTH: Cents = Cents::new(300);

/// What really happens to one lot in one week.
struct World {
    crop: &'static str,
    grams: Grams,
    keeps_until: i64,
    /// Hours after the offer at which each buyer looks, and packs it then takes.
    buyers: Vec<(i64, i64)>,
    market_packs: i64,
    /// Hours until each food bank answers yes; `None` stays silent.
    banks: [Option<i64>; 3],
}

fn world(quarter: u64, week: u64, crop: &'static str) -> World {
    let seed = (quarter * 1000 + week) * 10 + u64::from(crop == "oyster");
    let mut random = Pcg64Mcg::seed_from_u64(seed);
    let (least, most) = if crop == "oyster" { (1, 5) } else { (4, 10) };
    let days = random.random_range(least..=most);
    World {
        crop,
        grams: Grams::new(random.random_range(1000..12_000)),
        // Thursday ends 11 hours after the count.
        keeps_until: 11 + 24 * (days - 1),
        buyers: (0..BUYERS)
            .map(|buyer| {
                let likes = [0.7, 0.5, 0.3, 0.15, 0.05][buyer];
                let packs = if random.random_range(0.0..1.0) < likes { random.random_range(1..=6) } else { 0 };
                (random.random_range(0..16), packs)
            })
            .collect(),
        market_packs: random.random_range(4..=24),
        banks: std::array::from_fn(|_| (random.random_range(0.0..1.0) < 0.8).then(|| random.random_range(0..10))),
    }
}

/// One lot on its way out.
struct Lot<'w> {
    world: &'w World,
    left: Grams,
    hour: i64,
    asked: [bool; 3],
}

impl Lot<'_> {
    fn place(&mut self, grams: Grams) {
        self.left -= grams.at_most(self.left);
    }

    /// Offers all that is left for so many hours; packs taken by each buyer.
    fn offer(&mut self, hours: i64) -> Vec<u32> {
        let fetched_in_time = self.hour + hours + FETCH_HOURS <= self.world.keeps_until;
        let mut taken = vec![0; self.world.buyers.len()];
        let mut in_turn: Vec<usize> = (0..taken.len()).collect();
        in_turn.sort_by_key(|buyer| self.world.buyers[*buyer].0);
        for buyer in in_turn {
            let (looks, wants) = self.world.buyers[buyer];
            if looks > hours || !fetched_in_time {
                continue;
            }
            let packs = wants.min(self.left.get() / PACK.get());
            taken[buyer] = u32::try_from(packs).expect("a few packs");
            self.place(PACK.checked_times(packs).expect("a few packs"));
        }
        self.hour += hours;
        taken
    }

    fn market(&mut self) -> u32 {
        let packs = self.world.market_packs.min(self.left.get() / PACK.get());
        self.place(PACK.checked_times(packs).expect("a few packs"));
        self.hour = MARKET_HOME;
        u32::try_from(packs).expect("a few packs")
    }

    /// Whether a food bank that is asked now could still take it.
    fn is_in_time(&self, bank: usize) -> bool {
        let (opens, closes, _) = BANKS[bank];
        !self.asked[bank] && self.hour + LEAD_HOURS < closes && opens < self.world.keeps_until
    }

    /// Asks a food bank about a part while something else goes on; what stays set aside for nothing, as it is silent.
    fn ask_meanwhile(&mut self, bank: usize, weight: Grams) -> Grams {
        self.asked[bank] = true;
        match self.world.banks[bank] {
            Some(hours) if self.hour + hours < BANKS[bank].1 => {
                self.place(weight.at_most(Grams::new(BANKS[bank].2)));
                Grams::ZERO
            }
            _ => weight,
        }
    }

    fn give(&mut self, bank: usize) {
        self.asked[bank] = true;
        let greatest = Grams::new(BANKS[bank].2);
        match self.world.banks[bank] {
            // Agreed grams are set aside; the rest goes its own way at once.
            Some(hours) if self.hour + hours < BANKS[bank].1 => {
                self.place(greatest);
                self.hour += hours;
            }
            _ => self.hour += ANSWER_HOURS,
        }
    }

    fn give_in_turn(&mut self) {
        while let Some(bank) = (0..BANKS.len()).find(|bank| self.is_in_time(*bank)) {
            if !self.left.is_positive() {
                break;
            }
            self.give(bank);
        }
    }
}

fn at(hour: i64) -> UtcSeconds {
    UtcSeconds::new(hour * 3600)
}

/// What the farm has learned so far.
struct Learned {
    offers: Record,
    market: Count,
}

/// One of the ways as this world knows it: the hours of an offer, or which food bank.
#[derive(Clone, Copy)]
enum Choice {
    Hours(i64),
    Market,
    Bank(usize),
}

impl Learned {
    fn ways(&self, lot: &Lot<'_>, (may_offer, may_sell): (bool, bool)) -> (Ways, Vec<usize>) {
        let kind = |buyer| Kind::new(Id::new(buyer), lot.world.crop, Weekday::Thu, 10);
        let offering = may_offer.then(|| Offering {
            uptakes: (0..BUYERS as i64).map(|buyer| self.offers.uptake(&kind(buyer))).collect(),
            pack: PACK,
            price_per_kg: PRICE,
            open_minutes: OPEN_HOURS * 60,
            collect_minutes: FETCH_HOURS * 60,
        });
        let market = may_sell.then(|| Market {
            demand: self.market,
            pack: PACK,
            price_per_kg: PRICE,
            kept: Grams::ZERO,
            leaves_at: at(MARKET_LEAVES),
            home_at: at(MARKET_HOME),
        });
        let banks: Vec<usize> = (0..BANKS.len()).filter(|bank| lot.is_in_time(*bank)).collect();
        let giving = banks.iter().map(|bank| Giving {
            greatest: Grams::new(BANKS[*bank].2),
            worth_per_kg: GIFT_WORTH,
            ask_by: at(BANKS[*bank].1 - LEAD_HOURS - 1),
            opens_at: at(BANKS[*bank].0),
            answer: Answering { within_minutes: ANSWER_HOURS * 60, least_minutes: (LEAD_HOURS + 1) * 60 },
        });
        (Ways { offering, market, drying: None, giving: giving.collect() }, banks)
    }
}

/// Places a lot by the advice, asked anew after every step; what is left unplaced.
fn by_advice(world: &World, learned: &mut Learned) -> Grams {
    let mut lot = Lot { world, left: world.grams, hour: 0, asked: [false; 3] };
    let (mut may_offer, mut may_sell) = (true, true);
    while lot.left.is_positive() && lot.hour < world.keeps_until {
        let (ways, mut banks) = learned.ways(&lot, (may_offer, may_sell));
        let all = chances(&ways, at(world.keeps_until), at(lot.hour));
        let choices: Vec<Choice> = all
            .iter()
            .map(|chance| match (chance.way(), chance.settled) {
                (Way::Give, _) => Choice::Bank(banks.remove(0)),
                (Way::Offer, Settled::AfterMinutes(minutes)) => Choice::Hours(minutes / 60),
                _ => Choice::Market,
            })
            .collect();
        let parts = plan(lot.left, at(world.keeps_until), &all, at(lot.hour));
        let Some(first) = parts.first() else { break };
        let mut set_aside = Grams::ZERO;
        for part in &parts[1..] {
            // Only a food bank closes while something else goes on; its answer comes meanwhile.
            if let Choice::Bank(bank) = choices[part.chance] {
                set_aside += lot.ask_meanwhile(bank, part.weight);
            }
        }
        // A silent food bank's part is free again, but too late for this step.
        lot.left -= set_aside;
        match choices[first.chance] {
            Choice::Hours(hours) => {
                may_offer = false;
                let taken = lot.offer(hours);
                // A short offer says little about who would have taken some.
                for (buyer, packs) in (0..).zip(taken).filter(|_| hours >= LONG_HOURS) {
                    learned.offers.note(&Kind::new(Id::new(buyer), world.crop, Weekday::Thu, 10), packs);
                }
            }
            Choice::Market => {
                may_sell = false;
                let packs = lot.market();
                learned.market = learned.market.after(f64::from(packs), 1.0);
            }
            Choice::Bank(bank) => lot.give(bank),
        }
        lot.left += set_aside;
    }
    lot.left
}

/// "Offer all for a day, then give."
fn by_plain_rule(world: &World) -> Grams {
    let mut lot = Lot { world, left: world.grams, hour: 0, asked: [false; 3] };
    if 24 + FETCH_HOURS <= world.keeps_until {
        lot.offer(24);
    } else {
        // The same day's buyers still fetch it in the evening.
        lot.offer((world.keeps_until - FETCH_HOURS).max(0));
        lot.hour = 24;
    }
    lot.give_in_turn();
    lot.left
}

/// What came of some quarters.
struct Outcome {
    /// Percent of the grams, by advice and by the plain rule.
    advised: f64,
    plain: f64,
    quarters_better: usize,
    quarters: usize,
}

fn play(name: &str, quarters: Range<u64>) -> Outcome {
    let (mut total, mut left_by_advice, mut left_by_rule) = (0, 0, 0);
    let mut quarters_better = 0;
    let count = quarters.clone().count();
    for quarter in quarters {
        let mut learned = Learned { offers: Record::default(), market: Count { shape: 8.0, rate: 1.0 } };
        let (mut advised, mut plain) = (0, 0);
        for week in 0..WEEKS {
            for crop in ["oyster", "shiitake"] {
                let world = world(quarter, week, crop);
                total += world.grams.get();
                advised += by_advice(&world, &mut learned).get();
                plain += by_plain_rule(&world).get();
            }
        }
        quarters_better += usize::from(advised < plain);
        left_by_advice += advised;
        left_by_rule += plain;
    }
    let share = |left: i64| 100.0 * (total - left) as f64 / total as f64;
    let outcome =
        Outcome { advised: share(left_by_advice), plain: share(left_by_rule), quarters_better, quarters: count };
    println!(
        "placed in time, {count} {name} quarters, {} kg: by advice {:.1} %, by the plain rule {:.1} %; better in \
         {quarters_better} quarters",
        total / 1000,
        outcome.advised,
        outcome.plain
    );
    outcome
}

#[test]
fn advice_places_more_than_a_plain_rule() {
    play("seen", SEEN);
    let fresh = play("fresh", FRESH);
    assert!(fresh.advised >= fresh.plain + 3.0, "{} % by advice, {} % by the rule", fresh.advised, fresh.plain);
    assert!(fresh.quarters_better * 10 >= fresh.quarters * 9, "better in {} quarters only", fresh.quarters_better);
}
