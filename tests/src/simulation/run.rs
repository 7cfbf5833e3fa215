//! Many simulations, by seed, on every core.

use super::Simulation;
use super::counts::Counts;
use super::setting::Place;
use chrono::{Datelike, Days};
use scheduler::clock::{LocalDate, UtcSeconds, instant_at};
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, Mutex};

/// Weeks of each farm.
pub const WEEKS: u32 = 4;

/// A seed that broke an invariant.
#[derive(Clone, Debug)]
pub struct Failure {
    pub seed: u64,
    /// The week it happened in, from 1.
    pub week: u32,
    pub what: String,
    pub trace: Vec<String>,
}

impl Failure {
    /// What happened and how to see it again.
    pub fn report(&self, test: &str) -> String {
        format!(
            "seed {} broke an invariant in week {}: {}\nlast deeds:\n  {}\nreplay: PINSET_SIM_SEED={} cargo test --workspace --test {test} -- --nocapture",
            self.seed,
            self.week,
            self.what,
            self.trace.join("\n  "),
            self.seed
        )
    }
}

/// The Monday this seed's farm begins on: any of two years, so that every clock change is among them.
fn monday_of(seed: u64) -> LocalDate {
    let first: LocalDate = "2026-06-01".parse().expect("a date");
    let monday = first + Days::new(seed % 104 * 7);
    debug_assert_eq!(monday.weekday(), chrono::Weekday::Mon);
    monday
}

/// When the template's people joined: before every farm begins.
pub fn template_start() -> UtcSeconds {
    instant_at("2026-05-31".parse().expect("a date"), chrono::NaiveTime::MIN, chrono_tz::America::Chicago)
}

/// What is done to each simulation before it begins.
pub type Prepare = Arc<dyn Fn(&Simulation) + Send + Sync>;

/// One farm's weeks. The failure, if there is one, and what happened.
///
/// # Errors
/// When the place cannot make a database.
pub async fn one(
    place: &Place,
    (seed, weeks): (u64, u32),
    prepare: &Prepare,
) -> anyhow::Result<(Option<Failure>, Counts)> {
    let database = place.farm(seed).await?;
    let monday = monday_of(seed);
    let start = instant_at(monday, chrono::NaiveTime::MIN, chrono_tz::America::Chicago);
    let fail = |week, what, trace| Failure { seed, week, what, trace };
    let mut simulation = match Simulation::begin(seed, &database, start).await {
        Ok(simulation) => simulation,
        Err(what) => return Ok((Some(fail(0, what, Vec::new())), Counts::default())),
    };
    prepare(&simulation);
    let mut failure = None;
    for week in 0..weeks {
        let begins = monday + Days::new(u64::from(week) * 7);
        if let Err(what) = simulation.week(week, begins).await {
            failure = Some(fail(week + 1, what, simulation.trace.iter().cloned().collect()));
            break;
        }
    }
    simulation.end().await;
    database.close().await?;
    Ok((failure, simulation.counts))
}

/// Farms after which a long run says how far it is.
const SAID_EVERY: u64 = 250;

/// All these seeds' farms on so many threads; stops after so many failures. A farm in a file has one core for itself and its
/// database, which answer each other all the time: waking each other on another core takes half as long again.
///
/// # Errors
/// When a place cannot make a database.
pub fn many(
    place: &Place,
    seeds: std::ops::Range<u64>,
    (threads, failures_max): (usize, usize),
    prepare: &Prepare,
) -> anyhow::Result<(Vec<Failure>, Counts)> {
    let next = AtomicU64::new(seeds.start);
    let done: Mutex<(Vec<Failure>, Counts)> = Mutex::default();
    let cores = core_affinity::get_core_ids().unwrap_or_default();
    let work = |number: usize| -> anyhow::Result<()> {
        if let (Place::Sqlite { .. }, Some(core)) = (place, cores.get(number)) {
            core_affinity::set_for_current(*core);
        }
        let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build()?;
        loop {
            let seed = next.fetch_add(1, Ordering::SeqCst);
            if seed >= seeds.end {
                return Ok(());
            }
            let (failure, counts) = runtime.block_on(one(place, (seed, WEEKS), prepare))?;
            let mut done = done.lock().expect("no thread panics while it holds this");
            done.1.add(&counts);
            done.0.extend(failure);
            if (seed + 1 - seeds.start).is_multiple_of(SAID_EVERY) {
                println!("{} weeks, {} failures", done.1.weeks, done.0.len());
            }
            if done.0.len() >= failures_max {
                next.store(seeds.end, Ordering::SeqCst);
            }
        }
    };
    std::thread::scope(|scope| {
        let work = &work;
        let workers: Vec<_> = (0..threads).map(|number| scope.spawn(move || work(number))).collect();
        workers.into_iter().try_for_each(|worker| worker.join().expect("a simulation does not panic"))
    })?;
    Ok(done.into_inner().expect("every thread has ended"))
}
