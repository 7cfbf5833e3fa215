//! Weeks of the farm with every fault, by seed, on both databases. `PINSET_SIM_SEED` replays one seed; `PINSET_SIM_FARMS`
//! and `PINSET_SIM_POSTGRES_FARMS` choose how many farms of four weeks are played, from the seed `PINSET_SIM_FIRST` on.

use pinset_tests::simulation::Counts;
use pinset_tests::simulation::run::{self, Failure, Prepare, template_start};
use pinset_tests::simulation::setting::Place;
use std::sync::Arc;
use std::time::Instant;

fn number(name: &str) -> Option<u64> {
    std::env::var(name).ok().map(|text| text.parse().unwrap_or_else(|_| panic!("{name} is not a number: {text}")))
}

fn as_it_is() -> Prepare {
    Arc::new(|_| {})
}

fn play(place: &Place, (farms, threads): (u64, usize)) -> anyhow::Result<Counts> {
    let seeds = number("PINSET_SIM_SEED").map_or_else(
        || {
            let first = number("PINSET_SIM_FIRST").unwrap_or(0);
            first..first + farms
        },
        |seed| seed..seed + 1,
    );
    let begun = Instant::now();
    let (failure, counts) = run::many(place, seeds, threads, &as_it_is())?;
    println!("{counts:?} in {:.1} s", begun.elapsed().as_secs_f64());
    assert!(
        failure.is_none(),
        "{}",
        failure.as_ref().map(|one: &Failure| one.report("simulation")).unwrap_or_default()
    );
    Ok(counts)
}

#[test]
fn on_sqlite_no_fault_breaks_an_invariant() -> anyhow::Result<()> {
    let runtime = tokio::runtime::Runtime::new()?;
    let place = runtime.block_on(Place::sqlite(template_start()))?;
    let counts = play(&place, (number("PINSET_SIM_FARMS").unwrap_or(25), 2))?;
    if number("PINSET_SIM_SEED").is_none() {
        // A simulation in which nothing happens proves nothing.
        let Counts { orders, closed_days, short_lines, deliveries, claims, drops, cards_compared, cuts, .. } = counts;
        for count in [orders, closed_days, short_lines, deliveries, claims, drops, cards_compared, cuts] {
            assert!(count > 0, "{counts:?}");
        }
        assert!(counts.crashes > 0 && counts.service_faults > 0 && counts.database_faults > 0, "{counts:?}");
    }
    runtime.block_on(place.close())
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
