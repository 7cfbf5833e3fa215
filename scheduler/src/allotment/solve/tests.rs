use super::*;
use crate::allotment::claims::{MOST_GRAMS, Subject, TroubleKind};
use crate::clock::LocalDate;

pub(crate) fn day(day: u32) -> LocalDate {
    LocalDate::from_ymd_opt(2026, 3, day).expect("a day of March")
}

pub(crate) fn lot(id: i64, crop: &str, days: (u32, u32), grams: i64) -> Lot {
    Lot {
        id: Id::new(id),
        crop: crop.to_owned(),
        available_from: day(days.0),
        keeps_until: day(days.1),
        grams: Grams::new(grams),
    }
}

pub(crate) fn claim(id: i64, crop: &str, on: u32, grams: i64) -> Claim {
    Claim {
        id: Id::new(id),
        buyer: Id::new(id),
        date: day(on),
        crop: crop.to_owned(),
        grams: Grams::new(grams),
        smallest_useful: Grams::ZERO,
        pack_step: Grams::new(1),
        swaps: Vec::new(),
        tier: 0,
        weight: 1,
    }
}

fn with_swaps(mut claim: Claim, swaps: &[&str]) -> Claim {
    claim.swaps = swaps.iter().map(|&swap| swap.to_owned()).collect();
    claim
}

fn packed(mut claim: Claim, step: i64, smallest_useful: i64) -> Claim {
    claim.pack_step = Grams::new(step);
    claim.smallest_useful = Grams::new(smallest_useful);
    claim
}

fn given(allotment: &Allotment) -> Vec<i64> {
    allotment.awards.iter().map(|award| award.given.get()).collect()
}

/// Awards computed with SciPy 1.17 (linprog, HiGHS) by raising the lowest award and freezing what cannot rise.
#[test]
fn lots_to_orders_on_a_transport_network() {
    // A serves 1, 2; B serves 2, 3; C serves 3, 4.
    for (asks, expected) in [
        ([40, 40, 30, 20], [25, 25, 18, 18]),
        ([40, 40, 30, 15], [25, 25, 21, 15]),
        ([10, 40, 30, 15], [10, 40, 21, 15]),
        ([10, 12, 30, 40], [10, 12, 18, 18]),
    ] {
        let lots = [lot(1, "a", (1, 9), 50), lot(2, "b", (1, 9), 15), lot(3, "c", (1, 9), 21)];
        let claims = [
            claim(1, "a", 5, asks[0]),
            with_swaps(claim(2, "a", 5, asks[1]), &["b"]),
            with_swaps(claim(3, "b", 5, asks[2]), &["c"]),
            with_swaps(claim(4, "c", 5, asks[3]), &[]),
        ];
        let allotment = solve(&lots, &claims, &Terms::default());
        assert_eq!(given(&allotment), expected, "asks {asks:?}");
        let from_b: i64 =
            allotment.drawn.iter().filter(|drawn| drawn.lot == Id::new(2)).map(|drawn| drawn.grams.get()).sum();
        assert_eq!(from_b, 15, "B goes wholly to order 3");
    }
}

/// Weighted progressive filling, Keshav, An Engineering Approach to Computer Networking (1997): weights 2.5, 4, 0.5, 1.
#[test]
fn weights_raise_the_level() {
    let lots = [lot(1, "oyster", (1, 9), 16_000)];
    let mut claims = [4000, 2000, 10_000, 4000].map(|grams| claim(grams, "oyster", 5, grams)).to_vec();
    for (number, weight) in [5, 8, 1, 2].into_iter().enumerate() {
        claims[number].id = Id::new(number as i64);
        claims[number].buyer = Id::new(number as i64);
        claims[number].weight = weight;
    }
    let allotment = solve(&lots, &claims, &Terms::default());
    assert_eq!(given(&allotment), [4000, 2000, 6000, 4000]);
    assert_eq!(allotment.shortages.len(), 1);
    assert_eq!(allotment.shortages[0].level, Exact::from_integer(6000), "weights are counted in halves");
}

#[test]
fn a_lower_tier_is_served_first() {
    let lots = [lot(1, "oyster", (1, 9), 5000)];
    let mut late = claim(1, "oyster", 5, 4000);
    late.tier = 1;
    let allotment = solve(&lots, &[late, claim(2, "oyster", 5, 3000)], &Terms::default());
    assert_eq!(given(&allotment), [2000, 3000]);
}

#[test]
fn storage_life_binds_and_the_oldest_goes_first() {
    let lots = [lot(1, "oyster", (1, 5), 1000), lot(2, "oyster", (1, 12), 1000), lot(3, "oyster", (10, 20), 500)];
    let allotment = solve(&lots, &[claim(1, "oyster", 5, 1500), claim(2, "oyster", 12, 900)], &Terms::default());
    let drawn: Vec<(i64, i64, i64)> =
        allotment.drawn.iter().map(|drawn| (drawn.claim.get(), drawn.lot.get(), drawn.grams.get())).collect();
    assert_eq!(drawn, [(1, 1, 1000), (1, 2, 500), (2, 2, 500), (2, 3, 400)]);
    assert_eq!(allotment.left, [(Id::new(3), Grams::new(100))]);
}

#[test]
fn swaps_are_used_as_little_as_can_be_and_by_liking() {
    let lots = [lot(1, "shiitake", (1, 9), 3000), lot(2, "oyster", (1, 9), 1000), lot(3, "lion's mane", (1, 9), 5000)];
    let claims = [
        with_swaps(claim(1, "shiitake", 5, 3000), &["oyster", "lion's mane"]),
        with_swaps(claim(2, "shiitake", 5, 3000), &["oyster", "lion's mane"]),
    ];
    let allotment = solve(&lots, &claims, &Terms::default());
    assert_eq!(given(&allotment), [3000, 3000]);
    let part = |crop: &str, grams| Part { crop: crop.to_owned(), grams: Grams::new(grams) };
    assert_eq!(allotment.awards[0].parts, [part("shiitake", 3000)]);
    assert_eq!(allotment.awards[1].parts, [part("oyster", 1000), part("lion's mane", 2000)]);
    let next_week = solve(&lots, &claims, &Terms { rotation: 1, ..Terms::default() });
    assert_eq!(next_week.awards[1].parts, [part("shiitake", 3000)], "the best liked crop goes round");
}

/// Each takes the next one's crop instead, round in a circle. With enough nobody swaps; with one crop missing the two others
/// serve all three alike (2000 g among three, by hand).
#[test]
fn swaps_in_a_circle_are_no_trouble() {
    let crops = ["shiitake", "oyster", "lion's mane"];
    let claims: Vec<Claim> =
        (0..3).map(|id| with_swaps(claim(id, crops[id as usize], 5, 1000), &[crops[(id as usize + 1) % 3]])).collect();
    let lots: Vec<Lot> = (0..3).map(|id| lot(id, crops[id as usize], (1, 9), 1000)).collect();
    let whole = solve(&lots, &claims, &Terms::default());
    for (award, crop) in whole.awards.iter().zip(crops) {
        assert_eq!(award.parts, [Part { crop: crop.to_owned(), grams: Grams::new(1000) }]);
    }
    let short = solve(&lots[..2], &claims, &Terms::default());
    assert!(short.awards.iter().all(|award| award.share == Exact::new(2000, 3)), "{short:?}");
    let mut given = given(&short);
    given.sort_unstable();
    assert_eq!(given, [666, 667, 667]);
}

#[test]
fn a_pack_holds_one_crop() {
    let lots = [lot(1, "shiitake", (1, 9), 1130), lot(2, "oyster", (1, 9), 5000)];
    let claims = [packed(with_swaps(claim(1, "shiitake", 5, 2000), &["oyster"]), 250, 0)];
    let allotment = solve(&lots, &claims, &Terms::default());
    let part = |crop: &str, grams| Part { crop: crop.to_owned(), grams: Grams::new(grams) };
    assert_eq!(allotment.awards[0].parts, [part("shiitake", 1000), part("oyster", 1000)]);
}

#[test]
fn a_share_below_the_minimum_goes_back() {
    // Shares would be 2500 each; the first needs 3000, so the others have 3333.
    let lots = [lot(1, "oyster", (1, 9), 10_000)];
    let claims = [
        packed(claim(1, "oyster", 5, 6000), 1, 4000),
        claim(2, "oyster", 5, 6000),
        claim(3, "oyster", 5, 6000),
        packed(claim(4, "oyster", 5, 6000), 1, 3000),
    ];
    let allotment = solve(&lots, &claims, &Terms::default());
    assert_eq!(given(&allotment), [0, 3334, 3333, 3333]);
    assert_eq!(
        allotment.awards[0].why,
        Why::BelowMinimum { share: Exact::from_integer(2500), smallest_useful: Grams::new(4000) }
    );
    assert_eq!(allotment.awards[1].why, Why::Cut { shortage: Some(0) });
}

#[test]
fn the_last_pack_moves_on_from_week_to_week() {
    let lots = [lot(1, "oyster", (1, 9), 1000)];
    let claims: Vec<Claim> = (0..3).map(|id| packed(claim(id, "oyster", 5, 1000), 250, 250)).collect();
    let mut firsts: Vec<usize> = (0..3)
        .map(|rotation| {
            let awards = given(&solve(&lots, &claims, &Terms { rotation, ..Terms::default() }));
            assert_eq!(awards.iter().sum::<i64>(), 1000);
            awards.iter().position(|&grams| grams == 500).expect("one has two packs")
        })
        .collect();
    firsts.sort_unstable();
    assert_eq!(firsts, [0, 1, 2]);
}

/// Mishnah Bava Metzia 2a in Aumann & Maschler, J. Econ. Theory 36 (1985), and the proportional split of the same.
#[test]
fn the_farm_may_choose_another_rule() {
    let lots = [lot(1, "oyster", (1, 9), 100), lot(2, "shiitake", (1, 9), 50)];
    let claims = [claim(1, "oyster", 5, 100), claim(2, "oyster", 5, 50), claim(3, "shiitake", 5, 70)];
    for (sharing, expected) in [
        (Sharing::EqualAwards, [50, 50, 50]),
        (Sharing::Proportional, [67, 33, 50]),
        (Sharing::ContestedGarment, [75, 25, 50]),
    ] {
        assert_eq!(given(&solve(&lots, &claims, &Terms { sharing, rotation: 0 })), expected, "{sharing:?}");
    }
}

#[test]
fn bad_lines_are_named_and_nothing_overflows() {
    let mut weightless = claim(5, "oyster", 5, 10);
    weightless.weight = 0;
    let claims = [
        claim(1, "oyster", 5, i64::MAX),
        claim(2, "oyster", 5, 0),
        claim(3, "oyster", 5, -7),
        claim(1, "oyster", 5, i64::MAX),
        packed(claim(4, "oyster", 5, 200), 250, 0),
        weightless,
        with_swaps(claim(6, "oyster", 5, 100), &["oyster", "shiitake", "shiitake"]),
        with_swaps(claim(7, "shiitake", 5, 100), &["oyster"]),
        packed(claim(8, "oyster", 5, 100), 1, i64::MAX),
        packed(claim(9, "oyster", 5, i64::MAX), i64::MAX, i64::MIN),
    ];
    let lots = [lot(1, "oyster", (1, 9), i64::MAX), lot(2, "oyster", (9, 1), 5), lot(3, "shiitake", (1, 9), 0)];
    let allotment = solve(&lots, &claims, &Terms::default());
    let left_out: Vec<&Trouble> = allotment.troubles.iter().filter(|trouble| trouble.left_out).collect();
    assert_eq!(left_out.len(), 9, "{left_out:?}");
    assert!(allotment.troubles.iter().any(|trouble| trouble.subject == Subject::Claim(Id::new(6))
        && trouble.kind == TroubleKind::IdleSwap { crop: "oyster".to_owned() }
        && !trouble.left_out));
    let sum: i64 = given(&allotment).iter().sum();
    assert_eq!(sum, MOST_GRAMS);
    assert!(solve(&[], &claims, &Terms::default()).awards.iter().all(|award| award.why == Why::NoStock));
    assert!(solve(&lots, &[], &Terms::default()).awards.is_empty());
}
