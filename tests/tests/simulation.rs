//! Weeks of the farm with every fault, by seed, on both databases. `PINSET_SIM_SEED` replays one seed; `PINSET_SIM_FARMS`
//! and `PINSET_SIM_POSTGRES_FARMS` choose how many farms of four weeks are played, from the seed `PINSET_SIM_FIRST` on.

use pinset_tests::simulation::counts::{Counts, Mishap};
use pinset_tests::simulation::run::{self, Prepare, template_start};
use pinset_tests::simulation::setting::Place;
use std::sync::Arc;
use std::time::Instant;

fn number(name: &str) -> Option<u64> {
    std::env::var(name).ok().map(|text| text.parse().unwrap_or_else(|_| panic!("{name} is not a number: {text}")))
}

fn as_it_is() -> Prepare {
    Arc::new(|_| {})
}

/// Failures after which a run gives up.
const FAILURES_MAX: usize = 10;

fn play(place: &Place, (farms, threads): (u64, usize)) -> anyhow::Result<Counts> {
    let seeds = number("PINSET_SIM_SEED").map_or_else(
        || {
            let first = number("PINSET_SIM_FIRST").unwrap_or(0);
            first..first + farms
        },
        |seed| seed..seed + 1,
    );
    let begun = Instant::now();
    let (failures, counts) = run::many(place, seeds, (threads, FAILURES_MAX), &as_it_is())?;
    println!("{counts:?} in {:.1} s", begun.elapsed().as_secs_f64());
    let reports: Vec<String> = failures.iter().map(|one| one.report("simulation")).collect();
    assert!(failures.is_empty(), "{}", reports.join("\n\n"));
    Ok(counts)
}

#[test]
fn on_sqlite_no_fault_breaks_an_invariant() -> anyhow::Result<()> {
    let runtime = tokio::runtime::Runtime::new()?;
    let place = runtime.block_on(Place::sqlite(template_start()))?;
    let counts = play(&place, (number("PINSET_SIM_FARMS").unwrap_or(25), 2))?;
    if number("PINSET_SIM_SEED").is_none() {
        // A simulation in which nothing happens proves nothing.
        let Counts {
            orders,
            closed_days,
            short_lines,
            deliveries,
            claims,
            drops,
            cards_compared,
            cuts,
            weighings,
            forgotten,
            assumed,
            ..
        } = counts;
        for count in [
            orders,
            closed_days,
            short_lines,
            deliveries,
            claims,
            drops,
            cards_compared,
            cuts,
            weighings,
            forgotten,
            assumed,
        ] {
            assert!(count > 0, "{counts:?}");
        }
        let missing: Vec<Mishap> = Mishap::ALL.into_iter().filter(|one| counts.mishaps.of(*one) == 0).collect();
        assert!(missing.is_empty(), "never happened: {missing:?}");
    }
    runtime.block_on(place.close())
}

#[test]
fn one_seed_plays_the_same_weeks_every_time() -> anyhow::Result<()> {
    let runtime = tokio::runtime::Runtime::new()?;
    let counts = || {
        let place = runtime.block_on(Place::sqlite(template_start()))?;
        let counts = runtime.block_on(run::one(&place, (3, run::WEEKS), &as_it_is()))?.1;
        runtime.block_on(place.close())?;
        anyhow::Ok(counts)
    };
    let (once, again) = (counts()?, counts()?);
    assert!(once.mishaps.of(Mishap::StoppedAtCall) > 0, "a seed without faults shows little: {once:?}");
    assert_eq!(once, again);
    Ok(())
}

#[test]
fn on_postgresql_no_fault_breaks_an_invariant() -> anyhow::Result<()> {
    let Ok(server) = std::env::var("PINSET_TEST_POSTGRES") else {
        eprintln!("skipped on PostgreSQL: PINSET_TEST_POSTGRES is not set");
        return Ok(());
    };
    let runtime = tokio::runtime::Runtime::new()?;
    let place = runtime.block_on(Place::postgres(&server, template_start()))?;
    // A server answers several at a time.
    play(&place, (number("PINSET_SIM_POSTGRES_FARMS").unwrap_or(4), 4))?;
    runtime.block_on(place.close())
}
