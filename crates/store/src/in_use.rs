//! A mark in PostgreSQL that a program runs on these data, so that nothing is restored
//! underneath it: an advisory lock, shared by programs, alone for a restore.

use sqlx::{AnyConnection, Connection};
use tokio::sync::Mutex;

use crate::{StoreError, open::without_password};

/// The lock's number, which means nothing: "lentic" in ASCII.
const LOCK: i64 = 0x6c65_6e74_6963;

/// The lock, which lasts as long as its connection.
#[derive(Debug)]
pub(crate) struct Mark(Mutex<Option<AnyConnection>>);

impl Mark {
    /// Takes the mark away.
    pub(crate) async fn release(&self) {
        if let Some(connection) = self.0.lock().await.take() {
            // A connection that can't be closed is gone, and the lock with it.
            let _ = connection.close().await;
        }
    }
}

/// Marks the data as in use beside others.
pub(crate) async fn shared(address: &str) -> Result<Mark, StoreError> {
    const SHARED: &str = "SELECT CASE WHEN pg_try_advisory_lock_shared($1) THEN 1 ELSE 0 END";
    mark(address, SHARED).await
}

/// Marks the data as in nobody else's use.
pub(crate) async fn alone(address: &str) -> Result<Mark, StoreError> {
    const ALONE: &str = "SELECT CASE WHEN pg_try_advisory_lock($1) THEN 1 ELSE 0 END";
    mark(address, ALONE).await
}

async fn mark(address: &str, sql: &'static str) -> Result<Mark, StoreError> {
    let mut connection = AnyConnection::connect(address).await?;
    let got: i32 = sqlx::query_scalar(sql)
        .bind(LOCK)
        .fetch_one(&mut connection)
        .await?;
    if got == 1 {
        return Ok(Mark(Mutex::new(Some(connection))));
    }
    Err(StoreError::InUse {
        place: without_password(address),
    })
}
