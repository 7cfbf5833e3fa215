//! A button that acts as if its text had been typed, and a typed yes, no or weight that answers a card which still waits.
//! Rule: a word counts once, for what was just asked. Where several cards wait, or something else was said since, it is asked
//! which is meant, and nothing has changed; a courtesy changes nothing then.

use super::{Button, Desk, Letter, act, giving, shortfall, surplus};
use crate::intent::{Confirming, Intent, Origin, Waiting, free_text};
use crate::phrase::courtesy::Courtesy;
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
    /// Some of an offer was taken: its buttons are for more, and a typed weight may be, too.
    is_answered: bool,
}

/// What a short answer means now; `None` when it was answered here.
///
/// # Errors
/// Whatever the store fails with.
pub async fn short_answer(desk: &mut Desk<'_>, person: &Person, short: Short) -> store::Result<Option<Intent>> {
    let mut standing = standing(desk, person).await?;
    standing.retain(|one| !one.is_answered || matches!(short, Short::Weight(_)));
    let is_just_asked = match standing.first() {
        Some(first) => first.is_said_back || desk.was_said_last(chat_of(desk, person), &first.card).await?,
        None => false,
    };
    let meant: Vec<Intent> = match standing.first() {
        // A bare yes or no answers what was said back last.
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
        [one] if is_just_asked || !is_act(one) => Ok(Some(one.clone())),
        several => {
            let text = match short {
                Short::Yes | Short::No if several.len() == 1 => voice.say("which-one", &Args::new()),
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

/// Where this person's words and buttons are at present.
fn chat_of(desk: &Desk<'_>, person: &Person) -> i64 {
    desk.group_chat(person).unwrap_or(person.chat_id)
}

/// Whether this does something: the others only ask how much.
fn is_act(intent: &Intent) -> bool {
    !matches!(intent, Intent::Surplus(surplus::Ask::TakeOther { .. } | surplus::Ask::Take { .. }))
}

/// Whether an "ok" may be the answer to the last message.
///
/// # Errors
/// Whatever the store fails with.
pub async fn is_just_asked(desk: &mut Desk<'_>, person: &Person) -> store::Result<bool> {
    let standing = standing(desk, person).await?;
    let Some(first) = standing.iter().find(|one| !one.is_answered) else { return Ok(false) };
    Ok(first.is_said_back || desk.was_said_last(chat_of(desk, person), &first.card).await?)
}

/// Answers a courtesy that answers nothing: thanks get a friendly word, anything else needs none.
///
/// # Errors
/// Whatever the store fails with.
pub async fn courteous(desk: &mut Desk<'_>, person: &Person, courtesy: Courtesy) -> store::Result<()> {
    match courtesy {
        Courtesy::Thanks => {
            let text = desk.voice(person).say("welcome-thanks", &Args::new());
            desk.answer(person, Letter::new(text)).await
        }
        Courtesy::Other => Ok(()),
    }
}

/// Whether the last thing that waits for a yes is what was said back.
///
/// # Errors
/// Whatever the store fails with.
pub async fn is_said_back_last(desk: &mut Desk<'_>, person: &Person) -> store::Result<bool> {
    Ok(standing(desk, person).await?.first().is_some_and(|first| first.is_said_back))
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
    let chat_id = chat_of(desk, person);
    let said_back = match desk.open_question(chat_id, person).await? {
        Some(Waiting::Confirm(confirming)) => Some(*confirming),
        _ => None,
    };
    let mut cards: Vec<(String, Vec<Intent>)> = Vec::new();
    for (card, intent) in buttons::live_in(&mut desk.tx, chat_id).await? {
        let Ok(intent) = serde_json::from_str::<Intent>(&intent) else { continue };
        match cards.iter_mut().find(|(name, _)| *name == card) {
            Some((_, intents)) => intents.push(intent),
            None => cards.push((card, vec![intent])),
        }
    }
    Ok(cards
        .into_iter()
        .filter_map(|(card, intents)| waits((person.role, said_back.as_ref()), card, &intents))
        .collect())
}

/// What a yes and a no mean to a card; `None` where it waits for neither. A card of an order waits only while it is the one
/// that says an order back: its other buttons do something at once and were not asked about.
fn waits((role, said_back): (Role, Option<&Confirming>), card: String, intents: &[Intent]) -> Option<Standing> {
    if let Some(confirming) = said_back.filter(|confirming| intents.contains(&confirming.yes)) {
        let (yes, no) = (vec![confirming.yes.clone()], vec![confirming.no.clone()]);
        return Some(Standing { card, yes, no, is_said_back: true, is_answered: false });
    }
    let mut standing = Standing { card, ..Standing::default() };
    for intent in intents {
        match intent {
            Intent::Surplus(surplus::Ask::GiveBack { .. }) => standing.is_answered = true,
            Intent::Shortfall(shortfall::Ask::Take { .. }) | Intent::Surplus(surplus::Ask::TakeOther { .. }) => {
                standing.yes.push(intent.clone());
            }
            Intent::Shortfall(shortfall::Ask::Drop { .. }) | Intent::Surplus(surplus::Ask::NoThanks { .. }) => {
                standing.no.push(intent.clone());
            }
            // A keeper's button says that the food bank agreed by telephone: nobody has asked the keeper.
            Intent::Giving(giving::Ask::Agree { .. }) if role == Role::Pantry => standing.yes.push(intent.clone()),
            Intent::Giving(giving::Ask::Decline { .. }) => standing.no.push(intent.clone()),
            _ => {}
        }
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
