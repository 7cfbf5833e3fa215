//! Ordering: what a restaurant asks for one delivery, its standing orders, and what is coming. Rule: whatever changes an
//! order ends with the order said back, can be undone until orders close, and is told to the restaurant's other contacts.

mod calendar_file;
mod card;
mod change;
mod coming;
mod draft;
mod edits;
mod ending;
mod limits;
mod placing;
mod standing;
mod typed;
pub mod weights;

use super::audience::Audience;
use super::{Button, Desk, Letter};
use crate::intent::{Confirming, Intent, Waiting as Question};
use crate::wording::Args;
pub use change::told;
pub use edits::DayEdit;
pub use ending::OPEN_END;
pub use scheduler::farm::ordering::day::Beside;
pub use scheduler::farm::ordering::edits::{How, Side};
pub use standing::rhythm as rhythm_words;

use chrono::Weekday;
use scheduler::clock::LocalDate;
use scheduler::farm::ordering::Book;
use scheduler::id::Id;
use scheduler::people::Person;
use scheduler::quantity::Grams;
use scheduler::store::{self, people, settings};
use serde::{Deserialize, Serialize};

/// Crops by key with weights.
pub type Lines = Vec<(String, Grams)>;

/// What can be looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum View {
    /// The coming deliveries.
    Coming {
        page: usize,
    },
    Standing,
    /// What was delivered, newest first.
    History {
        page: usize,
    },
}

/// A standing order as it is put together by buttons.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Draft {
    pub crop: Option<String>,
    pub grams: Option<Grams>,
    pub every_weeks: Option<u16>,
}

/// What a person can want here. `sure: false` says back what was understood and waits for a button; `sure: true` does it.
/// A day that is left out is the next delivery still open.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Ask {
    /// What is on a day now, with buttons to change it.
    Card {
        day: Option<LocalDate>,
    },
    /// Choose another day.
    Days,
    /// From `seen` to `to` in all, by a button; answered without effect when `seen` is no longer so.
    Step {
        day: LocalDate,
        crop: String,
        seen: Grams,
        to: Grams,
    },
    /// Sets the one-off line of each crop. Where a standing order for the crop is due that day, `beside` says whether the
    /// weight is in its place or on top; while `None`, that is asked.
    Place {
        lines: Lines,
        day: Option<LocalDate>,
        #[serde(default)]
        beside: Option<Beside>,
        sure: bool,
    },
    /// Sets all that is asked of each crop on that day: the standing order's date where one is due, or the one-off line.
    Change {
        lines: Lines,
        day: Option<LocalDate>,
        sure: bool,
    },
    /// Makes the day's crops what they were the last time something was ordered before it.
    SameAsLast {
        day: Option<LocalDate>,
        sure: bool,
    },
    /// Nothing that day, of one crop or at all: standing orders leave the date out, one-off lines go.
    Skip {
        day: Option<LocalDate>,
        crop: Option<String>,
        sure: bool,
    },
    /// Takes one-off lines back; standing orders stay. Where only standing orders are due, asks whether to skip.
    Withdraw {
        day: Option<LocalDate>,
        crop: Option<String>,
        sure: bool,
    },
    /// Several changes of one or more days.
    Edit {
        edits: Vec<DayEdit>,
        sure: bool,
    },
    /// What was asked last time, or by standing orders, with changes.
    UsualWith {
        edits: Vec<(String, How)>,
        day: Option<LocalDate>,
        sure: bool,
    },
    /// So much of what was ordered last.
    MakeIt {
        grams: Grams,
        day: Option<LocalDate>,
    },
    /// One crop in another's place; `gone` is the only other one asked for where left out.
    Swap {
        gone: Option<String>,
        come: String,
        grams: Option<(Side, Grams)>,
        day: Option<LocalDate>,
    },
    /// What was ordered last is not wanted after all.
    CancelLast {},
    /// Another usual weight of standing orders.
    StandingEdit {
        edits: Vec<(String, How)>,
        sure: bool,
    },
    /// A new standing order for each crop, in place of those for the same crop on the same dates. No weekdays: the farm's
    /// only delivery weekday, or the question which. `from`: the first delivery still open on or after it.
    Standing {
        lines: Lines,
        every_weeks: u16,
        weekdays: Vec<Weekday>,
        from: Option<LocalDate>,
        until: Option<LocalDate>,
        sure: bool,
    },
    /// A new standing order by buttons.
    Draft(Draft),
    /// One standing order with what can be done to it.
    One {
        id: Id,
    },
    /// The usual weight of a standing order, by a button.
    Usual {
        id: Id,
        seen: Grams,
        to: Grams,
    },
    /// Type the usual weight of a standing order.
    TypeUsual {
        id: Id,
    },
    /// Type the weight of a new standing order.
    TypeDraft(Draft),
    /// Rests every standing order. `until` is the first day that counts again; without it, that is asked. `from` is the
    /// first that does not; without it, the next delivery still open.
    Pause {
        #[serde(default)]
        from: Option<LocalDate>,
        until: Option<LocalDate>,
        sure: bool,
    },
    Resume,
    /// Ends the standing orders of one crop, or all.
    End {
        crop: Option<String>,
        sure: bool,
    },
    EndOne {
        id: Id,
        sure: bool,
    },
    /// Takes the last change back; a button names its change, so that it never takes back a later one.
    Undo {
        change: Option<Id>,
    },
    /// Nothing after all: the day's card, unchanged.
    Leave {
        day: Option<LocalDate>,
    },
    Show(View),
    /// The standing deliveries as an iCalendar file.
    CalendarFile,
}

/// What a button of a card does each time it is pressed.
#[derive(Clone, Debug, PartialEq)]
pub enum Again {
    /// A step up or down of a crop on a day.
    Step { day: LocalDate, crop: String, is_up: bool },
    /// A step up or down of a standing order.
    Usual { id: Id, is_up: bool },
    /// Another thing to look at.
    Look(Ask),
}

impl Ask {
    /// Whether it is said back before anything is done.
    pub fn is_said_back(&self) -> bool {
        match self {
            Ask::Place { sure, .. }
            | Ask::Change { sure, .. }
            | Ask::SameAsLast { sure, .. }
            | Ask::Skip { sure, .. }
            | Ask::Withdraw { sure, .. }
            | Ask::Standing { sure, .. }
            | Ask::Edit { sure, .. }
            | Ask::UsualWith { sure, .. }
            | Ask::StandingEdit { sure, .. }
            | Ask::Pause { sure, .. }
            | Ask::End { sure, .. } => !sure,
            Ask::MakeIt { .. } | Ask::Swap { .. } | Ask::CancelLast {} => true,
            _ => false,
        }
    }

    /// The day it is about, where it names one.
    pub fn day(&self) -> Option<LocalDate> {
        match self {
            Ask::Place { day, .. }
            | Ask::Change { day, .. }
            | Ask::SameAsLast { day, .. }
            | Ask::Skip { day, .. }
            | Ask::Withdraw { day, .. }
            | Ask::UsualWith { day, .. } => *day,
            Ask::Edit { edits, .. } => edits.first().and_then(|edit| edit.day),
            _ => None,
        }
    }

    /// What it does each time; `None` for what must be done once: ordering, skipping, ending, undoing.
    pub fn again(&self) -> Option<Again> {
        match self {
            Ask::Step { day, crop, seen, to } => Some(Again::Step { day: *day, crop: crop.clone(), is_up: to > seen }),
            Ask::Usual { id, seen, to } => Some(Again::Usual { id: *id, is_up: to > seen }),
            Ask::Card { .. } | Ask::Days | Ask::One { .. } | Ask::Show(_) => Some(Again::Look(self.clone())),
            _ => None,
        }
    }
}

/// What a chat may answer by typing.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Waiting {
    Usual { id: Id },
    Draft(Draft),
}

/// Does it.
///
/// # Errors
/// Whatever the store fails with.
pub async fn act(desk: &mut Desk<'_>, person: &Person, ask: Ask) -> store::Result<()> {
    match ask {
        Ask::Card { day } => card::show(desk, person, day).await,
        Ask::Days => card::days(desk, person).await,
        Ask::Step { day, crop, seen, to } => card::step(desk, person, card::Step { day, crop, seen, to }).await,
        Ask::Place { lines, day, beside, sure } => {
            placing::place(desk, person, placing::Place { lines, day, beside, sure }).await
        }
        Ask::Change { lines, day, sure } => {
            placing::change(desk, person, placing::Place { lines, day, beside: None, sure }).await
        }
        Ask::SameAsLast { day, sure } => placing::same_as_last(desk, person, (day, sure)).await,
        Ask::Skip { day, crop, sure } => placing::skip(desk, person, placing::Off { day, crop, sure }).await,
        Ask::Withdraw { day, crop, sure } => placing::withdraw(desk, person, placing::Off { day, crop, sure }).await,
        Ask::Standing { lines, every_weeks, weekdays, from, until, sure } => {
            let new = standing::New { lines, every_weeks, weekdays, from, until, sure };
            standing::start(desk, person, new).await
        }
        Ask::Draft(draft) => draft::go_on(desk, person, draft).await,
        Ask::One { id } => standing::one(desk, person, id).await,
        Ask::Usual { id, seen, to } => standing::usual(desk, person, (id, seen, to)).await,
        Ask::TypeUsual { id } => typed::ask(desk, person, Waiting::Usual { id }).await,
        Ask::TypeDraft(draft) => typed::ask(desk, person, Waiting::Draft(draft)).await,
        Ask::Edit { edits, sure } => edits::edit(desk, person, (edits, sure)).await,
        Ask::UsualWith { edits, day, sure } => edits::usual_with(desk, person, (edits, day, sure)).await,
        Ask::MakeIt { grams, day } => edits::make_it(desk, person, (grams, day)).await,
        Ask::Swap { gone, come, grams, day } => edits::swap(desk, person, (gone, come), (grams, day)).await,
        Ask::CancelLast {} => edits::cancel_last(desk, person).await,
        Ask::StandingEdit { edits, sure } => edits::standing_edit(desk, person, (edits, sure)).await,
        Ask::Pause { from, until, sure } => ending::pause(desk, person, (from, until, sure)).await,
        Ask::Resume => ending::resume(desk, person).await,
        Ask::End { crop, sure } => ending::end(desk, person, (crop, sure)).await,
        Ask::EndOne { id, sure } => ending::end_one(desk, person, (id, sure)).await,
        Ask::Undo { change } => change::undo(desk, person, change).await,
        Ask::Leave { day } => card::leave(desk, person, day).await,
        Ask::Show(View::Coming { page }) => coming::coming(desk, person, page).await,
        Ask::Show(View::Standing) => standing::show(desk, person).await,
        Ask::Show(View::History { page }) => coming::history(desk, person, page).await,
        Ask::CalendarFile => calendar_file::send(desk, person).await,
    }
}

/// How long a day just spoken of is the one meant by a text that names none.
const SPOKEN_SECONDS: i64 = 10 * 60;

/// The day that was spoken of just now and still takes orders.
///
/// # Errors
/// Whatever the store fails with.
pub async fn spoken_of(desk: &mut Desk<'_>, person: &Person) -> store::Result<Option<LocalDate>> {
    let Some(buyer_id) = person.buyer_id else { return Ok(None) };
    let last = scheduler::farm::ordering::change::last(&mut desk.farm(), buyer_id).await?;
    let last = last.filter(|last| desk.now.since(last.made_at) < SPOKEN_SECONDS).map(|last| last.day);
    let day = desk.spoken_day.or(last);
    let is_open = |day: &LocalDate| desk.house.calendar.cutoff_for(*day).is_none_or(|closes_at| closes_at > desk.now);
    Ok(day.filter(is_open))
}

/// Takes a typed answer.
///
/// # Errors
/// Whatever the store fails with.
pub async fn answered(desk: &mut Desk<'_>, person: &Person, waiting: Waiting, text: &str) -> store::Result<bool> {
    typed::answered(desk, person, waiting, text).await
}

/// What the person's restaurant has ordered; the person is answered where they have none. A standing order that cannot be
/// read is told to the keepers, once.
async fn read_book(desk: &mut Desk<'_>, person: &Person) -> store::Result<Option<Book>> {
    let Some(buyer_id) = person.buyer_id else {
        refuse(desk, person, desk.voice(person).say("not-for-your-role", &Args::new())).await?;
        return Ok(None);
    };
    let book = Book::read(&mut desk.farm(), buyer_id).await?;
    for stored in &book.unreadable {
        let name = format!("standing_unreadable_told_{}", stored.id);
        if settings::get(&mut desk.tx, &name).await?.is_some() {
            continue;
        }
        settings::put(&mut desk.tx, &name, &desk.now.get().to_string()).await?;
        let buyer = people::buyer_by_id(&mut desk.tx, buyer_id).await?.map(|buyer| buyer.name).unwrap_or_default();
        let house = desk.house;
        desk.tell_family(Audience::Keepers, |voice| {
            let crop = house.crop_name(&stored.crop, voice);
            Letter::new(
                voice.say("standing-unreadable-family", &Args::new().text("buyer", buyer.clone()).text("crop", crop)),
            )
        })
        .await?;
    }
    Ok(Some(book))
}

/// Answers: over the pressed card, or at the end of the chat, where the buttons of the earlier answer then go.
async fn reply(desk: &mut Desk<'_>, person: &Person, letter: Letter) -> store::Result<()> {
    let is_in_place = desk.is_press() || letter.file.is_some();
    let letter = if is_in_place { letter } else { letter.on_card("ordering").at_end() };
    desk.answer(person, letter).await
}

/// Says back what was understood. `yes` does it, by its button or by a typed yes; `mend` shows what can be changed instead.
async fn confirm(desk: &mut Desk<'_>, person: &Person, html: String, (yes, mend): (Ask, Ask)) -> store::Result<()> {
    let voice = desk.voice(person);
    let confirming = Confirming { yes: Intent::Ordering(yes.clone()), no: Intent::Ordering(mend.clone()) };
    // A guess is done by its button only: a typed yes may be meant for something else.
    if !desk.is_guess() {
        desk.ask(person, &Question::Confirm(Box::new(confirming))).await?;
    }
    let letter = Letter::new(html).row([
        button(voice.plain("order-button-right", &Args::new()), yes),
        button(voice.plain("order-button-mend", &Args::new()), mend),
    ]);
    reply(desk, person, letter).await
}

/// Answers with a sentence; nothing was changed.
async fn refuse(desk: &mut Desk<'_>, person: &Person, html: String) -> store::Result<()> {
    reply(desk, person, Letter::new(html)).await
}

fn button(label: String, ask: Ask) -> Button {
    Button::new(label, Intent::Ordering(ask))
}
