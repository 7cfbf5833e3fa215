//! The made-up farm of examples, demo and rehearsal: Larkrise Mushrooms of the Okoro family in Port Merrow. Everybody
//! joins as real people do, by invitation.

use crate::stage::{Actor, Stage};
use anyhow::Context;
use scheduler::clock::UtcSeconds;

/// The names of the restaurants, as invited.
pub const HERON: &str = "Night Heron Noodle Bar";
pub const KETTLE: &str = "Copper Kettle Bistro";
pub const SALTMARSH: &str = "Saltmarsh Bakery";

/// Monday 2026-06-01, 08:00 in America/Chicago.
pub const START: UtcSeconds = UtcSeconds::new(1_780_318_800);

/// The people of the farm.
#[derive(Clone, Copy, Debug)]
pub struct People {
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

/// Lets everybody join a farm that nobody keeps yet.
///
/// # Errors
/// When the bot hangs, or the farm has a keeper.
pub async fn join(stage: &Stage) -> anyhow::Result<People> {
    let ada = stage.enter(1001, "Ada", "en");
    let code = stage.claim_code().await?;
    stage.start(ada, &code).await?;
    let chidi = stage.enter(1002, "Chidi", "en");
    let ngozi = stage.enter(1003, "Ngozi", "en");
    for (actor, role) in [(chidi, "grower"), (ngozi, "driver")] {
        stage.say(ada, "/people").await?;
        stage.press(ada, role).await?;
        follow(stage, ada, actor).await?;
    }
    let heron = stage.enter(2001, "Mina", "en");
    let kettle = stage.enter(2002, "Rosa", "es-MX");
    let saltmarsh = stage.enter(2003, "Tom", "en");
    for (actor, name) in [(heron, HERON), (kettle, KETTLE), (saltmarsh, SALTMARSH)] {
        stage.say(ada, "/people").await?;
        stage.press(ada, "New restaurant").await?;
        stage.say(ada, name).await?;
        follow(stage, ada, actor).await?;
    }
    Ok(People { ada, chidi, ngozi, heron, kettle, saltmarsh })
}

/// Opens the invitation that the keeper was just given.
async fn follow(stage: &Stage, keeper: Actor, newcomer: Actor) -> anyhow::Result<()> {
    let text = stage.last(keeper).text;
    let code = code_in(&text).with_context(|| format!("no invitation link in {text:?}"))?;
    stage.start(newcomer, &code).await?;
    Ok(())
}

/// The code of an invitation link in a message.
pub fn code_in(text: &str) -> Option<String> {
    let (_, code) = text.split_once("?start=")?;
    Some(code.trim().to_owned())
}
