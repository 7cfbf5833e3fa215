//! What a buyer took of an offer. Rule: [`apply`] is the only place where the state of a claim changes.
//!
//! | state | event | then |
//! | --- | --- | --- |
//! | waits for a delivery | join the line | in a delivery's line |
//! | waits for a delivery | pick up | waits to be fetched |
//! | waits | collect, assume | collected |
//! | collected by assumption | collect | collected |
//! | collected by assumption | stay uncollected | given back |
//! | waits | stay uncollected | given back |
//! | waits, in a delivery's line | give back | given back |
//!
//! Everything else is refused. Given back is final, and so is collected once somebody has said it.

use super::offer::Offer;
use crate::clock::{LocalDate, UtcSeconds};
use crate::id::Id;
use crate::quantity::Grams;

/// Where a claim stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum State {
    /// It is set aside in the cold room by itself: for the delivery of a day, or without one for whoever fetches it.
    Waits(Option<LocalDate>),
    /// It has become a part of a delivery's line: the stock it needs is that line's.
    InLine {
        day: LocalDate,
        award_id: Id,
    },
    Collected(UtcSeconds),
    GivenBack(UtcSeconds),
}

/// A claim as kept.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Claim {
    pub id: Id,
    pub offer_id: Id,
    pub buyer_id: Id,
    pub crop: String,
    pub grams: Grams,
    pub at: UtcSeconds,
    pub collect_until: UtcSeconds,
    /// Nobody has said that it was collected.
    pub is_assumed: bool,
    state: State,
}

/// Who takes how much of an offer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Taking {
    pub id: Id,
    pub buyer_id: Id,
    pub grams: Grams,
    /// The delivery it goes along with; fetched at the farm when there is none.
    pub goes_on: Option<LocalDate>,
}

impl Claim {
    /// What is taken of an offer at `at`.
    pub fn of(offer: &Offer, taking: Taking, at: UtcSeconds) -> Claim {
        Claim {
            id: taking.id,
            offer_id: offer.id,
            buyer_id: taking.buyer_id,
            crop: offer.crop.clone(),
            grams: taking.grams,
            at,
            collect_until: offer.collect_until,
            is_assumed: false,
            state: State::Waits(taking.goes_on),
        }
    }

    /// A claim read back from where it was stored.
    pub(crate) fn in_state(self, state: State) -> Claim {
        Claim { state, ..self }
    }

    /// The same, marked as assumed or as said.
    pub(crate) fn with_assumed(self, is_assumed: bool) -> Claim {
        Claim { is_assumed, ..self }
    }

    pub fn state(&self) -> State {
        self.state
    }

    /// Whether its grams wait in the cold room by themselves, not as a delivery's line.
    pub fn waits(&self) -> bool {
        matches!(self.state, State::Waits(_))
    }

    /// Whether it was neither collected nor given back.
    pub fn is_open(&self) -> bool {
        matches!(self.state, State::Waits(_) | State::InLine { .. })
    }

    pub fn is_given_back(&self) -> bool {
        matches!(self.state, State::GivenBack(_))
    }

    /// The delivery it goes along with, or has become part of.
    pub fn goes_on(&self) -> Option<LocalDate> {
        match self.state {
            State::Waits(day) => day,
            State::InLine { day, .. } => Some(day),
            State::Collected(_) | State::GivenBack(_) => None,
        }
    }
}

/// What happens to a claim.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Event {
    /// It becomes a part of this line of the delivery it waits for.
    JoinLine(Id),
    /// The buyer fetches it after all.
    PickUp,
    /// The buyer has fetched it.
    Collect,
    /// Nobody has said in the time for it what became of it.
    Assume,
    /// Nobody came for it.
    StayUncollected,
    /// The buyer gives it back.
    GiveBack,
}

/// The event does not belong to this state.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Refused(pub State);

/// The claim after `event` at `at`.
pub fn apply(claim: &Claim, event: Event, at: UtcSeconds) -> Result<Claim, Refused> {
    let was_assumed = claim.is_assumed;
    let state = match (claim.state, event) {
        (State::Waits(Some(day)), Event::JoinLine(award_id)) => State::InLine { day, award_id },
        (State::Waits(Some(_)), Event::PickUp) => State::Waits(None),
        (State::Waits(_), Event::Collect | Event::Assume) => State::Collected(at),
        (State::Collected(at), Event::Collect) if was_assumed => State::Collected(at),
        (State::Collected(_), Event::StayUncollected) if was_assumed => State::GivenBack(at),
        (State::Waits(_), Event::StayUncollected) => State::GivenBack(at),
        (State::InLine { .. } | State::Waits(_), Event::GiveBack) => State::GivenBack(at),
        (state, _) => return Err(Refused(state)),
    };
    Ok(Claim { is_assumed: event == Event::Assume, ..claim.clone().in_state(state) })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const AT: UtcSeconds = UtcSeconds::new(5_000);
    const LINE: Id = Id::new(9);

    fn thursday() -> LocalDate {
        "2026-06-04".parse().expect("a date")
    }

    fn claim(goes_on: Option<LocalDate>) -> Claim {
        let offer = Offer::open(Id::new(1), "oyster", Grams::new(2000), UtcSeconds::new(0));
        Claim::of(&offer, Taking { id: Id::new(2), buyer_id: Id::new(3), grams: Grams::new(500), goes_on }, AT)
    }

    #[test]
    fn a_claim_goes_its_way() {
        use Event::{Collect, GiveBack, JoinLine, PickUp, StayUncollected};
        let (along, day) = (Some(thursday()), thursday());
        let in_line = State::InLine { day, award_id: LINE };
        for (goes_on, events, expected) in [
            (along, vec![JoinLine(LINE)], Ok(in_line)),
            (along, vec![JoinLine(LINE), GiveBack], Ok(State::GivenBack(AT))),
            (along, vec![PickUp, Collect], Ok(State::Collected(AT))),
            (along, vec![Collect], Ok(State::Collected(AT))),
            (None, vec![Collect], Ok(State::Collected(AT))),
            (None, vec![GiveBack], Ok(State::GivenBack(AT))),
            (None, vec![StayUncollected], Ok(State::GivenBack(AT))),
            (along, vec![JoinLine(LINE), StayUncollected], Err(Refused(in_line))),
            (None, vec![JoinLine(LINE)], Err(Refused(State::Waits(None)))),
            (None, vec![PickUp], Err(Refused(State::Waits(None)))),
            (along, vec![JoinLine(LINE), PickUp], Err(Refused(in_line))),
            (along, vec![JoinLine(LINE), Collect], Err(Refused(in_line))),
            (None, vec![Collect, GiveBack], Err(Refused(State::Collected(AT)))),
            (None, vec![GiveBack, GiveBack], Err(Refused(State::GivenBack(AT)))),
        ] {
            let found = events.iter().try_fold(claim(goes_on), |claim, event| apply(&claim, *event, AT));
            assert_eq!(found.map(|claim| claim.state), expected, "{events:?}");
        }
    }

    proptest! {
        /// Whatever is pressed in whatever order: it is collected or given back once, and never both.
        #[test]
        fn a_claim_ends_once(
            is_along in any::<bool>(),
            events in prop::collection::vec(0..5_usize, 0..20),
        ) {
            let events = events.into_iter().map(|number| {
                [Event::JoinLine(LINE), Event::PickUp, Event::Collect, Event::StayUncollected, Event::GiveBack][number]
            });
            let (mut now, mut ends) = (claim(is_along.then(thursday)), 0);
            for event in events {
                if let Ok(next) = apply(&now, event, AT) {
                    prop_assert!(now.is_open());
                    ends += usize::from(!next.is_open());
                    now = next;
                }
            }
            prop_assert!(ends <= 1 && (ends == 0) == now.is_open());
        }
    }
}
