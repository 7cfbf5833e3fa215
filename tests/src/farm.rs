//! The made-up farm of the examples, set up on a stage: Larkrise Mushrooms of the Okoro family in Port Merrow.

use pinset::config::{Config, SAMPLE};
use pinset::scenario::{self, People};
pub use pinset::scenario::{HERON, KETTLE, SALTMARSH, START};
use pinset::stage::{Actor, Stage};
use scheduler::clock::UtcSeconds;

/// The people of the farm, joined.
pub struct Farm {
    pub stage: Stage,
    /// Keeps the farm, English.
    pub ada: Actor,
    /// Grows, English.
    pub chidi: Actor,
    /// Drives, English.
    pub ngozi: Actor,
    /// Night Heron Noodle Bar, English.
    pub heron: Actor,
    /// Copper Kettle Bistro, Spanish.
    pub kettle: Actor,
    /// Saltmarsh Bakery, English.
    pub saltmarsh: Actor,
}

/// The farm with everybody joined, on the sample configuration.
///
/// # Errors
/// When the stage cannot be set.
pub async fn joined() -> anyhow::Result<Farm> {
    joined_at(Config::parse(SAMPLE)?, START).await
}

/// The farm on the sample configuration with lines of it replaced.
///
/// # Errors
/// When the stage cannot be set.
///
/// # Panics
/// When the sample has no such line.
pub async fn joined_with(changes: &[(&str, &str)]) -> anyhow::Result<Farm> {
    let mut text = SAMPLE.to_owned();
    for (from, to) in changes {
        assert!(text.contains(from), "{from}");
        text = text.replacen(from, to, 1);
    }
    joined_at(Config::parse(&text)?, START).await
}

/// The same with another configuration and start.
///
/// # Errors
/// When the stage cannot be set.
pub async fn joined_at(config: Config, start: UtcSeconds) -> anyhow::Result<Farm> {
    let stage = Stage::set(config, start).await?;
    let People { ada, chidi, ngozi, heron, kettle, saltmarsh } = scenario::join(&stage).await?;
    Ok(Farm { stage, ada, chidi, ngozi, heron, kettle, saltmarsh })
}

/// The code of an invitation link in a message.
///
/// # Panics
/// When the message has none.
pub fn code_in(text: &str) -> String {
    scenario::code_in(text).unwrap_or_else(|| panic!("no invitation link in {text:?}"))
}
