//! Settings: a name and its JSON.

use serde::Serialize;
use serde_json::Value;
use sqlx::{AnyConnection, Row};

use crate::{By, Store, StoreError, text};

/// A setting.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Setting {
    /// What it is set to.
    pub value: Value,
    /// Goes up with every change.
    pub version: i64,
}

impl Store {
    /// A setting, if it is set.
    ///
    /// # Errors
    /// When the database fails.
    pub async fn setting(&self, name: &str) -> Result<Option<Setting>, StoreError> {
        let mut connection = self.pool().acquire().await?;
        read(&mut connection, name).await
    }

    /// Sets a setting, that was seen at a version if one is given (0 for not set yet).
    ///
    /// # Errors
    /// `Stale`, or when the database fails.
    pub async fn set(
        &self,
        by: &By,
        name: &str,
        seen: Option<i64>,
        value: Value,
    ) -> Result<Setting, StoreError> {
        text::check("/name", name)?;
        let mut write = self.write(by).await?;
        let before = read(write.conn(), name).await?;
        let current = before.as_ref().map_or(0, |setting| setting.version);
        if seen.is_some_and(|seen| seen != current) {
            return Err(StoreError::Stale {
                noun: "setting",
                subject: name.to_owned(),
                current,
            });
        }
        let version = current + 1;
        sqlx::query(
            "INSERT INTO settings (name, value, version) VALUES ($1, $2, $3) \
             ON CONFLICT (name) DO UPDATE SET value = $2, version = $3",
        )
        .bind(name)
        .bind(value.to_string())
        .bind(version)
        .execute(write.conn())
        .await?;
        let was = before.map_or(Value::Null, |setting| setting.value);
        write
            .event("setting.changed", "set", name, was, value.clone())
            .await?;
        write.commit().await?;
        Ok(Setting { value, version })
    }
}

async fn read(connection: &mut AnyConnection, name: &str) -> Result<Option<Setting>, StoreError> {
    let row = sqlx::query("SELECT value, version FROM settings WHERE name = $1")
        .bind(name)
        .fetch_optional(connection)
        .await?;
    row.map(|row| {
        Ok(Setting {
            value: serde_json::from_str(row.try_get("value")?)?,
            version: row.try_get("version")?,
        })
    })
    .transpose()
}
