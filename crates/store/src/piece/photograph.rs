//! Photographs of a piece.

use serde::Serialize;
use sqlx::{AnyConnection, Row, any::AnyRow};
use workshop::Tag;

use super::read;
use crate::{By, ObjectId, Store, StoreError, UploadKind, upload, write::Write};

/// A photograph.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Photograph {
    /// Its id.
    pub id: i64,
    /// The name of the file it came in.
    pub name: String,
    /// Its bytes.
    pub object: ObjectId,
    /// How many they are.
    pub size_bytes: i64,
}

impl Photograph {
    fn of_row(row: &AnyRow) -> Result<Self, StoreError> {
        Ok(Self {
            id: row.try_get("id")?,
            name: row.try_get("name")?,
            object: ObjectId::of_row("photographs", row.try_get("object")?)?,
            size_bytes: row.try_get("size_bytes")?,
        })
    }
}

impl Store {
    /// Adds uploads to a piece as its photographs, all or none.
    ///
    /// # Errors
    /// `Missing`, `Refused` when an upload is a scan, or when the database fails.
    pub async fn add_photographs(
        &self,
        by: &By,
        tag: Tag,
        uploads: &[i64],
    ) -> Result<Vec<Photograph>, StoreError> {
        let mut write = self.write(by).await?;
        read::must_read(write.conn(), tag).await?;
        let before = of_piece(write.conn(), tag).await?;
        for upload in uploads {
            add(&mut write, tag, *upload).await?;
        }
        let after = of_piece(write.conn(), tag).await?;
        let list = |photographs: &[Photograph]| -> Result<serde_json::Value, StoreError> {
            Ok(serde_json::json!({ "photographs": serde_json::to_value(photographs)? }))
        };
        let (before, after_json) = (list(&before)?, list(&after)?);
        write
            .event("piece.changed", "photographed", tag, before, after_json)
            .await?;
        write.commit().await?;
        Ok(after)
    }

    /// One photograph of a piece.
    ///
    /// # Errors
    /// `Missing`, or when the database fails.
    pub async fn photograph(&self, tag: Tag, id: i64) -> Result<Photograph, StoreError> {
        let sql = "SELECT id, name, object, size_bytes FROM photographs WHERE tag = $1 AND id = $2";
        let query = sqlx::query(sql).bind(tag.to_string()).bind(id);
        let row = query.fetch_optional(self.pool()).await?;
        let row = row.ok_or_else(|| StoreError::missing("photograph", id))?;
        Photograph::of_row(&row)
    }
}

/// Makes an upload a photograph of a piece.
pub(super) async fn add(write: &mut Write, tag: Tag, upload: i64) -> Result<(), StoreError> {
    let upload = upload::read(write.conn(), upload).await?;
    if upload.kind != UploadKind::Photograph {
        return Err(StoreError::Refused {
            path: "/photographs",
            reason: format!("{} is no photograph", upload.name),
            hint: "upload a JPEG, PNG or WebP picture",
        });
    }
    let id = write.next("photograph").await?;
    sqlx::query(
        "INSERT INTO photographs (id, tag, name, object, size_bytes) VALUES ($1, $2, $3, $4, $5)",
    )
    .bind(id)
    .bind(tag.to_string())
    .bind(&upload.name)
    .bind(upload.object.hex())
    .bind(upload.size_bytes)
    .execute(write.conn())
    .await?;
    Ok(())
}

/// The photographs of a piece, oldest first.
pub(super) async fn of_piece(
    connection: &mut AnyConnection,
    tag: Tag,
) -> Result<Vec<Photograph>, StoreError> {
    let sql = "SELECT id, name, object, size_bytes FROM photographs WHERE tag = $1 ORDER BY id";
    let query = sqlx::query(sql).bind(tag.to_string());
    let rows = query.fetch_all(connection).await?;
    rows.iter().map(Photograph::of_row).collect()
}
