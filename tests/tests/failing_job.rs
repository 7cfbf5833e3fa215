//! A job of the timetable that fails: it is put off, then set aside and told of; everything else goes on, and it is done once
//! the cause is mended.

use pinset::config::SAMPLE;
use pinset::watch::health;
use pinset_tests::cold_store::lot;
use pinset_tests::farm::joined;
use pinset_tests::poison;
use scheduler::store::{deliveries, occurrences};
use std::process::Command;

async fn aside(stage: &pinset::stage::Stage) -> anyhow::Result<Vec<String>> {
    let aside = occurrences::aside(&mut stage.engine.store.begin_reading().await?).await?;
    Ok(aside.into_iter().map(|one| one.job).collect())
}

/// What `pinset check` says of the farm's database.
async fn check(stage: &pinset::stage::Stage) -> anyhow::Result<String> {
    let folder = tempfile::tempdir()?;
    let config = folder.path().join("pinset.toml");
    std::fs::write(&config, SAMPLE)?;
    let mut command = Command::new(env!("CARGO_BIN_EXE_pinset-under-test"));
    command.arg("check").arg("--config").arg(config).args(["--database", stage.database()]);
    let output = tokio::task::spawn_blocking(move || command.output()).await??;
    Ok(String::from_utf8(output.stdout)?)
}

#[tokio::test]
async fn one_unreadable_lot_stops_no_other_job_and_the_cut_off_is_made_up_for() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    lot(stage, "shiitake", 4000, "2026-06-08").await?;
    let heron = stage.say(farm.heron, "2 lb shiitake for Thursday").await?;
    assert!(!heron.is_empty());
    stage.press_first(farm.heron, "Yes").await?;
    poison::write(stage.database(), "UPDATE lot SET keeps_until = 'call Mina about it'").await?;

    // The cut-off is on Tuesday at six, and its tries are over within half an hour.
    stage.move_to(stage.at("2026-06-02 18:30")).await?;
    assert!(aside(stage).await?.contains(&"cutoff".to_owned()), "{:?}", aside(stage).await?);
    let told = stage.read(farm.ada.0);
    assert!(told.contains("closing the orders") && told.contains("set it aside"), "the keeper is told: {told}");
    assert!(!stage.read(farm.heron.0).contains("set it aside"), "nobody else is");
    let faults = health::faults(&stage.engine).await;
    assert!(faults.iter().any(|fault| fault.contains("timetable: cutoff@2026-06-02T23:00:00Z")), "{faults:?}");
    assert!(!format!("{faults:?}").contains("Mina"), "no word of what is stored: {faults:?}");

    // What needs no lot goes on.
    stage.move_to(stage.at("2026-06-03 04:00")).await?;
    let done = occurrences::done(&mut stage.engine.store.begin_reading().await?).await?;
    let tidied = stage.at("2026-06-03 03:30");
    assert!(done.iter().any(|(job, due_at, _)| job == "tidying" && *due_at == tidied), "{done:?}");

    poison::write(stage.database(), "UPDATE lot SET keeps_until = '2026-06-08'").await?;
    stage.engine.try_failed_again().await?;
    stage.settle().await?;
    assert_eq!(aside(stage).await?, [""; 0]);
    let day = "2026-06-04".parse()?;
    let closed = deliveries::on(&mut stage.engine.store.begin_reading().await?, day).await?;
    assert!(closed.is_some(), "the cut-off was made up for while it was of use");
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn a_job_of_a_newer_program_is_kept_and_told_of() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    let due_at = stage.now().plus_minutes(5).get();
    let statement = format!(
        "INSERT INTO occurrence (key, job, subject, due_at, useful_until)
         VALUES ('dry_rack 7', 'dry_rack', 7, {due_at}, {due_at})"
    );
    poison::write(stage.database(), &statement).await?;
    stage.move_to(stage.at("2026-06-02 04:00")).await?;
    let aside = occurrences::aside(&mut stage.engine.store.begin_reading().await?).await?;
    assert_eq!(aside.iter().map(|one| one.key.as_str()).collect::<Vec<_>>(), ["dry_rack 7"], "kept, and not done");
    let done = occurrences::done(&mut stage.engine.store.begin_reading().await?).await?;
    assert!(
        done.iter().all(|(job, ..)| job != "dry_rack") && done.iter().any(|(job, ..)| job == "tidying"),
        "{done:?}"
    );
    let said = check(stage).await?;
    assert!(said.contains("fault: dry_rack of ") && said.contains(" is set aside since "), "{said}");
    farm.stage.close().await;
    Ok(())
}
