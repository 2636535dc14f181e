//! Reading a backup that was checked: its rows into a database, its objects into a store.

use std::{
    fs::File,
    io::{self, BufRead, BufReader, Read},
    path::{Path, PathBuf},
};

use bytes::Bytes;
use sha2::{Digest, Sha256};
use sqlx::AnyConnection;
use tokio::runtime::Handle;

use super::{
    manifest::{Manifest, OBJECTS, TABLES, TableSum},
    rows,
};
use crate::{ObjectId, Objects, StoreError, objects::hex};

/// Bytes of an object that are taken at a time.
const PART: usize = 1 << 20;

/// A backup, checked against its manifest entry by entry while it is read.
pub(super) struct Reading<'a> {
    file: PathBuf,
    manifest: &'a Manifest,
    handle: Handle,
    n_tables: usize,
    n_objects: u64,
}

impl<'a> Reading<'a> {
    pub(super) fn new(file: &Path, manifest: &'a Manifest, handle: Handle) -> Self {
        Self {
            file: file.to_owned(),
            manifest,
            handle,
            n_tables: 0,
            n_objects: 0,
        }
    }

    /// Reads everything, from a thread that may wait.
    pub(super) fn into(
        mut self,
        connection: &mut AnyConnection,
        objects: &Objects,
    ) -> Result<(), StoreError> {
        let path = self.file.clone();
        let failed = |error| StoreError::file(&path)(error);
        let file = BufReader::with_capacity(1 << 20, File::open(&path).map_err(failed)?);
        let mut archive = tar::Archive::new(file);
        for entry in archive.entries().map_err(failed)? {
            let entry = entry.map_err(failed)?;
            let name = entry.path().map_err(failed)?.display().to_string();
            if let Some(table) = name.strip_prefix(TABLES) {
                self.table(connection, table, entry)?;
            } else if let Some(id) = name.strip_prefix(OBJECTS) {
                self.object(objects, id, entry)?;
            }
        }
        if self.n_tables != self.manifest.tables.len() {
            return Err(self.damaged("a table is missing"));
        }
        if self.n_objects != self.manifest.n_objects {
            return Err(self.damaged("an object is missing"));
        }
        Ok(())
    }

    /// The next table, which must be the next of the manifest.
    fn table(
        &mut self,
        connection: &mut AnyConnection,
        name: &str,
        entry: impl Read,
    ) -> Result<(), StoreError> {
        let manifest = self.manifest;
        let wanted = manifest.tables.get(self.n_tables);
        let wanted = wanted.filter(|table| format!("{}.jsonl", table.name) == name);
        let Some(wanted) = wanted else {
            return Err(self.damaged("a table isn't in its place"));
        };
        let (n_rows, sha256) = self.rows(connection, wanted, entry)?;
        if n_rows != wanted.n_rows || sha256 != wanted.sha256 {
            return Err(self.damaged(&format!("the table {} isn't whole", wanted.name)));
        }
        self.n_tables += 1;
        Ok(())
    }

    fn rows(
        &self,
        connection: &mut AnyConnection,
        table: &TableSum,
        entry: impl Read,
    ) -> Result<(u64, String), StoreError> {
        let mut reader = BufReader::with_capacity(1 << 16, entry);
        let (mut sum, mut n_rows, mut line) = (Sha256::new(), 0, Vec::new());
        loop {
            line.clear();
            let read = reader.read_until(b'\n', &mut line);
            if read.map_err(StoreError::file(&self.file))? == 0 {
                return Ok((n_rows, hex(&sum.finalize())));
            }
            sum.update(&line);
            let load = rows::load(connection, &table.name, &line);
            self.handle.block_on(load)?;
            n_rows += 1;
        }
    }

    fn object(
        &mut self,
        objects: &Objects,
        name: &str,
        mut entry: impl Read,
    ) -> Result<(), StoreError> {
        let Some(wanted) = ObjectId::from_hex(name) else {
            return Err(self.damaged("an object has no name"));
        };
        self.n_objects += 1;
        if self.handle.block_on(objects.has(&wanted))? {
            return Ok(());
        }
        let mut writer = self.handle.block_on(objects.writer())?;
        loop {
            let mut part = vec![0; PART];
            let n = fill(&mut entry, &mut part).map_err(StoreError::file(&self.file))?;
            part.truncate(n);
            if n == 0 {
                break;
            }
            self.handle.block_on(writer.write(Bytes::from(part)))?;
        }
        let kept = self.handle.block_on(writer.finish())?;
        if kept.id != wanted {
            return Err(self.damaged(&format!("the object {name} isn't whole")));
        }
        Ok(())
    }

    fn damaged(&self, reason: &str) -> StoreError {
        StoreError::Damaged {
            file: self.file.clone(),
            reason: reason.to_owned(),
        }
    }
}

/// Reads until the buffer is full or nothing is left.
fn fill(from: &mut impl Read, buffer: &mut [u8]) -> io::Result<usize> {
    let mut n = 0;
    while n < buffer.len() {
        match from.read(&mut buffer[n..])? {
            0 => break,
            more => n += more,
        }
    }
    Ok(n)
}
