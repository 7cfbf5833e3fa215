//! Whether the bot still does its work: the service answers, the sender goes round, the database keeps what is written and
//! has room for more.

use super::Watch;
use crate::engine::Engine;
use scheduler::store::{self, occurrences};
use std::sync::atomic::Ordering;
use std::time::Duration;

/// A poll lasts 20 s and its call at most 35 s; after a failure the next is tried within a minute.
const TAKER_SILENT_MAX: Duration = Duration::from_secs(120);
/// The sender goes round at least every half minute.
const SENDER_SILENT_MAX: Duration = Duration::from_secs(90);
/// How long the database may take to answer.
const DATABASE_WAIT: Duration = Duration::from_secs(5);

/// What is wrong, one line each; nothing when all is well.
pub async fn faults(engine: &Engine) -> Vec<String> {
    let elapsed = engine.watch.began.elapsed();
    let mut faults = silent(&engine.watch, elapsed);
    faults.extend(met(&engine.watch, elapsed));
    match tokio::time::timeout(DATABASE_WAIT, looked_at(engine)).await {
        Ok(Ok(aside)) => faults.extend(aside),
        Ok(Err(error)) => faults.push(format!("database: {error}")),
        Err(_) => faults.push(format!("database: no answer within {} s", DATABASE_WAIT.as_secs())),
    }
    faults.extend(nearly_full(engine.store.free_bytes(), engine.house.config.watch.least_free_mb));
    faults
}

/// What is said of a disk with less than the least space that it should have.
fn nearly_full(free_bytes: Option<u64>, least_mb: u64) -> Option<String> {
    let free_mb = free_bytes? / 1_000_000;
    (free_mb < least_mb).then(|| format!("disk: {free_mb} MB are free where the database lies, less than {least_mb}"))
}

/// Whether the database answers, and which jobs it says are set aside.
async fn looked_at(engine: &Engine) -> store::Result<Vec<String>> {
    engine.store.look().await?;
    let aside = occurrences::aside(&mut engine.store.begin_reading().await?).await?;
    Ok(aside
        .iter()
        .map(|one| format!("timetable: {} is set aside since {}: {}", one.key, one.since, one.fault))
        .collect())
}

/// What was met by whoever does the work.
fn met(watch: &Watch, elapsed: Duration) -> Vec<String> {
    let state = watch.state();
    let database = state
        .database_silent
        .map(|since| format!("database: updates wait for it since {} s", elapsed.saturating_sub(since).as_secs()));
    let clock = state.clock_off.map(|(seconds, _)| {
        format!("clock: the machine's is {seconds} s ahead of the messaging service's; the service's is gone by")
    });
    let webhook = state.webhook.as_ref().map(|what| format!("webhook: {what}"));
    database.into_iter().chain(clock).chain(webhook).collect()
}

/// Which of the two loops has given no sign for too long, `elapsed` after the watch began.
fn silent(watch: &Watch, elapsed: Duration) -> Vec<String> {
    let is_posted_to = watch.is_posted_to.load(Ordering::Relaxed);
    let loops = [
        ("updates", &watch.taker, TAKER_SILENT_MAX, !is_posted_to),
        ("sender", &watch.sender, SENDER_SILENT_MAX, true),
    ];
    let late = loops.into_iter().filter_map(|(name, sign, most, is_asked)| {
        let silence = sign.silence(elapsed);
        (is_asked && silence > most).then(|| format!("{name}: no sign of life for {} s", silence.as_secs()))
    });
    late.collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_disk_with_too_little_space_is_told() {
        assert_eq!(nearly_full(Some(200_000_000), 200), None);
        let told = nearly_full(Some(199_999_999), 200);
        assert_eq!(told.as_deref(), Some("disk: 199 MB are free where the database lies, less than 200"));
        assert_eq!(nearly_full(None, 200), None, "a server's disk is its own");
    }

    #[test]
    fn silence_is_told_once_it_is_too_long() {
        let watch = Watch::new();
        let at = Duration::from_secs;
        assert_eq!(silent(&watch, at(60)), [""; 0]);
        assert_eq!(silent(&watch, at(100)), ["sender: no sign of life for 100 s"]);
        let both = ["updates: no sign of life for 121 s", "sender: no sign of life for 121 s"];
        assert_eq!(silent(&watch, at(121)), both);
        watch.database_answers(false);
        watch.clock_is_off(Some(3600));
        watch.webhook_is(Some("gone".into()));
        let met_then = met(&watch, at(130));
        assert!(met_then[0].starts_with("database: updates wait for it since 1"), "{met_then:?}");
        assert!(met_then[1].contains("3600 s ahead") && met_then[2] == "webhook: gone", "{met_then:?}");
        watch.database_answers(true);
        watch.clock_is_off(None);
        watch.webhook_is(None);
        assert_eq!(met(&watch, at(130)), [""; 0]);
        watch.sender.0.store(121_000, Ordering::Relaxed);
        watch.taker_is_posted_to();
        assert_eq!(silent(&watch, at(200)), [""; 0]);
    }
}
