//! Making a backup while the workshop goes on.

use std::{
    fs::{self, File},
    io::{self, BufWriter, Read, Seek, Write},
    path::{Path, PathBuf},
};

use bytes::Bytes;
use futures_util::{TryStreamExt, stream::BoxStream};
use serde::Serialize;
use tokio::runtime::Handle;

use super::{
    check,
    manifest::{MANIFEST, Manifest, OBJECTS, TABLES, TableSum},
    rows,
    tail::{Summing, header, tail},
};
use crate::{ObjectId, Objects, Store, StoreError, folder::sync_folder, objects::hex, schema};

/// A tar is made of blocks of this many bytes.
const BLOCK: u64 = 512;

/// What went into a backup.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct BackedUp {
    /// Rows of all tables.
    pub n_rows: u64,
    /// Objects.
    pub n_objects: u64,
    /// The size of the file.
    pub size_bytes: u64,
}

impl Store {
    /// Writes everything that is kept to one file and verifies it. Sessions are left out:
    /// after a restore everyone signs in again. The rows are those of one moment; changes
    /// go on meanwhile. The file is there only once it is whole and on the disk.
    ///
    /// # Errors
    /// When the database, the object store or the disk fails.
    pub async fn backup(&self, file: &Path, at_ms: i64) -> Result<BackedUp, StoreError> {
        let folder = match file.parent() {
            Some(parent) if !parent.as_os_str().is_empty() => parent.to_owned(),
            _ => PathBuf::from("."),
        };
        let tables = self.dump_tables(&folder).await?;
        // Objects are durable before a row names them: those of now include all of the rows'.
        let objects = self.objects().list().await?;
        let sums = tables.iter().map(|(sum, _)| sum.clone()).collect();
        let manifest = Manifest::new(at_ms, sums, objects.len() as u64);
        let n_rows = manifest.tables.iter().map(|table| table.n_rows).sum();
        let n_objects = manifest.n_objects;
        let part = tempfile::Builder::new()
            .prefix(".lentic-backup")
            .tempfile_in(&folder)
            .map_err(StoreError::file(&folder))?;
        let (store, file, handle) = (self.objects().clone(), file.to_owned(), Handle::current());
        let work = move || -> Result<u64, StoreError> {
            write_file(part.as_file(), &manifest, tables, &objects, &store, &handle)
                .map_err(StoreError::file(&file))?;
            check::check(part.path())?;
            let size = part.as_file().metadata().map_err(StoreError::file(&file))?;
            part.persist(&file)
                .map_err(|error| StoreError::file(&file)(error.error))?;
            sync_folder(&folder)?;
            Ok(size.len())
        };
        let size_bytes = tokio::task::spawn_blocking(work)
            .await
            .map_err(|_| StoreError::Stopped)??;
        Ok(BackedUp {
            n_rows,
            n_objects,
            size_bytes,
        })
    }

    /// All tables as they are at one moment, each in a passing file.
    async fn dump_tables(&self, folder: &Path) -> Result<Vec<(TableSum, File)>, StoreError> {
        fs::create_dir_all(folder).map_err(StoreError::file(folder))?;
        let mut tx = self
            .pool()
            .begin_with(self.inner.dialect.snapshot())
            .await?;
        let mut tables = Vec::new();
        for name in schema::TABLES {
            let file = tempfile::tempfile_in(folder).map_err(StoreError::file(folder))?;
            let mut out = BufWriter::new(Summing::new(file));
            let n_rows = rows::dump(&mut tx, name, &mut out).await?;
            let out = out
                .into_inner()
                .map_err(|error| StoreError::file(folder)(error.into_error()))?;
            let (mut file, sum, size_bytes) = out.end();
            file.rewind().map_err(StoreError::file(folder))?;
            let sum = TableSum {
                name: (*name).to_owned(),
                n_rows,
                size_bytes,
                sha256: hex(&sum),
            };
            tables.push((sum, file));
        }
        tx.rollback().await?;
        Ok(tables)
    }
}

fn write_file(
    file: &File,
    manifest: &Manifest,
    tables: Vec<(TableSum, File)>,
    objects: &[(ObjectId, u64)],
    store: &Objects,
    handle: &Handle,
) -> io::Result<()> {
    let mut out = Summing::new(BufWriter::new(file));
    let text = serde_json::to_vec_pretty(manifest)?;
    append(&mut out, MANIFEST, text.len() as u64, &text[..])?;
    for (sum, file) in tables {
        let name = format!("{TABLES}{}.jsonl", sum.name);
        append(&mut out, &name, sum.size_bytes, file)?;
    }
    for (id, size_bytes) in objects {
        let (_, stream) = handle
            .block_on(store.stream(id))
            .map_err(io::Error::other)?;
        let bytes = ObjectRead {
            handle,
            stream,
            part: Bytes::new(),
        };
        let name = format!("{OBJECTS}{}", id.hex());
        append(&mut out, &name, *size_bytes, bytes)?;
    }
    let (mut out, sum, _) = out.end();
    out.write_all(&tail(&sum)?)?;
    out.flush()?;
    file.sync_all()
}

/// Appends an entry, whose bytes must be as many as was said.
fn append(out: &mut impl Write, name: &str, size_bytes: u64, bytes: impl Read) -> io::Result<()> {
    let mut header = header(size_bytes);
    header.set_path(name)?;
    header.set_cksum();
    out.write_all(header.as_bytes())?;
    let n = io::copy(&mut bytes.take(size_bytes), out)?;
    if n != size_bytes {
        return Err(io::Error::other(format!("{name} became shorter")));
    }
    let padding = n.next_multiple_of(BLOCK) - n;
    out.write_all(&[0; BLOCK as usize][..padding as usize])
}

/// An object that is read where nothing can be awaited.
struct ObjectRead<'h> {
    handle: &'h Handle,
    stream: BoxStream<'static, Result<Bytes, StoreError>>,
    part: Bytes,
}

impl Read for ObjectRead<'_> {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        while self.part.is_empty() {
            match self.handle.block_on(self.stream.try_next()) {
                Ok(Some(part)) => self.part = part,
                Ok(None) => return Ok(0),
                Err(error) => return Err(io::Error::other(error)),
            }
        }
        let n = into.len().min(self.part.len());
        into[..n].copy_from_slice(&self.part.split_to(n));
        Ok(n)
    }
}
