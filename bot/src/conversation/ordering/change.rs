//! A change of a restaurant's orders, said back to whoever made it and told to the restaurant's other contacts.

use super::{Ask, button, card, read_book, refuse, standing};
use crate::conversation::{Button, Desk, Letter};
use crate::house::House;
use crate::wording::{Args, Voice, key};
use scheduler::clock::UtcSeconds;
use scheduler::farm::event::OrdersChanged;
use scheduler::farm::ordering::change::{self, BURST_SECONDS, Changed, Undone};
use scheduler::farm::ordering::{About, Book, Change};
use scheduler::id::Id;
use scheduler::people::Person;
use scheduler::store;

/// A line above what is said back, and the change that can be undone.
#[derive(Clone, Copy, Debug, Default)]
pub struct Note {
    pub key: Option<&'static str>,
    pub undo: Option<Id>,
}

impl Note {
    pub fn says(key: &'static str) -> Note {
        Note { key: Some(key), undo: None }
    }

    pub fn line(self, voice: &Voice) -> Option<String> {
        self.key.map(|key| voice.say(key, &Args::new()))
    }

    pub fn button(self, voice: &Voice) -> Option<Button> {
        let change = self.undo?;
        Some(button(voice.plain("order-button-undo", &Args::new()), Ask::Undo { change: Some(change) }))
    }
}

/// Stores a change and says it back.
///
/// # Errors
/// Whatever the store fails with.
pub async fn settle(desk: &mut Desk<'_>, person: &Person, change: Change) -> store::Result<()> {
    let about = change.about;
    match change::store(&mut desk.farm(), person.id, change).await? {
        Changed::AsItWas { book } => say_back(desk, person, (&book, about), Note::says(key("order-as-it-was"))).await,
        Changed::Done { book, undo, events } => {
            desk.happened(events);
            say_back(desk, person, (&book, about), Note { key: Some(key("order-done")), undo: Some(undo) }).await
        }
    }
}

async fn say_back(
    desk: &mut Desk<'_>,
    person: &Person,
    (book, about): (&Book, About),
    note: Note,
) -> store::Result<()> {
    match about {
        About::Day(day) | About::Step(day) => card::of_day(desk, person, (book, day), note).await,
        About::Order(id) => standing::of_order(desk, person, (book, id), note).await,
        About::Standing => standing::list(desk, person, book, note).await,
    }
}

/// Takes the last change back.
///
/// # Errors
/// Whatever the store fails with.
pub async fn undo(desk: &mut Desk<'_>, person: &Person, change: Option<Id>) -> store::Result<()> {
    let Some(before) = read_book(desk, person).await? else { return Ok(()) };
    let text_key = match change::undo(&mut desk.farm(), (person.id, &before), change).await? {
        Undone::Done { book, about, events } => {
            desk.happened(events);
            return say_back(desk, person, (&book, about), Note::says(key("order-undone"))).await;
        }
        Undone::Nothing => key("order-undo-nothing"),
        Undone::Overtaken => key("order-undo-overtaken"),
        Undone::Closed => key("order-undo-closed"),
    };
    let html = desk.voice(person).say(text_key, &Args::new());
    refuse(desk, person, html).await
}

/// What the other contacts read; `name` made the change.
pub fn told(house: &House, voice: &Voice, changed: &OrdersChanged, (name, now): (&str, UtcSeconds)) -> Letter {
    let OrdersChanged { by, about, is_undone, book } = changed;
    let state = match about {
        About::Day(day) | About::Step(day) => card::text(house, voice, (book, *day), now),
        About::Order(_) | About::Standing => standing::text(house, voice, book, now),
    };
    let text_key = if *is_undone { key("order-told-undone") } else { key("order-told") };
    let letter = Letter::new(format!("{}\n{state}", voice.say(text_key, &Args::new().text("name", name))));
    let subject = match about {
        About::Step(day) => day.to_string(),
        About::Order(id) => id.to_string(),
        About::Day(_) | About::Standing => return letter,
    };
    // One message for a burst of small steps.
    letter.on_card(format!("told-{by}-{subject}-{}", now.get() / BURST_SECONDS))
}
