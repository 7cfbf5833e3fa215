//! Coming drops, and the record of what was given. Rule: the record is for the family and its adviser; it is no tax or
//! legal advice, and says so.

use super::super::letter::{File, FileKind};
use super::super::{Button, Desk, Letter, table};
use super::{Ask, button, regular, told, year};
use crate::house::House;
use crate::intent::Intent;
use crate::wording::{Args, DateForm, Voice, key};
use scheduler::clock::LocalDate;
use scheduler::farm::giving::Gift;
use scheduler::id::Id;
use scheduler::money::Cents;
use scheduler::people::{Person, Role};
use scheduler::quantity::Grams;
use scheduler::store;
use scheduler::store::giving::{self, Given};
use scheduler::surplus::drop::State;
use scheduler::surplus::ledger::{Ledger, meals};
use std::collections::{BTreeMap, BTreeSet};

/// Past drops shown.
const PAST_SHOWN: usize = 5;

/// Coming drops and the last that were handed over; a food bank's contact sees its own.
pub(super) async fn drops(desk: &mut Desk<'_>, person: &Person) -> store::Result<()> {
    let voice = desk.voice(person);
    let house = desk.house;
    let is_theirs = |partner| person.role != Role::Pantry || person.partner_id == Some(partner);
    let banks = giving::food_banks(&mut desk.tx).await?;
    let mut lines = vec![voice.say("drops-heading", &Args::new())];
    let mut letter = Letter::new("");
    let (regular, keys) = regular::on_list(desk, person).await?;
    lines.extend(regular);
    letter.rows.extend(keys);
    let coming = giving::coming_drops(&mut desk.tx).await?;
    for drop in coming.into_iter().filter(|drop| is_theirs(drop.partner_id)) {
        let Some(bank) = banks.iter().find(|bank| bank.id == drop.partner_id) else { continue };
        let gift = Gift { drop, bank: bank.clone() };
        let drop = &gift.drop;
        let text_key = if drop.state() == State::Agreed { key("drop-agreed-line") } else { key("drop-proposed-line") };
        lines.push(voice.say(text_key, &told(house, &voice, &gift)));
        if person.role != Role::Pantry {
            let args = Args::new().text("bank", bank.name.clone());
            let args = args.date_as("day", drop.window.opens_at.local_date(house.zone()), DateForm::Short);
            let label = voice.plain("button-show-drop", &args);
            letter = letter.row([Button::new(label, Intent::Giving(Ask::Show { drop: drop.id }))]);
        }
    }
    if lines.len() == 1 {
        lines.push(voice.say("drops-none", &Args::new()));
    } else if person.role != Role::Pantry {
        let label = voice.plain("button-table", &Args::new());
        letter = letter.row([Button::new(label, Intent::Giving(Ask::DropTable))]);
    }
    if let Some(bank) = person.partner_id.filter(|_| person.role == Role::Pantry) {
        letter = letter.row([button(&voice, key("button-full"), Ask::Full { bank })]);
    }
    let past = giving::drops(&mut desk.tx).await?;
    let assumed: BTreeSet<Id> = past.iter().filter(|drop| drop.is_assumed).map(|drop| drop.id).collect();
    let handed = past.into_iter().rev().filter(|drop| drop.state() == State::HandedOver && is_theirs(drop.partner_id));
    for drop in handed.take(PAST_SHOWN) {
        let Some(bank) = banks.iter().find(|bank| bank.id == drop.partner_id) else { continue };
        let (handed, drop_id) = (drop.handed(), drop.id);
        let args = told(house, &voice, &Gift { drop, bank: bank.clone() }).weight("weight", handed);
        let is_assumed = assumed.contains(&drop_id);
        lines.push(if is_assumed {
            voice.say("drop-past-line-assumed", &args)
        } else {
            voice.say("drop-past-line", &args)
        });
    }
    letter.html = lines.join("\n");
    desk.answer(person, letter).await
}

/// What was given, by food bank and month, with everything in a file.
pub(super) async fn given(desk: &mut Desk<'_>, person: &Person) -> store::Result<()> {
    let voice = desk.voice(person);
    let entries = giving::ledger(&mut desk.tx).await?;
    if entries.is_empty() {
        return desk.answer(person, Letter::new(voice.say("given-nothing", &Args::new()))).await;
    }
    let names: BTreeMap<_, _> = entries.iter().map(|entry| (entry.partner_id, entry.partner.clone())).collect();
    let ledger = Ledger::of(entries.iter().map(Given::as_entry).collect());
    let mut lines = vec![voice.say("given-heading", &Args::new())];
    let mut total = Grams::ZERO;
    for ((partner, (year, month)), weight) in ledger.given_by_month() {
        total += weight;
        let first = LocalDate::from_ymd_opt(year, month, 1).expect("a month of an entry's date");
        let args = Args::new().text("bank", names[&partner].clone()).date_as("month", first, DateForm::Month);
        lines.push(voice.say("given-line", &args.weight("weight", weight).count("meals", meals(weight))));
    }
    lines.push(voice.say("given-total", &Args::new().weight("weight", total).count("meals", meals(total))));
    let assumed: Grams = entries.iter().filter(|entry| entry.is_assumed).map(|entry| entry.grams).sum();
    if assumed.is_positive() {
        lines.push(voice.say("given-assumed", &Args::new().weight("weight", assumed)));
    }
    lines.push(voice.say("given-meal-source", &Args::new()));
    let mut letter = Letter::new(lines.join("\n"));
    letter.rows = year::keys(&voice, &entries);
    let correct = button(&voice, key("button-given-correct"), Ask::CorrectGiven);
    desk.answer(person, letter.row([correct])).await?;
    let file = File {
        name: format!("{}.csv", voice.plain("given-file", &Args::new())),
        bytes: table::csv(rows(desk, &voice, &entries)),
        kind: FileKind::Document,
    };
    desk.answer(person, Letter::new(voice.say("given-caption", &Args::new())).with_file(file)).await
}

/// What an entry is worth, as far as the family has said.
pub(super) struct Row {
    /// At the farm's own price when it was given.
    pub value: Option<Cents>,
    /// By the cost basis that is configured.
    pub basis: Option<Cents>,
}

impl Row {
    pub(super) fn of(house: &House, entry: &Given) -> Row {
        let basis = house.config.rules.giving.cost_basis_cents_per_kg.get(&entry.crop);
        Row { value: entry.value, basis: basis.map(|cents| Cents::new(*cents).per_kilogram_for(entry.grams)) }
    }
}

/// Entries as rows of a table, the heading first.
pub(super) fn rows(desk: &Desk<'_>, voice: &Voice, entries: &[Given]) -> Vec<Vec<String>> {
    let mut rows = vec![year::COLUMNS.map(|text_key| voice.plain(text_key, &Args::new())).to_vec()];
    for entry in entries {
        let row = Row::of(desk.house, entry);
        let plain = |cents: Option<Cents>| cents.map_or_else(String::new, hundredths);
        rows.push(vec![
            entry.day.to_string(),
            entry.partner.clone(),
            desk.house.crop_name(&entry.crop, voice),
            thousandths(i128::from(entry.grams.get())),
            // Thousandths of a pound of 453.59237 g (NIST SP 811, appendix B), halves away from zero.
            thousandths(thousandths_of_pound(entry.grams)),
            plain(row.value),
            plain(row.basis),
            entry.corrects.map(|_| voice.plain("button-yes", &Args::new())).unwrap_or_default(),
            if entry.is_assumed { voice.plain("button-yes", &Args::new()) } else { String::new() },
        ]);
    }
    rows
}

fn thousandths_of_pound(weight: Grams) -> i128 {
    let grams = i128::from(weight.get());
    (grams * 100_000_000 + 22_679_618 * grams.signum()) / 45_359_237
}

pub(super) fn thousandths(number: i128) -> String {
    let sign = if number < 0 { "-" } else { "" };
    format!("{sign}{}.{:03}", number.abs() / 1000, number.abs() % 1000)
}

fn hundredths(cents: Cents) -> String {
    let sign = if cents.get() < 0 { "-" } else { "" };
    format!("{sign}{}.{:02}", cents.get().abs() / 100, cents.get().abs() % 100)
}

/// An amount with the currency's code, as on a sheet for an adviser.
pub(super) fn money(cents: Cents, currency: &str) -> String {
    format!("{} {currency}", hundredths(cents))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_weight_has_three_places() {
        assert_eq!([2268, 5, -40].map(thousandths), ["2.268", "0.005", "-0.040"]);
        assert_eq!([1450, 5, 0, -40].map(|cents| hundredths(Cents::new(cents))), ["14.50", "0.05", "0.00", "-0.40"]);
    }

    /// 1 lb = 453.59237 g (NIST SP 811, appendix B): 2,268 g are 5.0001 lb, a correction of it the same below zero.
    #[test]
    fn pounds_are_rounded_alike_on_both_sides_of_zero() {
        for (grams, pounds) in [(2268, 5000), (-2268, -5000), (1000, 2205), (-1000, -2205), (0, 0), (1, 2)] {
            assert_eq!(thousandths_of_pound(Grams::new(grams)), pounds, "{grams}");
        }
    }
}
