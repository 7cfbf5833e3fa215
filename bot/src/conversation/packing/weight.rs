//! Another weight for one line, typed: what was really packed, or really handed over.

use super::{Ask, Stage, Waiting, run};
use crate::conversation::{Button, Desk, Letter};
use crate::intent::answer::{self, Answer};
use crate::intent::{self, Intent};
use crate::wording::{Args, key};
use scheduler::farm::{delivering, packing};
use scheduler::id::Id;
use scheduler::people::Person;
use scheduler::quantity::Grams;
use scheduler::store::deliveries::{self, Award, Closed};
use scheduler::store::{self, people};

/// Asks for the weight.
pub(super) async fn ask(desk: &mut Desk<'_>, person: &Person, (award, stage): (Id, Stage)) -> store::Result<()> {
    let Some((award, _)) = line(desk, person, (award, stage)).await? else { return Ok(()) };
    let buyer = people::buyer_by_id(&mut desk.tx, award.buyer_id).await?.map(|buyer| buyer.name).unwrap_or_default();
    let voice = desk.voice(person);
    desk.ask(person, &intent::Waiting::Packing(Waiting::Weight { award: award.id, stage })).await?;
    let args = Args::new().text("buyer", buyer).text("crop", desk.house.crop_name(&award.crop, &voice));
    let question = match stage {
        Stage::Packed => key("packing-weight-question"),
        Stage::Delivered => key("run-weight-question"),
    };
    // A card of its own: the list or the run card stays where it is, without its buttons.
    let nothing = Intent::Packing(Ask::Nothing { award: award.id, stage });
    let letter = Letter::new(voice.say(question, &args)).on_card(format!("weight-{}", award.id)).at_end();
    let letter = letter.row([Button::new(voice.plain("button-nothing", &Args::new()), nothing)]);
    desk.answer(person, letter).await
}

/// Takes the typed weight. What is no weight is asked for again, unless it is another wish of its own.
pub(super) async fn typed(
    desk: &mut Desk<'_>,
    person: &Person,
    (award, stage): (Id, Stage),
    text: &str,
) -> store::Result<bool> {
    let crop = deliveries::award_by_id(&mut desk.tx, award).await?.map(|award| award.crop).unwrap_or_default();
    match answer::weight(desk, person, text, &crop) {
        Answer::Read(grams) => set(desk, person, (award, stage), grams).await?,
        Answer::Wish => return Ok(false),
        Answer::Unread(_) => {
            let letter = Letter::new(desk.voice(person).say("packing-weight-unread", &Args::new()));
            desk.answer(person, letter).await?;
        }
    }
    Ok(true)
}

/// Stores another weight, zero included, or says why it cannot be and leaves the question open.
pub(super) async fn set(
    desk: &mut Desk<'_>,
    person: &Person,
    (award, stage): (Id, Stage),
    grams: Grams,
) -> store::Result<()> {
    let Some((award, closed)) = line(desk, person, (award, stage)).await? else {
        return desk.close_question(person).await;
    };
    let most = match stage {
        Stage::Packed => packing::most_packed(&mut desk.farm(), &award).await?,
        Stage::Delivered => delivering::most_delivered(&mut desk.farm(), &award).await?,
    };
    if grams > most {
        let voice = desk.voice(person);
        let args = Args::new().text("crop", desk.house.crop_name(&award.crop, &voice)).weight("most", most);
        return desk.answer(person, Letter::new(voice.say("packing-weight-too-much", &args))).await;
    }
    desk.close_question(person).await?;
    match stage {
        Stage::Packed => {
            let events = packing::pack(&mut desk.farm(), person.id, (&award, &closed), grams).await?;
            desk.happened(events);
            super::list::show_again(desk, person).await.map(drop)
        }
        Stage::Delivered => {
            let recorded = delivering::weigh_out(&mut desk.farm(), person.id, (&award, &closed), grams).await?;
            run::answer(desk, person, (&closed, recorded)).await
        }
    }
}

/// The line, if its weight may still be changed at this stage; otherwise says why not.
async fn line(
    desk: &mut Desk<'_>,
    person: &Person,
    (award, stage): (Id, Stage),
) -> store::Result<Option<(Award, Closed)>> {
    let found = deliveries::award_by_id(&mut desk.tx, award).await?;
    let Some(award) = found else {
        super::no_run(desk, person).await?;
        return Ok(None);
    };
    let Some(closed) = super::closed_run(desk, person, award.day).await? else { return Ok(None) };
    if stage == Stage::Packed && (!super::list::is_unpacked(&closed) || award.delivered.is_some()) {
        let text = desk.voice(person).say("packing-packed-already", &Args::new().date("day", award.day));
        desk.answer(person, Letter::new(text)).await?;
        return Ok(None);
    }
    Ok(Some((award, closed)))
}
