//! Regular drops as they are asked for, answered and told.

use super::{Ask, answering, button, stale};
use crate::conversation::ordering::rhythm_words;
use crate::conversation::{Button, Desk, Letter};
use crate::house::House;
use crate::intent::Intent;
use crate::wording::{Args, DateForm, Voice, key};
use chrono::Weekday;
use scheduler::clock::{LocalDate, UtcSeconds, wall_time};
use scheduler::farm::giving::Regular;
use scheduler::farm::giving::event::{Event, RegularEvent};
use scheduler::farm::giving::regular::{self, Proposal, Wanted};
use scheduler::id::Id;
use scheduler::people::{Person, Role};
use scheduler::store::giving::{self, FoodBank};
use scheduler::store::{self, people};
use scheduler::surplus::opening::Span;
use scheduler::surplus::standing::State;

/// Times offered as buttons.
const TIMES_SHOWN: usize = 8;
/// What most messages about it say: the food bank, how often, at what time, and from when on.
fn told((house, now): (&House, UtcSeconds), voice: &Voice, one: &Regular) -> Args {
    let today = now.local_date(house.zone());
    let rhythm = one.recurrence(house.zone()).map(|recurrence| rhythm_words(voice, &recurrence, today));
    Args::new()
        .text("bank", one.bank.name.clone())
        .text("farm", house.config.farm.name.clone())
        .text("rhythm", rhythm.unwrap_or_default())
        .wall_time("at", wall_time(one.drop.opens_minute))
        .date("day", one.next_date(&house.calendar, now).unwrap_or(today))
}

/// One line on it.
pub(super) fn line((house, now): (&House, UtcSeconds), voice: &Voice, one: &Regular) -> String {
    let text_key = match (one.drop.state(), one.next_date(&house.calendar, now)) {
        (State::Agreed, Some(_)) => key("regular-line"),
        (State::Agreed, None) => key("regular-line-no-next"),
        _ => key("regular-asked-line"),
    };
    voice.say(text_key, &told((house, now), voice, one))
}

/// What a food bank's contacts or the keepers read of what has happened to it.
pub(super) fn letter(
    (house, now): (&House, UtcSeconds),
    voice: &Voice,
    one: &Regular,
    (what, is_partner): (RegularEvent, bool),
) -> Letter {
    let text_key = match what {
        RegularEvent::Proposed => return gift_card((house, now), voice, one),
        RegularEvent::DateSet { day, is_on } => return Letter::new(date_text(voice, one, (day, is_on))),
        RegularEvent::Agreed if is_partner => key("gift-regular-agreed"),
        RegularEvent::Agreed => key("regular-agreed"),
        RegularEvent::Declined if is_partner => key("gift-regular-declined"),
        RegularEvent::Declined => key("regular-declined"),
        RegularEvent::Stopped => key("regular-stopped"),
    };
    let card = if is_partner { "regular" } else { "regular-keep" };
    let letter = Letter::new(voice.say(text_key, &told((house, now), voice, one)));
    // In the place of the question, so that its buttons are gone; news go to the end of the chat.
    letter.on_card(format!("{card}-{}", one.drop.id)).at_end()
}

fn date_text(voice: &Voice, one: &Regular, (day, is_on): (LocalDate, bool)) -> String {
    let text_key = if is_on { key("regular-on-again") } else { key("regular-not-on") };
    voice.say(text_key, &Args::new().text("bank", one.bank.name.clone()).date("day", day))
}

/// The lines of /drops with what can be said to each; a food bank's contact sees its own.
pub(super) async fn on_list(desk: &mut Desk<'_>, person: &Person) -> store::Result<(Vec<String>, Vec<Vec<Button>>)> {
    let (voice, at) = (desk.voice(person), (desk.house, desk.now));
    let (mut lines, mut rows) = (Vec::new(), Vec::new());
    for one in regular::running(&mut desk.farm()).await? {
        if person.role == Role::Pantry && person.partner_id != Some(one.bank.id) {
            continue;
        }
        lines.push(line(at, &voice, &one));
        if person.role != Role::Driver {
            rows.push(keys(at, &voice, &one));
        }
    }
    Ok((lines, rows))
}

/// What can be said to it.
fn keys((house, now): (&House, UtcSeconds), voice: &Voice, one: &Regular) -> Vec<Button> {
    let named = |text_key, day: Option<LocalDate>| {
        let args = Args::new().text("bank", one.bank.name.clone());
        voice.plain(text_key, &day.into_iter().fold(args, |args, day| args.date_as("day", day, DateForm::Short)))
    };
    let id = one.drop.id;
    let mut row = Vec::new();
    if let Some(day) = one.next_date(&house.calendar, now).filter(|_| one.drop.state() == State::Agreed) {
        let ask = Ask::RegularOn { regular: id, day, is_on: false };
        row.push(Button::new(named(key("button-regular-not-on"), Some(day)), Intent::Giving(ask)));
    }
    let ends = Ask::RegularStop { regular: id, sure: false };
    row.push(Button::new(named(key("button-regular-stop"), None), Intent::Giving(ends)));
    row
}

/// The keeper asks for one: what there is, or the times that can be chosen.
pub(super) async fn ask(desk: &mut Desk<'_>, person: &Person, bank_id: Id) -> store::Result<()> {
    let Some(bank) = giving::food_bank(&mut desk.tx, bank_id).await? else { return stale(desk, person).await };
    let (voice, at) = (desk.voice(person), (desk.house, desk.now));
    let back = button(&voice, key("button-back"), Ask::Bank { bank: bank_id });
    if let Some(one) = regular::of_bank(&mut desk.farm(), bank_id).await? {
        let letter = Letter::new(line(at, &voice, &one)).row(keys(at, &voice, &one));
        return desk.answer(person, letter.row([back])).await;
    }
    let mut letter = Letter::new(voice.say("regular-question", &Args::new().text("bank", bank.name.clone())));
    for (weekday, minute) in bank.weekly.iter().flat_map(|(weekday, span)| starts(*weekday, *span)).take(TIMES_SHOWN) {
        let wanted = Wanted { bank: bank_id, every_weeks: 1, weekdays: vec![weekday], minute: Some(minute) };
        let Some((one, _)) = regular::made(&desk.farm(), &wanted, &bank) else { continue };
        let label = voice.plain("button-regular-at", &told(at, &voice, &one));
        let Wanted { bank, every_weeks, weekdays, minute } = wanted;
        let ask = Ask::RegularAt { bank, every_weeks, weekdays, minute };
        letter = letter.row([Button::new(label, Intent::Giving(ask))]);
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

/// Proposes it to the food bank.
pub(super) async fn propose(desk: &mut Desk<'_>, person: &Person, wanted: Wanted) -> store::Result<()> {
    let proposal = regular::propose(&mut desk.farm(), person, &wanted).await?;
    let (voice, at) = (desk.voice(person), (desk.house, desk.now));
    let named = |bank: &FoodBank| Args::new().text("bank", bank.name.clone());
    let letter = match proposal {
        Proposal::UnknownBank => return stale(desk, person).await,
        Proposal::Running(one) => {
            let show = button(&voice, key("button-show"), Ask::Regular { bank: one.bank.id });
            Letter::new(voice.say("regular-exists", &named(&one.bank))).row([show])
        }
        Proposal::NoColdStore(bank) => Letter::new(voice.say("regular-warm", &named(&bank))),
        Proposal::NoDates(bank) => Letter::new(voice.say("regular-no-date", &named(&bank))),
        Proposal::NotOpen(one) => Letter::new(voice.say("regular-not-open", &told(at, &voice, &one))),
        Proposal::Done(one, events) => {
            desk.happened(events);
            let has_contact = !people::contacts_of_partner(&mut desk.tx, one.bank.id).await?.is_empty();
            let text_key = if has_contact { key("regular-asked") } else { key("regular-call-them") };
            let id = one.drop.id;
            Letter::new(voice.say(text_key, &told(at, &voice, &one)))
                .on_card(format!("regular-keep-{id}"))
                .row([button(&voice, key("button-agreed-by-phone"), Ask::RegularAgree { regular: id })])
                .row([button(&voice, key("button-call-off"), Ask::RegularStop { regular: id, sure: true })])
        }
    };
    desk.answer(person, letter).await
}

fn gift_card(at: (&House, UtcSeconds), voice: &Voice, one: &Regular) -> Letter {
    let args = told(at, voice, one).weight("least", one.bank.least).weight("greatest", one.bank.greatest);
    let lines = [voice.say("gift-regular-proposed", &args), voice.say("gift-caution", &Args::new())];
    let id = one.drop.id;
    Letter::new(lines.join("\n\n")).on_card(format!("regular-{id}")).row([
        button(voice, key("button-agree"), Ask::RegularAgree { regular: id }),
        button(voice, key("button-no-thanks"), Ask::RegularDecline { regular: id }),
    ])
}

/// The food bank agrees, or the keeper says that it did.
pub(super) async fn agree(desk: &mut Desk<'_>, person: &Person, id: Id) -> store::Result<()> {
    let agreed = regular::agree(&mut desk.farm(), person, id).await?;
    answer(desk, person, (agreed, RegularEvent::Agreed)).await
}

/// The food bank does not want it.
pub(super) async fn decline(desk: &mut Desk<'_>, person: &Person, id: Id) -> store::Result<()> {
    let declined = regular::decline(&mut desk.farm(), person, id).await?;
    answer(desk, person, (declined, RegularEvent::Declined)).await
}

/// Either side ends it, once it is sure.
pub(super) async fn stop(desk: &mut Desk<'_>, person: &Person, (id, sure): (Id, bool)) -> store::Result<()> {
    if sure {
        let stopped = regular::stop(&mut desk.farm(), person, id).await?;
        return answer(desk, person, (stopped, RegularEvent::Stopped)).await;
    }
    let Some(one) = regular::to_stop(&mut desk.farm(), person, id).await? else { return stale(desk, person).await };
    let voice = desk.voice(person);
    let question = voice.say("regular-stop-question", &told((desk.house, desk.now), &voice, &one));
    let letter = Letter::new(question).row([
        button(&voice, key("button-yes"), Ask::RegularStop { regular: id, sure: true }),
        button(&voice, key("button-no"), Ask::Drops),
    ]);
    desk.answer(person, letter).await
}

/// Answers whoever acted; the others are told.
async fn answer(
    desk: &mut Desk<'_>,
    person: &Person,
    (done, what): (Option<(Regular, Event)>, RegularEvent),
) -> store::Result<()> {
    let Some((one, event)) = done else { return stale(desk, person).await };
    let is_partner = person.role == Role::Pantry;
    let text = letter((desk.house, desk.now), &desk.voice(person), &one, (what, is_partner)).html;
    desk.happened([event]);
    desk.answer(person, Letter::new(text)).await
}

/// Leaves a date out, or puts it back.
pub(super) async fn set_date(
    desk: &mut Desk<'_>,
    person: &Person,
    (id, day, is_on): (Id, LocalDate, bool),
) -> store::Result<()> {
    let Some(set) = regular::set_date(&mut desk.farm(), person, (id, day, is_on)).await? else {
        return stale(desk, person).await;
    };
    let voice = desk.voice(person);
    let undo = Ask::RegularOn { regular: id, day, is_on: !is_on };
    let letter = Letter::new(date_text(&voice, &set.regular, (day, is_on)));
    desk.answer(person, letter.row([button(&voice, key("button-undo"), undo)])).await?;
    for gift in &set.called_off {
        answering::say_called_off(desk, person, gift).await?;
    }
    desk.happened(set.events);
    Ok(())
}
