//! Faults planted on purpose, each found by the simulation within 200 weeks. Only in a build with the feature `planted`:
//! `cargo test --workspace --features pinset-tests/planted --test planted`; `PINSET_PLANTED` names some of them, with commas.
#![cfg(feature = "planted")]

use pinset_tests::simulation::run::{self, Prepare, WEEKS, template_start};
use pinset_tests::simulation::setting::Place;
use scheduler::planted::{self, Bug};
use std::sync::Arc;

/// Weeks within which each is to be found.
const WEEKS_MAX: u64 = 200;

fn with(bug: Option<Bug>) -> Prepare {
    Arc::new(move |simulation| {
        let service = simulation.service();
        planted::on_early_send(move |chat_id, body| service.send_early(chat_id, body));
        planted::turn_on(bug);
    })
}

/// All of them, or those that the environment names.
fn chosen() -> Vec<Bug> {
    let Ok(names) = std::env::var("PINSET_PLANTED") else { return Bug::ALL.to_vec() };
    let named = |name: &str| Bug::ALL.into_iter().find(|bug| format!("{bug:?}") == name);
    names.split(',').map(|name| named(name).unwrap_or_else(|| panic!("no fault is called {name:?}"))).collect()
}

#[test]
fn each_planted_fault_is_found() -> anyhow::Result<()> {
    let runtime = tokio::runtime::Runtime::new()?;
    let place = runtime.block_on(Place::sqlite(template_start()))?;
    let farms = WEEKS_MAX / u64::from(WEEKS);
    let mut missed = Vec::new();
    for bug in chosen() {
        let (failures, counts) = run::many(&place, 0..farms, (2, 1), &with(Some(bug)))?;
        match failures.first() {
            Some(failure) => {
                println!(
                    "{bug:?}: seed {}, week {}, {} weeks in all: {}",
                    failure.seed, failure.week, counts.weeks, failure.what
                );
            }
            None => missed.push(bug),
        }
    }
    assert!(missed.is_empty(), "not found within {WEEKS_MAX} weeks: {missed:?}");
    // The same build with all of them off finds nothing.
    let (failures, _) = run::many(&place, 0..4, (2, 1), &with(None))?;
    assert!(failures.is_empty(), "{}", failures[0].report("planted"));
    runtime.block_on(place.close())
}
