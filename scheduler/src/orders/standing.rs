//! A standing order: one crop for one buyer, again and again. Rule: a date of its recurrence counts only when it is a
//! delivery day; it is never moved to another day by itself, the buyer is asked.

use super::recurrence::{Error, Recurrence};
use crate::clock::LocalDate;
use crate::delivery::calendar::Calendar;
use crate::harvest::buyers::Ask;
use crate::quantity::Grams;
use std::collections::BTreeMap;

/// A rest: nothing is delivered from `from` until the day before `resumes_on`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Pause {
    pub from: LocalDate,
    /// The first date that counts again.
    pub resumes_on: LocalDate,
}

/// A standing order line.
#[derive(Clone, Debug, PartialEq)]
pub struct StandingOrder {
    pub recurrence: Recurrence,
    /// Asked on every date that is not in `changed`.
    pub usual: Grams,
    /// Dates with another weight, this once.
    pub changed: BTreeMap<LocalDate, Grams>,
    pub pause: Option<Pause>,
}

/// What a standing order means on one of its dates.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Call {
    Usual(Grams),
    Changed(Grams),
    Paused,
    /// The recurrence names a date on which no van leaves: nothing is ordered and the buyer should hear of it.
    NotADeliveryDay,
}

impl Call {
    /// The weight to order, if any.
    pub fn weight(self) -> Option<Grams> {
        match self {
            Call::Usual(weight) | Call::Changed(weight) => Some(weight),
            Call::Paused | Call::NotADeliveryDay => None,
        }
    }
}

impl StandingOrder {
    /// What it means on each of its dates from `from` to `to`, both included, rising. Skipped dates do not appear.
    ///
    /// # Errors
    /// As [`Recurrence::dates_between`].
    pub fn calls_between(
        &self,
        from: LocalDate,
        to: LocalDate,
        calendar: &Calendar,
    ) -> Result<Vec<(LocalDate, Call)>, Error> {
        let dates = self.recurrence.dates_between(from, to)?;
        Ok(dates.into_iter().map(|date| (date, self.call(date, calendar))).collect())
    }

    fn call(&self, date: LocalDate, calendar: &Calendar) -> Call {
        if self.pause.is_some_and(|pause| pause.from <= date && date < pause.resumes_on) {
            Call::Paused
        } else if !calendar.is_delivery_day(date) {
            Call::NotADeliveryDay
        } else {
            self.changed.get(&date).map_or(Call::Usual(self.usual), |weight| Call::Changed(*weight))
        }
    }

    /// What became of it on each delivery day from `from` to `to`, both included, rising; rests are no part of it.
    ///
    /// # Errors
    /// As [`Recurrence::dates_between`].
    pub fn record_between(
        &self,
        from: LocalDate,
        to: LocalDate,
        calendar: &Calendar,
    ) -> Result<Vec<(LocalDate, Ask)>, Error> {
        let calls = self.calls_between(from, to, calendar)?;
        let asked = calls
            .into_iter()
            .filter_map(|(day, call)| Some((day, Ask::Asked { usual: self.usual, asked: call.weight()? })));
        let skipped = self.recurrence.skipped_between(from, to).into_iter();
        let skipped = skipped.filter(|day| calendar.is_delivery_day(*day)).map(|day| (day, Ask::Skipped));
        let mut record: Vec<(LocalDate, Ask)> = asked.chain(skipped).collect();
        record.sort_by_key(|one| one.0);
        Ok(record)
    }

    /// Leaves `date` out, for good. False, and nothing changed, when it is none of its dates.
    ///
    /// # Errors
    /// As [`Recurrence::dates_between`].
    pub fn skip(&mut self, date: LocalDate) -> Result<bool, Error> {
        let Some(without) = self.recurrence.without(date)? else { return Ok(false) };
        self.recurrence = without;
        self.changed.remove(&date);
        Ok(true)
    }

    /// Asks `weight` on `date`, this once. False, and nothing changed, when it is none of its dates.
    ///
    /// # Errors
    /// As [`Recurrence::dates_between`].
    pub fn change(&mut self, date: LocalDate, weight: Grams) -> Result<bool, Error> {
        let is_its_date = !self.recurrence.dates_between(date, date)?.is_empty();
        if is_its_date {
            self.changed.insert(date, weight);
        }
        Ok(is_its_date)
    }

    /// Makes `last` the last date that may count.
    ///
    /// # Errors
    /// As [`Recurrence::ending`]; the order is then unchanged.
    pub fn end(&mut self, last: LocalDate) -> Result<(), Error> {
        self.recurrence = self.recurrence.ending(last)?;
        self.changed.retain(|date, _| *date <= last);
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::delivery::calendar::{DeliveryDates, Exception};
    use crate::orders::recurrence::Rhythm;
    use crate::timetable::When;
    use chrono::{NaiveTime, Weekday};
    use chrono_tz::America::Chicago;

    fn date(text: &str) -> LocalDate {
        text.parse().expect("a date")
    }

    fn calendar() -> Calendar {
        Calendar {
            zone: Chicago,
            dates: DeliveryDates {
                weekdays: vec![Weekday::Thu],
                exceptions: BTreeMap::from([(date("2026-11-26"), Exception::NoDelivery)]),
            },
            departure_time: NaiveTime::from_hms_opt(7, 30, 0).expect("a time"),
            cutoff: When::parse("0 18 * * TUE").expect("an expression"),
            cutoff_of: Default::default(),
        }
    }

    fn order() -> StandingOrder {
        let rhythm = Rhythm { every_weeks: 1, weekdays: vec![Weekday::Thu], from: date("2026-11-01"), until: None };
        StandingOrder {
            recurrence: Recurrence::of(&rhythm, Chicago).expect("a recurrence"),
            usual: Grams::new(2000),
            changed: BTreeMap::new(),
            pause: None,
        }
    }

    fn check(order: &StandingOrder, expected: [Call; 5]) {
        let calls = order.calls_between(date("2026-11-12"), date("2026-12-10"), &calendar()).expect("calls");
        let found: Vec<Call> = calls.iter().map(|(_, call)| *call).collect();
        assert_eq!(found, expected);
    }

    const USUAL: Call = Call::Usual(Grams::new(2000));

    #[test]
    fn a_holiday_is_reported_and_not_moved() {
        check(&order(), [USUAL, USUAL, Call::NotADeliveryDay, USUAL, USUAL]);
    }

    #[test]
    fn one_date_is_changed_and_the_rest_stay() {
        let mut order = order();
        assert_eq!(order.change(date("2026-11-19"), Grams::new(3500)), Ok(true));
        assert_eq!(order.change(date("2026-11-20"), Grams::new(3500)), Ok(false));
        check(&order, [USUAL, Call::Changed(Grams::new(3500)), Call::NotADeliveryDay, USUAL, USUAL]);
    }

    #[test]
    fn a_pause_ends_on_the_day_it_resumes() {
        let pause = Some(Pause { from: date("2026-11-13"), resumes_on: date("2026-12-03") });
        let order = StandingOrder { pause, ..order() };
        check(&order, [USUAL, Call::Paused, Call::Paused, USUAL, USUAL]);
    }

    #[test]
    fn skipped_dates_and_dates_after_the_end_do_not_appear() {
        let mut order = order();
        assert_eq!(order.change(date("2026-11-19"), Grams::new(3500)), Ok(true));
        assert_eq!(order.skip(date("2026-11-19")), Ok(true));
        assert_eq!(order.skip(date("2026-11-19")), Ok(false));
        assert_eq!(order.end(date("2026-12-03")), Ok(()));
        let calls = order.calls_between(date("2026-11-12"), date("2027-06-01"), &calendar()).expect("calls");
        let dates: Vec<String> = calls.iter().map(|(date, _)| date.to_string()).collect();
        assert_eq!(dates, ["2026-11-12", "2026-11-26", "2026-12-03"]);
        assert_eq!(order.end(date("2026-10-01")), Err(Error::EndsBeforeStart));
    }
}
