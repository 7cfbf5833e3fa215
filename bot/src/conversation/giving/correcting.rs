//! Correcting what was entered as given. Rule: no entry is changed; what was wrong is put right by entries of the
//! difference, on the day of the drop, that name the entries they correct, and the cold room moves along to the gram.

use super::super::surplus::{amounts, stock};
use super::super::{Button, Desk, Letter};
use super::{Ask, Waiting, found, handing_over, stale, told};
use crate::intent::answer::{self, Answer};
use crate::intent::{Intent, Waiting as Question};
use crate::wording::{Args, DateForm, Voice, key};
use scheduler::id::Id;
use scheduler::money::Cents;
use scheduler::people::Person;
use scheduler::quantity::Grams;
use scheduler::store::cold_room::{self, MoveKind, Movement};
use scheduler::store::giving::{self, FoodBank, Given};
use scheduler::store::{self, people};
use scheduler::surplus::drop::{self as rule, DropOff, Event, State};
use scheduler::surplus::ledger::{Correction, Ledger};

/// Drops offered for correction.
const DROPS_SHOWN: usize = 8;

/// Which drop?
pub(super) async fn which(desk: &mut Desk<'_>, person: &Person) -> store::Result<()> {
    let voice = desk.voice(person);
    let banks = giving::food_banks(&mut desk.tx).await?;
    let drops = giving::drops(&mut desk.tx).await?;
    let mut letter = Letter::new(voice.say("given-correct-which", &Args::new()));
    for drop in drops.iter().rev().filter(|drop| drop.state() == State::HandedOver).take(DROPS_SHOWN) {
        let Some(bank) = banks.iter().find(|bank| bank.id == drop.partner_id) else { continue };
        let day = drop.window.opens_at.local_date(desk.house.zone());
        let args = Args::new().text("bank", bank.name.clone()).date_as("day", day, DateForm::Short);
        let label = voice.plain("button-given-correct-drop", &args.weight("weight", drop.handed()));
        letter = letter.row([Button::new(label, Intent::Giving(Ask::CorrectDrop { drop: drop.id }))]);
    }
    desk.answer(person, letter).await
}

/// How much was it really?
pub(super) async fn ask_weight(desk: &mut Desk<'_>, person: &Person, drop_id: Id) -> store::Result<()> {
    let Some((drop, bank)) = handed(desk, person, drop_id).await? else { return Ok(()) };
    let voice = desk.voice(person);
    desk.ask(person, &Question::Giving(Waiting::CorrectedWeight { drop: drop_id })).await?;
    let args = told(desk.house, &voice, (&drop, &bank)).list("what", entered(desk, &voice, &drop));
    desk.answer(person, Letter::new(voice.say("given-correct-question", &args))).await
}

async fn handed(desk: &mut Desk<'_>, person: &Person, drop_id: Id) -> store::Result<Option<(DropOff, FoodBank)>> {
    let Some((drop, bank)) = found(desk, person, drop_id).await? else { return Ok(None) };
    if drop.state() != State::HandedOver {
        stale(desk, person).await?;
        return Ok(None);
    }
    Ok(Some((drop, bank)))
}

fn entered(desk: &Desk<'_>, voice: &Voice, drop: &DropOff) -> Vec<String> {
    amounts(desk.house, voice, &drop.handed_load())
}

/// A typed weight, or one for each crop; `false` for a wish of its own. Crops that are not named stay as they are.
pub(super) async fn weighed(desk: &mut Desk<'_>, person: &Person, (drop_id, text): (Id, &str)) -> store::Result<bool> {
    let Some((drop, bank)) = handed(desk, person, drop_id).await? else { return Ok(true) };
    let only = match drop.lines.as_slice() {
        [line] => Some(line.crop.as_str()),
        _ => None,
    };
    match answer::lines(desk, person, text, only) {
        Answer::Read(lines) => correct(desk, person, (drop, bank), lines).await?,
        Answer::Wish => return Ok(false),
        Answer::Unread(question) => {
            answer::tell_unread(desk, person, question.as_ref(), key("surplus-not-a-weight")).await?;
        }
    }
    Ok(true)
}

async fn correct(
    desk: &mut Desk<'_>,
    person: &Person,
    (drop, bank): (DropOff, FoodBank),
    lines: Vec<(String, Grams)>,
) -> store::Result<()> {
    let (voice, house) = (desk.voice(person), desk.house);
    let day = drop.window.opens_at.local_date(house.zone());
    for (crop, right) in &lines {
        let Some(line) = drop.lines.iter().find(|line| line.crop == *crop) else {
            let args = Args::new().text("crop", house.crop_name(crop, &voice)).text("bank", bank.name.clone());
            return desk.answer(person, Letter::new(voice.say("given-correct-no-crop", &args))).await;
        };
        let missing = right.less(line.handed.unwrap_or_default());
        if !stock::holds(desk, crop, (missing, day)).await? {
            let what = house.amount(crop, missing, &voice);
            let text = voice.say("surplus-not-in-cold-room", &Args::new().text("what", what));
            return desk.answer(person, Letter::new(text)).await;
        }
    }
    let Ok(next) = rule::apply(&drop, Event::Correct(lines.clone()), desk.now) else {
        return stale(desk, person).await;
    };
    desk.close_question(person).await?;
    for (crop, right) in &lines {
        let stands = drop.lines.iter().find(|line| line.crop == *crop).and_then(|line| line.handed).unwrap_or_default();
        if *right < stands {
            lessen(desk, person, (&drop, crop), stands - *right).await?;
        } else if *right > stands {
            handing_over::take_and_enter(desk, person, (&drop, &bank), (crop, *right - stands)).await?;
        }
    }
    let drop = next;
    giving::put_drop(&mut desk.tx, &drop).await?;
    let text = |desk: &Desk<'_>, voice: &Voice, text_key: &'static str| {
        let args = told(desk.house, voice, (&drop, &bank)).list("what", entered(desk, voice, &drop));
        voice.say(text_key, &args)
    };
    let letter = Letter::new(text(desk, &voice, key("given-corrected")));
    desk.answer(person, letter).await?;
    for contact in people::contacts_of_partner(&mut desk.tx, bank.id).await? {
        let letter = Letter::new(text(desk, &desk.voice(&contact), key("gift-corrected-weight")));
        desk.tell(&contact, letter).await?;
    }
    Ok(())
}

/// Takes `too_much` of a crop out of what stands entered for a drop, the newest entry first, and back into its lots.
pub(super) async fn lessen(
    desk: &mut Desk<'_>,
    person: &Person,
    (drop, crop): (&DropOff, &str),
    too_much: Grams,
) -> store::Result<()> {
    let mut entries = giving::ledger(&mut desk.tx).await?;
    entries.retain(|entry| entry.drop_id == Some(drop.id) && entry.crop == crop);
    let mut ledger = Ledger::of(entries.iter().map(Given::as_entry).collect());
    let movement =
        Movement { kind: MoveKind::Given, subject: Some(drop.id), person_id: Some(person.id), now: desk.now };
    let mut missing = too_much;
    for entry in entries.iter().rev().filter(|entry| entry.corrects.is_none() && entry.grams.is_positive()) {
        let stands = ledger.stands(entry.id);
        let part = stands.at_most(missing);
        let id = desk.new_id();
        if !part.is_positive() || ledger.correct(entry.id, stands - part, id) != Correction::Entered {
            continue;
        }
        missing -= part;
        let correction = Given {
            id,
            at: desk.now,
            grams: -part,
            value: value_lessened(&entries, entry, stands - part),
            corrects: Some(entry.id),
            ..entry.clone()
        };
        giving::enter(&mut desk.tx, &correction, Some(person.id)).await?;
        cold_room::take_from_lot(&mut desk.tx, entry.lot_id, -part, &movement).await?;
    }
    Ok(())
}

/// What a correction takes off an entry's value when `right` of its weight stands: so that what stands is worth its part of
/// what was entered, to the cent, whatever the price is today.
fn value_lessened(entries: &[Given], entry: &Given, right: Grams) -> Option<Cents> {
    let entered = entry.value?;
    let before: Cents = entries
        .iter()
        .filter(|one| one.id == entry.id || one.corrects == Some(entry.id))
        .filter_map(|one| one.value)
        .sum();
    let (value, right, weight) = (i128::from(entered.get()), i128::from(right.get()), i128::from(entry.grams.get()));
    let after = (2 * value * right + weight) / (2 * weight);
    Some(Cents::new(i64::try_from(after).unwrap_or(i64::MAX) - before.get()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use scheduler::clock::UtcSeconds;

    fn entry(id: i64, (grams, cents): (i64, i64), corrects: Option<i64>) -> Given {
        Given {
            id: Id::new(id),
            at: UtcSeconds::new(0),
            day: "2026-06-05".parse().expect("a date"),
            partner_id: Id::new(1),
            partner: "Harbour Table".to_owned(),
            drop_id: Some(Id::new(2)),
            lot_id: Id::new(3),
            crop: "oyster".to_owned(),
            grams: Grams::new(grams),
            value: Some(Cents::new(cents)),
            corrects: corrects.map(Id::new),
        }
    }

    /// 1,000 g at 10.01: a third of it stands for 3.34, and when nothing stands nothing is left of the value.
    #[test]
    fn what_stands_keeps_its_part_of_the_value() {
        let first = entry(10, (1000, 1001), None);
        let to_third = value_lessened(std::slice::from_ref(&first), &first, Grams::new(334));
        assert_eq!(to_third, Some(Cents::new(334 - 1001)));
        let both = [first.clone(), entry(11, (-666, 334 - 1001), Some(10)), entry(12, (500, 999), None)];
        assert_eq!(value_lessened(&both, &first, Grams::ZERO), Some(Cents::new(-334)));
        assert_eq!(value_lessened(&both, &Given { value: None, ..first }, Grams::ZERO), None);
    }
}
