//! What the machine's service manager is told, where one has started the program (sd_notify(3)): that it is ready, that it
//! still does its work, what is wrong, and that it stops. Elsewhere nothing is said.

use super::health;
use crate::engine::Engine;
use sd_notify::NotifyState;
use std::sync::Arc;
use tokio::sync::watch;

/// How often, within the time after which the manager restarts a silent program, it is told that all is well.
const SIGNS: u32 = 3;

/// The bot listens under this name.
pub fn ready(name: &str) {
    tell(&[NotifyState::Ready, NotifyState::Status(&format!("listening as @{name}"))]);
}

/// The bot puts everything away.
pub fn stopping() {
    tell(&[NotifyState::Stopping]);
}

/// Feeds the manager's watchdog while `/health` would find nothing, and says what is wrong otherwise; until `stop`.
pub async fn feed(engine: Arc<Engine>, mut stop: watch::Receiver<bool>) {
    let Some(patience) = sd_notify::watchdog_enabled() else { return };
    let mut is_well = true;
    loop {
        let faults = health::faults(&engine).await;
        match (faults.is_empty(), is_well) {
            (true, true) => tell(&[NotifyState::Watchdog]),
            (true, false) => tell(&[NotifyState::Watchdog, NotifyState::Status("good again")]),
            (false, _) => tell(&[NotifyState::Status(&faults.join("; "))]),
        }
        is_well = faults.is_empty();
        tokio::select! {
            () = tokio::time::sleep(patience / SIGNS) => {}
            _ = stop.wait_for(|stopping| *stopping) => return,
        }
    }
}

fn tell(states: &[NotifyState]) {
    if let Err(error) = sd_notify::notify(states) {
        tracing::warn!(%error, "the service manager cannot be told");
    }
}
