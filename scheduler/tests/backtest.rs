//! The backtest on a simulated farm: it never looks ahead, and finds an honest forecast honest.

#![allow(clippy::unwrap_used, reason = "a test stops where a step fails")]

#[path = "harvest_honesty/farm.rs"]
mod farm;

use chrono::Duration;
use farm::{Truth, WEEKS, farm, first_day};
use scheduler::clock::LocalDate;
use scheduler::harvest::backtest::{History, Score, Subject, Told, replay, summary};
use scheduler::harvest::batch::{FlushFacts, Start};
use scheduler::harvest::prior::built_in;

fn history(truth: &Truth) -> History {
    let mut told = vec![(truth.begun_on, Told::Begun(truth.begun_on))];
    told.push((truth.begun_on, Told::Lost(i64::from(truth.facts.lost_units))));
    told.extend(truth.pins_on.map(|day| (day, Told::Pins(day))));
    told.extend(truth.picks.iter().map(|&(day, weight)| (day, Told::Picked(day, weight))));
    told.push((truth.closed_on, Told::Closed));
    told.sort_by_key(|one| one.0);
    History {
        flush: FlushFacts { start: Start::Unknown, lost_units: 0, ..truth.facts.clone() },
        told,
        warmth: Vec::new(),
    }
}

fn record(weeks: i64) -> Vec<History> {
    record_of(4_000, weeks)
}

fn record_of(seed: u64, weeks: i64) -> Vec<History> {
    assert!(weeks <= WEEKS);
    let until = first_day() + Duration::days(weeks * 7);
    farm(seed).iter().filter(|truth| truth.begun_on < until).map(history).collect()
}

fn told_before(record: &[History], day: LocalDate) -> Vec<History> {
    let before = |history: &History| History {
        flush: history.flush.clone(),
        told: history.told.iter().copied().filter(|told| told.0 < day).collect(),
        warmth: Vec::new(),
    };
    record.iter().map(before).collect()
}

#[test]
fn pins_that_were_taken_back_are_not_known() {
    let mut one =
        record(8).into_iter().find(|one| one.told.iter().any(|told| matches!(told.1, Told::Pins(_)))).unwrap();
    let place = one.told.iter().position(|told| matches!(told.1, Told::Pins(_))).unwrap();
    let on = one.told[place].0;
    let after = on + Duration::days(1);
    assert!(one.known_on(after).unwrap().0.pins_seen_on.is_some());
    one.told.insert(place + 1, (on, Told::NoPins));
    assert_eq!(one.known_on(after).unwrap().0.pins_seen_on, None);
}

/// Scores made with the record cut off on a day are those made with the whole record, to the last bit.
#[test]
fn no_score_knows_what_came_later() {
    let record = record(30);
    let cut = first_day() + Duration::days(24 * 7);
    let whole = replay(&built_in(), &record);
    let early = replay(&built_in(), &told_before(&record, cut));
    assert!(early.len() > 200);
    // A first pick is scored once its flush is over.
    let over = |score: &&Score| score.subject != Subject::FirstPick && score.settled_on < cut;
    let settled: Vec<&Score> = whole.iter().filter(over).collect();
    assert_eq!(early.iter().filter(over).collect::<Vec<_>>(), settled);
    assert!(early.iter().all(|score| whole.contains(score)));
}

#[test]
fn an_honest_forecast_is_found_honest() {
    let scores: Vec<Score> = (4_000..4_004).flat_map(|seed| replay(&built_in(), &record_of(seed, 52))).collect();
    let lines = summary(&scores);
    assert_eq!(lines.len(), 12, "two crops; yield, first pick, four weeks");
    for line in &lines {
        // Four farms' years, forecasts of a farm leaning on each other: wide limits that still catch a forecast twice
        // too sure.
        assert!((0.65..=0.95).contains(&line.coverage), "{line:?}");
        if line.subject == Subject::Week(1) {
            assert!(line.skill_over_last_mean().unwrap() > 0.15, "{line:?}");
            assert!(line.skill_over_prior().unwrap() > 0.0, "{line:?}");
        }
    }
}

#[test]
fn a_word_taken_back_is_not_believed() {
    let day = |days| first_day() + Duration::days(days);
    let mut history = record(1).remove(0);
    let weight = scheduler::quantity::Grams::new(500);
    history.told = vec![
        (day(0), Told::Begun(day(0))),
        (day(9), Told::Picked(day(9), weight)),
        (day(9), Told::Picked(day(9), -weight)),
        (day(10), Told::Closed),
        (day(10), Told::Reopened),
        (day(11), Told::Lost(3)),
        (day(12), Told::Closed),
        (day(13), Told::Lost(4)),
        (day(14), Told::Spent),
        (day(15), Told::Kept),
        (day(16), Told::NotBegun),
    ];
    assert!(history.known_on(day(0)).is_none());
    let at = |days| history.known_on(day(days)).unwrap();
    assert!(at(10).0.picked.is_empty() && !at(11).0.closed);
    assert_eq!((at(12).0.lost_units, at(14).0.lost_units), (3, 3));
    assert_eq!((at(14).1, at(15).1, at(16).1), (false, true, false));
    assert!(history.known_on(day(17)).is_none());
}
