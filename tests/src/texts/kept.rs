//! The farm's record as it was at some moment, put back in place while the bot runs: every text meets the same farm, and
//! setting it up once is enough.

use anyhow::Context;
use sqlx::{AssertSqlSafe, Connection, Row, SqliteConnection};
use std::path::{Path, PathBuf};

/// A database and the folder its copies are kept in.
pub struct Keeper {
    database: PathBuf,
    folder: PathBuf,
    number: usize,
}

/// A copy.
pub struct Kept(PathBuf);

impl Keeper {
    /// # Panics
    /// When `url` is not of SQLite.
    pub fn of(url: &str, folder: &Path) -> Keeper {
        let path = url.strip_prefix("sqlite://").expect("the stage keeps a file");
        Keeper { database: path.into(), folder: folder.to_owned(), number: 0 }
    }

    async fn open(&self) -> anyhow::Result<SqliteConnection> {
        SqliteConnection::connect(&format!("sqlite://{}", self.database.display()))
            .await
            .context("the stage's database")
    }

    /// Keeps the record as it is now.
    ///
    /// # Errors
    /// When it cannot be written.
    pub async fn keep(&mut self) -> anyhow::Result<Kept> {
        self.number += 1;
        let path = self.folder.join(format!("kept-{}", self.number));
        let mut connection = self.open().await?;
        let query = sqlx::query("VACUUM INTO $1").bind(path.display().to_string());
        query.execute(&mut connection).await?;
        connection.close().await?;
        Ok(Kept(path))
    }

    /// Makes the record what it was. Nobody may be writing.
    ///
    /// # Errors
    /// When it cannot be written.
    pub async fn put_back(&self, kept: &Kept) -> anyhow::Result<()> {
        let mut connection = self.open().await?;
        sqlx::query("PRAGMA foreign_keys = OFF").execute(&mut connection).await?;
        let attach = sqlx::query("ATTACH DATABASE $1 AS kept").bind(kept.0.display().to_string());
        attach.execute(&mut connection).await?;
        let tables = "SELECT name FROM kept.sqlite_master WHERE type = 'table'
             AND name NOT LIKE 'sqlite_%' AND name NOT LIKE '_sqlx_%'";
        let tables = sqlx::query(tables).fetch_all(&mut connection).await?;
        let mut tx = connection.begin().await?;
        for row in tables {
            let name: String = row.get("name");
            for statement in
                [format!("DELETE FROM main.{name}"), format!("INSERT INTO main.{name} SELECT * FROM kept.{name}")]
            {
                sqlx::query(AssertSqlSafe(statement)).execute(&mut *tx).await?;
            }
        }
        tx.commit().await?;
        Ok(connection.close().await?)
    }
}

impl Drop for Kept {
    fn drop(&mut self) {
        // The folder goes with the stage anyway.
        let _ = std::fs::remove_file(&self.0);
    }
}
