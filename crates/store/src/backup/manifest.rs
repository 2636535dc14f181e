//! What a backup says of itself.

use serde::{Deserialize, Serialize};

use crate::schema;

/// The manifest's name in the file, which also tells a backup from anything else.
pub(super) const MANIFEST: &str = "lentic-backup.json";
/// The folder of the tables.
pub(super) const TABLES: &str = "tables/";
/// The folder of the objects.
pub(super) const OBJECTS: &str = "objects/";
/// The form of the file; a later one may differ.
const FORM: u32 = 1;

/// A table in a backup.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TableSum {
    /// Its name.
    pub name: String,
    /// How many rows.
    pub n_rows: u64,
    /// How many bytes of JSON lines.
    pub size_bytes: u64,
    /// Their SHA-256.
    pub sha256: String,
}

/// What a backup holds.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Manifest {
    form: u32,
    /// The version of the tables.
    pub tables_version: i64,
    /// When it was made, Unix milliseconds.
    pub made_at_ms: i64,
    /// The tables, each after those it refers to.
    pub tables: Vec<TableSum>,
    /// How many objects follow.
    pub n_objects: u64,
}

impl Manifest {
    pub(super) fn new(made_at_ms: i64, tables: Vec<TableSum>, n_objects: u64) -> Self {
        Self {
            form: FORM,
            tables_version: schema::newest(),
            made_at_ms,
            tables,
            n_objects,
        }
    }

    /// Reads a manifest; the error says in words why it can't be used.
    pub(super) fn read(bytes: &[u8]) -> Result<Self, String> {
        let manifest: Self = serde_json::from_slice(bytes)
            .map_err(|e| format!("its manifest can't be read: {e}"))?;
        if manifest.form != FORM || manifest.tables_version > schema::newest() {
            return Err("it was made by a newer version of the program".to_owned());
        }
        let known = |table: &TableSum| schema::TABLES.contains(&table.name.as_str());
        match manifest.tables.iter().find(|table| !known(table)) {
            Some(table) => Err(format!("there is no table {:?}", table.name)),
            None => Ok(manifest),
        }
    }
}
