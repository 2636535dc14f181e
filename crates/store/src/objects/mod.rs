//! Scans, photographs and pictures, each named by the SHA-256 of its bytes.
//!
//! An object is written under a passing name, made durable, and then renamed; only
//! after that may a row name it. Objects never change and are never removed, so a
//! row can't name what isn't there.

mod bucket;
mod id;
mod sweep;
mod writer;

use std::{
    path::{Path, PathBuf},
    sync::Arc,
};

use bytes::Bytes;
use futures_util::{StreamExt, TryStreamExt, stream::BoxStream};
use object_store::{ObjectStore, ObjectStoreExt, local::LocalFileSystem, path::Path as Key};

pub use id::ObjectId;
pub(crate) use id::hex;
pub use writer::ObjectWriter;

use crate::StoreError;

/// Where objects lie until they have their name.
const INCOMING: &str = "incoming";

/// An object that is kept now.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Kept {
    /// Its name.
    pub id: ObjectId,
    /// Its size.
    pub size_bytes: u64,
}

/// Where objects are kept.
#[derive(Debug, Clone)]
pub struct Objects {
    store: Arc<dyn ObjectStore>,
    prefix: Key,
    root: Option<PathBuf>,
}

impl Objects {
    /// Objects in a folder, which is made if it isn't there.
    ///
    /// # Errors
    /// When the folder can't be made.
    pub fn folder(root: &Path) -> Result<Self, StoreError> {
        std::fs::create_dir_all(root).map_err(StoreError::file(root))?;
        let store = LocalFileSystem::new_with_prefix(root)?.with_fsync(true);
        Ok(Self {
            store: Arc::new(store),
            prefix: Key::default(),
            root: Some(root.to_owned()),
        })
    }

    /// Objects at an address: `s3://bucket/prefix`, `file:///folder`, or a folder's path.
    ///
    /// # Errors
    /// When the address is none that this build can use.
    pub fn open(address: &str) -> Result<Self, StoreError> {
        if address.starts_with("s3://") {
            return bucket::s3(address);
        }
        match address.strip_prefix("file://") {
            Some(path) => Self::folder(Path::new(path)),
            None => Self::folder(Path::new(address)),
        }
    }

    /// Begins an object whose bytes come piece by piece.
    ///
    /// # Errors
    /// When the object store fails.
    pub async fn writer(&self) -> Result<ObjectWriter, StoreError> {
        ObjectWriter::begin(self).await
    }

    /// Keeps these bytes.
    ///
    /// # Errors
    /// When the object store fails.
    pub async fn put(&self, bytes: Bytes) -> Result<Kept, StoreError> {
        let mut writer = self.writer().await?;
        writer.write(bytes).await?;
        writer.finish().await
    }

    /// All bytes of an object.
    ///
    /// # Errors
    /// When there is none of that name or the object store fails.
    pub async fn get(&self, id: &ObjectId) -> Result<Bytes, StoreError> {
        let key = self.key(&id.key());
        let found = self.store.get(&key).await.map_err(|e| gone(e, id))?;
        Ok(found.bytes().await?)
    }

    /// The bytes of an object as they come, and how many they are.
    ///
    /// # Errors
    /// When there is none of that name or the object store fails.
    pub async fn stream(
        &self,
        id: &ObjectId,
    ) -> Result<(u64, BoxStream<'static, Result<Bytes, StoreError>>), StoreError> {
        let key = self.key(&id.key());
        let found = self.store.get(&key).await.map_err(|e| gone(e, id))?;
        let size = found.meta.size;
        Ok((
            size,
            found.into_stream().map_err(StoreError::Objects).boxed(),
        ))
    }

    /// Whether an object of that name is kept.
    ///
    /// # Errors
    /// When the object store fails.
    pub async fn has(&self, id: &ObjectId) -> Result<bool, StoreError> {
        match self.store.head(&self.key(&id.key())).await {
            Ok(_) => Ok(true),
            Err(object_store::Error::NotFound { .. }) => Ok(false),
            Err(error) => Err(error.into()),
        }
    }

    /// Removes what writes that never ended left behind, last touched before a time (Unix
    /// milliseconds); how many files. A bucket's own rules do this where objects are not
    /// in a folder.
    ///
    /// # Errors
    /// When the folder can't be read.
    pub async fn sweep(&self, before_ms: i64) -> Result<usize, StoreError> {
        let Some(root) = &self.root else { return Ok(0) };
        let incoming = root.join(INCOMING);
        let work = move || sweep::sweep(&incoming, before_ms).map_err(StoreError::file(&incoming));
        let swept = tokio::task::spawn_blocking(work).await;
        swept.unwrap_or(Err(StoreError::Stopped))
    }

    /// Every object with its size, by name.
    pub(crate) async fn list(&self) -> Result<Vec<(ObjectId, u64)>, StoreError> {
        let prefix = self.key(&Key::from("sha256"));
        let mut all: Vec<_> = self
            .store
            .list(Some(&prefix))
            .try_filter_map(|meta| async move {
                let id = meta.location.filename().and_then(ObjectId::from_hex);
                Ok(id.map(|id| (id, meta.size)))
            })
            .try_collect()
            .await?;
        all.sort_unstable();
        Ok(all)
    }

    /// The folder, when it is one.
    #[must_use]
    pub fn root(&self) -> Option<&Path> {
        self.root.as_deref()
    }

    fn key(&self, key: &Key) -> Key {
        self.prefix.parts().chain(key.parts()).collect()
    }
}

fn gone(error: object_store::Error, id: &ObjectId) -> StoreError {
    match error {
        object_store::Error::NotFound { .. } => StoreError::missing("object", id.hex()),
        error => error.into(),
    }
}
