//! How a rehearsal begins: an empty farm, the made-up farm with its people, or a copy of the farm's own database.

use crate::config::{Config, SAMPLE};
use crate::scenario;
use crate::stage::{Actor, Stage};
use anyhow::{Context, ensure};
use scheduler::clock::{Clock, SystemClock, UtcSeconds};
use scheduler::people::Role;
use scheduler::store::copy::copy_sqlite;
use scheduler::store::people;
use std::path::{Path, PathBuf};

/// The family's group chat, where the rehearsal makes one.
const GROUP: i64 = -4001;

/// What the farm is when the page opens.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Opening {
    /// Nobody keeps it yet.
    Empty,
    /// The made-up farm with its people, on the morning of Monday 2026-06-01.
    Scenario,
    /// A copy of the SQLite database at this address, as it is now.
    CopyOf(String),
}

/// A farm set up for the page.
pub struct Set {
    pub stage: Stage,
    pub cast: Cast,
    /// The first keeper's code, where nobody keeps the farm yet.
    pub claim_code: Option<String>,
}

/// Everybody who has a pane.
#[derive(Clone, Debug, Default)]
pub struct Cast {
    pub people: Vec<Member>,
    /// Groups by chat and title.
    pub groups: Vec<(i64, String)>,
}

/// A person of the cast, as the messaging service knows them.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Member {
    pub id: i64,
    pub name: String,
    pub language: String,
}

impl Set {
    /// Sets a farm up; its database is a new file in `folder`, which must be there.
    ///
    /// # Errors
    /// When the configuration, the database or the bot does not let it.
    pub async fn up(opening: &Opening, config: Option<Config>, folder: &Path) -> anyhow::Result<Set> {
        let file = folder.join("rehearsal.sqlite");
        ensure!(!file.exists(), "{} is there already; name an empty folder", file.display());
        let config = match config {
            Some(config) => config,
            None => Config::parse(SAMPLE)?,
        };
        let set = match opening {
            Opening::Empty => empty(config, &file).await?,
            Opening::Scenario => with_people(config, &file).await?,
            Opening::CopyOf(url) => on_copy(config, &file, url).await?,
        };
        Ok(set)
    }

    /// A stage that is set already, with these people on it.
    pub fn on(stage: Stage, people: Vec<Member>) -> Set {
        Set { stage, cast: Cast { people, groups: Vec::new() }, claim_code: None }
    }
}

fn url(file: &Path) -> String {
    format!("sqlite://{}", PathBuf::from(file).display())
}

/// The machine's time; seconds are left out, they only distract.
fn this_minute() -> UtcSeconds {
    let now = SystemClock.now();
    now.plus_seconds(-now.get().rem_euclid(60))
}

async fn empty(config: Config, file: &Path) -> anyhow::Result<Set> {
    let stage = Stage::set_on(config, this_minute(), &url(file)).await?;
    let claim_code = Some(stage.claim_code().await?);
    Ok(Set { stage, cast: Cast::default(), claim_code })
}

async fn with_people(config: Config, file: &Path) -> anyhow::Result<Set> {
    let stage = Stage::set_on(config, scenario::START, &url(file)).await?;
    let joined = scenario::join(&stage).await?;
    let names = [
        (joined.ada, "Ada", "en"),
        (joined.chidi, "Chidi", "en"),
        (joined.ngozi, "Ngozi", "en"),
        (joined.heron, "Mina", "en"),
        (joined.kettle, "Rosa", "es-MX"),
        (joined.saltmarsh, "Tom", "en"),
    ];
    let member = |(actor, name, language): (Actor, &str, &str)| Member {
        id: actor.0,
        name: name.to_owned(),
        language: language.to_owned(),
    };
    let title = "Okoro".to_owned();
    stage.server.add_group(GROUP, &title, &[joined.ada.0, joined.chidi.0, joined.ngozi.0])?;
    stage.say_in(GROUP, joined.ada, "/group").await?;
    let cast = Cast { people: names.map(member).into(), groups: vec![(GROUP, title)] };
    Ok(Set { stage, cast, claim_code: None })
}

async fn on_copy(config: Config, file: &Path, original: &str) -> anyhow::Result<Set> {
    copy_sqlite(original, file).await.with_context(|| format!("no copy of {original} can be made"))?;
    let mut stage = Stage::build(config, this_minute(), &url(file)).await?;
    let mut tx = stage.engine.store.begin_reading().await?;
    let everybody = people::everybody(&mut tx).await?;
    let groups = people::family_groups(&mut tx).await?;
    drop(tx);
    let mut cast = Cast::default();
    for person in &everybody {
        stage.server.add_acquaintance(person.chat_id, &person.name, Some(&person.language));
        let (name, language) = (person.name.clone(), person.language.clone());
        cast.people.push(Member { id: person.chat_id, name, language });
    }
    let family: Vec<i64> = everybody.iter().filter(|one| one.role.is_family()).map(|one| one.chat_id).collect();
    for (chat_id, _) in groups.into_iter().filter(|_| !family.is_empty()) {
        let title = stage.engine.house.config.farm.name.clone();
        stage.server.add_group(chat_id, &title, &family)?;
        cast.groups.push((chat_id, title));
    }
    stage.run().await?;
    let is_kept = everybody.iter().any(|one| one.role == Role::Keeper);
    let claim_code = if is_kept { None } else { Some(stage.claim_code().await?) };
    Ok(Set { stage, cast, claim_code })
}
