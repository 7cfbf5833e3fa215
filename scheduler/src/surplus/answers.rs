//! What the farm's own record says: how buyers answered offers, and what the market took. Rule: silence counts as a
//! refusal only where there was time and something left to take.

use super::uptake::{Count, Kind, Record};
use crate::clock::UtcSeconds;
use crate::quantity::Grams;

/// An offer open for less says nothing of those who stayed silent. Judged, no source.
const LONG_MINUTES: i64 = 12 * 60;
/// Packs a market is thought to want before anything is known, and how many market days that is worth. Judged, no
/// source.
const MARKET_PRIOR: Count = Count { shape: 8.0, rate: 1.0 };
/// Minutes after which nothing comes back from a market any more.
pub const BACK_MINUTES: i64 = 72 * 60;

/// How one buyer answered one offer.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Answer {
    pub kind: Kind,
    /// How long it could have been taken.
    pub open_minutes: i64,
    /// What was kept of it.
    pub taken: Grams,
    pub has_declined: bool,
    /// Whether something was left when it was over.
    pub was_left: bool,
}

impl Answer {
    /// Packs taken, any part of a pack as one; `None` when the answer says nothing.
    pub fn packs(&self, pack: Grams) -> Option<u32> {
        if self.taken.is_positive() {
            let pack = pack.get().max(1);
            return u32::try_from((self.taken.get() + pack - 1) / pack).ok();
        }
        let had_time = self.was_left && self.open_minutes >= LONG_MINUTES;
        (self.has_declined || had_time).then_some(0)
    }
}

/// Everything that was answered, learned; `pack_of` gives a crop's pack.
pub fn learned(answers: &[Answer], pack_of: impl Fn(&str) -> Grams) -> Record {
    let mut record = Record::default();
    for answer in answers {
        if let Some(packs) = answer.packs(pack_of(&answer.kind.crop)) {
            record.note(&answer.kind, packs);
        }
    }
    record
}

/// Grams of a crop that went to the market, or came back from it as a negative weight.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Carried {
    pub crop: String,
    pub at: UtcSeconds,
    pub grams: Grams,
}

/// What the market is thought to want of a crop, in packs, at `now`. `carried` is in order of time; what goes within
/// [`BACK_MINUTES`] of the first of a trip is one trip, and a trip counts once nothing comes back any more.
/// A trip that sold out wanted at least so much, which is all it is counted for.
pub fn market_demand(carried: &[Carried], (crop, pack): (&str, Grams), now: UtcSeconds) -> Count {
    let mut trips: Vec<(UtcSeconds, Grams)> = Vec::new();
    for one in carried.iter().filter(|one| one.crop == crop) {
        match trips.last_mut().filter(|(since, _)| one.at < since.plus_minutes(BACK_MINUTES)) {
            Some((_, sold)) => *sold += one.grams,
            None => trips.push((one.at, one.grams)),
        }
    }
    trips
        .into_iter()
        .filter(|(since, _)| since.plus_minutes(BACK_MINUTES) <= now)
        .fold(MARKET_PRIOR, |demand, (_, sold)| demand.after((sold.get().max(0) / pack.get().max(1)) as f64, 1.0))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::id::Id;
    use chrono::Weekday;

    fn answer(taken: i64, open_hours: i64) -> Answer {
        Answer {
            kind: Kind::new(Id::new(1), "oyster", Weekday::Thu, 10),
            open_minutes: open_hours * 60,
            taken: Grams::new(taken),
            has_declined: false,
            was_left: true,
        }
    }

    #[test]
    fn silence_is_a_refusal_where_there_was_time_and_something_left() {
        let pack = Grams::new(250);
        for (given, expected) in [
            (answer(500, 2), Some(2)),
            (answer(501, 2), Some(3)),
            (answer(0, 20), Some(0)),
            (answer(0, 2), None),
            (Answer { has_declined: true, ..answer(0, 2) }, Some(0)),
            (Answer { was_left: false, ..answer(0, 20) }, None),
            (Answer { was_left: false, has_declined: true, ..answer(0, 20) }, Some(0)),
        ] {
            assert_eq!(given.packs(pack), expected, "{given:?}");
        }
    }

    #[test]
    fn refusals_lower_what_is_expected() {
        let of = |answers: &[Answer]| learned(answers, |_| Grams::new(250)).uptake(&answer(0, 0).kind).taken.mean();
        let (none, refused, taken) = (of(&[]), of(&vec![answer(0, 20); 6]), of(&vec![answer(500, 20); 6]));
        assert!(refused < none / 2.0 && taken > none, "{refused} {none} {taken}");
    }

    /// 4,000 g went and 1,000 g came back: 12 packs of 250 g. Shape 8 and rate 1 before, so 20 and 2 after (Gelman et al.,
    /// *Bayesian Data Analysis*, chapter 2).
    #[test]
    fn a_trip_counts_with_what_came_back() {
        let carried = |hour: i64, grams| Carried {
            crop: "oyster".to_owned(),
            at: UtcSeconds::new(hour * 3600),
            grams: Grams::new(grams),
        };
        let trip = [carried(0, 3000), carried(1, 1000), carried(9, -1000), carried(168, 2000)];
        let of = |hour: i64| market_demand(&trip, ("oyster", Grams::new(250)), UtcSeconds::new(hour * 3600));
        assert_eq!(of(71), MARKET_PRIOR);
        assert_eq!(of(72), Count { shape: 20.0, rate: 2.0 });
        assert_eq!(of(300), Count { shape: 28.0, rate: 3.0 });
        assert_eq!(market_demand(&trip, ("shiitake", Grams::new(250)), UtcSeconds::new(1_000_000)), MARKET_PRIOR);
    }
}
