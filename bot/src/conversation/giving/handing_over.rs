//! Reminding the driver, and what was handed over. Rule: what is handed over leaves the cold room and enters the
//! record in the same transaction, to the gram; never more than was agreed.

use super::super::audience::Audience;
use super::super::growing::warmth;
use super::super::surplus::{amounts, stock};
use super::super::{Button, Desk, Letter, packing};
use super::{Ask, Waiting, button, correcting, found, papers, settle, told};
use crate::conversation::letter::Patience;
use crate::intent::answer::{self, Answer};
use crate::intent::{Intent, Waiting as Question};
use crate::phrase;
use crate::wording::{Args, Voice, key};
use scheduler::id::Id;
use scheduler::people::{Person, Role};
use scheduler::quantity::{Grams, UnitSystem};
use scheduler::store;
use scheduler::store::cold_room::{self, MoveKind, Movement};
use scheduler::store::giving::{self, FoodBank, Given};
use scheduler::surplus::drop::{self as rule, DropOff, Event, Refused, Reminder, State};
use scheduler::surplus::ledger;

/// What the driver reads of a drop under `heading`: what, where, how far, and how cold.
fn driver_text(desk: &Desk<'_>, voice: &Voice, (drop, bank): (&DropOff, &FoodBank), heading: &'static str) -> String {
    let leave_at = drop.window.opens_at.plus_minutes(-bank.travel_minutes);
    let args = told(desk.house, voice, (drop, bank)).text("address", bank.address.clone()).time("leave_at", leave_at);
    let lines = [
        voice.say(heading, &args),
        voice.say("drop-where", &args.count("minutes", bank.travel_minutes)),
        voice.say("drop-caution", &Args::new()),
    ];
    lines.join("\n")
}

/// The driver's card of a drop under `heading`.
fn driver_card(desk: &Desk<'_>, voice: &Voice, both: (&DropOff, &FoodBank), heading: &'static str) -> Letter {
    let drop = both.0;
    Letter::new(driver_text(desk, voice, both, heading))
        .row([button(voice, key("button-handed-over"), Ask::HandedOver { drop: drop.id })])
        .row([
            button(voice, key("button-drop-other-weight"), Ask::HandedOtherWeight { drop: drop.id }),
            button(voice, key("button-could-not"), Ask::CouldNot { drop: drop.id }),
        ])
}

/// Whoever drives; the keepers where nobody is a driver.
async fn drivers(desk: &mut Desk<'_>) -> store::Result<Vec<Person>> {
    let everybody = scheduler::store::people::everybody(&mut desk.tx).await?;
    let has_driver = everybody.iter().any(|person| person.role == Role::Driver);
    let meant = if has_driver { Role::Driver } else { Role::Keeper };
    Ok(everybody.into_iter().filter(|person| person.role == meant).collect())
}

async fn tell_drivers(
    desk: &mut Desk<'_>,
    both: (&DropOff, &FoodBank),
    (heading, with_papers, patience): (&'static str, bool, Patience),
) -> store::Result<()> {
    for person in drivers(desk).await? {
        let voice = desk.voice(&person);
        if with_papers {
            tell_papers(desk, &person, (both, patience)).await?;
        }
        let letter = driver_card(desk, &voice, both, heading);
        let letter = letter.on_card(format!("drop-{}", both.0.id)).at_end().patient(patience);
        desk.tell(&person, letter).await?;
    }
    Ok(())
}

async fn tell_papers(
    desk: &mut Desk<'_>,
    person: &Person,
    (both, patience): ((&DropOff, &FoodBank), Patience),
) -> store::Result<()> {
    for letter in papers::letters(desk, &desk.voice(person), both) {
        desk.tell(person, letter.patient(patience)).await?;
    }
    Ok(())
}

/// The driver learns of an agreed drop, with its papers. Nothing can be handed over yet, so there is no button.
pub(super) async fn tell_of_agreement(desk: &mut Desk<'_>, both: (&DropOff, &FoodBank)) -> store::Result<()> {
    for person in drivers(desk).await? {
        tell_papers(desk, &person, (both, Patience::Waits)).await?;
        let text = driver_text(desk, &desk.voice(&person), both, key("drop-agreed-driver"));
        desk.tell(&person, Letter::new(text)).await?;
    }
    Ok(())
}

async fn agreed_drop(desk: &mut Desk<'_>, drop_id: Id) -> store::Result<Option<(DropOff, FoodBank)>> {
    let drop = giving::drop_by_id(&mut desk.tx, drop_id).await?.filter(|drop| drop.state() == State::Agreed);
    let bank = match &drop {
        Some(drop) => giving::food_bank(&mut desk.tx, drop.partner_id).await?,
        None => None,
    };
    Ok(drop.zip(bank))
}

/// Reminds the driver of an agreed drop.
pub(super) async fn remind(desk: &mut Desk<'_>, (drop_id, reminder): (Id, Reminder)) -> store::Result<()> {
    let Some((one, bank)) = agreed_drop(desk, drop_id).await? else { return Ok(()) };
    let Ok(one) = rule::apply(&one, Event::Remind(reminder), desk.now) else { return Ok(()) };
    let (heading, patience) = match reminder {
        Reminder::Evening => {
            let leave_at = one.window.opens_at.plus_minutes(-bank.travel_minutes);
            (key("drop-tomorrow"), Patience::Until(leave_at))
        }
        Reminder::Leaving => (key("drop-leave"), Patience::Cannot),
    };
    giving::put_drop(&mut desk.tx, &one).await?;
    let with_papers = reminder == Reminder::Evening;
    tell_drivers(desk, (&one, &bank), (heading, with_papers, patience)).await
}

/// After closing: nobody said that it was handed over, so the family is asked.
pub(super) async fn ask_after(desk: &mut Desk<'_>, drop_id: Id) -> store::Result<()> {
    let Some((one, bank)) = agreed_drop(desk, drop_id).await? else { return Ok(()) };
    tell_drivers(desk, (&one, &bank), (key("drop-was-it"), false, Patience::Waits)).await?;
    let house = desk.house;
    desk.tell_family(Audience::Keepers, |voice| {
        Letter::new(voice.say("drop-not-heard", &told(house, voice, (&one, &bank)))).row([button(
            voice,
            key("button-show"),
            Ask::Show { drop: one.id },
        )])
    })
    .await
}

/// Shows a coming drop.
pub(super) async fn show(desk: &mut Desk<'_>, person: &Person, drop_id: Id) -> store::Result<()> {
    let Some((one, bank)) = found(desk, person, drop_id).await? else { return Ok(()) };
    let voice = desk.voice(person);
    let letter = match one.state() {
        State::Agreed => driver_card(desk, &voice, (&one, &bank), key("drop-agreed-line")).row([button(
            &voice,
            key("button-papers"),
            Ask::Papers { drop: one.id },
        )]),
        State::Proposed => Letter::new(voice.say("drop-proposed-line", &told(desk.house, &voice, (&one, &bank))))
            .row([button(&voice, key("button-call-off"), Ask::CallOff { drop: one.id })]),
        _ => return super::stale(desk, person).await,
    };
    desk.answer(person, letter).await
}

/// Everything was handed over as planned.
pub(super) async fn as_planned(desk: &mut Desk<'_>, person: &Person, drop_id: Id) -> store::Result<()> {
    let Some((one, bank)) = found(desk, person, drop_id).await? else { return Ok(()) };
    let lines = one.load();
    hand_over(desk, person, (one, bank), lines).await
}

/// What was said to be handed over.
pub(super) type Told = (Vec<(String, Grams)>, Option<i64>);

/// Somebody says that it is done: of the one agreed drop whose day has come, or of the run that is under way. Where both
/// or several may be meant, asks which.
pub(super) async fn said(desk: &mut Desk<'_>, person: &Person, (lines, temperature_dc): Told) -> store::Result<()> {
    let (today, zone) = (desk.today(), desk.house.zone());
    let mut agreed = giving::coming_drops(&mut desk.tx).await?;
    agreed.retain(|drop| drop.state() == State::Agreed && drop.window.opens_at.local_date(zone) <= today);
    let run = packing::current(desk).await?.filter(|closed| closed.day <= today);
    match (agreed.as_slice(), run) {
        ([one], None) => handed_lines(desk, person, one.id, (lines, temperature_dc)).await,
        ([], Some(_)) => packing::act(desk, person, packing::Ask::Run).await,
        ([], None) => super::record::drops(desk, person).await,
        (several, run) => {
            let voice = desk.voice(person);
            let mut letter = Letter::new(voice.say("handed-which-question", &Args::new()));
            for drop in several {
                let Some(bank) = giving::food_bank(&mut desk.tx, drop.partner_id).await? else { continue };
                let ask = Ask::HandedLines { drop: drop.id, lines: lines.clone(), temperature_dc };
                letter = letter.row([Button::new(bank.name, Intent::Giving(ask))]);
            }
            if run.is_some() {
                let label = voice.plain("button-the-run", &Args::new());
                letter = letter.row([Button::new(label, Intent::Packing(packing::Ask::Run))]);
            }
            desk.answer(person, letter).await
        }
    }
}

/// These weights were handed over, or without lines all that was agreed.
pub(super) async fn handed_lines(
    desk: &mut Desk<'_>,
    person: &Person,
    drop_id: Id,
    (lines, temperature_dc): Told,
) -> store::Result<()> {
    let Some((one, bank)) = found(desk, person, drop_id).await? else { return Ok(()) };
    let lines = if lines.is_empty() { one.load() } else { lines };
    hand_over(desk, person, (one, bank), lines).await?;
    let is_done = giving::drop_by_id(&mut desk.tx, drop_id).await?.is_some_and(|one| one.state() == State::HandedOver);
    match temperature_dc.filter(|_| is_done) {
        Some(tenths) => note_temperature(desk, person, drop_id, tenths).await.map(|_| ()),
        None => Ok(()),
    }
}

/// Asks for the weight that was handed over.
pub(super) async fn ask_weight(desk: &mut Desk<'_>, person: &Person, drop_id: Id) -> store::Result<()> {
    let Some((one, bank)) = found(desk, person, drop_id).await? else { return Ok(()) };
    let voice = desk.voice(person);
    if one.state() != State::Agreed {
        return super::stale(desk, person).await;
    }
    desk.ask(person, &Question::Giving(Waiting::HandedWeight { drop: drop_id })).await?;
    let args = told(desk.house, &voice, (&one, &bank));
    let letter = Letter::new(voice.say("drop-weight-question", &args)).row([button(
        &voice,
        key("button-handed-over"),
        Ask::HandedOver { drop: one.id },
    )]);
    desk.answer(person, letter).await
}

/// A typed weight, or one for each crop; `false` for a wish of its own.
pub(super) async fn weighed(desk: &mut Desk<'_>, person: &Person, (drop_id, text): (Id, &str)) -> store::Result<bool> {
    let Some((one, bank)) = found(desk, person, drop_id).await? else { return Ok(true) };
    let only = match one.lines.as_slice() {
        [line] => Some(line.crop.as_str()),
        _ => None,
    };
    match answer::lines(desk, person, text, only) {
        Answer::Read(lines) => hand_over(desk, person, (one, bank), lines).await?,
        Answer::Wish => return Ok(false),
        Answer::Unread(Some(phrase::Question::TooLittle { .. })) => {
            let text = desk.voice(person).say("drop-nothing-handed", &Args::new());
            desk.answer(person, Letter::new(text)).await?;
        }
        Answer::Unread(question) => {
            answer::tell_unread(desk, person, question.as_ref(), key("surplus-not-a-weight")).await?;
        }
    }
    Ok(true)
}

async fn hand_over(
    desk: &mut Desk<'_>,
    person: &Person,
    (one, bank): (DropOff, FoodBank),
    handed: Vec<(String, Grams)>,
) -> store::Result<()> {
    let voice = desk.voice(person);
    let house = desk.house;
    let next = match rule::apply(&one, Event::HandOver(handed.clone()), desk.now) {
        Ok(next) => next,
        Err(refused) => {
            let text = match refused {
                Refused::NothingHandedOver => voice.say("drop-nothing-handed", &Args::new()),
                Refused::MoreThanAgreed { agreed } => {
                    voice.say("drop-more-than-agreed", &Args::new().weight("agreed", agreed))
                }
                Refused::NotNow(_) | Refused::NotInIt { .. } => {
                    voice.say("drop-is-over", &told(house, &voice, (&one, &bank)))
                }
            };
            return desk.answer(person, Letter::new(text)).await;
        }
    };
    let day = one.window.opens_at.local_date(house.zone());
    for (crop, grams) in &handed {
        if !stock::holds(desk, crop, (*grams, day)).await? {
            let what = house.amount(crop, *grams, &voice);
            let text = voice.say("surplus-not-in-cold-room", &Args::new().text("what", what));
            return desk.answer(person, Letter::new(text)).await;
        }
    }
    desk.close_question(person).await?;
    for (crop, grams) in &handed {
        take_and_enter(desk, person, (&one, &bank), (crop, *grams)).await?;
    }
    giving::put_drop(&mut desk.tx, &next).await?;
    thank(desk, person, (&next, &bank), &handed).await
}

/// Takes a crop out of the cold room and enters it, lot by lot.
pub(super) async fn take_and_enter(
    desk: &mut Desk<'_>,
    person: &Person,
    (one, bank): (&DropOff, &FoodBank),
    (crop, grams): (&str, Grams),
) -> store::Result<()> {
    let day = one.window.opens_at.local_date(desk.house.zone());
    let movement = Movement { kind: MoveKind::Given, subject: Some(one.id), person_id: Some(person.id), now: desk.now };
    let price = desk.house.crops.get(crop).and_then(|kind| kind.price_per_kilogram);
    for (lot_id, part) in cold_room::take_parts(&mut desk.tx, crop, (grams, day), &movement).await? {
        let given = Given {
            id: desk.new_id(),
            at: desk.now,
            day,
            partner_id: bank.id,
            partner: bank.name.clone(),
            drop_id: Some(one.id),
            lot_id,
            crop: crop.to_owned(),
            grams: part,
            value: price.map(|price| price.per_kilogram_for(part)),
            corrects: None,
        };
        giving::enter(&mut desk.tx, &given, Some(person.id)).await?;
    }
    Ok(())
}

async fn thank(
    desk: &mut Desk<'_>,
    person: &Person,
    (one, bank): (&DropOff, &FoodBank),
    handed: &[(String, Grams)],
) -> store::Result<()> {
    let house = desk.house;
    let meals = ledger::meals(one.handed());
    let args = |voice: &Voice| {
        Args::new()
            .text("bank", bank.name.clone())
            .text("farm", house.config.farm.name.clone())
            .list("what", amounts(house, voice, handed))
            .count("meals", meals)
    };
    let voice = desk.voice(person);
    let lines = [voice.say("drop-handed-over", &args(&voice)), voice.say("drop-temperature-question", &Args::new())];
    desk.ask(person, &Question::Giving(Waiting::Temperature { drop: one.id })).await?;
    // First, because the answer may stand on one of these cards with a button of its own.
    settle(desk, one.id, |voice| voice.say("drop-handed-over", &args(voice))).await?;
    let undo = button(&voice, key("button-undo"), Ask::UndoHandOver { drop: one.id });
    desk.answer(person, Letter::new(lines.join("\n")).row([undo])).await?;

    desk.tell_partner(bank.id, |voice| Letter::new(voice.say("gift-thanks", &args(voice)))).await?;
    if person.role != Role::Keeper {
        desk.tell_family(Audience::Keepers, |voice| Letter::new(voice.say("drop-handed-over", &args(voice)))).await?;
    }
    Ok(())
}

/// Takes a hand-over back: entries of the opposite weight, the stock in the cold room again, the drop agreed as before.
pub(super) async fn undo(desk: &mut Desk<'_>, person: &Person, drop_id: Id) -> store::Result<()> {
    let Some((one, bank)) = found(desk, person, drop_id).await? else { return Ok(()) };
    let Ok(next) = rule::apply(&one, Event::TakeBack, desk.now) else {
        return super::stale(desk, person).await;
    };
    for line in &one.lines {
        correcting::lessen(desk, person, (&one, &line.crop), line.handed.unwrap_or_default()).await?;
    }
    let one = next;
    giving::put_drop(&mut desk.tx, &one).await?;
    desk.close_question(person).await?;
    let house = desk.house;
    desk.tell_partner(bank.id, |voice| Letter::new(voice.say("gift-corrected", &told(house, voice, (&one, &bank)))))
        .await?;
    let voice = desk.voice(person);
    let letter = driver_card(desk, &voice, (&one, &bank), key("drop-undone"));
    desk.answer(person, letter).await
}

/// The temperature at hand-over; `false` when the text is none, so that it is read as anything else would be.
pub(super) async fn measured(desk: &mut Desk<'_>, person: &Person, (drop_id, text): (Id, &str)) -> store::Result<bool> {
    let Some(tenths) = temperature(text, person.units) else { return Ok(false) };
    note_temperature(desk, person, drop_id, tenths).await
}

/// Keeps the temperature at the hand-over and says whether it was cold enough; `false` when no such drop was handed over.
async fn note_temperature(desk: &mut Desk<'_>, person: &Person, drop_id: Id, tenths: i64) -> store::Result<bool> {
    let Some(one) = giving::drop_by_id(&mut desk.tx, drop_id).await? else { return Ok(false) };
    let Ok(one) = rule::apply(&one, Event::Measure(tenths), desk.now) else { return Ok(false) };
    giving::put_drop(&mut desk.tx, &one).await?;
    desk.close_question(person).await?;
    let voice = desk.voice(person);
    let text_key = if tenths > 50 { key("drop-too-warm") } else { key("drop-cold-enough") };
    desk.answer(person, Letter::new(voice.say(text_key, &Args::new()))).await?;
    Ok(true)
}

/// What can be measured in food that is handed over, tenths of a degree Celsius (judged).
const MEASURED_TENTHS_C: std::ops::RangeInclusive<i64> = -400..=600;

/// Tenths of a degree Celsius from "3 °C", "38 F", "3.5". Without a letter it is Fahrenheit for whoever reads pounds.
fn temperature(text: &str, units: UnitSystem) -> Option<i64> {
    let said = warmth::read(text).filter(|said| said.room.is_empty())?;
    Some(said.tenths_c_for(units)).filter(|tenths| MEASURED_TENTHS_C.contains(tenths))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 41 °F = 5 °C, 32 °F = 0 °C (NIST SP 811, appendix B.8).
    #[test]
    fn temperatures_are_read_in_both_scales() {
        use UnitSystem::{Avoirdupois, Metric};
        for (text, units, expected) in [
            ("41 F", Metric, Some(50)),
            ("32", Avoirdupois, Some(0)),
            ("3 °C", Avoirdupois, Some(30)),
            ("3,5", Metric, Some(35)),
            ("-1 c", Metric, Some(-10)),
            ("400 F", Metric, None),
            ("4 lb", Metric, None),
            ("cold", Metric, None),
            ("", Metric, None),
        ] {
            assert_eq!(temperature(text, units), expected, "{text}");
        }
    }
}
