//! Dates on which a food bank is open but can take nothing, as its contact says. What was to come then goes to the next.

use super::super::{Button, Desk, Letter};
use super::{Ask, stale};
use crate::intent::Intent;
use crate::wording::{Args, DateForm, key};
use scheduler::clock::LocalDate;
use scheduler::farm::giving::food_banks;
use scheduler::id::Id;
use scheduler::people::Person;
use scheduler::store;
use scheduler::store::giving::FoodBank;

/// Open days shown as buttons.
const DAYS_SHOWN: usize = 6;

/// Asks which date; the coming open days are buttons.
pub(super) async fn ask(desk: &mut Desk<'_>, person: &Person, bank_id: Id) -> store::Result<()> {
    let Some(bank) = food_banks::own(&mut desk.farm(), person, bank_id).await? else {
        return stale(desk, person).await;
    };
    let letter = card(desk, person, &bank);
    desk.answer(person, letter).await
}

fn card(desk: &Desk<'_>, person: &Person, bank: &FoodBank) -> Letter {
    let voice = desk.voice(person);
    let hours = bank.hours();
    let open = desk.today().iter_days().take(30).filter(|day| !hours.on(*day).is_empty());
    let days: Vec<LocalDate> = open.take(DAYS_SHOWN).collect();
    let mut lines = vec![voice.say("full-question", &Args::new().text("bank", bank.name.clone()))];
    let coming: Vec<String> =
        bank.full.iter().filter(|day| **day >= desk.today()).map(|day| voice.date(*day, DateForm::Short)).collect();
    if !coming.is_empty() {
        lines.push(voice.say("bank-full", &Args::new().list("days", coming)));
    }
    let mut letter = Letter::new(lines.join("\n"));
    for pair in days.chunks(2) {
        letter = letter.row(pair.iter().map(|day| {
            let text_key = if bank.full.contains(day) { key("button-not-full-on") } else { key("button-full-on") };
            let label = voice.plain(text_key, &Args::new().date_as("day", *day, DateForm::Short));
            Button::new(label, Intent::Giving(Ask::ToggleFull { bank: bank.id, day: *day }))
        }));
    }
    letter
}

/// Full on a date, or with room again. A drop that was to come then is declined.
pub(super) async fn toggle(desk: &mut Desk<'_>, person: &Person, (bank_id, day): (Id, LocalDate)) -> store::Result<()> {
    let toggled = food_banks::toggle_full(&mut desk.farm(), person, (bank_id, day)).await?;
    let Some((bank, events)) = toggled else { return stale(desk, person).await };
    desk.happened(events);
    let letter = card(desk, person, &bank);
    desk.answer(person, letter).await
}
