//! The migrations in `migrations/`, built into the program.

use sqlx::SqlSafeStr;
use sqlx::migrate::{Migration, MigrationType, Migrator};
use std::sync::LazyLock;

/// Number, subject and SQL of each.
const FILES: &[(i64, &str, &str)] = &include!(concat!(env!("OUT_DIR"), "/migrations.rs"));

/// Each with the checksum that databases remember it by.
pub(super) static MIGRATIONS: LazyLock<Migrator> = LazyLock::new(|| {
    let migration = |&(number, subject, sql): &(i64, &'static str, &'static str)| {
        Migration::new(number, subject.into(), MigrationType::Simple, sql.into_sql_str(), false)
    };
    Migrator::with_migrations(FILES.iter().map(migration).collect())
});
