//! A batch put right by chat: how many, how heavy, which room, since when; and a part of it as a batch of its own.

use super::shelf::{self, Shelf};
use super::{Ask, Waiting, button, choosing, close_question, refuse, seen, shelves, shelves_button};
use crate::conversation::{Desk, Letter};
use crate::intent::Waiting as Question;
use crate::wording::{Args, DateForm, key};
use chrono::Days;
use scheduler::clock::LocalDate;
use scheduler::farm::batch_changes::{self, Change, DRY_LEAST, DRY_MOST, Outcome};
use scheduler::id::Id;
use scheduler::people::Person;
use scheduler::store;
use serde::{Deserialize, Serialize};

/// Days back that are offered for the day a batch came.
const DAYS_OFFERED: u64 = 14;

/// What is asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Detail {
    Units,
    Dry,
    Room,
    Received,
    Split,
}

/// Asks what is wrong.
pub(super) async fn which(desk: &mut Desk<'_>, person: &Person, batch: Id) -> store::Result<()> {
    let Some(shelf) = choosing::named(desk, person, batch, None).await? else { return Ok(()) };
    let voice = desk.voice(person);
    let args = Args::new().text("batch", shelf::name(desk.house, &voice, &shelf));
    let detail = |text_key: &'static str, correction| {
        button(voice.plain(text_key, &Args::new()), Ask::CorrectDetail { batch, correction })
    };
    let letter = Letter::new(voice.say("correct-batch-what", &args))
        .row([detail(key("button-detail-units"), Detail::Units), detail(key("button-detail-dry"), Detail::Dry)])
        .row([detail(key("button-detail-room"), Detail::Room), detail(key("button-detail-received"), Detail::Received)])
        .row([detail(key("button-detail-split"), Detail::Split)])
        .row([shelves_button(&voice)]);
    desk.answer(person, letter).await
}

/// Asks for it.
pub(super) async fn ask(desk: &mut Desk<'_>, person: &Person, (batch, detail): (Id, Detail)) -> store::Result<()> {
    let Some(shelf) = choosing::named(desk, person, batch, None).await? else { return Ok(()) };
    let voice = desk.voice(person);
    let args = Args::new().text("batch", shelf::name(desk.house, &voice, &shelf));
    let letter = match detail {
        Detail::Units => Letter::new(voice.say("correct-units", &args)),
        Detail::Dry => Letter::new(voice.say("correct-dry", &args)),
        Detail::Room => Letter::new(voice.say("correct-room", &args)),
        Detail::Split => Letter::new(voice.say("correct-split", &args)),
        Detail::Received => {
            let today = desk.today();
            let day = |back: u64| {
                let day = today.checked_sub_days(Days::new(back)).unwrap_or(today);
                let change = Change::StartedOn(day);
                button(voice.date(day, DateForm::Short), Ask::CorrectBatch { batch, change })
            };
            let days: Vec<_> = (0..DAYS_OFFERED).map(day).collect();
            let letter = Letter::new(voice.say("correct-received", &args));
            return desk.answer(person, days.chunks(3).fold(letter, |letter, row| letter.row(row.to_vec()))).await;
        }
    };
    desk.ask(person, &Question::Growing(Waiting::Correct { batch, detail })).await?;
    desk.answer(person, letter.row([shelves_button(&voice)])).await
}

/// Puts it right.
pub(super) async fn correct(desk: &mut Desk<'_>, person: &Person, (batch, change): (Id, Change)) -> store::Result<()> {
    let voice = desk.voice(person);
    match batch_changes::change(&mut desk.farm(), person, (batch, change)).await? {
        Outcome::Unknown => choosing::named(desk, person, batch, None).await.map(drop),
        Outcome::Refused => {
            let args = Args::new().weight("least", DRY_LEAST).weight("most", DRY_MOST);
            refuse(desk, person, voice.say("correct-not-possible", &args)).await
        }
        Outcome::Done(undo) => {
            close_question(desk, person).await?;
            let undo = Ask::CorrectBatch { batch, change: undo };
            shelves::changed(desk, person, (voice.say("batch-corrected", &Args::new()), batch), Some(undo)).await
        }
    }
}

/// Makes a part of it a batch of its own.
pub(super) async fn split(desk: &mut Desk<'_>, person: &Person, (batch, units): (Id, i64)) -> store::Result<()> {
    let Some(part) = split_off(desk, person, (batch, units)).await? else { return Ok(()) };
    let (house, voice) = (desk.house, desk.voice(person));
    let crop = choosing::named(desk, person, part, None).await?.map(|shelf| shelf.batch.crop).unwrap_or_default();
    let args = Args::new().text("units", shelf::units(house, &voice, &crop, units));
    shelves::changed(desk, person, (voice.say("batch-split", &args), part), None).await
}

/// A part of a batch was soaked or opened: it becomes a batch of its own, and that one was.
pub(super) async fn begin_part(
    desk: &mut Desk<'_>,
    person: &Person,
    (batch, units, day): (Id, i64, LocalDate),
) -> store::Result<()> {
    let Some(part) = split_off(desk, person, (batch, units)).await? else { return Ok(()) };
    let report = seen::Report { crop: None, batch: Some(part), day: Some(day) };
    seen::initiate(desk, person, report, None).await
}

async fn split_off(desk: &mut Desk<'_>, person: &Person, (batch, units): (Id, i64)) -> store::Result<Option<Id>> {
    let part = batch_changes::split(&mut desk.farm(), person, (batch, units)).await?;
    if part.is_none() {
        let args = Args::new().weight("least", DRY_LEAST).weight("most", DRY_MOST);
        let html = desk.voice(person).say("correct-not-possible", &args);
        refuse(desk, person, html).await?;
        return Ok(None);
    }
    close_question(desk, person).await?;
    Ok(part)
}

/// How many of a batch were named, where that is a part of it.
pub(super) fn part_of(shelf: &Shelf, units: Option<i64>) -> Option<i64> {
    units.filter(|units| (1..shelf.units_left()).contains(units))
}
