//! Giving: food banks, drops to them, and the record of what was given. Rule: a drop never takes promised stock, is
//! proposed within the food bank's hours, and is over once it is handed over, refused or called off.

mod answering;
mod closed_days;
mod correcting;
mod food_banks;
mod full_days;
mod handing_over;
pub mod hours;
mod list_file;
mod papers;
mod proposing;
mod record;
mod regular;
mod rhythm;
mod said;
mod telling;
mod year;

use super::audience::gift_card;
use super::{Button, Desk, Letter};
use crate::house::House;
use crate::intent::Intent;
use crate::wording::{Args, Voice};
use chrono::Weekday;
use scheduler::clock::{LocalDate, UtcSeconds};
use scheduler::farm::giving::Gift;
use scheduler::farm::giving::food_banks::Change;
use scheduler::farm::giving::regular::Wanted;
use scheduler::id::Id;
use scheduler::people::{Person, Role};
use scheduler::quantity::Grams;
use scheduler::store;
use scheduler::store::giving;
use scheduler::surplus::opening::Window;
use serde::{Deserialize, Serialize};

pub(super) use hours::{day_of, minute};
pub(super) use proposing::gift_card as gift_letter;
pub use proposing::looking;
pub use telling::tell;
pub use year::YearForm;

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
    /// On which dates can a food bank take nothing?
    Full {
        bank: Id,
    },
    /// Full on this date, or with room again.
    ToggleFull {
        bank: Id,
        day: LocalDate,
    },
    /// Its need is greater than others', or as theirs.
    ToggleNeed {
        bank: Id,
    },
    /// The regular drop of a food bank, or the times it can have.
    Regular {
        bank: Id,
    },
    /// A regular drop to a food bank that is not on the list.
    UnknownBank {
        name: String,
    },
    /// Propose a regular drop. Minutes of the local day; without one, when the food bank opens.
    RegularAt {
        bank: Id,
        every_weeks: u16,
        weekdays: Vec<Weekday>,
        minute: Option<u16>,
    },
    RegularAgree {
        regular: Id,
    },
    RegularDecline {
        regular: Id,
    },
    RegularStop {
        regular: Id,
        sure: bool,
    },
    /// Leave this date out, or bring it after all.
    RegularOn {
        regular: Id,
        day: LocalDate,
        is_on: bool,
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
    /// Said in words: so much of what was proposed.
    SaidPart {
        crop: Option<String>,
        grams: Grams,
    },
    /// Said in words: no room.
    SaidFull {
        day: Option<LocalDate>,
    },
    /// Said in words: another day, or another time; minutes of the local day.
    SaidTime {
        day: Option<LocalDate>,
        minute: Option<u16>,
    },
    /// Said in words: not after all.
    SaidCancel {},
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
    /// The calendar file and the sheet of a drop.
    Papers {
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
    /// The sheets of a year.
    GivenYear {
        year: i32,
        form: YearForm,
    },
    /// Which entry is wrong?
    CorrectGiven,
    CorrectDrop {
        drop: Id,
    },
}

impl Ask {
    /// Whether somebody of this role may ask it.
    pub fn is_for(&self, role: Role) -> bool {
        match self {
            Ask::Agree { .. } | Ask::OtherTimes { .. } | Ask::At { .. } => matches!(role, Role::Keeper | Role::Pantry),
            Ask::RegularAgree { .. }
            | Ask::RegularStop { .. }
            | Ask::RegularOn { .. }
            | Ask::Full { .. }
            | Ask::ToggleFull { .. } => matches!(role, Role::Keeper | Role::Pantry),
            Ask::Decline { .. }
            | Ask::RegularDecline { .. }
            | Ask::SaidPart { .. }
            | Ask::SaidFull { .. }
            | Ask::SaidTime { .. }
            | Ask::SaidCancel {} => role == Role::Pantry,
            Ask::Drops => matches!(role, Role::Keeper | Role::Driver | Role::Pantry),
            Ask::Show { .. }
            | Ask::Papers { .. }
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
    CorrectedWeight {
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
        Ask::ToggleCrop { bank, crop } => food_banks::change(desk, person, (bank, Change::ToggleCrop(crop))).await,
        Ask::ToggleColdStore { bank } => food_banks::change(desk, person, (bank, Change::ToggleColdStore)).await,
        Ask::ToggleClosed { bank, day } => closed_days::toggle(desk, person, (bank, day)).await,
        Ask::Full { bank } => full_days::ask(desk, person, bank).await,
        Ask::ToggleFull { bank, day } => full_days::toggle(desk, person, (bank, day)).await,
        Ask::ToggleNeed { bank } => food_banks::change(desk, person, (bank, Change::ToggleNeed)).await,
        Ask::Regular { bank } => regular::ask(desk, person, bank).await,
        Ask::UnknownBank { name } => {
            let text = desk.voice(person).say("bank-unknown", &Args::new().text("bank", name));
            desk.answer(person, Letter::new(text)).await
        }
        Ask::RegularAt { bank, every_weeks, weekdays, minute } => {
            regular::propose(desk, person, Wanted { bank, every_weeks, weekdays, minute }).await
        }
        Ask::RegularAgree { regular } => regular::agree(desk, person, regular).await,
        Ask::RegularDecline { regular } => regular::decline(desk, person, regular).await,
        Ask::RegularStop { regular, sure } => regular::stop(desk, person, (regular, sure)).await,
        Ask::RegularOn { regular, day, is_on } => regular::set_date(desk, person, (regular, day, is_on)).await,
        Ask::RemoveBank { bank, sure } => food_banks::remove(desk, person, (bank, sure)).await,
        Ask::Agree { drop } => answering::agree(desk, person, drop).await,
        Ask::OtherTimes { drop } => answering::other_times(desk, person, drop).await,
        Ask::At { drop, opens_at, closes_at } => {
            answering::at(desk, person, (drop, Window { opens_at, closes_at })).await
        }
        Ask::Decline { drop } => answering::decline(desk, person, drop).await,
        Ask::SaidPart { crop, grams } => said::take(desk, person, (crop, grams)).await,
        Ask::SaidFull { day } => said::full(desk, person, day).await,
        Ask::SaidTime { day, minute } => said::other_time(desk, person, (day, minute)).await,
        Ask::SaidCancel {} => said::cancel(desk, person).await,
        Ask::CallOff { drop } | Ask::CouldNot { drop } => answering::call_off(desk, person, drop).await,
        Ask::Again { drop } => proposing::again(desk, person, drop).await,
        Ask::Show { drop } => handing_over::show(desk, person, drop).await,
        Ask::Papers { drop } => papers::hand(desk, person, drop).await,
        Ask::HandedOver { drop } => handing_over::handed_lines(desk, person, drop, (Vec::new(), None)).await,
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
        Ask::GivenYear { year, form } => year::send(desk, person, (year, form)).await,
        Ask::CorrectGiven => correcting::which(desk, person).await,
        Ask::CorrectDrop { drop } => correcting::ask_weight(desk, person, drop).await,
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
        Waiting::CorrectedWeight { drop } => return correcting::weighed(desk, person, (drop, text)).await,
        Waiting::Temperature { drop } => return handing_over::measured(desk, person, (drop, text)).await,
    }
    Ok(true)
}

/// What a text that the grammar does not know means as a regular drop; `None` when it is no such thing.
///
/// # Errors
/// Whatever the store fails with.
pub async fn regular_wish(desk: &mut Desk<'_>, text: &str) -> store::Result<Option<Ask>> {
    let banks = giving::food_banks(&mut desk.tx).await?;
    let names: Vec<&str> = banks.iter().map(|bank| bank.name.as_str()).collect();
    Ok(match rhythm::read(text, &names) {
        Some((place, rhythm::Said { every_weeks, weekdays, minute })) => {
            Some(Ask::RegularAt { bank: banks[place].id, every_weeks, weekdays, minute })
        }
        None => rhythm::stranger(text).map(|name| Ask::UnknownBank { name }),
    })
}

async fn stale(desk: &mut Desk<'_>, person: &Person) -> store::Result<()> {
    let letter = Letter::new(desk.voice(person).say("stale-button", &Args::new()));
    desk.answer(person, letter).await
}

/// What most messages about a drop say: the food bank, what, and when.
fn told(house: &House, voice: &Voice, Gift { drop, bank }: &Gift) -> Args {
    let zone = house.zone();
    Args::new()
        .text("bank", bank.name.clone())
        .list("what", house.amounts(&drop.load(), voice))
        .date("day", drop.window.opens_at.local_date(zone))
        .time("from", drop.window.opens_at)
        .time("to", drop.window.closes_at)
}

/// Takes what cards there are of a drop to a text without buttons.
async fn settle(desk: &mut Desk<'_>, drop_id: Id, write: impl Fn(&Voice) -> String) -> store::Result<()> {
    for kind in ["gift", "keep", "drop"] {
        desk.settle_card(&gift_card(kind, drop_id), |voice| Letter::new(write(voice))).await?;
    }
    Ok(())
}

fn button(voice: &Voice, text_key: &'static str, ask: Ask) -> Button {
    Button::new(voice.plain(text_key, &Args::new()), Intent::Giving(ask))
}
