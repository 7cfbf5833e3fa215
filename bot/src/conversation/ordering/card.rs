//! The card of one delivery: what is on it now, when orders close, and buttons that change it.

use super::change::{Note, settle};
use super::limits::{self, open_delivery};
use super::{Ask, View, button, read_book, refuse, reply, weights};
use crate::conversation::{Desk, Letter};
use crate::house::House;
use crate::wording::{Args, DateForm, Voice, key};
use scheduler::clock::{LocalDate, UtcSeconds};
use scheduler::farm::ordering::book::{DayLine, Origin};
use scheduler::farm::ordering::{About, Book, Change, day};
use scheduler::people::Person;
use scheduler::quantity::Grams;
use scheduler::store;

/// Days to choose from.
const DAYS_SHOWN: usize = 8;

/// A press of − or +.
pub struct Step {
    pub day: LocalDate,
    pub crop: String,
    pub seen: Grams,
    pub to: Grams,
}

/// The card of a day, or of the next delivery still open.
///
/// # Errors
/// Whatever the store fails with.
pub async fn show(desk: &mut Desk<'_>, person: &Person, day: Option<LocalDate>) -> store::Result<()> {
    shown(desk, person, day, Note::default()).await
}

/// The card, with a line that nothing was changed.
///
/// # Errors
/// Whatever the store fails with.
pub async fn leave(desk: &mut Desk<'_>, person: &Person, day: Option<LocalDate>) -> store::Result<()> {
    shown(desk, person, day, Note::says(key("order-left"))).await
}

async fn shown(desk: &mut Desk<'_>, person: &Person, day: Option<LocalDate>, note: Note) -> store::Result<()> {
    let again = |day| Ask::Card { day: Some(day) };
    let Some(delivery) = open_delivery(desk, person, day, again).await? else { return Ok(()) };
    let Some(book) = read_book(desk, person).await? else { return Ok(()) };
    of_day(desk, person, (&book, delivery.date), note).await
}

/// The coming days to choose from.
///
/// # Errors
/// Whatever the store fails with.
pub async fn days(desk: &mut Desk<'_>, person: &Person) -> store::Result<()> {
    let voice = desk.voice(person);
    let coming = desk.house.calendar.upcoming(desk.now, DAYS_SHOWN + 4);
    let open: Vec<LocalDate> =
        coming.iter().filter(|delivery| delivery.is_open(desk.now)).take(DAYS_SHOWN).map(|one| one.date).collect();
    if open.is_empty() {
        return refuse(desk, person, voice.say("order-no-delivery", &Args::new())).await;
    }
    let mut letter = Letter::new(voice.say("order-which-day", &Args::new()));
    for pair in open.chunks(2) {
        let of = |day: &LocalDate| button(voice.date(*day, DateForm::Short), Ask::Card { day: Some(*day) });
        letter = letter.row(pair.iter().map(of));
    }
    reply(desk, person, letter).await
}

/// Does a press of − or +.
///
/// # Errors
/// Whatever the store fails with.
pub async fn step(desk: &mut Desk<'_>, person: &Person, step: Step) -> store::Result<()> {
    let again = |day| Ask::Card { day: Some(day) };
    let Some(delivery) = open_delivery(desk, person, Some(step.day), again).await? else { return Ok(()) };
    let Some(before) = read_book(desk, person).await? else { return Ok(()) };
    let date = delivery.date;
    if before.total_on(date, &step.crop) != step.seen {
        return of_day(desk, person, (&before, date), Note::says(key("order-changed-meanwhile"))).await;
    }
    let voice = desk.voice(person);
    if step.to.is_positive()
        && let Err(refusal) = limits::weight(desk.house, &voice, &step.crop, step.to)
    {
        return refuse(desk, person, refusal).await;
    }
    let sums = [(step.crop, step.to)].into();
    let change = day::set_totals(&desk.farm(), before, (date, &sums));
    settle(desk, person, Change { about: About::Step(date), ..change }).await
}

/// The card of a day whose orders are open.
///
/// # Errors
/// Whatever the store fails with.
pub async fn of_day(
    desk: &mut Desk<'_>,
    person: &Person,
    (book, date): (&Book, LocalDate),
    note: Note,
) -> store::Result<()> {
    let (voice, house) = (desk.voice(person), desk.house);
    let lines = note.line(&voice).into_iter().chain([text(house, &voice, (book, date), desk.now)]);
    let mut letter = Letter::new(lines.collect::<Vec<_>>().join("\n"));
    let say = |text_key| voice.plain(text_key, &Args::new());
    for crop in house.crops.grown() {
        let crop_key = crop.key.as_str();
        let seen = book.total_on(date, crop_key);
        let units = voice.reader().units;
        let (less, more) = (weights::less(seen, units, crop.pack_step), weights::more(seen, units, crop.pack_step));
        // The last pack of a standing order goes by "nothing this time", which says what it does.
        let has_less = less.is_positive() || seen.is_positive() && book.standing_on(date, crop_key).is_none();
        let to = |to| Ask::Step { day: date, crop: crop_key.to_owned(), seen, to };
        let args = Args::new().text("crop", house.crop_name(crop_key, &voice));
        let less = has_less.then(|| button(voice.plain("order-button-less", &args), to(less)));
        let more = (more <= house.config.rules.orders.greatest_line())
            .then(|| button(voice.plain("order-button-more", &args), to(more)));
        letter = letter.row(less.into_iter().chain(more));
    }
    let has_lines = !book.on(date, &house.crops).is_empty();
    let same = day::last_before(&mut desk.farm(), book, date)
        .await?
        .is_some_and(|last| last.iter().any(|(crop, grams)| book.total_on(date, crop) != *grams));
    let same = same.then(|| button(say(key("order-button-same")), Ask::SameAsLast { day: Some(date), sure: true }));
    let none = has_lines
        .then(|| button(say(key("order-button-nothing")), Ask::Skip { day: Some(date), crop: None, sure: true }));
    letter = letter.row(same).row(none).row(note.button(&voice));
    letter = letter.row([
        button(say(key("order-button-other-day")), Ask::Days),
        button(say(key("order-button-standing")), Ask::Show(View::Standing)),
    ]);
    reply(desk, person, letter).await
}

/// What is on a day, and when orders close.
pub fn text(house: &House, voice: &Voice, (book, day): (&Book, LocalDate), now: UtcSeconds) -> String {
    let mut lines = vec![voice.say("order-day", &Args::new().date("day", day))];
    lines.extend(asked(house, voice, &book.on(day, &house.crops)));
    if lines.len() == 1 {
        lines.push(voice.say("order-nothing", &Args::new()));
    }
    if book.is_paused_on(day) {
        lines.push(voice.say("order-standing-rests", &Args::new()));
    }
    lines.extend(unreadable(house, voice, book));
    let closes_at = house.calendar.cutoff_for(day).filter(|closes_at| *closes_at > now);
    lines.extend(closes_at.map(|at| voice.say("order-closes", &Args::new().day_time("until", at))));
    lines.join("\n")
}

/// One line for each weight.
pub fn asked(house: &House, voice: &Voice, lines: &[DayLine]) -> Vec<String> {
    let of = |line: &DayLine| {
        let args = Args::new().text("amount", house.amount(&line.crop, line.grams, voice));
        match line.origin {
            Origin::Once => voice.say("order-line-once", &args),
            Origin::Standing { usual } if usual == line.grams => voice.say("order-line-standing", &args),
            Origin::Standing { usual } => voice.say("order-line-changed", &args.weight("usual", usual)),
        }
    };
    lines.iter().map(of).collect()
}

/// A sentence for each standing order that cannot be read.
pub fn unreadable(house: &House, voice: &Voice, book: &Book) -> Vec<String> {
    let of = |crop: &str| voice.say("standing-unreadable", &Args::new().text("crop", house.crop_name(crop, voice)));
    book.unreadable.iter().map(|stored| of(&stored.crop)).collect()
}
