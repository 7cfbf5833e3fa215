//! What the farm wants done by itself with what is left: offer it until a time of the week, then give it. Rule: a crop's
//! own rule goes before the one for all crops.

use crate::clock::{UtcSeconds, instant_at};
use crate::id::Id;
use chrono::{Datelike, NaiveTime, Weekday};
use chrono_tz::Tz;

/// One rule of the farm's.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Rule {
    pub id: Id,
    /// `None` for every crop without a rule of its own.
    pub crop: Option<String>,
    pub weekday: Weekday,
    /// Local minute of that day, 0 to 1439.
    pub minute: u16,
}

impl Rule {
    /// The first end after `now`.
    ///
    /// # Panics
    /// At the end of the calendar.
    pub fn end_after(&self, now: UtcSeconds, zone: Tz) -> UtcSeconds {
        let days = now.local_date(zone).iter_days().filter(|day| day.weekday() == self.weekday);
        let mut ends = days.map(|day| instant_at(day, self.time(), zone));
        ends.find(|end| *end > now).expect("a weekday comes again")
    }

    /// Its local time of day.
    pub fn time(&self) -> NaiveTime {
        NaiveTime::from_hms_opt(u32::from(self.minute / 60 % 24), u32::from(self.minute % 60), 0)
            .expect("a minute of the day")
    }
}

/// The rule that decides about a crop.
pub fn deciding<'r>(rules: &'r [Rule], crop: &str) -> Option<&'r Rule> {
    let own = rules.iter().find(|rule| rule.crop.as_deref() == Some(crop));
    own.or_else(|| rules.iter().find(|rule| rule.crop.is_none()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use chrono_tz::America::Chicago;

    fn rule(id: i64, crop: Option<&str>) -> Rule {
        Rule { id: Id::new(id), crop: crop.map(str::to_owned), weekday: Weekday::Fri, minute: 12 * 60 }
    }

    fn utc(text: &str) -> UtcSeconds {
        chrono::DateTime::parse_from_rfc3339(text).expect("an instant").into()
    }

    /// Friday noon in Chicago: 17:00 UTC in summer, 18:00 in winter (IANA data).
    #[test]
    fn the_end_is_the_next_one() {
        for (now, end) in [
            ("2026-06-04T18:00:00Z", "2026-06-05T17:00:00Z"),
            ("2026-06-05T16:59:59Z", "2026-06-05T17:00:00Z"),
            ("2026-06-05T17:00:00Z", "2026-06-12T17:00:00Z"),
            ("2026-10-30T17:00:00Z", "2026-11-06T18:00:00Z"),
        ] {
            assert_eq!(rule(1, None).end_after(utc(now), Chicago), utc(end), "{now}");
        }
    }

    #[test]
    fn a_crops_own_rule_goes_first() {
        let rules = [rule(1, None), rule(2, Some("oyster"))];
        assert_eq!(deciding(&rules, "oyster").map(|rule| rule.id), Some(Id::new(2)));
        assert_eq!(deciding(&rules, "shiitake").map(|rule| rule.id), Some(Id::new(1)));
        assert_eq!(deciding(&rules[1..], "shiitake"), None);
    }
}
