//! Steps: unlimited undo and redo that survive a restart.
//!
//! Steps are numbered from 0 and the layout's row says which one is current. Undo and
//! redo move along the line; an edit after an undo drops the steps beyond and goes on
//! from there. What was dropped is still in the events.

use std::collections::BTreeSet;

use serde_json::{Value, json};
use sqlx::{AnyConnection, Row};
use workshop::Tag;

use super::{
    Layout,
    read::{Head, head, read},
};
use crate::{By, Store, StoreError, text, write::Write};

impl Store {
    /// Composes: a new step after the current one of a layout that was seen at a version.
    ///
    /// # Errors
    /// `Stale`, `Missing`, or when the database fails.
    pub async fn compose(
        &self,
        by: &By,
        id: i64,
        seen: i64,
        label: &str,
        composition: &Value,
    ) -> Result<Layout, StoreError> {
        let mut write = self.write(by).await?;
        let before = head(write.conn(), id).await?.seen_at(seen)?;
        append(&mut write, &before, label, composition).await?;
        end(write, id).await
    }

    /// Takes the current step back.
    ///
    /// # Errors
    /// `Refused` when there is none, `Stale`, `Missing`, or when the database fails.
    pub async fn undo(&self, by: &By, id: i64, seen: i64) -> Result<Layout, StoreError> {
        let mut write = self.write(by).await?;
        let before = head(write.conn(), id).await?.seen_at(seen)?;
        if before.step == 0 {
            return Err(nothing("undo"));
        }
        let deed = format!("undo: {}", before.label);
        let to = before.step - 1;
        go_to(&mut write, &before, to, deed).await?;
        end(write, id).await
    }

    /// Brings back the step that was taken back last.
    ///
    /// # Errors
    /// `Refused` when there is none, `Stale`, `Missing`, or when the database fails.
    pub async fn redo(&self, by: &By, id: i64, seen: i64) -> Result<Layout, StoreError> {
        let mut write = self.write(by).await?;
        let before = head(write.conn(), id).await?.seen_at(seen)?;
        let to = before.step + 1;
        let next = label(write.conn(), id, to).await?;
        let deed = format!("redo: {}", next.ok_or_else(|| nothing("redo"))?);
        go_to(&mut write, &before, to, deed).await?;
        end(write, id).await
    }
}

/// Adds a step after the current one and makes it current.
pub(super) async fn append(
    write: &mut Write,
    before: &Head,
    label: &str,
    composition: &Value,
) -> Result<(), StoreError> {
    text::check("/label", label)?;
    sqlx::query("DELETE FROM layout_steps WHERE layout = $1 AND number > $2")
        .bind(before.id)
        .bind(before.step)
        .execute(write.conn())
        .await?;
    let json = composition.to_string();
    insert(write, before.id, before.step + 1, label, &json).await?;
    go_to(write, before, before.step + 1, label.to_owned()).await
}

/// Makes a step the current one and says so in an event.
async fn go_to(
    write: &mut Write,
    before: &Head,
    step: i64,
    deed: String,
) -> Result<(), StoreError> {
    let kept: String =
        sqlx::query("SELECT composition FROM layout_steps WHERE layout = $1 AND number = $2")
            .bind(before.id)
            .bind(step)
            .fetch_one(write.conn())
            .await?
            .try_get("composition")?;
    let composition: Value = serde_json::from_str(&kept)?;
    let title = match composition.get("title").and_then(Value::as_str) {
        Some(title) if !title.trim().is_empty() => title,
        _ => &before.title,
    };
    text::check("/composition/title", title)?;
    let at_ms = write.by().at_ms;
    sqlx::query(
        "UPDATE layouts SET step = $2, title = $3, stands = NULL, changed_at_ms = $4, \
         version = version + 1 WHERE id = $1 AND version = $5",
    )
    .bind(before.id)
    .bind(step)
    .bind(title)
    .bind(at_ms)
    .bind(before.version)
    .execute(write.conn())
    .await?;
    note_pieces(write, before.id, &composition).await?;
    let was = json!({
        "version": before.version,
        "composition": serde_json::from_str::<Value>(&before.composition)?,
    });
    let is = json!({ "version": before.version + 1, "composition": composition });
    write
        .event("layout.changed", deed, before.id, was, is)
        .await
}

/// Writes a step.
pub(super) async fn insert(
    write: &mut Write,
    layout: i64,
    number: i64,
    label: &str,
    composition: &str,
) -> Result<(), StoreError> {
    sqlx::query(
        "INSERT INTO layout_steps (layout, number, label, composition) VALUES ($1, $2, $3, $4)",
    )
    .bind(layout)
    .bind(number)
    .bind(label)
    .bind(composition)
    .execute(write.conn())
    .await?;
    Ok(())
}

/// The label of a step, if there is one of that number.
pub(super) async fn label(
    connection: &mut AnyConnection,
    layout: i64,
    number: i64,
) -> Result<Option<String>, StoreError> {
    let sql = "SELECT label FROM layout_steps WHERE layout = $1 AND number = $2";
    Ok(sqlx::query_scalar(sql)
        .bind(layout)
        .bind(number)
        .fetch_optional(connection)
        .await?)
}

/// Notes how many pieces a layout has and which, for its card and for the pieces' pages.
pub(super) async fn note_pieces(
    write: &mut Write,
    layout: i64,
    composition: &Value,
) -> Result<(), StoreError> {
    let pieces = composition.get("piece").and_then(Value::as_array);
    let pieces = pieces.map_or(&[][..], Vec::as_slice);
    let tags: BTreeSet<Tag> = pieces
        .iter()
        .filter_map(|piece| piece.get("tag")?.as_str()?.parse().ok())
        .collect();
    sqlx::query("UPDATE layouts SET n_pieces = $2 WHERE id = $1")
        .bind(layout)
        .bind(i64::try_from(pieces.len()).unwrap_or(i64::MAX))
        .execute(write.conn())
        .await?;
    sqlx::query("DELETE FROM layout_pieces WHERE layout = $1")
        .bind(layout)
        .execute(write.conn())
        .await?;
    for tag in tags {
        sqlx::query("INSERT INTO layout_pieces (layout, tag) VALUES ($1, $2)")
            .bind(layout)
            .bind(tag.to_string())
            .execute(write.conn())
            .await?;
    }
    Ok(())
}

/// Reads the layout as it becomes, and makes it so.
pub(super) async fn end(mut write: Write, id: i64) -> Result<Layout, StoreError> {
    let layout = read(write.conn(), id).await?;
    write.commit().await?;
    Ok(layout)
}

fn nothing(what: &str) -> StoreError {
    StoreError::Refused {
        path: "",
        reason: format!("there is nothing to {what}"),
        hint: "read the layout again: it says what can be undone and redone",
    }
}
