//! A change: one transaction that also appends its events, heard only once it is true.

use std::sync::Arc;

use serde::Serialize;
use serde_json::Value;
use sqlx::{Any, AnyConnection, Transaction};
use tokio::sync::OwnedMutexGuard;

use crate::{
    By, Event, Live, Store, StoreError,
    event::{self, differences},
    open::{Dialect, Inner},
};

/// A transaction under way. Dropped without `commit`, it never happened.
///
/// Writers take turns: within this process by a mutex, between processes by SQLite's
/// own lock or by the counter's row in PostgreSQL. So event ids follow the order in
/// which changes become true, and a reader that resumes after an id misses none.
pub(crate) struct Write {
    tx: Transaction<'static, Any>,
    by: By,
    live: Vec<Live>,
    inner: Arc<Inner>,
    turn: OwnedMutexGuard<i64>,
}

impl Store {
    /// Begins a change.
    pub(crate) async fn write(&self, by: &By) -> Result<Write, StoreError> {
        let turn = Arc::clone(&self.inner.turn).lock_owned().await;
        let tx = match self.inner.dialect {
            Dialect::Sqlite => self.pool().begin_with("BEGIN IMMEDIATE").await?,
            Dialect::Postgres => {
                let mut tx = self.pool().begin().await?;
                sqlx::query("SELECT last FROM counters WHERE name = 'event' FOR UPDATE")
                    .execute(&mut *tx)
                    .await?;
                tx
            }
        };
        Ok(Write {
            tx,
            by: by.clone(),
            live: Vec::new(),
            inner: Arc::clone(&self.inner),
            turn,
        })
    }
}

impl Write {
    /// The connection that the transaction runs on.
    pub(crate) fn conn(&mut self) -> &mut AnyConnection {
        &mut self.tx
    }

    /// Who makes the change.
    pub(crate) fn by(&self) -> &By {
        &self.by
    }

    /// The dialect of the database.
    pub(crate) fn dialect(&self) -> Dialect {
        self.inner.dialect
    }

    /// The next number of a counter, the first being 1.
    pub(crate) async fn next(&mut self, counter: &str) -> Result<i64, StoreError> {
        let sql = "INSERT INTO counters (name, last) VALUES ($1, 1) \
                   ON CONFLICT (name) DO UPDATE SET last = counters.last + 1 RETURNING last";
        Ok(sqlx::query_scalar(sql)
            .bind(counter)
            .fetch_one(self.conn())
            .await?)
    }

    /// Appends an event.
    pub(crate) async fn event(
        &mut self,
        what: &'static str,
        deed: impl Into<String>,
        subject: impl ToString,
        before: Value,
        after: Value,
    ) -> Result<(), StoreError> {
        let event = Event {
            id: self.next("event").await?,
            at_ms: self.by.at_ms,
            who: self.by.who.clone(),
            what: what.to_owned(),
            deed: deed.into(),
            subject: subject.to_string(),
            before,
            after,
        };
        let sql = "INSERT INTO events (id, at_ms, who, noun, what, deed, subject, before, after) \
                   VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)";
        sqlx::query(sql)
            .bind(event.id)
            .bind(event.at_ms)
            .bind(&event.who)
            .bind(what.split('.').next().unwrap_or(what))
            .bind(what)
            .bind(&event.deed)
            .bind(&event.subject)
            .bind(event.before.to_string())
            .bind(event.after.to_string())
            .execute(self.conn())
            .await?;
        self.live.push(Live::Event(Arc::new(event)));
        Ok(())
    }

    /// Appends an event with the fields in which two states of one thing differ.
    pub(crate) async fn change_event(
        &mut self,
        what: &'static str,
        deed: impl Into<String>,
        subject: impl ToString,
        before: &impl Serialize,
        after: &impl Serialize,
    ) -> Result<(), StoreError> {
        let (before, after) =
            differences(serde_json::to_value(before)?, serde_json::to_value(after)?);
        self.event(what, deed, subject, before, after).await
    }

    /// Something to be heard that is no event.
    pub(crate) fn notice(&mut self, live: Live) {
        self.live.push(live);
    }

    /// Makes it true, then heard. Goes on to its end even if the caller stops waiting.
    pub(crate) async fn commit(self) -> Result<(), StoreError> {
        let Self {
            tx,
            live,
            inner,
            mut turn,
            ..
        } = self;
        let end = tokio::spawn(async move {
            tx.commit().await?;
            tell(&inner, &mut turn, live).await;
            Ok(())
        });
        end.await.unwrap_or(Err(StoreError::Stopped))
    }
}

/// Tells listeners what became true, and before that what other processes did meanwhile.
/// The change is true already, so that trouble here is none of the writer's.
async fn tell(inner: &Inner, heard: &mut i64, live: Vec<Live>) {
    let first = live.iter().find_map(|one| match one {
        Live::Event(event) => Some(event.id),
        Live::JobProgress { .. } => None,
    });
    if let Some(first) = first.filter(|first| *first > *heard + 1) {
        // What can't be read now is caught up on later; ids tell a listener of the gap.
        let _ = tell_up_to(inner, heard, first).await;
    }
    for one in live {
        if let Live::Event(event) = &one {
            *heard = event.id;
        }
        // Nobody listening is no trouble.
        let _ = inner.live.send(one);
    }
}

/// Tells listeners the events after the last that they heard, below an id.
async fn tell_up_to(inner: &Inner, heard: &mut i64, below: i64) -> Result<(), StoreError> {
    loop {
        let events = event::after(&inner.pool, *heard, 500).await?;
        let n_below = events.partition_point(|event| event.id < below);
        let all = n_below < events.len() || n_below == 0;
        for event in events.into_iter().take(n_below) {
            *heard = event.id;
            let _ = inner.live.send(Live::Event(Arc::new(event)));
        }
        if all {
            return Ok(());
        }
    }
}

impl Store {
    /// Tells listeners what other processes on the same database did. Changes of this
    /// process are told at once; call this every second or so where there may be others.
    ///
    /// # Errors
    /// When the database fails.
    pub async fn catch_up(&self) -> Result<(), StoreError> {
        let mut heard = self.inner.turn.lock().await;
        tell_up_to(&self.inner, &mut heard, i64::MAX).await
    }
}
