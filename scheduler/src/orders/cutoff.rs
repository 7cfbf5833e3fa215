//! Whether an order for a date is still taken. Rule: before the cut-off yes, at it and after no; whoever is too late
//! hears what is still possible.

use crate::clock::{LocalDate, UtcSeconds};
use crate::delivery::calendar::{Calendar, Delivery};

/// The answer to "may I order for this date?".
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cutoff {
    /// Taken until the delivery's cut-off.
    Open(Delivery),
    /// Too late.
    Closed {
        asked: Delivery,
        /// The next delivery still open, if any.
        next: Option<Delivery>,
    },
    /// No van leaves on that date.
    NotADeliveryDay {
        /// The first open delivery on or after the asked date, or failing that the next open one.
        next: Option<Delivery>,
    },
}

/// Deliveries looked through for one on or after the asked date: a year of daily ones.
const DELIVERIES_LOOKED_AT: usize = 366;

/// Decides about an order placed at `now` for `date`.
pub fn decide(calendar: &Calendar, date: LocalDate, now: UtcSeconds) -> Cutoff {
    match calendar.delivery_on(date) {
        Some(delivery) if delivery.is_open(now) => Cutoff::Open(delivery),
        Some(asked) => Cutoff::Closed { asked, next: calendar.next_open_delivery(now) },
        None => {
            let coming = calendar.upcoming(now, DELIVERIES_LOOKED_AT);
            let from_then = coming.into_iter().find(|delivery| delivery.date >= date && delivery.is_open(now));
            Cutoff::NotADeliveryDay { next: from_then.or_else(|| calendar.next_open_delivery(now)) }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::clock::instant_at;
    use crate::delivery::calendar::DeliveryDates;
    use crate::timetable::When;
    use chrono::{NaiveTime, Weekday};
    use chrono_tz::America::Chicago;
    use std::collections::BTreeMap;

    /// The text of a decision, so that a case reads on one line.
    fn told(date: &str, day: &str, time: &str) -> String {
        let calendar = Calendar {
            zone: Chicago,
            dates: DeliveryDates { weekdays: vec![Weekday::Thu], exceptions: BTreeMap::new() },
            departure_time: NaiveTime::from_hms_opt(7, 30, 0).expect("a time"),
            cutoff: When::parse("0 18 * * TUE").expect("an expression"),
            cutoff_of: Default::default(),
        };
        let now = instant_at(day.parse().expect("a date"), time.parse().expect("a time"), Chicago);
        let next = |one: Option<Delivery>| one.map_or("never".to_owned(), |one| one.date.to_string());
        match decide(&calendar, date.parse().expect("a date"), now) {
            Cutoff::Open(delivery) => format!("open for {}", delivery.date),
            Cutoff::Closed { asked, next: later } => format!("{} closed, {} possible", asked.date, next(later)),
            Cutoff::NotADeliveryDay { next: later } => format!("no delivery, {} possible", next(later)),
        }
    }

    #[test]
    fn an_order_is_taken_until_the_cut_off() {
        for (date, day, time, expected) in [
            ("2026-11-26", "2026-11-24", "17:59:59", "open for 2026-11-26"),
            ("2026-11-26", "2026-11-24", "18:00:00", "2026-11-26 closed, 2026-12-03 possible"),
            ("2026-11-19", "2026-11-24", "12:00:00", "2026-11-19 closed, 2026-11-26 possible"),
            ("2026-12-10", "2026-11-24", "18:00:00", "open for 2026-12-10"),
            ("2026-11-27", "2026-11-24", "12:00:00", "no delivery, 2026-12-03 possible"),
            ("2026-11-25", "2026-11-24", "12:00:00", "no delivery, 2026-11-26 possible"),
            ("2026-11-25", "2026-11-24", "18:30:00", "no delivery, 2026-12-03 possible"),
            ("2030-11-25", "2026-11-24", "12:00:00", "no delivery, 2026-11-26 possible"),
        ] {
            assert_eq!(told(date, day, time), expected, "{date} asked {day} {time}");
        }
    }
}
