//! The dates on which the van leaves. Rule: a date is a delivery day when its weekday is one and no exception says otherwise.

use crate::clock::LocalDate;
use chrono::{Datelike, Weekday};
use std::collections::BTreeMap;

/// One date that differs from the weekly rule.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Exception {
    /// A delivery weekday without delivery: a holiday.
    NoDelivery,
    /// A delivery on another day.
    ExtraDelivery,
}

/// The farm's delivery dates.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct DeliveryDates {
    pub weekdays: Vec<Weekday>,
    pub exceptions: BTreeMap<LocalDate, Exception>,
}

impl DeliveryDates {
    /// Whether the van leaves on `date`.
    pub fn has(&self, date: LocalDate) -> bool {
        match self.exceptions.get(&date) {
            Some(Exception::NoDelivery) => false,
            Some(Exception::ExtraDelivery) => true,
            None => self.weekdays.contains(&date.weekday()),
        }
    }

    /// The same with the days that are left out: the harvest knows no holiday.
    pub fn with_closed(mut self) -> DeliveryDates {
        self.exceptions.retain(|_, exception| *exception == Exception::ExtraDelivery);
        self
    }

    /// Those on the weekdays that are meant.
    pub fn only(mut self, is_meant: impl Fn(Weekday) -> bool) -> DeliveryDates {
        self.weekdays.retain(|weekday| is_meant(*weekday));
        self.exceptions.retain(|date, _| is_meant(date.weekday()));
        self
    }
}
