//! What each way out of the cold room is worth, and until when. Rule: a way counts only while there is time for it and
//! the lot keeps until it gets there; what one way leaves over goes on to the best way still open then.
//!
//! The worth of the rest is reckoned on the expected rest, which flatters a second selling way a little. The family
//! decides; these numbers only order the choices.

use super::uptake::{Count, Uptake, expected_packs};
use crate::clock::UtcSeconds;
use crate::money::Cents;
use crate::quantity::Grams;

/// Grams of fresh mushrooms for a gram of dried ones: 10 : 1, the middle of 8 to 12 : 1 in consumer references; mass
/// balance from 89.7 % water (USDA nutrient database, shiitake) gives 8.8 to 9.75 : 1.
pub const FRESH_TO_DRIED: i64 = 10;
/// Packs reckoned with one by one; beyond, the answer no longer changes and the work would.
const PACKS_MAX: i64 = 200;

/// Where a way leads.
#[derive(Clone, Debug, PartialEq)]
pub enum Outlet {
    /// Offered to these buyers by the pack.
    Buyers { uptakes: Vec<Uptake>, pack: Grams, price_per_kg: Cents },
    /// Taken to the market, where this many packs are wanted.
    Market { demand: Count, pack: Grams, price_per_kg: Cents },
    /// Dried and sold later.
    Drying { price_per_dried_kg: Cents },
    /// Given to a food bank that takes so much. The worth is the family's own judgement, often zero.
    Giving { greatest: Grams, worth_per_kg: Cents },
}

/// The kinds of ways.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Way {
    Offer,
    Market,
    Dry,
    Give,
}

/// A way out and its times.
#[derive(Clone, Debug, PartialEq)]
pub struct Chance {
    pub outlet: Outlet,
    /// Its latest useful instant: chosen later, it comes too late.
    pub choose_by: UtcSeconds,
    /// When it is known what it left over.
    pub settled_at: UtcSeconds,
    /// When the mushrooms get there (are dry, for drying); the lot must keep until then.
    pub reaches_at: UtcSeconds,
}

impl Chance {
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
    /// Expected worth, with that of the ways after it.
    pub value: Cents,
    /// Where the rest would go.
    pub then: Vec<Way>,
    /// What would still be left in the end.
    pub lost: Grams,
}

/// Dried weight from a fresh one, rounded down.
pub fn dried(fresh: Grams) -> Grams {
    Grams::new(fresh.get().div_euclid(FRESH_TO_DRIED))
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
    let settled_at = chances[best.chance].settled_at;
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
            let (placed, value) = expected(&chance.outlet, free);
            let others: Vec<(usize, &Chance)> = open.iter().filter(|(other, _)| *other != place).copied().collect();
            let rest = free.less(placed);
            let follow = ranked(rest, chance.settled_at.max(now), &others).into_iter().next();
            let mut then = Vec::new();
            let (mut worth, mut lost) = (value, rest);
            if let Some(follow) = follow {
                worth = worth + follow.value;
                lost = follow.lost;
                then.push(follow.way);
                then.extend(follow.then);
            }
            Advice { chance: place, way: chance.way(), choose_by: chance.choose_by, placed, value: worth, then, lost }
        })
        .collect();
    advice.sort_by(|a, b| {
        b.value.cmp(&a.value).then_with(|| a.lost.cmp(&b.lost)).then_with(|| b.choose_by.cmp(&a.choose_by))
    });
    advice
}

/// Expected fresh weight placed and its worth.
fn expected(outlet: &Outlet, free: Grams) -> (Grams, Cents) {
    match outlet {
        Outlet::Buyers { uptakes, pack, price_per_kg } => {
            let placed = in_packs(free, *pack, |packs| expected_packs(uptakes, packs));
            (placed, price_per_kg.per_kilogram_for(placed))
        }
        Outlet::Market { demand, pack, price_per_kg } => {
            let wanted =
                |packs: usize| demand.next(packs).iter().enumerate().map(|(count, chance)| count as f64 * chance).sum();
            let placed = in_packs(free, *pack, wanted);
            (placed, price_per_kg.per_kilogram_for(placed))
        }
        Outlet::Drying { price_per_dried_kg } => (free, price_per_dried_kg.per_kilogram_for(dried(free))),
        Outlet::Giving { greatest, worth_per_kg } => {
            let placed = free.at_most(*greatest).less(Grams::ZERO);
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
        Chance { outlet, choose_by: hours(choose_by), settled_at: hours(settled_at), reaches_at: hours(reaches_at) }
    }

    fn offer() -> Chance {
        let eager = Uptake { taken: Share { a: 9.0, b: 1.0 }, beyond_first: Count { shape: 4.0, rate: 1.0 } };
        let outlet = Outlet::Buyers { uptakes: vec![eager; 2], pack: Grams::new(500), price_per_kg: Cents::new(1800) };
        chance(outlet, 10, 12, 20)
    }

    fn drying() -> Chance {
        chance(Outlet::Drying { price_per_dried_kg: Cents::new(9000) }, 30, 40, 40)
    }

    fn giving() -> Chance {
        chance(Outlet::Giving { greatest: Grams::new(20_000), worth_per_kg: Cents::ZERO }, 26, 28, 28)
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

    /// Nothing is worth more than the other way, so what is lost decides: a food bank that takes all goes before one
    /// that takes half.
    #[test]
    fn of_equal_worth_the_one_that_loses_less_comes_first() {
        let half = chance(Outlet::Giving { greatest: Grams::new(2500), worth_per_kg: Cents::ZERO }, 26, 29, 28);
        let advice = advise(Grams::new(5000), hours(60), &[half, giving()], hours(0));
        assert_eq!((advice[0].placed, advice[0].lost), (Grams::new(5000), Grams::ZERO));
        assert_eq!((advice[1].placed, advice[1].lost), (Grams::new(2500), Grams::new(2500)));
    }

    /// Demand of shape 28, rate 4.2 against 7 packs: 5.68274625 packs, the sum of min(k, 7) over the
    /// negative binomial chances of SciPy 1.17.
    #[test]
    fn the_market_sells_what_is_wanted_of_what_is_there() {
        let demand = Count { shape: 28.0, rate: 4.2 };
        let outlet = Outlet::Market { demand, pack: Grams::new(200), price_per_kg: Cents::new(2200) };
        let advice = advise(Grams::new(1500), hours(60), &[chance(outlet, 5, 12, 8)], hours(0));
        assert_eq!(advice[0].placed, Grams::new(1137));
        assert_eq!(advice[0].value, Cents::new(2200).per_kilogram_for(Grams::new(1137)));
        assert_eq!(advice[0].lost, Grams::new(1500 - 1137));
    }

    /// An offer of two eager buyers leaves some of 5 kg; the food bank closes before it is over, so it is asked about
    /// that part at once. Where the food bank is still open afterwards, it waits.
    #[test]
    fn what_would_be_lost_goes_at_once_to_a_way_that_closes() {
        let closes =
            |hour| chance(Outlet::Giving { greatest: Grams::new(20_000), worth_per_kg: Cents::ZERO }, hour, 14, 16);
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
    fn nothing_free_needs_no_advice() {
        assert!(advise(Grams::ZERO, hours(60), &[offer()], hours(0)).is_empty());
        assert_eq!(dried(Grams::new(4536)), Grams::new(453));
    }
}
