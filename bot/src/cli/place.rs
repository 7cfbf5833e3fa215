//! Where a farm's database is, and whether it is the right one. Only `serve` begins a new farm, and only where the
//! configuration's farm has had no database before. A mark, beside the configuration file unless said, says which farm it serves.

use super::FarmOptions;
use crate::backups;
use crate::config::Config;
use crate::conversation::joining;
use anyhow::{Context, bail};
use scheduler::store::{self, Error, Store, people, settings};
use serde::{Deserialize, Serialize};
use std::io::{ErrorKind, Write};
use std::path::{Path, PathBuf};

/// The setting that names the farm, in its database and in every backup of it.
const FARM_ID: &str = "farm_id";
/// What stands above the mark for whoever opens it.
const HEADING: &str = "# Written by `pinset serve`: which farm is served with the configuration beside this file, and where its\n\
                       # database was last. It keeps the program from beginning a new farm at a wrong path.\n";

/// Which farm a configuration serves.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Mark {
    farm: String,
    database: String,
}

/// What a database holds.
#[derive(Clone, Debug, PartialEq, Eq)]
enum Found {
    Nothing,
    /// A farm that has no name yet.
    Unnamed,
    Farm(String),
}

/// What `serve` does.
#[derive(Debug, PartialEq, Eq)]
enum Decision {
    Serve,
    Begin,
    Refuse(&'static str),
}

/// What else decides whether a new farm may begin.
#[derive(Clone, Copy, Debug)]
struct Circumstances {
    is_asked_for: bool,
    has_backups: bool,
    /// Whether the mark can be left for the next start.
    can_mark: bool,
}

const MISSING: &str = "there is no farm's database";
const ANOTHER: &str = "another farm is kept";
const NOT_EMPTY: &str = "--new begins a new farm, but one is kept already";
const BACKUPS: &str = "the backup folder holds backups of a farm, and there is no database";
const NO_MARK: &str =
    "the file that remembers which farm is served (--mark) cannot be written, and there is no database";

/// `Err` is why the farm that was found is not the one that the mark names.
fn is_right(mark: Option<&Mark>, found: &Found) -> Result<(), &'static str> {
    match (mark, found) {
        (None, _) => Ok(()),
        (Some(mark), Found::Farm(id)) if *id == mark.farm => Ok(()),
        (Some(_), Found::Nothing) => Err(MISSING),
        (Some(_), Found::Unnamed | Found::Farm(_)) => Err(ANOTHER),
    }
}

fn decide(mark: Option<&Mark>, found: &Found, circumstances: Circumstances) -> Decision {
    let Circumstances { is_asked_for, has_backups, can_mark } = circumstances;
    match (found, is_right(mark, found)) {
        (Found::Nothing, _) if is_asked_for => Decision::Begin,
        (Found::Nothing, Err(why)) => Decision::Refuse(why),
        (Found::Nothing, Ok(())) if has_backups => Decision::Refuse(BACKUPS),
        (Found::Nothing, Ok(())) if !can_mark => Decision::Refuse(NO_MARK),
        (Found::Nothing, Ok(())) => Decision::Begin,
        (_, Err(why)) => Decision::Refuse(why),
        (_, Ok(())) if is_asked_for => Decision::Refuse(NOT_EMPTY),
        (_, Ok(())) => Decision::Serve,
    }
}

/// The database that is to be served, and the mark to leave once it is.
pub(super) struct Place {
    mark_file: PathBuf,
    database: String,
}

impl Place {
    pub fn of(options: &FarmOptions) -> Place {
        let beside = || options.config.with_extension("farm");
        Place { mark_file: options.mark.clone().unwrap_or_else(beside), database: store::place(&options.database) }
    }

    fn mark(&self) -> anyhow::Result<Option<Mark>> {
        let file = self.mark_file.display();
        let text = match std::fs::read_to_string(&self.mark_file) {
            Ok(text) => text,
            Err(error) if error.kind() == ErrorKind::NotFound => return Ok(None),
            Err(error) => return Err(error).with_context(|| format!("{file} cannot be read")),
        };
        let mark = toml::from_str(&text);
        mark.map(Some).with_context(|| format!("{file} is damaged; remove it if the database is the right one"))
    }

    /// Opens the database to serve it; makes one for a new farm and says so.
    ///
    /// # Errors
    /// When a new farm would begin where none should, or another farm is kept there.
    pub async fn open_to_serve(&self, url: &str, is_new: bool, config: &Config) -> anyhow::Result<Store> {
        let mark = self.mark()?;
        let store = match Store::open_existing(url).await {
            Ok(store) => Some(store),
            Err(Error::Missing { .. }) => None,
            Err(error) => return Err(error.into()),
        };
        let found = match &store {
            Some(store) => found(store).await?,
            None => Found::Nothing,
        };
        let circumstances = Circumstances {
            is_asked_for: is_new,
            has_backups: config.backup.folder.as_deref().is_some_and(|folder| !backups::written(folder).is_empty()),
            can_mark: tempfile::tempfile_in(folder_of(&self.mark_file)).is_ok(),
        };
        match decide(mark.as_ref(), &found, circumstances) {
            Decision::Serve => {}
            Decision::Begin => println!("A new farm begins. Its database is {}.", self.database),
            Decision::Refuse(why) => bail!(self.refusal(why, mark.as_ref(), true)),
        }
        Ok(match store {
            Some(store) => store,
            None => Store::open(url).await?,
        })
    }

    /// Opens a database that must be there, and be this configuration's.
    ///
    /// # Errors
    /// When it is not.
    pub async fn open_existing(&self, url: &str) -> anyhow::Result<Store> {
        let mark = self.mark()?;
        let store = match Store::open_existing(url).await {
            Ok(store) => store,
            Err(Error::Missing { .. }) => bail!(self.refusal(MISSING, mark.as_ref(), false)),
            Err(error) => return Err(error.into()),
        };
        if let Err(why) = is_right(mark.as_ref(), &found(&store).await?) {
            store.close().await;
            bail!(self.refusal(why, mark.as_ref(), false));
        }
        Ok(store)
    }

    /// The same for a database that may be damaged: up to date where it can be brought so, and otherwise as it is.
    ///
    /// # Errors
    /// As [`Place::open_existing`].
    pub async fn open_to_check(&self, url: &str) -> anyhow::Result<Store> {
        let mark = self.mark()?;
        let store = match Store::open_existing(url).await {
            Ok(store) => store.examined(),
            Err(Error::Missing { .. }) => bail!(self.refusal(MISSING, mark.as_ref(), false)),
            Err(error @ Error::NewerDatabase { .. }) => return Err(error.into()),
            Err(error) => {
                let Ok(store) = Store::open_as_is(url).await else { return Err(error.into()) };
                println!("note: the bot could not start with this database: {error}");
                store
            }
        };
        // A damaged one may not say which farm it holds.
        if let Ok(found) = found(&store).await
            && let Err(why) = is_right(mark.as_ref(), &found)
        {
            store.close().await;
            bail!(self.refusal(why, mark.as_ref(), false));
        }
        Ok(store)
    }

    fn refusal(&self, why: &str, mark: Option<&Mark>, is_serving: bool) -> String {
        let mut text = format!("{why} at {}, and nothing was made or changed. ", self.database);
        if let Some(mark) = mark {
            text += &format!("This configuration's farm was last kept at {}. ", mark.database);
        }
        text += "Name the right one with --database";
        if why == ANOTHER {
            text += &format!("; or, if this is the right one, remove {}", self.mark_file.display());
        } else if why == NOT_EMPTY {
            text += ", or leave --new out";
        } else if is_serving {
            text += ", put a backup back with `pinset restore`, or begin a new, empty farm with --new";
        } else {
            text += "; only `pinset serve` begins a new farm";
        }
        text
    }

    /// Names the farm where it has no name yet, and leaves the mark. A folder that cannot be written is no reason to stop
    /// serving a farm that is there.
    ///
    /// # Errors
    /// Whatever the store fails with.
    pub async fn leave_mark(&self, store: &Store) -> anyhow::Result<()> {
        let mut tx = store.begin().await?;
        let farm = match settings::get(&mut tx, FARM_ID).await? {
            Some(id) => id,
            None => {
                let mut id = [0_u8; 16];
                getrandom::fill(&mut id).map_err(|error| anyhow::anyhow!("no random number: {error}"))?;
                let id: String = id.iter().map(|byte| format!("{byte:02x}")).collect();
                settings::put(&mut tx, FARM_ID, &id).await?;
                id
            }
        };
        tx.commit().await?;
        let mark = Mark { farm, database: self.database.clone() };
        if self.mark().ok().flatten().as_ref() != Some(&mark)
            && let Err(error) = self.write(&mark)
        {
            let error = format!("{error:#}");
            tracing::warn!(error, "which farm this is cannot be remembered; a wrong --database may go unnoticed");
        }
        Ok(())
    }

    fn write(&self, mark: &Mark) -> anyhow::Result<()> {
        // Given its name once it is whole.
        let mut file = tempfile::NamedTempFile::new_in(folder_of(&self.mark_file))?;
        file.write_all(format!("{HEADING}{}", toml::to_string(mark)?).as_bytes())?;
        file.as_file().sync_all()?;
        file.persist(&self.mark_file)?;
        Ok(())
    }

    /// Gives a restored farm the name that the mark has, where the backup is older than names.
    ///
    /// # Errors
    /// Whatever the store fails with.
    pub async fn name_restored(&self, url: &str) -> anyhow::Result<()> {
        let Some(mark) = self.mark().ok().flatten() else { return Ok(()) };
        let store = Store::open_existing(url).await?;
        let mut tx = store.begin().await?;
        if settings::get(&mut tx, FARM_ID).await?.is_none() {
            settings::put(&mut tx, FARM_ID, &mark.farm).await?;
        }
        tx.commit().await?;
        store.close().await;
        Ok(())
    }
}

async fn found(store: &Store) -> store::Result<Found> {
    let mut tx = store.begin_reading().await?;
    if let Some(id) = settings::get(&mut tx, FARM_ID).await? {
        return Ok(Found::Farm(id));
    }
    let was_served = settings::get(&mut tx, joining::BOT_NAME).await?.is_some();
    Ok(if was_served || !people::everybody(&mut tx).await?.is_empty() { Found::Unnamed } else { Found::Nothing })
}

fn folder_of(file: &Path) -> &Path {
    file.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_farm_begins_only_where_none_has_been() {
        let mark = Mark { farm: "a".into(), database: "/srv/farm.sqlite".into() };
        let (own, other) = (Found::Farm("a".into()), Found::Farm("b".into()));
        let usual = Circumstances { is_asked_for: false, has_backups: false, can_mark: true };
        let asked = Circumstances { is_asked_for: true, ..usual };
        let backed_up = Circumstances { has_backups: true, ..usual };
        let unmarkable = Circumstances { can_mark: false, ..usual };
        for (mark, found, circumstances, decision) in [
            (None, &Found::Nothing, usual, Decision::Begin),
            (None, &Found::Nothing, backed_up, Decision::Refuse(BACKUPS)),
            (None, &Found::Nothing, unmarkable, Decision::Refuse(NO_MARK)),
            (None, &Found::Nothing, Circumstances { can_mark: false, ..asked }, Decision::Begin),
            (None, &Found::Unnamed, usual, Decision::Serve),
            (None, &other, unmarkable, Decision::Serve),
            (None, &other, asked, Decision::Refuse(NOT_EMPTY)),
            (Some(&mark), &own, usual, Decision::Serve),
            (Some(&mark), &other, usual, Decision::Refuse(ANOTHER)),
            (Some(&mark), &Found::Unnamed, usual, Decision::Refuse(ANOTHER)),
            (Some(&mark), &other, asked, Decision::Refuse(ANOTHER)),
            (Some(&mark), &Found::Nothing, usual, Decision::Refuse(MISSING)),
            (Some(&mark), &Found::Nothing, asked, Decision::Begin),
        ] {
            assert_eq!(decide(mark, found, circumstances), decision, "{mark:?} {found:?} {circumstances:?}");
        }
    }
}
