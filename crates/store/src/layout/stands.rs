//! What was worked out for a layout: whether it stands, and its picture.

use serde_json::json;

use super::read::head;
use crate::{By, ObjectId, Store, StoreError};

impl Store {
    /// Notes whether a layout stands, as settled at a version of it.
    ///
    /// # Errors
    /// `Stale` when it was changed since, so that the answer isn't about it any more;
    /// `Missing`, or when the database fails.
    pub async fn set_stands(
        &self,
        by: &By,
        layout: i64,
        settled: i64,
        stands: bool,
    ) -> Result<(), StoreError> {
        let mut write = self.write(by).await?;
        let before = head(write.conn(), layout).await?.seen_at(settled)?;
        sqlx::query("UPDATE layouts SET stands = $2 WHERE id = $1")
            .bind(layout)
            .bind(i64::from(stands))
            .execute(write.conn())
            .await?;
        let was = json!({ "stands": before.stands });
        let is = json!({ "stands": stands });
        let deed = if stands { "stands" } else { "doesn't stand" };
        write
            .event("layout.reckoned", deed, layout, was, is)
            .await?;
        write.commit().await
    }

    /// Gives a layout its picture. An older one may come in late; the newest wins.
    ///
    /// # Errors
    /// `Missing`, or when the database fails.
    pub async fn set_layout_picture(
        &self,
        by: &By,
        layout: i64,
        picture: &ObjectId,
    ) -> Result<(), StoreError> {
        let mut write = self.write(by).await?;
        let before = head(write.conn(), layout).await?.picture;
        sqlx::query("UPDATE layouts SET picture_object = $2 WHERE id = $1")
            .bind(layout)
            .bind(picture.hex())
            .execute(write.conn())
            .await?;
        let was = json!({ "picture": before });
        let is = json!({ "picture": picture });
        write
            .event("layout.drawn", "drawn", layout, was, is)
            .await?;
        write.commit().await
    }
}
