//! How the tables come to be: embedded migrations, one text for both databases.

use std::borrow::Cow;

use futures_util::future::BoxFuture;
use sqlx::{
    AnyPool, AssertSqlSafe, SqlSafeStr,
    error::BoxDynError,
    migrate::{Migration, MigrationSource, MigrationType, Migrator},
};

use crate::{StoreError, open::Dialect};

/// Number, name and text of every migration, in order. One that has been released never changes.
const MIGRATIONS: &[(i64, &str, &str)] = &[(1, "start", include_str!("migrations/0001_start.sql"))];

/// The tables, each after those it refers to; what a backup holds.
pub(crate) const TABLES: &[&str] = &[
    "counters",
    "events",
    "settings",
    "users",
    "commissions",
    "grade_rules",
    "pieces",
    "piece_outlines",
    "piece_measures",
    "piece_fits",
    "photographs",
    "lots",
    "layouts",
    "layout_steps",
    "layout_pieces",
    "revisions",
    "uploads",
    "jobs",
];

/// The number of the newest migration.
pub(crate) fn newest() -> i64 {
    MIGRATIONS.last().map_or(0, |(number, ..)| *number)
}

#[derive(Debug)]
struct Embedded {
    dialect: Dialect,
    to: i64,
}

impl MigrationSource<'static> for Embedded {
    fn resolve(self) -> BoxFuture<'static, Result<Vec<Migration>, BoxDynError>> {
        let migrations = MIGRATIONS
            .iter()
            .filter(|(number, ..)| *number <= self.to)
            .map(|(number, name, text)| {
                Migration::new(
                    *number,
                    Cow::Borrowed(*name),
                    MigrationType::Simple,
                    AssertSqlSafe(in_dialect(text, self.dialect)).into_sql_str(),
                    false,
                )
            })
            .collect();
        Box::pin(std::future::ready(Ok(migrations)))
    }
}

/// The two words in which the databases differ.
fn in_dialect(text: &str, dialect: Dialect) -> String {
    let (id_key, bytes) = match dialect {
        // `INTEGER PRIMARY KEY` is the row number itself, so ids need no second index.
        Dialect::Sqlite => ("INTEGER PRIMARY KEY", "BLOB"),
        Dialect::Postgres => ("BIGINT PRIMARY KEY", "BYTEA"),
    };
    text.replace("ID_KEY", id_key).replace("BYTES", bytes)
}

/// Brings the tables to the newest version.
pub(crate) async fn migrate(pool: &AnyPool, dialect: Dialect) -> Result<(), StoreError> {
    migrate_to(pool, dialect, newest()).await
}

/// Brings the tables to a version, such as that of a backup that fills them.
pub(crate) async fn migrate_to(
    pool: &AnyPool,
    dialect: Dialect,
    to: i64,
) -> Result<(), StoreError> {
    let migrator = Migrator::new(Embedded { dialect, to }).await?;
    migrator.run(pool).await?;
    Ok(())
}
