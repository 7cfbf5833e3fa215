//! Between the service and the engine: what came is taken however long the database takes, and confirmed only then.

use crate::engine::{Arrival, Engine, Queue};
use std::time::Duration;
use tokio::sync::watch;

/// First and longest pause while the database does not answer.
const PAUSES: (Duration, Duration) = (Duration::from_millis(100), Duration::from_secs(10));

/// Takes everything, with growing pauses while the database does not answer; `false` when it is time to stop before that:
/// nothing may be confirmed then.
pub async fn take_patiently(engine: &Engine, arrivals: Vec<Arrival>, stop: &mut watch::Receiver<bool>) -> bool {
    let mut queue = Queue::of(arrivals);
    let mut pause = PAUSES.0;
    loop {
        match engine.take_all(&mut queue).await {
            Ok(()) => return true,
            Err(error) => {
                let waits_ms = u64::try_from(pause.as_millis()).unwrap_or(u64::MAX);
                tracing::error!(error = error.in_brief(), waits_ms, "updates wait for the database");
            }
        }
        tokio::select! {
            () = tokio::time::sleep(pause) => {}
            _ = stop.wait_for(|stopping| *stopping) => return false,
        }
        pause = (pause * 2).min(PAUSES.1);
    }
}
