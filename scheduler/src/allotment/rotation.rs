//! Whose turn it is when a rule leaves a tie, and what a cut last week weighs this week.
//!
//! Rule kept: equals take turns. Tied lines stand in order of buyer and identifier, and the line-up starts one place
//! further on each week, so over as many weeks as there are tied lines everyone has stood first once.

use crate::allotment::claims::MOST_WEIGHT;
use crate::quantity::Grams;
use num_rational::Ratio;
use serde::{Deserialize, Serialize};

/// How many weeks a fill rate looks back.
pub const FILL_RATE_WEEKS: usize = 8;

/// Puts `items` in order of `key` (lowest first). Items of equal key keep the order they came in, turned by `rotation`
/// places (the count of weeks, say), so callers pass them in an order that stays the same from week to week.
pub fn in_turn<T, K: Ord>(items: &mut [T], key: impl Fn(&T) -> K, rotation: u64) {
    items.sort_by_cached_key(&key);
    let mut start = 0;
    while start < items.len() {
        let here = key(&items[start]);
        let run = items[start..].iter().take_while(|item| key(item) == here).count();
        // A remainder of a usize length fits a usize.
        let turn = usize::try_from(rotation % run as u64).unwrap_or(0);
        items[start..start + run].rotate_left(turn);
        start += run;
    }
}

/// What a buyer asked for and was given in one week.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct WeekServed {
    pub asked: Grams,
    pub given: Grams,
}

/// The share of asked grams that was given over the last [`FILL_RATE_WEEKS`] weeks (`weeks` runs from old to new; a
/// week without an order counts as a week and adds nothing). From 0 to 1; `None` when nothing was asked. More given
/// than asked in one week does not make up for another.
pub fn fill_rate(weeks: &[WeekServed]) -> Option<Ratio<i128>> {
    let recent = &weeks[weeks.len().saturating_sub(FILL_RATE_WEEKS)..];
    let asked: i128 = recent.iter().map(|week| i128::from(week.asked.get().max(0))).sum();
    let given: i128 = recent.iter().map(|week| i128::from(week.given.get().clamp(0, week.asked.get().max(0)))).sum();
    (asked > 0).then(|| Ratio::new(given, asked))
}

/// The weight of a claim when last week's cut weighs in: `weight` times (1 + the share of last week's ask that was
/// not given), so a buyer who got nothing counts double for one week. Weights are scaled by 100 so that small weights
/// keep the difference; call this for every claim of the week or for none.
pub fn weight_with_carry(weight: u32, last_week: Option<WeekServed>) -> u32 {
    let base = u64::from(weight.min(MOST_WEIGHT)) * 100;
    let cut = match last_week {
        Some(week) if week.asked.is_positive() => {
            let missing = week.asked.less(week.given.at_most(week.asked)).at_most(week.asked);
            // At most `base`, since missing <= asked.
            (u128::from(base) * u128::from(missing.get().unsigned_abs()) / u128::from(week.asked.get().unsigned_abs()))
                as u64
        }
        _ => 0,
    };
    u32::try_from(base + cut).unwrap_or(MOST_WEIGHT).min(MOST_WEIGHT)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn week(asked: i64, given: i64) -> WeekServed {
        WeekServed { asked: Grams::new(asked), given: Grams::new(given) }
    }

    #[test]
    fn everyone_among_equals_stands_first_once() {
        let mut firsts: Vec<char> = (0..3)
            .map(|rotation| {
                let mut line = vec![('z', 2), ('a', 1), ('b', 1), ('c', 1)];
                in_turn(&mut line, |(_, key)| *key, rotation);
                assert_eq!(line[3].0, 'z', "a higher key stays behind");
                line[0].0
            })
            .collect();
        firsts.sort_unstable();
        assert_eq!(firsts, ['a', 'b', 'c']);
    }

    #[test]
    fn fill_rate_looks_back_eight_weeks() {
        assert_eq!(fill_rate(&[]), None);
        assert_eq!(fill_rate(&[week(0, 0)]), None);
        let mut weeks = vec![week(1000, 0)];
        weeks.extend([week(1000, 500); 8]);
        assert_eq!(fill_rate(&weeks), Some(Ratio::new(1, 2)), "the ninth week back no longer counts");
        assert_eq!(fill_rate(&[week(1000, 3000), week(1000, 0)]), Some(Ratio::new(1, 2)));
        assert_eq!(fill_rate(&[week(i64::MAX, i64::MAX); 8]), Some(Ratio::new(1, 1)));
    }

    #[test]
    fn a_cut_weighs_at_most_double() {
        for (weight, last, expected) in [
            (1, None, 100),
            (1, Some(week(1000, 1000)), 100),
            (1, Some(week(1000, 750)), 125),
            (1, Some(week(1000, 0)), 200),
            (3, Some(week(0, 0)), 300),
            (u32::MAX, Some(week(i64::MAX, i64::MIN)), MOST_WEIGHT),
        ] {
            assert_eq!(weight_with_carry(weight, last), expected, "{weight} {last:?}");
        }
    }
}
