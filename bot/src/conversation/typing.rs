//! A button that acts as if its text had been typed, and a typed yes, no or weight that answers the card which was asked
//! last and still stands. Rule: where several stand, it is asked which is meant, and nothing has changed.

use super::{Button, Desk, Letter, act, giving, ordering, shortfall, surplus};
use crate::intent::{Intent, Origin, free_text};
use crate::wording::{Args, Voice};
use scheduler::id::Id;
use scheduler::people::{Person, Role};
use scheduler::quantity::Grams;
use scheduler::store::{self, buttons, deliveries, giving as gifts, surplus as offers};
use serde::{Deserialize, Serialize};

/// What a button of this kind means.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Ask {
    /// As if this text had been typed; the button stays.
    Say { text: String },
    /// This one was meant; the question has done its work.
    Meant { intent: Box<Intent> },
}

/// A short answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Short {
    Yes,
    No,
    Weight(Grams),
}

/// Does it.
///
/// # Errors
/// Whatever the store fails with.
pub async fn act_on(desk: &mut Desk<'_>, person: &Person, ask: Ask) -> store::Result<()> {
    match ask {
        Ask::Say { text } => {
            desk.leave_card();
            match free_text::read(desk, person, &text, Origin::Private).await? {
                Some(intent) => Box::pin(act(desk, person, intent)).await,
                None => Ok(()),
            }
        }
        Ask::Meant { intent } => {
            desk.give_up_card(person).await?;
            Box::pin(act(desk, person, *intent)).await
        }
    }
}

/// A card that waits for a yes or no, with what each would do.
#[derive(Clone, Debug, Default, PartialEq)]
struct Standing {
    card: String,
    yes: Vec<Intent>,
    no: Vec<Intent>,
    /// Something is said back and waits for the word.
    is_said_back: bool,
}

/// What a short answer means now; `None` when it was answered here.
///
/// # Errors
/// Whatever the store fails with.
pub async fn short_answer(desk: &mut Desk<'_>, person: &Person, short: Short) -> store::Result<Option<Intent>> {
    let standing = standing(desk, person).await?;
    let meant: Vec<Intent> = match standing.first() {
        // Nothing was said since: the word is for what was said back.
        Some(first) if first.is_said_back && !matches!(short, Short::Weight(_)) => answers(first, short),
        _ => standing.iter().flat_map(|one| answers(one, short)).collect(),
    };
    let voice = desk.voice(person);
    match meant.as_slice() {
        [] => {
            let text = match short {
                Short::Weight(_) => voice.say("not-understood", &Args::new()),
                Short::Yes | Short::No => voice.say("nothing-asked", &Args::new()),
            };
            desk.answer(person, Letter::new(text)).await?;
            Ok(None)
        }
        [one] => Ok(Some(one.clone())),
        several => {
            let text = match short {
                Short::Yes => voice.say("which-yes", &Args::new()),
                Short::No => voice.say("which-no", &Args::new()),
                Short::Weight(weight) => voice.say("which-weight", &Args::new().weight("weight", weight)),
            };
            let mut letter = Letter::new(text);
            for intent in several {
                let label = label(desk, &voice, intent).await?;
                let ask = Ask::Meant { intent: Box::new(intent.clone()) };
                letter = letter.row([Button::new(label, Intent::Typing(ask))]);
            }
            desk.answer(person, letter.on_card("which").at_end()).await?;
            Ok(None)
        }
    }
}

/// Whether the last thing that waits for a yes is what was said back.
///
/// # Errors
/// Whatever the store fails with.
pub async fn is_said_back_last(desk: &mut Desk<'_>, person: &Person) -> store::Result<bool> {
    Ok(standing(desk, person).await?.first().is_none_or(|first| first.is_said_back))
}

fn answers(standing: &Standing, short: Short) -> Vec<Intent> {
    match short {
        Short::Yes => standing.yes.clone(),
        Short::No => standing.no.clone(),
        Short::Weight(grams) => {
            let take = |intent: &Intent| match intent {
                Intent::Surplus(surplus::Ask::TakeOther { offer }) => {
                    Some(Intent::Surplus(surplus::Ask::Take { offer: *offer, grams }))
                }
                _ => None,
            };
            standing.yes.iter().filter_map(take).collect()
        }
    }
}

/// The cards that wait for a yes or no in this person's chat, the one asked last first.
async fn standing(desk: &mut Desk<'_>, person: &Person) -> store::Result<Vec<Standing>> {
    let mut cards: Vec<(String, Vec<Intent>)> = Vec::new();
    for (card, intent) in buttons::live_in(&mut desk.tx, person.chat_id).await? {
        let Ok(intent) = serde_json::from_str::<Intent>(&intent) else { continue };
        match cards.iter_mut().find(|(name, _)| *name == card) {
            Some((_, intents)) => intents.push(intent),
            None => cards.push((card, vec![intent])),
        }
    }
    Ok(cards.into_iter().filter_map(|(card, intents)| waits(person.role, card, &intents)).collect())
}

fn waits(role: Role, card: String, intents: &[Intent]) -> Option<Standing> {
    let mut standing = Standing { card, ..Standing::default() };
    for intent in intents {
        match intent {
            Intent::Shortfall(shortfall::Ask::Take { .. }) | Intent::Surplus(surplus::Ask::TakeOther { .. }) => {
                standing.yes.push(intent.clone());
            }
            Intent::Shortfall(shortfall::Ask::Drop { .. }) | Intent::Surplus(surplus::Ask::NoThanks { .. }) => {
                standing.no.push(intent.clone());
            }
            // A keeper's button says that the food bank agreed by telephone: nobody has asked the keeper.
            Intent::Giving(giving::Ask::Agree { .. }) if role == Role::Pantry => standing.yes.push(intent.clone()),
            Intent::Giving(giving::Ask::Decline { .. }) => standing.no.push(intent.clone()),
            Intent::Ordering(ask) if ask.is_sure() => {
                standing.is_said_back = true;
                standing.yes.push(intent.clone());
            }
            _ => {}
        }
    }
    if standing.is_said_back {
        // With two ways to be sure it is no yes or no.
        if standing.yes.len() != 1 {
            return None;
        }
        standing.no = intents.iter().filter(|intent| !standing.yes.contains(intent)).take(1).cloned().collect();
    }
    (!standing.yes.is_empty()).then_some(standing)
}

async fn label(desk: &mut Desk<'_>, voice: &Voice, intent: &Intent) -> store::Result<String> {
    let house = desk.house;
    let crop_day = match intent {
        Intent::Shortfall(shortfall::Ask::Take { award } | shortfall::Ask::Drop { award }) => {
            let award = deliveries::award_by_id(&mut desk.tx, *award).await?;
            award.map(|award| Args::new().text("crop", house.crop_name(&award.crop, voice)).date("day", award.day))
        }
        _ => None,
    };
    if let Some(args) = crop_day {
        return Ok(voice.plain("which-shortfall", &args));
    }
    Ok(match intent {
        Intent::Surplus(
            surplus::Ask::TakeOther { offer } | surplus::Ask::Take { offer, .. } | surplus::Ask::NoThanks { offer },
        ) => voice.plain("which-offer", &Args::new().text("crop", crop_on_offer(desk, voice, *offer).await?)),
        Intent::Giving(giving::Ask::Agree { drop } | giving::Ask::Decline { drop }) => {
            let drop = gifts::drop_by_id(&mut desk.tx, *drop).await?;
            let opens_at = drop.map_or(desk.now, |drop| drop.window.opens_at);
            voice.plain("which-drop", &Args::new().day_time("at", opens_at))
        }
        _ => voice.plain("which-order", &Args::new()),
    })
}

async fn crop_on_offer(desk: &mut Desk<'_>, voice: &Voice, offer: Id) -> store::Result<String> {
    let offer = offers::offer_by_id(&mut desk.tx, offer).await?;
    Ok(offer.map(|offer| desk.house.crop_name(&offer.crop, voice)).unwrap_or_default())
}

impl ordering::Ask {
    /// Whether it does what was said back.
    fn is_sure(&self) -> bool {
        use ordering::Ask;
        matches!(
            self,
            Ask::Place { sure: true, .. }
                | Ask::Change { sure: true, .. }
                | Ask::SameAsLast { sure: true, .. }
                | Ask::Skip { sure: true, .. }
                | Ask::Withdraw { sure: true, .. }
                | Ask::Standing { sure: true, .. }
                | Ask::Pause { sure: true, .. }
                | Ask::End { sure: true, .. }
                | Ask::EndOne { sure: true, .. }
        )
    }
}
