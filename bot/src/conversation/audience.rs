//! Who is told of what has happened: one table for every event of the farm. Whoever asked for it is answered by the task
//! itself and is not in the table.

use super::packing::list::card as packing_card;
use scheduler::farm::Event;
use scheduler::farm::closed_day::Occasion;
use scheduler::farm::event::Unsaid;
use scheduler::farm::giving::event::{Event as Giving, GiftEvent, RegularEvent, WhySkipped};
use scheduler::farm::surplus::event::{ClaimEvent, Event as Surplus};
use scheduler::farm::underway::OnTheRoad;
use scheduler::id::Id;
use scheduler::people::Role;

/// Whom a notice is for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Audience {
    /// The family: in their group chat where there is one, otherwise each of them.
    Everyone,
    Keepers,
    /// The keepers but the one who did it.
    OtherKeepers {
        of: Id,
    },
    /// Those who carry; the keepers where nobody is a driver.
    Drivers,
    /// Those who carry, and the keepers.
    DriversAndKeepers,
    /// The contacts of a restaurant.
    Buyer(Id),
    /// The contacts of a restaurant but the one who did it.
    Colleagues {
        buyer_id: Id,
        of: Id,
    },
    /// The contacts of the restaurants that were asked about an offer, but the one who did it.
    Asked {
        offer_id: Id,
        of: Option<Id>,
    },
    /// The contacts of a food bank.
    Partner(Id),
    /// The contacts of a food bank but the one who did it.
    OtherContacts {
        partner_id: Id,
        of: Id,
    },
    /// Whoever still has this card to press: it is settled.
    Card(String),
}

/// Who is told of an event, in this order.
pub fn of(event: &Event) -> Vec<Audience> {
    match event {
        Event::OrdersChanged(changed) => {
            vec![Audience::Colleagues { buyer_id: changed.book.buyer_id, of: changed.by }]
        }
        Event::Surplus(event) => of_surplus(event),
        Event::Giving(event) => of_giving(event),
        Event::BuyerDay(day, Occasion::AnsweredBy { person_id, .. }) => {
            vec![Audience::Colleagues { buyer_id: day.buyer_id, of: *person_id }]
        }
        Event::BuyerDay(day, _) => vec![Audience::Buyer(day.buyer_id)],
        Event::EarlyWarning(_) => vec![Audience::Keepers],
        Event::PackingAssumed(list) => vec![Audience::Card(packing_card(list.closed.day)), Audience::Drivers],
        Event::RunUnsaid { unsaid: Unsaid::JustOver, .. } => vec![Audience::Drivers],
        Event::RunUnsaid { unsaid: Unsaid::DayBefore, .. } | Event::RunAssumed { .. } => {
            vec![Audience::DriversAndKeepers]
        }
        Event::OnTheRoad(OnTheRoad::Late { buyer, .. } | OnTheRoad::NobodyThere { buyer, .. }) => {
            vec![Audience::Buyer(*buyer), Audience::Keepers]
        }
        Event::PackingList(_)
        | Event::DayTable(_)
        | Event::NothingOrdered { .. }
        | Event::DayCut { .. }
        | Event::PickingDue { .. } => {
            vec![Audience::Everyone]
        }
    }
}

fn of_surplus(event: &Surplus) -> Vec<Audience> {
    match event {
        Surplus::Asked { buyers, .. } => buyers.iter().map(|buyer| Audience::Buyer(*buyer)).collect(),
        Surplus::OfferChanged { offer_id, by } => vec![Audience::Asked { offer_id: *offer_id, of: *by }],
        Surplus::ColdRoomWarm { by, .. } => vec![Audience::OtherKeepers { of: *by }],
        Surplus::DayChanged { buyer_id, .. } => vec![Audience::Buyer(*buyer_id)],
        Surplus::Yielded { .. }
        | Surplus::Ended { .. }
        | Surplus::LeftOver
        | Surplus::MarketUnsaid { .. }
        | Surplus::MarketAssumed { .. }
        | Surplus::Lapsed { .. }
        | Surplus::RuleOffers { .. }
        | Surplus::RuleGives { .. } => vec![Audience::Keepers],
        Surplus::Claim(claimed, what) => {
            let card = Audience::Card(claim_card(claimed.claim.id));
            match what {
                ClaimEvent::Made { .. } | ClaimEvent::StillHere | ClaimEvent::Assumed => vec![Audience::Keepers],
                ClaimEvent::GivenBack | ClaimEvent::PickedUp => vec![card],
                ClaimEvent::GoesAlong { .. } | ClaimEvent::Collected | ClaimEvent::NotCollected => {
                    vec![card, Audience::Buyer(claimed.claim.buyer_id)]
                }
            }
        }
    }
}

fn of_giving(event: &Giving) -> Vec<Audience> {
    match event {
        Giving::Gift(gift, what) => {
            let partner = Audience::Partner(gift.bank.id);
            let card = |kind| Audience::Card(gift_card(kind, gift.drop.id));
            match what {
                GiftEvent::Proposed { .. } | GiftEvent::MoreGoes => vec![partner, Audience::Keepers],
                GiftEvent::Agreed => vec![card("gift"), Audience::Keepers, Audience::Drivers],
                GiftEvent::Filled => vec![partner, Audience::Keepers, Audience::Drivers],
                GiftEvent::PassedOn => vec![card("gift"), card("keep"), card("drop"), Audience::Everyone],
                // A keeper who did it has read it.
                GiftEvent::CalledOff(by) | GiftEvent::HandedOver(by) if by.role == Role::Keeper => vec![partner],
                GiftEvent::CalledOff(_) | GiftEvent::HandedOver(_) => vec![partner, Audience::Keepers],
                GiftEvent::Reminded(_) => vec![Audience::Drivers],
                GiftEvent::NotHeard => vec![Audience::Drivers, Audience::Keepers],
                GiftEvent::Assumed | GiftEvent::Lapsed => {
                    vec![card("drop"), card("keep"), Audience::DriversAndKeepers]
                }
                GiftEvent::TakenBack | GiftEvent::Corrected => vec![partner],
            }
        }
        Giving::NobodyTakes(_) => vec![Audience::Keepers],
        Giving::Skipped(skipped) => match skipped.why {
            WhySkipped::NothingFree | WhySkipped::TooLittleFree(_) => {
                vec![Audience::Everyone, Audience::Partner(skipped.bank.id)]
            }
            WhySkipped::Closed | WhySkipped::Full => vec![Audience::Everyone],
        },
        Giving::Regular(regular, what, by) => match what {
            RegularEvent::Proposed => vec![Audience::Partner(regular.bank.id)],
            RegularEvent::Agreed | RegularEvent::Declined | RegularEvent::Stopped => vec![
                Audience::OtherContacts { partner_id: regular.bank.id, of: by.person_id },
                Audience::OtherKeepers { of: by.person_id },
            ],
            RegularEvent::DateSet { .. } if by.role == Role::Pantry => vec![Audience::Keepers],
            RegularEvent::DateSet { .. } => vec![Audience::Partner(regular.bank.id)],
        },
    }
}

/// The name of the keepers' card of a claim.
pub fn claim_card(claim_id: Id) -> String {
    format!("claim-{claim_id}")
}

/// The name of a card of a drop: the food bank's ("gift"), the keepers' ("keep") or the driver's ("drop").
pub fn gift_card(kind: &str, drop_id: Id) -> String {
    format!("{kind}-{drop_id}")
}
