//! The forecast's speed: 1,000 flushes × 10,000 draws × 60 days, and its growth up to 100,000 flushes. Run
//! `scheduler/benches/harvest.sh` to have the same draws made by vectorised NumPy beside it and the ratio printed.

use scheduler::clock::LocalDate;
use scheduler::harvest::batch::{FlushFacts, Start};
use scheduler::harvest::forecast::{Request, forecast};
use scheduler::harvest::learn::learn;
use scheduler::harvest::prior::built_in;
use scheduler::id::Id;
use scheduler::quantity::Grams;
use std::time::Instant;

const DAYS: usize = 60;

fn flushes(count: usize, today: LocalDate) -> Vec<FlushFacts> {
    let crops = ["shiitake".parse().expect("a key"), "oyster".parse().expect("a key")];
    (0..count as i64)
        .map(|i| {
            let ago = i % 15;
            let begun_on = today - chrono::Duration::days(ago);
            let is_picking = ago > 12;
            FlushFacts {
                id: Id::new(i + 1),
                batch: Id::new(i + 1),
                crop: crops[(i % 2) as usize],
                number: (i / 2 % 3) as u8 + 1,
                room: Id::new(i % 8),
                units: 40,
                lost_units: 0,
                dry_grams_per_unit: Grams::new(900),
                start: Start::Begun(begun_on),
                pins_seen_on: (ago > 7 && i % 3 == 0).then(|| begun_on + chrono::Duration::days(6)),
                picked: if is_picking {
                    vec![(today - chrono::Duration::days(1), Grams::new(2_000))]
                } else {
                    Vec::new()
                },
                closed: false,
                room_temperature_c: None,
            }
        })
        .collect()
}

fn seconds(count: usize, draws: usize, rounds: usize) -> f64 {
    let today: LocalDate = "2027-03-08".parse().expect("a date");
    let (priors, flushes) = (built_in(), flushes(count, today));
    let learned = learn(&priors, &[], today);
    let mut best = f64::INFINITY;
    for seed in 0..rounds as u64 {
        let begun = Instant::now();
        let drawn = forecast(&Request { flushes: &flushes, learned: &learned, today, days: DAYS, draws, seed });
        best = best.min(begun.elapsed().as_secs_f64());
        assert!(drawn.daily(0, draws - 1).iter().sum::<f32>() > 0.0);
    }
    best
}

fn main() {
    // `cargo test` also runs benches; then once and small is enough.
    if std::env::args().any(|argument| argument == "--test") {
        seconds(10, 100, 1);
        return;
    }
    println!("forecast_1000_flushes_10000_draws_60_days_seconds {:.4}", seconds(1_000, 10_000, 5));
    for count in [100, 1_000, 10_000, 100_000] {
        let took = seconds(count, 1_000, 2);
        println!(
            "growth flushes {count} draws 1000 seconds {took:.4} nanoseconds_per_flush_draw {:.1}",
            took * 1e6 / count as f64
        );
    }
}
