//! Giving: food banks, drops to them, and the record of what was given. Rule: a drop never takes promised stock, is
//! proposed within the food bank's hours, and is over once it is handed over, refused or called off.

mod answering;
mod closed_days;
mod food_banks;
mod handing_over;
pub mod hours;
mod list_file;
mod proposing;
mod record;

use super::{Button, Desk, Letter};
use crate::intent::Intent;
use crate::wording::{Args, Voice};
use scheduler::clock::{LocalDate, UtcSeconds};
use scheduler::id::Id;
use scheduler::people::{Person, Role};
use scheduler::quantity::Grams;
use scheduler::store;
use scheduler::store::giving::{self, DropOff, FoodBank};
use scheduler::store::occurrences::Planned;
use serde::{Deserialize, Serialize};

pub use proposing::propose;

/// What the farm knows of a food bank, one question each.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Detail {
    Address,
    Minutes,
    Hours,
    Weights,
    ClosedDay,
}

/// What a person can want here.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Ask {
    /// Give all that is free of a crop.
    Give {
        crop: String,
    },
    Banks,
    BanksPage {
        page: usize,
    },
    NewBank,
    Bank {
        bank: Id,
    },
    Change {
        bank: Id,
        detail: Detail,
    },
    /// Takes this crop, or no longer.
    ToggleCrop {
        bank: Id,
        crop: String,
    },
    ToggleColdStore {
        bank: Id,
    },
    /// Closed on this date, or open after all.
    ToggleClosed {
        bank: Id,
        day: LocalDate,
    },
    /// Take a food bank off the list.
    RemoveBank {
        bank: Id,
        sure: bool,
    },
    /// The food bank: yes. Or the keeper, for one that agreed by telephone.
    Agree {
        drop: Id,
    },
    /// Which other times are there?
    OtherTimes {
        drop: Id,
    },
    At {
        drop: Id,
        opens_at: UtcSeconds,
        closes_at: UtcSeconds,
    },
    /// The food bank: not this time.
    Decline {
        drop: Id,
    },
    CallOff {
        drop: Id,
    },
    /// Propose the same stock anew.
    Again {
        drop: Id,
    },
    /// Show a drop with what can be said about it.
    Show {
        drop: Id,
    },
    HandedOver {
        drop: Id,
    },
    HandedOtherWeight {
        drop: Id,
    },
    /// Said in words: handed over, without saying where. No lines: as planned. Tenths of a degree Celsius.
    SaidHandedOver {
        lines: Vec<(String, Grams)>,
        temperature_dc: Option<i64>,
    },
    /// The same with the drop it is about.
    HandedLines {
        drop: Id,
        lines: Vec<(String, Grams)>,
        temperature_dc: Option<i64>,
    },
    /// It was not handed over after all, or another weight was.
    UndoHandOver {
        drop: Id,
    },
    CouldNot {
        drop: Id,
    },
    Drops,
    /// The coming drops as a table.
    DropTable,
    Given,
}

impl Ask {
    /// Whether somebody of this role may ask it.
    pub fn is_for(&self, role: Role) -> bool {
        match self {
            Ask::Agree { .. } | Ask::OtherTimes { .. } | Ask::At { .. } => matches!(role, Role::Keeper | Role::Pantry),
            Ask::Decline { .. } => role == Role::Pantry,
            Ask::Drops => matches!(role, Role::Keeper | Role::Driver | Role::Pantry),
            Ask::Show { .. }
            | Ask::HandedOver { .. }
            | Ask::HandedOtherWeight { .. }
            | Ask::SaidHandedOver { .. }
            | Ask::HandedLines { .. }
            | Ask::UndoHandOver { .. }
            | Ask::CouldNot { .. }
            | Ask::DropTable => matches!(role, Role::Keeper | Role::Driver),
            _ => role == Role::Keeper,
        }
    }
}

/// What a chat may answer by typing.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Waiting {
    BankName,
    Detail {
        bank: Id,
        detail: Detail,
        /// The food bank is new: the next question follows.
        is_new: bool,
    },
    HandedWeight {
        drop: Id,
    },
    Temperature {
        drop: Id,
    },
}

/// Does it.
///
/// # Errors
/// Whatever the store fails with.
pub async fn act(desk: &mut Desk<'_>, person: &Person, ask: Ask) -> store::Result<()> {
    match ask {
        Ask::Give { crop } => proposing::give(desk, person, &crop).await,
        Ask::Banks => food_banks::list(desk, person, 0).await,
        Ask::BanksPage { page } => food_banks::list(desk, person, page).await,
        Ask::NewBank => food_banks::ask_name(desk, person).await,
        Ask::Bank { bank } => food_banks::show(desk, person, bank).await,
        Ask::Change { bank, detail: Detail::ClosedDay } => closed_days::ask(desk, person, bank).await,
        Ask::Change { bank, detail } => food_banks::ask_detail(desk, person, (bank, detail, false)).await,
        Ask::ToggleCrop { bank, crop } => food_banks::toggle_crop(desk, person, (bank, crop)).await,
        Ask::ToggleColdStore { bank } => food_banks::toggle_cold_store(desk, person, bank).await,
        Ask::ToggleClosed { bank, day } => closed_days::toggle(desk, person, (bank, day)).await,
        Ask::RemoveBank { bank, sure } => food_banks::remove(desk, person, (bank, sure)).await,
        Ask::Agree { drop } => answering::agree(desk, person, drop).await,
        Ask::OtherTimes { drop } => answering::other_times(desk, person, drop).await,
        Ask::At { drop, opens_at, closes_at } => answering::at(desk, person, (drop, opens_at, closes_at)).await,
        Ask::Decline { drop } => answering::decline(desk, person, drop).await,
        Ask::CallOff { drop } | Ask::CouldNot { drop } => answering::call_off(desk, person, drop).await,
        Ask::Again { drop } => proposing::again(desk, person, drop).await,
        Ask::Show { drop } => handing_over::show(desk, person, drop).await,
        Ask::HandedOver { drop } => handing_over::as_planned(desk, person, drop).await,
        Ask::HandedOtherWeight { drop } => handing_over::ask_weight(desk, person, drop).await,
        Ask::SaidHandedOver { lines, temperature_dc } => {
            handing_over::said(desk, person, (lines, temperature_dc)).await
        }
        Ask::HandedLines { drop, lines, temperature_dc } => {
            handing_over::handed_lines(desk, person, drop, (lines, temperature_dc)).await
        }
        Ask::UndoHandOver { drop } => handing_over::undo(desk, person, drop).await,
        Ask::Drops => record::drops(desk, person).await,
        Ask::DropTable => list_file::send(desk, person).await,
        Ask::Given => record::given(desk, person).await,
    }
}

/// Takes a typed answer.
///
/// # Errors
/// Whatever the store fails with.
pub async fn answered(desk: &mut Desk<'_>, person: &Person, waiting: Waiting, text: &str) -> store::Result<bool> {
    match waiting {
        Waiting::BankName => food_banks::named(desk, person, text).await?,
        Waiting::Detail { bank, detail: Detail::ClosedDay, .. } => {
            closed_days::typed(desk, person, (bank, text)).await?;
        }
        Waiting::Detail { bank, detail, is_new } => {
            food_banks::told(desk, person, (bank, detail, is_new), text).await?;
        }
        Waiting::HandedWeight { drop } => return handing_over::weighed(desk, person, (drop, text)).await,
        Waiting::Temperature { drop } => return handing_over::measured(desk, person, (drop, text)).await,
    }
    Ok(true)
}

/// The timetable's part: 'drop_answer_end', 'drop_eve', 'drop_leave' and 'drop_close'.
///
/// # Errors
/// Whatever the store fails with.
pub async fn due(desk: &mut Desk<'_>, due: &Planned) -> store::Result<()> {
    let Some(drop_id) = due.subject else { return Ok(()) };
    match due.job.as_str() {
        "drop_answer_end" => answering::silent(desk, drop_id).await,
        "drop_close" => handing_over::ask_after(desk, drop_id).await,
        "drop_eve" => handing_over::remind(desk, (drop_id, handing_over::Reminder::Evening)).await,
        _ => handing_over::remind(desk, (drop_id, handing_over::Reminder::Leaving)).await,
    }
}

/// A drop with its food bank; `None`, and said so, when a press means nothing any more or is another food bank's.
async fn found(desk: &mut Desk<'_>, person: &Person, drop_id: Id) -> store::Result<Option<(DropOff, FoodBank)>> {
    let drop = giving::drop_by_id(&mut desk.tx, drop_id).await?;
    let drop = drop.filter(|drop| person.role != Role::Pantry || person.partner_id == Some(drop.partner_id));
    let bank = match &drop {
        Some(drop) => giving::food_bank(&mut desk.tx, drop.partner_id).await?,
        None => None,
    };
    let found = drop.zip(bank);
    if found.is_none() {
        stale(desk, person).await?;
    }
    Ok(found)
}

async fn stale(desk: &mut Desk<'_>, person: &Person) -> store::Result<()> {
    let letter = Letter::new(desk.voice(person).say("stale-button", &Args::new()));
    desk.answer(person, letter).await
}

/// What a drop brings, as crops and weights.
fn load(drop: &DropOff) -> Vec<(String, Grams)> {
    drop.lines.iter().map(|line| (line.crop.clone(), line.grams)).collect()
}

/// What most messages about a drop say: the food bank, what, and when.
fn told(house: &crate::house::House, voice: &Voice, (drop, bank): (&DropOff, &FoodBank)) -> Args {
    let zone = house.zone();
    Args::new()
        .text("bank", bank.name.clone())
        .list("what", super::surplus::amounts(house, voice, &load(drop)))
        .date("day", drop.window.opens_at.local_date(zone))
        .time("from", drop.window.opens_at)
        .time("to", drop.window.closes_at)
}

/// Takes what cards there are of a drop to a text without buttons.
async fn settle(desk: &mut Desk<'_>, drop_id: Id, write: impl Fn(&Voice) -> String) -> store::Result<()> {
    for kind in ["gift", "keep", "drop"] {
        desk.settle_card(&format!("{kind}-{drop_id}"), |voice| Letter::new(write(voice))).await?;
    }
    Ok(())
}

fn button(voice: &Voice, text_key: &'static str, ask: Ask) -> Button {
    Button::new(voice.plain(text_key, &Args::new()), Intent::Giving(ask))
}
