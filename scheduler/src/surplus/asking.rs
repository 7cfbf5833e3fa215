//! Who is asked about an offer, and when. Rule: whoever likes the crop most is asked first, of equals the one not served for
//! longest; nobody is woken.

use crate::clock::UtcSeconds;
use crate::id::Id;
use crate::people::quiet::QuietHours;
use chrono_tz::Tz;
use std::cmp::Reverse;

/// A buyer who may be asked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Candidate {
    pub buyer: Id,
    /// How well the crop is liked, the greater the better; zero is never asked.
    pub liking: u16,
    pub last_served_at: Option<UtcSeconds>,
    pub quiet: Option<QuietHours>,
}

/// How an offer goes out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Plan {
    pub starts_at: UtcSeconds,
    /// Nobody is asked at or after it.
    pub deadline: UtcSeconds,
    /// Buyers asked at once; zero means all.
    pub wave_size: usize,
    pub minutes_between_waves: i64,
}

/// Who is asked when.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Asking {
    /// In the order of asking.
    pub asked: Vec<(UtcSeconds, Id)>,
    /// Those whom their wave or their quiet hours put beyond the deadline.
    pub too_late: Vec<Id>,
}

/// The buyers in the order they are asked: liking, then longest not served, then the older entry.
pub fn in_order(candidates: &[Candidate]) -> Vec<Candidate> {
    let mut ordered: Vec<Candidate> = candidates.iter().filter(|one| one.liking > 0).copied().collect();
    ordered.sort_by_key(|one| (Reverse(one.liking), one.last_served_at, one.buyer));
    ordered
}

/// When each buyer is asked.
pub fn asking(candidates: &[Candidate], plan: Plan, zone: Tz) -> Asking {
    let wave_size = if plan.wave_size == 0 { usize::MAX } else { plan.wave_size };
    let mut asking = Asking::default();
    for (place, one) in in_order(candidates).into_iter().enumerate() {
        let wave = i64::try_from(place / wave_size).unwrap_or(i64::MAX);
        let its_turn = plan.starts_at.plus_minutes(plan.minutes_between_waves.max(0).saturating_mul(wave));
        let at = one.quiet.map_or(its_turn, |quiet| quiet.awake_at(its_turn, zone));
        if at < plan.deadline {
            asking.asked.push((at, one.buyer));
        } else {
            asking.too_late.push(one.buyer);
        }
    }
    // Stable: whoever wakes at the same instant keeps the order.
    asking.asked.sort_by_key(|(at, _)| *at);
    asking
}

/// Until when an offer stays open: `open_minutes` from `starts_at`, and long enough that whoever is asked last, after their
/// quiet hours, still has `least_minutes`.
pub fn open_until(
    candidates: &[Candidate],
    (starts_at, open_minutes, least_minutes): (UtcSeconds, i64, i64),
    zone: Tz,
) -> UtcSeconds {
    let awake = candidates.iter().filter_map(|one| Some(one.quiet?.awake_at(starts_at, zone)));
    let last = awake.max().map_or(starts_at, |awake| awake.plus_minutes(least_minutes.min(open_minutes)));
    last.max(starts_at.plus_minutes(open_minutes))
}

#[cfg(test)]
mod tests {
    use super::*;
    use chrono::NaiveTime;
    use chrono_tz::America::Chicago;

    fn utc(text: &str) -> UtcSeconds {
        chrono::DateTime::parse_from_rfc3339(text).expect("an instant").into()
    }

    fn time(text: &str) -> NaiveTime {
        text.parse().expect("a time")
    }

    fn candidate(buyer: i64, liking: u16, last_served_at: Option<i64>) -> Candidate {
        let last_served_at = last_served_at.map(UtcSeconds::new);
        Candidate { buyer: Id::new(buyer), liking, last_served_at, quiet: None }
    }

    #[test]
    fn liking_then_longest_not_served() {
        let all = [
            candidate(1, 3, Some(900)),
            candidate(2, 5, Some(800)),
            candidate(3, 3, None),
            candidate(4, 0, None),
            candidate(5, 5, Some(700)),
            candidate(6, 3, Some(900)),
        ];
        let order: Vec<i64> = in_order(&all).iter().map(|one| one.buyer.get()).collect();
        assert_eq!(order, [5, 2, 3, 1, 6]);
    }

    /// Offered on Saturday 31 October 2026 at 21:30 in Chicago, the night the clock goes back (IANA data).
    #[test]
    fn nobody_is_woken_and_waves_follow_each_other() {
        let night = QuietHours { from: time("22:00:00"), to: time("07:00:00") };
        let all: Vec<Candidate> =
            (1..=5).map(|buyer| Candidate { quiet: Some(night), ..candidate(buyer, 1, None) }).collect();
        let plan = Plan {
            starts_at: utc("2026-11-01T02:30:00Z"),
            deadline: utc("2026-11-01T18:00:00Z"),
            wave_size: 2,
            minutes_between_waves: 20,
        };
        let found = asking(&all, plan, Chicago);
        let told: Vec<(String, i64)> = found.asked.iter().map(|(at, buyer)| (at.to_string(), buyer.get())).collect();
        let expected = [
            ("2026-11-01T02:30:00Z", 1),
            ("2026-11-01T02:30:00Z", 2),
            ("2026-11-01T02:50:00Z", 3),
            ("2026-11-01T02:50:00Z", 4),
            ("2026-11-01T13:00:00Z", 5),
        ];
        assert_eq!(told, expected.map(|(at, buyer)| (at.to_owned(), buyer)));
        let early = Plan { deadline: utc("2026-11-01T13:00:00Z"), ..plan };
        assert_eq!(asking(&all, early, Chicago).too_late, [Id::new(5)]);
        let at_once = Plan { wave_size: 0, ..plan };
        assert!(asking(&all, at_once, Chicago).asked.iter().all(|(at, _)| *at == plan.starts_at));
    }

    /// Chicago is five hours behind UTC in June: offered at 22:00 and at 13:00.
    #[test]
    fn whoever_sleeps_has_time_left_in_the_morning() {
        let all = [candidate(1, 1, None), Candidate { quiet: Some(QuietHours::USUAL), ..candidate(2, 1, None) }];
        for (starts_at, open_hours, until) in [
            ("2026-06-05T03:00:00Z", 4, "2026-06-05T15:00:00Z"),
            ("2026-06-05T03:00:00Z", 20, "2026-06-05T23:00:00Z"),
            ("2026-06-05T03:00:00Z", 1, "2026-06-05T13:00:00Z"),
            ("2026-06-04T18:00:00Z", 4, "2026-06-04T22:00:00Z"),
        ] {
            assert_eq!(open_until(&all, (utc(starts_at), open_hours * 60, 180), Chicago), utc(until), "{starts_at}");
        }
    }
}
