//! The shelves by chat: batches start, are soaked or opened, pin, are picked into the cold room, rest and are spent.
//!
//! Rule: nothing is guessed. Where several batches could be meant, the person chooses; a refusal changes nothing; and
//! every change is said back with the state it leaves.

mod choosing;
mod correcting;
mod ending;
mod picking;
pub mod plan;
mod seen;
pub mod shelf;
mod shelves;
mod starting;
mod typed;
pub mod warmth;

pub use correcting::Detail;
pub use picking::PickLine;
pub use warmth::wish as warmth_wish;

use super::{Button, Desk, Letter};
use crate::intent::Intent;
use crate::wording::{Args, Voice};
use scheduler::clock::LocalDate;
use scheduler::farm::batch_changes::Change;
use scheduler::farm::batches;
use scheduler::id::Id;
use scheduler::people::Person;
use scheduler::quantity::Grams;
use scheduler::store;
use serde::{Deserialize, Serialize};
use starting::NewBatch;

/// What a person can want here. A day left out is today.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Ask {
    /// Begin the questions of a new batch.
    NewBatch,
    NewBatchOf {
        crop: String,
    },
    NewBatchUnits {
        crop: String,
        units: i64,
    },
    /// A batch received today; `dry_per_unit` is dry substrate.
    Start {
        crop: String,
        units: i64,
        dry_per_unit: Grams,
        room: String,
    },
    UndoStart {
        batch: Id,
    },
    /// Soaked or opened, always as a whole batch.
    Initiate {
        crop: Option<String>,
        batch: Option<Id>,
        units: Option<i64>,
        day: Option<LocalDate>,
    },
    UndoInitiate {
        batch: Id,
    },
    /// A part of a batch was soaked or opened.
    InitiatePart {
        batch: Id,
        units: i64,
        day: LocalDate,
    },
    /// What is wrong about a batch?
    Correct {
        batch: Id,
    },
    CorrectDetail {
        batch: Id,
        correction: Detail,
    },
    CorrectBatch {
        batch: Id,
        change: Change,
    },
    Split {
        batch: Id,
        units: i64,
    },
    Pins {
        crop: Option<String>,
        batch: Option<Id>,
        day: Option<LocalDate>,
    },
    UndoPins {
        batch: Id,
    },
    /// Ask which batch is picked.
    PickWhere,
    /// Ask how much was picked of it.
    PickWeight {
        batch: Id,
    },
    /// `sure`: an unlikely weight was confirmed.
    Picked {
        lines: Vec<(String, Grams)>,
        batch: Option<Id>,
        day: Option<LocalDate>,
        sure: bool,
    },
    /// The same with the batch of each line, as far as it is known.
    PickLines {
        lines: Vec<PickLine>,
        day: Option<LocalDate>,
        sure: bool,
    },
    UndoPick {
        lots: Vec<Id>,
    },
    /// Ask how many were lost.
    LostHowMany {
        batch: Id,
    },
    Lost {
        crop: Option<String>,
        batch: Option<Id>,
        units: i64,
        /// Today when left out.
        #[serde(default)]
        day: Option<LocalDate>,
    },
    UndoLost {
        batch: Id,
        units: i64,
        /// Lost in all after the loss that is undone: an older button does nothing.
        lost: i64,
        /// The day of the loss; today on a button made before losses had one.
        #[serde(default)]
        day: Option<LocalDate>,
    },
    /// The flush of a batch that may have to be chosen is over.
    FlushOver {
        crop: Option<String>,
        batch: Option<Id>,
    },
    /// Looked, and nothing is to be seen: nothing is written down.
    NothingYet {
        crop: Option<String>,
        batch: Option<Id>,
    },
    /// The flush is over: the batch rests, or is spent after the crop's last flush.
    LastPick {
        batch: Id,
    },
    /// The flush that was closed.
    UndoLastPick {
        flush: Id,
    },
    Spent {
        batch: Id,
        sure: bool,
    },
    Shelves {
        page: usize,
    },
    Show {
        batch: Id,
    },
    /// Ask how warm the batch's room is.
    WarmthOf {
        batch: Id,
    },
    /// Ask which scale a number is on: tenths of a degree as typed.
    WarmthScale {
        room: String,
        tenths: i64,
    },
    /// A room's temperature today, tenths of a degree Celsius; the room is asked for where it was not said.
    Warmth {
        room: Option<String>,
        tenths_c: i64,
    },
    /// What to soak or open by when.
    Plan,
    /// A question answered with no.
    Nothing,
}

/// What a chat may answer by typing.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Waiting {
    Units { crop: String },
    DryWeight { crop: String, units: i64 },
    Room { crop: String, units: i64, dry_per_unit: Grams },
    PickWeight { batch: Id },
    Correct { batch: Id, detail: Detail },
    Lost { batch: Id },
    Warmth { room: String },
}

/// The batch that people call by this number, with its crop.
///
/// # Errors
/// Whatever the store fails with.
pub async fn batch_called(desk: &mut Desk<'_>, number: usize) -> store::Result<Option<(Id, String)>> {
    Ok(batches::called(&mut desk.farm(), number).await?.map(|shelf| (shelf.batch.id, shelf.batch.crop)))
}

/// Does it.
///
/// # Errors
/// Whatever the store fails with.
pub async fn act(desk: &mut Desk<'_>, person: &Person, ask: Ask) -> store::Result<()> {
    match ask {
        Ask::NewBatch => starting::which_crop(desk, person).await,
        Ask::NewBatchOf { crop } => starting::how_many(desk, person, crop).await,
        Ask::NewBatchUnits { crop, units } => starting::how_heavy(desk, person, crop, units).await,
        Ask::Start { crop, units, dry_per_unit, room } => {
            starting::start(desk, person, NewBatch { crop, units, dry_per_unit, room }).await
        }
        Ask::UndoStart { batch } => starting::undo(desk, person, batch).await,
        Ask::Initiate { crop, batch, units, day } => {
            seen::initiate(desk, person, seen::Report { crop, batch, day }, units).await
        }
        Ask::InitiatePart { batch, units, day } => correcting::begin_part(desk, person, (batch, units, day)).await,
        Ask::Correct { batch } => correcting::which(desk, person, batch).await,
        Ask::CorrectDetail { batch, correction } => correcting::ask(desk, person, (batch, correction)).await,
        Ask::CorrectBatch { batch, change } => correcting::correct(desk, person, (batch, change)).await,
        Ask::Split { batch, units } => correcting::split(desk, person, (batch, units)).await,
        Ask::UndoInitiate { batch } => seen::undo_initiate(desk, person, batch).await,
        Ask::Pins { crop, batch, day } => seen::pins(desk, person, seen::Report { crop, batch, day }).await,
        Ask::UndoPins { batch } => seen::undo_pins(desk, person, batch).await,
        Ask::PickWhere => picking::pick_where(desk, person).await,
        Ask::PickWeight { batch } => picking::how_much(desk, person, batch).await,
        Ask::Picked { lines, batch, day, sure } => {
            let lines = lines.into_iter().map(|(crop, grams)| PickLine { crop, grams, batch }).collect();
            picking::pick(desk, person, picking::Pick { lines, day, sure }).await
        }
        Ask::PickLines { lines, day, sure } => picking::pick(desk, person, picking::Pick { lines, day, sure }).await,
        Ask::UndoPick { lots } => picking::undo(desk, person, lots).await,
        Ask::LostHowMany { batch } => seen::lost_how_many(desk, person, batch).await,
        Ask::Lost { crop, batch, units, day } => {
            seen::lost(desk, person, seen::Report { crop, batch, day }, units).await
        }
        Ask::UndoLost { batch, units, lost, day } => {
            seen::undo_lost(desk, person, seen::Loss { batch, units, lost, day }).await
        }
        Ask::FlushOver { crop, batch } => ending::flush_over(desk, person, (crop, batch)).await,
        Ask::NothingYet { crop, batch } => seen::nothing_yet(desk, person, (crop, batch)).await,
        Ask::LastPick { batch } => ending::last_pick(desk, person, batch).await,
        Ask::UndoLastPick { flush } => ending::undo_last_pick(desk, person, flush).await,
        Ask::Spent { batch, sure: false } => ending::spent_question(desk, person, batch).await,
        Ask::Spent { batch, sure: true } => ending::spent(desk, person, batch).await,
        Ask::Shelves { page } => shelves::list(desk, person, page).await,
        Ask::Show { batch } => shelves::show(desk, person, batch).await,
        Ask::WarmthOf { batch } => warmth::how_warm(desk, person, batch).await,
        Ask::WarmthScale { room, tenths } => warmth::which_scale(desk, person, room, tenths).await,
        Ask::Warmth { room, tenths_c } => warmth::record(desk, person, room, tenths_c).await,
        Ask::Plan => plan::show(desk, person).await,
        Ask::Nothing => {
            close_question(desk, person).await?;
            let html = desk.voice(person).say("growing-nothing", &Args::new());
            refuse(desk, person, html).await
        }
    }
}

/// Takes a typed answer.
///
/// # Errors
/// Whatever the store fails with.
pub async fn answered(desk: &mut Desk<'_>, person: &Person, waiting: Waiting, text: &str) -> store::Result<bool> {
    typed::answered(desk, person, waiting, text).await
}

/// Forgets the question of this task that the chat was asked, if one is open; others stay.
async fn close_question(desk: &mut Desk<'_>, person: &Person) -> store::Result<()> {
    let chat_id = desk.group_chat(person).unwrap_or(person.chat_id);
    match desk.open_question(chat_id, person).await? {
        Some(crate::intent::Waiting::Growing(_)) => desk.close_question(person).await,
        _ => Ok(()),
    }
}

/// A button of this task.
fn button(label: String, ask: Ask) -> Button {
    Button::new(label, Intent::Growing(ask))
}

/// The button to the list.
fn shelves_button(voice: &Voice) -> Button {
    button(voice.plain("button-shelves", &Args::new()), Ask::Shelves { page: 0 })
}

/// Answers with a sentence and the way to the shelves; nothing was changed.
async fn refuse(desk: &mut Desk<'_>, person: &Person, html: String) -> store::Result<()> {
    let letter = Letter::new(html).row([shelves_button(&desk.voice(person))]);
    desk.answer(person, letter).await
}
