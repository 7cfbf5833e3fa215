//! Records that pass every check and are odd all the same: whatever they say, learning and the forecast give plain
//! numbers. (Records with faults are in `harvest_forecast`; they are set aside before they reach the arithmetic.)

#![allow(clippy::unwrap_used, reason = "a test stops where a step fails")]

use chrono::Duration;
use proptest::prelude::*;
use scheduler::clock::LocalDate;
use scheduler::harvest::batch::{BIOLOGICAL_EFFICIENCY_MAX, FlushFacts, Start};
use scheduler::harvest::forecast::{Request, forecast, outlooks, with_following_flushes};
use scheduler::harvest::learn::learn;
use scheduler::harvest::prior::built_in;
use scheduler::id::Id;
use scheduler::quantity::Grams;

fn today() -> LocalDate {
    "2027-03-08".parse().unwrap()
}

/// Dry grams of a unit and units: from a crumb to more than any farm has.
fn any_size() -> impl Strategy<Value = (i64, u32)> {
    prop_oneof![(1i64..5_000, 1u32..200), Just((1, 1)), Just((1_000_000, 1_000_000)), Just((1, u32::MAX))]
}

/// Days after the start, and the share of the greatest weight that four picks may share; a zero and a gram come up too.
fn any_pick() -> impl Strategy<Value = (f64, f64)> {
    (0.0..=1.0, prop_oneof![4 => 0.0..=1.0f64, 1 => Just(0.0), 1 => Just(1e-12), 1 => Just(1.0)])
}

fn any_flush() -> impl Strategy<Value = FlushFacts> {
    let age = prop_oneof![Just(0i64), 1i64..30, 30i64..2_000];
    let picks = prop::collection::vec(any_pick(), 0..=4);
    let warmth = proptest::option::of(prop_oneof![-300.0..300.0, Just(f64::NAN), Just(f64::NEG_INFINITY)]);
    let place = (1i64..4, 1u8..=4, 1i64..3, any::<bool>());
    (place, any_size(), 0.0..=1.0, age, picks, proptest::option::of(0.0..=1.0), any::<bool>(), warmth).prop_map(
        |((batch, number, room, is_oyster), (dry_g, units), lost, age, picks, pins, closed, warmth)| {
            let begun_on = today() - Duration::days(age);
            let within = |share: f64| begun_on + Duration::days((age as f64 * share) as i64);
            let most_g = dry_g.saturating_mul(i64::from(units)).saturating_mul(BIOLOGICAL_EFFICIENCY_MAX) / 4;
            let weight = |share: f64| Grams::new(((most_g as f64 * share).ceil() as i64).min(most_g));
            FlushFacts {
                id: Id::new(batch * 10 + i64::from(number)),
                batch: Id::new(batch),
                crop: if is_oyster { "oyster" } else { "shiitake" }.parse().unwrap(),
                number,
                room: Id::new(room),
                units,
                lost_units: (f64::from(units) * lost) as u32,
                dry_grams_per_unit: Grams::new(dry_g),
                start: Start::Begun(begun_on),
                pins_seen_on: pins.map(within),
                picked: picks.into_iter().map(|(day, share)| (within(day), weight(share))).collect(),
                closed,
                room_temperature_c: warmth,
            }
        },
    )
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_sound_but_odd_record_gives_plain_numbers(
        flushes in prop::collection::vec(any_flush(), 1..12),
        seed in any::<u64>(),
    ) {
        let priors = built_in();
        for flush in &flushes {
            prop_assert_eq!(flush.fault(&priors, today()), None);
        }
        let learned = learn(&priors, &flushes, today());
        for prior in &priors {
            for flush in &prior.flushes {
                let belief = learned.belief(prior.crop.key, flush.number).unwrap();
                let rest = belief.rest.into_iter();
                for nig in [belief.efficiency, belief.days, belief.pins_to_pick, belief.duration].into_iter().chain(rest) {
                    prop_assert!(nig.mean.is_finite() && nig.beta.is_finite(), "{:?}", nig);
                    prop_assert!(nig.kappa > 0.0 && nig.alpha > 0.0 && nig.beta > 0.0, "{:?}", nig);
                }
            }
        }
        let all = with_following_flushes(&flushes, &learned);
        let asked =
            Request { flushes: &all, learned: &learned, today: today(), days: 40, draws: 64, seed };
        let drawn = forecast(&asked);
        for crop in 0..drawn.crops.len() {
            for draw in 0..drawn.draws {
                prop_assert!(drawn.daily(crop, draw).iter().all(|&g| g.is_finite() && g >= 0.0));
            }
        }
        // Each open flush is looked at, unless what it is to follow is not there to be followed.
        let looks = outlooks(&asked);
        let open = flushes.iter().filter(|flush| !flush.closed).count();
        prop_assert!(looks.len() >= open, "{} of {}", looks.len(), open);
        for look in looks {
            prop_assert!((0.0..=1.0).contains(&look.failure_chance), "{:?}", look.failure_chance);
            let quantiles = [0.0, 0.1, 0.5, 0.9, 1.0].map(|p| look.left_g.quantile(p));
            prop_assert!(quantiles.iter().all(|g| g.is_finite() && *g >= 0.0), "{quantiles:?}");
            prop_assert!(quantiles.windows(2).all(|pair| pair[0] <= pair[1]), "{quantiles:?}");
            let days = [0.1, 0.5, 0.9].map(|p| look.first_pick_quantile(p));
            prop_assert!(days.iter().flatten().all(|day| day.is_finite() && *day >= -0.51), "{days:?}");
        }
    }
}
