//! Backups and migrations by value: what was in a database is there afterwards, alike on SQLite and on PostgreSQL (where
//! `PINSET_TEST_POSTGRES` names a server), from one to the other, and from every released version.

use scheduler::clock::UtcSeconds;
use scheduler::store::backup::file::{Line, Reader, Value};
use scheduler::store::backup::{self, Error};
use scheduler::store::{Store, settings};
use sqlx::migrate::Migrator;
use sqlx::{AnyPool, Connection, Row};
use std::collections::BTreeMap;
use std::path::Path;

const NOW: UtcSeconds = UtcSeconds::new(1_780_700_000);
/// Read from their folder by sqlx itself, so that it would be noticed if the program built in anything else.
const MIGRATIONS: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../migrations");
/// Rows for every table of every released version.
const RELEASED: [(i64, &str); 5] = [
    (1, include_str!("released/0001.sql")),
    (2, include_str!("released/0002.sql")),
    (3, include_str!("released/0003.sql")),
    (4, include_str!("released/0004.sql")),
    (5, include_str!("released/0005.sql")),
];
const NEWEST_RELEASED: i64 = 5;

/// Rows by table, each as its values by column.
type Picture = BTreeMap<String, Vec<BTreeMap<String, Value>>>;

/// Databases to try on: a new SQLite file, and a new PostgreSQL database where there is a server.
struct Places {
    folder: tempfile::TempDir,
    test: &'static str,
    made: usize,
}

impl Places {
    fn new(test: &'static str) -> Places {
        Places { folder: tempfile::tempdir().expect("a folder"), test, made: 0 }
    }

    fn sqlite(&mut self) -> String {
        self.made += 1;
        format!("sqlite://{}?mode=rwc", self.folder.path().join(format!("{}.sqlite", self.made)).display())
    }

    async fn postgres(&mut self) -> Option<String> {
        let Ok(server) = std::env::var("PINSET_TEST_POSTGRES") else {
            eprintln!("skipped on PostgreSQL: PINSET_TEST_POSTGRES is not set");
            return None;
        };
        self.made += 1;
        let database = format!("pinset_{}_{}_{}", self.test, self.made, std::process::id());
        let mut connection = sqlx::PgConnection::connect(&server).await.expect("the server answers");
        for statement in [format!("DROP DATABASE IF EXISTS {database}"), format!("CREATE DATABASE {database}")] {
            sqlx::query(sqlx::AssertSqlSafe(statement)).execute(&mut connection).await.expect("a new database");
        }
        let (front, _) = server.rsplit_once('/').expect("a URL with a database");
        Some(format!("{front}/{database}"))
    }

    async fn each(&mut self) -> Vec<String> {
        let mut urls = vec![self.sqlite()];
        urls.extend(self.postgres().await);
        urls
    }
}

/// A database as the released version `version` left it, with rows in every table.
async fn released(url: &str, version: i64) {
    sqlx::any::install_default_drivers();
    let pool = AnyPool::connect(url).await.expect("connects");
    let migrations = Migrator::new(Path::new(MIGRATIONS)).await.expect("the folder");
    migrations.run_to(version, &pool).await.expect("migrates");
    for (_, rows) in RELEASED.iter().filter(|(number, _)| *number <= version) {
        sqlx::raw_sql(*rows).execute(&pool).await.expect("fills");
    }
    pool.close().await;
}

async fn backed_up(url: &str) -> Vec<u8> {
    let store = Store::open(url).await.expect("opens");
    let (bytes, _) = backup::write(&store, Vec::new(), NOW).await.expect("writes");
    store.close().await;
    bytes
}

fn picture(backup: &[u8]) -> Picture {
    let (_, mut reader) = Reader::begin(backup).expect("a backup");
    let mut picture = Picture::new();
    let mut current = (String::new(), Vec::new());
    while let Some(line) = reader.next_line().expect("whole") {
        match line {
            Line::Table { name, columns } => {
                picture.insert(name.clone(), Vec::new());
                current = (name, columns);
            }
            Line::Row(values) => {
                let row = current.1.iter().cloned().zip(values).collect();
                picture.get_mut(&current.0).expect("begun").push(row);
            }
        }
    }
    for rows in picture.values_mut() {
        // The databases sort texts differently.
        rows.sort_by_key(|row| format!("{row:?}"));
    }
    picture
}

/// How many rows the database says a table has.
async fn counted(url: &str, table: &str) -> i64 {
    let pool = AnyPool::connect(url).await.expect("connects");
    let text = format!("SELECT COUNT(*) AS number FROM {table}");
    let row = sqlx::query(sqlx::AssertSqlSafe(text)).fetch_one(&pool).await.expect("counts");
    pool.close().await;
    row.get("number")
}

#[tokio::test]
async fn everything_comes_back_in_every_kind_of_database() {
    let mut places = Places::new("restore");
    for from in places.each().await {
        released(&from, NEWEST_RELEASED).await;
        let bytes = backed_up(&from).await;
        let before = picture(&bytes);
        let rows: usize = before.values().map(Vec::len).sum();
        let checked = backup::check(bytes.as_slice()).expect("whole");
        assert_eq!((checked.rows, checked.made_at), (rows as u64, NOW));
        for to in places.each().await {
            let restored = backup::restore(bytes.as_slice(), &to, false).await.expect("restores");
            assert_eq!(restored, checked);
            assert_eq!(picture(&backed_up(&to).await), before, "{from} to {to}");
            for (table, rows) in &before {
                assert_eq!(counted(&to, table).await, rows.len() as i64, "{table}");
            }
            // A few values as they were written by hand in `released/`, read without the backup's code.
            let pool = AnyPool::connect(&to).await.expect("connects");
            let row = sqlx::query(
                "SELECT b.id AS id, p.name AS name, s.value AS value, m.grams AS grams, m.person_id AS who
                FROM buyer AS b, person AS p, setting AS s, lot_move AS m
                WHERE b.weight = 3 AND p.id = 1302 AND s.name = 'odd' AND m.id = 3502",
            )
            .fetch_one(&pool)
            .await
            .expect("one row");
            assert_eq!(row.get::<i64, _>("id"), i64::MAX);
            assert_eq!(row.get::<String, _>("name"), "Żaneta");
            assert_eq!(row.get::<String, _>("value"), "zażółć \"quoted\", 'single', =1+1\nsecond line");
            assert_eq!((row.get::<i64, _>("grams"), row.get::<i64, _>("who")), (-100, 1301));
            let row =
                sqlx::query("SELECT left_at AS gone FROM buyer WHERE id = 1101").fetch_one(&pool).await.expect("one");
            assert_eq!(row.get::<Option<i64>, _>("gone"), None);
            pool.close().await;
        }
    }
}

#[tokio::test]
async fn every_released_version_is_brought_up_to_date_and_keeps_its_rows() {
    let mut places = Places::new("released");
    for (version, _) in RELEASED {
        for url in places.each().await {
            released(&url, version).await;
            // The picture of the old version, read with the old version's columns.
            let old = old_picture(&url).await;
            assert!(old.values().all(|rows| !rows.is_empty()), "every table of version {version} has rows");
            let new = picture(&backed_up(&url).await);
            for (table, rows) in old {
                for row in rows {
                    let is_kept = new[&table].iter().any(|one| row.iter().all(|(column, value)| one[column] == *value));
                    assert!(is_kept, "{table} lost {row:?} from version {version} on {url}");
                }
            }
        }
    }
}

/// Rows of every table that the database has, read straight from it.
async fn old_picture(url: &str) -> Picture {
    let pool = AnyPool::connect(url).await.expect("connects");
    let is_sqlite = url.starts_with("sqlite");
    let names = if is_sqlite {
        "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite%' AND name <> '_sqlx_migrations'"
    } else {
        "SELECT CAST(tablename AS TEXT) AS name FROM pg_tables WHERE schemaname = 'public' AND tablename <> '_sqlx_migrations'"
    };
    let mut picture = Picture::new();
    for name in sqlx::query(names).fetch_all(&pool).await.expect("reads") {
        let name: String = name.get("name");
        let rows =
            sqlx::query(sqlx::AssertSqlSafe(format!("SELECT * FROM {name}"))).fetch_all(&pool).await.expect("reads");
        picture.insert(name, rows.iter().map(read_plainly).collect());
    }
    pool.close().await;
    picture
}

fn read_plainly(row: &sqlx::any::AnyRow) -> BTreeMap<String, Value> {
    use sqlx::Column;
    let value = |column: &str| match row.try_get::<Option<i64>, _>(column) {
        Ok(number) => number.map(Value::Integer),
        Err(_) => row.try_get::<Option<String>, _>(column).expect("a number or a text").map(Value::Text),
    };
    let columns = row.columns().iter().map(|column| column.name());
    columns.map(|name| (name.to_owned(), value(name).unwrap_or(Value::Null))).collect()
}

#[tokio::test]
async fn a_backup_of_an_older_version_is_restored_and_brought_up_to_date() {
    let mut places = Places::new("older");
    let from = places.sqlite();
    released(&from, 3).await;
    // Written by hand, as a program of that version would: no later table, no later migration.
    let bytes = old_backup(&from, 3).await;
    for to in places.each().await {
        let restored = backup::restore(bytes.as_slice(), &to, false).await.expect("restores");
        assert_eq!(restored.schema, 3);
        assert_eq!(counted(&to, "lot").await, 2);
        assert_eq!(counted(&to, "offer").await, 0, "later tables are there");
        Store::open(&to).await.expect("is up to date").close().await;
    }
}

async fn old_backup(url: &str, schema: i64) -> Vec<u8> {
    use scheduler::store::backup::file::{Header, Writer};
    let mut writer = Writer::begin(Vec::new(), &Header::new(schema, NOW.get())).expect("begins");
    let old = old_picture(url).await;
    // Those referred to first.
    let first = ["setting", "buyer", "partner", "person", "batch", "flush", "lot"];
    let order = first.iter().copied().chain(old.keys().map(String::as_str).filter(|name| !first.contains(name)));
    for table in order {
        let rows = &old[table];
        writer.table(table, rows[0].keys().cloned().collect()).expect("writes");
        for row in rows {
            let values: Vec<Value> = row.values().cloned().collect();
            writer.row(&values).expect("writes");
        }
    }
    writer.finish().expect("finishes").0
}

#[tokio::test]
async fn what_must_not_be_restored_is_refused_and_changes_nothing() {
    let mut places = Places::new("refused");
    let from = places.sqlite();
    released(&from, NEWEST_RELEASED).await;
    let good = backed_up(&from).await;
    let mut cut = good.clone();
    cut.truncate(good.len() - 20);
    let mut changed = good.clone();
    let middle = changed.len() / 2;
    changed[middle] ^= 1;
    let newer = {
        use scheduler::store::backup::file::{Header, Writer};
        Writer::begin(Vec::new(), &Header::new(9999, 0)).expect("begins").finish().expect("finishes").0
    };
    let incomplete = {
        use scheduler::store::backup::file::{Header, Writer};
        Writer::begin(Vec::new(), &Header::new(5, 0)).expect("begins").finish().expect("finishes").0
    };
    for to in places.each().await {
        released(&to, NEWEST_RELEASED).await;
        let store = Store::open(&to).await.expect("opens");
        let mut tx = store.begin().await.expect("begins");
        settings::put(&mut tx, "here", "before").await.expect("puts");
        tx.commit().await.expect("commits");
        store.close().await;
        let before = picture(&backed_up(&to).await);
        let refused = backup::restore(good.as_slice(), &to, false).await.expect_err("holds a farm");
        assert!(matches!(refused, Error::NotEmpty), "{refused}");
        for (bytes, expected) in [
            (&b"no backup at all"[..], "not a backup"),
            (&cut, "damaged"),
            (&changed, "damaged"),
            (&newer, "newer version"),
            (&incomplete, "tables"),
        ] {
            let refused = backup::restore(bytes, &to, true).await.expect_err(expected).to_string();
            assert!(refused.contains(expected), "{refused}");
            assert_eq!(picture(&backed_up(&to).await), before, "{expected}");
        }
        backup::restore(good.as_slice(), &to, true).await.expect("replaces");
        assert_eq!(picture(&backed_up(&to).await), picture(&good));
    }
}

#[tokio::test]
async fn a_backup_is_one_picture_while_others_write() {
    let mut places = Places::new("live");
    for url in places.each().await {
        let store = Store::open(&url).await.expect("opens");
        let writing = {
            let store = store.clone();
            tokio::spawn(async move {
                for number in 0..200 {
                    // Two rows that always agree when they are read in one picture.
                    let mut tx = store.begin().await.expect("begins");
                    settings::put(&mut tx, "a", &number.to_string()).await.expect("puts");
                    settings::put(&mut tx, "z", &number.to_string()).await.expect("puts");
                    tx.commit().await.expect("commits");
                }
            })
        };
        let mut pictures = 0;
        while !writing.is_finished() {
            let (bytes, _) = backup::write(&store, Vec::new(), NOW).await.expect("writes");
            let settings: Vec<String> =
                picture(&bytes)["setting"].iter().map(|row| format!("{:?}", row["value"])).collect();
            assert!(settings.windows(2).all(|pair| pair[0] == pair[1]), "{settings:?}");
            pictures += 1;
        }
        writing.await.expect("writes");
        assert!(pictures > 0);
        store.close().await;
    }
}
