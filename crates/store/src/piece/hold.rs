//! Holding, letting go and selling: a piece is never promised twice.

use serde::Serialize;
use workshop::Tag;

use super::{Piece, PieceCard, PieceState, change, read};
use crate::{By, Store, StoreError, write::Write};

/// For whom and until when a piece is set aside.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Hold {
    /// The commission, if it is for one.
    pub commission: Option<i64>,
    /// Unix milliseconds; `None` until it is let go.
    pub until_ms: Option<i64>,
}

impl Store {
    /// Sets a piece aside.
    ///
    /// # Errors
    /// `Taken` when it is held or sold, `Stale`, `Missing`, or when the database fails.
    pub async fn hold_piece(
        &self,
        by: &By,
        tag: Tag,
        seen: i64,
        hold: Hold,
    ) -> Result<Piece, StoreError> {
        let mut write = self.write(by).await?;
        let before = read::must_read(write.conn(), tag).await?;
        may_become(&before.card, PieceState::Held)?;
        change::stale(tag, seen, before.card.version)?;
        if let Some(commission) = hold.commission {
            crate::commission::must_be(write.conn(), commission).await?;
        }
        set_state(&mut write, &before, PieceState::Held).await?;
        mark(&mut write, tag, before.card.state, Some(&hold)).await?;
        self.end(write, tag, "held", before).await
    }

    /// Lets a held piece go; it is again what it was before.
    ///
    /// # Errors
    /// `Refused` when it isn't held, `Stale`, `Missing`, or when the database fails.
    pub async fn let_go(&self, by: &By, tag: Tag, seen: i64) -> Result<Piece, StoreError> {
        let mut write = self.write(by).await?;
        let before = read::must_read(write.conn(), tag).await?;
        change::stale(tag, seen, before.card.version)?;
        if before.card.state != PieceState::Held {
            return Err(StoreError::Refused {
                path: "/state",
                reason: format!("{tag} isn't held"),
                hint: "only a held piece can be let go",
            });
        }
        let from: Option<String> =
            sqlx::query_scalar("SELECT hold_from FROM pieces WHERE tag = $1")
                .bind(tag.to_string())
                .fetch_one(write.conn())
                .await?;
        let state = from.as_deref().and_then(PieceState::from_word);
        set_state(&mut write, &before, state.unwrap_or(PieceState::Ready)).await?;
        clear_unless_held(&mut write, tag).await?;
        self.end(write, tag, "let go", before).await
    }

    /// Sells a piece: to anyone, or to the commission that holds it.
    ///
    /// # Errors
    /// `Taken` when it is sold, or held for another commission; `Stale`, `Missing`, or when
    /// the database fails.
    pub async fn sell_piece(
        &self,
        by: &By,
        tag: Tag,
        seen: i64,
        commission: Option<i64>,
    ) -> Result<Piece, StoreError> {
        let mut write = self.write(by).await?;
        let before = read::must_read(write.conn(), tag).await?;
        let holder = before.card.hold.as_ref().and_then(|hold| hold.commission);
        if before.card.state == PieceState::Sold {
            return Err(taken(&before.card, "sold"));
        }
        if holder.is_some() && holder != commission {
            return Err(taken(&before.card, "held"));
        }
        change::stale(tag, seen, before.card.version)?;
        set_state(&mut write, &before, PieceState::Sold).await?;
        clear_unless_held(&mut write, tag).await?;
        self.end(write, tag, "sold", before).await
    }

    async fn end(
        &self,
        mut write: Write,
        tag: Tag,
        deed: &str,
        before: Piece,
    ) -> Result<Piece, StoreError> {
        change::finish(&mut write, tag, deed, &before).await?;
        write.commit().await?;
        self.piece(tag).await
    }
}

/// Whether a piece may go to a state from the one it is in.
pub(super) fn may_become(card: &PieceCard, state: PieceState) -> Result<(), StoreError> {
    match (card.state, state) {
        (PieceState::Sold, PieceState::Held | PieceState::Sold) => Err(taken(card, "sold")),
        (PieceState::Held, PieceState::Held) => Err(taken(card, "held")),
        _ => Ok(()),
    }
}

fn taken(card: &PieceCard, state: &'static str) -> StoreError {
    StoreError::Taken {
        tag: card.tag.to_string(),
        state,
        commission: card.hold.as_ref().and_then(|hold| hold.commission),
    }
}

/// Sets the state on the very row that was read, and on no newer one.
async fn set_state(write: &mut Write, before: &Piece, state: PieceState) -> Result<(), StoreError> {
    let at_ms = write.by().at_ms;
    let sql = "UPDATE pieces SET state = $3, changed_at_ms = $4, version = version + 1 \
               WHERE tag = $1 AND version = $2 AND state = $5";
    let done = sqlx::query(sql)
        .bind(before.card.tag.to_string())
        .bind(before.card.version)
        .bind(state.word())
        .bind(at_ms)
        .bind(before.card.state.word())
        .execute(write.conn())
        .await?;
    if done.rows_affected() == 1 {
        return Ok(());
    }
    let now = read::must_read(write.conn(), before.card.tag).await?;
    change::stale(before.card.tag, before.card.version, now.card.version)
}

/// Notes for whom a piece is held and what it was before.
pub(super) async fn mark(
    write: &mut Write,
    tag: Tag,
    from: PieceState,
    hold: Option<&Hold>,
) -> Result<(), StoreError> {
    let sql = "UPDATE pieces SET hold_commission = $2, hold_until_ms = $3, hold_from = $4 \
               WHERE tag = $1";
    sqlx::query(sql)
        .bind(tag.to_string())
        .bind(hold.and_then(|h| h.commission))
        .bind(hold.and_then(|h| h.until_ms))
        .bind(from.word())
        .execute(write.conn())
        .await?;
    Ok(())
}

/// Forgets a hold that is over.
pub(super) async fn clear_unless_held(write: &mut Write, tag: Tag) -> Result<(), StoreError> {
    let sql = "UPDATE pieces SET hold_commission = NULL, hold_until_ms = NULL, hold_from = NULL \
               WHERE tag = $1 AND state <> 'held'";
    let query = sqlx::query(sql).bind(tag.to_string());
    query.execute(write.conn()).await?;
    Ok(())
}
