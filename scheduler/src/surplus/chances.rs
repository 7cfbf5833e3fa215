//! Which ways out of the cold room there are for a lot now, and their times. Rule: an offer ends while the mushrooms are
//! good and while a food bank can still be asked about what is left of it.

use super::placement::{Answering, Chance, Outlet, Settled};
use super::uptake::{Count, Uptake};
use crate::clock::UtcSeconds;
use crate::money::Cents;
use crate::quantity::Grams;

/// Shorter times than the farm's own for which an offer may be open, hours. Judged, no source.
const SHORT_HOURS: [i64; 2] = [12, 5];

/// An offer to the buyers.
#[derive(Clone, Debug, PartialEq)]
pub struct Offering {
    /// What is expected of each buyer, given all the time there is.
    pub uptakes: Vec<Uptake>,
    pub pack: Grams,
    pub price_per_kg: Cents,
    /// As long as the farm leaves an offer open, and then to fetch what was taken.
    pub open_minutes: i64,
    pub collect_minutes: i64,
}

/// The next market.
#[derive(Clone, Debug, PartialEq)]
pub struct Market {
    pub demand: Count,
    pub pack: Grams,
    pub price_per_kg: Cents,
    /// What is kept for it already.
    pub kept: Grams,
    pub leaves_at: UtcSeconds,
    pub home_at: UtcSeconds,
}

/// The drier.
#[derive(Clone, Debug, PartialEq)]
pub struct Drying {
    /// Zero where the farm sells none.
    pub price_per_dried_kg: Cents,
    pub fresh_per_dried: f64,
    pub minutes: i64,
}

/// A food bank that would take some.
#[derive(Clone, Debug, PartialEq)]
pub struct Giving {
    pub greatest: Grams,
    pub worth_per_kg: Cents,
    /// The last instant at which it can be asked.
    pub ask_by: UtcSeconds,
    pub opens_at: UtcSeconds,
    pub answer: Answering,
}

/// The ways of this farm for a lot.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Ways {
    pub offering: Option<Offering>,
    pub market: Option<Market>,
    pub drying: Option<Drying>,
    pub giving: Vec<Giving>,
}

/// When an offer made at `now` ends, and until when what was taken is fetched: neither after the mushrooms are good, the
/// offer not after `last_call`, the last instant at which a food bank can be asked, where that lies ahead.
pub fn offer_times(
    now: UtcSeconds,
    (open_minutes, collect_minutes): (i64, i64),
    (good_until, last_call): (UtcSeconds, Option<UtcSeconds>),
) -> (UtcSeconds, UtcSeconds) {
    let last_call = last_call.filter(|call| *call > now).unwrap_or(good_until);
    let deadline = now.plus_minutes(open_minutes.max(0)).min(good_until).min(last_call);
    (deadline, deadline.plus_minutes(collect_minutes.max(0)).min(good_until))
}

/// Every chance of what is good until `good_until`.
pub fn chances(ways: &Ways, good_until: UtcSeconds, now: UtcSeconds) -> Vec<Chance> {
    let mut chances = Vec::new();
    let last_call = ways.giving.iter().map(|bank| bank.ask_by).max();
    if let Some(offering) = &ways.offering {
        chances.extend(offers(offering, (good_until, last_call), now));
    }
    if let Some(market) = &ways.market {
        let Market { demand, pack, price_per_kg, kept, leaves_at, home_at } = *market;
        let outlet = Outlet::Market { demand, pack, price_per_kg, kept };
        chances.push(Chance { outlet, choose_by: leaves_at, settled: Settled::At(home_at), reaches_at: leaves_at });
    }
    for bank in &ways.giving {
        chances.push(Chance {
            outlet: Outlet::Giving { greatest: bank.greatest, worth_per_kg: bank.worth_per_kg, answer: bank.answer },
            choose_by: bank.ask_by,
            settled: Settled::AfterMinutes(bank.answer.within_minutes),
            reaches_at: bank.opens_at,
        });
    }
    if let Some(Drying { price_per_dried_kg, fresh_per_dried, minutes }) = ways.drying {
        let outlet = Outlet::Drying { price_per_dried_kg, fresh_per_dried };
        // Into the drier while it is good is early enough.
        chances.push(Chance {
            outlet,
            choose_by: good_until,
            settled: Settled::AfterMinutes(minutes),
            reaches_at: now,
        });
    }
    chances
}

/// The same offer open for different times: a short one reaches fewer and leaves time for another way.
fn offers(
    offering: &Offering,
    (good_until, last_call): (UtcSeconds, Option<UtcSeconds>),
    now: UtcSeconds,
) -> Vec<Chance> {
    let short = SHORT_HOURS.map(|hours| hours * 60).into_iter().filter(|minutes| *minutes < offering.open_minutes);
    let mut lengths: Vec<i64> = [offering.open_minutes]
        .into_iter()
        .chain(short)
        .map(|minutes| {
            // What is taken is still fetched.
            let latest = good_until.plus_minutes(-offering.collect_minutes);
            let times = (minutes, offering.collect_minutes);
            offer_times(now, times, (latest, last_call)).0.since(now).div_euclid(60)
        })
        .filter(|minutes| *minutes > 0)
        .collect();
    lengths.dedup();
    let chance = |minutes: i64| {
        let reaches_at = now.plus_minutes(minutes + offering.collect_minutes);
        Chance {
            outlet: Outlet::Buyers {
                uptakes: offering.uptakes.iter().map(|uptake| uptake.within(minutes)).collect(),
                pack: offering.pack,
                price_per_kg: offering.price_per_kg,
            },
            choose_by: good_until.plus_minutes(-(minutes + offering.collect_minutes)),
            settled: Settled::AfterMinutes(minutes),
            reaches_at,
        }
    };
    lengths.into_iter().map(chance).collect()
}

#[cfg(test)]
mod tests {
    use super::super::placement::{Way, advise};
    use super::super::uptake::PRIOR;
    use super::*;

    fn hours(count: i64) -> UtcSeconds {
        UtcSeconds::new(count * 3600)
    }

    fn ways() -> Ways {
        Ways {
            offering: Some(Offering {
                uptakes: vec![PRIOR; 3],
                pack: Grams::new(250),
                price_per_kg: Cents::new(2200),
                open_minutes: 20 * 60,
                collect_minutes: 8 * 60,
            }),
            market: Some(Market {
                demand: Count { shape: 8.0, rate: 1.0 },
                pack: Grams::new(250),
                price_per_kg: Cents::new(2200),
                kept: Grams::ZERO,
                leaves_at: hours(42),
                home_at: hours(50),
            }),
            drying: Some(Drying { price_per_dried_kg: Cents::ZERO, fresh_per_dried: 10.0, minutes: 24 * 60 }),
            giving: vec![Giving {
                greatest: Grams::new(9000),
                worth_per_kg: Cents::new(300),
                ask_by: hours(45),
                opens_at: hours(46),
                answer: Answering { within_minutes: 12 * 60, least_minutes: 2 * 60 },
            }],
        }
    }

    fn best(good_until: i64, now: i64) -> Vec<Way> {
        let chances = chances(&ways(), hours(good_until), hours(now));
        let mut ways: Vec<Way> = Vec::new();
        for advice in advise(Grams::new(5000), hours(good_until), &chances, hours(now)) {
            if !ways.contains(&advice.way) {
                ways.push(advice.way);
            }
        }
        ways
    }

    #[test]
    fn a_way_goes_as_its_hour_passes() {
        use Way::{Dry, Give, Market, Offer};
        // Buyers take some and the market the rest; the other way round the market's rest finds no buyer in time.
        assert_eq!(best(60, 0), [Offer, Market, Give, Dry]);
        // Too late to fetch, and no market before it spoils.
        assert_eq!(best(40, 33), [Dry]);
        // An offer could run for an hour only, or nobody could be asked about what it leaves.
        assert_eq!(best(60, 44), [Give, Offer, Dry]);
        assert_eq!(best(60, 60), [Dry]);
        assert_eq!(best(60, 61), []);
    }

    #[test]
    fn an_offer_ends_while_it_keeps_and_while_a_food_bank_can_be_asked() {
        let times = |good_until, last_call: Option<i64>| {
            let (deadline, collect) = offer_times(hours(0), (1200, 480), (hours(good_until), last_call.map(hours)));
            (deadline.get() / 3600, collect.get() / 3600)
        };
        assert_eq!(times(100, None), (20, 28));
        assert_eq!(times(100, Some(15)), (15, 23));
        assert_eq!(times(10, Some(15)), (10, 10));
        assert_eq!(times(24, None), (20, 24));
        // Nobody can be asked any more: nothing to wait for.
        assert_eq!(times(100, Some(0)), (20, 28));
    }

    #[test]
    fn no_length_twice_and_none_too_long() {
        let lengths = |good_until| -> Vec<i64> {
            let settled = |chance: Chance| match chance.settled {
                Settled::AfterMinutes(minutes) if chance.way() == Way::Offer => Some(minutes / 60),
                _ => None,
            };
            chances(&ways(), hours(good_until), hours(0)).into_iter().filter_map(settled).collect()
        };
        assert_eq!(lengths(60), [20, 12, 5]);
        assert_eq!(lengths(20), [12, 5]);
        assert_eq!(lengths(11), [3]);
        assert!(lengths(8).is_empty());
    }
}
