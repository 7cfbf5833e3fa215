//! `pinset check`: what is wrong with the configuration or the database, and how to mend it.

use super::FarmOptions;
use crate::cli::serve::open;
use crate::house::House;
use scheduler::orders::recurrence::Recurrence;
use scheduler::people::Role;
use scheduler::store::{self, Tx, audit, orders, outbox, people};

/// Most lines of one kind.
const LINES_MAX: i64 = 20;

/// What was found.
#[derive(Default)]
struct Findings {
    /// Something is broken, with how to mend it.
    faults: Vec<String>,
    /// Worth knowing, nothing is broken.
    notes: Vec<String>,
}

pub(super) async fn run(options: FarmOptions) -> anyhow::Result<()> {
    let (house, store) = open(&options).await?;
    println!("configuration: good, {} in {}", house.config.farm.name, house.zone());
    let mut tx = store.begin_reading().await?;
    let findings = look(&house, &mut tx).await?;
    drop(tx);
    store.close().await;
    for note in &findings.notes {
        println!("note: {note}");
    }
    for fault in &findings.faults {
        println!("fault: {fault}");
    }
    anyhow::ensure!(findings.faults.is_empty(), "the database has {} faults, named above", findings.faults.len());
    println!("database: good");
    Ok(())
}

async fn look(house: &House, tx: &mut Tx) -> store::Result<Findings> {
    let mut found = Findings::default();
    if people::with_role(tx, Role::Keeper).await?.is_empty() {
        found.notes.push("nobody keeps this farm yet; `pinset serve` prints a link for the first keeper".into());
    }
    for (chat_id, reason, at) in outbox::set_aside_list(tx, LINES_MAX).await? {
        found.notes.push(format!("a message to chat {chat_id} was set aside at {at}: {reason}"));
    }
    for (_, name, since) in people::unreachable(tx).await? {
        found.notes.push(format!("{name} cannot be reached since {since}: the chat is blocked or gone"));
    }
    for (job, due_at) in audit::missed_occurrences(tx, LINES_MAX).await? {
        found.notes.push(format!("{job} of {due_at} was missed because the program did not run"));
    }
    for fault in audit::faults(tx).await? {
        found.faults.push(format!("{}; {}", fault.what, fault.mend));
    }
    for standing in orders::all_standing(tx).await? {
        if let Err(error) = Recurrence::parse(&standing.recurrence, house.zone()) {
            found.faults.push(format!(
                "standing order {} has a recurrence that cannot be read ({error}); end it and let the buyer place it again",
                standing.id
            ));
        }
    }
    let house = house.of(tx).await?;
    for crop in audit::crops_spoken_of(tx).await? {
        if house.crops.get(&crop).is_none() {
            found.faults.push(format!(
                "the database speaks of the crop {crop:?}, the configuration does not know it; add it as [[crop]]"
            ));
        }
    }
    Ok(found)
}
