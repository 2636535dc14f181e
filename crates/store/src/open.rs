//! Opening: a data folder with SQLite and files in it, or PostgreSQL by its address.

use std::{path::PathBuf, sync::Arc, time::Duration};

use sqlx::{
    AnyPool, ConnectOptions, Executor,
    any::{AnyConnectOptions, AnyPoolOptions},
};
use tokio::sync::{Mutex, broadcast};
use url::Url;

use crate::{Live, Objects, StoreError, folder::DataFolder, in_use, schema};

/// How far a listener may fall behind before it is told that it missed something.
const LIVE_BACKLOG: usize = 1024;
/// Connections at once: readers beside the one writer.
const CONNECTIONS: u32 = 8;

/// Which database it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Dialect {
    /// A file in the data folder.
    Sqlite,
    /// A server.
    Postgres,
}

impl Dialect {
    /// Begins a transaction that reads one state of everything.
    pub(crate) fn snapshot(self) -> &'static str {
        match self {
            Self::Sqlite => "BEGIN",
            Self::Postgres => "BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY",
        }
    }
}

/// Where the data are.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Place {
    /// A folder, or `postgres://…`.
    pub data: String,
    /// `s3://…` or a folder; `None` for a folder inside the data folder.
    pub objects: Option<String>,
}

impl Place {
    /// Everything in one folder.
    #[must_use]
    pub fn folder(folder: impl Into<String>) -> Self {
        Self {
            data: folder.into(),
            objects: None,
        }
    }

    pub(crate) fn is_postgres(&self) -> bool {
        self.data.starts_with("postgres://") || self.data.starts_with("postgresql://")
    }

    /// Where the objects lie when the rows are in PostgreSQL, which has no folder.
    pub(crate) fn objects_apart(&self) -> Result<Objects, StoreError> {
        match &self.objects {
            Some(address) => Objects::open(address),
            None => Err(StoreError::Address {
                address: without_password(&self.data),
                reason: "a database on a server needs an objects folder or an s3:// address"
                    .to_owned(),
            }),
        }
    }
}

/// Rows and files of one workshop. Cheap to clone; all clones are the same store.
#[derive(Debug, Clone)]
pub struct Store {
    pub(crate) inner: Arc<Inner>,
}

#[derive(Debug)]
pub(crate) struct Inner {
    pub(crate) pool: AnyPool,
    pub(crate) dialect: Dialect,
    pub(crate) objects: Objects,
    pub(crate) live: broadcast::Sender<Live>,
    /// Whose turn it is to write; inside, the id of the last event that listeners heard.
    pub(crate) turn: Arc<Mutex<i64>>,
    /// Held while the store is open, so that nothing is restored underneath it.
    use_mark: UseMark,
}

/// What says that the data are in use.
#[derive(Debug)]
enum UseMark {
    /// Kept for its lock, which falls with it.
    Folder {
        _folder: DataFolder,
    },
    Server(in_use::Mark),
}

impl Store {
    /// Opens the data of a place, or begins them there.
    ///
    /// # Errors
    /// When the address is none, a restore is under way, or the database or folder fails.
    pub async fn open(place: &Place) -> Result<Self, StoreError> {
        if place.is_postgres() {
            let objects = place.objects_apart()?;
            let pool = connect(&place.data, Dialect::Postgres).await?;
            let mark = UseMark::Server(in_use::shared(&place.data).await?);
            return Self::begin(pool, Dialect::Postgres, objects, mark).await;
        }
        let folder = DataFolder::open(&PathBuf::from(&place.data))?;
        let objects = match &place.objects {
            Some(address) => Objects::open(address)?,
            None => Objects::folder(&folder.kept().join("objects"))?,
        };
        let pool = connect(&sqlite_address(&folder.database())?, Dialect::Sqlite).await?;
        let mark = UseMark::Folder { _folder: folder };
        Self::begin(pool, Dialect::Sqlite, objects, mark).await
    }

    async fn begin(
        pool: AnyPool,
        dialect: Dialect,
        objects: Objects,
        use_mark: UseMark,
    ) -> Result<Self, StoreError> {
        schema::migrate(&pool, dialect).await?;
        let heard: i64 = sqlx::query_scalar("SELECT last FROM counters WHERE name = 'event'")
            .fetch_one(&pool)
            .await?;
        let inner = Inner {
            pool,
            dialect,
            objects,
            live: broadcast::Sender::new(LIVE_BACKLOG),
            turn: Arc::new(Mutex::new(heard)),
            use_mark,
        };
        Ok(Self {
            inner: Arc::new(inner),
        })
    }

    /// The files.
    #[must_use]
    pub fn objects(&self) -> &Objects {
        &self.inner.objects
    }

    /// Whether the database answers.
    ///
    /// # Errors
    /// When it doesn't.
    pub async fn ping(&self) -> Result<(), StoreError> {
        sqlx::query("SELECT 1").execute(self.pool()).await?;
        Ok(())
    }

    /// Waits for work under way and closes every connection.
    pub async fn close(&self) {
        let turn = self.inner.turn.lock().await;
        self.pool().close().await;
        if let UseMark::Server(mark) = &self.inner.use_mark {
            mark.release().await;
        }
        drop(turn);
    }

    pub(crate) fn pool(&self) -> &AnyPool {
        &self.inner.pool
    }
}

/// The address of a SQLite file, made if it isn't there.
pub(crate) fn sqlite_address(file: &std::path::Path) -> Result<String, StoreError> {
    let refuse = |reason: &str| StoreError::Address {
        address: file.display().to_string(),
        reason: reason.to_owned(),
    };
    let absolute = std::path::absolute(file).map_err(|e| refuse(&e.to_string()))?;
    let mut url = Url::from_file_path(&absolute)
        .map_err(|()| refuse("the folder's name can't be written as an address"))?;
    url.set_query(Some("mode=rwc"));
    // `file:///a/b?…` becomes `sqlite:///a/b?…`; the scheme of a file address can't be set.
    Ok(url.as_str().replacen("file:", "sqlite:", 1))
}

/// Connects and sets what every connection needs.
pub(crate) async fn connect(address: &str, dialect: Dialect) -> Result<AnyPool, StoreError> {
    sqlx::any::install_default_drivers();
    let options: AnyConnectOptions = address.parse().map_err(|_| StoreError::Address {
        address: without_password(address),
        reason: "it is no address of a database".to_owned(),
    })?;
    let options = options.disable_statement_logging();
    let pool = AnyPoolOptions::new()
        .max_connections(CONNECTIONS)
        .acquire_timeout(Duration::from_secs(30))
        .after_connect(move |connection, _| {
            Box::pin(async move {
                if dialect == Dialect::Sqlite {
                    // The order matters: waiting for a lock comes before what may need one.
                    for pragma in [
                        "PRAGMA busy_timeout = 20000",
                        "PRAGMA journal_mode = WAL",
                        "PRAGMA synchronous = FULL",
                        "PRAGMA foreign_keys = ON",
                        "PRAGMA cache_size = -16000",
                    ] {
                        connection.execute(pragma).await?;
                    }
                }
                Ok(())
            })
        });
    Ok(pool.connect_with(options).await?)
}

/// The address without what must not be shown.
pub(crate) fn without_password(address: &str) -> String {
    match Url::parse(address) {
        Ok(mut url) if url.password().is_some() => {
            // An address that has a password can have another one.
            let _ = url.set_password(Some("…"));
            url.to_string()
        }
        _ => address.to_owned(),
    }
}
