//! What somebody else wrote into the database, past the program.

use sqlx::{AnyConnection, AssertSqlSafe, Connection};

/// Runs a statement on the database with this URL, past the program; the rows it touched.
///
/// # Errors
/// When the database does not take it.
pub async fn write(url: &str, statement: &str) -> anyhow::Result<u64> {
    sqlx::any::install_default_drivers();
    let mut connection = AnyConnection::connect(url).await?;
    let done = sqlx::query(AssertSqlSafe(statement.to_owned())).execute(&mut connection).await?;
    connection.close().await?;
    Ok(done.rows_affected())
}
