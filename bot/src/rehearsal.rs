//! The rehearsal page: the whole farm in a browser, everybody's chat side by side, with the farm's clock and the service's
//! faults in hand.
//!
//! Rule: the bot behind it is the bot of production on the local Bot API server; the page only does what people, the clock
//! and a bad line do. It is served on loopback to pages of its own alone, and everything it keeps is in one folder.
//!
//! `opening` sets the farm up, `play` is what can be done, `news` what a browser is told, `door` the HTTP
//! side, `words` the texts; what runs in the browser lies beside them.

mod album;
mod door;
mod news;
mod opening;
mod picture;
mod play;
mod words;

pub use opening::{Opening, Set};

use anyhow::Context;
use play::Play;
use std::net::{Ipv4Addr, SocketAddr};
use std::sync::Arc;
use std::time::Duration;
use tokio::net::TcpListener;
use tokio::task::JoinHandle;

/// How often a running farm clock moves on.
const TICK: Duration = Duration::from_secs(1);

/// The page, served.
pub struct RehearsalPage {
    play: Arc<Play>,
    address: SocketAddr,
    tasks: Vec<JoinHandle<()>>,
}

impl RehearsalPage {
    /// Serves the page on 127.0.0.1; port 0 is one the system gives.
    ///
    /// # Errors
    /// When the port cannot be had.
    pub async fn open(set: Set, port: u16) -> anyhow::Result<RehearsalPage> {
        let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, port))
            .await
            .with_context(|| format!("port {port} cannot be had; choose another with --port, or 0 for a free one"))?;
        let address = listener.local_addr()?;
        let play = Arc::new(Play::new(set));
        let app = door::router(Arc::clone(&play));
        let closing = play.closing();
        let serving = axum::serve(listener, app).with_graceful_shutdown(async move {
            let mut closing = closing;
            // An error means the sender is gone: closing as well.
            let _ = closing.wait_for(|closing| *closing).await;
        });
        let tasks = vec![
            tokio::spawn(async move {
                // axum's serve never returns an error.
                let _ = serving.await;
            }),
            tokio::spawn(tick(Arc::clone(&play))),
        ];
        Ok(RehearsalPage { play, address, tasks })
    }

    /// Where the page is.
    pub fn url(&self) -> String {
        format!("http://{}/", self.address)
    }

    /// Ends the rehearsal: open requests are answered, the bot stops.
    ///
    /// # Errors
    /// When a part of it is still in use.
    pub async fn close(self) -> anyhow::Result<()> {
        self.play.end();
        for task in self.tasks {
            // A task that panicked has said so on stderr.
            let _ = task.await;
        }
        let play = Arc::into_inner(self.play).context("a request is still being answered")?;
        play.into_stage().close().await;
        Ok(())
    }
}

/// Lets the farm's clock run, while it is told to.
async fn tick(play: Arc<Play>) {
    let mut closing = play.closing();
    let mut ticks = tokio::time::interval(TICK);
    ticks.set_missed_tick_behavior(tokio::time::MissedTickBehavior::Skip);
    loop {
        let is_over = tokio::select! {
            _ = ticks.tick() => false,
            _ = closing.wait_for(|closing| *closing) => true,
        };
        if is_over {
            return;
        }
        play.tick().await;
    }
}
