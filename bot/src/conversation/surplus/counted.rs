//! Counting the cold room by chat: what was weighed there is said back beside the books, the reason is asked for, and the
//! books are set right.

use super::{Ask, Waiting};
use crate::conversation::{Button, Desk, Letter};
use crate::intent::{Intent, Waiting as Question};
use crate::wording::{Args, key};
use scheduler::farm::stock;
use scheduler::farm::stocktake::{self, Difference, Reason};
use scheduler::farm::surplus::out::{self, Out};
use scheduler::people::Person;
use scheduler::quantity::Grams;
use scheduler::store;
use scheduler::store::cold_room::MoveKind;

/// Asks what lies there.
pub(super) async fn ask(desk: &mut Desk<'_>, person: &Person) -> store::Result<()> {
    desk.ask(person, &Question::Surplus(Waiting::Counted)).await?;
    let letter = Letter::new(desk.voice(person).say("count-question", &Args::new()));
    desk.answer(person, letter).await
}

/// Says back what was counted beside the books, and asks for the reason where they differ.
pub(super) async fn compare(desk: &mut Desk<'_>, person: &Person, lines: Vec<(String, Grams)>) -> store::Result<()> {
    let voice = desk.voice(person);
    let differences = stocktake::compare(&mut desk.farm(), &lines).await?;
    desk.close_question(person).await?;
    let mut said = vec![voice.say("count-heading", &Args::new())];
    for one in &differences {
        let args = Args::new()
            .text("crop", desk.house.crop_name(&one.crop, &voice))
            .weight("counted", one.counted)
            .weight("booked", one.booked);
        said.push(if one.more().is_positive() {
            voice.say("count-more", &args.weight("more", one.more()))
        } else if one.less().is_positive() {
            voice.say("count-less", &args.weight("less", one.less()))
        } else {
            voice.say("count-same", &args)
        });
    }
    let set = |text_key: &'static str, reason| {
        let ask = Ask::SetRight { lines: lines.clone(), reason };
        Button::new(voice.plain(text_key, &Args::new()), Intent::Surplus(ask))
    };
    let nothing = Button::new(voice.plain("button-count-leave", &Args::new()), Intent::Surplus(Ask::Leave));
    let letter = if differences.iter().any(|one| one.less().is_positive()) {
        said.push(voice.say("count-why", &Args::new()));
        Letter::new(said.join("\n"))
            .row([
                set(key("button-count-spoiled"), Some(Reason::Spoiled)),
                set(key("button-count-sold"), Some(Reason::Sold)),
            ])
            .row([
                set(key("button-count-given"), Some(Reason::Given)),
                set(key("button-count-wrong-pick"), Some(Reason::WrongPick)),
            ])
            .row([nothing])
    } else if differences.iter().any(|one| one.more().is_positive()) {
        said.push(voice.say("count-unlogged", &Args::new()));
        Letter::new(said.join("\n")).row([set(key("button-count-picked"), None), nothing])
    } else {
        said.push(voice.say("count-agrees", &Args::new()));
        Letter::new(said.join("\n"))
    };
    desk.answer(person, letter).await
}

/// Sets the books right.
pub(super) async fn set_right(
    desk: &mut Desk<'_>,
    person: &Person,
    (lines, reason): (Vec<(String, Grams)>, Option<Reason>),
) -> store::Result<()> {
    let Some(differences) = stocktake::set_right(&mut desk.farm(), person, (&lines, reason)).await? else {
        // Something has left the cold room since: the reason is asked for.
        return compare(desk, person, lines).await;
    };
    let voice = desk.voice(person);
    let counted = |one: &Difference| (one.crop.clone(), one.counted);
    let counted: Vec<(String, Grams)> = differences.iter().map(counted).collect();
    let args = Args::new().list("amounts", desk.house.amounts(&counted, &voice));
    let mut said = vec![voice.say("count-done", &args)];
    said.extend(uncovered(desk, person).await?);
    desk.answer(person, Letter::new(said.join("\n"))).await
}

/// What is spoken for and not there.
async fn uncovered(desk: &mut Desk<'_>, person: &Person) -> store::Result<Vec<String>> {
    let voice = desk.voice(person);
    let uncovered = stock::now(&mut desk.farm()).await?.uncovered.into_iter();
    let line = uncovered.map(|one| {
        let args = Args::new().text("crop", desk.house.crop_name(&one.crop, &voice)).weight("weight", one.weight);
        voice.say("surplus-promises-uncovered", &args)
    });
    Ok(line.collect())
}

/// Throws these weights away: all of them or none.
pub(super) async fn throw_away(desk: &mut Desk<'_>, person: &Person, lines: Vec<(String, Grams)>) -> store::Result<()> {
    let voice = desk.voice(person);
    let house = desk.house;
    for one in stocktake::compare(&mut desk.farm(), &lines).await? {
        if one.more().is_positive() {
            let args = Args::new().text("crop", house.crop_name(&one.crop, &voice)).weight("there", one.booked);
            return super::left::refused(desk, person, voice.say("surplus-more-than-there", &args)).await;
        }
    }
    let (mut said, mut all) = (Vec::new(), Vec::new());
    for (crop, grams) in lines {
        if let Out::Done { parts, uncovered } = out::discard(&mut desk.farm(), person, (&crop, grams)).await? {
            let crop_is = || Args::new().text("crop", house.crop_name(&crop, &voice));
            said.push(voice.say("surplus-discarded", &crop_is().weight("weight", grams)));
            if uncovered.is_positive() {
                said.push(voice.say("surplus-promises-uncovered", &crop_is().weight("weight", uncovered)));
            }
            all.extend(parts);
        }
    }
    let undo = Ask::PutBack { kind: MoveKind::Discarded, parts: all };
    super::left::show(desk, person, Some((said.join("\n"), Some(undo)))).await
}
