//! `pinset backtest`: how honest the forecast was on this farm's own record.

use super::FarmOptions;
use crate::cli::serve::open;
use chrono_tz::Tz;
use scheduler::clock::LocalDate;
use scheduler::farm::expected;
use scheduler::harvest::backtest::{self, History, LAST_FLUSHES, Line, Subject, Told};
use scheduler::harvest::batch::Start;
use scheduler::id::Id;
use scheduler::store::growing::{self, Event, EventKind};
use scheduler::store::{self, Tx, rooms};
use serde::Serialize;
use std::collections::BTreeMap;

/// What is printed as JSON. Amounts are grams, of a first pick days.
#[derive(Serialize)]
struct Document {
    /// First and last day on which something was recorded.
    first_day: Option<LocalDate>,
    last_day: Option<LocalDate>,
    flushes: usize,
    flushes_closed: usize,
    lines: Vec<DocumentLine>,
}

#[derive(Serialize)]
struct DocumentLine {
    crop: String,
    /// `flush_yield`, `first_pick`, or `week_1` to `week_4`.
    forecast: String,
    unit: &'static str,
    forecasts: usize,
    coverage_p10_p90: f64,
    mean_outcome: f64,
    mean_error: f64,
    crps: f64,
    crps_prior_only: f64,
    crps_last_mean: f64,
    skill_over_prior_only: Option<f64>,
    skill_over_last_mean: Option<f64>,
}

impl DocumentLine {
    fn of(line: &Line) -> DocumentLine {
        let (forecast, unit) = match line.subject {
            Subject::FlushYield => ("flush_yield".to_owned(), "g"),
            Subject::FirstPick => ("first_pick".to_owned(), "days"),
            Subject::Week(week) => (format!("week_{week}"), "g"),
        };
        DocumentLine {
            crop: line.crop.to_string(),
            forecast,
            unit,
            forecasts: line.forecasts,
            coverage_p10_p90: line.coverage,
            mean_outcome: line.mean_outcome,
            mean_error: line.mean_error,
            crps: line.crps,
            crps_prior_only: line.crps_prior_only,
            crps_last_mean: line.crps_last_mean,
            skill_over_prior_only: line.skill_over_prior(),
            skill_over_last_mean: line.skill_over_last_mean(),
        }
    }
}

pub(super) async fn run(options: &FarmOptions, as_json: bool) -> anyhow::Result<()> {
    let (house, store) = open(options).await?;
    let mut tx = store.begin_reading().await?;
    let record = histories(&mut tx, house.zone()).await?;
    let house = house.of(&mut tx).await?;
    drop(tx);
    store.close().await;
    let priors = house.crops.priors().to_vec();
    let document = tokio::task::spawn_blocking(move || judge(&priors, &record)).await?;
    if as_json {
        println!("{}", serde_json::to_string_pretty(&document)?);
    } else {
        print!("{}", write(&document));
    }
    Ok(())
}

/// Every flush with all that was ever told of it.
async fn histories(tx: &mut Tx, zone: Tz) -> store::Result<Vec<History>> {
    let batches = growing::all_batches(tx).await?;
    let flushes = growing::all_flushes(tx).await?;
    let mut of_flush: BTreeMap<Id, Vec<(LocalDate, Told)>> = BTreeMap::new();
    let record = growing::record_of_all(tx).await?;
    for flush in &flushes {
        let told = record.iter().filter(|(_, event)| event.batch_id == flush.batch_id);
        let told = told.filter_map(|(at, event)| Some((at.local_date(zone), told_of(flush.id, event)?)));
        of_flush.insert(flush.id, told.collect());
    }
    let warmth = rooms::temperatures(tx).await?;
    let of_room = |flush: &growing::Flush| {
        let batch = batches.iter().find(|batch| batch.id == flush.batch_id);
        let key = batch.map(|batch| expected::room_key(&batch.room)).unwrap_or_default();
        let said = warmth.iter().filter(move |(_, said)| expected::room_key(&said.room) == key);
        said.map(|(at, said)| (at.local_date(zone), said.on_day, said.tenths_c as f64 / 10.0)).collect()
    };
    // Dates and warmth come with the words told.
    let facts = expected::facts(&batches, &flushes, (&expected::Readings::new(), LocalDate::MIN));
    Ok(facts
        .into_iter()
        .filter_map(|mut facts| {
            let place = usize::try_from(facts.id.get() - 1).ok()?;
            let flush = flushes.get(place)?;
            let told = of_flush.remove(&flush.id)?;
            (facts.start, facts.pins_seen_on, facts.closed) = (Start::Unknown, None, false);
            facts.picked.clear();
            facts.lost_units = 0;
            Some(History { flush: facts, told, warmth: of_room(flush) })
        })
        .collect())
}

/// What an entry of the batch's record says of one of its flushes.
fn told_of(flush: Id, event: &Event) -> Option<Told> {
    let is_own = event.flush_id == Some(flush);
    let is_so = event.units > 0;
    Some(match event.kind {
        EventKind::Lost => Told::Lost(event.units),
        EventKind::Spent if is_so => Told::Spent,
        EventKind::Spent => Told::Kept,
        EventKind::Initiated if is_own && is_so => Told::Begun(event.on_day),
        EventKind::Initiated if is_own => Told::NotBegun,
        EventKind::Pins if is_own && event.units < 0 => Told::NoPins,
        EventKind::Pins if is_own => Told::Pins(event.on_day),
        EventKind::Picked if is_own => Told::Picked(event.on_day, event.grams),
        EventKind::Rested if is_own && is_so => Told::Closed,
        EventKind::Rested if is_own => Told::Reopened,
        _ => return None,
    })
}

fn judge(priors: &[scheduler::harvest::prior::CropPrior], record: &[History]) -> Document {
    let days = || record.iter().flat_map(|history| history.told.iter().map(|told| told.0));
    let ends: Vec<_> =
        record.iter().filter_map(|history| history.known_on(days().max()?.succ_opt()?)).map(|end| end.0).collect();
    Document {
        first_day: days().min(),
        last_day: days().max(),
        flushes: ends.len(),
        flushes_closed: ends.iter().filter(|flush| flush.closed).count(),
        lines: backtest::summary(&backtest::replay(priors, record)).iter().map(DocumentLine::of).collect(),
    }
}

/// The document as a table for people.
fn write(document: &Document) -> String {
    let (Some(first), Some(last)) = (document.first_day, document.last_day) else {
        return "The record is empty: no soak, opening or pick has been told yet, so there is nothing to score.\n"
            .into();
    };
    let mut text = format!(
        "Record from {first} to {last}: {} flushes begun, {} of them over.\n",
        document.flushes, document.flushes_closed
    );
    if document.lines.is_empty() {
        text += "No forecast can be scored yet: that takes a flush that is over, or a week that has passed.\n";
        return text;
    }
    text += &format!(
        "\n{:<12} {:<12} {:>5} {:>8} {:>10} {:>10} {:>10} {:>11} {:>11}\n",
        "crop", "forecast", "n", "P10-P90", "mean came", "error", "CRPS", "skill prior", "skill last"
    );
    let percent = |skill: Option<f64>| skill.map_or("-".to_owned(), |skill| format!("{:.0} %", 100.0 * skill));
    for line in &document.lines {
        let amount = |value: f64| match line.unit {
            "g" => format!("{:.2} kg", value / 1000.0),
            _ => format!("{value:.1} d"),
        };
        text += &format!(
            "{:<12} {:<12} {:>5} {:>6.0} % {:>10} {:>10} {:>10} {:>11} {:>11}\n",
            line.crop,
            line.forecast.replace('_', " "),
            line.forecasts,
            100.0 * line.coverage_p10_p90,
            amount(line.mean_outcome),
            amount(line.mean_error),
            amount(line.crps),
            percent(line.skill_over_prior_only),
            percent(line.skill_over_last_mean),
        );
    }
    text += &format!(
        "\nP10-P90: share of outcomes inside; 80 % is honest. Error: median less outcome; above zero promised too much.\n\
         CRPS: lower is better. Skill: better than the crops' table alone, and than the mean of the last {LAST_FLUSHES} flushes.\n"
    );
    text
}
