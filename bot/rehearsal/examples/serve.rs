//! The local server by itself, for a bot in a process or a root of its own: prints its address and the bot's token, one a
//! line, and serves until its input ends.

use bot_api_local::{RehearsalConfig, RehearsalServer};
use std::io::Read;

#[tokio::main]
async fn main() -> Result<(), Box<dyn std::error::Error>> {
    let server = RehearsalServer::start(RehearsalConfig::default()).await?;
    println!("{}\n{}", server.api_url(), server.token());
    tokio::task::spawn_blocking(|| std::io::stdin().lock().read_to_end(&mut Vec::new())).await??;
    server.shutdown().await;
    Ok(())
}
