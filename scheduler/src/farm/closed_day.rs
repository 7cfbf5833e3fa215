//! A delivery day whose orders are closed, as it is shown: every line as it stands, why it was cut, and what can be chosen.
//! It is made from the stored lines alone, so that what is read is what is recorded.

use super::{Crops, Farm};
use crate::clock::LocalDate;
use crate::id::Id;
use crate::people::{Buyer, WhenSilent};
use crate::quantity::Grams;
use crate::store::deliveries::{self, Award, Closed, Expected, Source, State, Why};
use crate::store::{self, people};
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};

/// How much of a line another crop stands in for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum SwapPart {
    /// What is missing; the promise stays.
    Missing,
    /// The whole line; the promise goes back to the others.
    Whole,
}

/// Why a restaurant is shown its day.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Occasion {
    /// Orders are closed.
    Closed,
    Answered,
    /// A colleague of this name has answered.
    AnsweredBy {
        person_id: Id,
        name: String,
    },
    AlreadyAnswered,
    TooLate,
    /// The van has left.
    Gone,
    SwapGone,
    NoLaterDelivery,
    /// What can be chosen has changed.
    Changed,
    /// More can be promised than before.
    Better,
    /// Less was ready than promised.
    Less,
    Silent,
    Delivered,
    /// Nobody has said what was delivered: it counts as delivered as packed.
    Assumed,
}

/// Everything known of it.
#[derive(Clone, Debug)]
pub struct ClosedDay {
    pub closed: Closed,
    pub awards: Vec<Award>,
    pub expected: Vec<Expected>,
    /// The chance, 0 to 1, that every promise holds, as reckoned when orders closed.
    pub holds: Option<f64>,
    buyers: BTreeMap<Id, Buyer>,
    /// Whether answers are still taken.
    pub takes_answers: bool,
    /// Where a moved line would go now.
    next_open: Option<LocalDate>,
    moved_to: BTreeMap<Id, LocalDate>,
}

impl ClosedDay {
    /// Loads them.
    ///
    /// # Errors
    /// Whatever the store fails with.
    pub async fn load(farm: &mut Farm<'_>, closed: &Closed) -> store::Result<ClosedDay> {
        let closed = deliveries::on(farm.tx, closed.day).await?.unwrap_or_else(|| closed.clone());
        let awards = deliveries::awards_on(farm.tx, closed.day).await?;
        let mut buyers = BTreeMap::new();
        for buyer_id in awards.iter().map(|award| award.buyer_id).collect::<BTreeSet<Id>>() {
            buyers.extend(people::buyer_by_id(farm.tx, buyer_id).await?.map(|buyer| (buyer_id, buyer)));
        }
        let mut moved_to = BTreeMap::new();
        for award in awards.iter().filter(|award| award.state == State::Moved) {
            let history = deliveries::history_of(farm.tx, award.id).await?;
            let moved_at = history.iter().rev().find(|(_, _, why)| *why == Why::Moved).map(|(at, _, _)| *at);
            let to = moved_at.and_then(|at| farm.calendar.next_open_delivery(at));
            moved_to.extend(to.map(|to| (award.id, to.date)));
        }
        Ok(ClosedDay {
            expected: deliveries::expected_on(farm.tx, closed.day).await?,
            holds: deliveries::chance_on(farm.tx, closed.day).await?,
            takes_answers: closed.settled_at.is_none() && farm.now < closed.answers_by,
            next_open: farm.calendar.next_open_delivery(farm.now).map(|next| next.date),
            closed,
            awards,
            buyers,
            moved_to,
        })
    }

    /// The restaurants with a line, in the order they joined.
    pub fn buyer_ids(&self) -> Vec<Id> {
        self.awards.iter().map(|award| award.buyer_id).collect::<BTreeSet<Id>>().into_iter().collect()
    }

    /// What a restaurant is called.
    pub fn name_of(&self, buyer_id: Id) -> String {
        self.buyers.get(&buyer_id).map(|buyer| buyer.name.clone()).unwrap_or_default()
    }

    /// The restaurants that must still answer.
    pub fn waiting_names(&self) -> Vec<String> {
        let short = self.awards.iter().filter(|award| award.state == State::Short).map(|award| award.buyer_id);
        short.collect::<BTreeSet<Id>>().into_iter().map(|buyer_id| self.name_of(buyer_id)).collect()
    }

    /// What is promised of a crop that day.
    pub fn promised_of(&self, crop: &str) -> Grams {
        self.awards.iter().filter(|award| award.crop == crop).map(|award| award.promised).sum()
    }

    /// What may still be promised of a crop that day.
    pub fn free_of(&self, crop: &str) -> Grams {
        let expected = self.expected.iter().find(|one| one.crop == crop).map_or(Grams::ZERO, |one| one.promise);
        // What goes along of an offer was set aside before anything was promised.
        let of_it = self.awards.iter().filter(|award| award.crop == crop && award.source != Source::Offer);
        expected.less(of_it.map(|award| award.promised).sum())
    }

    /// One restaurant's day.
    pub fn of_buyer(&self, crops: &Crops, buyer_id: Id) -> BuyerDay {
        let awards = self.awards.iter().filter(|award| award.buyer_id == buyer_id);
        let lines = awards.map(|award| DayLine {
            swaps: if award.state == State::Short { self.swaps(crops, award) } else { Vec::new() },
            cut: self.cut(award),
            moves_to: self.moved_to.get(&award.id).copied().or(self.next_open),
            award: award.clone(),
        });
        BuyerDay {
            buyer_id,
            closed: self.closed.clone(),
            takes_answers: self.takes_answers,
            when_silent: self.buyers.get(&buyer_id).map_or(WhenSilent::Take, |buyer| buyer.when_silent),
            lines: lines.collect(),
        }
    }

    fn cut(&self, award: &Award) -> Cut {
        let all = self.awards.iter().filter(|other| other.crop == award.crop && other.source != Source::Swap);
        let there = self.expected.iter().find(|one| one.crop == award.crop).map_or(Grams::ZERO, |one| one.promise);
        let mut standing = self.awards.iter().filter(|other| other.crop == award.crop);
        Cut {
            is_alone: all.clone().all(|other| other.buyer_id == award.buyer_id),
            asked_by_all: all.map(|other| other.asked).sum(),
            there,
            is_behind_standing: award.source == Source::Once
                && standing.any(|other| other.source == Source::Standing && other.promised.is_positive()),
        }
    }

    fn swaps(&self, crops: &Crops, award: &Award) -> Vec<(String, Grams, SwapPart)> {
        let mut swaps = Vec::new();
        for crop in crops.grown().filter(|crop| crop.key.as_str() != award.crop) {
            let free = self.free_of(crop.key.as_str());
            let of = |wanted: Grams| if free >= wanted { wanted } else { free.floor_to(crop.pack_step) };
            let (missing, whole) = (of(award.asked.less(award.promised)), of(award.asked));
            if award.promised.is_positive() && missing.is_positive() {
                swaps.push((crop.key.as_str().to_owned(), missing, SwapPart::Missing));
            }
            // A whole swap that gives less than the promise it gives up is nobody's wish.
            if whole.is_positive() && (whole == award.asked || !award.promised.is_positive()) {
                swaps.push((crop.key.as_str().to_owned(), whole, SwapPart::Whole));
            }
        }
        swaps
    }
}

/// One restaurant's lines of a closed day.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BuyerDay {
    pub buyer_id: Id,
    pub closed: Closed,
    takes_answers: bool,
    pub when_silent: WhenSilent,
    pub lines: Vec<DayLine>,
}

/// A line of it, with what can be chosen.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DayLine {
    pub award: Award,
    /// What can be had instead.
    pub swaps: Vec<(String, Grams, SwapPart)>,
    pub cut: Cut,
    /// Where it was moved to, or would go now.
    pub moves_to: Option<LocalDate>,
}

/// Why a line was cut.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Cut {
    pub asked_by_all: Grams,
    pub there: Grams,
    /// Nobody else asked for the crop.
    pub is_alone: bool,
    /// Standing orders of the crop went before this line.
    pub is_behind_standing: bool,
}

impl BuyerDay {
    /// Whether a line waits for an answer.
    pub fn must_answer(&self) -> bool {
        self.takes_answers && self.lines.iter().any(|line| line.award.waits())
    }

    /// Whether a line is promised more than it was.
    pub fn is_better_than(&self, was: &BuyerDay) -> bool {
        self.grew(was, |now, before| now > before)
    }

    /// Whether a line is promised less than it was.
    pub fn is_worse_than(&self, was: &BuyerDay) -> bool {
        self.grew(was, |now, before| now < before)
    }

    fn grew(&self, was: &BuyerDay, compare: fn(Grams, Grams) -> bool) -> bool {
        self.lines.iter().any(|line| {
            let before = was.lines.iter().find(|other| other.award.id == line.award.id);
            before.is_some_and(|before| compare(line.award.promised, before.award.promised))
        })
    }
}
