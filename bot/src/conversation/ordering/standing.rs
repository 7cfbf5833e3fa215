//! Standing orders: the list, one of them with what can be done to it, a new one, another usual weight.

use super::change::{Note, settle};
use super::draft;
use super::limits;
use super::{Ask, Draft, Lines, View, button, card, confirm, read_book, refuse, reply, weights};
use crate::conversation::{Button, Desk, Letter};
use crate::house::House;
use crate::wording::{Args, DateForm, Voice, key};
use chrono::{Days, Weekday};
use scheduler::clock::{LocalDate, UtcSeconds, monday_of};
use scheduler::farm::ordering::book::Kept;
use scheduler::farm::ordering::limits::lines;
use scheduler::farm::ordering::standing::{Dates, NoDates};
use scheduler::farm::ordering::{self, Book};
use scheduler::id::Id;
use scheduler::orders::recurrence::{Error, Recurrence};
use scheduler::orders::standing::Call;
use scheduler::people::Person;
use scheduler::quantity::Grams;
use scheduler::store;

/// Days within which a date without delivery is pointed out.
const NOTICED_DAYS: u64 = 60;
/// The rarest rhythm, weeks, as the recurrence takes it.
const WEEKS_MAX: i64 = 52;

/// A standing order as asked for.
#[derive(Clone)]
pub struct New {
    pub lines: Lines,
    pub every_weeks: u16,
    pub weekdays: Vec<Weekday>,
    pub from: Option<LocalDate>,
    pub until: Option<LocalDate>,
    pub sure: bool,
}

impl New {
    fn ask(self) -> Ask {
        Ask::Standing {
            lines: self.lines,
            every_weeks: self.every_weeks,
            weekdays: self.weekdays,
            from: self.from,
            until: self.until,
            sure: self.sure,
        }
    }
}

/// The list.
///
/// # Errors
/// Whatever the store fails with.
pub async fn show(desk: &mut Desk<'_>, person: &Person) -> store::Result<()> {
    let Some(book) = read_book(desk, person).await? else { return Ok(()) };
    list(desk, person, &book, Note::default()).await
}

/// The list with a line above it.
///
/// # Errors
/// Whatever the store fails with.
pub async fn list(desk: &mut Desk<'_>, person: &Person, book: &Book, note: Note) -> store::Result<()> {
    let (voice, house) = (desk.voice(person), desk.house);
    let lines = note.line(&voice).into_iter().chain([text(house, &voice, book, desk.now)]);
    let mut letter = Letter::new(lines.collect::<Vec<_>>().join("\n"));
    let say = |text_key| voice.plain(text_key, &Args::new());
    for kept in &book.standing {
        let label = house.amount(&kept.stored.crop, kept.order.usual, &voice);
        letter = letter.row([button(label, Ask::One { id: kept.stored.id })]);
    }
    for stored in &book.unreadable {
        let args = Args::new().text("crop", house.crop_name(&stored.crop, &voice));
        let ask = Ask::EndOne { id: stored.id, sure: false };
        letter = letter.row([button(voice.plain("standing-button-end", &args), ask)]);
    }
    letter = letter.row([button(say(key("standing-button-new")), Ask::Draft(Draft::default()))]);
    if !book.standing.is_empty() {
        let rests = book.standing.iter().any(|kept| rest_of(kept, book.today).is_some());
        let rest = if rests {
            button(say(key("standing-button-resume")), Ask::Resume)
        } else {
            button(say(key("standing-button-pause")), Ask::Pause { from: None, until: None, sure: false })
        };
        letter = letter.row([rest, button(say(key("standing-button-file")), Ask::CalendarFile)]);
    }
    letter = letter.row(note.button(&voice));
    reply(desk, person, letter).await
}

/// The pause that is on or still to come.
fn rest_of(kept: &Kept, today: LocalDate) -> Option<LocalDate> {
    kept.order.pause.map(|pause| pause.resumes_on).filter(|resumes_on| *resumes_on > today)
}

/// Every standing order, with its next date.
pub fn text(house: &House, voice: &Voice, book: &Book, now: UtcSeconds) -> String {
    let mut lines = vec![voice.say("standing-heading", &Args::new())];
    if book.standing.is_empty() && book.unreadable.is_empty() {
        lines.push(voice.say("standing-none", &Args::new()));
    }
    lines.extend(book.standing.iter().map(|kept| order_text(house, voice, (book, kept), now)));
    lines.extend(card::unreadable(house, voice, book));
    lines.join("\n")
}

fn order_text(house: &House, voice: &Voice, (book, kept): (&Book, &Kept), now: UtcSeconds) -> String {
    let today = now.local_date(house.zone());
    let amount = house.amount(&kept.stored.crop, kept.order.usual, voice);
    let args = Args::new().text("amount", amount).text("rhythm", rhythm(voice, &kept.order.recurrence, today));
    let mut lines = vec![voice.say("standing-line", &args)];
    match book.next_of(kept.stored.id, today) {
        Some(next) => lines.push(voice.say("standing-next", &Args::new().date("day", next))),
        None => lines.push(voice.say("standing-no-next", &Args::new())),
    }
    match rest_of(kept, today) {
        Some(day) if day == super::ending::OPEN_END => lines.push(voice.say("standing-rests", &Args::new())),
        Some(day) => lines.push(voice.say("standing-rests-until", &Args::new().date("day", day))),
        None => {}
    }
    for (day, grams) in kept.order.changed.range(today..) {
        lines.push(voice.say("standing-changed", &Args::new().date("day", *day).weight("weight", *grams)));
    }
    let soon = today.checked_add_days(Days::new(NOTICED_DAYS)).unwrap_or(today);
    for (day, _) in kept.calls.range(..=soon).filter(|(_, call)| **call == Call::NotADeliveryDay) {
        lines.push(voice.say("standing-no-delivery", &Args::new().date("day", *day)));
    }
    if let Some(until) = kept.order.recurrence.rhythm().and_then(|rhythm| rhythm.until) {
        lines.push(voice.say("standing-until", &Args::new().date_as("day", until, DateForm::WithYear)));
    }
    lines.join("\n")
}

/// "every Thursday".
pub fn rhythm(voice: &Voice, recurrence: &Recurrence, today: LocalDate) -> String {
    let Some(rhythm) = recurrence.rhythm() else { return voice.plain("standing-own-dates", &Args::new()) };
    let days = rhythm.weekdays.iter().map(|weekday| weekday_name(voice, *weekday, today)).collect();
    let args = Args::new().list("days", days);
    match rhythm.every_weeks {
        1 => voice.plain("standing-every-week", &args),
        2 => voice.plain("standing-every-second-week", &args),
        weeks => voice.plain("standing-every-weeks", &args.count("weeks", i64::from(weeks))),
    }
}

/// The name of a weekday.
pub fn weekday_name(voice: &Voice, weekday: Weekday, today: LocalDate) -> String {
    let day = monday_of(today) + Days::new(u64::from(weekday.num_days_from_monday()));
    voice.date(day, DateForm::Weekday)
}

/// One standing order, if it is still there; otherwise the list.
///
/// # Errors
/// Whatever the store fails with.
pub async fn one(desk: &mut Desk<'_>, person: &Person, id: Id) -> store::Result<()> {
    let Some(book) = read_book(desk, person).await? else { return Ok(()) };
    if !book.standing.iter().any(|kept| kept.stored.id == id) {
        return list(desk, person, &book, Note::says(key("order-changed-meanwhile"))).await;
    }
    of_order(desk, person, (&book, id), Note::default()).await
}

/// One standing order with a line above it.
///
/// # Errors
/// Whatever the store fails with.
pub async fn of_order(desk: &mut Desk<'_>, person: &Person, (book, id): (&Book, Id), note: Note) -> store::Result<()> {
    let Some(kept) = book.standing.iter().find(|kept| kept.stored.id == id) else {
        return list(desk, person, book, note).await;
    };
    let (voice, house) = (desk.voice(person), desk.house);
    let lines = note.line(&voice).into_iter().chain([order_text(house, &voice, (book, kept), desk.now)]);
    let mut letter = Letter::new(lines.collect::<Vec<_>>().join("\n"));
    let say = |text_key| voice.plain(text_key, &Args::new());
    let crop = kept.stored.crop.clone();
    let pack = house.crops.get(&crop).map_or(Grams::new(1), |crop| crop.pack_step);
    let (seen, units) = (kept.order.usual, voice.reader().units);
    let args = Args::new().text("crop", house.crop_name(&crop, &voice));
    let (less, more) = (weights::less(seen, units, pack), weights::more(seen, units, pack));
    let step = |text_key, to| button(voice.plain(text_key, &args), Ask::Usual { id, seen, to });
    let less = less.is_positive().then(|| step(key("order-button-less"), less));
    let more = (more <= house.config.rules.orders.greatest_line()).then(|| step(key("order-button-more"), more));
    letter = letter.row(less.into_iter().chain(more));
    letter = letter.row([button(say(key("standing-button-other-weight")), Ask::TypeUsual { id })]);
    let first_open = house.calendar.next_open_delivery(desk.now).map(|delivery| delivery.date);
    if let Some(day) = first_open.and_then(|first| book.next_of(id, first)) {
        let short = Args::new().date_as("day", day, DateForm::Short);
        letter = letter.row([
            button(
                voice.plain("standing-button-skip", &short),
                Ask::Skip { day: Some(day), crop: Some(crop), sure: true },
            ),
            button(voice.plain("standing-button-one-date", &short), Ask::Card { day: Some(day) }),
        ]);
    }
    letter = letter.row([
        button(voice.plain("standing-button-end", &args), Ask::EndOne { id, sure: false }),
        button(say(key("order-button-standing")), Ask::Show(View::Standing)),
    ]);
    letter = letter.row(note.button(&voice));
    reply(desk, person, letter).await
}

/// Another usual weight, by a button that saw `seen`.
///
/// # Errors
/// Whatever the store fails with.
pub async fn usual(desk: &mut Desk<'_>, person: &Person, (id, seen, to): (Id, Grams, Grams)) -> store::Result<()> {
    let Some(book) = read_book(desk, person).await? else { return Ok(()) };
    let now_usual = book.standing.iter().find(|kept| kept.stored.id == id).map(|kept| kept.order.usual);
    if now_usual != Some(seen) {
        return of_order(desk, person, (&book, id), Note::says(key("order-changed-meanwhile"))).await;
    }
    set_usual(desk, person, (id, to)).await
}

/// Another usual weight, from the next delivery still open.
///
/// # Errors
/// Whatever the store fails with.
pub async fn set_usual(desk: &mut Desk<'_>, person: &Person, (id, to): (Id, Grams)) -> store::Result<()> {
    let Some(before) = read_book(desk, person).await? else { return Ok(()) };
    let (voice, house) = (desk.voice(person), desk.house);
    let crop = before.standing.iter().find(|kept| kept.stored.id == id).map(|kept| kept.stored.crop.clone());
    if let Some(Err(refusal)) = crop.map(|crop| limits::weight(house, &voice, &crop, to)) {
        return refuse(desk, person, refusal).await;
    }
    match ordering::standing::set_usual(&desk.farm(), before.clone(), (id, to)) {
        Some(change) => settle(desk, person, change).await,
        None => list(desk, person, &before, Note::says(key("order-changed-meanwhile"))).await,
    }
}

/// A new standing order for each crop.
///
/// # Errors
/// Whatever the store fails with.
pub async fn start(desk: &mut Desk<'_>, person: &Person, new: New) -> store::Result<()> {
    let (voice, house) = (desk.voice(person), desk.house);
    let sums = match lines((&house.crops, &house.config.rules), &new.lines) {
        Ok(sums) if sums.is_empty() => return draft::ask_crop(desk, person, Draft::default()).await,
        Ok(sums) => sums,
        Err(refused) => {
            let html = limits::refusal(house, &voice, &refused);
            return refuse(desk, person, html).await;
        }
    };
    let Some(new) = with_weekdays(desk, person, new).await? else { return Ok(()) };
    let dates =
        Dates { every_weeks: new.every_weeks, weekdays: new.weekdays.clone(), from: new.from, until: new.until };
    let first = match ordering::standing::first_delivery(&desk.farm(), &dates) {
        Ok(first) => first,
        Err(why) => return refuse(desk, person, no_dates(&voice, why)).await,
    };
    let Some(before) = read_book(desk, person).await? else { return Ok(()) };
    let (change, replaced) = match ordering::standing::begin(&desk.farm(), before, (&dates, &sums, first.date)) {
        Ok(made) => made,
        Err(error) => {
            tracing::debug!(%error, "standing order refused");
            return refuse(desk, person, refusal_of(&voice, &error)).await;
        }
    };
    if new.sure {
        return settle(desk, person, change).await;
    }
    let (today, there) = (change.before.today, change.before.stored());
    let fresh = change.after.standing.iter().find(|kept| !there.contains_key(&kept.stored.id));
    let rhythm = fresh.map(|kept| rhythm(&voice, &kept.order.recurrence, today)).unwrap_or_default();
    let amounts = sums.iter().map(|(crop, grams)| house.amount(crop, *grams, &voice)).collect();
    let args = Args::new().list("amounts", amounts).text("rhythm", rhythm).date("day", first.date);
    let mut lines = vec![voice.say("standing-understood", &args)];
    if let Some(until) = new.until {
        lines.push(voice.say("standing-until", &Args::new().date_as("day", until, DateForm::WithYear)));
    }
    if !replaced.is_empty() {
        let amounts = replaced.iter().map(|kept| house.amount(&kept.stored.crop, kept.order.usual, &voice));
        lines.push(voice.say("standing-replaces", &Args::new().list("amounts", amounts.collect())));
    }
    lines.push(voice.say("order-right-question", &Args::new()));
    let yes = New { sure: true, ..new }.ask();
    confirm(desk, person, lines.join("\n"), (yes, Ask::Show(View::Standing))).await
}

fn refusal_of(voice: &Voice, error: &Error) -> String {
    match error {
        Error::Interval(_) => voice.say("standing-weeks-limit", &Args::new().count("most", WEEKS_MAX)),
        _ => voice.say("standing-until-early", &Args::new()),
    }
}

/// The weekdays of a new standing order: as said, the only one there is, or asked for.
async fn with_weekdays(desk: &mut Desk<'_>, person: &Person, new: New) -> store::Result<Option<New>> {
    let (voice, today) = (desk.voice(person), desk.today());
    let mut there = desk.house.calendar.dates.weekdays.clone();
    there.sort_by_key(Weekday::num_days_from_monday);
    let names = || there.iter().map(|weekday| weekday_name(&voice, *weekday, today)).collect::<Vec<_>>();
    if new.weekdays.iter().any(|weekday| !there.contains(weekday)) {
        let html = voice.say("standing-weekdays", &Args::new().list("days", names()));
        return refuse(desk, person, html).await.map(|()| None);
    }
    if !new.weekdays.is_empty() || there.len() < 2 {
        let weekdays = if new.weekdays.is_empty() { there } else { new.weekdays };
        return Ok(Some(New { weekdays, ..new }));
    }
    let on = |weekdays: Vec<Weekday>| New { weekdays, ..new.clone() }.ask();
    let one = |(weekday, name): (&Weekday, String)| button(name, on(vec![*weekday]));
    let buttons: Vec<Button> = there.iter().zip(names()).map(one).collect();
    let mut letter = Letter::new(voice.say("standing-which-weekday", &Args::new()));
    for button in buttons {
        letter = letter.row([button]);
    }
    letter = letter.row([button(voice.plain("standing-button-every-delivery", &Args::new()), on(there.clone()))]);
    reply(desk, person, letter).await.map(|()| None)
}

/// What is wrong with the dates of a new standing order.
fn no_dates(voice: &Voice, why: NoDates) -> String {
    let day = |from| Args::new().date_as("day", from, DateForm::WithYear);
    match why {
        NoDates::Past { from } => voice.say("order-day-past", &day(from)),
        NoDates::Far { from } => voice.say("order-day-far", &day(from)),
        NoDates::UntilEarly => voice.say("standing-until-early", &Args::new()),
    }
}
