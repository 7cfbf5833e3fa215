//! One gift on its way to a food bank. Rule: [`apply`] is the only place where the state of a drop changes; every agreed drop
//! has its reminders, however late it was agreed.
//!
//! | state | event | then |
//! | --- | --- | --- |
//! | proposed | agree, agree to another time, agree to a part | agreed |
//! | proposed | stay silent | unanswered |
//! | proposed, agreed | decline | declined |
//! | proposed, agreed | cancel | cancelled |
//! | agreed | remind, add | agreed |
//! | agreed | hand over, assume | handed over |
//! | handed over by assumption | confirm | handed over |
//! | handed over | measure, correct | handed over |
//! | handed over | take back | agreed |
//!
//! Everything else is refused. Declined, unanswered and cancelled are final.

use super::opening::Window;
use crate::clock::{UtcSeconds, instant_at};
use crate::id::Id;
use crate::quantity::Grams;
use chrono::NaiveTime;
use chrono_tz::Tz;
use serde::{Deserialize, Serialize};

/// Where a drop stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum State {
    /// The food bank was asked.
    Proposed,
    Agreed,
    /// Final: the food bank does not want it.
    Declined,
    /// Final: the food bank did not answer in time.
    Unanswered,
    HandedOver,
    /// Final: the family called it off.
    Cancelled,
}

impl State {
    /// Whether its weight is spoken for in the cold room.
    pub fn is_coming(self) -> bool {
        matches!(self, State::Proposed | State::Agreed)
    }
}

/// One crop of a drop.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line {
    pub crop: String,
    pub grams: Grams,
    pub handed: Option<Grams>,
}

/// A drop as kept.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DropOff {
    pub id: Id,
    /// The first drop proposed of the same stock.
    pub chain: Id,
    pub partner_id: Id,
    /// The regular drop it was filled for.
    pub standing_id: Option<Id>,
    state: State,
    /// When the food bank expects it.
    pub window: Window,
    pub proposed_at: UtcSeconds,
    pub answer_by: UtcSeconds,
    pub agreed_at: Option<UtcSeconds>,
    pub eve_reminded_at: Option<UtcSeconds>,
    pub leave_reminded_at: Option<UtcSeconds>,
    pub handed_over_at: Option<UtcSeconds>,
    /// Nobody has said that it was handed over.
    pub is_assumed: bool,
    /// Tenths of a degree Celsius at hand-over.
    pub temperature_dc: Option<i64>,
    /// Each crop once, each weight above zero.
    pub lines: Vec<Line>,
}

impl DropOff {
    /// A proposal made at `at`, the first of its chain, with no lines yet and to be answered at once.
    pub fn proposed(id: Id, partner_id: Id, window: Window, at: UtcSeconds) -> DropOff {
        DropOff {
            id,
            chain: id,
            partner_id,
            standing_id: None,
            state: State::Proposed,
            window,
            proposed_at: at,
            answer_by: at,
            agreed_at: None,
            eve_reminded_at: None,
            leave_reminded_at: None,
            handed_over_at: None,
            is_assumed: false,
            temperature_dc: None,
            lines: Vec::new(),
        }
    }

    /// A drop read back from where it was stored.
    pub(crate) fn in_state(self, state: State) -> DropOff {
        DropOff { state, ..self }
    }

    pub fn state(&self) -> State {
        self.state
    }

    /// All of it.
    pub fn weight(&self) -> Grams {
        self.lines.iter().map(|line| line.grams).sum()
    }

    /// What was handed over.
    pub fn handed(&self) -> Grams {
        self.lines.iter().filter_map(|line| line.handed).sum()
    }

    /// What it brings, as crops and weights.
    pub fn load(&self) -> Vec<(String, Grams)> {
        self.lines.iter().map(|line| (line.crop.clone(), line.grams)).collect()
    }

    /// What was handed over of each crop.
    pub fn handed_load(&self) -> Vec<(String, Grams)> {
        self.lines.iter().filter_map(|line| Some((line.crop.clone(), line.handed?))).collect()
    }

    fn hand(&mut self, handed: &[(String, Grams)], at: UtcSeconds) {
        for line in &mut self.lines {
            let of_crop = handed.iter().filter(|(crop, _)| *crop == line.crop);
            line.handed = Some(of_crop.map(|(_, grams)| *grams).sum());
        }
        self.handed_over_at = Some(at);
    }

    fn line_of(&mut self, crop: &str) -> Option<&mut Line> {
        self.lines.iter_mut().find(|line| line.crop == crop)
    }
}

/// Which reminder of the driver.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reminder {
    Evening,
    Leaving,
}

/// What happens to a drop.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Event {
    /// The food bank agrees to the window proposed.
    Agree,
    /// The food bank chooses another window that the farm offered.
    AgreeTo(Window),
    /// The food bank takes so much of a crop and no more.
    AgreeToPart {
        crop: String,
        grams: Grams,
    },
    Decline,
    /// The time to answer ran out.
    StaySilent,
    /// The driver was reminded.
    Remind(Reminder),
    /// More goes along.
    Add(Vec<(String, Grams)>),
    /// These weights were handed over; nothing of a crop that is not named.
    HandOver(Vec<(String, Grams)>),
    /// Nobody has said in the time for it what was handed over: these weights are taken for it.
    Assume(Vec<(String, Grams)>),
    /// What was assumed was so.
    Confirm,
    /// How warm it was, tenths of a degree Celsius.
    Measure(i64),
    /// Other weights were handed over; a crop that is not named stays as it is.
    Correct(Vec<(String, Grams)>),
    /// It was not handed over after all.
    TakeBack,
    Cancel,
}

/// Why an event changes nothing.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Refused {
    /// It does not belong to this state.
    NotNow(State),
    /// A hand-over of nothing is a cancellation, and has to be said as one.
    NothingHandedOver,
    /// More than was set aside: it would take stock bound elsewhere.
    MoreThanAgreed { agreed: Grams },
    /// The drop has no such crop.
    NotInIt { crop: String },
}

/// The drop after `event` at `at`.
pub fn apply(drop: &DropOff, event: Event, at: UtcSeconds) -> Result<DropOff, Refused> {
    use State::{Agreed, Cancelled, Declined, HandedOver, Proposed, Unanswered};
    let mut next = drop.clone();
    match (drop.state, event) {
        (Proposed, Event::Agree) => {
            next.agreed_at = Some(at);
            Ok(next.in_state(Agreed))
        }
        (Proposed, Event::AgreeTo(window)) => {
            next.agreed_at = Some(at);
            next.window = window;
            Ok(next.in_state(Agreed))
        }
        (Proposed, Event::AgreeToPart { crop, grams }) => {
            let Some(line) = next.line_of(&crop) else { return Err(Refused::NotInIt { crop }) };
            if grams > line.grams || !grams.is_positive() {
                return Err(Refused::MoreThanAgreed { agreed: line.grams });
            }
            line.grams = grams;
            next.agreed_at = Some(at);
            Ok(next.in_state(Agreed))
        }
        (Proposed | Agreed, Event::Decline) => Ok(next.in_state(Declined)),
        (Proposed, Event::StaySilent) => Ok(next.in_state(Unanswered)),
        (Proposed | Agreed, Event::Cancel) => Ok(next.in_state(Cancelled)),
        (Agreed, Event::Remind(Reminder::Evening)) => {
            next.eve_reminded_at = Some(at);
            Ok(next)
        }
        (Agreed, Event::Remind(Reminder::Leaving)) => {
            next.leave_reminded_at = Some(at);
            Ok(next)
        }
        (Agreed, Event::Add(more)) => {
            for (crop, grams) in more {
                match next.line_of(&crop) {
                    Some(line) => line.grams += grams,
                    None => next.lines.push(Line { crop, grams, handed: None }),
                }
            }
            Ok(next)
        }
        (Agreed, Event::HandOver(handed)) => {
            check_handed(drop, &handed)?;
            next.hand(&handed, at);
            Ok(next.in_state(HandedOver))
        }
        (Agreed, Event::Assume(handed)) => {
            check_handed(drop, &handed)?;
            next.hand(&handed, at);
            next.is_assumed = true;
            Ok(next.in_state(HandedOver))
        }
        (HandedOver, Event::Confirm) if drop.is_assumed => {
            next.is_assumed = false;
            Ok(next)
        }
        (HandedOver, Event::Measure(tenths)) => {
            next.temperature_dc = Some(tenths);
            Ok(next)
        }
        (HandedOver, Event::Correct(right)) => {
            next.is_assumed = false;
            for (crop, grams) in right {
                match next.line_of(&crop) {
                    Some(line) => line.handed = Some(grams),
                    None => return Err(Refused::NotInIt { crop }),
                }
            }
            Ok(next)
        }
        (HandedOver, Event::TakeBack) => {
            next.handed_over_at = None;
            next.is_assumed = false;
            next.temperature_dc = None;
            next.lines.iter_mut().for_each(|line| line.handed = None);
            Ok(next.in_state(Agreed))
        }
        (state, _) => Err(Refused::NotNow(state)),
    }
}

/// A hand-over is something, and of no crop more than was agreed.
fn check_handed(drop: &DropOff, handed: &[(String, Grams)]) -> Result<(), Refused> {
    let total: Grams = handed.iter().map(|(_, grams)| *grams).sum();
    if !total.is_positive() {
        return Err(Refused::NothingHandedOver);
    }
    if total > drop.weight() {
        return Err(Refused::MoreThanAgreed { agreed: drop.weight() });
    }
    for (crop, _) in handed {
        let of_crop: Grams = handed.iter().filter(|(other, _)| other == crop).map(|(_, grams)| *grams).sum();
        let agreed = drop.lines.iter().find(|line| line.crop == *crop).map_or(Grams::ZERO, |line| line.grams);
        if of_crop > agreed {
            return Err(Refused::MoreThanAgreed { agreed });
        }
    }
    Ok(())
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
    const AT: UtcSeconds = UtcSeconds::new(5_000);

    fn of(crop: &str, grams: i64) -> (String, Grams) {
        (crop.to_owned(), Grams::new(grams))
    }

    /// Four kilograms of oyster and one of shiitake.
    fn proposal() -> DropOff {
        let mut drop = DropOff::proposed(Id::new(1), Id::new(2), WINDOW, UtcSeconds::new(0));
        let line = |(crop, grams)| Line { crop, grams, handed: None };
        drop.lines = [of("oyster", 4000), of("shiitake", 1000)].map(line).to_vec();
        drop
    }

    fn walk(events: &[Event]) -> Result<DropOff, Refused> {
        events.iter().try_fold(proposal(), |drop, event| apply(&drop, event.clone(), AT))
    }

    #[test]
    fn a_part_is_agreed_and_never_more_than_was_proposed() {
        let part = |crop: &str, grams| Event::AgreeToPart { crop: crop.to_owned(), grams: Grams::new(grams) };
        let agreed = walk(&[part("oyster", 1500)]).expect("a part");
        assert_eq!((agreed.state(), agreed.load()), (State::Agreed, vec![of("oyster", 1500), of("shiitake", 1000)]));
        let agreed = Grams::new(4000);
        assert_eq!(walk(&[part("oyster", 4001)]), Err(Refused::MoreThanAgreed { agreed }));
        assert_eq!(walk(&[part("oyster", 0)]), Err(Refused::MoreThanAgreed { agreed }));
        assert_eq!(walk(&[part("enoki", 10)]), Err(Refused::NotInIt { crop: "enoki".to_owned() }));
        assert_eq!(walk(&[Event::Agree, part("oyster", 10)]), Err(Refused::NotNow(State::Agreed)));
    }

    #[test]
    fn a_drop_goes_its_way() {
        use Event::{Add, Agree, AgreeTo, Cancel, Correct, Decline, HandOver, Measure, Remind, StaySilent, TakeBack};
        let all = || HandOver(vec![of("oyster", 4000), of("shiitake", 1000)]);
        let remind = [Agree, Remind(Reminder::Evening), Remind(Reminder::Leaving)];
        for (events, state, handed) in [
            (vec![Agree], State::Agreed, 0),
            (vec![AgreeTo(LATER)], State::Agreed, 0),
            (remind.to_vec(), State::Agreed, 0),
            ([remind.as_slice(), &[all()]].concat(), State::HandedOver, 5000),
            (vec![Agree, HandOver(vec![of("oyster", 4000)])], State::HandedOver, 4000),
            (vec![Agree, Add(vec![of("oyster", 500)]), HandOver(vec![of("oyster", 4500)])], State::HandedOver, 4500),
            (vec![Agree, all(), Measure(33), Correct(vec![of("shiitake", 1200)])], State::HandedOver, 5200),
            (vec![Agree, all(), Measure(33), TakeBack], State::Agreed, 0),
            (vec![StaySilent], State::Unanswered, 0),
            (vec![Decline], State::Declined, 0),
            (vec![Agree, Decline], State::Declined, 0),
            (vec![Agree, Remind(Reminder::Evening), Cancel], State::Cancelled, 0),
        ] {
            let drop = walk(&events).expect("every step is allowed");
            assert_eq!((drop.state, drop.handed()), (state, Grams::new(handed)), "{events:?}");
        }
        let moved = walk(&[AgreeTo(LATER)]).expect("agreed");
        assert_eq!((moved.window, moved.agreed_at), (LATER, Some(AT)));
        let reminded = walk(&remind).expect("reminded");
        assert_eq!((reminded.eve_reminded_at, reminded.leave_reminded_at), (Some(AT), Some(AT)));
        let back = walk(&[Agree, all(), Measure(33), TakeBack]).expect("taken back");
        assert_eq!(back, walk(&[Agree]).expect("agreed"), "as if it had not been handed over");
    }

    #[test]
    fn steps_out_of_turn_change_nothing() {
        use Event::{Add, Agree, Cancel, Correct, HandOver, Measure, Remind, StaySilent, TakeBack};
        let agreed = |grams| Refused::MoreThanAgreed { agreed: Grams::new(grams) };
        let oyster = |grams| HandOver(vec![of("oyster", grams)]);
        for (events, expected) in [
            (vec![oyster(4000)], Refused::NotNow(State::Proposed)),
            (vec![Remind(Reminder::Evening)], Refused::NotNow(State::Proposed)),
            (vec![Add(vec![of("oyster", 1)])], Refused::NotNow(State::Proposed)),
            (vec![Agree, Agree], Refused::NotNow(State::Agreed)),
            (vec![Agree, StaySilent], Refused::NotNow(State::Agreed)),
            (vec![Agree, Measure(30)], Refused::NotNow(State::Agreed)),
            (vec![Agree, TakeBack], Refused::NotNow(State::Agreed)),
            (vec![Agree, oyster(4000), Cancel], Refused::NotNow(State::HandedOver)),
            (vec![Cancel, Agree], Refused::NotNow(State::Cancelled)),
            (vec![Agree, oyster(0)], Refused::NothingHandedOver),
            (vec![Agree, oyster(5001)], agreed(5000)),
            (vec![Agree, oyster(4001)], agreed(4000)),
            (vec![Agree, HandOver(vec![of("oyster", 2500), of("oyster", 2000)])], agreed(4000)),
            (vec![Agree, HandOver(vec![of("lions-mane", 10)])], agreed(0)),
            (
                vec![Agree, oyster(4000), Correct(vec![of("lions-mane", 10)])],
                Refused::NotInIt { crop: "lions-mane".into() },
            ),
        ] {
            assert_eq!(walk(&events), Err(expected), "{events:?}");
        }
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

    fn lines() -> impl Strategy<Value = Vec<(String, Grams)>> {
        let line = (prop_oneof![Just("oyster"), Just("shiitake"), Just("lions-mane")], -10i64..5000);
        prop::collection::vec(line.prop_map(|(crop, grams)| of(crop, grams)), 0..4)
    }

    fn event() -> impl Strategy<Value = Event> {
        prop_oneof![
            3 => Just(Event::Agree),
            1 => Just(Event::AgreeTo(LATER)),
            1 => Just(Event::Decline),
            1 => Just(Event::StaySilent),
            1 => Just(Event::Remind(Reminder::Evening)),
            1 => Just(Event::Remind(Reminder::Leaving)),
            4 => lines().prop_map(Event::HandOver),
            1 => (0i64..100).prop_map(Event::Measure),
            2 => Just(Event::TakeBack),
            1 => Just(Event::Cancel),
        ]
    }

    proptest! {
        /// Whatever is pressed in whatever order: what is final stays so, never more is handed over than was agreed, and
        /// the weight handed over, its time and its temperature are there only in the state they belong to.
        #[test]
        fn a_drop_holds_in_any_order_of_events(events in prop::collection::vec(event(), 0..30)) {
            let mut drop = proposal();
            for event in events {
                let before = drop.state;
                if let Ok(next) = apply(&drop, event.clone(), AT) {
                    let is_final = matches!(before, State::Declined | State::Unanswered | State::Cancelled);
                    prop_assert!(!is_final, "{event:?} after {before:?}");
                    drop = next;
                }
                let is_handed_over = drop.state == State::HandedOver;
                prop_assert_eq!(drop.handed().is_positive(), is_handed_over);
                prop_assert_eq!(drop.handed_over_at.is_some(), is_handed_over);
                prop_assert!(drop.temperature_dc.is_none() || is_handed_over);
                for line in &drop.lines {
                    prop_assert!(line.handed.is_none_or(|handed| handed <= line.grams), "{line:?}");
                }
            }
        }
    }
}
