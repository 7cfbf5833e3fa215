//! A buyer's card of one delivery day: every line as it stands, why it was cut, and what can be chosen. It is made from
//! the stored lines alone, so that what is read is what is recorded.

use super::{Ask, SwapPart};
use crate::conversation::{Button, Desk, Letter};
use crate::house::House;
use crate::intent::Intent;
use crate::wording::{Args, DateForm, Voice};
use scheduler::allotment::Sharing;
use scheduler::clock::LocalDate;
use scheduler::id::Id;
use scheduler::people::{Buyer, WhenSilent};
use scheduler::quantity::Grams;
use scheduler::store::deliveries::{self, Award, Closed, Expected, Source, State, Why};
use scheduler::store::{self, people};
use std::collections::{BTreeMap, BTreeSet};

/// The card's name in every chat of the restaurant.
pub fn name(day: LocalDate) -> String {
    format!("orders-{day}")
}

/// Why the card is written now.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Occasion {
    /// Orders are closed.
    Closed,
    Answered,
    /// A colleague has answered.
    AnsweredBy(String),
    AlreadyAnswered,
    TooLate,
    /// The van has left.
    Gone,
    SwapGone,
    NoLaterDelivery,
    /// More can be promised than before.
    Better,
    /// Less was ready than promised.
    Less,
    Silent,
    Delivered,
}

/// Everything known of a closed day.
#[derive(Clone, Debug)]
pub struct DayFacts {
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

impl DayFacts {
    /// Loads them.
    ///
    /// # Errors
    /// Whatever the store fails with.
    pub async fn load(desk: &mut Desk<'_>, closed: &Closed) -> store::Result<DayFacts> {
        let closed = deliveries::on(&mut desk.tx, closed.day).await?.unwrap_or_else(|| closed.clone());
        let awards = deliveries::awards_on(&mut desk.tx, closed.day).await?;
        let mut buyers = BTreeMap::new();
        for buyer_id in awards.iter().map(|award| award.buyer_id).collect::<BTreeSet<Id>>() {
            buyers.extend(people::buyer_by_id(&mut desk.tx, buyer_id).await?.map(|buyer| (buyer_id, buyer)));
        }
        let mut moved_to = BTreeMap::new();
        for award in awards.iter().filter(|award| award.state == State::Moved) {
            let history = deliveries::history_of(&mut desk.tx, award.id).await?;
            let moved_at = history.iter().rev().find(|(_, _, why)| *why == Why::Moved).map(|(at, _, _)| *at);
            let to = moved_at.and_then(|at| desk.house.calendar.next_open_delivery(at));
            moved_to.extend(to.map(|to| (award.id, to.date)));
        }
        Ok(DayFacts {
            expected: deliveries::expected_on(&mut desk.tx, closed.day).await?,
            holds: deliveries::chance_on(&mut desk.tx, closed.day).await?,
            takes_answers: closed.settled_at.is_none() && desk.now < closed.answers_by,
            next_open: desk.house.calendar.next_open_delivery(desk.now).map(|next| next.date),
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
    pub fn of_buyer(&self, house: &House, buyer_id: Id) -> BuyerDay {
        let awards = self.awards.iter().filter(|award| award.buyer_id == buyer_id);
        let lines = awards.map(|award| Line {
            swaps: if award.state == State::Short { self.swaps(house, award) } else { Vec::new() },
            cut: self.cut(award),
            moves_to: self.moved_to.get(&award.id).copied().or(self.next_open),
            award: award.clone(),
        });
        BuyerDay {
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

    fn swaps(&self, house: &House, award: &Award) -> Vec<(String, Grams, SwapPart)> {
        let mut swaps = Vec::new();
        for crop in house.crops.grown().filter(|crop| crop.key.as_str() != award.crop) {
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
    closed: Closed,
    takes_answers: bool,
    when_silent: WhenSilent,
    lines: Vec<Line>,
}

#[derive(Clone, Debug, PartialEq, Eq)]
struct Line {
    award: Award,
    swaps: Vec<(String, Grams, SwapPart)>,
    cut: Cut,
    moves_to: Option<LocalDate>,
}

/// What one sentence of explanation needs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Cut {
    asked_by_all: Grams,
    there: Grams,
    /// Nobody else asked for the crop.
    is_alone: bool,
    /// Standing orders of the crop went before this line.
    is_behind_standing: bool,
}

impl BuyerDay {
    /// Whether a line waits for an answer.
    pub fn must_answer(&self) -> bool {
        self.takes_answers && self.lines.iter().any(|line| line.award.state == State::Short)
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

    /// The card, with buttons for each line that waits.
    pub fn write(&self, house: &House, voice: &Voice, occasion: &Occasion) -> Letter {
        let mut lines = vec![self.heading(voice, occasion), String::new()];
        for line in &self.lines {
            lines.push(line.write(house, voice));
            if line.award.state == State::Short {
                lines.push(line.explain(house, voice));
            }
        }
        if self.must_answer() {
            let until = Args::new().day_time("until", self.closed.answers_by);
            lines.push(String::new());
            lines.push(match self.when_silent {
                WhenSilent::Take => voice.say("shortfall-until-take", &until),
                WhenSilent::Drop => voice.say("shortfall-until-drop", &until),
            });
        }
        let mut letter = Letter::new(lines.join("\n")).on_card(name(self.closed.day));
        if self.must_answer() {
            for line in self.lines.iter().filter(|line| line.award.state == State::Short) {
                letter = line.buttons(house, voice, letter);
            }
        }
        letter
    }

    fn heading(&self, voice: &Voice, occasion: &Occasion) -> String {
        let day = Args::new().date("day", self.closed.day);
        let is_short = self.lines.iter().any(|line| line.award.state == State::Short);
        match occasion {
            Occasion::Closed if is_short => voice.say("shortfall-heading", &day),
            Occasion::Closed => voice.say("shortfall-confirmed", &day),
            Occasion::Answered => voice.say("shortfall-answered", &day),
            Occasion::AnsweredBy(name) => voice.say("shortfall-answered-by", &day.text("name", name.clone())),
            Occasion::AlreadyAnswered => voice.say("shortfall-answered-already", &day),
            Occasion::TooLate => voice.say("shortfall-too-late", &day.day_time("until", self.closed.answers_by)),
            Occasion::Gone => voice.say("shortfall-gone", &day),
            Occasion::SwapGone => voice.say("shortfall-swap-gone", &day),
            Occasion::NoLaterDelivery => voice.say("shortfall-no-later-delivery", &day),
            Occasion::Better => voice.say("shortfall-better", &day),
            Occasion::Less => voice.say("shortfall-less", &day),
            Occasion::Silent => voice.say("shortfall-silent", &day),
            Occasion::Delivered => voice.say("shortfall-delivered", &day),
        }
    }
}

impl Line {
    fn write(&self, house: &House, voice: &Voice) -> String {
        let Award { crop, asked, promised, delivered, state, source, .. } = &self.award;
        let promised = delivered.unwrap_or(*promised);
        let args =
            Args::new().text("crop", house.crop_name(crop, voice)).weight("asked", *asked).weight("promised", promised);
        match state {
            State::Short if promised.is_positive() => voice.say("shortfall-line-short", &args),
            State::Short => voice.say("shortfall-line-none", &args),
            State::Moved => match self.moves_to {
                Some(day) => voice.say("shortfall-line-moved", &args.date("day", day)),
                None => voice.say("shortfall-line-dropped", &args),
            },
            State::Dropped => voice.say("shortfall-line-dropped", &args),
            State::Swapped if !promised.is_positive() => voice.say("shortfall-line-swapped", &args),
            _ if *source == Source::Swap => voice.say("shortfall-line-instead", &args),
            _ if !promised.is_positive() => voice.say("shortfall-line-nothing", &args),
            _ if promised < *asked => voice.say("shortfall-line-part", &args),
            _ => voice.say("shortfall-line-full", &args),
        }
    }

    fn explain(&self, house: &House, voice: &Voice) -> String {
        let args = Args::new()
            .text("crop", house.crop_name(&self.award.crop, voice))
            .weight("all", self.cut.asked_by_all)
            .weight("there", self.cut.there);
        let promise = &house.config.rules.promise;
        if !self.cut.there.is_positive() {
            voice.say("shortfall-why-nothing", &args)
        } else if self.cut.is_alone {
            voice.say("shortfall-why-alone", &args)
        } else if promise.standing_first && self.cut.is_behind_standing {
            voice.say("shortfall-why-standing-first", &args)
        } else {
            match promise.sharing {
                Sharing::EqualAwards => voice.say("shortfall-why-even", &args),
                Sharing::Proportional => voice.say("shortfall-why-proportional", &args),
                Sharing::ContestedGarment => voice.say("shortfall-why-contested", &args),
            }
        }
    }

    fn buttons(&self, house: &House, voice: &Voice, mut letter: Letter) -> Letter {
        let award = self.award.id;
        let amount = |crop: &str, grams| house.amount(crop, grams, voice);
        let intent = |ask| Intent::Shortfall(ask);
        if self.award.promised.is_positive() {
            let args = Args::new().text("amount", amount(&self.award.crop, self.award.promised));
            letter = letter.row([Button::new(voice.plain("button-take", &args), intent(Ask::Take { award }))]);
        }
        for (crop, grams, part) in &self.swaps {
            let args = Args::new().text("amount", amount(crop, *grams));
            let label = match part {
                SwapPart::Missing => voice
                    .plain("button-swap-missing", &args.text("kept", amount(&self.award.crop, self.award.promised))),
                SwapPart::Whole => voice.plain("button-swap-whole", &args),
            };
            let ask = Ask::Swap { award, crop: crop.clone(), grams: *grams, part: *part };
            letter = letter.row([Button::new(label, intent(ask))]);
        }
        let mut last = Vec::new();
        if let Some(day) = self.moves_to {
            let args = Args::new().text("amount", amount(&self.award.crop, self.award.asked)).date_as(
                "day",
                day,
                DateForm::Short,
            );
            last.push(Button::new(voice.plain("button-move", &args), intent(Ask::Move { award })));
        }
        let args = Args::new().text("crop", house.crop_name(&self.award.crop, voice));
        last.push(Button::new(voice.plain("button-drop", &args), intent(Ask::Drop { award })));
        letter.row(last)
    }
}
