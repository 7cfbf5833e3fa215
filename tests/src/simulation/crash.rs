//! The plug: whoever runs something here is told when it was pulled, and drops what was running.

use std::sync::Arc;
use tokio::sync::Notify;

/// Shared by everything that may pull the plug.
#[derive(Clone, Debug, Default)]
pub struct Crash(Arc<Notify>);

impl Crash {
    /// Pulls the plug and never returns.
    pub async fn halt<T>(&self) -> T {
        self.pull();
        std::future::pending().await
    }

    /// Pulls the plug; the caller stops by itself.
    pub fn pull(&self) {
        self.0.notify_one();
    }

    /// Runs until the end or until the plug is pulled, which is `None`.
    pub async fn run<T>(&self, work: impl Future<Output = T>) -> Option<T> {
        tokio::select! {
            biased;
            () = self.0.notified() => None,
            done = work => Some(done),
        }
    }
}
