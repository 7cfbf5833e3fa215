//! A change of a restaurant's orders: stored, kept for undoing, said back, told to the other contacts. Rule: undoing puts
//! back exactly what the change touched, and only while that is still as the change left it and orders are open.

use super::book::{Book, Kept};
use super::{Ask, button, card, read_book, refuse, standing};
use crate::conversation::asked::read_standing;
use crate::conversation::{Button, Desk, Letter};
use crate::wording::{Args, Voice, key};
use scheduler::clock::{LocalDate, UtcSeconds};
use scheduler::id::Id;
use scheduler::people::Person;
use scheduler::quantity::Grams;
use scheduler::store::orders::{self, Standing};
use scheduler::store::{self, people};
use serde::{Deserialize, Serialize};

/// Steps by one person on one day within this time are undone together.
const BURST_SECONDS: i64 = 10 * 60;
/// Deliveries looked at for the first one a change touches.
const DELIVERIES_LOOKED_AT: usize = 60;

/// What a change is about, and so what is said back.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum About {
    Day(LocalDate),
    /// A day, by one of many small steps.
    Step(LocalDate),
    /// One standing order, by one of many small steps.
    Order(Id),
    Standing,
}

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

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
struct StandingWas {
    id: Id,
    before: Option<Standing>,
    after: Option<Standing>,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
struct OnceWas {
    day: LocalDate,
    crop: String,
    before: Grams,
    after: Grams,
}

/// What is kept for undoing: only what the change touched.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
struct Record {
    change: Id,
    by: Id,
    about: About,
    /// When orders close for the first delivery that the change touches.
    closes_at: Option<UtcSeconds>,
    standing: Vec<StandingWas>,
    once: Vec<OnceWas>,
}

/// Stores the change from `before` to `after` and says it back.
///
/// # Errors
/// Whatever the store fails with.
pub async fn settle(
    desk: &mut Desk<'_>,
    person: &Person,
    (before, after): (Book, Book),
    about: About,
) -> store::Result<()> {
    if before == after {
        return say_back(desk, person, (&after, about), Note::says(key("order-as-it-was"))).await;
    }
    after.store(desk, &before, person).await?;
    let record = keep(desk, person, (&before, &after), about).await?;
    tell_others(desk, person, (&after, about), key("order-told")).await?;
    let note = Note { key: Some(key("order-done")), undo: Some(record) };
    say_back(desk, person, (&after, about), note).await
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

async fn keep(
    desk: &mut Desk<'_>,
    person: &Person,
    (before, after): (&Book, &Book),
    about: About,
) -> store::Result<Id> {
    let (was, is) = (before.stored(), after.stored());
    let mut ids: Vec<Id> = was.keys().chain(is.keys()).copied().collect();
    ids.sort_unstable();
    ids.dedup();
    let standing = ids.into_iter().filter(|id| was.get(id) != is.get(id));
    let standing = standing.map(|id| StandingWas { id, before: was.get(&id).cloned(), after: is.get(&id).cloned() });
    let mut lines: Vec<&(LocalDate, String)> = before.once.keys().chain(after.once.keys()).collect();
    lines.sort_unstable();
    lines.dedup();
    let once = lines.into_iter().map(|(day, crop)| OnceWas {
        day: *day,
        crop: crop.clone(),
        before: before.once_on(*day, crop),
        after: after.once_on(*day, crop),
    });
    let mut record = Record {
        change: desk.new_id(),
        by: person.id,
        about,
        closes_at: None,
        standing: standing.collect(),
        once: once.filter(|line| line.before != line.after).collect(),
    };
    record.closes_at = first_closing(desk, (before, after), &record.once);
    let earlier = orders::take_undo(&mut desk.tx, before.buyer_id).await?;
    if let Some((text, made_at)) = earlier {
        let earlier: Option<Record> = serde_json::from_str(&text).ok();
        let is_burst = |earlier: &Record| {
            matches!(about, About::Step(_) | About::Order(_))
                && earlier.about == about
                && earlier.by == person.id
                && desk.now.since(made_at) < BURST_SECONDS
        };
        if let Some(earlier) = earlier.filter(is_burst) {
            record = merged(earlier, record);
        }
    }
    let text = serde_json::to_string(&record).expect("a record has string keys only");
    orders::put_undo(&mut desk.tx, before.buyer_id, &text, desk.now).await?;
    Ok(record.change)
}

fn first_closing(desk: &Desk<'_>, (before, after): (&Book, &Book), once: &[OnceWas]) -> Option<UtcSeconds> {
    let crops = &desk.house.crops;
    let coming = desk.house.calendar.upcoming(desk.now, DELIVERIES_LOOKED_AT);
    let touched = coming.into_iter().filter(|delivery| delivery.is_open(desk.now));
    let standing = touched.filter(|one| before.on(one.date, crops) != after.on(one.date, crops));
    let standing = standing.filter_map(|delivery| delivery.cutoff_at);
    let once = once.iter().filter_map(|line| desk.house.calendar.cutoff_for(line.day));
    standing.chain(once).min()
}

/// The later change with what was before the earlier one.
fn merged(earlier: Record, later: Record) -> Record {
    let mut record = later;
    record.closes_at = earlier.closes_at.into_iter().chain(record.closes_at).min();
    for was in earlier.standing {
        match record.standing.iter_mut().find(|one| one.id == was.id) {
            Some(one) => one.before = was.before,
            None => record.standing.push(was),
        }
    }
    for was in earlier.once {
        match record.once.iter_mut().find(|one| (one.day, &one.crop) == (was.day, &was.crop)) {
            Some(one) => one.before = was.before,
            None => record.once.push(was),
        }
    }
    record
}

async fn tell_others(
    desk: &mut Desk<'_>,
    person: &Person,
    (book, about): (&Book, About),
    text_key: &'static str,
) -> store::Result<()> {
    let house = desk.house;
    let now = desk.now;
    for contact in people::contacts_of_buyer(&mut desk.tx, book.buyer_id).await? {
        if contact.id == person.id {
            continue;
        }
        let voice = desk.voice(&contact);
        let state = match about {
            About::Day(day) | About::Step(day) => card::text(house, &voice, (book, day), now),
            About::Order(_) | About::Standing => standing::text(house, &voice, book, now),
        };
        let heading = voice.say(text_key, &Args::new().text("name", person.name.clone()));
        let mut letter = Letter::new(format!("{heading}\n{state}"));
        let subject = match about {
            About::Step(day) => Some(day.to_string()),
            About::Order(id) => Some(id.to_string()),
            About::Day(_) | About::Standing => None,
        };
        if let Some(subject) = subject {
            // One message for a burst of small steps.
            letter = letter.on_card(format!("told-{}-{subject}-{}", person.id, now.get() / BURST_SECONDS));
        }
        desk.tell(&contact, letter).await?;
    }
    Ok(())
}

/// Takes the last change back.
///
/// # Errors
/// Whatever the store fails with.
pub async fn undo(desk: &mut Desk<'_>, person: &Person, change: Option<Id>) -> store::Result<()> {
    let voice = desk.voice(person);
    let Some(before) = read_book(desk, person).await? else { return Ok(()) };
    let kept = orders::take_undo(&mut desk.tx, before.buyer_id).await?;
    let record = kept.as_ref().and_then(|(text, _)| serde_json::from_str::<Record>(text).ok());
    let (Some((text, made_at)), Some(record)) = (kept, record) else {
        return refuse(desk, person, voice.say("order-undo-nothing", &Args::new())).await;
    };
    if change.is_some_and(|change| change != record.change) {
        orders::put_undo(&mut desk.tx, before.buyer_id, &text, made_at).await?;
        return refuse(desk, person, voice.say("order-undo-overtaken", &Args::new())).await;
    }
    if record.closes_at.is_some_and(|closes_at| closes_at <= desk.now) {
        return refuse(desk, person, voice.say("order-undo-closed", &Args::new())).await;
    }
    let Some(after) = put_back(desk, &before, &record) else {
        return refuse(desk, person, voice.say("order-undo-overtaken", &Args::new())).await;
    };
    after.store(desk, &before, person).await?;
    tell_others(desk, person, (&after, record.about), key("order-told-undone")).await?;
    say_back(desk, person, (&after, record.about), Note::says(key("order-undone"))).await
}

/// The book as it was before; `None` when something has changed since.
fn put_back(desk: &Desk<'_>, now: &Book, record: &Record) -> Option<Book> {
    let mut book = now.clone();
    let stored = now.stored();
    for was in &record.standing {
        if stored.get(&was.id) != was.after.as_ref() {
            return None;
        }
        book.standing.retain(|kept| kept.stored.id != was.id);
        book.unreadable.retain(|one| one.id != was.id);
        let Some(before) = &was.before else { continue };
        let kept =
            read_standing(desk, before).and_then(|order| Kept::new(before.clone(), order, desk.house, book.today));
        match kept {
            Ok(kept) => book.standing.push(kept),
            Err(_) => book.unreadable.push(before.clone()),
        }
    }
    book.standing.sort_by_key(|kept| kept.stored.id);
    for was in &record.once {
        if now.once_on(was.day, &was.crop) != was.after {
            return None;
        }
        book.set_once(was.day, &was.crop, was.before);
    }
    Some(book)
}
