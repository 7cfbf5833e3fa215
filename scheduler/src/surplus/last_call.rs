//! Until when a food bank can still be asked. Rule: it needs time to answer, the driver needs the way, and the bank must
//! be open for the hand-over while the mushrooms are good.

use super::opening::Window;
use super::partners::{Load, MINUTES_TO_HAND_OVER, Partner};
use crate::clock::UtcSeconds;
use chrono_tz::Tz;

/// The last instant at which this partner can be asked about the load, if its answer takes `answer_minutes`; `None` when
/// no opening before the hand-over is due can be reached. `load.ready_at` is when the mushrooms can leave.
pub fn of_partner(load: &Load, partner: &Partner, (answer_minutes, zone): (i64, Tz)) -> Option<UtcSeconds> {
    let there_at = load.ready_at.plus_minutes(partner.minutes_to_get_there);
    let needed = MINUTES_TO_HAND_OVER;
    let hours = partner.hours.without(&partner.full);
    let next = |after: UtcSeconds| hours.next_window(after, load.hand_over_by, zone, needed);
    let windows = std::iter::successors(next(there_at), |window: &Window| next(window.closes_at));
    let last = windows.last()?;
    Some(last.closes_at.plus_minutes(-(needed + partner.minutes_to_get_there + answer_minutes)))
}

/// The last instant at which one of these partners that take the load can be asked; `None` when none can.
pub fn of_all(load: &Load, partners: &[Partner], (answer_minutes, zone): (i64, Tz)) -> Option<UtcSeconds> {
    let able = super::partners::rank(load, partners, zone).candidates;
    let able = partners.iter().filter(|one| able.iter().any(|candidate| candidate.partner == one.id));
    able.filter_map(|one| of_partner(load, one, (answer_minutes, zone))).max()
}

#[cfg(test)]
mod tests {
    use super::super::opening::{Hours, Span};
    use super::*;
    use crate::id::Id;
    use crate::quantity::Grams;
    use chrono::Weekday;
    use chrono_tz::America::Chicago;

    fn utc(text: &str) -> UtcSeconds {
        chrono::DateTime::parse_from_rfc3339(text).expect("an instant").into()
    }

    /// Open on Friday 9:00-12:00 and Saturday 10:00-13:00, half an hour away.
    fn partner(id: i64) -> Partner {
        let mut hours = Hours::default();
        hours.set_weekday(Weekday::Fri, vec![Span::new(540, 720).expect("a span")]).expect("hours");
        hours.set_weekday(Weekday::Sat, vec![Span::new(600, 780).expect("a span")]).expect("hours");
        Partner {
            id: Id::new(id),
            hours,
            least: Grams::new(1000),
            greatest: Grams::new(20_000),
            crops: vec!["oyster".to_owned()],
            full: Vec::new(),
            has_cold_store: true,
            minutes_to_get_there: 30,
            need: 0,
            last_drop_at: None,
        }
    }

    /// Ready on Thursday 26 November 2026 at 13:00 in Chicago.
    fn load(hand_over_by: &str) -> Load {
        Load {
            lots: vec![("oyster".to_owned(), Grams::new(5000))],
            ready_at: utc("2026-11-26T19:00:00Z"),
            hand_over_by: utc(hand_over_by),
            needs_cold_store: true,
            already_asked: vec![],
        }
    }

    /// Closing, less 15 minutes to hand over, 30 on the way and 120 to answer.
    #[test]
    fn the_last_opening_while_it_keeps_decides() {
        let of = |by: &str| of_all(&load(by), &[partner(1)], (120, Chicago));
        // Good until the end of Saturday: Saturday 13:00 less 165 minutes is 10:15.
        assert_eq!(of("2026-11-29T06:00:00Z"), Some(utc("2026-11-28T16:15:00Z")));
        // Until the end of Friday: 12:00 less 165 minutes.
        assert_eq!(of("2026-11-28T06:00:00Z"), Some(utc("2026-11-27T15:15:00Z")));
        // Until the end of Thursday nobody is open.
        assert_eq!(of("2026-11-27T06:00:00Z"), None);
    }

    #[test]
    fn a_partner_that_cannot_take_it_is_no_last_call() {
        let by = "2026-11-29T06:00:00Z";
        let small = Partner { greatest: Grams::new(500), ..partner(1) };
        let near = Partner { minutes_to_get_there: 5, ..partner(2) };
        assert_eq!(of_all(&load(by), std::slice::from_ref(&small), (120, Chicago)), None);
        assert_eq!(of_all(&load(by), &[small, partner(3), near], (120, Chicago)), Some(utc("2026-11-28T16:40:00Z")));
    }
}
