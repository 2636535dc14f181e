//! Uploads: files that came in and wait to become a scan or a photograph.

use serde::Serialize;
use sqlx::{AnyConnection, Row};

use crate::{By, Kept, ObjectId, Store, StoreError, text, word::words};

words! {
    /// What an upload is.
    UploadKind in "uploads" {
        /// A mesh or a point cloud.
        Scan = "scan",
        /// A picture.
        Photograph = "photograph",
    }
}

/// A file that came in.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Upload {
    /// Its id.
    pub id: i64,
    /// The name that the file had.
    pub name: String,
    /// What it is.
    pub kind: UploadKind,
    /// Its bytes.
    pub object: ObjectId,
    /// How many they are.
    pub size_bytes: i64,
    /// Who sent it.
    pub who: String,
    /// When, Unix milliseconds.
    pub at_ms: i64,
}

impl Store {
    /// Notes a file whose bytes are kept already (see `objects().writer()`).
    ///
    /// # Errors
    /// When the database fails.
    pub async fn add_upload(
        &self,
        by: &By,
        name: &str,
        kind: UploadKind,
        kept: &Kept,
    ) -> Result<Upload, StoreError> {
        text::check("/name", name)?;
        let mut write = self.write(by).await?;
        let upload = Upload {
            id: write.next("upload").await?,
            name: name.to_owned(),
            kind,
            object: kept.id.clone(),
            size_bytes: i64::try_from(kept.size_bytes).unwrap_or(i64::MAX),
            who: by.who.clone(),
            at_ms: by.at_ms,
        };
        sqlx::query(
            "INSERT INTO uploads (id, name, kind, object, size_bytes, who, at_ms) \
             VALUES ($1, $2, $3, $4, $5, $6, $7)",
        )
        .bind(upload.id)
        .bind(name)
        .bind(kind.word())
        .bind(upload.object.hex())
        .bind(upload.size_bytes)
        .bind(&upload.who)
        .bind(upload.at_ms)
        .execute(write.conn())
        .await?;
        let after = serde_json::to_value(&upload)?;
        write
            .event(
                "upload.changed",
                "uploaded",
                upload.id,
                serde_json::Value::Null,
                after,
            )
            .await?;
        write.commit().await?;
        Ok(upload)
    }

    /// An upload.
    ///
    /// # Errors
    /// `Missing`, or when the database fails.
    pub async fn upload(&self, id: i64) -> Result<Upload, StoreError> {
        let mut connection = self.pool().acquire().await?;
        read(&mut connection, id).await
    }
}

pub(crate) async fn read(connection: &mut AnyConnection, id: i64) -> Result<Upload, StoreError> {
    let sql = "SELECT id, name, kind, object, size_bytes, who, at_ms FROM uploads WHERE id = $1";
    let row = sqlx::query(sql).bind(id).fetch_optional(connection).await?;
    let row = row.ok_or_else(|| StoreError::missing("upload", id))?;
    Ok(Upload {
        id: row.try_get("id")?,
        name: row.try_get("name")?,
        kind: UploadKind::of_row(row.try_get("kind")?)?,
        object: ObjectId::of_row("uploads", row.try_get("object")?)?,
        size_bytes: row.try_get("size_bytes")?,
        who: row.try_get("who")?,
        at_ms: row.try_get("at_ms")?,
    })
}
