//! One line of a delivery day whose orders are closed, from the promise to what went out. [`Award::after`] is the only
//! place where a line's state, promise and delivered weight are assigned.
//!
//! | state   | what it means                              | left by |
//! | ---     | ---                                        | --- |
//! | Short   | promised less than asked, not yet answered | Promise, Raise (when all of it is there): Full; an answer: Taken, Swapped, Moved, Dropped; Silence: Silent or Dropped |
//! | Full    | promised as asked                          | GiveBack of all of it: Dropped |
//! | Taken   | the buyer takes what is promised           | Raise to all of it: Full |
//! | Silent  | nobody answered, the promise is delivered  | Raise to all of it: Full |
//! | Swapped | another crop instead of what is missing    | |
//! | Moved   | ordered again for a later delivery         | |
//! | Dropped | given up                                   | Offer: Full |
//!
//! `Weigh`, `Pack`, `Deliver` and `Assume` change weights in every state and leave it. A line that is delivered takes nothing
//! but a correction of that; what was only assumed is confirmed by one.

use crate::clock::LocalDate;
use crate::id::Id;
use crate::people::WhenSilent;
use crate::quantity::Grams;
use serde::{Deserialize, Serialize};

/// Where a line comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Source {
    Standing,
    Once,
    /// Taken in place of a short crop.
    Swap,
    /// Moved here from an earlier delivery.
    Moved,
    /// Taken of an offer, and goes along.
    Offer,
}

/// Where a line stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum State {
    /// Promised as asked.
    Full,
    /// Promised less; the buyer has not answered.
    Short,
    /// The buyer takes what is promised.
    Taken,
    Swapped,
    Moved,
    Dropped,
    /// Nobody answered: the buyer's own default was applied.
    Silent,
}

/// Why a promise became what it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Why {
    Cutoff,
    Taken,
    Swapped,
    Moved,
    Dropped,
    Silent,
    ToppedUp,
    /// Shared anew from the stock that was really there.
    Weighed,
    /// Somebody has said what is packed; sharing anew gives no more than that.
    Packed,
    /// Taken of an offer; the promise is the line's with it.
    Offered,
    /// Handed over; the promise is what was packed.
    Delivered,
    /// Nobody said what was handed over: it counts as delivered as packed.
    Assumed,
}

/// One line of a delivery.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Award {
    pub id: Id,
    pub buyer_id: Id,
    pub day: LocalDate,
    pub crop: String,
    pub source: Source,
    pub asked: Grams,
    pub promised: Grams,
    pub delivered: Option<Grams>,
    /// Nobody has said what was delivered.
    pub is_assumed: bool,
    pub state: State,
}

/// What happens to a line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Event {
    /// Orders are closed, and so much is promised.
    Promise(Grams),
    /// The buyer takes what is promised.
    Take,
    /// The buyer has another crop for what is missing.
    SwapMissing,
    /// The buyer has another crop instead of the whole line.
    SwapWhole,
    /// The buyer orders the whole line again for a later delivery.
    Move,
    /// The buyer wants nothing of it.
    Drop,
    /// The time for answers is over.
    Silence(WhenSilent),
    /// So much more of another crop's shortage is met by this line.
    SwapIn(Grams),
    /// So much of an offer goes along.
    Offer(Grams),
    /// So much of what goes along does not.
    GiveBack(Grams),
    /// More is there: the promise is this.
    Raise(Grams),
    /// Less is there than was promised: the promise is this.
    Weigh(Grams),
    /// This is packed.
    Pack(Grams),
    /// This was handed over.
    Deliver(Grams),
    /// Nobody has said what was handed over in the time for it: this is taken for it.
    Assume(Grams),
}

/// Nothing changes: that cannot happen to a line in this state.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Refused;

impl Event {
    /// What the record gives as the reason.
    pub fn why(self) -> Why {
        match self {
            Event::Promise(_) => Why::Cutoff,
            Event::Take => Why::Taken,
            Event::SwapMissing | Event::SwapWhole | Event::SwapIn(_) => Why::Swapped,
            Event::Move => Why::Moved,
            Event::Drop | Event::GiveBack(_) => Why::Dropped,
            Event::Silence(_) => Why::Silent,
            Event::Offer(_) => Why::Offered,
            Event::Raise(_) => Why::ToppedUp,
            Event::Weigh(_) => Why::Weighed,
            Event::Pack(_) => Why::Packed,
            Event::Deliver(_) => Why::Delivered,
            Event::Assume(_) => Why::Assumed,
        }
    }
}

impl Award {
    /// A line of which nothing is promised yet.
    pub fn new(id: Id, (buyer_id, day): (Id, LocalDate), (crop, source): (String, Source)) -> Award {
        let (asked, promised) = (Grams::ZERO, Grams::ZERO);
        let (delivered, is_assumed, state) = (None, false, State::Short);
        Award { id, buyer_id, day, crop, source, asked, promised, delivered, is_assumed, state }
    }

    /// Whether the buyer may still answer.
    pub fn waits(&self) -> bool {
        self.state == State::Short
    }

    /// The line once this has happened to it.
    ///
    /// # Errors
    /// [`Refused`] when it cannot happen now.
    pub fn after(&self, event: Event) -> Result<Award, Refused> {
        use State::{Dropped, Full, Moved, Short, Silent, Swapped, Taken};
        let mut line = self.clone();
        if let Event::Deliver(grams) = event {
            (line.delivered, line.is_assumed) = (Some(grams), false);
            return Ok(line);
        }
        if self.delivered.is_some() {
            return Err(Refused);
        }
        match (self.state, event) {
            (Short, Event::Promise(grams)) => {
                line.promised = grams;
                line.state = if grams >= self.asked { Full } else { Short };
            }
            (Short, Event::Take) => line.state = Taken,
            (Short, Event::SwapMissing) => line.state = Swapped,
            (Short, Event::SwapWhole) => (line.state, line.promised) = (Swapped, Grams::ZERO),
            (Short, Event::Move) => (line.state, line.promised) = (Moved, Grams::ZERO),
            (Short, Event::Drop | Event::Silence(WhenSilent::Drop)) => {
                (line.state, line.promised) = (Dropped, Grams::ZERO);
            }
            (Short, Event::Silence(WhenSilent::Take)) => line.state = Silent,
            (_, Event::SwapIn(grams)) if self.source == Source::Swap => {
                (line.asked, line.promised, line.state) = (self.asked + grams, self.promised + grams, Full);
            }
            (_, Event::Offer(grams)) if self.source == Source::Offer => {
                (line.asked, line.promised, line.state) = (self.asked + grams, self.promised + grams, Full);
            }
            (_, Event::GiveBack(grams)) if self.source == Source::Offer => {
                (line.asked, line.promised) = (self.asked.less(grams), self.promised.less(grams));
                if !line.promised.is_positive() {
                    line.state = Dropped;
                }
            }
            (Full | Short | Taken | Silent, Event::Raise(grams)) if grams > self.promised => {
                line.promised = grams;
                if grams >= self.asked {
                    line.state = Full;
                }
            }
            (_, Event::Weigh(grams)) if grams < self.promised => line.promised = grams,
            (_, Event::Pack(grams)) => line.promised = grams,
            (_, Event::Assume(grams)) => (line.delivered, line.is_assumed) = (Some(grams), true),
            _ => return Err(Refused),
        }
        Ok(line)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn line(source: Source, asked: i64) -> Award {
        let day = "2026-06-04".parse().expect("a day");
        let empty = Award::new(Id::new(1), (Id::new(2), day), ("oyster".into(), source));
        Award { asked: Grams::new(asked), ..empty }
    }

    fn event() -> impl Strategy<Value = Event> {
        let grams = || (0..3000_i64).prop_map(Grams::new);
        prop_oneof![
            grams().prop_map(Event::Promise),
            Just(Event::Take),
            Just(Event::SwapMissing),
            Just(Event::SwapWhole),
            Just(Event::Move),
            Just(Event::Drop),
            Just(Event::Silence(WhenSilent::Take)),
            Just(Event::Silence(WhenSilent::Drop)),
            grams().prop_map(Event::SwapIn),
            grams().prop_map(Event::Offer),
            grams().prop_map(Event::GiveBack),
            grams().prop_map(Event::Raise),
            grams().prop_map(Event::Weigh),
            grams().prop_map(Event::Pack),
            grams().prop_map(Event::Deliver),
            grams().prop_map(Event::Assume),
        ]
    }

    fn source() -> impl Strategy<Value = Source> {
        prop_oneof![Just(Source::Once), Just(Source::Swap), Just(Source::Offer)]
    }

    fn is_answer(event: Event) -> bool {
        use Event::{Drop, Move, Silence, SwapMissing, SwapWhole, Take};
        matches!(event, Take | SwapMissing | SwapWhole | Move | Drop | Silence(_))
    }

    proptest! {
        /// Whatever happens in whatever order.
        #[test]
        fn a_line_keeps_its_rules(source in source(), events in prop::collection::vec(event(), 1..20)) {
            let mut now = line(source, if source == Source::Once { 1000 } else { 0 });
            let mut answers = 0;
            for event in events {
                let Ok(next) = now.after(event) else { continue };
                prop_assert!(next.promised >= Grams::ZERO && next.asked >= Grams::ZERO);
                if is_answer(event) {
                    answers += 1;
                    prop_assert!(now.waits() && !next.waits(), "an answer is taken once");
                }
                if next.promised < now.promised {
                    let may_lower = matches!(event, Event::Promise(_) | Event::Weigh(_) | Event::Pack(_) | Event::GiveBack(_));
                    prop_assert!(may_lower || is_answer(event), "{event:?} lowers a promise");
                }
                if matches!(event, Event::Promise(_) | Event::Raise(_)) && next.state != now.state {
                    prop_assert!(next.state == State::Full && next.promised >= next.asked, "{event:?} fills a line");
                }
                if now.delivered.is_some() {
                    prop_assert!(matches!(event, Event::Deliver(_)), "{event:?} after it went out");
                    prop_assert!(!next.is_assumed, "somebody has said it");
                    prop_assert_eq!((next.promised, next.state), (now.promised, now.state));
                }
                now = next;
            }
            prop_assert!(answers <= 1, "nothing takes a line back to where it waits for an answer");
        }
    }

    #[test]
    fn a_line_goes_from_the_promise_to_what_went_out() {
        let grams = Grams::new;
        let short = line(Source::Once, 1000).after(Event::Promise(grams(600))).expect("orders close once");
        assert_eq!((short.state, short.promised), (State::Short, grams(600)));
        assert_eq!(short.after(Event::Raise(grams(600))), Err(Refused), "no more than there was");
        let full = short.after(Event::Raise(grams(1000))).expect("more is there");
        assert_eq!(full.state, State::Full);
        assert_eq!(full.after(Event::Drop), Err(Refused), "nothing is left to answer");
        let dropped = short.after(Event::Silence(WhenSilent::Drop)).expect("nobody answered");
        assert_eq!((dropped.state, dropped.promised), (State::Dropped, Grams::ZERO));
        let taken =
            short.after(Event::Take).and_then(|line| line.after(Event::Weigh(grams(500)))).expect("less is there");
        assert_eq!((taken.state, taken.promised), (State::Taken, grams(500)));
        let gone = taken.after(Event::Deliver(grams(480))).expect("it went out");
        assert_eq!(gone.after(Event::Pack(grams(400))), Err(Refused));
        assert_eq!(gone.after(Event::Deliver(grams(490))).map(|line| line.delivered), Ok(Some(grams(490))));
        assert_eq!(gone.after(Event::Assume(grams(500))), Err(Refused), "what was said is not assumed over");
        let assumed = taken.after(Event::Assume(grams(500))).expect("nobody said anything");
        assert_eq!((assumed.delivered, assumed.is_assumed), (Some(grams(500)), true));
        assert!(assumed.after(Event::Deliver(grams(500))).is_ok_and(|line| !line.is_assumed), "it was confirmed");
    }
}
