//! Talking a shortage over with the buyer: take it, swap, move to the next delivery, or drop the line. Each answer
//! shares what it frees at once, and nobody's promise is lowered by it.

pub mod card;
pub mod settle;

use super::Desk;
use card::{DayFacts, Occasion};
use scheduler::farm::warning;
use scheduler::id::Id;
use scheduler::people::Person;
use scheduler::quantity::Grams;
use scheduler::store::deliveries::{self, Award, Closed, Source, State, Why};
use scheduler::store::orders::{self, OneOff};
use scheduler::store::{self, people};
use serde::{Deserialize, Serialize};

/// What a person can want here. Each is about one line that is short.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Ask {
    /// Take what is promised.
    Take { award: Id },
    /// Take so much of another crop of which there is unpromised stock.
    Swap { award: Id, crop: String, grams: Grams, part: SwapPart },
    /// Nothing of it now, the whole line with the next delivery still open.
    Move { award: Id },
    /// Nothing of it.
    Drop { award: Id },
}

/// How much of a line another crop stands in for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum SwapPart {
    /// What is missing; the promise stays.
    Missing,
    /// The whole line; the promise goes back to the others.
    Whole,
}

impl Ask {
    fn award(&self) -> Id {
        match self {
            Ask::Take { award } | Ask::Swap { award, .. } | Ask::Move { award } | Ask::Drop { award } => *award,
        }
    }
}

/// Does it.
///
/// # Errors
/// Whatever the store fails with.
pub async fn act(desk: &mut Desk<'_>, person: &Person, ask: Ask) -> store::Result<()> {
    let award = deliveries::award_by_id(&mut desk.tx, ask.award()).await?;
    let Some(award) = award.filter(|award| Some(award.buyer_id) == person.buyer_id) else {
        return stale(desk, person).await;
    };
    let Some(closed) = deliveries::on(&mut desk.tx, award.day).await? else {
        return stale(desk, person).await;
    };
    let buyer_id = award.buyer_id;
    let before = DayFacts::load(desk, &closed).await?;
    let refusal = if desk.now >= desk.house.calendar.departure(award.day) {
        Some(Occasion::Gone)
    } else if award.state != State::Short {
        Some(Occasion::AlreadyAnswered)
    } else if !before.takes_answers {
        Some(Occasion::TooLate)
    } else {
        choose(desk, person, (&ask, award, &before)).await?
    };
    if let Some(occasion) = refusal {
        let letter = before.of_buyer(desk.house, buyer_id);
        let letter = letter.write(desk.house, &desk.voice(person), &occasion);
        return answer(desk, person, letter).await;
    }
    settle::top_up(desk, &closed).await?;
    tell_all(desk, (person, buyer_id), (&closed, &before)).await?;
    settle::settle_if_answered(desk, &closed).await
}

/// Stores the choice, or says why it cannot be.
async fn choose(
    desk: &mut Desk<'_>,
    person: &Person,
    (ask, mut award, facts): (&Ask, Award, &DayFacts),
) -> store::Result<Option<Occasion>> {
    let why = match ask {
        Ask::Take { .. } => {
            award.state = State::Taken;
            Why::Taken
        }
        Ask::Swap { crop, grams, part, .. } => {
            if *grams > facts.free_of(crop) || !grams.is_positive() || *crop == award.crop {
                return Ok(Some(Occasion::SwapGone));
            }
            swap_in(desk, person, (&award, facts), (crop, *grams)).await?;
            award.state = State::Swapped;
            if *part == SwapPart::Whole {
                award.promised = Grams::ZERO;
            }
            Why::Swapped
        }
        Ask::Move { .. } => {
            let Some(next) = desk.house.calendar.next_open_delivery(desk.now) else {
                return Ok(Some(Occasion::NoLaterDelivery));
            };
            order_again(desk, person, &award, next.date).await?;
            award.state = State::Moved;
            award.promised = Grams::ZERO;
            Why::Moved
        }
        Ask::Drop { .. } => {
            award.state = State::Dropped;
            award.promised = Grams::ZERO;
            Why::Dropped
        }
    };
    deliveries::put_award(&mut desk.tx, &award, (why, Some(person.id)), desk.now).await?;
    Ok(None)
}

/// The line of the other crop; a second swap into the same crop adds to it.
async fn swap_in(
    desk: &mut Desk<'_>,
    person: &Person,
    (award, facts): (&Award, &DayFacts),
    (crop, grams): (&str, Grams),
) -> store::Result<()> {
    let is_it = |other: &&Award| other.buyer_id == award.buyer_id && other.crop == crop && other.source == Source::Swap;
    let swapped = match facts.awards.iter().find(is_it) {
        Some(there) => Award { asked: there.asked + grams, promised: there.promised + grams, ..there.clone() },
        None => Award {
            id: desk.new_id(),
            crop: crop.to_owned(),
            source: Source::Swap,
            asked: grams,
            promised: grams,
            state: State::Full,
            ..award.clone()
        },
    };
    deliveries::put_award(&mut desk.tx, &swapped, (Why::Swapped, Some(person.id)), desk.now).await
}

/// A moved line becomes a one-off line of the later day, on top of what is ordered there.
async fn order_again(
    desk: &mut Desk<'_>,
    person: &Person,
    award: &Award,
    day: scheduler::clock::LocalDate,
) -> store::Result<()> {
    let there = orders::one_off_between(&mut desk.tx, day, day).await?;
    let there = there.iter().find(|line| line.buyer_id == award.buyer_id && line.crop == award.crop);
    let grams = there.map_or(Grams::ZERO, |line| line.grams) + award.asked;
    let line = OneOff { buyer_id: award.buyer_id, day, crop: award.crop.clone(), grams };
    orders::put_one_off(&mut desk.tx, &line, (desk.now, Some(person.id))).await?;
    warning::look_soon(&mut desk.farm()).await
}

/// Whoever pressed sees the day's full state, colleagues too, and everybody else what changed for them.
async fn tell_all(
    desk: &mut Desk<'_>,
    (person, buyer_id): (&Person, Id),
    (closed, before): (&Closed, &DayFacts),
) -> store::Result<()> {
    let house = desk.house;
    let after = DayFacts::load(desk, closed).await?;
    let ours = after.of_buyer(house, buyer_id);
    let letter = ours.write(house, &desk.voice(person), &Occasion::Answered);
    answer(desk, person, letter).await?;
    for contact in people::contacts_of_buyer(&mut desk.tx, buyer_id).await? {
        if contact.id != person.id {
            let by = Occasion::AnsweredBy(person.name.clone());
            let letter = ours.write(house, &desk.voice(&contact), &by).on_card(card::name(closed.day));
            desk.tell(&contact, letter).await?;
        }
    }
    settle::tell_changes(desk, (before, &after), Some(buyer_id)).await
}

/// The answer takes the place of the pressed card; to anything else it stands at the end, where it is seen.
async fn answer(desk: &mut Desk<'_>, person: &Person, letter: super::Letter) -> store::Result<()> {
    let mut letter = letter.at_end();
    if desk.is_press() {
        letter.card = None;
    }
    desk.answer(person, letter).await
}

async fn stale(desk: &mut Desk<'_>, person: &Person) -> store::Result<()> {
    let text = desk.voice(person).say("stale-button", &crate::wording::Args::new());
    desk.answer(person, super::Letter::new(text)).await
}
