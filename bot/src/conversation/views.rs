//! Looking without changing: the family's day on one screen, what the coming deliveries can count on, and who got what of
//! the past ones.

mod cold_room;
mod coming;
mod record;
mod today;
mod week;
mod went;

use super::letter::{File, FileKind};
use super::{Desk, Letter};
use crate::pictures::{Picture, Theme};
use chrono::{Days, NaiveTime};
use scheduler::clock::{LocalDate, instant_at};
use scheduler::people::Person;
use scheduler::store;
use serde::{Deserialize, Serialize};

/// What a person can want here.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Ask {
    /// The family's day: what to pick, pack, carry and give, and who has not answered.
    Today,
    /// What may be ready for the coming deliveries, against what is asked.
    Coming,
    /// The coming seven days in a picture.
    Week,
    /// Where the harvest of the last weeks went, in a picture.
    Went,
    /// What lies in the cold room, a page of it.
    ColdRoom { page: usize },
    /// Who got what of a closed delivery, and why: of the last one without a day.
    Record { day: Option<LocalDate> },
}

/// Does it.
///
/// # Errors
/// Whatever the store fails with.
pub async fn act(desk: &mut Desk<'_>, person: &Person, ask: Ask) -> store::Result<()> {
    let voice = desk.voice(person);
    match ask {
        Ask::Today => {
            let text = today::facts(desk).await?.write(desk, &voice);
            desk.answer(person, Letter::new(text)).await
        }
        Ask::Record { day } => record::show(desk, person, day).await,
        Ask::Coming => {
            let coming = coming::facts(desk).await?;
            let picture = coming.picture(desk, &voice);
            desk.answer(person, Letter::new(coming.write(desk, &voice))).await?;
            show(desk, person, "forecast.png", move || picture.draw(&voice, Theme::Card)).await
        }
        Ask::Went => {
            let picture = went::picture(desk).await?;
            show(desk, person, "went.png", move || picture.draw(&voice, Theme::Card)).await
        }
        Ask::ColdRoom { page } => cold_room::show(desk, person, page).await,
        Ask::Week => {
            let picture = week::facts(desk).await?.picture(desk, &voice);
            show(desk, person, "week.png", move || picture.draw(&voice, Theme::Card)).await
        }
    }
}

/// Sends a picture with its words.
async fn show(
    desk: &mut Desk<'_>,
    person: &Person,
    name: &str,
    draw: impl FnOnce() -> Picture + Send + 'static,
) -> store::Result<()> {
    // Drawing is a tenth of a second of pure reckoning: not on the threads that wait for the network.
    match tokio::task::spawn_blocking(draw).await {
        Ok(Picture { png, caption }) => {
            let file = File { name: name.to_owned(), bytes: png, kind: FileKind::Photo };
            desk.answer(person, Letter::new(caption).with_file(file)).await
        }
        Err(error) => {
            tracing::error!(%error, name, "the picture could not be drawn");
            Ok(())
        }
    }
}

/// The day's list for the whole family, in the morning of a day with something to do.
///
/// # Errors
/// Whatever the store fails with.
pub async fn morning(desk: &mut Desk<'_>) -> store::Result<()> {
    let facts = today::facts(desk).await?;
    let (house, today) = (desk.house, desk.today());
    if !facts.has_work(today) {
        return Ok(());
    }
    let day_ends_at = instant_at(today + Days::new(1), NaiveTime::MIN, house.zone());
    desk.tell_family(super::audience::Audience::Everyone, |voice| {
        Letter::new(facts.page(house, voice, today)).useful_until(day_ends_at)
    })
    .await
}
