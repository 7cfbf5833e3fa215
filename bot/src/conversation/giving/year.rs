//! The year's sheets: kilograms by food bank and month with meals, and the record for a tax adviser. Rule: a record, no
//! advice; the deduction's arithmetic is shown only where the family set a cost basis, and is for an adviser to judge.

use super::super::letter::{File, FileKind};
use super::super::{Button, Desk, Letter, table};
use super::Ask;
use super::record::{Row, money, rows, thousandths};
use crate::intent::Intent;
use crate::pictures::{GivenRow, GivenSheet};
use crate::wording::{Args, DateForm, Voice, key};
use chrono::Datelike;
use scheduler::clock::LocalDate;
use scheduler::money::Cents;
use scheduler::people::Person;
use scheduler::quantity::Grams;
use scheduler::store;
use scheduler::store::giving::{self, Given};
use scheduler::surplus::ledger::{Ledger, enhanced_deduction, meals};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Years offered.
const YEARS_SHOWN: usize = 3;

/// As what the year is wanted.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum YearForm {
    /// A PDF to print.
    Sheet,
    /// CSV: one file by month, one with every entry.
    Table,
}

/// One row of buttons for each of the last years in which something was given.
pub(super) fn keys(voice: &Voice, entries: &[Given]) -> Vec<Vec<Button>> {
    let mut years: Vec<i32> = entries.iter().map(|entry| entry.day.year()).collect();
    years.sort_unstable_by(|one, other| other.cmp(one));
    years.dedup();
    let row = |year: i32| {
        let args = || Args::new().text("year", year.to_string());
        vec![
            Button::new(
                voice.plain("button-year-sheet", &args()),
                Intent::Giving(Ask::GivenYear { year, form: YearForm::Sheet }),
            ),
            Button::new(
                voice.plain("button-year-table", &args()),
                Intent::Giving(Ask::GivenYear { year, form: YearForm::Table }),
            ),
        ]
    };
    years.into_iter().take(YEARS_SHOWN).map(row).collect()
}

/// Brings the year's files; the card they were asked from stays as it is.
pub(super) async fn send(desk: &mut Desk<'_>, person: &Person, (year, form): (i32, YearForm)) -> store::Result<()> {
    let voice = desk.voice(person);
    let entries = of_year(desk, year).await?;
    if entries.is_empty() {
        return desk.answer(person, Letter::new(voice.say("given-nothing", &Args::new()))).await;
    }
    let args = || Args::new().text("year", year.to_string());
    let files = match form {
        YearForm::Sheet => {
            let sheet = sheet(desk, &voice, (year, &entries)).pdf(desk.house.config.farm.paper, &voice);
            vec![(voice.say("given-year-sheet", &args()), format!("given-{year}.pdf"), sheet)]
        }
        YearForm::Table => vec![
            (voice.say("given-year-months", &args()), format!("given-{year}.csv"), months(&voice, year, &entries)),
            (
                voice.say("given-year-entries", &args()),
                format!("given-{year}-entries.csv"),
                table::csv(rows(desk, &voice, &entries)),
            ),
        ],
    };
    for (caption, name, bytes) in files {
        let caption = format!("{caption}\n{}", voice.say("given-caution", &Args::new()));
        desk.hand(person, Letter::new(caption).with_file(File { name, bytes, kind: FileKind::Document })).await?;
    }
    Ok(())
}

async fn of_year(desk: &mut Desk<'_>, year: i32) -> store::Result<Vec<Given>> {
    let mut entries = giving::ledger(&mut desk.tx).await?;
    entries.retain(|entry| entry.day.year() == year);
    Ok(entries)
}

/// By food bank: its name, and the weight of each month.
fn by_month(entries: &[Given]) -> Vec<(String, [Grams; 12])> {
    let names: BTreeMap<_, _> = entries.iter().map(|entry| (entry.partner_id, entry.partner.clone())).collect();
    let ledger = Ledger::of(entries.iter().map(Given::as_entry).collect());
    let mut sums: BTreeMap<_, [Grams; 12]> = BTreeMap::new();
    for ((partner, (_, month)), weight) in ledger.given_by_month() {
        sums.entry(partner).or_default()[month as usize - 1] += weight;
    }
    sums.into_iter().map(|(partner, months)| (names[&partner].clone(), months)).collect()
}

/// Kilograms by food bank and month, with a last row for all.
fn months(voice: &Voice, year: i32, entries: &[Given]) -> Vec<u8> {
    let kilograms = |grams: Grams| thousandths(i128::from(grams.get()));
    let mut heading = vec![voice.plain("given-column-bank", &Args::new())];
    heading.extend((1..=12).map(|month| format!("{year}-{month:02} kg")));
    heading.push(voice.plain("given-column-year-kilograms", &Args::new()));
    heading.push(voice.plain("given-column-meals", &Args::new()));
    let mut rows = vec![heading];
    let banks = by_month(entries);
    let all = std::array::from_fn(|month| banks.iter().map(|(_, months)| months[month]).sum());
    for (name, months) in banks.into_iter().chain([(voice.plain("sheet-total", &Args::new()), all)]) {
        let total: Grams = months.iter().copied().sum();
        let mut row = vec![name];
        row.extend(months.map(kilograms));
        row.push(kilograms(total));
        row.push(meals(total).to_string());
        rows.push(row);
    }
    table::csv(rows)
}

/// The year on paper.
fn sheet(desk: &Desk<'_>, voice: &Voice, (year, entries): (i32, &[Given])) -> GivenSheet {
    let house = desk.house;
    let mut months = Vec::new();
    for (bank, of_month) in by_month(entries) {
        for (month, weight) in (1..).zip(of_month).filter(|(_, weight)| *weight != Grams::ZERO) {
            let first = LocalDate::from_ymd_opt(year, month, 1).expect("a month of a year that entries are of");
            months.push((bank.clone(), voice.date(first, DateForm::Month), weight));
        }
    }
    let all: Vec<Row> = entries.iter().map(|entry| Row::of(house, entry)).collect();
    let currency = |cents: Cents| money(cents, &house.config.farm.currency);
    let value: Option<Cents> = all.iter().map(|row| row.value).sum::<Option<Cents>>();
    let basis: Option<Cents> = all.iter().map(|row| row.basis).sum::<Option<Cents>>();
    let deduction = value.zip(basis).map(|(value, basis)| currency(enhanced_deduction(value, basis)));
    let rows = entries.iter().zip(&all).map(|(entry, row)| GivenRow {
        day: entry.day,
        partner: entry.partner.clone(),
        crop: house.crop_name(&entry.crop, voice),
        weight: entry.grams,
        value: row.value.map(currency).unwrap_or_default(),
        basis: row.basis.map(currency).unwrap_or_default(),
        is_correction: entry.corrects.is_some(),
    });
    let total: Grams = entries.iter().map(|entry| entry.grams).sum();
    GivenSheet {
        farm: house.config.farm.name.clone(),
        year,
        months,
        total,
        meals: meals(total),
        rows: rows.collect(),
        value: value.map(currency),
        basis: basis.map(currency),
        deduction,
    }
}

/// The heading of the entries' table.
pub(super) const COLUMNS: [&str; 9] = [
    key("given-column-day"),
    key("given-column-bank"),
    key("given-column-crop"),
    key("given-column-kilograms"),
    key("given-column-pounds"),
    key("given-column-value"),
    key("given-column-basis"),
    key("given-column-correction"),
    key("given-column-assumed"),
];
