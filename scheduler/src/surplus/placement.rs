//! What each way out of the cold room is worth, and until when. Rule: a way counts only while there is time for it and
//! the lot keeps until it gets there; what one way leaves over goes on to the best way still open then.
//!
//! The worth of the rest is reckoned on the expected rest, which flatters a second selling way a little. The family
//! decides; these numbers only order the choices.

use super::uptake::{Count, Uptake, expected_packs};
use crate::clock::UtcSeconds;
use crate::money::Cents;
use crate::quantity::Grams;
use serde::{Deserialize, Serialize};

/// Packs reckoned with one by one; beyond, the answer no longer changes and the work would.
const PACKS_MAX: i64 = 200;

/// Where a way leads.
#[derive(Clone, Debug, PartialEq)]
pub enum Outlet {
    /// Offered to these buyers by the pack.
    Buyers { uptakes: Vec<Uptake>, pack: Grams, price_per_kg: Cents },
    /// Taken to the market, where this many packs are wanted and so much goes already.
    Market { demand: Count, pack: Grams, price_per_kg: Cents, kept: Grams },
    /// Dried and sold later; grams of fresh mushrooms for a gram of dried ones, over zero.
    Drying { price_per_dried_kg: Cents, fresh_per_dried: f64 },
    /// Given to a food bank that takes so much. The worth is the family's own judgement; it orders the ways and is no
    /// money.
    Giving { greatest: Grams, worth_per_kg: Cents, answer: Answering },
}

/// When a food bank answers: evenly within `within_minutes` of being asked. Asked at the latest instant it has
/// `least_minutes` for it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Answering {
    pub within_minutes: i64,
    pub least_minutes: i64,
}

impl Answering {
    /// The chance, 0 to 1, that the answer comes in time with so many minutes to the latest instant.
    fn in_time(self, minutes: i64) -> f64 {
        let there_is = (minutes + self.least_minutes).max(0) as f64;
        if self.within_minutes <= 0 { 1.0 } else { (there_is / self.within_minutes as f64).min(1.0) }
    }
}

/// The kinds of ways.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Way {
    Offer,
    Market,
    Dry,
    Give,
}

/// When it is known what a way left over.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Settled {
    /// Whenever it was chosen: the market is over when it is over.
    At(UtcSeconds),
    /// So many minutes after it was chosen.
    AfterMinutes(i64),
}

/// A way out and its times.
#[derive(Clone, Debug, PartialEq)]
pub struct Chance {
    pub outlet: Outlet,
    /// Its latest useful instant: chosen later, it comes too late.
    pub choose_by: UtcSeconds,
    pub settled: Settled,
    /// When the mushrooms get there if it is chosen now; the lot must keep until then.
    pub reaches_at: UtcSeconds,
}

impl Chance {
    /// When it is known what it left over, chosen at `instant`.
    pub fn settled_at(&self, instant: UtcSeconds) -> UtcSeconds {
        match self.settled {
            Settled::At(then) => then.max(instant),
            Settled::AfterMinutes(minutes) => instant.plus_minutes(minutes),
        }
    }

    pub fn way(&self) -> Way {
        match self.outlet {
            Outlet::Buyers { .. } => Way::Offer,
            Outlet::Market { .. } => Way::Market,
            Outlet::Drying { .. } => Way::Dry,
            Outlet::Giving { .. } => Way::Give,
        }
    }
}

/// One way as a choice.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Advice {
    /// The place of the chance it is about among those given.
    pub chance: usize,
    pub way: Way,
    pub choose_by: UtcSeconds,
    /// Fresh weight this way is expected to place.
    pub placed: Grams,
    /// Expected worth, with that of the ways after it; it orders the ways.
    pub value: Cents,
    /// The part of it that is the farm's money.
    pub money: Cents,
    /// Where the rest would go.
    pub then: Vec<Way>,
    /// What would still be left in the end.
    pub lost: Grams,
}

/// Dried weight from a fresh one, rounded down: 10 grams for 1 is the middle of 8 to 12 in consumer references; mass
/// balance from 89.7 % water (USDA nutrient database, shiitake) gives 8.8 to 9.75.
pub fn dried(fresh: Grams, fresh_per_dried: f64) -> Grams {
    Grams::new((fresh.get() as f64 / fresh_per_dried).floor() as i64)
}

/// Every way still open at `now` for `free` grams that keep until `keeps_until`, the greatest expected worth first; of
/// equal worth the one that loses less, then the one with more time.
pub fn advise(free: Grams, keeps_until: UtcSeconds, chances: &[Chance], now: UtcSeconds) -> Vec<Advice> {
    let open: Vec<(usize, &Chance)> =
        chances.iter().enumerate().filter(|(_, chance)| chance.reaches_at <= keeps_until).collect();
    ranked(free, now, &open)
}

/// One part of what to do now.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Part {
    /// The place of the chance among those given.
    pub chance: usize,
    pub way: Way,
    pub weight: Grams,
}

/// What to do now, the best way first: it gets everything but what it is expected to leave with nobody, and that goes
/// at once to the best way that closes before the first is settled. Empty when no way is open. The weights sum to `free`
/// unless none is open.
pub fn plan(free: Grams, keeps_until: UtcSeconds, chances: &[Chance], now: UtcSeconds) -> Vec<Part> {
    let advice = advise(free, keeps_until, chances, now);
    let Some(best) = advice.first() else { return Vec::new() };
    let settled_at = chances[best.chance].settled_at(now);
    let closing: Vec<(usize, &Chance)> = chances
        .iter()
        .enumerate()
        .filter(|(place, chance)| *place != best.chance && chance.way() != best.way)
        .filter(|(_, chance)| chance.reaches_at <= keeps_until && chance.choose_by < settled_at)
        .collect();
    let aside = ranked(best.lost, now, &closing).into_iter().next().filter(|other| other.placed.is_positive());
    let aside = aside.map(|other| Part { chance: other.chance, way: other.way, weight: other.placed });
    let weight = free - aside.map_or(Grams::ZERO, |part| part.weight);
    let first = Part { chance: best.chance, way: best.way, weight };
    [Some(first), aside].into_iter().flatten().filter(|part| part.weight.is_positive()).collect()
}

fn ranked(free: Grams, now: UtcSeconds, open: &[(usize, &Chance)]) -> Vec<Advice> {
    if !free.is_positive() {
        return Vec::new();
    }
    let mut advice: Vec<Advice> = (0..open.len())
        .filter(|index| open[*index].1.choose_by >= now)
        .map(|index| {
            let (place, chance) = open[index];
            let (placed, value) = expected(chance, free, now);
            let is_gift = chance.way() == Way::Give;
            // An offer is made now or asked about anew: counted on for later it would look better than it turns out.
            let is_other = |(other, next): &&(usize, &Chance)| *other != place && next.way() != Way::Offer;
            let others: Vec<(usize, &Chance)> = open.iter().filter(is_other).copied().collect();
            let rest = free.less(placed);
            let follow = ranked(rest, chance.settled_at(now), &others).into_iter().next();
            let mut then = Vec::new();
            let (mut worth, mut lost) = (value, rest);
            let mut money = if is_gift { Cents::ZERO } else { value };
            if let Some(follow) = follow {
                worth = worth + follow.value;
                money = money + follow.money;
                lost = follow.lost;
                then.push(follow.way);
                then.extend(follow.then);
            }
            let (way, choose_by) = (chance.way(), chance.choose_by);
            Advice { chance: place, way, choose_by, placed, value: worth, money, then, lost }
        })
        .collect();
    advice.sort_by(|a, b| {
        b.value.cmp(&a.value).then_with(|| a.lost.cmp(&b.lost)).then_with(|| b.choose_by.cmp(&a.choose_by))
    });
    advice
}

/// Expected fresh weight placed and its worth, chosen at `now`.
fn expected(chance: &Chance, free: Grams, now: UtcSeconds) -> (Grams, Cents) {
    match &chance.outlet {
        Outlet::Buyers { uptakes, pack, price_per_kg } => {
            let placed = in_packs(free, *pack, |packs| expected_packs(uptakes, packs));
            (placed, price_per_kg.per_kilogram_for(placed))
        }
        Outlet::Market { demand, pack, price_per_kg, kept } => {
            let wanted =
                |packs: usize| demand.next(packs).iter().enumerate().map(|(count, chance)| count as f64 * chance).sum();
            let placed = in_packs(*kept + free, *pack, wanted).less(in_packs(*kept, *pack, wanted)).at_most(free);
            (placed, price_per_kg.per_kilogram_for(placed))
        }
        Outlet::Drying { price_per_dried_kg, fresh_per_dried } => {
            (free, price_per_dried_kg.per_kilogram_for(dried(free, *fresh_per_dried)))
        }
        Outlet::Giving { greatest, worth_per_kg, answer } => {
            let taken = free.at_most(*greatest).less(Grams::ZERO);
            let in_time = answer.in_time(chance.choose_by.since(now) / 60);
            let placed = Grams::new((taken.get() as f64 * in_time).round() as i64);
            (placed, worth_per_kg.per_kilogram_for(placed))
        }
    }
}

fn in_packs(free: Grams, pack: Grams, expected: impl Fn(usize) -> f64) -> Grams {
    if !pack.is_positive() {
        return Grams::ZERO;
    }
    let packs = (free.get() / pack.get()).min(PACKS_MAX);
    let placed_g = expected(usize::try_from(packs).unwrap_or(0)) * pack.get() as f64;
    Grams::new(placed_g.round() as i64).at_most(free)
}

#[cfg(test)]
mod tests {
    use super::super::uptake::Share;
    use super::*;

    fn hours(count: i64) -> UtcSeconds {
        UtcSeconds::new(count * 3600)
    }

    fn chance(outlet: Outlet, choose_by: i64, settled_at: i64, reaches_at: i64) -> Chance {
        let settled = Settled::At(hours(settled_at));
        Chance { outlet, choose_by: hours(choose_by), settled, reaches_at: hours(reaches_at) }
    }

    fn offer() -> Chance {
        let eager = Uptake { taken: Share { a: 9.0, b: 1.0 }, beyond_first: Count { shape: 4.0, rate: 1.0 } };
        let outlet = Outlet::Buyers { uptakes: vec![eager; 2], pack: Grams::new(500), price_per_kg: Cents::new(1800) };
        chance(outlet, 10, 12, 20)
    }

    fn drying() -> Chance {
        chance(Outlet::Drying { price_per_dried_kg: Cents::new(9000), fresh_per_dried: 10.0 }, 30, 40, 40)
    }

    /// A food bank that takes so much, asked until one hour, settled at another and reached at a third.
    fn gift(greatest: i64, worth_per_kg: Cents, [choose_by, settled_at, reaches_at]: [i64; 3]) -> Chance {
        let outlet = Outlet::Giving { greatest: Grams::new(greatest), worth_per_kg, answer: Answering::default() };
        chance(outlet, choose_by, settled_at, reaches_at)
    }

    fn giving() -> Chance {
        gift(20_000, Cents::ZERO, [26, 28, 28])
    }

    fn ways(advice: &[Advice]) -> Vec<Way> {
        advice.iter().map(|one| one.way).collect()
    }

    #[test]
    fn an_offer_comes_first_and_the_rest_is_dried() {
        let advice = advise(Grams::new(5000), hours(60), &[giving(), drying(), offer()], hours(0));
        assert_eq!(ways(&advice), [Way::Offer, Way::Dry, Way::Give]);
        assert_eq!(advice[0].then, [Way::Dry]);
        assert_eq!(advice[0].lost, Grams::ZERO);
        // Drying all of it: 500 g at 90.00 a kilogram.
        assert_eq!(advice[1].value, Cents::new(4500));
        assert_eq!(advice[2].value, Cents::ZERO);
    }

    #[test]
    fn a_way_is_gone_after_its_latest_hour() {
        let all = [giving(), drying(), offer()];
        for (now, expected) in [
            (10, vec![Way::Offer, Way::Dry, Way::Give]),
            (11, vec![Way::Dry, Way::Give]),
            (27, vec![Way::Dry]),
            (31, vec![]),
        ] {
            assert_eq!(ways(&advise(Grams::new(5000), hours(60), &all, hours(now))), expected, "hour {now}");
        }
    }

    #[test]
    fn a_lot_that_does_not_keep_until_it_gets_there_cannot_go() {
        let advice = advise(Grams::new(5000), hours(30), &[giving(), drying(), offer()], hours(0));
        assert_eq!(ways(&advice), [Way::Offer, Way::Give]);
        assert_eq!(advice[0].then, [Way::Give]);
    }

    /// A gift is worth what the family says and no money; an offer that is chosen late is known late.
    #[test]
    fn a_gift_orders_the_ways_and_is_no_money() {
        let worth = gift(20_000, Cents::new(300), [26, 28, 28]);
        let advice = advise(Grams::new(5000), hours(60), &[worth], hours(0));
        assert_eq!((advice[0].value, advice[0].money), (Cents::new(1500), Cents::ZERO));
        let slow = Chance { settled: Settled::AfterMinutes(120), ..offer() };
        assert_eq!((slow.settled_at(hours(9)), offer().settled_at(hours(9))), (hours(11), hours(12)));
        // Chosen at hour 9 it is over at 11, when the other way is closed.
        let closes = |hour| gift(20_000, Cents::ZERO, [hour, 28, 28]);
        let of = |hour| advise(Grams::new(5000), hours(60), &[slow.clone(), closes(hour)], hours(9))[0].then.clone();
        assert_eq!((of(10), of(11)), (vec![], vec![Way::Give]));
    }

    /// Nothing is worth more than the other way, so what is lost decides: a food bank that takes all goes before one
    /// that takes half.
    #[test]
    fn of_equal_worth_the_one_that_loses_less_comes_first() {
        let half = gift(2500, Cents::ZERO, [26, 29, 28]);
        let advice = advise(Grams::new(5000), hours(60), &[half, giving()], hours(0));
        assert_eq!((advice[0].placed, advice[0].lost), (Grams::new(5000), Grams::ZERO));
        assert_eq!((advice[1].placed, advice[1].lost), (Grams::new(2500), Grams::new(2500)));
    }

    /// Demand of shape 28, rate 4.2 against 7 packs: 5.68274625 packs, the sum of min(k, 7) over the
    /// negative binomial chances of SciPy 1.17.
    #[test]
    fn the_market_sells_what_is_wanted_of_what_is_there() {
        let demand = Count { shape: 28.0, rate: 4.2 };
        let market = |kept| Outlet::Market { demand, pack: Grams::new(200), price_per_kg: Cents::new(2200), kept };
        let of =
            |free, kept| advise(Grams::new(free), hours(60), &[chance(market(Grams::new(kept)), 5, 12, 8)], hours(0));
        let advice = of(1500, 0);
        assert_eq!(advice[0].placed, Grams::new(1137));
        assert_eq!(advice[0].value, Cents::new(2200).per_kilogram_for(Grams::new(1137)));
        assert_eq!(advice[0].lost, Grams::new(1500 - 1137));
        // What goes there already is sold first.
        assert_eq!(of(800, 600)[0].placed + of(600, 0)[0].placed, of(1400, 0)[0].placed);
    }

    /// An offer of two eager buyers leaves some of 5 kg; the food bank closes before it is over, so it is asked about
    /// that part at once. Where the food bank is still open afterwards, it waits.
    #[test]
    fn what_would_be_lost_goes_at_once_to_a_way_that_closes() {
        let closes = |hour| gift(20_000, Cents::ZERO, [hour, 14, 16]);
        let parts = plan(Grams::new(5000), hours(22), &[offer(), closes(8)], hours(0));
        let lost = advise(Grams::new(5000), hours(22), &[offer()], hours(0))[0].lost;
        assert!(lost.is_positive());
        assert_eq!(
            parts.iter().map(|part| (part.way, part.chance)).collect::<Vec<_>>(),
            [(Way::Offer, 0), (Way::Give, 1)]
        );
        assert_eq!((parts[0].weight, parts[1].weight), (Grams::new(5000) - lost, lost));
        let parts = plan(Grams::new(5000), hours(22), &[offer(), closes(13)], hours(0));
        assert_eq!(parts, [Part { chance: 0, way: Way::Offer, weight: Grams::new(5000) }]);
        assert!(plan(Grams::new(5000), hours(22), &[], hours(0)).is_empty());
    }

    #[test]
    fn a_food_bank_asked_late_may_answer_late() {
        let answer = Answering { within_minutes: 720, least_minutes: 120 };
        let outlet = Outlet::Giving { greatest: Grams::new(20_000), worth_per_kg: Cents::ZERO, answer };
        let placed =
            |hour| advise(Grams::new(6000), hours(60), &[chance(outlet.clone(), 26, 28, 28)], hours(hour))[0].placed;
        // Twelve hours before there is time enough; at the latest hour two of twelve.
        assert_eq!([placed(14), placed(22), placed(26)].map(Grams::get), [6000, 3000, 1000]);
    }

    #[test]
    fn nothing_free_needs_no_advice() {
        assert!(advise(Grams::ZERO, hours(60), &[offer()], hours(0)).is_empty());
        assert_eq!(dried(Grams::new(4536), 10.0), Grams::new(453));
    }
}
