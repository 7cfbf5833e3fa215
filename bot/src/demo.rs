//! The demo: two weeks and more of the made-up farm, through the production bot and the local server, with the clock
//! moved by hand. One good week, and one short of shiitake with oysters left over.

mod paper;
mod play;
pub mod report;
mod story;
mod tables;
mod transcript;

use play::Play;

/// How the demo is told.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Telling {
    /// Scene by scene, then the family's tables.
    Story,
    /// Everybody's chats with every message, then the tables.
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
        print!("{}", chats(&play));
    }
    played?;
    let report = report::read(&play.stage.engine).await?;
    match telling {
        Telling::Json => println!("{}", serde_json::to_string_pretty(&report)?),
        Telling::Story | Telling::Chats => {
            print!("{}", if telling == Telling::Story { story(&play) } else { chats(&play) });
            print!("{}", tables::write(&report));
            println!("\n{} messages in {:.1} s of real time.", report.messages_sent, started.elapsed().as_secs_f64());
            if telling == Telling::Story {
                println!(
                    "Every message of every chat: `pinset demo --all`. Try it yourself in a browser: `pinset rehearse`."
                );
            }
        }
    }
    play.stage.close().await;
    Ok(())
}

/// Who is who, on the story's first lines.
const CAST: &str = "\
Larkrise Mushrooms, a made-up farm: Ada keeps it, Chidi grows, Ngozi drives.
Restaurants: Mina of Night Heron Noodle Bar, Rosa of Copper Kettle Bistro (in Spanish), Tom of Saltmarsh Bakery.
Food banks: Lucía of Merrow Community Pantry (in Spanish), Ben of Harbour Table.
";

/// Scene by scene.
fn story(play: &Play) -> String {
    let names = play.names().into_iter().map(|(actor, name)| (actor.0, name)).collect();
    let story = play.notes().write(&play.stage.server.calls(), &names, play.stage.engine.house.zone());
    format!("{CAST}{story}")
}

/// Everybody's chats.
fn chats(play: &Play) -> String {
    let zone = play.stage.engine.house.zone();
    let chats = play.chats().into_iter();
    chats.map(|(title, chat_id)| transcript::write(&title, &play.stage.server.chat(chat_id), zone)).collect()
}
