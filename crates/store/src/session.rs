//! Sessions: who is signed in. Only the token's hash is kept, so that no copy of the
//! database signs anyone in.

use serde_json::{Value, json};
use sha2::{Digest, Sha256};

use crate::{By, Store, StoreError, User, objects::hex, user};

impl Store {
    /// Begins a session of a user. The token must be long and random: 32 bytes of it.
    ///
    /// # Errors
    /// `Missing`, or when the database fails.
    pub async fn begin_session(
        &self,
        by: &By,
        user: i64,
        token: &str,
        expires_at_ms: i64,
    ) -> Result<User, StoreError> {
        let mut write = self.write(by).await?;
        let user = user::must_be(write.conn(), user).await?;
        sqlx::query("DELETE FROM sessions WHERE expires_at_ms <= $1")
            .bind(by.at_ms)
            .execute(write.conn())
            .await?;
        sqlx::query(
            "INSERT INTO sessions (token_sum, user_id, created_at_ms, expires_at_ms) \
             VALUES ($1, $2, $3, $4)",
        )
        .bind(sum(token))
        .bind(user.id)
        .bind(by.at_ms)
        .bind(expires_at_ms)
        .execute(write.conn())
        .await?;
        let after = json!({ "user": user.name, "expires_at_ms": expires_at_ms });
        write
            .event("session.changed", "signed in", user.id, Value::Null, after)
            .await?;
        write.commit().await?;
        Ok(user)
    }

    /// Whose session a token is, if it hasn't ended.
    ///
    /// # Errors
    /// When the database fails.
    pub async fn session_user(&self, token: &str, now_ms: i64) -> Result<Option<User>, StoreError> {
        let sql = "SELECT u.id, u.name, u.role, u.password, u.units, u.created_at_ms FROM users u \
                   JOIN sessions s ON s.user_id = u.id \
                   WHERE s.token_sum = $1 AND s.expires_at_ms > $2";
        let query = sqlx::query(sql).bind(sum(token)).bind(now_ms);
        let row = query.fetch_optional(self.pool()).await?;
        row.as_ref().map(User::of_row).transpose()
    }

    /// Ends a session; one that isn't there has ended already.
    ///
    /// # Errors
    /// When the database fails.
    pub async fn end_session(&self, by: &By, token: &str) -> Result<(), StoreError> {
        let mut write = self.write(by).await?;
        let user: Option<i64> =
            sqlx::query_scalar("DELETE FROM sessions WHERE token_sum = $1 RETURNING user_id")
                .bind(sum(token))
                .fetch_optional(write.conn())
                .await?;
        if let Some(user) = user {
            let before = json!({ "user": user::must_be(write.conn(), user).await?.name });
            write
                .event("session.changed", "signed out", user, before, Value::Null)
                .await?;
        }
        write.commit().await
    }
}

/// What is kept of a token. It is random and long, so that a plain hash is enough.
fn sum(token: &str) -> String {
    hex(&Sha256::digest(token.as_bytes()))
}
