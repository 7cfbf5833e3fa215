//! The forecast against exact distributions, and what must hold whatever the facts are.

#![allow(clippy::unwrap_used, reason = "a test stops where a step fails")]

use chrono::Duration;
use proptest::prelude::*;
use scheduler::clock::LocalDate;
use scheduler::harvest::batch::{Fault, FlushFacts, Start};
use scheduler::harvest::conjugate::StudentPredictive;
use scheduler::harvest::forecast::{Request, forecast, outlooks, with_following_flushes};
use scheduler::harvest::learn::{Learned, learn};
use scheduler::harvest::prior::{CropPrior, built_in};
use scheduler::harvest::score::quantile;
use scheduler::harvest::supply::{DeliveryTime, Keeping, LotFacts, supply};
use scheduler::id::Id;
use scheduler::quantity::Grams;

fn day(text: &str) -> LocalDate {
    text.parse().unwrap()
}

fn today() -> LocalDate {
    day("2027-03-08")
}

fn never_failing() -> Vec<CropPrior> {
    let mut priors = built_in();
    priors.iter_mut().for_each(|prior| prior.failure_chance = 0.0);
    priors
}

fn flush(id: i64, crop: &str, begun_days_ago: i64) -> FlushFacts {
    FlushFacts {
        id: Id::new(id),
        batch: Id::new(id),
        crop: crop.parse().unwrap(),
        number: 1,
        room: Id::new(1),
        units: 40,
        lost_units: 0,
        dry_grams_per_unit: Grams::new(1000),
        start: Start::Begun(today() - Duration::days(begun_days_ago)),
        pins_seen_on: None,
        picked: Vec::new(),
        closed: false,
        room_temperature_c: None,
    }
}

fn request<'a>(flushes: &'a [FlushFacts], learned: &'a Learned) -> Request<'a> {
    Request { flushes, learned, today: today(), days: 60, draws: 10_000, seed: 7 }
}

fn sorted_total(flushes: &[FlushFacts], learned: &Learned) -> Vec<f64> {
    let drawn = forecast(&request(flushes, learned));
    let last = today() + Duration::days(59);
    let mut sums: Vec<f64> = drawn.sums(flushes[0].crop, today(), last).into_iter().map(f64::from).collect();
    sums.sort_unstable_by(f64::total_cmp);
    sums
}

/// A new flush in a room never seen: the logarithm of its yield is Student t with the belief's centre and degrees and
/// variance parts for itself, the belief and the room. Four standard errors of a quantile are 4√(p(1 − p)/n)/f(x).
#[test]
fn drawn_quantiles_are_those_of_the_exact_student_t() {
    let learned = learn(&never_failing(), &[], today());
    let flushes = [flush(1, "shiitake", 0)];
    let sums = sorted_total(&flushes, &learned);
    let belief = learned.belief(flushes[0].crop, 1).unwrap().efficiency;
    let parts = 1.0 + 1.0 / belief.kappa + learned.yield_rooms.factor(Id::new(1)).variance;
    let exact = StudentPredictive {
        centre: belief.mean + 40_000f64.ln(),
        scale: (belief.beta / belief.alpha * parts).sqrt(),
        degrees: 2.0 * belief.alpha,
    };
    for p in [0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.95] {
        let (low, high) = (exact.quantile(p - 0.001), exact.quantile(p + 0.001));
        let four_errors = 4.0 * (p * (1.0 - p) / 10_000f64).sqrt() * (high - low) / 0.002;
        let drawn = quantile(&sums, p).unwrap().ln();
        assert!((drawn - exact.quantile(p)).abs() < four_errors, "{p}: {drawn} {}", exact.quantile(p));
    }
}

#[test]
fn a_seed_fixes_the_draws_and_one_more_flush_changes_no_other() {
    let learned = learn(&built_in(), &[], today());
    let one = [flush(1, "shiitake", 3)];
    let more = [flush(1, "shiitake", 3), flush(2, "oyster", 5)];
    let (first, again, both) =
        (forecast(&request(&one, &learned)), forecast(&request(&one, &learned)), forecast(&request(&more, &learned)));
    assert_eq!(first, again);
    let other = forecast(&Request { seed: 8, ..request(&one, &learned) });
    let shiitake = both.crop_index(one[0].crop).unwrap();
    for draw in [0, 1, 255, 256, 9_999] {
        assert_eq!(first.daily(0, draw), both.daily(shiitake, draw));
        assert_ne!(first.daily(0, draw), other.daily(0, draw));
    }
    // More draws keep the first ones.
    let longer = forecast(&Request { draws: 10_500, ..request(&one, &learned) });
    assert_eq!(first.daily(0, 9_999), longer.daily(0, 9_999));
}

#[test]
fn flushes_of_one_room_add_up_less_surely_than_those_of_many() {
    let learned = learn(&built_in(), &[], today());
    let spread = |rooms: i64| {
        let flushes: Vec<FlushFacts> =
            (0..12).map(|i| FlushFacts { room: Id::new(i % rooms + 1), ..flush(i + 1, "oyster", 2) }).collect();
        let sums = sorted_total(&flushes, &learned);
        quantile(&sums, 0.9).unwrap() - quantile(&sums, 0.1).unwrap()
    };
    let (one_room, many_rooms) = (spread(1), spread(12));
    assert!(one_room > 1.1 * many_rooms, "{one_room} {many_rooms}");
}

#[test]
fn evidence_narrows_and_moves_the_outlook() {
    let learned = learn(&built_in(), &[], today());
    let look = |facts: FlushFacts| outlooks(&request(&[facts], &learned)).remove(0);
    let first_pick_width = |facts: FlushFacts| {
        let outlook = look(facts);
        outlook.first_pick_quantile(0.9).unwrap() - outlook.first_pick_quantile(0.1).unwrap()
    };
    let fresh = first_pick_width(flush(1, "shiitake", 0));
    let widths = [5, 7, 9, 11].map(|ago| first_pick_width(flush(1, "shiitake", ago)));
    assert!(widths[3] < fresh, "{fresh} {widths:?}");
    let pins = FlushFacts { pins_seen_on: Some(today() - Duration::days(2)), ..flush(1, "shiitake", 6) };
    assert!(first_pick_width(pins.clone()) < 0.9 * fresh);
    // The longer nothing comes, the likelier it failed; pins say it has not.
    let chances: Vec<f64> = [0, 9, 14, 25].map(|ago| look(flush(1, "shiitake", ago)).failure_chance).to_vec();
    assert!(chances.windows(2).all(|pair| pair[0] <= pair[1]) && chances[3] > 0.5, "{chances:?}");
    assert!(look(pins).failure_chance < 0.01);
    let whole = look(flush(1, "shiitake", 0));
    let partly = look(FlushFacts {
        picked: vec![(today() - Duration::days(2), Grams::new(5000)), (today() - Duration::days(1), Grams::new(6000))],
        ..flush(1, "shiitake", 12)
    });
    let width =
        |outlook: &scheduler::harvest::outlook::Outlook| outlook.left_g.quantile(0.9) - outlook.left_g.quantile(0.1);
    assert!(width(&partly) < 0.7 * width(&whole));
    let half_lost = look(FlushFacts { lost_units: 20, ..flush(1, "shiitake", 0) });
    assert!((half_lost.left_g.quantile(0.5) / whole.left_g.quantile(0.5) - 0.5).abs() < 1e-5);
    // A warm room hurries, a cold one delays (thermal time).
    let median = |celsius| {
        let facts = FlushFacts { room_temperature_c: Some(celsius), ..flush(1, "shiitake", 0) };
        look(facts).first_pick_quantile(0.5).unwrap()
    };
    assert!(median(20.0) < median(16.0) && median(16.0) < median(12.0));
}

#[test]
fn third_flushes_gain_from_the_first_two() {
    let mut record = Vec::new();
    for batch in 0..8 {
        for number in 1..=2 {
            let mean = [0.42, 0.24][number as usize - 1];
            let begun = today() - Duration::days(200 - batch * 10 - i64::from(number));
            record.push(FlushFacts {
                id: Id::new(batch * 10 + i64::from(number)),
                batch: Id::new(batch),
                number,
                start: Start::Begun(begun),
                // Half as much again as the table says.
                picked: vec![(begun + Duration::days(10), Grams::new((40_000.0 * mean * 1.5) as i64))],
                closed: true,
                ..flush(1, "shiitake", 0)
            });
        }
    }
    let (before, after) = (learn(&built_in(), &[], today()), learn(&built_in(), &record, today()));
    let shiitake = record[0].crop;
    let of = |learned: &Learned, number| learned.belief(shiitake, number).unwrap().efficiency;
    assert!(of(&after, 1).mean > of(&before, 1).mean + 0.2);
    assert!(of(&after, 3).mean > of(&before, 3).mean + 0.03);
    assert!(of(&after, 3).kappa > of(&before, 3).kappa);
    assert_eq!(of(&after, 3).alpha, of(&before, 3).alpha);
}

#[test]
fn following_flushes_come_after_a_rest_and_nonsense_is_set_aside() {
    let learned = learn(&built_in(), &[], today());
    let picking =
        FlushFacts { picked: vec![(today() - Duration::days(1), Grams::new(4000))], ..flush(1, "oyster", 12) };
    let unknown = FlushFacts { start: Start::Unknown, ..flush(2, "oyster", 0) };
    let heavy = FlushFacts { picked: vec![(today(), Grams::new(400_000))], ..flush(3, "oyster", 9) };
    let all = with_following_flushes(std::slice::from_ref(&picking), &learned);
    assert_eq!(all.iter().map(|flush| flush.number).collect::<Vec<_>>(), [1, 2, 3, 4]);
    let drawn = forecast(&Request { days: 90, ..request(&all, &learned) });
    let mean = |from: i64, to: i64| {
        let sums = drawn.sums(picking.crop, today() + Duration::days(from), today() + Duration::days(to));
        sums.iter().map(|&g| f64::from(g)).sum::<f64>() / sums.len() as f64
    };
    // The second flush gives about 0.22 × 40 kg, some 4 + 8 days after the first ends; the third 0.10 × 40 kg.
    assert!((mean(8, 25) - 8_800.0).abs() < 2_500.0, "{}", mean(8, 25));
    assert!((mean(26, 42) - 4_000.0).abs() < 2_500.0, "{}", mean(26, 42));
    let faulty = forecast(&request(&[unknown, heavy], &learned));
    assert_eq!(faulty.set_aside[0], (Id::new(2), Fault::NotStarted));
    assert!(matches!(faulty.set_aside[1], (_, Fault::TooHeavy { .. })));
    assert_eq!(faulty.sums(picking.crop, today(), today() + Duration::days(59)).iter().sum::<f32>(), 0.0);
}

#[test]
fn supply_counts_stock_that_keeps_and_picks_that_have_cooled() {
    let learned = learn(&built_in(), &[], today());
    let flushes = [flush(1, "oyster", 10), flush(2, "oyster", 6)];
    let drawn = forecast(&request(&flushes, &learned));
    let oyster = &built_in()[1].crop;
    let lot = |id, left, until: &str| LotFacts {
        id: Id::new(id),
        crop: oyster.key,
        left: Grams::new(left),
        keeps_until: day(until),
    };
    let lots = [lot(1, 3_000, "2027-03-11"), lot(2, 2_000, "2027-03-10"), lot(3, 1_000, "2027-03-20")];
    let delivery = |on: &str| DeliveryTime { on: day(on), packing: day(on).and_hms_opt(6, 0, 0).unwrap() };
    let keeping = Keeping { crop: oyster, picking_ends: "17:00:00".parse().unwrap() };
    let supplies = supply(&drawn, &lots, &[delivery("2027-03-11"), delivery("2027-03-18")], keeping);
    assert_eq!((supplies[0].in_stock, supplies[1].in_stock), (Grams::new(4_000), Grams::new(1_000)));
    // Oyster keeps five days: the second Thursday has the picks of Saturday 13 to Wednesday 17.
    assert_eq!((supplies[1].first_pick_day, supplies[1].last_pick_day), (day("2027-03-13"), day("2027-03-17")));
    for one in &supplies {
        assert!(one.quantile(0.0) >= one.in_stock && one.quantile(0.1) <= one.quantile(0.5));
        assert!(one.quantile(0.5) <= one.quantile(0.9) && one.promisable(0.8) == one.quantile(1.0 - 0.8));
        // A promise of the promisable amount fails in one draw of five.
        let failing = one.shortfall_chance(one.promisable(0.8) + Grams::new(1));
        assert!(one.promisable(0.8) == one.in_stock || (failing - 0.2).abs() < 0.01, "{failing}");
    }
    let draw = 17;
    // Saturday 13 is day 5 of the forecast, Wednesday 17 day 9.
    let picked: f32 = drawn.daily(drawn.crop_index(oyster.key).unwrap(), draw)[5..=9].iter().sum();
    let by_supply = supplies[1].draws_g[draw] - 1_000.0;
    assert!((by_supply - picked).abs() < 1.0, "{by_supply} {picked}");
}

#[test]
fn a_batch_left_resting_far_too_long_is_not_counted_on() {
    let learned = learn(&built_in(), &[], today());
    let chance = |days_ago: i64| {
        let facts = FlushFacts {
            number: 2,
            start: Start::RestingSince(today() - Duration::days(days_ago)),
            ..flush(1, "oyster", 0)
        };
        outlooks(&request(&[facts], &learned))[0].failure_chance
    };
    // The table's 0.02 that a flush fails and 0.05 that the units are thrown out before it: 1 - 0.98 * 0.95.
    assert!((chance(1) - 0.069).abs() < 0.001 && chance(120) > 0.9, "{} {}", chance(1), chance(120));
}

/// Beta-Bernoulli by hand (Gelman et al., Bayesian Data Analysis, section 2.4): the table's 0.05 weighs 8 flushes, so 20
/// batches that ended after their first flush give (0.4 + 20) / 28, and 20 that went on give 0.4 / 28.
#[test]
fn a_farm_that_throws_its_units_out_is_not_forecast_another_flush() {
    let first = |batch: i64| FlushFacts {
        picked: vec![(today() - Duration::days(188), Grams::new(4_000))],
        closed: true,
        ..flush(batch, "oyster", 200)
    };
    let second = |batch: i64| FlushFacts {
        id: Id::new(1_000 + batch),
        batch: Id::new(batch),
        number: 2,
        picked: vec![(today() - Duration::days(170), Grams::new(2_000))],
        closed: true,
        ..flush(batch, "oyster", 180)
    };
    let ends: Vec<FlushFacts> = (1..=20).map(first).collect();
    let goes_on: Vec<FlushFacts> = (1..=20).flat_map(|batch| [first(batch), second(batch)]).collect();
    let oyster = "oyster".parse().unwrap();
    for (record, exact) in [(&ends, 20.4 / 28.0), (&goes_on, 0.4 / 28.0)] {
        let learned = learn(&built_in(), record, today());
        assert!((learned.thrown_out(oyster, 1) - exact).abs() < 1e-12, "{}", learned.thrown_out(oyster, 1));
        // Bags in the middle of their first flush: no draw has anything after it where they are thrown out, or where the
        // second flush fails.
        let picking =
            FlushFacts { picked: vec![(today() - Duration::days(1), Grams::new(4_000))], ..flush(99, "oyster", 14) };
        let coming = with_following_flushes(&[picking], &learned);
        let drawn = forecast(&Request { days: 150, draws: 20_000, ..request(&coming, &learned) });
        let later = drawn.sums(oyster, today() + Duration::days(5), today() + Duration::days(149));
        let nothing = later.iter().filter(|&&sum| sum < 1.0).count() as f64 / later.len() as f64;
        let fails = learned.chances(oyster).unwrap().failure.mean();
        let chance = 1.0 - (1.0 - exact) * (1.0 - fails);
        let error = (chance * (1.0 - chance) / 20_000.0f64).sqrt();
        assert!((nothing - chance).abs() < 4.0 * error, "{nothing} {chance}");
    }
}

fn any_day() -> impl Strategy<Value = LocalDate> {
    (-400i64..400).prop_map(|days| today() + Duration::days(days))
}

fn any_grams() -> impl Strategy<Value = Grams> {
    prop_oneof![0i64..50_000, any::<i64>()].prop_map(Grams::new)
}

fn any_flush() -> impl Strategy<Value = FlushFacts> {
    let start = prop_oneof![
        4 => any_day().prop_map(Start::Begun),
        1 => any_day().prop_map(Start::Planned),
        1 => any_day().prop_map(Start::RestingSince),
        1 => (0i64..6).prop_map(|id| Start::After(Id::new(id))),
        1 => Just(Start::Unknown),
    ];
    let crop = prop_oneof![Just("shiitake"), Just("oyster"), Just("nameko")];
    let counts = (0u8..7, 0u32..100, 0u32..4, any_grams());
    let seen = (proptest::option::of(any_day()), prop::collection::vec((any_day(), any_grams()), 0..4));
    let rest = (any::<bool>(), proptest::option::of(prop_oneof![-50.0..60.0, Just(f64::NAN), Just(f64::INFINITY)]));
    (0i64..6, crop, start, counts, seen, rest).prop_map(|(id, crop, start, counts, seen, rest)| FlushFacts {
        number: counts.0,
        units: counts.1,
        lost_units: counts.2,
        dry_grams_per_unit: counts.3,
        start,
        pins_seen_on: seen.0,
        picked: seen.1,
        closed: rest.0,
        room_temperature_c: rest.1,
        ..flush(id, crop, 0)
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn whatever_the_facts_grams_are_finite_and_never_negative(
        flushes in prop::collection::vec(any_flush(), 0..6),
        seed in any::<u64>(),
    ) {
        let learned = learn(&built_in(), &flushes, today());
        let all = with_following_flushes(&flushes, &learned);
        let asked = Request { draws: 64, days: 40, seed, ..request(&all, &learned) };
        let drawn = forecast(&asked);
        for crop in 0..drawn.crops.len() {
            for draw in 0..drawn.draws {
                prop_assert!(drawn.daily(crop, draw).iter().all(|&g| g.is_finite() && g >= 0.0));
            }
        }
        for outlook in outlooks(&asked) {
            for p in [0.0, 0.1, 0.5, 0.9, 1.0] {
                let left = outlook.left_g.quantile(p);
                prop_assert!(left.is_finite() && left >= 0.0);
            }
        }
    }
}
