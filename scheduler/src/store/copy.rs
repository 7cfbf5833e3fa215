//! A copy of a farm's database for a rehearsal: the farm as it is, and nothing of the messaging service.

use super::{Error, Result, Store, private};
use sqlx::any::AnyPoolOptions;
use std::path::Path;

/// Copies the SQLite database at `url` as it is at this moment into the new file `target`, also while a bot writes to it, and
/// forgets in the copy what the real service knows and a local one does not: update and message numbers. The database
/// itself is only read.
///
/// # Errors
/// [`Error::Unopened`] when `url` is no SQLite database that is there, or `target` cannot be made.
pub async fn copy_sqlite(url: &str, target: &Path) -> Result<()> {
    let Some(path) = url.strip_prefix("sqlite:") else {
        return Err(Error::Unopened { why: "only a copy of a SQLite database can be rehearsed on".into() });
    };
    let path = path.split('?').next().unwrap_or_default();
    sqlx::any::install_default_drivers();
    let pool = AnyPoolOptions::new().max_connections(1).connect(&format!("sqlite:{path}?mode=ro")).await;
    let pool = pool.map_err(Error::unopened)?;
    // An empty file is filled, and keeps who may read it.
    private::new_file(target).map_err(|error| Error::Unopened { why: format!("{}: {error}", target.display()) })?;
    let copied = sqlx::query("VACUUM INTO $1").bind(target.to_string_lossy().into_owned()).execute(&pool).await;
    pool.close().await;
    copied.map_err(Error::unopened)?;
    let store = Store::open(&format!("sqlite://{}", target.display())).await?;
    let mut tx = store.begin().await?;
    for statement in ["DELETE FROM inbox", "DELETE FROM card"] {
        tx.execute(sqlx::query(statement)).await?;
    }
    tx.commit().await?;
    store.close().await;
    Ok(())
}
