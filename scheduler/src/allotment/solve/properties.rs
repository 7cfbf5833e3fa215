//! What must hold for every share-out, on random small farms.

use super::tests::{claim, lot};
use super::*;
use crate::allotment::resolve_after_weighing;
use crate::allotment::rules::{Limit, progressive_filling};
use proptest::prelude::*;
use std::collections::HashMap;

const CROPS: [&str; 3] = ["shiitake", "oyster", "lion's mane"];

fn any_lots() -> impl Strategy<Value = Vec<Lot>> {
    let one = (0..3_usize, 1..8_u32, 0..5_u32, 0..6000_i64);
    proptest::collection::vec(one, 0..7_usize).prop_map(|lots| {
        let make = |(id, (crop, from, days, grams))| lot(id as i64, CROPS[crop], (from, from + days), grams);
        lots.into_iter().enumerate().map(make).collect()
    })
}

/// Steps are drawn from `steps`; a quarter of the minimums are zero.
fn any_claims(steps: &'static [i64], minimum_most: i64, tiers: u8) -> impl Strategy<Value = Vec<Claim>> {
    let swaps = prop_oneof![2 => Just(Vec::new()), 1 => Just(vec![1_usize]), 1 => Just(vec![2]), 1 => Just(vec![2, 1])];
    let one = (0..3_usize, 1..9_u32, 1..5000_i64, -minimum_most / 3..=minimum_most, swaps);
    let rest = (proptest::sample::select(steps), 0..tiers, 1..4_u32);
    proptest::collection::vec((one, rest), 0..8).prop_map(|claims| {
        let numbered = claims.into_iter().enumerate();
        numbered
            .map(|(id, ((crop, on, grams, minimum, swaps), (step, tier, weight)))| Claim {
                buyer: Id::new((id as i64 * 7) % 4),
                smallest_useful: Grams::new(minimum),
                pack_step: Grams::new(step),
                swaps: swaps.into_iter().map(|turn| CROPS[(crop + turn) % 3].to_owned()).collect(),
                tier,
                weight,
                ..claim(id as i64, CROPS[crop], on, grams)
            })
            .collect()
    })
}

fn any_terms() -> impl Strategy<Value = Terms> {
    let sharing = prop_oneof![
        2 => Just(Sharing::EqualAwards),
        1 => Just(Sharing::Proportional),
        1 => Just(Sharing::ContestedGarment)
    ];
    (sharing, 0..60_u64).prop_map(|(sharing, rotation)| Terms { sharing, rotation })
}

/// Everything a share-out must satisfy whatever the rule.
fn check_books(lots: &[Lot], claims: &[Claim], allotment: &Allotment) {
    let lot_of: HashMap<Id, &Lot> = lots.iter().map(|lot| (lot.id, lot)).collect();
    let claim_of: HashMap<Id, &Claim> = claims.iter().map(|claim| (claim.id, claim)).collect();
    let (mut of_lot, mut of_part) = (HashMap::new(), HashMap::new());
    for drawn in &allotment.drawn {
        let (lot, claim) = (lot_of[&drawn.lot], claim_of[&drawn.claim]);
        assert!(lot.available_from <= claim.date && claim.date <= lot.keeps_until, "no lot outside its life");
        assert!(drawn.grams.is_positive());
        *of_lot.entry(lot.id).or_insert(Grams::ZERO) += drawn.grams;
        *of_part.entry((claim.id, lot.crop.clone())).or_insert(Grams::ZERO) += drawn.grams;
    }
    for &(lot, left) in &allotment.left {
        *of_lot.entry(lot).or_insert(Grams::ZERO) += left;
    }
    for (lot, grams) in of_lot {
        assert_eq!(grams, lot_of[&lot].grams, "drawn and left make up the lot");
    }
    for award in &allotment.awards {
        let claim = claim_of[&award.claim];
        assert!(award.given <= claim.grams, "no claim over its ask");
        assert!(award.given == Grams::ZERO || award.given >= claim.smallest_useful, "useful or nothing");
        assert_eq!(award.parts.iter().map(|part| part.grams).sum::<Grams>(), award.given);
        for part in &award.parts {
            assert!(part.grams.is_positive() && part.grams.floor_to(claim.pack_step) == part.grams, "whole packs");
            assert!(part.crop == claim.crop || claim.swaps.contains(&part.crop), "only crops the buyer takes");
            assert_eq!(of_part.remove(&(claim.id, part.crop.clone())), Some(part.grams), "drawn as awarded");
        }
    }
    assert!(of_part.is_empty(), "nothing drawn that is not awarded");
}

/// Max-min by another road: every set of claims is a limit, the stock any of them can use.
fn shares_by_filling(lots: &[Lot], claims: &[&Claim]) -> Vec<Exact> {
    let can_use = |claim: &Claim, lot: &Lot| {
        (lot.crop == claim.crop || claim.swaps.contains(&lot.crop))
            && lot.available_from <= claim.date
            && claim.date <= lot.keeps_until
    };
    let limit = |set: usize| {
        let members: Vec<usize> = (0..claims.len()).filter(|member| set >> member & 1 == 1).collect();
        let usable = lots.iter().filter(|lot| members.iter().any(|&member| can_use(claims[member], lot)));
        Limit { amount: usable.map(|lot| lot.grams.get()).sum(), members: members.clone() }
    };
    let limits: Vec<Limit> = (1..1 << claims.len()).map(limit).collect();
    let asks: Vec<(i64, u32)> = claims.iter().map(|claim| (claim.counted_grams(), claim.weight)).collect();
    progressive_filling(&asks, &limits)
}

fn shares(allotment: &Allotment) -> Vec<Exact> {
    allotment.awards.iter().map(|award| award.share).collect()
}

proptest! {
    #[test]
    fn the_books_balance(lots in any_lots(), claims in any_claims(&[1, 100, 250, 1000], 1500, 3), terms in any_terms()) {
        check_books(&lots, &claims, &solve(&lots, &claims, &terms));
    }

    #[test]
    fn the_order_of_lines_plays_no_part(
        lots in any_lots(), claims in any_claims(&[1, 250], 1500, 2), terms in any_terms(), turn in 0..8_usize,
    ) {
        let (mut other_lots, mut other_claims) = (lots.clone(), claims.clone());
        other_lots.reverse();
        other_claims.rotate_left(turn.min(claims.len()));
        prop_assert_eq!(solve(&lots, &claims, &terms), solve(&other_lots, &other_claims, &terms));
    }

    #[test]
    fn shares_are_max_min_fair(lots in any_lots(), claims in any_claims(&[1, 250], 0, 1)) {
        let allotment = solve(&lots, &claims, &Terms::default());
        let counted: Vec<&Claim> = allotment.awards.iter()
            .map(|award| claims.iter().find(|claim| claim.id == award.claim).expect("known")).collect();
        prop_assert_eq!(shares(&allotment), shares_by_filling(&lots, &counted));
    }

    /// In whole grams the award is the share rounded down or up; coarser packs of several sizes can be further off.
    #[test]
    fn grams_are_within_one_of_the_share(lots in any_lots(), claims in any_claims(&[1], 0, 1), rotation in 0..60_u64) {
        for award in solve(&lots, &claims, &Terms { rotation, ..Terms::default() }).awards {
            let given = i128::from(award.given.get());
            prop_assert!(given == award.share.floor().to_integer() || given == award.share.ceil().to_integer());
        }
    }

    /// Exact shares never fall when supply grows. Whole grams can fall by one, as a remainder moves on (the
    /// Alabama paradox); with smallest useful amounts a claim that comes in may lower the others, so nothing is said there.
    #[test]
    fn more_supply_lowers_nobody(lots in any_lots(), claims in any_claims(&[1], 0, 1), more in 1..3000_i64, which: usize) {
        if lots.is_empty() {
            return Ok(());
        }
        let mut richer = lots.clone();
        let grown = which % lots.len();
        richer[grown].grams += Grams::new(more);
        let (before, after) = (solve(&lots, &claims, &Terms::default()), solve(&richer, &claims, &Terms::default()));
        for (before, after) in before.awards.iter().zip(&after.awards) {
            prop_assert!(after.share >= before.share);
            prop_assert!(after.given.get() >= before.given.get() - 1);
        }
    }

    /// Two claims alike in all but buyer end within one pack; their exact shares are the same unless one gave its share back.
    #[test]
    fn equals_are_treated_alike(
        lots in any_lots(), claims in any_claims(&[250], 1500, 2), terms in any_terms(), which: usize,
    ) {
        if claims.is_empty() {
            return Ok(());
        }
        let mut claims = claims;
        claims.iter_mut().for_each(|claim| claim.swaps.clear());
        let first = claims[which % claims.len()].clone();
        let twin = Claim { id: Id::new(99), buyer: Id::new(99), ..first.clone() };
        claims.push(twin);
        let allotment = solve(&lots, &claims, &terms);
        let (Some(one), Some(other)) = (allotment.award(first.id), allotment.award(Id::new(99))) else { return Ok(()) };
        let one_left_out = [one, other].iter().any(|award| matches!(award.why, Why::BelowMinimum { .. }));
        if !one_left_out && one.share > Exact::ZERO && other.share > Exact::ZERO {
            prop_assert_eq!(one.share, other.share);
            prop_assert!((one.given - other.given).get().abs() <= 250);
        }
    }

    #[test]
    fn equals_take_turns(count in 1..7_i64, packs in 0..9_i64, start in 0..1000_u64) {
        let lots = [lot(1, "oyster", (1, 9), packs * 250)];
        let claims: Vec<Claim> = (0..count)
            .map(|id| Claim { pack_step: Grams::new(250), ..claim(id, "oyster", 5, 5000) }).collect();
        let mut sums = vec![0; claims.len()];
        for week in 0..count as u64 {
            let allotment = solve(&lots, &claims, &Terms { rotation: start + week, ..Terms::default() });
            for (sum, award) in sums.iter_mut().zip(&allotment.awards) {
                *sum += award.given.get();
            }
        }
        prop_assert!(sums.iter().all(|&sum| sum == packs * 250), "{:?}", sums);
    }

    #[test]
    fn promises_stand_when_as_much_is_there(
        lots in any_lots(), claims in any_claims(&[1, 250], 1500, 2), terms in any_terms(), more in 0..3000_i64, which: usize,
    ) {
        let promised = solve(&lots, &claims, &terms);
        let mut weighed = lots.clone();
        if !lots.is_empty() {
            weighed[which % lots.len()].grams += Grams::new(more);
        }
        let kept = resolve_after_weighing(&weighed, &claims, &promised.promises(), &terms);
        check_books(&weighed, &claims, &kept);
        for (before, after) in promised.awards.iter().zip(&kept.awards) {
            for part in &before.parts {
                let still = after.parts.iter().find(|still| still.crop == part.crop);
                prop_assert!(still.is_some_and(|still| still.grams >= part.grams), "{before:?} became {after:?}");
            }
        }
    }

    #[test]
    fn a_promise_is_lowered_only_when_nothing_can_keep_it(
        lots in any_lots(), claims in any_claims(&[1, 250], 1500, 2), part in proptest::collection::vec(0.0..1.2_f64, 7),
    ) {
        let terms = Terms::default();
        let promised = solve(&lots, &claims, &terms);
        let mut weighed = lots.clone();
        for (lot, part) in weighed.iter_mut().zip(part) {
            lot.grams = Grams::new((lot.grams.get() as f64 * part) as i64);
        }
        let kept = resolve_after_weighing(&weighed, &claims, &promised.promises(), &terms);
        check_books(&weighed, &claims, &kept);
        for (before, after) in promised.awards.iter().zip(&kept.awards).filter(|pair| pair.1.given < pair.0.given) {
            let claim = claims.iter().find(|claim| claim.id == before.claim).expect("known");
            let needed = if after.given == Grams::ZERO { claim.counted_minimum() } else { 0 }.max(claim.counted_step());
            for crop in claim.crops_in_order_of_liking() {
                let idle: i64 = weighed.iter()
                    .filter(|lot| lot.crop == crop && lot.available_from <= claim.date && claim.date <= lot.keeps_until)
                    .filter_map(|lot| kept.left.iter().find(|left| left.0 == lot.id))
                    .map(|left| left.1.get()).sum();
                prop_assert!(idle < needed, "{idle} g of {crop} lie idle: {before:?} became {after:?}");
            }
        }
    }
}
