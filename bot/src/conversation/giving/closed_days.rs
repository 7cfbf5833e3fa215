//! Dates on which a food bank is closed although it is its weekday, such as holidays.

use super::super::{Button, Desk, Letter};
use super::{Ask, Detail, Waiting, button, food_banks, stale};
use crate::intent::{Intent, Waiting as Question};
use crate::wording::{Args, DateForm, key};
use scheduler::clock::LocalDate;
use scheduler::farm::giving::food_banks::Change;
use scheduler::id::Id;
use scheduler::people::Person;
use scheduler::store;
use scheduler::store::giving;

/// Open days shown as buttons.
const DAYS_SHOWN: usize = 6;

/// Asks which date; the next open days and those already closed are buttons.
pub(super) async fn ask(desk: &mut Desk<'_>, person: &Person, bank_id: Id) -> store::Result<()> {
    let Some(bank) = giving::food_bank(&mut desk.tx, bank_id).await? else { return stale(desk, person).await };
    let voice = desk.voice(person);
    let today = desk.today();
    let is_weekday = |day: &LocalDate| {
        use chrono::Datelike;
        bank.weekly.iter().any(|(weekday, _)| *weekday == day.weekday())
    };
    let days: Vec<LocalDate> = today.iter_days().take(30).filter(is_weekday).take(DAYS_SHOWN).collect();
    let mut letter = Letter::new(voice.say("bank-closed-question", &Args::new().text("bank", bank.name.clone())));
    for pair in days.chunks(2) {
        letter = letter.row(pair.iter().map(|day| {
            let text_key = if bank.closed.contains(day) { key("button-open-on") } else { key("button-closed-on") };
            let label = voice.plain(text_key, &Args::new().date_as("day", *day, DateForm::Short));
            Button::new(label, Intent::Giving(Ask::ToggleClosed { bank: bank_id, day: *day }))
        }));
    }
    let letter = letter.row([button(&voice, key("button-back"), Ask::Bank { bank: bank_id })]);
    let waiting = Waiting::Detail { bank: bank_id, detail: Detail::ClosedDay, is_new: false };
    desk.ask(person, &Question::Giving(waiting)).await?;
    desk.answer(person, letter).await
}

/// Closes on a date, or opens after all.
pub(super) async fn toggle(desk: &mut Desk<'_>, person: &Person, (bank_id, day): (Id, LocalDate)) -> store::Result<()> {
    food_banks::change(desk, person, (bank_id, Change::ToggleClosed(day))).await
}

/// A typed date, as 2026-12-24.
pub(super) async fn typed(desk: &mut Desk<'_>, person: &Person, (bank_id, text): (Id, &str)) -> store::Result<()> {
    let day = text.trim().parse::<LocalDate>().ok().filter(|day| *day >= desk.today());
    let Some(day) = day else {
        let letter = Letter::new(desk.voice(person).say("bank-closed-wrong", &Args::new()));
        return desk.answer(person, letter).await;
    };
    desk.close_question(person).await?;
    toggle(desk, person, (bank_id, day)).await
}
