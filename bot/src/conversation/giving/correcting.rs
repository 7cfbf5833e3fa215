//! Correcting what was entered as given, as it is typed and said back.

use super::handing_over::not_handed;
use super::{Ask, Waiting, stale, told};
use crate::conversation::{Button, Desk, Letter};
use crate::intent::answer::{self, Answer};
use crate::intent::{Intent, Waiting as Question};
use crate::wording::{Args, DateForm, key};
use scheduler::farm::giving::handing_over::HandOver;
use scheduler::farm::giving::{Gift, correcting, gift_of};
use scheduler::id::Id;
use scheduler::people::Person;
use scheduler::store;
use scheduler::store::giving;
use scheduler::surplus::drop::State;

/// Drops offered for correction.
const DROPS_SHOWN: usize = 8;

/// Which drop?
pub(super) async fn which(desk: &mut Desk<'_>, person: &Person) -> store::Result<()> {
    let voice = desk.voice(person);
    let banks = giving::food_banks(&mut desk.tx).await?;
    let drops = giving::drops(&mut desk.tx).await?;
    let mut letter = Letter::new(voice.say("given-correct-which", &Args::new()));
    for drop in drops.iter().rev().filter(|drop| drop.state() == State::HandedOver).take(DROPS_SHOWN) {
        let Some(bank) = banks.iter().find(|bank| bank.id == drop.partner_id) else { continue };
        let day = drop.window.opens_at.local_date(desk.house.zone());
        let args = Args::new().text("bank", bank.name.clone()).date_as("day", day, DateForm::Short);
        let label = voice.plain("button-given-correct-drop", &args.weight("weight", drop.handed()));
        letter = letter.row([Button::new(label, Intent::Giving(Ask::CorrectDrop { drop: drop.id }))]);
    }
    desk.answer(person, letter).await
}

/// How much was it really?
pub(super) async fn ask_weight(desk: &mut Desk<'_>, person: &Person, drop_id: Id) -> store::Result<()> {
    let Some(gift) = handed(desk, person, drop_id).await? else { return Ok(()) };
    let voice = desk.voice(person);
    desk.ask(person, &Question::Giving(Waiting::CorrectedWeight { drop: drop_id })).await?;
    let entered = desk.house.amounts(&gift.drop.handed_load(), &voice);
    let args = told(desk.house, &voice, &gift).list("what", entered);
    desk.answer(person, Letter::new(voice.say("given-correct-question", &args))).await
}

async fn handed(desk: &mut Desk<'_>, person: &Person, drop_id: Id) -> store::Result<Option<Gift>> {
    let gift = gift_of(&mut desk.farm(), person, drop_id).await?;
    let gift = gift.filter(|gift| gift.drop.state() == State::HandedOver);
    if gift.is_none() {
        stale(desk, person).await?;
    }
    Ok(gift)
}

/// A typed weight, or one for each crop; `false` for a wish of its own.
pub(super) async fn weighed(desk: &mut Desk<'_>, person: &Person, (drop_id, text): (Id, &str)) -> store::Result<bool> {
    let Some(gift) = handed(desk, person, drop_id).await? else { return Ok(true) };
    let only = match gift.drop.lines.as_slice() {
        [line] => Some(line.crop.as_str()),
        _ => None,
    };
    let lines = match answer::lines(desk, person, text, only) {
        Answer::Read(lines) => lines,
        Answer::Wish => return Ok(false),
        Answer::Unread(question) => {
            answer::tell_unread(desk, person, question.as_ref(), key("surplus-not-a-weight")).await?;
            return Ok(true);
        }
    };
    match correcting::correct(&mut desk.farm(), person, (drop_id, lines)).await? {
        HandOver::Done(gift, events) => {
            desk.happened(events);
            desk.close_question(person).await?;
            let voice = desk.voice(person);
            let entered = desk.house.amounts(&gift.drop.handed_load(), &voice);
            let text = voice.say("given-corrected", &told(desk.house, &voice, &gift).list("what", entered));
            desk.answer(person, Letter::new(text)).await?;
        }
        other => not_handed(desk, person, other).await?,
    }
    Ok(true)
}
