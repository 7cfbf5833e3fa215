//! What is left: counted, offered to buyers, kept for the market, dried. Rule: promised stock is never touched.

mod best;
mod claims;
mod counted;
mod drying;
mod left;
mod market;
pub mod next;
mod offer_card;
mod offering;
mod rule_text;
mod rules;
mod telling;
pub mod warmth;

pub(super) use offer_card::fresh_card;
pub use rules::wish as rule_wish;
pub use telling::tell;

use super::{Desk, Letter};
use crate::intent::answer::{self, Answer};
use crate::wording::{Args, key};
use chrono::Weekday;
use scheduler::clock::LocalDate;
use scheduler::farm::stocktake::Reason;
use scheduler::farm::surplus::advice::{Best, Step};
use scheduler::farm::surplus::rules::Wanted;
use scheduler::id::Id;
use scheduler::people::Person;
use scheduler::quantity::Grams;
use scheduler::store;
use scheduler::store::cold_room::MoveKind;
use scheduler::store::surplus::MarketHold;
use serde::{Deserialize, Serialize};

/// What a person can want here.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Ask {
    /// What is left?
    Left,
    /// Leave it as it is.
    Leave,
    /// Do what was advised for lots of a crop, the first of which keeps until that day.
    Best {
        crop: String,
        keeps_until: LocalDate,
        steps: Vec<Step>,
    },
    /// Offer all that is free of a crop to the buyers.
    Offer {
        crop: String,
    },
    /// Take an offer back; what was taken stays taken.
    Withdraw {
        offer: Id,
    },
    /// How much to keep for the market?
    Keep {
        crop: String,
    },
    KeepWeight {
        crop: String,
        day: LocalDate,
        grams: Grams,
    },
    Release {
        crop: String,
        day: LocalDate,
        grams: Grams,
    },
    /// Everything kept for today.
    ToMarket {},
    /// What came back?
    MarketBack,
    /// Without lines: nothing came back.
    MarketReturn {
        lines: Vec<(String, Grams)>,
        /// The day somebody named; what comes back is entered when it is told, whatever the day.
        #[serde(default)]
        day: Option<LocalDate>,
    },
    Dried {
        crop: String,
        grams: Grams,
    },
    Discarded {
        crop: String,
        grams: Grams,
    },
    /// These weights are thrown away.
    ThrowAway {
        lines: Vec<(String, Grams)>,
    },
    /// What lies in the cold room?
    Count,
    /// This was counted in the cold room.
    Counted {
        lines: Vec<(String, Grams)>,
    },
    /// The books are set to this; the reason where something is missing.
    SetRight {
        lines: Vec<(String, Grams)>,
        reason: Option<Reason>,
    },
    /// Undoes a drying or a throwing away.
    PutBack {
        kind: MoveKind,
        parts: Vec<(Id, Grams)>,
    },
    /// Which scale is the cold room's temperature on? Tenths of a degree as typed.
    ColdRoomScale {
        tenths: i64,
    },
    /// The cold room is this warm, tenths of a degree Celsius.
    ColdRoomWarmth {
        tenths_c: i64,
    },
    /// What is done by itself with what is left?
    Rules,
    /// On which day does the offer of a crop, or of all, end?
    RuleDay {
        crop: Option<String>,
    },
    RuleTime {
        crop: Option<String>,
        weekday: Weekday,
    },
    /// Offer until then, give what is left.
    SetRule {
        crop: Option<String>,
        weekday: Weekday,
        minute: u16,
    },
    StopRule {
        rule: Id,
    },
    /// A rule was typed that could not be read.
    RuleUnread,
    /// A buyer takes so much of an offer.
    Take {
        offer: Id,
        grams: Grams,
    },
    /// A buyer wants to type how much.
    TakeOther {
        offer: Id,
    },
    NoThanks {
        offer: Id,
    },
    /// A buyer who passed looks at the offer after all.
    LookAgain {
        offer: Id,
    },
    /// A buyer gives back what they took.
    GiveBack {
        claim: Id,
    },
    /// A buyer fetches what was to go along with a delivery.
    PickUp {
        claim: Id,
    },
    /// The keeper: the buyer has fetched it.
    Collected {
        claim: Id,
    },
    /// The keeper: nobody came for it.
    NotCollected {
        claim: Id,
    },
}

impl Ask {
    /// Whether it is a buyer's to ask; the rest is the family's.
    pub fn is_of_buyer(&self) -> bool {
        matches!(
            self,
            Ask::Take { .. }
                | Ask::TakeOther { .. }
                | Ask::NoThanks { .. }
                | Ask::LookAgain { .. }
                | Ask::GiveBack { .. }
                | Ask::PickUp { .. }
        )
    }

    /// Whether anybody of the family may say it; the rest of the family's is the keeper's.
    pub fn is_of_family(&self) -> bool {
        matches!(
            self,
            Ask::ToMarket { .. }
                | Ask::MarketBack
                | Ask::MarketReturn { .. }
                | Ask::Dried { .. }
                | Ask::Discarded { .. }
                | Ask::ThrowAway { .. }
                | Ask::Count
                | Ask::Counted { .. }
                | Ask::SetRight { .. }
                | Ask::Leave
                | Ask::PutBack { .. }
                | Ask::ColdRoomScale { .. }
                | Ask::ColdRoomWarmth { .. }
        )
    }
}

/// What a chat may answer by typing.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Waiting {
    KeepWeight { crop: String, day: LocalDate },
    MarketBack,
    Counted,
    TakeWeight { offer: Id },
}

/// Does it.
///
/// # Errors
/// Whatever the store fails with.
pub async fn act(desk: &mut Desk<'_>, person: &Person, ask: Ask) -> store::Result<()> {
    match ask {
        Ask::Left => left::show(desk, person, None).await,
        Ask::Leave => {
            let letter = Letter::new(desk.voice(person).say("left-as-it-is", &Args::new()));
            desk.answer(person, letter).await
        }
        Ask::Best { crop, keeps_until, steps } => best::act(desk, person, Best { crop, keeps_until, steps }).await,
        Ask::Offer { crop } => offering::offer_all(desk, person, &crop).await,
        Ask::Withdraw { offer } => offering::withdraw(desk, person, offer).await,
        Ask::Keep { crop } => market::ask_weight(desk, person, &crop).await,
        Ask::KeepWeight { crop, day, grams } => market::keep(desk, person, MarketHold { day, crop, grams }).await,
        Ask::Release { crop, day, grams } => market::release(desk, person, MarketHold { day, crop, grams }).await,
        Ask::ToMarket {} => market::leave(desk, person).await,
        Ask::MarketBack => market::ask_back(desk, person).await,
        Ask::MarketReturn { lines, day } => market::bring_back(desk, person, (lines, day)).await,
        Ask::Dried { crop, grams } => drying::dry(desk, person, (crop, grams)).await,
        Ask::Discarded { crop, grams } => drying::discard(desk, person, (crop, grams)).await,
        Ask::ThrowAway { lines } => counted::throw_away(desk, person, lines).await,
        Ask::Count => counted::ask(desk, person).await,
        Ask::Counted { lines } => counted::compare(desk, person, lines).await,
        Ask::SetRight { lines, reason } => counted::set_right(desk, person, (lines, reason)).await,
        Ask::PutBack { kind, parts } => drying::put_back(desk, person, (kind, parts)).await,
        Ask::ColdRoomScale { tenths } => warmth::which_scale(desk, person, tenths).await,
        Ask::ColdRoomWarmth { tenths_c } => warmth::record(desk, person, tenths_c).await,
        Ask::Rules => rules::show(desk, person, None).await,
        Ask::RuleDay { crop } => rules::ask_day(desk, person, crop).await,
        Ask::RuleTime { crop, weekday } => rules::ask_time(desk, person, (crop, weekday)).await,
        Ask::SetRule { crop, weekday, minute } => rules::set(desk, person, Wanted { crop, weekday, minute }).await,
        Ask::StopRule { rule } => rules::stop(desk, person, rule).await,
        Ask::RuleUnread => rules::unread(desk, person).await,
        Ask::Take { offer, grams } => offering::take(desk, person, (offer, grams)).await,
        Ask::TakeOther { offer } => offering::ask_weight(desk, person, offer).await,
        Ask::NoThanks { offer } => offering::pass(desk, person, (offer, true)).await,
        Ask::LookAgain { offer } => offering::pass(desk, person, (offer, false)).await,
        Ask::GiveBack { claim } => offering::give_back(desk, person, claim).await,
        Ask::PickUp { claim } => claims::pick_up(desk, person, claim).await,
        Ask::Collected { claim } => claims::collected(desk, person, claim).await,
        Ask::NotCollected { claim } => claims::not_collected(desk, person, claim).await,
    }
}

/// Takes a typed answer.
///
/// # Errors
/// Whatever the store fails with.
pub async fn answered(desk: &mut Desk<'_>, person: &Person, waiting: Waiting, text: &str) -> store::Result<bool> {
    let crop = match &waiting {
        Waiting::KeepWeight { crop, .. } => Some(crop.clone()),
        Waiting::MarketBack | Waiting::Counted => None,
        Waiting::TakeWeight { offer } => offering::crop_of(desk, *offer).await?,
    };
    let lines = match answer::lines(desk, person, text, crop.as_deref()) {
        Answer::Read(lines) => lines,
        Answer::Wish => return Ok(false),
        Answer::Unread(question) => {
            answer::tell_unread(desk, person, question.as_ref(), key("surplus-not-a-weight")).await?;
            return Ok(true);
        }
    };
    if waiting == Waiting::MarketBack {
        market::bring_back(desk, person, (lines, None)).await?;
        return Ok(true);
    }
    if waiting == Waiting::Counted {
        counted::compare(desk, person, lines).await?;
        return Ok(true);
    }
    let [(named, grams)] = lines.as_slice() else { return Ok(false) };
    if crop.as_ref() != Some(named) {
        return Ok(false);
    }
    match waiting {
        Waiting::KeepWeight { crop, day } => {
            market::keep(desk, person, MarketHold { day, crop, grams: *grams }).await?;
        }
        Waiting::TakeWeight { offer } => offering::take(desk, person, (offer, *grams)).await?,
        Waiting::MarketBack | Waiting::Counted => {}
    }
    Ok(true)
}
