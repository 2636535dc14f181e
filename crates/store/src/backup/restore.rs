//! Restoring: all of a backup, or nothing of it.

use std::{
    fs,
    path::{Path, PathBuf},
    sync::Arc,
};

use serde::Serialize;
use sqlx::{Any, AssertSqlSafe, Transaction};
use tokio::runtime::Handle;

use super::{check, manifest::Manifest, read::Reading};
use crate::{
    Objects, Place, Store, StoreError,
    folder::DataFolder,
    in_use,
    open::{Dialect, connect, sqlite_address},
    schema,
};

/// What came back.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Restored {
    /// When the backup was made, Unix milliseconds.
    pub made_at_ms: i64,
    /// Rows of all tables.
    pub n_rows: u64,
    /// Objects.
    pub n_objects: u64,
    /// Where the data from before are, when they were in a folder.
    pub kept_aside: Option<PathBuf>,
}

impl Store {
    /// Puts what a backup holds in the place of what is there. The file is read to its end
    /// and checked first; what is there stays until everything of the backup is on the
    /// disk, and a folder's old data are kept aside even then.
    ///
    /// # Errors
    /// `Damaged` when the file is no backup or not whole, `InUse` when a program runs on
    /// these data, or when the database or the disk fails. Nothing has changed then.
    pub async fn restore(file: &Path, place: &Place) -> Result<Restored, StoreError> {
        let path = file.to_owned();
        let manifest = tokio::task::spawn_blocking(move || check::check(&path))
            .await
            .map_err(|_| StoreError::Stopped)??;
        let manifest = Arc::new(manifest);
        let kept_aside = if place.is_postgres() {
            to_postgres(file, place, &manifest).await?;
            None
        } else {
            to_folder(file, place, &manifest).await?
        };
        Ok(Restored {
            made_at_ms: manifest.made_at_ms,
            n_rows: manifest.tables.iter().map(|table| table.n_rows).sum(),
            n_objects: manifest.n_objects,
            kept_aside,
        })
    }
}

/// Fills a new folder, then makes it the current one.
async fn to_folder(
    file: &Path,
    place: &Place,
    manifest: &Arc<Manifest>,
) -> Result<Option<PathBuf>, StoreError> {
    let mut folder = DataFolder::open_alone(&PathBuf::from(&place.data))?;
    let was_empty = !folder.database().exists();
    let before = folder.kept();
    let incoming = folder.incoming()?;
    let filled = fill_folder(file, place, manifest, &incoming).await;
    if let Err(error) = filled {
        // What came in so far is of no use; what was there is untouched.
        let _ = fs::remove_dir_all(&incoming);
        return Err(error);
    }
    folder.take_in(&incoming)?;
    if was_empty {
        // Nothing was ever kept there but an empty folder.
        let _ = fs::remove_dir_all(&before);
        return Ok(None);
    }
    Ok(Some(before))
}

async fn fill_folder(
    file: &Path,
    place: &Place,
    manifest: &Arc<Manifest>,
    incoming: &Path,
) -> Result<(), StoreError> {
    let objects = match &place.objects {
        Some(address) => Objects::open(address)?,
        None => Objects::folder(&incoming.join("objects"))?,
    };
    let address = sqlite_address(&incoming.join("lentic.db"))?;
    let pool = connect(&address, Dialect::Sqlite).await?;
    schema::migrate_to(&pool, Dialect::Sqlite, manifest.tables_version).await?;
    let tx = pool.begin_with("BEGIN IMMEDIATE").await?;
    let read = read_into(file, manifest, tx, objects).await;
    pool.close().await;
    read
}

/// Empties the tables and fills them in one transaction.
async fn to_postgres(
    file: &Path,
    place: &Place,
    manifest: &Arc<Manifest>,
) -> Result<(), StoreError> {
    if manifest.tables_version != schema::newest() {
        return Err(StoreError::Damaged {
            file: file.to_owned(),
            reason: "it is of an older version: restore it to a folder, open that once, and make \
                     a new backup of it"
                .to_owned(),
        });
    }
    let objects = place.objects_apart()?;
    let pool = connect(&place.data, Dialect::Postgres).await?;
    let mark = in_use::alone(&place.data).await?;
    schema::migrate_to(&pool, Dialect::Postgres, manifest.tables_version).await?;
    let mut tx = pool.begin().await?;
    sqlx::query("DELETE FROM sessions")
        .execute(&mut *tx)
        .await?;
    for table in schema::TABLES.iter().rev() {
        let sql = AssertSqlSafe(format!("DELETE FROM {table}"));
        sqlx::query(sql).execute(&mut *tx).await?;
    }
    let read = read_into(file, manifest, tx, objects).await;
    mark.release().await;
    pool.close().await;
    read
}

/// Reads the backup into an open transaction and commits it.
async fn read_into(
    file: &Path,
    manifest: &Arc<Manifest>,
    mut tx: Transaction<'static, Any>,
    objects: Objects,
) -> Result<(), StoreError> {
    let (file, manifest, handle) = (file.to_owned(), Arc::clone(manifest), Handle::current());
    let work = move || -> Result<Transaction<'static, Any>, StoreError> {
        let waiting = handle.clone();
        // What the first migration put in comes from the backup too.
        waiting.block_on(sqlx::query("DELETE FROM counters").execute(&mut *tx))?;
        Reading::new(&file, &manifest, handle).into(&mut tx, &objects)?;
        Ok(tx)
    };
    let tx = tokio::task::spawn_blocking(work)
        .await
        .map_err(|_| StoreError::Stopped)??;
    tx.commit().await?;
    Ok(())
}
