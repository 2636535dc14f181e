//! Users: who may sign in, and what they prefer.

use serde::Serialize;
use serde_json::Value;
use sqlx::{AnyConnection, AssertSqlSafe, Row, any::AnyRow};

use crate::{By, Store, StoreError, text, word::words};

words! {
    /// What a user may do.
    Role in "users" {
        /// Everything.
        Owner = "owner",
        /// Everything but users and settings.
        Builder = "builder",
    }
}

words! {
    /// The units that a user reads and writes.
    Units in "users" {
        /// Millimetres, kilograms, litres.
        Metric = "metric",
        /// Inches, pounds, gallons of the United States.
        Us = "us",
    }
}

/// A user. The password's hash is only in `password`, which no JSON carries.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct User {
    /// Its id.
    pub id: i64,
    /// The name to sign in with.
    pub name: String,
    /// What it may do.
    pub role: Role,
    /// The password's hash, as the server made it.
    #[serde(skip)]
    pub password: String,
    /// What it reads and writes.
    pub units: Units,
    /// When it was made, Unix milliseconds.
    pub created_at_ms: i64,
}

const SELECT: &str =
    "SELECT u.id, u.name, u.role, u.password, u.units, u.created_at_ms FROM users u";

impl User {
    pub(crate) fn of_row(row: &AnyRow) -> Result<Self, StoreError> {
        Ok(Self {
            id: row.try_get("id")?,
            name: row.try_get("name")?,
            role: Role::of_row(row.try_get("role")?)?,
            password: row.try_get("password")?,
            units: Units::of_row(row.try_get("units")?)?,
            created_at_ms: row.try_get("created_at_ms")?,
        })
    }
}

impl Store {
    /// Whether nobody can sign in yet.
    ///
    /// # Errors
    /// When the database fails.
    pub async fn is_first_start(&self) -> Result<bool, StoreError> {
        Ok(n_users(&mut *self.pool().acquire().await?).await? == 0)
    }

    /// Makes the first user, the owner.
    ///
    /// # Errors
    /// `Exists` when there is a user already, `Refused` without a name, or when the
    /// database fails.
    pub async fn add_first_user(
        &self,
        by: &By,
        name: &str,
        password: &str,
    ) -> Result<User, StoreError> {
        self.insert_user(by, name, Role::Owner, password, true)
            .await
    }

    /// Makes another user.
    ///
    /// # Errors
    /// `Exists` when the name is another's, `Refused` without a name, or when the database
    /// fails.
    pub async fn add_user(
        &self,
        by: &By,
        name: &str,
        role: Role,
        password: &str,
    ) -> Result<User, StoreError> {
        self.insert_user(by, name, role, password, false).await
    }

    async fn insert_user(
        &self,
        by: &By,
        name: &str,
        role: Role,
        password: &str,
        first: bool,
    ) -> Result<User, StoreError> {
        if name.trim().is_empty() {
            return Err(StoreError::Refused {
                path: "/name",
                reason: "the user has no name".to_owned(),
                hint: "give a name to sign in with",
            });
        }
        text::check("/name", name)?;
        let mut write = self.write(by).await?;
        if first && n_users(write.conn()).await? > 0 {
            return Err(StoreError::Exists {
                noun: "user",
                subject: "who is the owner".to_owned(),
            });
        }
        let id = write.next("user").await?;
        sqlx::query(
            "INSERT INTO users (id, name, role, password, units, created_at_ms) \
             VALUES ($1, $2, $3, $4, 'metric', $5)",
        )
        .bind(id)
        .bind(name)
        .bind(role.word())
        .bind(password)
        .bind(by.at_ms)
        .execute(write.conn())
        .await
        .map_err(|error| StoreError::unique(error, "user", name))?;
        let user = must_be(write.conn(), id).await?;
        let after = serde_json::to_value(&user)?;
        write
            .event("user.changed", "made", id, Value::Null, after)
            .await?;
        write.commit().await?;
        Ok(user)
    }

    /// The user of a name, if there is one.
    ///
    /// # Errors
    /// When the database fails.
    pub async fn user_named(&self, name: &str) -> Result<Option<User>, StoreError> {
        let sql = AssertSqlSafe(format!("{SELECT} WHERE u.name = $1"));
        let row = sqlx::query(sql)
            .bind(name)
            .fetch_optional(self.pool())
            .await?;
        row.as_ref().map(User::of_row).transpose()
    }

    /// Sets what a user reads and writes.
    ///
    /// # Errors
    /// `Missing`, or when the database fails.
    pub async fn set_units(&self, by: &By, user: i64, units: Units) -> Result<User, StoreError> {
        let mut write = self.write(by).await?;
        let before = must_be(write.conn(), user).await?;
        sqlx::query("UPDATE users SET units = $2 WHERE id = $1")
            .bind(user)
            .bind(units.word())
            .execute(write.conn())
            .await?;
        let after = must_be(write.conn(), user).await?;
        write
            .change_event("user.changed", "preferences", user, &before, &after)
            .await?;
        write.commit().await?;
        Ok(after)
    }

    /// Sets a user's password, and ends all of the user's sessions.
    ///
    /// # Errors
    /// `Missing`, or when the database fails.
    pub async fn set_password(&self, by: &By, user: i64, password: &str) -> Result<(), StoreError> {
        let mut write = self.write(by).await?;
        let before = must_be(write.conn(), user).await?;
        sqlx::query("UPDATE users SET password = $2 WHERE id = $1")
            .bind(user)
            .bind(password)
            .execute(write.conn())
            .await?;
        sqlx::query("DELETE FROM sessions WHERE user_id = $1")
            .bind(user)
            .execute(write.conn())
            .await?;
        // The hash itself is nobody's business: before and after are the same.
        write
            .change_event("user.changed", "password", user, &before, &before)
            .await?;
        write.commit().await
    }
}

async fn n_users(connection: &mut AnyConnection) -> Result<i64, StoreError> {
    Ok(sqlx::query_scalar("SELECT count(*) FROM users")
        .fetch_one(connection)
        .await?)
}

pub(crate) async fn must_be(connection: &mut AnyConnection, id: i64) -> Result<User, StoreError> {
    let sql = AssertSqlSafe(format!("{SELECT} WHERE u.id = $1"));
    let row = sqlx::query(sql).bind(id).fetch_optional(connection).await?;
    User::of_row(&row.ok_or_else(|| StoreError::missing("user", id))?)
}
