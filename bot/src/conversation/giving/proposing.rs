//! Proposing a drop: what the keeper is answered, and what a food bank and the keepers read of a proposal.

use super::{Ask, button, stale, told};
use crate::conversation::audience::gift_card as card;
use crate::conversation::{Desk, Letter};
use crate::house::House;
use crate::wording::{Args, Voice, key};
use scheduler::farm::giving::proposing::{self, Unplaced};
use scheduler::farm::giving::{Gift, Outcome};
use scheduler::id::Id;
use scheduler::people::Person;
use scheduler::quantity::Grams;
use scheduler::store;
use scheduler::surplus::partners::LeftOut;

/// The keeper gives all that is free of a crop.
pub(super) async fn give(desk: &mut Desk<'_>, person: &Person, crop: &str) -> store::Result<()> {
    let Some((given, events)) = proposing::give(&mut desk.farm(), crop).await? else {
        let voice = desk.voice(person);
        let args = Args::new().text("crop", desk.house.crop_name(crop, &voice)).weight("free", Grams::ZERO);
        return desk.answer(person, Letter::new(voice.say("surplus-more-than-free", &args))).await;
    };
    desk.happened(events);
    looking(desk, person, &[(crop.to_owned(), given)]).await
}

/// The keeper proposes the stock of a drop that came to nothing once more.
pub(super) async fn again(desk: &mut Desk<'_>, person: &Person, drop_id: Id) -> store::Result<()> {
    match proposing::again(&mut desk.farm(), person, drop_id).await? {
        Outcome::Unknown | Outcome::NotNow(_) => stale(desk, person).await,
        Outcome::Done(gift, events) => {
            desk.happened(events);
            looking(desk, person, &gift.drop.load()).await
        }
    }
}

/// Answers that a food bank is looked for.
///
/// # Errors
/// Whatever the store fails with.
pub async fn looking(desk: &mut Desk<'_>, person: &Person, what: &[(String, Grams)]) -> store::Result<()> {
    let voice = desk.voice(person);
    let what = desk.house.amounts(what, &voice);
    desk.answer(person, Letter::new(voice.say("drop-looking", &Args::new().list("what", what)))).await
}

/// The food bank's card of a proposal.
pub(in crate::conversation) fn gift_card(house: &House, voice: &Voice, gift: &Gift) -> Letter {
    let drop = &gift.drop;
    let args = told(house, voice, gift).text("farm", house.config.farm.name.clone());
    let lines = [
        voice.say("gift-proposed", &args.day_time("answer_by", drop.answer_by)),
        voice.say("gift-caution", &Args::new()),
    ];
    Letter::new(lines.join("\n\n"))
        .on_card(card("gift", drop.id))
        .row([button(voice, key("button-agree"), Ask::Agree { drop: drop.id })])
        .row([
            button(voice, key("button-other-time"), Ask::OtherTimes { drop: drop.id }),
            button(voice, key("button-not-this-time"), Ask::Decline { drop: drop.id }),
        ])
}

/// Nobody can take it: why, food bank by food bank, and what else can be done.
pub(super) fn nobody_takes(house: &House, voice: &Voice, unplaced: &Unplaced) -> Letter {
    let Unplaced { rest, banks, reasons } = unplaced;
    let mut lines = vec![voice.say("drop-nobody", &Args::new().list("what", house.amounts(rest, voice)))];
    if banks.is_empty() {
        lines.push(voice.say("banks-none", &Args::new()));
    }
    lines.extend(reasons.iter().filter_map(|(id, why)| {
        let bank = banks.iter().find(|bank| bank.id == *id)?;
        let args = Args::new().text("bank", bank.name.clone());
        Some(match why {
            LeftOut::AlreadyAsked => voice.say("left-out-asked", &args),
            LeftOut::NoColdStore => voice.say("left-out-warm", &args),
            LeftOut::TakesNoneOfIt => voice.say("left-out-crops", &args),
            LeftOut::TooLittle { least, .. } => voice.say("left-out-too-little", &args.weight("least", *least)),
            LeftOut::ClosedInTime => voice.say("left-out-closed", &args),
            LeftOut::FullInTime => voice.say("left-out-full", &args),
        })
    }));
    Letter::new(lines.join("\n"))
}
