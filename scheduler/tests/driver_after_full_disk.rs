//! Why a connection is closed after a failure: what the SQLite driver does with one whose transaction SQLite has taken back by
//! itself. Should this test fail after an upgrade of the driver, the driver has been mended.

use sqlx::sqlite::SqliteConnectOptions;
use sqlx::{Connection, Executor, SqliteConnection};

async fn rows(connection: &mut SqliteConnection) -> i64 {
    sqlx::query_scalar("SELECT COUNT(*) FROM line").fetch_one(connection).await.expect("counts")
}

#[tokio::test]
async fn after_a_full_disk_the_driver_reports_commits_that_do_not_happen() {
    let folder = tempfile::tempdir().expect("a folder");
    let options = SqliteConnectOptions::new().filename(folder.path().join("farm.sqlite")).create_if_missing(true);
    let mut connection = SqliteConnection::connect_with(&options).await.expect("connects");
    connection.execute("PRAGMA journal_mode = WAL; CREATE TABLE line (text TEXT)").await.expect("a table");
    connection.execute("PRAGMA max_page_count = 1").await.expect("as if the disk were full");
    let mut tx = connection.begin().await.expect("begins");
    let large = tx.execute("INSERT INTO line VALUES (printf('%.*c', 1000000, 'x'))").await;
    assert_eq!(large.expect_err("full").as_database_error().and_then(|error| error.code()).as_deref(), Some("13"));
    drop(tx);
    connection.execute("PRAGMA max_page_count = 1000000").await.expect("there is space again");
    assert!(connection.is_in_transaction(), "the driver still counts the one that SQLite took back");
    // A transaction that only reads is dropped, which leaves its savepoint open: it is the real transaction from now on.
    let mut tx = connection.begin().await.expect("begins a savepoint");
    assert_eq!(rows(&mut tx).await, 0);
    drop(tx);
    let mut tx = connection.begin().await.expect("begins a savepoint");
    tx.execute("INSERT INTO line VALUES ('5 lb shiitake')").await.expect("writes");
    tx.commit().await.expect("is reported as committed");
    assert_eq!(rows(&mut connection).await, 1, "seen from within");
    connection.close().await.expect("a clean stop");
    let mut connection = SqliteConnection::connect_with(&options).await.expect("connects");
    assert_eq!(rows(&mut connection).await, 0, "it was never there");
}
