//! The farm a simulation begins with, and the databases it plays in.

use super::chance::Chance;
use anyhow::Context;
use chrono::Weekday;
use pinset::config::{Config, SAMPLE};
use pinset::house::House;
use pinset::scenario::{HERON, KETTLE, SALTMARSH};
use pinset::wording::Wording;
use scheduler::clock::UtcSeconds;
use scheduler::id::Id;
use scheduler::people::quiet::QuietHours;
use scheduler::people::{HourClock, Person, Role, WhenSilent};
use scheduler::quantity::{Grams, UnitSystem};
use scheduler::store::giving::{self, FoodBank};
use scheduler::store::{Store, people, settings};
use scheduler::surplus::opening::Span;
use sqlx::Connection;
use std::path::PathBuf;
use std::sync::OnceLock;

/// Chat, first name, role, language, restaurant and food bank.
type Seat = (i64, &'static str, Role, &'static str, Option<Id>, Option<Id>);

pub const PANTRY: &str = "Merrow Community Pantry";
pub const TABLE: &str = "Harbour Table";
/// The running copy's number, the same at every start: forecasts draw by identifier.
pub const COPY: u16 = 1;
/// The family's group chat, and what it becomes.
pub const GROUP: i64 = -1001;
pub const SUPERGROUP: i64 = -100_200_300;
/// An account that never joins.
pub const STRANGER: i64 = 9001;
/// Accounts above this number have never joined.
pub const STRANGERS: i64 = 9000;

pub const KEEPER: i64 = 1001;
pub const GROWER: i64 = 1002;
pub const DRIVER: i64 = 1003;
/// Contacts of the three restaurants.
pub const BUYERS: [i64; 5] = [2001, 2011, 2002, 2003, 2013];
/// Contacts of the two food banks.
pub const PANTRIES: [i64; 2] = [4001, 4002];

/// Everything of the house that can be shared, read once.
pub fn house() -> House {
    static WORDING: OnceLock<Wording> = OnceLock::new();
    let wording = WORDING.get_or_init(|| Wording::embedded().expect("the words are whole"));
    House::new(Config::parse(SAMPLE).expect("the sample is valid"), wording.clone()).at_once()
}

/// Of a hundred things the family is to press or to say, so many are forgotten.
pub const FORGOTTEN_PERCENT: u32 = 20;

/// How forgetful this farm's people are: one farm in three presses everything.
pub fn forgetfulness(chance: &mut Chance) -> u32 {
    if chance.one_in(3) { 0 } else { FORGOTTEN_PERCENT }
}

/// A database of a simulation's own.
pub struct Database {
    pub url: String,
    file: Option<PathBuf>,
    postgres: Option<(String, String)>,
}

/// Where simulations keep their databases.
pub enum Place {
    /// Files in this folder, copied from a farm made once.
    Sqlite { folder: tempfile::TempDir },
    /// Databases of this server, made from a template.
    Postgres { server: String, template: String },
}

impl Place {
    /// Files in memory where the system has such a folder.
    ///
    /// # Errors
    /// When no folder can be made.
    pub async fn sqlite(start: UtcSeconds) -> anyhow::Result<Place> {
        let memory = std::path::Path::new("/dev/shm");
        let folder = if memory.is_dir() { tempfile::tempdir_in(memory)? } else { tempfile::tempdir()? };
        let store = Store::open(&format!("sqlite://{}", folder.path().join("farm").display())).await?.as_copy(COPY);
        fill(&store, start).await?;
        store.close().await;
        Ok(Place::Sqlite { folder })
    }

    /// # Errors
    /// When the server does not let us.
    pub async fn postgres(server: &str, start: UtcSeconds) -> anyhow::Result<Place> {
        let template = format!("pinset_simulation_{}", std::process::id());
        statement(server, format!("CREATE DATABASE {template}")).await?;
        let place = Place::Postgres { server: server.to_owned(), template: template.clone() };
        let store = Store::open(&beside(server, &template)?).await?.as_copy(COPY);
        fill(&store, start).await?;
        store.close().await;
        Ok(place)
    }

    /// A farm of its own for the simulation with this seed.
    ///
    /// # Errors
    /// When it cannot be made.
    pub async fn farm(&self, seed: u64) -> anyhow::Result<Database> {
        match self {
            Place::Sqlite { folder } => {
                let file = folder.path().join(format!("farm-{seed}"));
                std::fs::copy(folder.path().join("farm"), &file)?;
                let url = format!("sqlite://{}", file.display());
                Ok(Database { url, file: Some(file), postgres: None })
            }
            Place::Postgres { server, template } => {
                let name = format!("{template}_{seed}");
                statement(server, format!("CREATE DATABASE {name} TEMPLATE {template}")).await?;
                // As the files in memory: what is proved here does not need the disk to have answered.
                statement(server, format!("ALTER DATABASE {name} SET synchronous_commit = off")).await?;
                Ok(Database { url: beside(server, &name)?, file: None, postgres: Some((server.clone(), name)) })
            }
        }
    }

    /// Takes everything away.
    ///
    /// # Errors
    /// When the server does not let us.
    pub async fn close(self) -> anyhow::Result<()> {
        match self {
            Place::Sqlite { folder } => Ok(folder.close()?),
            Place::Postgres { server, template } => {
                statement(&server, format!("DROP DATABASE {template} WITH (FORCE)")).await
            }
        }
    }
}

impl Database {
    /// Takes it away.
    ///
    /// # Errors
    /// When the server does not let us.
    pub async fn close(self) -> anyhow::Result<()> {
        if let Some(file) = self.file {
            for end in ["", "-wal", "-shm"] {
                let _ = std::fs::remove_file(format!("{}{end}", file.display()));
            }
        }
        match self.postgres {
            Some((server, name)) => statement(&server, format!("DROP DATABASE {name} WITH (FORCE)")).await,
            None => Ok(()),
        }
    }
}

async fn statement(server: &str, text: String) -> anyhow::Result<()> {
    let mut connection = sqlx::PgConnection::connect(server).await?;
    sqlx::query(sqlx::AssertSqlSafe(text)).execute(&mut connection).await?;
    Ok(connection.close().await?)
}

fn beside(server: &str, name: &str) -> anyhow::Result<String> {
    let (front, _) = server.rsplit_once('/').context("a URL with a database")?;
    Ok(format!("{front}/{name}"))
}

async fn fill(store: &Store, now: UtcSeconds) -> anyhow::Result<()> {
    let mut tx = store.begin().await?;
    settings::put(&mut tx, pinset::conversation::joining::BOT_NAME, "larkrise_bot").await?;
    let mut buyers = Vec::new();
    for name in [HERON, KETTLE, SALTMARSH] {
        buyers.push(people::add_buyer(&mut tx, name, now).await?);
    }
    people::set_when_silent(&mut tx, buyers[1], WhenSilent::Drop).await?;
    let mut banks = Vec::new();
    for (name, minutes, weekly) in [
        (PANTRY, 25, vec![(Weekday::Fri, 540, 720), (Weekday::Sat, 600, 780)]),
        (TABLE, 15, vec![(Weekday::Thu, 840, 1200), (Weekday::Sat, 540, 780)]),
    ] {
        let bank = FoodBank {
            id: tx.new_id(now),
            name: name.into(),
            address: "12 Quay Street, Port Merrow".into(),
            travel_minutes: minutes,
            least: Grams::new(500),
            greatest: Grams::new(30_000),
            crops: Vec::new(),
            has_cold_store: true,
            weekly: weekly
                .into_iter()
                .map(|(day, opens, closes)| Ok((day, Span::new(opens, closes)?)))
                .collect::<Result<_, scheduler::surplus::opening::HoursRefusal>>()
                .map_err(|refusal| anyhow::anyhow!("{refusal:?}"))?,
            closed: Vec::new(),
            full: Vec::new(),
            need: 0,
            last_drop_at: None,
        };
        giving::put_food_bank(&mut tx, &bank, now).await?;
        banks.push(bank.id);
    }
    let seats: [Seat; 10] = [
        (KEEPER, "Ada", Role::Keeper, "en", None, None),
        (GROWER, "Chidi", Role::Grower, "en", None, None),
        (DRIVER, "Ngozi", Role::Driver, "pl", None, None),
        (BUYERS[0], "Mina", Role::Buyer, "en", Some(buyers[0]), None),
        (BUYERS[1], "Luz", Role::Buyer, "es", Some(buyers[0]), None),
        (BUYERS[2], "Rosa", Role::Buyer, "es", Some(buyers[1]), None),
        (BUYERS[3], "Tom", Role::Buyer, "en", Some(buyers[2]), None),
        (BUYERS[4], "Ola", Role::Buyer, "pl", Some(buyers[2]), None),
        (PANTRIES[0], "Lucía", Role::Pantry, "es", None, Some(banks[0])),
        (PANTRIES[1], "Ben", Role::Pantry, "en", None, Some(banks[1])),
    ];
    for (chat_id, name, role, language, buyer_id, partner_id) in seats {
        let is_metric = chat_id % 2 == 1;
        let person = Person {
            id: tx.new_id(now),
            chat_id,
            name: name.into(),
            role,
            language: language.into(),
            units: if is_metric { UnitSystem::Metric } else { UnitSystem::Avoirdupois },
            hour_clock: if is_metric { HourClock::TwentyFour } else { HourClock::Twelve },
            quiet: Some(QuietHours::USUAL),
            buyer_id,
            partner_id,
        };
        people::join(&mut tx, &person, now).await?;
    }
    tx.commit().await?;
    Ok(())
}
