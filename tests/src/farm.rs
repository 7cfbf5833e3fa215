//! The made-up farm of the examples, set up on a stage: Larkrise Mushrooms of the Okoro family in Port Merrow.

use pinset::config::{Config, SAMPLE};
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

/// The names of the restaurants, as invited.
pub const HERON: &str = "Night Heron Noodle Bar";
pub const KETTLE: &str = "Copper Kettle Bistro";
pub const SALTMARSH: &str = "Saltmarsh Bakery";

/// Monday 2026-06-01, 08:00 in America/Chicago.
pub const START: UtcSeconds = UtcSeconds::new(1_780_318_800);

/// The farm with everybody joined, on the sample configuration.
///
/// # Errors
/// When the stage cannot be set.
pub async fn joined() -> anyhow::Result<Farm> {
    joined_at(Config::parse(SAMPLE)?, START).await
}

/// The same with another configuration and start.
///
/// # Errors
/// When the stage cannot be set.
pub async fn joined_at(config: Config, start: UtcSeconds) -> anyhow::Result<Farm> {
    let stage = Stage::set(config, start).await?;
    let ada = stage.enter(1001, "Ada", "en");
    let code = stage.claim_code().await?;
    stage.start(ada, &code).await?;
    let chidi = stage.enter(1002, "Chidi", "en");
    let ngozi = stage.enter(1003, "Ngozi", "en");
    for (actor, role) in [(chidi, "grower"), (ngozi, "driver")] {
        stage.say(ada, "/people").await?;
        stage.press(ada, role).await?;
        stage.start(actor, &code_in(&stage.last(ada).text)).await?;
    }
    let heron = stage.enter(2001, "Mina", "en");
    let kettle = stage.enter(2002, "Rosa", "es-MX");
    let saltmarsh = stage.enter(2003, "Tom", "en");
    for (actor, name) in [(heron, HERON), (kettle, KETTLE), (saltmarsh, SALTMARSH)] {
        stage.say(ada, "/people").await?;
        stage.press(ada, "New restaurant").await?;
        stage.say(ada, name).await?;
        stage.start(actor, &code_in(&stage.last(ada).text)).await?;
    }
    Ok(Farm { stage, ada, chidi, ngozi, heron, kettle, saltmarsh })
}

/// The code of an invitation link in a message.
///
/// # Panics
/// When the message has none.
pub fn code_in(text: &str) -> String {
    let (_, code) = text.split_once("?start=").unwrap_or_else(|| panic!("no invitation link in {text:?}"));
    code.trim().to_owned()
}
