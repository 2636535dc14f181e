//! One layout: made, read.

use serde::Serialize;
use serde_json::{Value, json};
use sqlx::{AnyConnection, Row, any::AnyRow};

use super::{RevisionCard, revision, step};
use crate::{By, ObjectId, Store, StoreError, text};

/// A layout as it is now.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Layout {
    /// Its id.
    pub id: i64,
    /// Its title.
    pub title: String,
    /// The commission that it is for.
    pub commission: Option<i64>,
    /// What is composed; the store looks only for the title and the tags in it.
    pub composition: Value,
    /// Whether it stands, when that was settled for this composition.
    pub stands: Option<bool>,
    /// The last picture of it.
    pub picture: Option<ObjectId>,
    /// The label of the step that undo would take back.
    pub undo: Option<String>,
    /// The label of the step that redo would bring back.
    pub redo: Option<String>,
    /// Its numbered revisions, oldest first.
    pub revisions: Vec<RevisionCard>,
    /// When it last changed, Unix milliseconds.
    pub changed_at_ms: i64,
    /// Goes up with every change of the composition, undo and redo too.
    pub version: i64,
}

/// A layout to be made.
#[derive(Debug, Clone, PartialEq)]
pub struct NewLayout {
    /// Its title.
    pub title: String,
    /// The commission that it is for.
    pub commission: Option<i64>,
    /// What it begins with.
    pub composition: Value,
}

/// The row of a layout with the composition of its current step.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Head {
    pub(super) id: i64,
    pub(super) title: String,
    pub(super) commission: Option<i64>,
    pub(super) step: i64,
    pub(super) label: String,
    pub(super) composition: String,
    pub(super) stands: Option<bool>,
    pub(super) picture: Option<ObjectId>,
    pub(super) changed_at_ms: i64,
    pub(super) version: i64,
}

impl Head {
    fn of_row(row: &AnyRow) -> Result<Self, StoreError> {
        let picture: Option<String> = row.try_get("picture_object")?;
        Ok(Self {
            id: row.try_get("id")?,
            title: row.try_get("title")?,
            commission: row.try_get("commission")?,
            step: row.try_get("step")?,
            label: row.try_get("label")?,
            composition: row.try_get("composition")?,
            stands: row.try_get::<Option<i64>, _>("stands")?.map(|s| s != 0),
            picture: picture
                .map(|text| ObjectId::of_row("layouts", &text))
                .transpose()?,
            changed_at_ms: row.try_get("changed_at_ms")?,
            version: row.try_get("version")?,
        })
    }

    /// Refuses a version that isn't the current one.
    pub(super) fn seen_at(self, seen: i64) -> Result<Self, StoreError> {
        if self.version == seen {
            return Ok(self);
        }
        Err(StoreError::Stale {
            noun: "layout",
            subject: self.id.to_string(),
            current: self.version,
        })
    }
}

impl Store {
    /// A layout.
    ///
    /// # Errors
    /// `Missing`, or when the database fails.
    pub async fn layout(&self, id: i64) -> Result<Layout, StoreError> {
        // One transaction, so that steps and revisions are those of the row.
        let mut tx = self
            .pool()
            .begin_with(self.inner.dialect.snapshot())
            .await?;
        let layout = read(&mut tx, id).await?;
        tx.commit().await?;
        Ok(layout)
    }

    /// Makes a layout.
    ///
    /// # Errors
    /// `Missing` when the commission isn't there, `Refused` without a title, or when the
    /// database fails.
    pub async fn add_layout(&self, by: &By, new: NewLayout) -> Result<Layout, StoreError> {
        if new.title.trim().is_empty() {
            return Err(StoreError::Refused {
                path: "/title",
                reason: "the layout has no title".to_owned(),
                hint: "give it a title",
            });
        }
        text::check("/title", &new.title)?;
        let mut write = self.write(by).await?;
        if let Some(commission) = new.commission {
            crate::commission::must_be(write.conn(), commission).await?;
        }
        let id = write.next("layout").await?;
        sqlx::query(
            "INSERT INTO layouts (id, title, commission, step, n_pieces, changed_at_ms, version) \
             VALUES ($1, $2, $3, 0, 0, $4, 1)",
        )
        .bind(id)
        .bind(&new.title)
        .bind(new.commission)
        .bind(by.at_ms)
        .execute(write.conn())
        .await?;
        step::insert(&mut write, id, 0, "begun", &new.composition.to_string()).await?;
        step::note_pieces(&mut write, id, &new.composition).await?;
        let after = json!({
            "title": new.title, "commission": new.commission, "composition": new.composition,
            "version": 1,
        });
        write
            .event("layout.changed", "begun", id, Value::Null, after)
            .await?;
        let layout = read(write.conn(), id).await?;
        write.commit().await?;
        Ok(layout)
    }
}

/// The row of a layout, which must be there.
pub(super) async fn head(connection: &mut AnyConnection, id: i64) -> Result<Head, StoreError> {
    let sql = "SELECT l.id, l.title, l.commission, l.step, l.stands, l.picture_object, \
               l.changed_at_ms, l.version, s.label, s.composition FROM layouts l \
               JOIN layout_steps s ON s.layout = l.id AND s.number = l.step WHERE l.id = $1";
    let row = sqlx::query(sql).bind(id).fetch_optional(connection).await?;
    Head::of_row(&row.ok_or_else(|| StoreError::missing("layout", id))?)
}

pub(super) async fn read(connection: &mut AnyConnection, id: i64) -> Result<Layout, StoreError> {
    let head = head(connection, id).await?;
    let redo = step::label(connection, id, head.step + 1).await?;
    let revisions = revision::cards(connection, id).await?;
    Ok(Layout {
        id,
        title: head.title,
        commission: head.commission,
        composition: serde_json::from_str(&head.composition)?,
        stands: head.stands,
        picture: head.picture,
        undo: (head.step > 0).then_some(head.label),
        redo,
        revisions,
        changed_at_ms: head.changed_at_ms,
        version: head.version,
    })
}
