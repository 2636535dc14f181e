//! Scans, photographs and pictures, each named by the SHA-256 of its bytes.
//!
//! An object is written under a passing name, made durable, and then renamed; only
//! after that may a row name it. Objects never change and are never removed, so a
//! row can't name what isn't there.

use std::{
    hash::{BuildHasher, Hasher, RandomState},
    io,
    path::{Path, PathBuf},
    sync::Arc,
    time::{Duration, UNIX_EPOCH},
};

use bytes::Bytes;
use futures_util::{StreamExt, TryStreamExt, stream::BoxStream};
use object_store::{
    ObjectStore, ObjectStoreExt, WriteMultipart, local::LocalFileSystem, path::Path as Key,
};
use serde::{Serialize, Serializer};
use sha2::{Digest, Sha256};

use crate::StoreError;

/// Bytes that are sent at a time; S3 wants parts of at least 5 MiB.
const PART: usize = 8 << 20;

/// Where objects lie until they have their name.
const INCOMING: &str = "incoming";

/// The name of an object: the SHA-256 of its bytes, 64 hexadecimal digits.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct ObjectId(String);

impl ObjectId {
    /// The name of these bytes.
    #[must_use]
    pub fn of(bytes: &[u8]) -> Self {
        Self(hex(&Sha256::digest(bytes)))
    }

    /// A name as it was written.
    #[must_use]
    pub fn from_hex(text: &str) -> Option<Self> {
        let good = text.len() == 64
            && text
                .bytes()
                .all(|b| b.is_ascii_digit() || (b'a'..=b'f').contains(&b));
        good.then(|| Self(text.to_owned()))
    }

    /// The 64 digits.
    #[must_use]
    pub fn hex(&self) -> &str {
        &self.0
    }

    pub(crate) fn of_row(table: &'static str, text: &str) -> Result<Self, StoreError> {
        Self::from_hex(text).ok_or_else(|| StoreError::Row {
            table,
            reason: "an object's name isn't 64 hexadecimal digits".to_owned(),
        })
    }

    fn key(&self) -> Key {
        Key::from(format!("sha256/{}/{}", &self.0[..2], self.0))
    }
}

impl Serialize for ObjectId {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(&self.0)
    }
}

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
            return s3(address);
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
        let incoming = self.key(&Key::from(format!("{INCOMING}/{}", passing_name())));
        let upload = self.store.put_multipart(&incoming).await?;
        Ok(ObjectWriter {
            upload: WriteMultipart::new_with_chunk_size(upload, PART),
            sum: Sha256::new(),
            size_bytes: 0,
            incoming,
            objects: self.clone(),
        })
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
        let work = move || sweep(&incoming, before_ms).map_err(StoreError::file(&incoming));
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

/// An object on its way in. Dropped without `finish`, nothing is kept.
#[derive(Debug)]
pub struct ObjectWriter {
    upload: WriteMultipart,
    sum: Sha256,
    size_bytes: u64,
    incoming: Key,
    objects: Objects,
}

impl ObjectWriter {
    /// Takes more bytes.
    ///
    /// # Errors
    /// When the object store fails.
    pub async fn write(&mut self, bytes: Bytes) -> Result<(), StoreError> {
        self.upload.wait_for_capacity(2).await?;
        self.sum.update(&bytes);
        self.size_bytes += bytes.len() as u64;
        self.upload.put(bytes);
        Ok(())
    }

    /// The bytes taken so far.
    #[must_use]
    pub fn size_bytes(&self) -> u64 {
        self.size_bytes
    }

    /// Keeps what came, durably.
    ///
    /// # Errors
    /// When the object store fails.
    pub async fn finish(self) -> Result<Kept, StoreError> {
        let id = ObjectId(hex(&self.sum.finalize()));
        self.upload.finish().await?;
        let (store, to) = (&self.objects.store, self.objects.key(&id.key()));
        store.rename(&self.incoming, &to).await?;
        Ok(Kept {
            id,
            size_bytes: self.size_bytes,
        })
    }

    /// Throws away what came.
    ///
    /// # Errors
    /// When the object store fails.
    pub async fn give_up(self) -> Result<(), StoreError> {
        Ok(self.upload.abort().await?)
    }
}

fn gone(error: object_store::Error, id: &ObjectId) -> StoreError {
    match error {
        object_store::Error::NotFound { .. } => StoreError::missing("object", id.hex()),
        error => error.into(),
    }
}

/// Removes a folder's files that were last touched before a time.
fn sweep(folder: &Path, before_ms: i64) -> io::Result<usize> {
    let entries = match std::fs::read_dir(folder) {
        Ok(entries) => entries,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(0),
        Err(error) => return Err(error),
    };
    let before = UNIX_EPOCH + Duration::from_millis(u64::try_from(before_ms).unwrap_or(0));
    let mut n_swept = 0;
    for entry in entries {
        let entry = entry?;
        if entry.metadata()?.modified()? < before {
            std::fs::remove_file(entry.path())?;
            n_swept += 1;
        }
    }
    Ok(n_swept)
}

/// A name that no other write under way has.
fn passing_name() -> String {
    let draw = || RandomState::new().build_hasher().finish();
    format!("{}-{:016x}{:016x}", std::process::id(), draw(), draw())
}

/// Bytes as hexadecimal digits.
pub(crate) fn hex(bytes: &[u8]) -> String {
    use std::fmt::Write;
    bytes.iter().fold(String::new(), |mut text, byte| {
        // Writing to a string can't fail.
        let _ = write!(text, "{byte:02x}");
        text
    })
}

#[cfg(feature = "s3")]
fn s3(address: &str) -> Result<Objects, StoreError> {
    use object_store::aws::AmazonS3Builder;
    let store = AmazonS3Builder::from_env().with_url(address).build()?;
    let prefix = address
        .trim_start_matches("s3://")
        .split_once('/')
        .map_or("", |(_, prefix)| prefix);
    Ok(Objects {
        store: Arc::new(store),
        prefix: Key::from(prefix),
        root: None,
    })
}

#[cfg(not(feature = "s3"))]
fn s3(address: &str) -> Result<Objects, StoreError> {
    Err(StoreError::Address {
        address: address.to_owned(),
        reason: "this build has no S3; build it with the feature `s3`".to_owned(),
    })
}
