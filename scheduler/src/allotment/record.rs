//! What each buyer asked for and was given, week by week, from the record of lines.
//!
//! Rule kept: weeks run from Monday to Sunday, so that a farm with several delivery days a week has one figure for it.

use crate::allotment::rotation::{FILL_RATE_WEEKS, WeekServed, fill_rate};
use crate::clock::{LocalDate, monday_of};
use crate::id::Id;
use crate::quantity::Grams;
use chrono::Duration;
use num_rational::Ratio;
use std::collections::BTreeMap;

/// What one line of a delivery counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Line {
    pub buyer: Id,
    pub day: LocalDate,
    pub asked: Grams,
    pub given: Grams,
}

/// The first day that a fill rate of a delivery on `day` looks back to.
pub fn looks_back_to(day: LocalDate) -> LocalDate {
    monday_of(day) - Duration::weeks(FILL_RATE_WEEKS as i64 - 1)
}

/// What each buyer with a line in them was served in the last `weeks` weeks, that of `day` the last, from old to new.
pub fn weeks_served(lines: &[Line], day: LocalDate, weeks: usize) -> BTreeMap<Id, Vec<WeekServed>> {
    let first = monday_of(day) - Duration::weeks(weeks as i64 - 1);
    let mut served: BTreeMap<Id, Vec<WeekServed>> = BTreeMap::new();
    for line in lines {
        let place = usize::try_from((monday_of(line.day) - first).num_weeks()).ok().filter(|&place| place < weeks);
        let Some(place) = place else { continue };
        let nothing = WeekServed { asked: Grams::ZERO, given: Grams::ZERO };
        let week = &mut served.entry(line.buyer).or_insert_with(|| vec![nothing; weeks])[place];
        week.asked += line.asked;
        week.given += line.given;
    }
    served
}

/// The fill rate of each buyer, 0 to 1, over the eight weeks that end with that of `day`.
pub fn fill_rates(lines: &[Line], day: LocalDate) -> BTreeMap<Id, Ratio<i128>> {
    let served = weeks_served(lines, day, FILL_RATE_WEEKS);
    served.into_iter().filter_map(|(buyer, weeks)| Some((buyer, fill_rate(&weeks)?))).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(buyer: i64, day: &str, asked: i64, given: i64) -> Line {
        let day = day.parse().expect("a day");
        Line { buyer: Id::new(buyer), day, asked: Grams::new(asked), given: Grams::new(given) }
    }

    /// Thursday 2026-06-04 is in the week of Monday 2026-06-01; eight weeks back begin on Monday 2026-04-13.
    #[test]
    fn weeks_are_counted_from_monday_to_sunday() {
        let day = "2026-06-04".parse().expect("a day");
        assert_eq!(looks_back_to(day).to_string(), "2026-04-13");
        let lines = [
            line(1, "2026-04-12", 9000, 0),
            line(1, "2026-04-13", 1000, 0),
            line(1, "2026-05-31", 1000, 1000),
            line(1, "2026-06-01", 500, 500),
            line(1, "2026-06-07", 1500, 500),
            line(1, "2026-06-08", 7000, 0),
            line(2, "2026-03-01", 100, 0),
            line(3, "2026-06-04", 0, 0),
        ];
        let served = weeks_served(&lines, day, FILL_RATE_WEEKS);
        assert_eq!(served.keys().copied().collect::<Vec<_>>(), [Id::new(1), Id::new(3)]);
        let weeks: Vec<(i64, i64)> =
            served[&Id::new(1)].iter().map(|week| (week.asked.get(), week.given.get())).collect();
        assert_eq!(weeks, [(1000, 0), (0, 0), (0, 0), (0, 0), (0, 0), (0, 0), (1000, 1000), (2000, 1000)]);
        // 2000 of 4000; who asked for nothing has no rate.
        assert_eq!(fill_rates(&lines, day), BTreeMap::from([(Id::new(1), Ratio::new(1, 2))]));
    }
}
