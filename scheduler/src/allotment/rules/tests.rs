use super::*;
use proptest::prelude::*;

fn exact(parts: &[(i128, i128)]) -> Vec<Exact> {
    parts.iter().map(|&(top, bottom)| Exact::new(top, bottom)).collect()
}

fn whole(parts: &[i128]) -> Vec<Exact> {
    parts.iter().map(|&part| Exact::from_integer(part)).collect()
}

type Rule = fn(&[i64], i64) -> Vec<Exact>;
const RULES: [Rule; 5] = [proportional, equal_awards, equal_losses, contested_garment, |claims, amount| {
    random_arrival(claims, amount).expect("few claims")
}];

fn check(claims: &[i64], amount: i64, expected: [Vec<Exact>; 5]) {
    for (number, (rule, expected)) in RULES.iter().zip(expected).enumerate() {
        assert_eq!(rule(claims, amount), expected, "rule {number}, amount {amount}");
    }
}

/// Mishnah Ketubot 93a in Aumann & Maschler, J. Econ. Theory 36 (1985), rows 100, 200, 300 of the contested-garment
/// column; the rest in exact fractions by the definitions in Thomson 2003 and Herrero & Villar, Math. Soc. Sci. 42 (2001).
#[test]
fn three_creditors() {
    let claims = [100, 200, 300];
    let third = |parts: [i128; 3]| exact(&parts.map(|part| (part, 3)));
    check(
        &claims,
        100,
        [
            third([50, 100, 150]),
            third([100, 100, 100]),
            whole(&[0, 0, 100]),
            third([100, 100, 100]),
            third([100, 100, 100]),
        ],
    );
    check(
        &claims,
        200,
        [
            third([100, 200, 300]),
            third([200, 200, 200]),
            whole(&[0, 50, 150]),
            whole(&[50, 75, 75]),
            third([100, 250, 250]),
        ],
    );
    let half = || whole(&[50, 100, 150]);
    check(&claims, 300, [half(), whole(&[100, 100, 100]), whole(&[0, 100, 200]), half(), half()]);
    check(
        &claims,
        400,
        [
            third([200, 400, 600]),
            whole(&[100, 150, 150]),
            third([100, 400, 700]),
            whole(&[50, 125, 225]),
            third([200, 350, 650]),
        ],
    );
    check(
        &claims,
        500,
        [
            third([250, 500, 750]),
            whole(&[100, 200, 200]),
            third([200, 500, 800]),
            third([200, 500, 800]),
            third([200, 500, 800]),
        ],
    );
    let all = || whole(&[100, 200, 300]);
    check(&claims, 600, [all(), all(), all(), all(), all()]);
    check(&claims, 700, [all(), all(), all(), all(), all()]);
}

/// Mishnah Bava Metzia 2a in Aumann & Maschler 1985: one claims all, the other half.
#[test]
fn two_hold_a_garment() {
    check(
        &[100, 50],
        100,
        [exact(&[(200, 3), (100, 3)]), whole(&[50, 50]), whole(&[75, 25]), whole(&[75, 25]), whole(&[75, 25])],
    );
}

/// Four heirs: claims and estate as in O'Neill, Math. Soc. Sci. 2 (1982); awards computed in exact fractions.
#[test]
fn four_heirs() {
    check(
        &[120, 60, 40, 30],
        120,
        [
            exact(&[(288, 5), (144, 5), (96, 5), (72, 5)]),
            whole(&[30, 30, 30, 30]),
            exact(&[(260, 3), (80, 3), (20, 3), (0, 1)]),
            whole(&[55, 30, 20, 15]),
            exact(&[(115, 2), (175, 6), (115, 6), (85, 6)]),
        ],
    );
}

/// Progressive filling: Keshav, An Engineering Approach to Computer Networking (1997), chapter on scheduling. Demands in tenths.
#[test]
fn water_levels() {
    assert_eq!(equal_awards(&[20, 26, 40, 50], 100), whole(&[20, 26, 27, 27]));
    // Weights 2.5, 4, 0.5, 1 in halves.
    assert_eq!(weighted_equal_awards(&[(4, 5), (2, 8), (10, 1), (4, 2)], 16), whole(&[4, 2, 6, 4]));
}

/// Networks of links with unit demand on each. The first is after Bertsekas & Gallager, Data Networks (2nd ed., 1992), section 6.5.2;
/// all rates recomputed by exact filling and by staged linear programs with SciPy 1.17. Capacities in thirds or halves where needed.
#[test]
fn sessions_over_links() {
    let limit =
        |amount, members: &[usize]| Limit { amount, members: members.iter().map(|member| member - 1).collect() };
    for (sessions, limits, expected) in [
        (5, vec![limit(3, &[2, 3, 5]), limit(3, &[1, 3]), limit(3, &[4])], vec![2, 1, 1, 3, 1]),
        (5, vec![limit(10, &[1, 2]), limit(6, &[1, 3]), limit(6, &[1, 4, 5])], vec![2, 8, 4, 2, 2]),
        (3, vec![limit(2, &[1, 2]), limit(4, &[1, 3])], vec![1, 1, 3]),
    ] {
        assert_eq!(progressive_filling(&vec![(1000, 1); sessions], &limits), whole(&expected));
    }
}

/// Largest remainder (Hamilton's method); the third and fourth case are the well-known Alabama paradox.
#[test]
fn whole_packs() {
    for (shares, step, amount, expected) in [
        (exact(&[(100, 3); 3]), 1, 100, vec![34, 33, 33]),
        (exact(&[(2500, 3), (5000, 3), (2500, 1)]), 250, 5000, vec![750, 1750, 2500]),
        (exact(&[(60, 14), (60, 14), (20, 14)]), 1, 10, vec![4, 4, 2]),
        (exact(&[(66, 14), (66, 14), (22, 14)]), 1, 11, vec![5, 5, 1]),
        (exact(&[(3000, 7), (2000, 7), (2000, 7)]), 1, 1000, vec![428, 286, 286]),
    ] {
        assert_eq!(in_whole_packs(&shares, step, amount, 0), expected);
    }
    assert_eq!(in_whole_packs(&exact(&[(100, 3); 3]), 1, 100, 1), [33, 34, 33], "the odd gram moves on next week");
}

#[test]
fn awkward_input_is_divided_all_the_same() {
    for rule in RULES {
        assert!(rule(&[], 5).is_empty());
        assert_eq!(rule(&[0, -3], 5), whole(&[0, 0]));
        assert_eq!(rule(&[3, 4], -5), whole(&[0, 0]));
        assert_eq!(rule(&[i64::MAX, i64::MAX], i64::MAX).iter().sum::<Exact>(), Exact::from_integer(i64::MAX.into()));
    }
    assert_eq!(random_arrival(&[1; MOST_ARRIVALS + 1], 5), None);
}

proptest! {
    #[test]
    fn every_rule_divides_what_there_is(claims in proptest::collection::vec(0..2000_i64, 0..7), amount in 0..9000_i64) {
        let there: i128 = amount.min(claims.iter().sum()).into();
        let mut turned = claims.clone();
        turned.reverse();
        for rule in RULES {
            let awards = rule(&claims, amount);
            prop_assert_eq!(awards.iter().sum::<Exact>(), Exact::from_integer(there));
            let more = rule(&claims, amount + 1);
            for ((award, more), &claim) in awards.iter().zip(&more).zip(&claims) {
                prop_assert!(*award >= Exact::ZERO && *award <= Exact::from_integer(claim.into()));
                prop_assert!(more >= award, "monotone in what there is");
            }
            let mut other_order = rule(&turned, amount);
            other_order.reverse();
            prop_assert_eq!(&awards, &other_order);
        }
    }

    #[test]
    fn losses_mirror_awards(claims in proptest::collection::vec(0..2000_i64, 1..7), part in 0.0..1.0_f64) {
        let sum: i64 = claims.iter().sum();
        let amount = (sum as f64 * part) as i64;
        for (rule, dual) in [(equal_awards as Rule, equal_losses as Rule), (contested_garment, contested_garment)] {
            for ((award, loss), &claim) in rule(&claims, amount).iter().zip(dual(&claims, sum - amount)).zip(&claims) {
                prop_assert_eq!(award + loss, Exact::from_integer(claim.into()));
            }
        }
    }

    #[test]
    fn whole_packs_sum_and_stay_within_one_pack(
        claims in proptest::collection::vec(0..5000_i64, 1..7), amount in 0..9000_i64, step in 1..400_i64, rotation: u64,
    ) {
        let shares = equal_awards(&claims, amount);
        let amount = amount.min(claims.iter().sum());
        let packs = in_whole_packs(&shares, step, amount, rotation);
        prop_assert_eq!(packs.iter().sum::<i64>(), amount / step * step);
        for (pack, share) in packs.iter().zip(&shares) {
            prop_assert_eq!(pack % step, 0);
            let off = Exact::from_integer((*pack).into()) - share;
            prop_assert!(off < Exact::from_integer(step.into()) && off > Exact::from_integer((-step).into()));
        }
    }
}
