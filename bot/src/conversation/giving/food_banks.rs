//! The food banks the farm knows: added and changed in chat, one question at a time.

use super::super::joining;
use super::super::{Button, Desk, Letter, pages};
use super::hours::{self, Misread};
use super::{Ask, Detail, Waiting, button, regular as regular_text, stale};
use crate::intent::{Intent, Waiting as Question, answer};
use crate::wording::{Args, Voice, key};
use scheduler::clock::wall_time;
use scheduler::farm::giving::food_banks::{self, Change};
use scheduler::farm::giving::regular;
use scheduler::id::Id;
use scheduler::people::Person;
use scheduler::store::giving::{self, FoodBank};
use scheduler::store::{self, people};
use scheduler::surplus::opening::HoursRefusal;

/// Food banks on one page.
const PAGE: usize = 12;
const NAME_LENGTH_MAX: usize = 60;
const ADDRESS_LENGTH_MAX: usize = 200;
/// A drive of more than ten hours is a typing slip.
const MINUTES_MAX: i64 = 600;

/// The list, with a button for each.
pub(super) async fn list(desk: &mut Desk<'_>, person: &Person, page: usize) -> store::Result<()> {
    let voice = desk.voice(person);
    let banks = giving::food_banks(&mut desk.tx).await?;
    let mut lines = vec![voice.say("banks-heading", &Args::new())];
    if banks.is_empty() {
        lines.push(voice.say("banks-none", &Args::new()));
    }
    let mut letter = Letter::new("");
    let page = pages::page(&voice, &banks, (page, PAGE), |page| Intent::Giving(Ask::BanksPage { page }));
    for bank in page.items {
        let args = Args::new().text("bank", bank.name.clone()).text("address", bank.address.clone());
        lines.push(voice.say("banks-line", &args));
        letter = letter.row([Button::new(bank.name.clone(), Intent::Giving(Ask::Bank { bank: bank.id }))]);
    }
    lines.extend(page.line);
    letter.html = lines.join("\n");
    let letter = letter.row(page.row).row([button(&voice, key("button-new-bank"), Ask::NewBank)]);
    desk.answer(person, letter).await
}

/// Asks what a new food bank is called.
pub(super) async fn ask_name(desk: &mut Desk<'_>, person: &Person) -> store::Result<()> {
    desk.ask(person, &Question::Giving(Waiting::BankName)).await?;
    let letter = Letter::new(desk.voice(person).say("bank-name-question", &Args::new()));
    desk.answer(person, letter).await
}

/// A new food bank's name.
pub(super) async fn named(desk: &mut Desk<'_>, person: &Person, text: &str) -> store::Result<()> {
    let voice = desk.voice(person);
    let name = text.trim();
    if name.is_empty() || name.chars().count() > NAME_LENGTH_MAX {
        let letter = Letter::new(voice.say("name-too-long", &Args::new().count("most", NAME_LENGTH_MAX as i64)));
        return desk.answer(person, letter).await;
    }
    let Some(bank) = food_banks::add(&mut desk.farm(), name).await? else {
        let letter = Letter::new(voice.say("bank-name-taken", &Args::new().text("bank", name)));
        return desk.answer(person, letter).await;
    };
    ask_detail(desk, person, (bank.id, Detail::Address, true)).await
}

fn question(detail: Detail) -> &'static str {
    match detail {
        Detail::Address => key("bank-address-question"),
        Detail::Minutes => key("bank-minutes-question"),
        Detail::Hours => key("bank-hours-question"),
        Detail::Weights => key("bank-weights-question"),
        Detail::ClosedDay => key("bank-closed-question"),
    }
}

/// Asks for one detail.
pub(super) async fn ask_detail(
    desk: &mut Desk<'_>,
    person: &Person,
    (bank_id, detail, is_new): (Id, Detail, bool),
) -> store::Result<()> {
    let Some(bank) = giving::food_bank(&mut desk.tx, bank_id).await? else { return stale(desk, person).await };
    desk.ask(person, &Question::Giving(Waiting::Detail { bank: bank_id, detail, is_new })).await?;
    let letter = Letter::new(desk.voice(person).say(question(detail), &Args::new().text("bank", bank.name)));
    desk.answer(person, letter).await
}

/// A typed detail.
pub(super) async fn told(
    desk: &mut Desk<'_>,
    person: &Person,
    (bank_id, detail, is_new): (Id, Detail, bool),
    text: &str,
) -> store::Result<()> {
    let voice = desk.voice(person);
    let change = match meant(desk, person, detail, text) {
        Ok(change) => change,
        Err(refusal) => return desk.answer(person, Letter::new(refusal)).await,
    };
    let changed = food_banks::change(&mut desk.farm(), bank_id, change).await?;
    let Some(bank) = changed else { return stale(desk, person).await };
    desk.close_question(person).await?;
    let next = match detail {
        Detail::Address => Some(Detail::Minutes),
        Detail::Minutes => Some(Detail::Hours),
        Detail::Hours => Some(Detail::Weights),
        Detail::Weights | Detail::ClosedDay => None,
    };
    match next.filter(|_| is_new) {
        Some(next) => ask_detail(desk, person, (bank_id, next, true)).await,
        None => {
            let letter = card(desk, &voice, &bank).await?;
            desk.answer(person, letter).await
        }
    }
}

/// What was typed as a change of the food bank; a refusal otherwise.
fn meant(desk: &Desk<'_>, person: &Person, detail: Detail, text: &str) -> Result<Change, String> {
    let voice = desk.voice(person);
    match detail {
        Detail::Address | Detail::ClosedDay => {
            let address = text.trim();
            if address.is_empty() || address.chars().count() > ADDRESS_LENGTH_MAX {
                return Err(voice.say("bank-address-long", &Args::new().count("most", ADDRESS_LENGTH_MAX as i64)));
            }
            Ok(Change::Address(address.to_owned()))
        }
        Detail::Minutes => {
            let digits: String = text.trim().chars().take_while(char::is_ascii_digit).collect();
            let minutes = digits.parse().ok().filter(|minutes| (0..=MINUTES_MAX).contains(minutes));
            let most = Args::new().count("most", MINUTES_MAX);
            minutes.map(Change::TravelMinutes).ok_or_else(|| voice.say("bank-minutes-wrong", &most))
        }
        Detail::Hours => hours::read(text).map(Change::Hours).map_err(|misread| refusal(&voice, misread)),
        Detail::Weights => {
            let both = answer::range(desk, person, text).filter(|(least, greatest)| least <= greatest);
            let (least, greatest) = both.ok_or_else(|| voice.say("bank-weights-wrong", &Args::new()))?;
            Ok(Change::Weights { least, greatest })
        }
    }
}

fn refusal(voice: &Voice, misread: Misread) -> String {
    match misread {
        Misread::Refused(HoursRefusal::CrossesMidnight { opens, closes }) => {
            let args = Args::new().wall_time("opens", wall_time(opens));
            voice.say("hours-cross-midnight", &args.wall_time("closes", wall_time(closes)))
        }
        Misread::Refused(HoursRefusal::Empty) => voice.say("hours-empty", &Args::new()),
        Misread::Refused(HoursRefusal::Overlap) => voice.say("hours-overlap", &Args::new()),
        Misread::NotHours | Misread::Refused(HoursRefusal::PastMidnight { .. }) => {
            voice.say("hours-not-read", &Args::new())
        }
    }
}

/// Shows a food bank.
pub(super) async fn show(desk: &mut Desk<'_>, person: &Person, bank_id: Id) -> store::Result<()> {
    let Some(bank) = giving::food_bank(&mut desk.tx, bank_id).await? else { return stale(desk, person).await };
    let voice = desk.voice(person);
    let letter = card(desk, &voice, &bank).await?;
    desk.answer(person, letter).await
}

/// Changes a food bank, and shows it as it is then.
pub(super) async fn change(desk: &mut Desk<'_>, person: &Person, (bank_id, change): (Id, Change)) -> store::Result<()> {
    let Some(bank) = food_banks::change(&mut desk.farm(), bank_id, change).await? else {
        return stale(desk, person).await;
    };
    let voice = desk.voice(person);
    let letter = card(desk, &voice, &bank).await?;
    desk.answer(person, letter).await
}

/// Takes a food bank off the list, once its coming drops are called off.
pub(super) async fn remove(desk: &mut Desk<'_>, person: &Person, (bank_id, sure): (Id, bool)) -> store::Result<()> {
    let Some(bank) = giving::food_bank(&mut desk.tx, bank_id).await? else { return stale(desk, person).await };
    let voice = desk.voice(person);
    let args = Args::new().text("bank", bank.name.clone());
    if food_banks::has_drops(&mut desk.farm(), bank_id).await? {
        return desk.answer(person, Letter::new(voice.say("bank-has-drops", &args))).await;
    }
    if !sure {
        let letter = Letter::new(voice.say("bank-remove-question", &args)).row([
            button(&voice, key("button-yes"), Ask::RemoveBank { bank: bank_id, sure: true }),
            button(&voice, key("button-no"), Ask::Bank { bank: bank_id }),
        ]);
        return desk.answer(person, letter).await;
    }
    for contact in food_banks::remove(&mut desk.farm(), bank_id).await? {
        joining::give_up_place(desk, &contact).await?;
    }
    desk.answer(person, Letter::new(voice.say("bank-removed", &args))).await
}

async fn card(desk: &mut Desk<'_>, voice: &Voice, bank: &FoodBank) -> store::Result<Letter> {
    let house = desk.house;
    let contacts = people::contacts_of_partner(&mut desk.tx, bank.id).await?;
    let args = Args::new().text("bank", bank.name.clone()).text("address", bank.address.clone());
    let mut lines = vec![voice.say("bank-card", &args.count("minutes", bank.travel_minutes))];
    for (day, span) in &bank.weekly {
        // Any week has the day; this one begins on a Monday.
        let monday = scheduler::clock::monday_of(desk.today());
        let date = monday + chrono::Days::new(u64::from(day.num_days_from_monday()));
        let args = Args::new().date_as("day", date, crate::wording::DateForm::Weekday);
        let args = args.wall_time("opens", wall_time(span.opens()));
        lines.push(voice.say("bank-hours", &args.wall_time("closes", wall_time(span.closes()))));
    }
    lines.push(voice.say("bank-weights", &Args::new().weight("least", bank.least).weight("greatest", bank.greatest)));
    let crops: Vec<&str> = house.crops.iter().map(|crop| crop.key.as_str()).collect();
    let taken = crops.iter().filter(|crop| bank.takes(crop)).map(|crop| house.crop_name(crop, voice)).collect();
    lines.push(voice.say("bank-crops", &Args::new().list("crops", taken)));
    let store_key = if bank.has_cold_store { key("bank-cold") } else { key("bank-warm") };
    lines.push(voice.say(store_key, &Args::new()));
    if !bank.closed.is_empty() {
        let days = bank.closed.iter().map(|day| voice.date(*day, crate::wording::DateForm::Short)).collect();
        lines.push(voice.say("bank-closed", &Args::new().list("days", days)));
    }
    if !bank.full.is_empty() {
        let days = bank.full.iter().map(|day| voice.date(*day, crate::wording::DateForm::Short)).collect();
        lines.push(voice.say("bank-full", &Args::new().list("days", days)));
    }
    if bank.need > 0 {
        lines.push(voice.say("bank-need", &Args::new()));
    }
    if let Some(one) = regular::of_bank(&mut desk.farm(), bank.id).await? {
        lines.push(regular_text::line((house, desk.now), voice, &one));
    }
    let names: Vec<String> = contacts.into_iter().map(|contact| contact.name).collect();
    lines.push(if names.is_empty() {
        voice.say("bank-no-contact", &Args::new())
    } else {
        voice.say("bank-contacts", &Args::new().list("names", names))
    });
    let change = |text_key, detail| button(voice, text_key, Ask::Change { bank: bank.id, detail });
    let toggles = crops.iter().map(|crop| {
        let text_key = if bank.takes(crop) { key("button-not-this-crop") } else { key("button-this-crop") };
        let label = voice.plain(text_key, &Args::new().text("crop", house.crop_name(crop, voice)));
        let ask = Ask::ToggleCrop { bank: bank.id, crop: (*crop).to_owned() };
        Button::new(label, Intent::Giving(ask))
    });
    let need_key = if bank.need > 0 { key("button-need-as-others") } else { key("button-need-greater") };
    let cold_key = if bank.has_cold_store { key("button-no-cold-store") } else { key("button-cold-store") };
    Ok(Letter::new(lines.join("\n"))
        .row([Button::new(
            voice.plain("button-invite-contact", &Args::new()),
            Intent::Joining(joining::Ask::InvitePartner(bank.id)),
        )])
        .row([
            change(key("button-address"), Detail::Address),
            change(key("button-minutes"), Detail::Minutes),
            change(key("button-hours"), Detail::Hours),
        ])
        .row([change(key("button-weights"), Detail::Weights), change(key("button-closed-days"), Detail::ClosedDay)])
        .row(toggles)
        .row([button(voice, key("button-regular"), Ask::Regular { bank: bank.id })])
        .row([
            button(voice, cold_key, Ask::ToggleColdStore { bank: bank.id }),
            button(voice, need_key, Ask::ToggleNeed { bank: bank.id }),
        ])
        .row([button(voice, key("button-remove-bank"), Ask::RemoveBank { bank: bank.id, sure: false })]))
}
