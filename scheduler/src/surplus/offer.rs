//! One offer of one crop to the buyers. Rule: [`apply`] is the only place where an offer changes; takings are served in the
//! order they come and never beyond what is left.
//!
//! | state | event | then |
//! | --- | --- | --- |
//! | open | take | open, with less left |
//! | open | return | open, with more left |
//! | open | yield part of it | open, with less on offer and less left |
//! | open | yield all of it, close | closed |
//! | closed | return | closed, and what is given back is not on offer |
//!
//! Everything else is refused: what is closed is not taken, and not closed again.

use crate::clock::UtcSeconds;
use crate::id::Id;
use crate::money::Cents;
use crate::quantity::Grams;

/// An offer as kept.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Offer {
    pub id: Id,
    pub crop: String,
    pub offered: Grams,
    pub left: Grams,
    /// The least one may take, unless less is left; takings are whole multiples of it.
    pub least: Grams,
    pub price_per_kilogram: Option<Cents>,
    pub made_at: UtcSeconds,
    /// Nothing is taken at or after it.
    pub deadline: UtcSeconds,
    /// What was taken is collected until then.
    pub collect_until: UtcSeconds,
    closed_at: Option<UtcSeconds>,
}

impl Offer {
    /// An open offer of `offered` made at `at`, in steps of a gram, without a price; it ends where it begins.
    pub fn open(id: Id, crop: &str, offered: Grams, at: UtcSeconds) -> Offer {
        Offer {
            id,
            crop: crop.to_owned(),
            offered,
            left: offered,
            least: Grams::new(1),
            price_per_kilogram: None,
            made_at: at,
            deadline: at,
            collect_until: at,
            closed_at: None,
        }
    }

    /// An offer read back from where it was stored.
    pub(crate) fn closed(self, closed_at: Option<UtcSeconds>) -> Offer {
        Offer { closed_at, ..self }
    }

    pub fn is_open(&self) -> bool {
        self.closed_at.is_none()
    }

    pub fn closed_at(&self) -> Option<UtcSeconds> {
        self.closed_at
    }

    /// What was taken and kept, or given back after the offer was closed.
    pub fn taken(&self) -> Grams {
        self.offered - self.left
    }
}

/// What happens to an offer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Event {
    /// A buyer takes so much, or what is left of it.
    Take(Grams),
    /// A buyer gives so much back.
    Return(Grams),
    /// An order needs up to so much of what nobody has taken.
    Yield(Grams),
    Close,
}

/// Why an event changes nothing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Refused {
    /// It is closed, or its deadline has passed.
    Over,
    /// Nothing is left.
    Gone,
    /// Less than the smallest take, or no whole pack.
    TooSmall { smallest: Grams },
}

/// The offer after `event` at `at`. What is taken is whole packs, except that the very last rest goes as it is.
pub fn apply(offer: &Offer, event: Event, at: UtcSeconds) -> Result<Offer, Refused> {
    let next = offer.clone();
    match event {
        Event::Return(grams) if offer.is_open() => Ok(Offer { left: offer.left + grams, ..next }),
        Event::Return(_) => Ok(next),
        _ if !offer.is_open() => Err(Refused::Over),
        Event::Close => Ok(next.closed(Some(at))),
        Event::Take(_) if at >= offer.deadline => Err(Refused::Over),
        Event::Take(_) | Event::Yield(_) if !offer.left.is_positive() => Err(Refused::Gone),
        Event::Take(asked) => {
            // When less is left than the smallest take, the rest itself may be taken.
            let smallest = offer.least.at_most(offer.left);
            let granted = if asked >= offer.left { offer.left } else { asked.floor_to(offer.least) };
            if granted < smallest || !granted.is_positive() {
                return Err(Refused::TooSmall { smallest });
            }
            Ok(Offer { left: offer.left - granted, ..next })
        }
        Event::Yield(needed) if needed >= offer.left => Ok(next.closed(Some(at))),
        Event::Yield(needed) if needed.is_positive() => {
            Ok(Offer { offered: offer.offered - needed, left: offer.left - needed, ..next })
        }
        Event::Yield(_) => Ok(next),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const NOW: UtcSeconds = UtcSeconds::new(100);
    const DEADLINE: UtcSeconds = UtcSeconds::new(1000);

    fn offer(left: i64) -> Offer {
        let offer = Offer::open(Id::new(1), "oyster", Grams::new(left), UtcSeconds::new(0));
        Offer { least: Grams::new(250), deadline: DEADLINE, collect_until: DEADLINE, ..offer }
    }

    #[test]
    fn takings_are_whole_packs_and_never_more_than_is_left() {
        let small = |grams| Err(Refused::TooSmall { smallest: Grams::new(grams) });
        for (left, asked, expected) in [
            (1700, 500, Ok(1200)),
            (1700, 620, Ok(1200)),
            (1700, 1700, Ok(0)),
            (1700, 2000, Ok(0)),
            (1700, 249, small(250)),
            (1700, -5, small(250)),
            (200, 200, Ok(0)),
            (200, 500, Ok(0)),
            (200, 100, small(200)),
            (0, 500, Err(Refused::Gone)),
        ] {
            let next = apply(&offer(left), Event::Take(Grams::new(asked)), NOW);
            assert_eq!(next.map(|next| next.left.get()), expected, "{asked} of {left}");
        }
        assert_eq!(apply(&offer(1700), Event::Take(Grams::new(500)), DEADLINE), Err(Refused::Over));
    }

    #[test]
    fn an_order_takes_only_what_nobody_has_taken() {
        for (needed, left, is_open) in [(300, 700, true), (1000, 1000, false), (1300, 1000, false), (-5, 1000, true)] {
            let next = apply(&offer(1000), Event::Yield(Grams::new(needed)), NOW).expect("it is open");
            assert_eq!((next.left.get(), next.is_open(), next.taken().get()), (left, is_open, 0), "{needed}");
        }
        assert_eq!(apply(&offer(0), Event::Yield(Grams::new(300)), NOW), Err(Refused::Gone));
    }

    #[test]
    fn a_closed_offer_is_closed_once_and_takes_nothing_back() {
        let closed = apply(&offer(1000), Event::Close, NOW).expect("closes");
        assert_eq!(closed.closed_at(), Some(NOW));
        for event in [Event::Close, Event::Take(Grams::new(500)), Event::Yield(Grams::new(500))] {
            assert_eq!(apply(&closed, event, NOW), Err(Refused::Over), "{event:?}");
        }
        assert_eq!(apply(&closed, Event::Return(Grams::new(500)), NOW), Ok(closed.clone()));
    }

    fn event() -> impl Strategy<Value = Event> {
        prop_oneof![
            6 => (-100i64..5000).prop_map(|grams| Event::Take(Grams::new(grams))),
            2 => (1i64..2000).prop_map(|grams| Event::Return(Grams::new(grams))),
            2 => (-100i64..2000).prop_map(|grams| Event::Yield(Grams::new(grams))),
            1 => Just(Event::Close),
        ]
    }

    proptest! {
        /// However many press in whatever order: what is left and what was taken always sum to what is on offer, and
        /// nothing moves once it is closed.
        #[test]
        fn nothing_is_granted_twice(lot in 1i64..20_000, events in prop::collection::vec(event(), 0..60)) {
            let mut now = offer(lot);
            let mut granted = Grams::ZERO;
            for event in events {
                // Nobody gives back more than they have.
                let event = match event {
                    Event::Return(grams) => Event::Return(grams.at_most(granted)),
                    other => other,
                };
                if let Ok(next) = apply(&now, event, NOW) {
                    match event {
                        Event::Take(asked) => {
                            prop_assert!(now.left > next.left && now.left - next.left <= asked);
                            granted += now.left - next.left;
                        }
                        Event::Return(grams) if now.is_open() => granted -= grams,
                        Event::Return(_) | Event::Yield(_) | Event::Close => {}
                    }
                    prop_assert!(now.is_open() || next == now);
                    now = next;
                }
                prop_assert_eq!(granted, now.taken());
                prop_assert!(now.left >= Grams::ZERO && now.offered >= granted);
            }
        }
    }
}
