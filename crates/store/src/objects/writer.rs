//! Writing: an object gets its name once all its bytes are there.

use std::hash::{BuildHasher, Hasher, RandomState};

use bytes::Bytes;
use object_store::{ObjectStoreExt, WriteMultipart, path::Path as Key};
use sha2::{Digest, Sha256};

use super::{INCOMING, Kept, ObjectId, Objects};
use crate::StoreError;

/// Bytes that are sent at a time; S3 wants parts of at least 5 MiB.
const PART: usize = 8 << 20;

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
    pub(super) async fn begin(objects: &Objects) -> Result<Self, StoreError> {
        let incoming = objects.key(&Key::from(format!("{INCOMING}/{}", passing_name())));
        let upload = objects.store.put_multipart(&incoming).await?;
        Ok(Self {
            upload: WriteMultipart::new_with_chunk_size(upload, PART),
            sum: Sha256::new(),
            size_bytes: 0,
            incoming,
            objects: objects.clone(),
        })
    }

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
        let id = ObjectId::of_sum(&self.sum.finalize());
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

/// A name that no other write under way has.
fn passing_name() -> String {
    let draw = || RandomState::new().build_hasher().finish();
    format!("{}-{:016x}{:016x}", std::process::id(), draw(), draw())
}
