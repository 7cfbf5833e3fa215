//! The demo: two weeks and more of the made-up farm, through the production bot and the local server, with the clock
//! moved by hand. One good week, and one short of shiitake with oysters left over.

mod play;
pub mod report;
mod tables;
mod transcript;

use play::Play;

/// How the demo is told.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Telling {
    /// Everybody's chats, then the family's tables.
    Chats,
    /// One JSON document.
    Json,
}

/// Plays both weeks and prints them.
///
/// # Errors
/// When the bot does not do what the play asks of it.
pub async fn run(telling: Telling) -> anyhow::Result<()> {
    let play = Play::begin().await?;
    let started = std::time::Instant::now();
    let played = play.whole().await;
    if played.is_err() {
        // What was said until then shows why.
        print!("{}", told(&play));
    }
    played?;
    let report = report::read(&play.stage.engine).await?;
    match telling {
        Telling::Json => println!("{}", serde_json::to_string_pretty(&report)?),
        Telling::Chats => {
            print!("{}", told(&play));
            print!("{}", tables::write(&report));
            println!("\n{} messages in {:.1} s of real time.", report.messages_sent, started.elapsed().as_secs_f64());
        }
    }
    play.stage.close().await;
    Ok(())
}

/// Everybody's chats.
fn told(play: &Play) -> String {
    let zone = play.stage.engine.house.zone();
    let chats = play.chats().into_iter();
    chats.map(|(title, chat_id)| transcript::write(&title, &play.stage.server.chat(chat_id), zone)).collect()
}
