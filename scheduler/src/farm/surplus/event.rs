//! What happens to what is left, for whoever has to hear of it.

use super::warmth::Aged;
use crate::clock::LocalDate;
use crate::id::Id;
use crate::quantity::Grams;
use crate::surplus::claim::Claim;
use crate::surplus::offer::Offer;

/// Something that has happened.
#[derive(Clone, Debug)]
pub enum Event {
    /// Buyers are asked about an offer, in this order.
    Asked {
        offer: Offer,
        buyers: Vec<Id>,
    },
    /// What is left of an offer, or whether it is open, is not what it was. `by` is answered by itself.
    OfferChanged {
        offer_id: Id,
        by: Option<Id>,
    },
    /// An order needs this of what nobody has taken.
    Yielded {
        crop: String,
        withdrawn: Grams,
        left: Grams,
    },
    /// The deadline has come; the offer as it was closed.
    Ended {
        offer: Offer,
    },
    Claim(Box<Claimed>, ClaimEvent),
    /// What was kept for a market day that is over, and nobody has said that it went.
    MarketUnsaid {
        lines: Vec<(LocalDate, String, Grams)>,
    },
    /// Nobody has said so, and it counts as having gone to the market.
    MarketAssumed {
        lines: Vec<(String, Grams)>,
    },
    /// Lots that were past their days and leave every list: crop, weight, when it was picked.
    Lapsed {
        lots: Vec<(String, Grams, LocalDate)>,
    },
    /// What goes along with a closed day's delivery is not what it was.
    DayChanged {
        day: LocalDate,
        buyer_id: Id,
    },
    /// After the count something is still free, or past.
    LeftOver,
    /// The cold room is too warm for the shelf days to hold; the lots that keep shorter by it.
    ColdRoomWarm {
        tenths_c: i64,
        aged: Vec<Aged>,
        by: Id,
    },
    /// The farm's rule has made an offer to so many buyers.
    RuleOffers {
        offer: Offer,
        buyers: i64,
    },
    /// The farm's rule gives what does not keep until its time.
    RuleGives {
        crop: String,
        rest: Grams,
    },
}

/// What a buyer took of an offer.
#[derive(Clone, Debug)]
pub struct Claimed {
    pub claim: Claim,
    pub buyer: String,
}

/// What happened to a claim.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ClaimEvent {
    /// It was made; so much is left on offer.
    Made {
        left: Grams,
    },
    GivenBack,
    /// The buyer fetches what was to go along.
    PickedUp,
    /// It has become a line of the delivery of this day.
    GoesAlong {
        day: LocalDate,
    },
    Collected,
    NotCollected,
    /// Nobody has said what became of it: it counts as collected.
    Assumed,
    /// It should have gone and is still here.
    StillHere,
}
