//! A regular drop: agreed once, and filled each time with what is free. Rule: promised stock is never touched; it is brought
//! only where and when the food bank is open and takes it, of the crops it takes, between its least and greatest weight.
//! [`apply`] is the only place where its state changes:
//!
//! | state | event | then |
//! | --- | --- | --- |
//! | proposed | agree | agreed |
//! | proposed | decline | declined |
//! | proposed, agreed | stop | stopped |
//! | agreed | other dates | agreed |
//!
//! Everything else is refused. Declined and stopped are final.

use super::opening::{Hours, Window};
use super::partners::MINUTES_TO_HAND_OVER;
use crate::clock::{LocalDate, UtcSeconds};
use crate::id::Id;
use crate::quantity::Grams;
use chrono_tz::Tz;
use serde::{Deserialize, Serialize};

/// Where a regular drop stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum State {
    Proposed,
    Agreed,
    /// Final: the food bank does not want it.
    Declined,
    /// Final: either side ended it.
    Stopped,
}

/// A regular drop as kept.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StandingDrop {
    pub id: Id,
    pub partner_id: Id,
    /// RFC 5545.
    pub recurrence: String,
    /// When it is brought, minutes of the local day.
    pub opens_minute: u16,
    state: State,
    pub proposed_at: UtcSeconds,
    pub agreed_at: Option<UtcSeconds>,
    pub ended_at: Option<UtcSeconds>,
}

impl StandingDrop {
    /// A proposal made at `at`, of no date yet.
    pub fn proposed(id: Id, partner_id: Id, at: UtcSeconds) -> StandingDrop {
        StandingDrop {
            id,
            partner_id,
            recurrence: String::new(),
            opens_minute: 0,
            state: State::Proposed,
            proposed_at: at,
            agreed_at: None,
            ended_at: None,
        }
    }

    /// A regular drop read back from where it was stored.
    pub(crate) fn in_state(self, state: State) -> StandingDrop {
        StandingDrop { state, ..self }
    }

    pub fn state(&self) -> State {
        self.state
    }
}

/// What happens to a regular drop.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Event {
    Agree,
    Decline,
    /// Either side ends it, or takes the proposal back.
    Stop,
    /// It has other dates from now on, as RFC 5545.
    SetDates(String),
}

/// The event does not belong to this state.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Refused(pub State);

/// The regular drop after `event` at `at`.
pub fn apply(one: &StandingDrop, event: Event, at: UtcSeconds) -> Result<StandingDrop, Refused> {
    let mut next = one.clone();
    match (one.state, event) {
        (State::Proposed, Event::Agree) => {
            next.agreed_at = Some(at);
            Ok(next.in_state(State::Agreed))
        }
        (State::Proposed, Event::Decline) => {
            next.ended_at = Some(at);
            Ok(next.in_state(State::Declined))
        }
        (State::Proposed | State::Agreed, Event::Stop) => {
            next.ended_at = Some(at);
            Ok(next.in_state(State::Stopped))
        }
        (State::Agreed, Event::SetDates(recurrence)) => {
            next.recurrence = recurrence;
            Ok(next)
        }
        (state, _) => Err(Refused(state)),
    }
}

/// What one of its dates comes to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Call {
    /// Bring it then.
    Bring(Window),
    /// The food bank said that it is full.
    Full,
    /// It is not open then on this date, or the farm does not drive.
    Closed,
}

/// What `date` comes to for a drop brought from `minute` of the local day on. `full` are the dates the food bank is full,
/// `is_farm_closed` that the farm does not drive.
pub fn call(
    (date, minute): (LocalDate, u16),
    (hours, full): (&Hours, &[LocalDate]),
    is_farm_closed: bool,
    zone: Tz,
) -> Call {
    let needed = u16::try_from(MINUTES_TO_HAND_OVER).unwrap_or(u16::MAX);
    match hours.window_from(date, minute, zone, needed).filter(|_| !is_farm_closed) {
        None => Call::Closed,
        Some(_) if full.contains(&date) => Call::Full,
        Some(window) => Call::Bring(window),
    }
}

/// What is brought of what is free, or why nothing is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Fill {
    /// Crop and weight, each crop once, in the order they were given.
    Bring(Vec<(String, Grams)>),
    /// Nothing of it is free.
    Nothing,
    /// Less is free than is worth the way.
    TooLittle { free: Grams },
}

/// Fills a drop from `free`, the first to expire first, beside `already` that is in it: of the crops `is_taken`, up to the
/// `greatest` weight in all; from the `least` weight on.
pub fn fill(
    free: &[(String, Grams)],
    already: Grams,
    (least, greatest): (Grams, Grams),
    is_taken: impl Fn(&str) -> bool,
) -> Fill {
    let mut room = greatest.less(already);
    let mut lines: Vec<(String, Grams)> = Vec::new();
    for (crop, grams) in free.iter().filter(|(crop, _)| is_taken(crop)) {
        let part = grams.less(Grams::ZERO).at_most(room);
        if !part.is_positive() {
            continue;
        }
        room -= part;
        match lines.iter_mut().find(|(named, _)| named == crop) {
            Some((_, sum)) => *sum += part,
            None => lines.push((crop.clone(), part)),
        }
    }
    let weight: Grams = lines.iter().map(|(_, grams)| *grams).sum();
    if !weight.is_positive() {
        Fill::Nothing
    } else if already + weight < least {
        Fill::TooLittle { free: weight }
    } else {
        Fill::Bring(lines)
    }
}

#[cfg(test)]
mod tests {
    use super::super::opening::Span;
    use super::*;
    use chrono::Weekday;
    use chrono_tz::America::Chicago;
    use proptest::prelude::*;

    /// Open Saturdays 13:00-18:00; the Saturdays stand on both sides of the change of 1 November 2026 (IANA data).
    #[test]
    fn a_date_is_brought_closed_or_full() {
        let day = |text: &str| text.parse::<LocalDate>().expect("a date");
        let mut hours = Hours::default();
        hours.set_weekday(Weekday::Sat, vec![Span::new(780, 1080).expect("a span")]).expect("hours");
        hours.set_date(day("2026-11-28"), vec![]).expect("hours");
        let full = [day("2026-11-14"), day("2026-11-28")];
        let of = |date: &str, minute, is_farm_closed| match call(
            (day(date), minute),
            (&hours, &full),
            is_farm_closed,
            Chicago,
        ) {
            Call::Bring(window) => format!("{} {}", window.opens_at, window.closes_at),
            other => format!("{other:?}"),
        };
        assert_eq!(of("2026-10-31", 840, false), "2026-10-31T19:00:00Z 2026-10-31T23:00:00Z");
        assert_eq!(of("2026-11-07", 840, false), "2026-11-07T20:00:00Z 2026-11-08T00:00:00Z");
        assert_eq!(of("2026-11-07", 840, true), "Closed");
        assert_eq!(of("2026-11-07", 1070, false), "Closed");
        assert_eq!(of("2026-11-14", 840, false), "Full");
        assert_eq!(of("2026-11-28", 840, false), "Closed");
    }

    proptest! {
        /// Whatever is pressed in whatever order: it ends once, its dates change only while it is agreed, and when it was
        /// agreed and ended is known exactly where it was.
        #[test]
        fn a_regular_drop_ends_once(events in prop::collection::vec(0..4_usize, 0..20)) {
            let (at, agreed_at) = (UtcSeconds::new(5_000), Some(UtcSeconds::new(5_000)));
            let mut one = StandingDrop::proposed(Id::new(1), Id::new(2), UtcSeconds::new(0));
            for number in events {
                let event =
                    [Event::Agree, Event::Decline, Event::Stop, Event::SetDates("RRULE".into())][number].clone();
                if let Ok(next) = apply(&one, event.clone(), at) {
                    prop_assert!(one.ended_at.is_none(), "{event:?} after {:?}", one.state);
                    prop_assert!(next.recurrence == one.recurrence || one.state == State::Agreed);
                    one = next;
                }
                let is_over = matches!(one.state, State::Declined | State::Stopped);
                prop_assert_eq!(one.ended_at.is_some(), is_over);
                prop_assert!(one.state != State::Agreed || one.agreed_at == agreed_at);
                prop_assert!(one.state != State::Proposed || one.agreed_at.is_none());
            }
        }
    }

    fn lines(all: &[(&str, i64)]) -> Vec<(String, Grams)> {
        all.iter().map(|(crop, grams)| ((*crop).to_owned(), Grams::new(*grams))).collect()
    }

    #[test]
    fn it_is_filled_within_what_the_food_bank_takes() {
        let free = lines(&[("oyster", 3000), ("shiitake", 4000), ("oyster", 2000)]);
        let both = (Grams::new(2000), Grams::new(8000));
        let all = |_: &str| true;
        assert_eq!(fill(&free, Grams::ZERO, both, all), Fill::Bring(lines(&[("oyster", 4000), ("shiitake", 4000)])));
        assert_eq!(fill(&free, Grams::ZERO, both, |crop| crop == "oyster"), Fill::Bring(lines(&[("oyster", 5000)])));
        assert_eq!(fill(&free, Grams::ZERO, both, |crop| crop == "maitake"), Fill::Nothing);
        assert_eq!(fill(&free, Grams::new(8000), both, all), Fill::Nothing);
        let little = lines(&[("oyster", 500)]);
        assert_eq!(fill(&little, Grams::ZERO, both, all), Fill::TooLittle { free: Grams::new(500) });
        // Beside what is in it already a little is worth taking along.
        assert_eq!(fill(&little, Grams::new(3000), both, all), Fill::Bring(little.clone()));
        assert_eq!(fill(&lines(&[("oyster", -5)]), Grams::ZERO, both, all), Fill::Nothing);
    }

    proptest! {
        #[test]
        fn it_never_brings_more_than_is_free_or_taken(
            free in prop::collection::vec((0usize..3, -10i64..5000), 0..8),
            already in 0i64..4000, least in 0i64..3000, more in 0i64..6000,
        ) {
            let names = ["oyster", "shiitake", "maitake"];
            let free: Vec<_> = free.into_iter().map(|(crop, grams)| (names[crop].to_owned(), Grams::new(grams))).collect();
            let greatest = Grams::new(least + more);
            let found = fill(&free, Grams::new(already), (Grams::new(least), greatest), |crop| crop != "maitake");
            if let Fill::Bring(lines) = found {
                let sum: Grams = lines.iter().map(|(_, grams)| *grams).sum();
                prop_assert!(Grams::new(already) + sum <= greatest.less(Grams::ZERO).max(Grams::new(already)));
                prop_assert!(Grams::new(already) + sum >= Grams::new(least));
                for (crop, grams) in &lines {
                    let there: Grams =
                        free.iter().filter(|(of, _)| of == crop).map(|(_, grams)| grams.less(Grams::ZERO)).sum();
                    prop_assert!(grams.is_positive() && *grams <= there && crop != "maitake");
                }
            }
        }
    }
}
