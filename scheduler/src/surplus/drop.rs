//! One gift on its way to a food bank. Rule: a step not listed here does not happen; once handed over, refused or
//! cancelled it is over; every agreed drop has its reminders, however late it was agreed.

use super::opening::Window;
use crate::clock::{UtcSeconds, instant_at};
use crate::quantity::Grams;
use chrono::NaiveTime;
use chrono_tz::Tz;

/// Where a drop stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum State {
    /// The partner was asked.
    Proposed,
    /// The partner would rather have it then; the family answers.
    OtherTime(Window),
    Agreed,
    /// The driver was reminded at least once.
    Reminded,
    Arrived,
    /// Over: all of it was handed over.
    HandedOver(Grams),
    /// Over: less than agreed was handed over.
    Short(Grams),
    /// Over: the partner does not want it.
    Declined,
    /// Over: the partner did not answer in time.
    Unanswered,
    /// Over: the family called it off.
    Cancelled,
}

impl State {
    /// Whether nothing more happens to it; until then its weight is spoken for in the cold room.
    pub fn is_over(self) -> bool {
        use State::{Cancelled, Declined, HandedOver, Short, Unanswered};
        matches!(self, HandedOver(_) | Short(_) | Declined | Unanswered | Cancelled)
    }
}

/// What happens to a drop.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Event {
    /// The partner agrees.
    Agree,
    /// The partner names another time.
    SuggestOtherTime(Window),
    /// The family takes the partner's other time.
    AcceptOtherTime,
    Decline,
    /// The time to answer ran out.
    StaySilent,
    /// The driver was reminded.
    Remind,
    Arrive,
    HandOver(Grams),
    Cancel,
}

/// A drop.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Drop {
    pub state: State,
    /// When the partner expects it.
    pub window: Window,
    /// The weight spoken of, above zero.
    pub weight: Grams,
}

/// What an event comes to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Step {
    To(Drop),
    /// The event does not belong here; nothing is changed.
    NotNow(State),
    /// A hand-over of nothing is a cancellation, and has to be said as one.
    NothingHandedOver,
    /// More than was set aside: it would take stock bound elsewhere.
    MoreThanAgreed {
        agreed: Grams,
    },
}

/// A proposal of `weight` in `window`; `None` when there is nothing to give.
pub fn propose(window: Window, weight: Grams) -> Option<Drop> {
    weight.is_positive().then_some(Drop { state: State::Proposed, window, weight })
}

/// Applies `event` to `drop`.
pub fn apply(drop: Drop, event: Event) -> Step {
    use State::{Agreed, Arrived, OtherTime, Proposed, Reminded};
    let to = |state| Step::To(Drop { state, ..drop });
    match (drop.state, event) {
        (Proposed, Event::Agree) => to(Agreed),
        (Proposed | OtherTime(_), Event::SuggestOtherTime(window)) => to(OtherTime(window)),
        (OtherTime(window), Event::AcceptOtherTime) => Step::To(Drop { state: Agreed, window, ..drop }),
        (Proposed | OtherTime(_) | Agreed | Reminded, Event::Decline) => to(State::Declined),
        (Proposed, Event::StaySilent) => to(State::Unanswered),
        (Agreed | Reminded, Event::Remind) => to(Reminded),
        (Agreed | Reminded, Event::Arrive) => to(Arrived),
        (Agreed | Reminded | Arrived, Event::HandOver(weight)) => hand_over(drop, weight),
        (state, Event::Cancel) if !state.is_over() => to(State::Cancelled),
        (state, _) => Step::NotNow(state),
    }
}

fn hand_over(drop: Drop, weight: Grams) -> Step {
    if !weight.is_positive() {
        Step::NothingHandedOver
    } else if weight > drop.weight {
        Step::MoreThanAgreed { agreed: drop.weight }
    } else if weight < drop.weight {
        Step::To(Drop { state: State::Short(weight), ..drop })
    } else {
        Step::To(Drop { state: State::HandedOver(weight), ..drop })
    }
}

/// How the driver is reminded.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Reminding {
    /// Wall time of the reminder on the evening before.
    pub evening: NaiveTime,
    pub minutes_to_get_there: i64,
    /// Minutes between the second reminder and having to leave.
    pub margin_minutes: i64,
}

/// The instants of one agreed drop.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Reminders {
    pub evening_before: UtcSeconds,
    pub before_leaving: UtcSeconds,
    /// The family is asked if nobody said it was handed over.
    pub ask_after: UtcSeconds,
}

/// The instants for a drop in `window` agreed at `agreed_at`. A reminder whose time had passed then is due at once.
pub fn reminders(window: Window, how: Reminding, agreed_at: UtcSeconds, zone: Tz) -> Reminders {
    let day = window.opens_at.local_date(zone);
    let evening = instant_at(day.pred_opt().unwrap_or(day), how.evening, zone);
    let leaving = window.opens_at.plus_minutes(-(how.minutes_to_get_there + how.margin_minutes));
    Reminders {
        evening_before: evening.max(agreed_at),
        before_leaving: leaving.max(agreed_at),
        ask_after: window.closes_at.max(agreed_at),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use chrono_tz::America::Chicago;
    use chrono_tz::Europe::Lisbon;
    use proptest::prelude::*;

    fn utc(text: &str) -> UtcSeconds {
        chrono::DateTime::parse_from_rfc3339(text).expect("an instant").into()
    }

    const WINDOW: Window = Window { opens_at: UtcSeconds::new(10_000), closes_at: UtcSeconds::new(20_000) };
    const LATER: Window = Window { opens_at: UtcSeconds::new(30_000), closes_at: UtcSeconds::new(40_000) };

    fn drop_in(state: State) -> Drop {
        Drop { state, ..propose(WINDOW, Grams::new(5000)).expect("a drop") }
    }

    fn walk(events: &[Event]) -> Step {
        let mut step = Step::To(drop_in(State::Proposed));
        for event in events {
            let Step::To(drop) = step else { return step };
            step = apply(drop, *event);
        }
        step
    }

    #[test]
    fn a_drop_goes_its_way() {
        let all = Grams::new(5000);
        let to = |state| Step::To(drop_in(state));
        let handed_over = [Event::Agree, Event::Remind, Event::Remind, Event::Arrive, Event::HandOver(all)];
        assert_eq!(walk(&handed_over), to(State::HandedOver(all)));
        let some = Grams::new(4200);
        assert_eq!(walk(&[Event::Agree, Event::HandOver(some)]), to(State::Short(some)));
        let moved = walk(&[Event::SuggestOtherTime(LATER), Event::AcceptOtherTime]);
        assert_eq!(moved, Step::To(Drop { window: LATER, ..drop_in(State::Agreed) }));
        assert_eq!(walk(&[Event::StaySilent]), to(State::Unanswered));
        assert_eq!(walk(&[Event::Agree, Event::Decline]), to(State::Declined));
        assert_eq!(walk(&[Event::Agree, Event::Remind, Event::Cancel]), to(State::Cancelled));
    }

    #[test]
    fn steps_out_of_turn_change_nothing() {
        let more = Grams::new(5001);
        for (events, expected) in [
            (vec![Event::HandOver(Grams::new(5000))], Step::NotNow(State::Proposed)),
            (vec![Event::Remind], Step::NotNow(State::Proposed)),
            (vec![Event::AcceptOtherTime], Step::NotNow(State::Proposed)),
            (vec![Event::Agree, Event::Agree], Step::NotNow(State::Agreed)),
            (vec![Event::Agree, Event::StaySilent], Step::NotNow(State::Agreed)),
            (vec![Event::Cancel, Event::Agree], Step::NotNow(State::Cancelled)),
            (vec![Event::Agree, Event::HandOver(Grams::ZERO)], Step::NothingHandedOver),
            (vec![Event::Agree, Event::HandOver(more)], Step::MoreThanAgreed { agreed: Grams::new(5000) }),
        ] {
            assert_eq!(walk(&events), expected, "{events:?}");
        }
        assert_eq!(propose(WINDOW, Grams::ZERO), None);
    }

    /// Saturday 15:00-18:00, half an hour away, a quarter of an hour to get ready, reminded at 20:00 the evening
    /// before. The Saturdays stand on both sides of the changes of 2026, and on the Sundays of the change (IANA data).
    #[test]
    fn reminders_come_at_the_right_wall_time() {
        let evening = NaiveTime::from_hms_opt(20, 0, 0).expect("a time");
        let how = Reminding { evening, minutes_to_get_there: 30, margin_minutes: 15 };
        for (zone, opens, evening_before, before_leaving) in [
            (Chicago, "2026-10-31T20:00:00Z", "2026-10-31T01:00:00Z", "2026-10-31T19:15:00Z"),
            (Chicago, "2026-11-01T21:00:00Z", "2026-11-01T01:00:00Z", "2026-11-01T20:15:00Z"),
            (Chicago, "2026-11-07T21:00:00Z", "2026-11-07T02:00:00Z", "2026-11-07T20:15:00Z"),
            (Chicago, "2026-03-08T20:00:00Z", "2026-03-08T02:00:00Z", "2026-03-08T19:15:00Z"),
            (Lisbon, "2026-10-24T14:00:00Z", "2026-10-23T19:00:00Z", "2026-10-24T13:15:00Z"),
            (Lisbon, "2026-10-25T15:00:00Z", "2026-10-24T19:00:00Z", "2026-10-25T14:15:00Z"),
            (Lisbon, "2026-03-29T14:00:00Z", "2026-03-28T20:00:00Z", "2026-03-29T13:15:00Z"),
        ] {
            let window = Window { opens_at: utc(opens), closes_at: utc(opens).plus_minutes(180) };
            let found = reminders(window, how, UtcSeconds::new(0), zone);
            assert_eq!(found.evening_before, utc(evening_before), "{zone} {opens}");
            assert_eq!(found.before_leaving, utc(before_leaving), "{zone} {opens}");
            assert_eq!(found.ask_after, window.closes_at);
            // Agreed an hour before it opens: both reminders are due at once, none is lost.
            let late = utc(opens).plus_minutes(-20);
            let found = reminders(window, how, late, zone);
            assert_eq!((found.evening_before, found.before_leaving), (late, late));
        }
    }

    fn event() -> impl Strategy<Value = Event> {
        prop_oneof![
            Just(Event::Agree),
            Just(Event::SuggestOtherTime(LATER)),
            Just(Event::AcceptOtherTime),
            Just(Event::Decline),
            Just(Event::StaySilent),
            Just(Event::Remind),
            Just(Event::Arrive),
            (-10i64..6000).prop_map(|grams| Event::HandOver(Grams::new(grams))),
            Just(Event::Cancel),
        ]
    }

    proptest! {
        /// Whatever is pressed in whatever order: never more than agreed, and what is over stays over.
        #[test]
        fn what_is_over_stays_over(events in prop::collection::vec(event(), 0..20)) {
            let mut drop = drop_in(State::Proposed);
            for event in events {
                let before = drop;
                if let Step::To(after) = apply(drop, event) {
                    prop_assert!(!before.state.is_over());
                    drop = after;
                }
                if let State::HandedOver(weight) | State::Short(weight) = drop.state {
                    prop_assert!(weight.is_positive() && weight <= drop.weight);
                }
            }
        }
    }
}
