//! Regular drops: proposed to a food bank once, agreed once, ended by either side. What each of its dates comes to is in
//! [`super::filling`].

use super::super::audience::Audience;
use super::super::ordering::rhythm_words;
use super::super::{Button, Desk, Letter};
use super::{Ask, answering, button, filling, stale};
use crate::house::House;
use crate::intent::Intent;
use crate::wording::{Args, DateForm, Voice, key};
use chrono::{Days, Weekday};
use scheduler::clock::{LocalDate, instant_at};
use scheduler::id::Id;
use scheduler::orders::recurrence::{Recurrence, Rhythm};
use scheduler::people::{Person, Role};
use scheduler::store::giving::{self, FoodBank};
use scheduler::store::standing_giving;
use scheduler::store::{self, people};
use scheduler::surplus::opening::{Hours, Span};
use scheduler::surplus::standing::{self, Call, Event, StandingDrop, State, call};

/// Times offered as buttons.
const TIMES_SHOWN: usize = 8;
/// How far the next date is looked for: a year and a day.
const AHEAD_DAYS: u64 = 366;

/// A regular drop as asked for.
#[derive(Clone, Debug)]
pub(super) struct New {
    pub bank: Id,
    pub every_weeks: u16,
    pub weekdays: Vec<Weekday>,
    /// Minutes of the local day; without one, when it opens.
    pub minute: Option<u16>,
}

/// The regular drop of a food bank that runs or is proposed.
pub(super) async fn of_bank(desk: &mut Desk<'_>, bank_id: Id) -> store::Result<Option<StandingDrop>> {
    Ok(standing_giving::running(&mut desk.tx).await?.into_iter().find(|one| one.partner_id == bank_id))
}

/// Its dates as a recurrence. A stored text that is malformed is logged, and has no date.
pub(super) fn recurrence(house: &House, one: &StandingDrop) -> Option<Recurrence> {
    match Recurrence::parse(&one.recurrence, house.zone()) {
        Ok(recurrence) => Some(recurrence),
        Err(error) => {
            tracing::error!(standing_drop = one.id.get(), %error, "regular drop left out");
            None
        }
    }
}

/// The next date on which it is brought.
pub(super) fn next_date(desk: &Desk<'_>, one: &StandingDrop, bank: &FoodBank) -> Option<LocalDate> {
    let (house, today) = (desk.house, desk.today());
    let last = today.checked_add_days(Days::new(AHEAD_DAYS))?;
    let dates = recurrence(house, one)?.dates_between(today, last).ok()?;
    dates.into_iter().find(|date| match call_on(house, one, bank, *date) {
        Call::Bring(window) => window.opens_at > desk.now,
        Call::Closed | Call::Full => false,
    })
}

/// What a date of it comes to.
pub(super) fn call_on(house: &House, one: &StandingDrop, bank: &FoodBank, date: LocalDate) -> Call {
    use scheduler::delivery::calendar::Exception;
    let is_farm_closed = house.calendar.exceptions.get(&date) == Some(&Exception::NoDelivery);
    call((date, one.opens_minute), (&bank.hours(), &bank.full), is_farm_closed, house.zone())
}

/// What most messages about it say: the food bank, how often, at what time, and from when on.
pub(super) fn told(desk: &Desk<'_>, voice: &Voice, (one, bank): (&StandingDrop, &FoodBank)) -> Args {
    let rhythm = recurrence(desk.house, one).map(|recurrence| rhythm_words(voice, &recurrence, desk.today()));
    let first = next_date(desk, one, bank).unwrap_or(desk.today());
    Args::new()
        .text("bank", bank.name.clone())
        .text("farm", desk.house.config.farm.name.clone())
        .text("rhythm", rhythm.unwrap_or_default())
        .wall_time("at", super::hours::wall_time(one.opens_minute))
        .date("day", first)
}

/// One line on it.
pub(super) fn line(desk: &Desk<'_>, voice: &Voice, both: (&StandingDrop, &FoodBank)) -> String {
    let text_key = match (both.0.state(), next_date(desk, both.0, both.1)) {
        (State::Agreed, Some(_)) => key("regular-line"),
        (State::Agreed, None) => key("regular-line-no-next"),
        _ => key("regular-asked-line"),
    };
    voice.say(text_key, &told(desk, voice, both))
}

/// The lines of /drops with what can be said to each; a food bank's contact sees its own.
pub(super) async fn on_list(
    desk: &mut Desk<'_>,
    person: &Person,
    banks: &[FoodBank],
) -> store::Result<(Vec<String>, Vec<Vec<Button>>)> {
    let voice = desk.voice(person);
    let (mut lines, mut rows) = (Vec::new(), Vec::new());
    for one in standing_giving::running(&mut desk.tx).await? {
        let Some(bank) = banks.iter().find(|bank| bank.id == one.partner_id) else { continue };
        if person.role == Role::Pantry && person.partner_id != Some(bank.id) {
            continue;
        }
        lines.push(line(desk, &voice, (&one, bank)));
        if person.role != Role::Driver {
            rows.extend(keys(desk, &voice, (&one, bank)));
        }
    }
    Ok((lines, rows))
}

/// What can be said to it.
fn keys(desk: &Desk<'_>, voice: &Voice, (one, bank): (&StandingDrop, &FoodBank)) -> Vec<Vec<Button>> {
    let named = |text_key, day: Option<LocalDate>| {
        let args = Args::new().text("bank", bank.name.clone());
        voice.plain(text_key, &day.into_iter().fold(args, |args, day| args.date_as("day", day, DateForm::Short)))
    };
    let ends = Ask::RegularStop { regular: one.id, sure: false };
    let mut row = Vec::new();
    if let Some(day) = next_date(desk, one, bank).filter(|_| one.state() == State::Agreed) {
        let ask = Ask::RegularOn { regular: one.id, day, is_on: false };
        row.push(Button::new(named(key("button-regular-not-on"), Some(day)), Intent::Giving(ask)));
    }
    row.push(Button::new(named(key("button-regular-stop"), None), Intent::Giving(ends)));
    vec![row]
}

/// The keeper asks for one: what there is, or the times that can be chosen.
pub(super) async fn ask(desk: &mut Desk<'_>, person: &Person, bank_id: Id) -> store::Result<()> {
    let Some(bank) = giving::food_bank(&mut desk.tx, bank_id).await? else { return stale(desk, person).await };
    let voice = desk.voice(person);
    let back = button(&voice, key("button-back"), Ask::Bank { bank: bank_id });
    if let Some(one) = of_bank(desk, bank_id).await? {
        let mut letter = Letter::new(line(desk, &voice, (&one, &bank)));
        letter.rows = keys(desk, &voice, (&one, &bank));
        return desk.answer(person, letter.row([back])).await;
    }
    let mut letter = Letter::new(voice.say("regular-question", &Args::new().text("bank", bank.name.clone())));
    let today = desk.today();
    for (weekday, span) in bank.weekly.iter().flat_map(|(weekday, span)| starts(*weekday, *span)).take(TIMES_SHOWN) {
        let new = New { bank: bank_id, every_weeks: 1, weekdays: vec![weekday], minute: Some(span) };
        let Some((made, _)) = made(desk, &new, &bank, today) else { continue };
        let label = voice.plain("button-regular-at", &told(desk, &voice, (&made, &bank)));
        letter = letter.row([Button::new(label, Intent::Giving(new.ask()))]);
    }
    desk.answer(person, letter.row([back])).await
}

/// When it opens, and two hours later where it is still open.
fn starts(weekday: Weekday, span: Span) -> impl Iterator<Item = (Weekday, u16)> {
    let later = span.opens() + 120;
    [Some(span.opens()), (later + 30 <= span.closes()).then_some(later)]
        .into_iter()
        .flatten()
        .map(move |at| (weekday, at))
}

impl New {
    fn ask(self) -> Ask {
        let New { bank, every_weeks, weekdays, minute } = self;
        Ask::RegularAt { bank, every_weeks, weekdays, minute }
    }
}

/// The regular drop as it would be kept, and the days on which the food bank is not open then; `None` where nothing of that
/// kind recurs.
fn made(desk: &Desk<'_>, new: &New, bank: &FoodBank, today: LocalDate) -> Option<(StandingDrop, bool)> {
    let zone = desk.house.zone();
    let usual = usual_hours(bank);
    let first = today.iter_days().take(14).find(|day| {
        use chrono::Datelike;
        new.weekdays.contains(&day.weekday())
    })?;
    let minute = new.minute.or_else(|| usual.on(first).first().map(|span| span.opens()))?;
    let clock = super::hours::wall_time(minute);
    // Today, if there is still time to bring something.
    let from = if instant_at(today, clock, zone) > desk.now { today } else { today.succ_opt()? };
    let rhythm = Rhythm { every_weeks: new.every_weeks, weekdays: new.weekdays.clone(), from, until: None };
    let recurrence = Recurrence::of(&rhythm, zone).ok()?;
    let week = from.iter_days().take(7).filter(|day| {
        use chrono::Datelike;
        new.weekdays.contains(&day.weekday())
    });
    let is_open = |day| call((day, minute), (&usual, &[]), false, zone) != Call::Closed;
    let is_always_open = week.into_iter().all(is_open);
    let mut one = StandingDrop::proposed(desk.new_id(), bank.id, desk.now);
    one.recurrence = recurrence.text().to_owned();
    one.opens_minute = minute;
    Some((one, is_always_open))
}

/// Its hours without exceptions.
fn usual_hours(bank: &FoodBank) -> Hours {
    FoodBank { closed: Vec::new(), ..bank.clone() }.hours()
}

/// Proposes it to the food bank.
pub(super) async fn propose(desk: &mut Desk<'_>, person: &Person, new: New) -> store::Result<()> {
    let Some(bank) = giving::food_bank(&mut desk.tx, new.bank).await? else { return stale(desk, person).await };
    let voice = desk.voice(person);
    let named = Args::new().text("bank", bank.name.clone());
    if of_bank(desk, bank.id).await?.is_some() {
        let letter = Letter::new(voice.say("regular-exists", &named));
        return desk
            .answer(person, letter.row([button(&voice, key("button-show"), Ask::Regular { bank: bank.id })]))
            .await;
    }
    if !bank.has_cold_store {
        return desk.answer(person, Letter::new(voice.say("regular-warm", &named))).await;
    }
    let today = desk.today();
    let (one, is_always_open) = match made(desk, &new, &bank, today) {
        Some(made) => made,
        None => return desk.answer(person, Letter::new(voice.say("regular-no-date", &named))).await,
    };
    if !is_always_open {
        let text = voice.say("regular-not-open", &told(desk, &voice, (&one, &bank)));
        return desk.answer(person, Letter::new(text)).await;
    }
    standing_giving::put(&mut desk.tx, &one).await?;
    let has_contact = !people::contacts_of_partner(&mut desk.tx, bank.id).await?.is_empty();
    for contact in people::contacts_of_partner(&mut desk.tx, bank.id).await? {
        let letter = gift_card(desk, &desk.voice(&contact), (&one, &bank));
        desk.tell(&contact, letter).await?;
    }
    let text_key = if has_contact { key("regular-asked") } else { key("regular-call-them") };
    let letter = Letter::new(voice.say(text_key, &told(desk, &voice, (&one, &bank))))
        .on_card(format!("regular-keep-{}", one.id))
        .row([button(&voice, key("button-agreed-by-phone"), Ask::RegularAgree { regular: one.id })])
        .row([button(&voice, key("button-call-off"), Ask::RegularStop { regular: one.id, sure: true })]);
    desk.answer(person, letter).await
}

fn gift_card(desk: &Desk<'_>, voice: &Voice, (one, bank): (&StandingDrop, &FoodBank)) -> Letter {
    let args = told(desk, voice, (one, bank)).weight("least", bank.least).weight("greatest", bank.greatest);
    let lines = [voice.say("gift-regular-proposed", &args), voice.say("gift-caution", &Args::new())];
    Letter::new(lines.join("\n\n")).on_card(format!("regular-{}", one.id)).row([
        button(voice, key("button-agree"), Ask::RegularAgree { regular: one.id }),
        button(voice, key("button-no-thanks"), Ask::RegularDecline { regular: one.id }),
    ])
}

/// The regular drop after an event, not stored yet, with its food bank; `None`, and said so, where the event comes too late or
/// the drop is not this person's to speak of.
async fn after(
    desk: &mut Desk<'_>,
    person: &Person,
    (id, event): (Id, Event),
) -> store::Result<Option<(StandingDrop, FoodBank)>> {
    let one = standing_giving::by_id(&mut desk.tx, id).await?;
    let one = one.filter(|one| person.role != Role::Pantry || person.partner_id == Some(one.partner_id));
    let one = one.and_then(|one| standing::apply(&one, event, desk.now).ok());
    let bank = match &one {
        Some(one) => giving::food_bank(&mut desk.tx, one.partner_id).await?,
        None => None,
    };
    let both = one.zip(bank);
    if both.is_none() {
        stale(desk, person).await?;
    }
    Ok(both)
}

/// The food bank agrees, or the keeper says that it did.
pub(super) async fn agree(desk: &mut Desk<'_>, person: &Person, id: Id) -> store::Result<()> {
    let Some((one, bank)) = after(desk, person, (id, Event::Agree)).await? else { return Ok(()) };
    standing_giving::put(&mut desk.tx, &one).await?;
    say_to_all(desk, person, (&one, &bank), [key("gift-regular-agreed"), key("regular-agreed")]).await?;
    filling::plan(desk, &one).await
}

/// The food bank does not want it.
pub(super) async fn decline(desk: &mut Desk<'_>, person: &Person, id: Id) -> store::Result<()> {
    let Some((one, bank)) = after(desk, person, (id, Event::Decline)).await? else { return Ok(()) };
    standing_giving::put(&mut desk.tx, &one).await?;
    say_to_all(desk, person, (&one, &bank), [key("gift-regular-declined"), key("regular-declined")]).await
}

/// Either side ends it. A drop that is agreed already stays.
pub(super) async fn stop(desk: &mut Desk<'_>, person: &Person, (id, sure): (Id, bool)) -> store::Result<()> {
    let Some((one, bank)) = after(desk, person, (id, Event::Stop)).await? else { return Ok(()) };
    if !sure {
        let voice = desk.voice(person);
        let letter = Letter::new(voice.say("regular-stop-question", &told(desk, &voice, (&one, &bank)))).row([
            button(&voice, key("button-yes"), Ask::RegularStop { regular: id, sure: true }),
            button(&voice, key("button-no"), Ask::Drops),
        ]);
        return desk.answer(person, letter).await;
    }
    standing_giving::put(&mut desk.tx, &one).await?;
    say_to_all(desk, person, (&one, &bank), [key("regular-stopped"), key("regular-stopped")]).await
}

/// Answers whoever acted, settles the cards that ask, and tells the other side and the keepers: `[to the food bank, to the
/// family]`.
async fn say_to_all(
    desk: &mut Desk<'_>,
    person: &Person,
    both: (&StandingDrop, &FoodBank),
    [gift_key, keeper_key]: [&'static str; 2],
) -> store::Result<()> {
    let is_contact = person.role == Role::Pantry;
    let voice = desk.voice(person);
    let own_key = if is_contact { gift_key } else { keeper_key };
    let letter = Letter::new(voice.say(own_key, &told(desk, &voice, both)));
    desk.answer(person, letter).await?;
    let contacts = people::contacts_of_partner(&mut desk.tx, both.1.id).await?;
    let keepers = people::with_role(&mut desk.tx, Role::Keeper).await?;
    for (others, card, text_key) in [
        (contacts, format!("regular-{}", both.0.id), gift_key),
        (keepers, format!("regular-keep-{}", both.0.id), keeper_key),
    ] {
        for other in others.into_iter().filter(|other| other.id != person.id) {
            let voice = desk.voice(&other);
            let letter = Letter::new(voice.say(text_key, &told(desk, &voice, both)));
            // In the place of the question, so that its buttons are gone; news go to the end of the chat.
            desk.tell(&other, letter.on_card(card.clone()).at_end()).await?;
        }
    }
    Ok(())
}

/// Leaves a date out, or puts it back. A drop that was filled for it already is declined or called off.
pub(super) async fn set_date(
    desk: &mut Desk<'_>,
    person: &Person,
    (id, day, is_on): (Id, LocalDate, bool),
) -> store::Result<()> {
    let stored = standing_giving::by_id(&mut desk.tx, id).await?;
    let changed = stored
        .and_then(|one| recurrence(desk.house, &one))
        .and_then(|dates| if is_on { dates.with_again(day).ok()? } else { dates.without(day).ok()? });
    let Some(changed) = changed.filter(|_| day >= desk.today()) else { return stale(desk, person).await };
    let dates = Event::SetDates(changed.text().to_owned());
    let Some((one, bank)) = after(desk, person, (id, dates)).await? else { return Ok(()) };
    standing_giving::put(&mut desk.tx, &one).await?;
    let text_key = if is_on { key("regular-on-again") } else { key("regular-not-on") };
    let house = desk.house;
    let text = |voice: &Voice| voice.say(text_key, &Args::new().text("bank", bank.name.clone()).date("day", day));
    let voice = desk.voice(person);
    let undo = Ask::RegularOn { regular: id, day, is_on: !is_on };
    desk.answer(person, Letter::new(text(&voice)).row([button(&voice, key("button-undo"), undo)])).await?;
    if person.role == Role::Pantry {
        desk.tell_family(Audience::Keepers, |voice| Letter::new(text(voice))).await?;
    } else {
        desk.tell_partner(bank.id, |voice| Letter::new(text(voice))).await?;
    }
    if is_on {
        return filling::plan(desk, &one).await;
    }
    let coming = giving::coming_drops(&mut desk.tx).await?.into_iter();
    let zone = house.zone();
    for drop in coming.filter(|drop| drop.standing_id == Some(id) && drop.window.opens_at.local_date(zone) == day) {
        if person.role == Role::Pantry {
            answering::declined(desk, (drop, &bank)).await?;
        } else {
            answering::call_off(desk, person, drop.id).await?;
        }
    }
    Ok(())
}
