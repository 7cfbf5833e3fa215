//! Another weight for one line, typed: what was really packed, or really handed over.

use super::{Ask, Stage, Waiting, run};
use crate::conversation::shortfall::card::{DayFacts, Occasion};
use crate::conversation::{Button, Desk, Letter};
use crate::intent::answer::{self, Answer};
use crate::intent::{self, Intent};
use crate::wording::{Args, key};
use scheduler::farm::stock;
use scheduler::id::Id;
use scheduler::people::Person;
use scheduler::quantity::Grams;
use scheduler::store::deliveries::{self, Award, Closed, Why};
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
    let most = most_for(desk, (&award, stage)).await?;
    if grams > most {
        let voice = desk.voice(person);
        let args = Args::new().text("crop", desk.house.crop_name(&award.crop, &voice)).weight("most", most);
        return desk.answer(person, Letter::new(voice.say("packing-weight-too-much", &args))).await;
    }
    desk.close_question(person).await?;
    match stage {
        Stage::Packed => packed(desk, person, (award, closed), grams).await,
        Stage::Delivered => {
            let buyer_id = award.buyer_id;
            let missing = run::record(desk, person, (award, grams)).await?;
            run::after_delivery(desk, person, (&closed, buyer_id, missing.into_iter().collect())).await
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
    let Some(closed) = super::open_run(desk, person, award.day).await? else { return Ok(None) };
    if stage == Stage::Packed && (closed.packed_at.is_some() || award.delivered.is_some()) {
        let text = desk.voice(person).say("packing-packed-already", &Args::new().date("day", award.day));
        desk.answer(person, Letter::new(text)).await?;
        return Ok(None);
    }
    Ok(Some((award, closed)))
}

/// What the line can be at most: the stock on the books less what the day's other lines need of it.
async fn most_for(desk: &mut Desk<'_>, (award, stage): (&Award, Stage)) -> store::Result<Grams> {
    let ready = stock::ready_on(&mut desk.farm(), award.day).await?.get(&award.crop).copied().unwrap_or_default();
    if stage == Stage::Delivered {
        return Ok(ready + award.delivered.unwrap_or_default());
    }
    let awards = deliveries::awards_on(&mut desk.tx, award.day).await?;
    let others = awards.iter().filter(|one| one.id != award.id && one.crop == award.crop && one.delivered.is_none());
    Ok(ready.less(others.map(|one| one.promised).sum()))
}

/// What is packed is what is promised from now on; a restaurant that gets less hears at once.
async fn packed(
    desk: &mut Desk<'_>,
    person: &Person,
    (mut award, closed): (Award, Closed),
    grams: Grams,
) -> store::Result<()> {
    let (was, buyer_id) = (award.promised, award.buyer_id);
    award.promised = grams;
    deliveries::put_award(&mut desk.tx, &award, (Why::Packed, Some(person.id)), desk.now).await?;
    let house = desk.house;
    if grams != was {
        let theirs = DayFacts::load(desk, &closed).await?.of_buyer(house, buyer_id);
        let occasion = if grams < was { Occasion::Less } else { Occasion::Better };
        desk.tell_buyer(buyer_id, |voice| theirs.write(house, voice, &occasion).at_end()).await?;
    }
    super::list::show_again(desk, person).await?;
    Ok(())
}
