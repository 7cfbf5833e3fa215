//! The food bank's answer: agreed, another time, not this time, or silence; and the family's calling off.

use super::super::audience::Audience;
use super::super::surplus::stock::{self, Holder};
use super::super::{Button, Desk, Letter};
use super::{Ask, button, found, handing_over, propose, proposing, settle, told};
use crate::intent::Intent;
use crate::wording::{Args, Voice, key};
use scheduler::clock::{LocalDate, UtcSeconds};
use scheduler::id::Id;
use scheduler::people::{Person, Role};
use scheduler::store;
use scheduler::store::giving::{self, FoodBank};
use scheduler::store::occurrences::{self, Planned};
use scheduler::surplus::drop::{self, DropOff, Event, Reminding, State};
use scheduler::surplus::opening::Window;
use scheduler::surplus::partners::MINUTES_TO_HAND_OVER;

/// Other times shown at once.
const OTHER_TIMES_MAX: usize = 4;
/// Days looked through for other times: no fresh mushroom keeps longer.
const OTHER_TIMES_DAYS: i64 = 21;

/// The food bank agrees, or the keeper says that it did.
pub(super) async fn agree(desk: &mut Desk<'_>, person: &Person, drop_id: Id) -> store::Result<()> {
    let Some((drop, bank)) = found(desk, person, drop_id).await? else { return Ok(()) };
    match drop::apply(&drop, Event::Agree, desk.now) {
        Ok(drop) => agreed(desk, person, (drop, bank)).await,
        Err(_) => not_now(desk, person, (&drop, &bank)).await,
    }
}

/// Says how a drop stands to whoever pressed too late.
async fn not_now(desk: &mut Desk<'_>, person: &Person, (drop, bank): (&DropOff, &FoodBank)) -> store::Result<()> {
    let text_key = match drop.state() {
        State::Agreed => key("drop-is-agreed"),
        State::HandedOver => key("drop-is-over"),
        _ => key("drop-is-off"),
    };
    let voice = desk.voice(person);
    let text = voice.say(text_key, &told(desk.house, &voice, (drop, bank)));
    desk.answer(person, Letter::new(text)).await
}

/// A drop is agreed: everybody is told, and the driver's reminders are planned.
async fn agreed(desk: &mut Desk<'_>, person: &Person, (drop, bank): (DropOff, FoodBank)) -> store::Result<()> {
    let house = desk.house;
    giving::put_drop(&mut desk.tx, &drop).await?;
    let text = |voice: &Voice| told(house, voice, (&drop, &bank));
    let voice = desk.voice(person);
    let text_key = if person.role == Role::Pantry { key("gift-agreed") } else { key("drop-agreed") };
    desk.answer(person, Letter::new(voice.say(text_key, &text(&voice)))).await?;
    desk.settle_card(&format!("gift-{}", drop.id), |voice| Letter::new(voice.say("gift-agreed", &text(voice)))).await?;
    let agreed_key = key("drop-agreed-keeper");
    set_going(desk, (&drop, &bank), agreed_key).await
}

/// What follows an agreement: the reminders are planned, the keepers told, and the driver has the address and the papers.
pub(super) async fn set_going(
    desk: &mut Desk<'_>,
    (drop, bank): (&DropOff, &FoodBank),
    keeper_key: &'static str,
) -> store::Result<()> {
    let house = desk.house;
    plan_reminders(desk, drop, bank).await?;
    desk.tell_family(Audience::Keepers, |voice| {
        Letter::new(voice.say(keeper_key, &told(house, voice, (drop, bank))))
            .on_card(format!("keep-{}", drop.id))
            .at_end()
            .row([button(voice, key("button-call-off"), Ask::CallOff { drop: drop.id })])
    })
    .await?;
    handing_over::tell_of_agreement(desk, (drop, bank)).await
}

async fn plan_reminders(desk: &mut Desk<'_>, one: &DropOff, bank: &FoodBank) -> store::Result<()> {
    let config = &desk.house.config.rules.giving;
    let how = Reminding {
        evening: config.evening,
        minutes_to_get_there: bank.travel_minutes,
        margin_minutes: config.spare_minutes,
    };
    let at = drop::reminders(one.window, how, desk.now, desk.house.zone());
    for (job, due_at, useful_until) in [
        ("drop_eve", at.evening_before, one.window.opens_at),
        ("drop_leave", at.before_leaving, one.window.closes_at),
        ("drop_close", at.ask_after, at.ask_after.plus_minutes(7 * 24 * 60)),
    ] {
        let planned = Planned::about(job, one.id, due_at, useful_until.max(due_at));
        occurrences::plan(&mut desk.tx, &planned).await?;
    }
    Ok(())
}

/// Shows the other times at which the stock still keeps and the food bank is open.
pub(super) async fn other_times(desk: &mut Desk<'_>, person: &Person, drop_id: Id) -> store::Result<()> {
    let Some((drop, bank)) = found(desk, person, drop_id).await? else { return Ok(()) };
    if drop.state() != State::Proposed {
        return not_now(desk, person, (&drop, &bank)).await;
    }
    let voice = desk.voice(person);
    let windows = other_windows(desk, &drop, &bank).await?;
    if windows.is_empty() {
        let mut letter = proposing::gift_card(desk.house, &voice, (&drop, &bank));
        letter.html = format!("{}\n\n{}", voice.say("gift-no-other-time", &Args::new()), letter.html);
        return desk.answer(person, Letter { card: None, ..letter }).await;
    }
    let mut letter = Letter::new(voice.say("gift-other-times", &told(desk.house, &voice, (&drop, &bank))));
    for window in windows {
        let args = Args::new().date("day", window.opens_at.local_date(desk.house.zone()));
        let label = voice.plain("button-window", &args.time("from", window.opens_at).time("to", window.closes_at));
        let ask = Ask::At { drop: drop.id, opens_at: window.opens_at, closes_at: window.closes_at };
        letter = letter.row([Button::new(label, Intent::Giving(ask))]);
    }
    let letter = letter.row([
        button(&voice, key("button-agree-first"), Ask::Agree { drop: drop.id }),
        button(&voice, key("button-not-this-time"), Ask::Decline { drop: drop.id }),
    ]);
    desk.answer(person, letter).await
}

async fn other_windows(desk: &mut Desk<'_>, drop: &DropOff, bank: &FoodBank) -> store::Result<Vec<Window>> {
    let zone = desk.house.zone();
    let spare = bank.travel_minutes + desk.house.config.rules.giving.spare_minutes;
    let mut after = desk.now.plus_minutes(spare + 30);
    let last = desk.now.plus_minutes(OTHER_TIMES_DAYS * 24 * 60);
    let hours = bank.taking_hours();
    let mut windows = Vec::new();
    while windows.len() < OTHER_TIMES_MAX {
        let Some(window) = hours.next_window(after, last, zone, MINUTES_TO_HAND_OVER) else { break };
        if !keeps_until(desk, drop, window.opens_at.local_date(zone)).await? {
            break;
        }
        after = window.closes_at;
        if window.closes_at != drop.window.closes_at {
            windows.push(window);
        }
    }
    Ok(windows)
}

/// Whether the drop's stock still keeps on `day` beside everything else that is spoken for.
async fn keeps_until(desk: &mut Desk<'_>, drop: &DropOff, day: LocalDate) -> store::Result<bool> {
    let mut held = stock::held(desk).await?;
    let before = stock::counted(desk, &held).await?.uncovered;
    for one in held.iter_mut().filter(|one| one.holder == Holder::Drop(drop.id)) {
        one.bound.date = day;
    }
    let after = stock::counted(desk, &held).await?.uncovered;
    let missing = |all: &[scheduler::surplus::count::Bound]| -> scheduler::quantity::Grams {
        all.iter().map(|one| one.weight).sum()
    };
    Ok(missing(&after) <= missing(&before))
}

/// The food bank chooses one of the other times. The farm offered only times it can keep, so that settles it.
pub(super) async fn at(
    desk: &mut Desk<'_>,
    person: &Person,
    (drop_id, opens_at, closes_at): (Id, UtcSeconds, UtcSeconds),
) -> store::Result<()> {
    let Some((one, bank)) = found(desk, person, drop_id).await? else { return Ok(()) };
    let window = Window { opens_at, closes_at };
    let Ok(next) = drop::apply(&one, Event::AgreeTo(window), desk.now) else {
        return not_now(desk, person, (&one, &bank)).await;
    };
    let is_possible = other_windows(desk, &one, &bank).await?.iter().any(|other| other.closes_at == closes_at);
    if !is_possible || opens_at <= desk.now {
        return other_times(desk, person, drop_id).await;
    }
    agreed(desk, person, (next, bank)).await
}

/// Not this time: the next food bank is asked.
pub(super) async fn decline(desk: &mut Desk<'_>, person: &Person, drop_id: Id) -> store::Result<()> {
    let Some((one, bank)) = found(desk, person, drop_id).await? else { return Ok(()) };
    if drop::apply(&one, Event::Decline, desk.now).is_err() {
        return not_now(desk, person, (&one, &bank)).await;
    }
    let voice = desk.voice(person);
    desk.answer(person, Letter::new(voice.say("gift-declined", &told(desk.house, &voice, (&one, &bank))))).await?;
    declined(desk, (one, &bank)).await
}

/// The food bank cannot take it after all, or never could: the next one is asked.
pub(super) async fn declined(desk: &mut Desk<'_>, (one, bank): (DropOff, &FoodBank)) -> store::Result<()> {
    let Ok(one) = drop::apply(&one, Event::Decline, desk.now) else { return Ok(()) };
    giving::put_drop(&mut desk.tx, &one).await?;
    fall_through(desk, (&one, bank), key("drop-declined")).await
}

/// The time to answer is over.
pub(super) async fn silent(desk: &mut Desk<'_>, drop_id: Id) -> store::Result<()> {
    let Some(one) = giving::drop_by_id(&mut desk.tx, drop_id).await? else { return Ok(()) };
    let Some(bank) = giving::food_bank(&mut desk.tx, one.partner_id).await? else { return Ok(()) };
    let Ok(one) = drop::apply(&one, Event::StaySilent, desk.now) else { return Ok(()) };
    giving::put_drop(&mut desk.tx, &one).await?;
    fall_through(desk, (&one, &bank), key("drop-unanswered")).await
}

/// Tells the family, and proposes the stock to the next food bank.
async fn fall_through(
    desk: &mut Desk<'_>,
    (drop, bank): (&DropOff, &FoodBank),
    text_key: &'static str,
) -> store::Result<()> {
    let house = desk.house;
    desk.settle_card(&format!("gift-{}", drop.id), |voice| {
        Letter::new(voice.say("gift-passed-on", &told(house, voice, (drop, bank))))
    })
    .await?;
    let text = |voice: &Voice| voice.say(text_key, &told(house, voice, (drop, bank)));
    settle(desk, drop.id, text).await?;
    desk.tell_family(Audience::Everyone, |voice| Letter::new(text(voice))).await?;
    propose(desk, drop.load(), Some(drop.chain)).await
}

/// The family calls a drop off, before or because it could not be brought.
pub(super) async fn call_off(desk: &mut Desk<'_>, person: &Person, drop_id: Id) -> store::Result<()> {
    let Some((one, bank)) = found(desk, person, drop_id).await? else { return Ok(()) };
    let Ok(one) = drop::apply(&one, Event::Cancel, desk.now) else {
        return not_now(desk, person, (&one, &bank)).await;
    };
    let house = desk.house;
    giving::put_drop(&mut desk.tx, &one).await?;
    let text = |voice: &Voice| voice.say("drop-called-off", &told(house, voice, (&one, &bank)));
    let voice = desk.voice(person);
    let mut letter = Letter::new(text(&voice));
    if person.role == Role::Keeper {
        letter = letter.row([button(&voice, key("button-again"), Ask::Again { drop: one.id })]);
    }
    // First, because the answer may stand on one of these cards with a button of its own.
    settle(desk, one.id, text).await?;
    desk.answer(person, letter).await?;
    desk.tell_partner(bank.id, |voice| {
        let args = told(house, voice, (&one, &bank)).text("farm", house.config.farm.name.clone());
        Letter::new(voice.say("gift-called-off", &args))
    })
    .await?;
    if person.role != Role::Keeper {
        desk.tell_family(Audience::Keepers, |voice| {
            Letter::new(text(voice)).row([button(voice, key("button-again"), Ask::Again { drop: one.id })])
        })
        .await?;
    }
    Ok(())
}
