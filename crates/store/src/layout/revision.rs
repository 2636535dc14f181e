//! Numbered revisions: a layout as it was at a moment worth keeping.

use serde::Serialize;
use serde_json::{Value, json};
use sqlx::{AnyConnection, Row, any::AnyRow};

use super::{Layout, read::head, step};
use crate::{By, ObjectId, Store, StoreError, text};

/// What a list shows of a revision.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct RevisionCard {
    /// Counted from 1 in each layout.
    pub number: i64,
    /// What the builder says of it.
    pub note: String,
    /// The layout's version then.
    pub version: i64,
    /// Who kept it.
    pub who: String,
    /// When, Unix milliseconds.
    pub at_ms: i64,
    /// Its picture, once it is drawn.
    pub picture: Option<ObjectId>,
}

/// A revision.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Revision {
    /// What a list shows of it.
    #[serde(flatten)]
    pub card: RevisionCard,
    /// What was composed.
    pub composition: Value,
}

impl RevisionCard {
    fn of_row(row: &AnyRow) -> Result<Self, StoreError> {
        let picture: Option<String> = row.try_get("picture_object")?;
        Ok(Self {
            number: row.try_get("number")?,
            note: row.try_get("note")?,
            version: row.try_get("version")?,
            who: row.try_get("who")?,
            at_ms: row.try_get("at_ms")?,
            picture: picture
                .map(|text| ObjectId::of_row("revisions", &text))
                .transpose()?,
        })
    }
}

impl Store {
    /// Keeps a layout, that was seen at a version, as its next revision.
    ///
    /// # Errors
    /// `Stale`, `Missing`, or when the database fails.
    pub async fn keep_revision(
        &self,
        by: &By,
        layout: i64,
        seen: i64,
        note: &str,
    ) -> Result<Layout, StoreError> {
        text::check("/note", note)?;
        let mut write = self.write(by).await?;
        let head = head(write.conn(), layout).await?.seen_at(seen)?;
        let newest: Option<i64> =
            sqlx::query_scalar("SELECT max(number) FROM revisions WHERE layout = $1")
                .bind(layout)
                .fetch_one(write.conn())
                .await?;
        let number = newest.unwrap_or(0) + 1;
        sqlx::query(
            "INSERT INTO revisions (layout, number, note, composition, version, who, at_ms) \
             VALUES ($1, $2, $3, $4, $5, $6, $7)",
        )
        .bind(layout)
        .bind(number)
        .bind(note)
        .bind(&head.composition)
        .bind(head.version)
        .bind(&by.who)
        .bind(by.at_ms)
        .execute(write.conn())
        .await?;
        let after = json!({ "revision": number, "note": note, "version": head.version });
        let deed = format!("kept as revision {number}");
        write
            .event("layout.changed", deed, layout, Value::Null, after)
            .await?;
        step::end(write, layout).await
    }

    /// A revision with its composition.
    ///
    /// # Errors
    /// `Missing`, or when the database fails.
    pub async fn revision(&self, layout: i64, number: i64) -> Result<Revision, StoreError> {
        let mut connection = self.pool().acquire().await?;
        read(&mut connection, layout, number).await
    }

    /// Composes a layout, that was seen at a version, as it was in a revision: one more step.
    ///
    /// # Errors
    /// `Stale`, `Missing`, or when the database fails.
    pub async fn restore_revision(
        &self,
        by: &By,
        layout: i64,
        number: i64,
        seen: i64,
    ) -> Result<Layout, StoreError> {
        let mut write = self.write(by).await?;
        let head = head(write.conn(), layout).await?.seen_at(seen)?;
        let revision = read(write.conn(), layout, number).await?;
        let label = format!("back to revision {number}");
        step::append(&mut write, &head, &label, &revision.composition).await?;
        step::end(write, layout).await
    }

    /// Gives a revision its picture, once it is drawn.
    ///
    /// # Errors
    /// `Missing`, or when the database fails.
    pub async fn set_revision_picture(
        &self,
        by: &By,
        layout: i64,
        number: i64,
        picture: &ObjectId,
    ) -> Result<(), StoreError> {
        let mut write = self.write(by).await?;
        let before = read(write.conn(), layout, number).await?.card.picture;
        sqlx::query("UPDATE revisions SET picture_object = $3 WHERE layout = $1 AND number = $2")
            .bind(layout)
            .bind(number)
            .bind(picture.hex())
            .execute(write.conn())
            .await?;
        let was = json!({ "revision": number, "picture": before });
        let is = json!({ "revision": number, "picture": picture });
        let deed = format!("revision {number} drawn");
        write.event("layout.drawn", deed, layout, was, is).await?;
        write.commit().await
    }
}

const COLUMNS: &str = "number, note, version, who, at_ms, picture_object";

async fn read(
    connection: &mut AnyConnection,
    layout: i64,
    number: i64,
) -> Result<Revision, StoreError> {
    let sql = sqlx::AssertSqlSafe(format!(
        "SELECT {COLUMNS}, composition FROM revisions WHERE layout = $1 AND number = $2"
    ));
    let query = sqlx::query(sql).bind(layout).bind(number);
    let row = query.fetch_optional(connection).await?;
    let row = row.ok_or_else(|| StoreError::missing("revision", number))?;
    Ok(Revision {
        card: RevisionCard::of_row(&row)?,
        composition: serde_json::from_str(row.try_get("composition")?)?,
    })
}

/// The revisions of a layout, oldest first.
pub(super) async fn cards(
    connection: &mut AnyConnection,
    layout: i64,
) -> Result<Vec<RevisionCard>, StoreError> {
    let sql = sqlx::AssertSqlSafe(format!(
        "SELECT {COLUMNS} FROM revisions WHERE layout = $1 ORDER BY number"
    ));
    let rows = sqlx::query(sql).bind(layout).fetch_all(connection).await?;
    rows.iter().map(RevisionCard::of_row).collect()
}
