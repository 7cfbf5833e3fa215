//! Several changes at once: so much more or less, one crop in another's place, two days in one text. Said back with what is
//! there now, and stored as one change.

use super::change::{self as kept, Note};
use super::limits::{self, open_delivery};
use super::placing::question;
use super::{Ask, View, button, card, confirm, read_book, refuse, reply, standing};
use crate::conversation::{Desk, Letter};
use crate::house::House;
use crate::wording::{Args, Voice, key};
use scheduler::clock::LocalDate;
use scheduler::farm::event::{Event, OrdersChanged};
use scheduler::farm::ordering::change;
use scheduler::farm::ordering::edits::{self, Becomes, Edit, How, Side};
use scheduler::farm::ordering::limits::Refused;
use scheduler::farm::ordering::{About, Book, Change, day};
use scheduler::people::Person;
use scheduler::quantity::Grams;
use scheduler::store;
use serde::{Deserialize, Serialize};

/// What is to become of a crop on a day; without a day on the next delivery still open, without a crop of everything.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct DayEdit {
    pub day: Option<LocalDate>,
    pub crop: Option<String>,
    pub how: How,
}

/// Changes days, or says back what it would change.
///
/// # Errors
/// Whatever the store fails with.
pub async fn edit(desk: &mut Desk<'_>, person: &Person, (wanted, sure): (Vec<DayEdit>, bool)) -> store::Result<()> {
    let mut dated: Vec<Edit> = Vec::new();
    let mut first = None;
    for one in &wanted {
        let again = |day| {
            let moved = wanted.iter().map(|other| {
                if other.day == one.day { DayEdit { day: Some(day), ..other.clone() } } else { other.clone() }
            });
            Ask::Edit { edits: moved.collect(), sure }
        };
        let Some(delivery) = open_delivery(desk, person, one.day, again).await? else { return Ok(()) };
        dated.push(Edit { day: delivery.date, crop: one.crop.clone(), how: one.how });
        first.get_or_insert(delivery);
    }
    let (Some(book), Some(delivery)) = (read_book(desk, person).await?, first) else { return Ok(()) };
    let planned = edits::edited(&desk.farm(), book, &dated);
    let Some((change, lines)) = taken(desk, person, planned).await? else { return Ok(()) };
    if change.before == change.after {
        let note = if lines.iter().all(|line| line.was == line.will && !line.will.is_positive()) {
            key("order-nothing-to-skip")
        } else {
            key("order-as-it-was")
        };
        return card::of_day(desk, person, (&change.before, delivery.date), Note::says(note)).await;
    }
    if !sure {
        let voice = desk.voice(person);
        let html = question(&voice, said_back(desk.house, &voice, &lines), &delivery);
        let sure_edits =
            dated.iter().map(|edit| DayEdit { day: Some(edit.day), crop: edit.crop.clone(), how: edit.how }).collect();
        let yes = Ask::Edit { edits: sure_edits, sure: true };
        return confirm(desk, person, html, (yes, Ask::Leave { day: Some(delivery.date) })).await;
    }
    let others: Vec<LocalDate> = edits::days(&dated).into_iter().skip(1).collect();
    settle(desk, person, (change, &others)).await
}

/// The usual with changes.
///
/// # Errors
/// Whatever the store fails with.
pub async fn usual_with(
    desk: &mut Desk<'_>,
    person: &Person,
    (wanted, date, sure): (Vec<(String, How)>, Option<LocalDate>, bool),
) -> store::Result<()> {
    let again = |day| Ask::UsualWith { edits: wanted.clone(), day: Some(day), sure };
    let Some(delivery) = open_delivery(desk, person, date, again).await? else { return Ok(()) };
    let Some(book) = read_book(desk, person).await? else { return Ok(()) };
    let date = delivery.date;
    let last = day::last_before(&mut desk.farm(), &book, date).await?.unwrap_or_default();
    let has_due = !day::asked_of(&book, (date, None), &desk.farm()).is_empty();
    if last.is_empty() && !has_due {
        return card::of_day(desk, person, (&book, date), Note::says(key("order-no-last-time"))).await;
    }
    let planned = edits::usual(&desk.farm(), book, (date, &last), &wanted);
    let Some((change, lines)) = taken(desk, person, planned).await? else { return Ok(()) };
    if !sure {
        let voice = desk.voice(person);
        let html = question(&voice, said_back(desk.house, &voice, &lines), &delivery);
        let yes = Ask::UsualWith { edits: wanted, day: Some(date), sure: true };
        return confirm(desk, person, html, (yes, Ask::Leave { day: Some(date) })).await;
    }
    settle(desk, person, (change, &[])).await
}

/// Changes the usual weight of standing orders; where a crop has none, a weekly one begins.
///
/// # Errors
/// Whatever the store fails with.
pub async fn standing_edit(
    desk: &mut Desk<'_>,
    person: &Person,
    (wanted, sure): (Vec<(String, How)>, bool),
) -> store::Result<()> {
    let Some(book) = read_book(desk, person).await? else { return Ok(()) };
    let has_none = |crop: &String| !book.standing.iter().any(|kept| kept.stored.crop == *crop);
    let set: Vec<(String, Grams)> = wanted
        .iter()
        .filter_map(
            |(crop, how)| {
                if let How::Set(grams) | How::More(grams) = how { Some((crop.clone(), *grams)) } else { None }
            },
        )
        .collect();
    if set.len() == wanted.len() && wanted.iter().all(|(crop, _)| has_none(crop)) {
        let weekdays = Vec::from_iter(desk.house.calendar.dates.weekdays.first().copied());
        let new = standing::New { lines: set, every_weeks: 1, weekdays, from: None, until: None, sure };
        return standing::start(desk, person, new).await;
    }
    let planned = edits::standing(&desk.farm(), book.clone(), &wanted);
    let Some(change) = taken(desk, person, planned).await? else { return Ok(()) };
    let Some(change) = change else {
        return standing::list(desk, person, &book, Note::says(key("standing-not-there"))).await;
    };
    if !sure {
        let voice = desk.voice(person);
        let lines = wanted.iter().map(|(crop, _)| {
            let usual =
                |book: &Book| book.standing.iter().find(|kept| kept.stored.crop == *crop).map(|kept| kept.order.usual);
            line(desk.house, &voice, (crop, usual(&change.before), usual(&change.after)))
        });
        let heading = voice.say("order-edit-standing", &Args::new());
        let ask = voice.say("order-right-question", &Args::new());
        let html = std::iter::once(heading).chain(lines).chain([ask]).collect::<Vec<_>>().join("\n");
        let yes = Ask::StandingEdit { edits: wanted, sure: true };
        return confirm(desk, person, html, (yes, Ask::Show(View::Standing))).await;
    }
    settle(desk, person, (change, &[])).await
}

/// "Make it 8 lb": of the crop that was ordered last, of the only one there is, or it is asked of which.
///
/// # Errors
/// Whatever the store fails with.
pub async fn make_it(
    desk: &mut Desk<'_>,
    person: &Person,
    (grams, date): (Grams, Option<LocalDate>),
) -> store::Result<()> {
    let Some(book) = read_book(desk, person).await? else { return Ok(()) };
    let last = change::last(&mut desk.farm(), book.buyer_id).await?;
    let set = |crop: &String, day| Ask::Edit {
        edits: vec![DayEdit { day: Some(day), crop: Some(crop.clone()), how: How::Set(grams) }],
        sure: false,
    };
    if let Some(last) = &last
        && date.is_none_or(|date| date == last.day)
        && let [(crop, _)] = last.lines.as_slice()
    {
        return Box::pin(super::act(desk, person, set(crop, last.day))).await;
    }
    let date = date.or(last.map(|last| last.day));
    let Some(delivery) = open_delivery(desk, person, date, |day| Ask::MakeIt { grams, day: Some(day) }).await? else {
        return Ok(());
    };
    let there = day::asked_of(&book, (delivery.date, None), &desk.farm());
    let crops: Vec<&String> = there.keys().collect();
    match crops.as_slice() {
        [] => card::of_day(desk, person, (&book, delivery.date), Note::default()).await,
        [crop] => Box::pin(super::act(desk, person, set(crop, delivery.date))).await,
        several => {
            let voice = desk.voice(person);
            let args = Args::new().weight("weight", grams).date("day", delivery.date);
            let mut letter = Letter::new(voice.say("order-make-which", &args));
            for crop in several {
                letter = letter.row([button(desk.house.amount(crop, grams, &voice), set(crop, delivery.date))]);
            }
            reply(desk, person, letter).await
        }
    }
}

/// One crop in another's place; without `from` in the place of the only other one that is asked for.
///
/// # Errors
/// Whatever the store fails with.
pub async fn swap(
    desk: &mut Desk<'_>,
    person: &Person,
    (from, to): (Option<String>, String),
    (grams, date): (Option<(Side, Grams)>, Option<LocalDate>),
) -> store::Result<()> {
    let again = |day| Ask::Swap { gone: from.clone(), come: to.clone(), grams, day: Some(day) };
    let Some(delivery) = open_delivery(desk, person, date, again).await? else { return Ok(()) };
    let Some(book) = read_book(desk, person).await? else { return Ok(()) };
    let there = day::asked_of(&book, (delivery.date, None), &desk.farm());
    // "8 lb oyster instead", where oyster is ordered: another weight of it.
    if let (None, Some((Side::To, grams)), true) = (&from, grams, there.contains_key(&to)) {
        let edits = vec![DayEdit { day: Some(delivery.date), crop: Some(to), how: How::Set(grams) }];
        return Box::pin(super::act(desk, person, Ask::Edit { edits, sure: false })).await;
    }
    let others: Vec<&String> = there.keys().filter(|crop| **crop != to).collect();
    let from = match (&from, others.as_slice()) {
        (Some(from), _) if there.contains_key(from) => from.clone(),
        (None, [one]) => (*one).clone(),
        // Nothing is there to go: the day as it stands, with buttons to order by.
        _ => {
            let note = Note::says(key("order-nothing-to-skip"));
            return card::of_day(desk, person, (&book, delivery.date), note).await;
        }
    };
    let edits = edits::swap(&book, delivery.date, (&from, &to), grams);
    let edits = edits.into_iter().map(|edit| DayEdit { day: Some(edit.day), crop: edit.crop, how: edit.how });
    Box::pin(super::act(desk, person, Ask::Edit { edits: edits.collect(), sure: false })).await
}

/// "Cancel that": what the last change ordered, or the next delivery's orders.
///
/// # Errors
/// Whatever the store fails with.
pub async fn cancel_last(desk: &mut Desk<'_>, person: &Person) -> store::Result<()> {
    let Some(book) = read_book(desk, person).await? else { return Ok(()) };
    let last = change::last(&mut desk.farm(), book.buyer_id).await?.filter(|last| !last.lines.is_empty());
    let ask = match last {
        Some(last) => Ask::Edit {
            edits: last
                .lines
                .into_iter()
                .map(|(crop, grams)| DayEdit { day: Some(last.day), crop: Some(crop), how: How::Less(grams) })
                .collect(),
            sure: false,
        },
        None => Ask::Withdraw { day: None, crop: None, sure: false },
    };
    Box::pin(super::act(desk, person, ask)).await
}

/// What was planned; a refusal is said, and there is none then.
async fn taken<T>(desk: &mut Desk<'_>, person: &Person, planned: Result<T, Refused>) -> store::Result<Option<T>> {
    match planned {
        Ok(planned) => Ok(Some(planned)),
        Err(refused) => {
            let html = limits::refusal(desk.house, &desk.voice(person), &refused);
            refuse(desk, person, html).await.map(|()| None)
        }
    }
}

/// Stores a change; colleagues hear of each day it touches.
async fn settle(desk: &mut Desk<'_>, person: &Person, (change, others): (Change, &[LocalDate])) -> store::Result<()> {
    let after = change.after.clone();
    let is_change = change.before != change.after;
    kept::settle(desk, person, change).await?;
    let of_day = |day: &LocalDate| {
        let book = after.clone();
        Event::OrdersChanged(OrdersChanged { by: person.id, about: About::Day(*day), is_undone: false, book })
    };
    if is_change {
        desk.happened(others.iter().map(of_day));
    }
    Ok(())
}

/// Day by day, what each crop will be beside what it is.
fn said_back(house: &House, voice: &Voice, lines: &[Becomes]) -> String {
    let mut said = Vec::new();
    let mut day = None;
    for one in lines {
        if day != Some(one.day) {
            said.push(voice.say("order-edit-day", &Args::new().date("day", one.day)));
            day = Some(one.day);
        }
        let positive = |grams: Grams| grams.is_positive().then_some(grams);
        said.push(line(house, voice, (&one.crop, positive(one.was), positive(one.will))));
    }
    said.join("\n")
}

fn line(house: &House, voice: &Voice, (crop, was, will): (&str, Option<Grams>, Option<Grams>)) -> String {
    let amount = |grams| house.amount(crop, grams, voice);
    match (was, will) {
        (Some(was), Some(will)) if was != will => {
            voice.say("order-edit-line", &Args::new().text("amount", amount(will)).weight("was", was))
        }
        (_, Some(will)) => voice.say("order-line-once", &Args::new().text("amount", amount(will))),
        (Some(was), None) => voice.say("order-edit-off", &Args::new().text("amount", amount(was))),
        (None, None) => voice.say("order-edit-none", &Args::new().text("crop", house.crop_name(crop, voice))),
    }
}
