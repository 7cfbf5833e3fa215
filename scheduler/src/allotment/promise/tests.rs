use super::*;
use crate::id::Id;
use rand::SeedableRng;
use rand_distr::{Distribution, LogNormal};
use rand_pcg::Pcg64;

fn newsvendor([mean, standard_deviation, under, over]: [f64; 4]) -> Newsvendor {
    Newsvendor { mean, standard_deviation, under, over }
}

/// Standard newsvendor formulas, computed with SciPy 1.17; the first two cases are those of Cachon & Terwiesch, Matching Supply
/// with Demand (3rd ed., 2013), chapter 12.
#[test]
fn best_quantities() {
    for (case, expected) in [
        ([200., 80., 8., 4.], [234.4581839436, 17.6019206595, 182.3980793405, 52.0601046031, 1250.9442163117]),
        (
            [3192., 1181., 80., 20.],
            [4185.9546768496, 131.8440926317, 3060.1559073683, 1125.7987694813, 222296.4971998378],
        ),
        ([1000., 200., 40., 10.], [1168.3242467146, 22.3275347386, 977.6724652614, 190.6517814532, 37200.3807959219]),
        ([100., 20., 1., 1.], [100., 7.9788456080, 92.0211543920, 7.9788456080, 84.0423087839]),
        ([100., 20., 1., 3.], [86.5102049961, 16.4728777066, 83.5271222934, 2.9830827027, 74.5778741853]),
        ([500., 50., 9., 1.], [564.0775782772, 2.3671587689, 497.6328412311, 66.4447370461, 4412.2508340338]),
    ] {
        let best = newsvendor(case).best().expect("usable costs");
        let found = [best.quantity, best.lost, best.sales, best.left, best.profit];
        for (found, expected) in found.into_iter().zip(expected) {
            assert!((found - expected).abs() < 1e-6, "{case:?}: {found} for {expected}");
        }
    }
}

/// Cachon & Terwiesch, chapter 12: at 3000 wetsuits the book's table gives lost 572, sales 2620, left 380, profit 202 000.
#[test]
fn a_chosen_quantity() {
    let found = newsvendor([3192., 1181., 80., 20.]).expect(3000.).expect("usable");
    for (found, exact, book, tolerance) in [
        (found.lost, 573.3634927, 572., 2.),
        (found.sales, 2618.6365073, 2620., 2.),
        (found.left, 381.3634927, 380., 2.),
        (found.profit, 201863.65073, 202000., 200.),
        (found.in_stock, 0.4354268945, 0.4354268945, 1e-6),
    ] {
        assert!((found - exact).abs() < 1e-4 && (found - book).abs() <= tolerance, "{found} for {exact}");
    }
}

#[test]
fn a_demand_of_few_values() {
    let demand = [(0, 0.1), (10, 0.2), (20, 0.4), (30, 0.2), (40, 0.1)];
    assert_eq!(discrete_quantile(&demand, critical_ratio(3., 2.).expect("usable")), Some(20));
    assert_eq!(discrete_quantile(&demand, 1.0), Some(40));
    assert_eq!(discrete_quantile(&[], 0.5), None);
}

#[test]
fn costs_that_make_no_sense_give_no_ratio() {
    for (under, over) in [(0., 1.), (1., -1.), (f64::NAN, 1.), (f64::INFINITY, 1.)] {
        assert_eq!(critical_ratio(under, over), None);
    }
    assert!(newsvendor([1., 0., 1., 1.]).best().is_none());
    assert_eq!(promise_level(4., 1.), Some(0.8));
}

fn day(day: u32) -> LocalDate {
    LocalDate::from_ymd_opt(2026, 1, day).expect("a day of January")
}

fn farm_lots() -> Vec<Lot> {
    ["shiitake", "oyster"]
        .into_iter()
        .enumerate()
        .map(|(number, crop)| Lot {
            id: Id::new(number as i64),
            crop: crop.to_owned(),
            available_from: day(1),
            keeps_until: day(7),
            grams: Grams::ZERO,
        })
        .collect()
}

fn farm_claims() -> Vec<Claim> {
    (0..6)
        .map(|number| Claim {
            id: Id::new(number),
            buyer: Id::new(number / 2),
            date: day(7),
            crop: ["shiitake", "oyster"][number as usize % 2].to_owned(),
            grams: Grams::new(9000 + 1000 * number),
            smallest_useful: Grams::new(500),
            pack_step: Grams::new(250),
            swaps: Vec::new(),
            tier: 0,
            weight: 1,
        })
        .collect()
}

/// A week's harvest of both crops, with a common cause (the climate of one room) behind part of it.
fn draw_week(seed: &mut Pcg64) -> Vec<Grams> {
    let common = LogNormal::new(0.0, 0.15).expect("usable").sample(seed);
    let own = LogNormal::new(0.0, 0.2).expect("usable");
    [20_000.0, 26_000.0].map(|typical_g| Grams::new((typical_g * common * own.sample(seed)) as i64)).to_vec()
}

#[test]
fn two_crops_are_promised_together() {
    // Two crops in opposite weeks: each alone has 90 g nine times in ten, both together four times in five.
    let rows: Vec<Vec<Grams>> = (0..10)
        .map(|draw| vec![Grams::new(if draw == 0 { 10 } else { 90 }), Grams::new(if draw == 1 { 10 } else { 90 })])
        .collect();
    let lots = farm_lots();
    let mut claims = farm_claims();
    for claim in &mut claims {
        (claim.smallest_useful, claim.pack_step) = (Grams::ZERO, Grams::new(1));
    }
    let draws = SupplyDraws { lots: &lots, rows: &rows };
    let promise = promise_at_level(draws, &claims, 0.8, &Terms::default());
    assert_eq!(promise.holds, 0.8);
    assert_eq!(promise.allotment.awards.iter().map(|award| award.given).sum::<Grams>(), Grams::new(180));
    let surer = promise_at_level(draws, &claims, 0.9, &Terms::default());
    assert_eq!(surer.holds, 1.0);
    assert_eq!(surer.allotment.awards.iter().map(|award| award.given).sum::<Grams>(), Grams::new(20));
    let none = promise_at_level(SupplyDraws { lots: &lots, rows: &[] }, &claims, 0.8, &Terms::default());
    assert_eq!((none.holds, none.allotment.drawn.len()), (0.0, 0));
}

/// 52 deliveries a year, orders always above the harvest, so the level is what decides. Four years, so that the mean says something.
#[test]
fn simulated_years_at_level_four_fifths() {
    let lots = farm_lots();
    let claims = farm_claims();
    let mut seed = Pcg64::seed_from_u64(20_260_101);
    let (mut kept_all, mut left_all, mut harvest_all) = (0, 0, 0);
    for year in 0..4 {
        let mut kept = 0;
        for week in 0..52 {
            let rows: Vec<Vec<Grams>> = (0..500).map(|_| draw_week(&mut seed)).collect();
            let terms = Terms { rotation: week, ..Terms::default() };
            let promise = promise_at_level(SupplyDraws { lots: &lots, rows: &rows }, &claims, 0.8, &terms);
            assert!(promise.holds >= 0.8);
            let truth = vec![draw_week(&mut seed)];
            let truth_draws = SupplyDraws { lots: &lots, rows: &truth };
            kept += usize::from(chance_all_hold(&truth_draws, &claims, &promise.allotment) == 1.0);
            let promised: Grams = promise.allotment.awards.iter().map(|award| award.given).sum();
            let harvest: Grams = truth[0].iter().copied().sum();
            left_all += harvest.less(promised).get();
            harvest_all += harvest.get();
        }
        println!("year {year}: {kept} of 52 delivery days kept whole");
        kept_all += kept;
    }
    let share = kept_all as f64 / 208.0;
    println!("kept {share:.3}, harvest beyond promises {:.3}", left_all as f64 / harvest_all as f64);
    assert!((0.77..=0.86).contains(&share), "{share}");
}
