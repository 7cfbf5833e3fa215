//! When a food-bank partner is open. Rule: hours are local readings within one day; a date's exception replaces its
//! weekday's hours whole; a stretch is as long as the clock on the wall really took.

use crate::clock::{LocalDate, UtcSeconds, instant_at};
use chrono::{Datelike, NaiveTime, Weekday};
use chrono_tz::Tz;
use std::collections::BTreeMap;

/// Minutes in a day's clock face; the end of the day.
const DAY_MINUTES: u16 = 24 * 60;
/// Days looked through for an opening.
const HORIZON_DAYS: usize = 400;

/// Open from one minute of the local day until another.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Span {
    opens: u16,
    closes: u16,
}

/// Why hours are not kept, for the person who typed them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum HoursRefusal {
    /// They close before they open: hours over midnight are entered as two days.
    CrossesMidnight { opens: u16, closes: u16 },
    /// They close as they open.
    Empty,
    /// A minute beyond the end of the day, 1440.
    PastMidnight { minute: u16 },
    /// Two stretches of one day overlap.
    Overlap,
}

impl Span {
    /// Minutes of the local day: 0 is midnight, 1440 the end of the day.
    ///
    /// # Errors
    /// [`HoursRefusal`] when it is empty, crosses midnight or leaves the day.
    pub fn new(opens: u16, closes: u16) -> Result<Span, HoursRefusal> {
        if let Some(minute) = [opens, closes].into_iter().find(|minute| *minute > DAY_MINUTES) {
            return Err(HoursRefusal::PastMidnight { minute });
        }
        match closes.cmp(&opens) {
            std::cmp::Ordering::Less => Err(HoursRefusal::CrossesMidnight { opens, closes }),
            std::cmp::Ordering::Equal => Err(HoursRefusal::Empty),
            std::cmp::Ordering::Greater => Ok(Span { opens, closes }),
        }
    }

    /// The minute of the local day it opens.
    pub fn opens(self) -> u16 {
        self.opens
    }

    /// The minute of the local day it closes, up to 1440.
    pub fn closes(self) -> u16 {
        self.closes
    }
}

/// A stretch of time, both ends as instants.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Window {
    pub opens_at: UtcSeconds,
    pub closes_at: UtcSeconds,
}

/// A partner's hours.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Hours {
    weekly: BTreeMap<u8, Vec<Span>>,
    exceptions: BTreeMap<LocalDate, Vec<Span>>,
}

impl Hours {
    /// Hours of every such weekday; none means closed.
    ///
    /// # Errors
    /// [`HoursRefusal::Overlap`]; nothing is then changed.
    pub fn set_weekday(&mut self, weekday: Weekday, spans: Vec<Span>) -> Result<(), HoursRefusal> {
        self.weekly.insert(weekday.num_days_from_monday() as u8, in_order(spans)?);
        Ok(())
    }

    /// Hours of one date instead of its weekday's; none means closed, a holiday.
    ///
    /// # Errors
    /// [`HoursRefusal::Overlap`]; nothing is then changed.
    pub fn set_date(&mut self, date: LocalDate, spans: Vec<Span>) -> Result<(), HoursRefusal> {
        self.exceptions.insert(date, in_order(spans)?);
        Ok(())
    }

    /// The same, but closed on these dates.
    pub fn without(&self, dates: &[LocalDate]) -> Hours {
        let mut hours = self.clone();
        hours.exceptions.extend(dates.iter().map(|date| (*date, Vec::new())));
        hours
    }

    /// From `minute` of `date` until it closes; `None` when it is not open for `minutes_needed` from then on.
    pub fn window_from(&self, date: LocalDate, minute: u16, zone: Tz, minutes_needed: u16) -> Option<Window> {
        let holds = |span: &&Span| span.opens <= minute && minute.saturating_add(minutes_needed) <= span.closes;
        let span = self.on(date).iter().find(holds)?;
        Some(window(date, Span { opens: minute, closes: span.closes }, zone))
    }

    /// The stretches of `date`, rising.
    pub fn on(&self, date: LocalDate) -> &[Span] {
        let weekday = date.weekday().num_days_from_monday() as u8;
        self.exceptions.get(&date).or_else(|| self.weekly.get(&weekday)).map_or(&[], Vec::as_slice)
    }

    /// Whether it is open at `instant`; at the closing minute it is not.
    pub fn is_open(&self, instant: UtcSeconds, zone: Tz) -> bool {
        let date = instant.local_date(zone);
        self.on(date)
            .iter()
            .map(|span| window(date, *span, zone))
            .any(|open| open.opens_at <= instant && instant < open.closes_at)
    }

    /// The first stretch between `after` and `not_after` in which it is open for at least `minutes_needed` on end, cut
    /// to those two instants. `None` when there is none within 400 days.
    pub fn next_window(
        &self,
        after: UtcSeconds,
        not_after: UtcSeconds,
        zone: Tz,
        minutes_needed: i64,
    ) -> Option<Window> {
        let days = after.local_date(zone).iter_days().take(HORIZON_DAYS);
        days.take_while(|date| *date <= not_after.local_date(zone))
            .flat_map(|date| self.on(date).iter().map(move |span| window(date, *span, zone)))
            .map(|open| Window { opens_at: open.opens_at.max(after), closes_at: open.closes_at.min(not_after) })
            .find(|open| {
                let seconds = open.closes_at.since(open.opens_at);
                seconds > 0 && seconds >= minutes_needed.saturating_mul(60)
            })
    }
}

fn in_order(mut spans: Vec<Span>) -> Result<Vec<Span>, HoursRefusal> {
    spans.sort_by_key(|span| span.opens);
    if spans.windows(2).any(|pair| pair[1].opens < pair[0].closes) { Err(HoursRefusal::Overlap) } else { Ok(spans) }
}

fn window(date: LocalDate, span: Span, zone: Tz) -> Window {
    Window { opens_at: minute_of(date, span.opens, zone), closes_at: minute_of(date, span.closes, zone) }
}

fn minute_of(date: LocalDate, minute: u16, zone: Tz) -> UtcSeconds {
    let (hour, minute_of_hour) = (u32::from(minute / 60), u32::from(minute % 60));
    match NaiveTime::from_hms_opt(hour, minute_of_hour, 0) {
        Some(time) => instant_at(date, time, zone),
        // 24:00, the only minute a span may hold that no clock shows.
        None => instant_at(date.succ_opt().unwrap_or(date), NaiveTime::MIN, zone),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use chrono_tz::America::Chicago;
    use chrono_tz::Europe::Lisbon;

    fn date(text: &str) -> LocalDate {
        text.parse().expect("a date")
    }

    fn utc(text: &str) -> UtcSeconds {
        chrono::DateTime::parse_from_rfc3339(text).expect("an instant").into()
    }

    fn span(opens: u16, closes: u16) -> Span {
        Span::new(opens, closes).expect("a span")
    }

    /// Saturdays 15:00-18:00, Sundays 01:00-03:00.
    fn hours() -> Hours {
        let mut hours = Hours::default();
        hours.set_weekday(Weekday::Sat, vec![span(900, 1080)]).expect("hours");
        hours.set_weekday(Weekday::Sun, vec![span(60, 180)]).expect("hours");
        hours
    }

    fn next(hours: &Hours, after: &str, not_after: &str, zone: Tz, minutes: i64) -> Option<(String, String)> {
        let found = hours.next_window(utc(after), utc(not_after), zone, minutes)?;
        Some((found.opens_at.to_string(), found.closes_at.to_string()))
    }

    #[test]
    fn impossible_hours_are_refused() {
        assert_eq!(Span::new(1320, 120), Err(HoursRefusal::CrossesMidnight { opens: 1320, closes: 120 }));
        assert_eq!(Span::new(600, 600), Err(HoursRefusal::Empty));
        assert_eq!(Span::new(600, 1441), Err(HoursRefusal::PastMidnight { minute: 1441 }));
        let mut hours = hours();
        assert_eq!(hours.set_weekday(Weekday::Sat, vec![span(600, 720), span(700, 800)]), Err(HoursRefusal::Overlap));
        assert_eq!(hours.on(date("2026-11-28")), [span(900, 1080)]);
    }

    /// Saturday 31 October 2026 is summer time in Chicago, Saturday 7 November is not (IANA data).
    #[test]
    fn windows_keep_their_wall_time_over_the_change() {
        for (after, opens, closes) in [
            ("2026-10-30T00:00:00Z", "2026-10-31T20:00:00Z", "2026-10-31T23:00:00Z"),
            ("2026-11-02T00:00:00Z", "2026-11-07T21:00:00Z", "2026-11-08T00:00:00Z"),
        ] {
            let found = next(&hours(), after, "2026-12-31T00:00:00Z", Chicago, 30);
            assert_eq!(found, Some((opens.to_owned(), closes.to_owned())));
        }
    }

    /// Sunday 01:00-03:00 lasts one hour in spring and three in autumn where the clock changes inside it: Chicago 8
    /// March and 1 November 2026, Lisbon 29 March and 25 October 2026 (IANA data).
    #[test]
    fn a_window_over_a_change_is_as_long_as_it_really_is() {
        for (zone, after, opens, closes) in [
            (Chicago, "2026-03-08T06:30:00Z", "2026-03-08T07:00:00Z", "2026-03-08T08:00:00Z"),
            (Chicago, "2026-11-01T05:30:00Z", "2026-11-01T06:00:00Z", "2026-11-01T09:00:00Z"),
            (Lisbon, "2026-03-29T00:30:00Z", "2026-03-29T01:00:00Z", "2026-03-29T02:00:00Z"),
            (Lisbon, "2026-10-24T23:30:00Z", "2026-10-25T00:00:00Z", "2026-10-25T03:00:00Z"),
        ] {
            let found = next(&hours(), after, "2026-12-31T00:00:00Z", zone, 60);
            assert_eq!(found, Some((opens.to_owned(), closes.to_owned())), "{zone} {after}");
        }
        // One hour is not enough for 61 minutes: the next Saturday it is.
        let found = next(&hours(), "2026-03-08T06:30:00Z", "2026-12-31T00:00:00Z", Chicago, 61);
        assert_eq!(found.expect("a window").0, "2026-03-14T20:00:00Z");
    }

    #[test]
    fn what_is_left_of_a_window_must_be_long_enough() {
        let hours = hours();
        let end = "2026-11-28T23:30:00Z";
        for (after, minutes, expected) in [
            ("2026-11-28T22:00:00Z", 90, Some(("2026-11-28T22:00:00Z".to_owned(), end.to_owned()))),
            ("2026-11-28T22:00:01Z", 90, None),
            ("2026-11-28T23:30:00Z", 0, None),
        ] {
            assert_eq!(next(&hours, after, end, Chicago, minutes), expected, "{after}");
        }
    }

    #[test]
    fn holidays_close_and_extra_days_open() {
        let mut hours = hours();
        hours.set_date(date("2026-11-28"), vec![]).expect("hours");
        hours.set_date(date("2026-11-30"), vec![span(1200, 1440)]).expect("hours");
        let found = next(&hours, "2026-11-28T12:00:00Z", "2026-12-31T00:00:00Z", Lisbon, 30);
        assert_eq!(found.expect("Sunday").0, "2026-11-29T01:00:00Z");
        let found = next(&hours, "2026-11-29T12:00:00Z", "2026-12-31T00:00:00Z", Lisbon, 30);
        assert_eq!(found, Some(("2026-11-30T20:00:00Z".to_owned(), "2026-12-01T00:00:00Z".to_owned())));
        assert!(hours.is_open(utc("2026-11-30T23:59:59Z"), Lisbon));
        assert!(!hours.is_open(utc("2026-12-01T00:00:00Z"), Lisbon));
    }

    #[test]
    fn a_window_from_a_minute_lies_within_one_stretch() {
        let saturday = date("2026-11-28");
        let from = |minute| hours().window_from(saturday, minute, Chicago, 15).map(|open| open.opens_at.to_string());
        assert_eq!(from(900), Some("2026-11-28T21:00:00Z".to_owned()));
        assert_eq!(from(1065), Some("2026-11-28T23:45:00Z".to_owned()));
        assert_eq!([899, 1066, 1440].map(from), [None, None, None]);
        assert_eq!(hours().without(&[saturday]).window_from(saturday, 900, Chicago, 15), None);
        assert!(hours().without(&[saturday]).window_from(date("2026-12-05"), 900, Chicago, 15).is_some());
    }

    #[test]
    fn a_partner_that_never_opens_is_never_found() {
        assert_eq!(next(&Hours::default(), "2026-11-28T00:00:00Z", "2099-01-01T00:00:00Z", Chicago, 1), None);
    }
}
