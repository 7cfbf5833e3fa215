//! From the evening before to the end of the run: what to pick and cool, what to pack from which lot, and what was
//! really delivered. Every gram that goes out leaves a lot.

pub mod eve;
pub mod files;
pub mod list;
pub mod run;
pub mod underway;
pub mod weight;

use super::letter::Patience;
use super::{Desk, Letter};
use crate::house::House;
use crate::wording::{Args, Voice};
use scheduler::clock::LocalDate;
use scheduler::farm::closed_day::ClosedDay;
use scheduler::farm::{lines, weighing};
use scheduler::id::Id;
use scheduler::people::Person;
use scheduler::quantity::Grams;
use scheduler::store;
use scheduler::store::deliveries::{self, Closed};
use serde::{Deserialize, Serialize};

/// What a person can want here.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Ask {
    /// The packing list again.
    List,
    /// The packing list as a file.
    File { day: LocalDate, form: files::Form },
    /// Everything is packed as listed.
    Packed { day: LocalDate },
    /// Whose weights differ?
    OtherWeights { day: LocalDate, stage: Stage },
    /// Which line of theirs differs?
    OtherWeightsOf { day: LocalDate, buyer: Id, stage: Stage },
    /// Type another weight for a line.
    OtherWeight { award: Id, stage: Stage },
    /// Nothing of a line was packed or handed over.
    Nothing { award: Id, stage: Stage },
    /// The run card.
    Run,
    /// The run card of a day, also of one that is over.
    RunOf { day: LocalDate },
    /// A restaurant has got what was packed.
    DeliveredOn { day: LocalDate, buyer: Id },
    /// A restaurant has got these weights; without lines, what was packed. For the run of the day.
    Delivered { buyer: Id, lines: Vec<(String, Grams)> },
    /// The driver comes so many minutes late, to everybody who has got nothing yet or to this restaurant.
    Late { minutes: Option<i64>, buyer: Option<Id> },
    /// Nobody opened.
    NobodyThere { buyer: Option<Id> },
    /// A restaurant did not take so much of a crop; all of it where no weight was said.
    Refused { buyer: Option<Id>, crop: Option<String>, grams: Option<Grams> },
    /// The run is over: who is not marked yet has got what was packed.
    AllDelivered { day: LocalDate },
}

/// Which weight is meant.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Stage {
    Packed,
    Delivered,
}

/// What a chat may answer by typing.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Waiting {
    Weight { award: Id, stage: Stage },
}

/// Does it.
///
/// # Errors
/// Whatever the store fails with.
pub async fn act(desk: &mut Desk<'_>, person: &Person, ask: Ask) -> store::Result<()> {
    match ask {
        Ask::List => list::show(desk, person).await,
        Ask::File { day, form } => files::send(desk, person, (day, form)).await,
        Ask::Packed { day } => list::packed(desk, person, day).await,
        Ask::OtherWeights { day, stage } => list::other_weights(desk, person, (day, stage)).await,
        Ask::OtherWeightsOf { day, buyer, stage } => list::other_weights_of(desk, person, (day, buyer, stage)).await,
        Ask::OtherWeight { award, stage } => weight::ask(desk, person, (award, stage)).await,
        Ask::Nothing { award, stage } => weight::set(desk, person, (award, stage), Grams::ZERO).await,
        Ask::Run => run::show(desk, person).await,
        Ask::RunOf { day } => run::show_day(desk, person, day).await,
        Ask::DeliveredOn { day, buyer } => match open_run(desk, person, day).await? {
            Some(closed) => run::delivered(desk, person, (&closed, buyer, &[])).await,
            None => Ok(()),
        },
        Ask::Delivered { buyer, lines } => match lines::meant_by(&mut desk.farm(), buyer).await? {
            Some(closed) => match open_run(desk, person, closed.day).await? {
                Some(closed) => run::delivered(desk, person, (&closed, buyer, &lines)).await,
                None => Ok(()),
            },
            None => no_run(desk, person).await,
        },
        Ask::Late { minutes, buyer } => underway::late(desk, person, (minutes, buyer)).await,
        Ask::NobodyThere { buyer } => underway::nobody_there(desk, person, buyer).await,
        Ask::Refused { buyer, crop, grams } => underway::refused(desk, person, buyer, (crop, grams)).await,
        Ask::AllDelivered { day } => match open_run(desk, person, day).await? {
            Some(closed) => run::all_delivered(desk, person, &closed).await,
            None => Ok(()),
        },
    }
}

/// Takes a typed answer.
///
/// # Errors
/// Whatever the store fails with.
pub async fn answered(desk: &mut Desk<'_>, person: &Person, waiting: Waiting, text: &str) -> store::Result<bool> {
    let Waiting::Weight { award, stage } = waiting;
    weight::typed(desk, person, (award, stage), text).await
}

/// The day's delivery if its run may be recorded now, or confirmed where it was only assumed; otherwise says why not.
async fn open_run(desk: &mut Desk<'_>, person: &Person, day: LocalDate) -> store::Result<Option<Closed>> {
    let Some(closed) = closed_run(desk, person, day).await? else { return Ok(None) };
    let is_assumed = lines::live(&mut desk.farm(), day).await?.iter().any(|line| line.is_assumed);
    if closed.delivered_at.is_some() && !is_assumed {
        let refusal = desk.voice(person).say("run-over", &Args::new().date("day", day));
        desk.answer(person, Letter::new(refusal)).await?;
        return Ok(None);
    }
    Ok(Some(closed))
}

/// The day's delivery, over or not, if its weights may be entered by now; otherwise says why not.
async fn closed_run(desk: &mut Desk<'_>, person: &Person, day: LocalDate) -> store::Result<Option<Closed>> {
    let Some(closed) = deliveries::on(&mut desk.tx, day).await? else {
        no_run(desk, person).await?;
        return Ok(None);
    };
    if day > desk.today() {
        let refusal = desk.voice(person).say("run-not-yet", &Args::new().date("day", day));
        desk.answer(person, Letter::new(refusal)).await?;
        return Ok(None);
    }
    Ok(Some(closed))
}

async fn no_run(desk: &mut Desk<'_>, person: &Person) -> store::Result<()> {
    let text = desk.voice(person).say("packing-none", &Args::new());
    desk.answer(person, Letter::new(text)).await
}

/// Shares the stock of today's delivery again where this transaction has changed the cold room; the family gets the list as
/// it is then.
///
/// # Errors
/// Whatever the store fails with.
pub async fn share_again(desk: &mut Desk<'_>) -> store::Result<()> {
    let (events, changed) = weighing::share_again(&mut desk.farm()).await?;
    desk.happened(events);
    match changed {
        Some(closed) => list::tell(desk, closed).await,
        None => Ok(()),
    }
}

/// Whose promise was cut to what is there, and by how much.
pub fn cut(house: &House, voice: &Voice, (before, after): (&ClosedDay, &ClosedDay)) -> Letter {
    let mut lines = vec![voice.say("packing-cut", &Args::new().date("day", after.closed.day))];
    for award in &after.awards {
        let was = before.awards.iter().find(|other| other.id == award.id).map_or(Grams::ZERO, |was| was.promised);
        if award.promised < was {
            let args = Args::new()
                .text("buyer", after.name_of(award.buyer_id))
                .text("crop", house.crop_name(&award.crop, voice))
                .weight("before", was)
                .weight("now", award.promised);
            lines.push(voice.say("packing-cut-line", &args));
        }
    }
    Letter::new(lines.join("\n")).patient(Patience::Cannot)
}
