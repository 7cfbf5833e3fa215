//! Delivery days and their cut-offs. Rule: a cut-off comes so long before its delivery as the timetable says, or is the last
//! firing of the cut-off expression, and always strictly before the van leaves.

use crate::clock::{LocalDate, UtcSeconds, instant_at};
pub use crate::timetable::dates::{DeliveryDates, Exception};
use crate::timetable::rhythm::When;
use chrono::{Datelike, Days, NaiveTime, Weekday};
use chrono_tz::Tz;
use std::collections::HashMap;

/// How far ahead a delivery is looked for, days: a farm that rests longer has no next delivery.
const HORIZON_DAYS: u64 = 400;

/// The farm's delivery days.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Calendar {
    /// The farm's zone.
    pub zone: Tz,
    pub dates: DeliveryDates,
    /// When the van leaves, wall time.
    pub departure_time: NaiveTime,
    /// When orders close.
    pub cutoff: When,
    /// When they close instead for the deliveries of a weekday.
    pub cutoff_of: HashMap<Weekday, When>,
}

/// A coming delivery.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Delivery {
    pub date: LocalDate,
    pub departs_at: UtcSeconds,
    /// Orders are taken before this instant. `None` when there is none before the van leaves: orders are then closed.
    pub cutoff_at: Option<UtcSeconds>,
}

impl Delivery {
    /// Whether orders for it are still taken at `now`; at the cut-off itself they are not.
    pub fn is_open(&self, now: UtcSeconds) -> bool {
        self.cutoff_at.is_some_and(|cutoff_at| now < cutoff_at)
    }
}

impl Calendar {
    /// Whether the van leaves on `date`.
    pub fn is_delivery_day(&self, date: LocalDate) -> bool {
        self.dates.has(date)
    }

    /// When the van leaves if `date` is a delivery day.
    pub fn departure(&self, date: LocalDate) -> UtcSeconds {
        instant_at(date, self.departure_time, self.zone)
    }

    /// When orders for `date` close; `None` when they never do before the departure.
    pub fn cutoff_for(&self, date: LocalDate) -> Option<UtcSeconds> {
        let when = self.cutoff_of.get(&date.weekday()).unwrap_or(&self.cutoff);
        when.last_before(date, self.departure(date), self.zone)
    }

    /// The delivery on `date`, or `None` when it is not a delivery day.
    pub fn delivery_on(&self, date: LocalDate) -> Option<Delivery> {
        self.is_delivery_day(date).then(|| Delivery {
            date,
            departs_at: self.departure(date),
            cutoff_at: self.cutoff_for(date),
        })
    }

    /// The next delivery whose van has not left at `now`.
    pub fn next_delivery(&self, now: UtcSeconds) -> Option<Delivery> {
        self.coming(now).next()
    }

    /// The next delivery for which orders are still taken at `now`.
    pub fn next_open_delivery(&self, now: UtcSeconds) -> Option<Delivery> {
        self.coming(now).find(|delivery| delivery.is_open(now))
    }

    /// The next `count` deliveries whose van has not left at `now`; fewer when the horizon of 400 days holds fewer.
    pub fn upcoming(&self, now: UtcSeconds, count: usize) -> Vec<Delivery> {
        self.coming(now).take(count).collect()
    }

    /// Delivery days from `from` to `to`, both included.
    pub fn dates_between(&self, from: LocalDate, to: LocalDate) -> Vec<LocalDate> {
        from.iter_days().take_while(|date| *date <= to).filter(|date| self.is_delivery_day(*date)).collect()
    }

    fn coming(&self, now: UtcSeconds) -> impl Iterator<Item = Delivery> + '_ {
        let today = now.local_date(self.zone);
        // A departure that a clock change moves over midnight still belongs to its own date, so yesterday counts too.
        (0..=HORIZON_DAYS)
            .filter_map(move |ahead| today.pred_opt()?.checked_add_days(Days::new(ahead)))
            .filter(move |date| self.is_delivery_day(*date) && self.departure(*date) > now)
            .filter_map(|date| self.delivery_on(date))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use chrono_tz::America::Chicago;
    use proptest::prelude::*;
    use std::collections::BTreeMap;

    fn calendar() -> Calendar {
        Calendar {
            zone: Chicago,
            dates: DeliveryDates { weekdays: vec![Weekday::Thu], exceptions: BTreeMap::new() },
            departure_time: NaiveTime::from_hms_opt(7, 30, 0).expect("a time"),
            cutoff: When::parse("0 18 * * TUE").expect("an expression"),
            cutoff_of: HashMap::new(),
        }
    }

    fn date(text: &str) -> LocalDate {
        text.parse().expect("a date")
    }

    fn at(day: &str, time: &str) -> UtcSeconds {
        instant_at(date(day), time.parse().expect("a time"), Chicago)
    }

    fn dates(deliveries: Vec<Delivery>) -> Vec<String> {
        deliveries.iter().map(|delivery| delivery.date.to_string()).collect()
    }

    /// Wall times keep over the change of 1 November 2026 (IANA data): 18:00 CDT is 23:00Z, 18:00 CST is 00:00Z.
    #[test]
    fn cut_offs_are_the_last_before_departure() {
        let calendar = calendar();
        for (day, cutoff, departs) in [
            ("2026-10-29", "2026-10-27T23:00:00Z", "2026-10-29T12:30:00Z"),
            ("2026-11-05", "2026-11-04T00:00:00Z", "2026-11-05T13:30:00Z"),
        ] {
            let found = calendar.delivery_on(date(day)).expect("a delivery");
            assert_eq!(found.cutoff_at.expect("a cut-off").to_string(), cutoff);
            assert_eq!(found.departs_at.to_string(), departs);
        }
    }

    #[test]
    fn a_cut_off_at_the_departure_is_not_before_it() {
        let mut calendar = calendar();
        calendar.cutoff = When::parse("30 7 * * TUE,THU").expect("an expression");
        assert_eq!(calendar.cutoff_for(date("2026-11-26")), Some(at("2026-11-24", "07:30:00")));
    }

    #[test]
    fn the_next_and_the_next_open_delivery_part_at_the_cut_off() {
        let calendar = calendar();
        for (day, time, next, open) in [
            ("2026-11-24", "17:59:59", "2026-11-26", "2026-11-26"),
            ("2026-11-24", "18:00:00", "2026-11-26", "2026-12-03"),
            ("2026-11-26", "07:29:59", "2026-11-26", "2026-12-03"),
            ("2026-11-26", "07:30:00", "2026-12-03", "2026-12-03"),
        ] {
            let now = at(day, time);
            assert_eq!(calendar.next_delivery(now).expect("one").date, date(next), "{day} {time}");
            assert_eq!(calendar.next_open_delivery(now).expect("one").date, date(open), "{day} {time}");
        }
    }

    #[test]
    fn exceptions_move_a_delivery() {
        let mut calendar = calendar();
        calendar.dates.exceptions.insert(date("2026-11-26"), Exception::NoDelivery);
        calendar.dates.exceptions.insert(date("2026-11-25"), Exception::ExtraDelivery);
        let now = at("2026-11-23", "09:00:00");
        assert_eq!(dates(calendar.upcoming(now, 3)), ["2026-11-25", "2026-12-03", "2026-12-10"]);
        assert_eq!(calendar.cutoff_for(date("2026-11-25")), Some(at("2026-11-24", "18:00:00")));
        assert_eq!(calendar.delivery_on(date("2026-11-26")), None);
    }

    #[test]
    fn each_delivery_has_a_cut_off_of_its_own() {
        let mut calendar = calendar();
        calendar.dates.weekdays.push(Weekday::Fri);
        calendar.cutoff = When::parse("2 days before at 18:00").expect("a time");
        assert_eq!(calendar.cutoff_for(date("2026-11-26")), Some(at("2026-11-24", "18:00:00")));
        assert_eq!(calendar.cutoff_for(date("2026-11-27")), Some(at("2026-11-25", "18:00:00")));
        calendar.cutoff_of.insert(Weekday::Fri, When::parse("1 day before at 12:00").expect("a time"));
        assert_eq!(calendar.cutoff_for(date("2026-11-27")), Some(at("2026-11-26", "12:00:00")));
        calendar.cutoff = When::parse("the same day at 07:30").expect("a time");
        assert_eq!(calendar.cutoff_for(date("2026-11-26")), None, "the van leaves then");
    }

    #[test]
    fn a_farm_at_rest_has_no_next_delivery() {
        let calendar = Calendar { dates: DeliveryDates::default(), ..calendar() };
        assert_eq!(calendar.next_delivery(at("2026-11-23", "09:00:00")), None);
        assert!(calendar.upcoming(at("2026-11-23", "09:00:00"), 5).is_empty());
    }

    proptest! {
        #[test]
        fn coming_deliveries_rise_and_close_before_they_leave(now in 1_772_000_000i64..1_830_000_000) {
            let now = UtcSeconds::new(now);
            let coming = calendar().upcoming(now, 6);
            prop_assert_eq!(coming.len(), 6);
            prop_assert!(coming[0].departs_at > now);
            prop_assert!(coming.windows(2).all(|pair| pair[1].date - pair[0].date == chrono::Duration::days(7)));
            prop_assert!(coming.iter().all(|one| one.cutoff_at.expect("a cut-off") < one.departs_at));
        }
    }
}
