//! Writes random allotment instances with this library's answers as JSON lines, for a comparison with a general solver; or, with
//! `speed LINES LOTS`, one large instance to a file and the time taken.
//!
//! ```text
//! cargo run --release -p scheduler --example allotment_instances -- shares 1000 > instances.jsonl
//! cargo run --release -p scheduler --example allotment_instances -- speed 10000 500 large.json
//! ```

use chrono::{Days, NaiveDate};
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64;
use scheduler::allotment::promise::{Expectation, Newsvendor, promise_level};
use scheduler::allotment::{Allotment, Claim, Lot, Terms, solve};
use scheduler::id::Id;
use scheduler::quantity::Grams;
use serde_json::{Value, json};
use std::io::Write;
use std::time::Instant;

const CROPS: [&str; 5] = ["shiitake", "oyster", "lion's mane", "chestnut", "king oyster"];

/// How large a random farm is, and which terms its claims have.
#[derive(Clone, Copy)]
struct Shape {
    lines: usize,
    lots: usize,
    crops: usize,
    days: u64,
    steps: &'static [i64],
    minimum_most: i64,
    /// Supply over demand, about.
    plenty: f64,
}

fn day(number: u64) -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, 3, 5).expect("a date") + Days::new(number)
}

fn farm(shape: Shape, seed: &mut Pcg64) -> (Vec<Lot>, Vec<Claim>) {
    let claims: Vec<Claim> = (0..shape.lines)
        .map(|number| {
            let crop = seed.random_range(0..shape.crops);
            let grams = seed.random_range(1..=40) * 250;
            let takes_swaps = shape.crops > 1 && seed.random_range(0..3) == 0;
            let swaps = if takes_swaps { vec![CROPS[(crop + 1) % shape.crops].to_owned()] } else { Vec::new() };
            let has_minimum = shape.minimum_most > 0 && seed.random_range(0..2) == 0;
            let smallest_useful = if has_minimum { seed.random_range(1..=shape.minimum_most).min(grams) } else { 0 };
            Claim {
                id: Id::new(number as i64),
                buyer: Id::new(number as i64 / 3),
                date: day(seed.random_range(0..shape.days)),
                crop: CROPS[crop].to_owned(),
                grams: Grams::new(grams),
                smallest_useful: Grams::new(smallest_useful),
                pack_step: Grams::new(shape.steps[seed.random_range(0..shape.steps.len())]),
                swaps,
                tier: 0,
                weight: seed.random_range(1..=3),
            }
        })
        .collect();
    let mean = (shape.lines as f64 * 5125.0 * shape.plenty / shape.lots as f64).max(2.0) as i64;
    let lots = (0..shape.lots)
        .map(|number| {
            let from = seed.random_range(0..shape.days);
            let keeps = seed.random_range(0..7);
            Lot {
                id: Id::new(number as i64),
                crop: CROPS[seed.random_range(0..shape.crops)].to_owned(),
                available_from: day(from),
                keeps_until: day(from + keeps),
                grams: Grams::new(seed.random_range(0..2 * mean)),
            }
        })
        .collect();
    (lots, claims)
}

fn as_json(lots: &[Lot], claims: &[Claim], allotment: &Allotment) -> Value {
    let arcs: Vec<Vec<usize>> = claims
        .iter()
        .map(|claim| {
            let usable = |lot: &Lot| {
                (lot.crop == claim.crop || claim.swaps.contains(&lot.crop))
                    && lot.available_from <= claim.date
                    && claim.date <= lot.keeps_until
            };
            (0..lots.len()).filter(|&lot| usable(&lots[lot])).collect()
        })
        .collect();
    let award = |claim: &Claim| allotment.awards.binary_search_by_key(&claim.id, |award| award.claim).ok();
    let awards: Vec<&_> =
        claims.iter().map(|claim| &allotment.awards[award(claim).expect("every claim counts")]).collect();
    json!({
        "lots": lots.iter().map(|lot| lot.grams.get()).collect::<Vec<_>>(),
        "asks": claims.iter().map(|claim| claim.grams.floor_to(claim.pack_step).get()).collect::<Vec<_>>(),
        "minimums": claims.iter().map(|claim| claim.smallest_useful.get()).collect::<Vec<_>>(),
        "steps": claims.iter().map(|claim| claim.pack_step.get()).collect::<Vec<_>>(),
        "weights": claims.iter().map(|claim| claim.weight).collect::<Vec<_>>(),
        "arcs": arcs,
        "has_swaps": claims.iter().any(|claim| !claim.swaps.is_empty()),
        "shares": awards.iter().map(|award| *award.share.numer() as f64 / *award.share.denom() as f64).collect::<Vec<_>>(),
        "given": awards.iter().map(|award| award.given.get()).collect::<Vec<_>>(),
    })
}

/// The most claims that can be served together when every share is max-min fair among those served and none is below its
/// minimum, found by trying every set of them.
fn most_served_fairly(lots: &[Lot], claims: &[Claim]) -> u32 {
    let is_useful = |set: u32| {
        let members = (0..claims.len()).filter(|member| set >> member & 1 == 1);
        let chosen: Vec<Claim> =
            members.map(|member| Claim { smallest_useful: Grams::ZERO, ..claims[member].clone() }).collect();
        let allotment = solve(lots, &chosen, &Terms::default());
        let needed = |id: Id| {
            let claim = claims.iter().find(|claim| claim.id == id).expect("one of the claims");
            i128::from(claim.smallest_useful.get().max(1))
        };
        allotment.awards.iter().all(|award| award.share.floor().to_integer() >= needed(award.claim))
    };
    let mut sets: Vec<u32> = (0..1 << claims.len()).collect();
    sets.sort_by_key(|set| std::cmp::Reverse(set.count_ones()));
    sets.into_iter().find(|&set| is_useful(set)).map_or(0, u32::count_ones)
}

/// One small farm a line. `kind`: `shares` (grams, no minimums), `packs`, `minimums` (several crops and days) or `single`
/// (minimums, one crop and day, equal weights).
fn write_instances(kind: &str, count: usize) {
    let mut seed = Pcg64::seed_from_u64(4);
    let mut out = std::io::BufWriter::new(std::io::stdout().lock());
    for number in 0..count {
        let lines = seed.random_range(2..=if kind == "minimums" { 10 } else { 14 });
        let mut shape = Shape {
            lines,
            lots: seed.random_range(1..=10),
            crops: seed.random_range(1..=3),
            days: seed.random_range(1..=6),
            steps: if kind == "packs" { &[250] } else { &[1] },
            minimum_most: if matches!(kind, "minimums" | "single") { 4000 } else { 0 },
            plenty: seed.random_range(0.2..1.1),
        };
        if kind == "single" {
            (shape.lots, shape.crops, shape.days) = (1, 1, 1);
        }
        let (lots, mut claims) = farm(shape, &mut seed);
        if kind == "single" {
            claims.iter_mut().for_each(|claim| claim.weight = 1);
        }
        let allotment = solve(&lots, &claims, &Terms { rotation: number as u64, ..Terms::default() });
        let mut farm = as_json(&lots, &claims, &allotment);
        if kind == "minimums" {
            farm["most_served_fairly"] = json!(most_served_fairly(&lots, &claims));
        }
        writeln!(out, "{farm}").expect("standard output takes a line");
    }
}

/// Farms' costs and beliefs, and what to stock and expect by them.
fn write_newsvendors(count: usize) {
    let mut seed = Pcg64::seed_from_u64(12);
    let mut out = std::io::BufWriter::new(std::io::stdout().lock());
    for _ in 0..count {
        let mean = seed.random_range(100.0..50_000.0);
        let case = Newsvendor {
            mean,
            standard_deviation: mean * seed.random_range(0.02..0.5),
            under: seed.random_range(0.01..40.0),
            over: seed.random_range(0.01..40.0),
        };
        let best = case.best().expect("usable costs");
        let chosen = case.expect(mean * seed.random_range(0.5..1.5)).expect("a usable belief");
        let told = |found: Expectation| {
            json!([found.quantity, found.lost, found.sales, found.left, found.profit, found.in_stock])
        };
        let line = json!({
            "mean": mean, "sd": case.standard_deviation, "under": case.under, "over": case.over,
            "level": promise_level(case.under, case.over), "best": told(best), "chosen": told(chosen),
        });
        writeln!(out, "{line}").expect("standard output takes a line");
    }
}

fn measure_speed(lines: usize, lots: usize, file: Option<&String>) {
    let shape = Shape { lines, lots, crops: 5, days: 12, steps: &[1, 100, 250], minimum_most: 0, plenty: 0.7 };
    let (lots, claims) = farm(shape, &mut Pcg64::seed_from_u64(10));
    let mut times: Vec<f64> = Vec::new();
    let mut last = None;
    for _ in 0..5 {
        let start = Instant::now();
        last = Some(solve(&lots, &claims, &Terms::default()));
        times.push(start.elapsed().as_secs_f64());
    }
    times.sort_by(f64::total_cmp);
    let allotment = last.expect("solved five times");
    let given: i64 = allotment.awards.iter().map(|award| award.given.get()).sum();
    println!(
        "{}",
        json!({"lines": lines, "lots": lots.len(), "median_seconds": times[2], "given": given, "drawn": allotment.drawn.len()})
    );
    if let Some(file) = file {
        std::fs::write(file, as_json(&lots, &claims, &allotment).to_string()).expect("the file can be written");
    }
}

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let number = |at: usize| arguments.get(at).and_then(|text| text.parse().ok());
    match (arguments.first().map(String::as_str), number(1)) {
        (Some("speed"), Some(lines)) => measure_speed(lines, number(2).unwrap_or(500), arguments.get(3)),
        (Some(kind @ ("shares" | "packs" | "minimums" | "single")), Some(count)) => write_instances(kind, count),
        (Some("newsvendor"), Some(count)) => write_newsvendors(count),
        _ => eprintln!(
            "usage: allotment_instances shares|packs|minimums|single|newsvendor COUNT, or speed LINES LOTS [FILE]"
        ),
    }
}
