//! Changing a piece: what a person edits, and what a new scan says.

use workshop::{Money, Tag};

use super::{MassCertainty, Measured, Piece, PieceState, measured, read};
use crate::{By, ObjectId, Store, StoreError, grade, money, text, write::Write};

/// What a person edits; `None` leaves a field as it is.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct PieceChange {
    /// Whether it can be had.
    pub state: Option<PieceState>,
    /// Where it lies.
    pub place: Option<String>,
    /// What it costs; `Some(None)` clears it.
    pub price: Option<Option<Money>>,
    /// Mass in kg and how it is known.
    pub mass_kg: Option<(f64, MassCertainty)>,
    /// The kind of stone or wood.
    pub material: Option<String>,
    /// Density of its material, kg/m³.
    pub density_kg_m3: Option<f64>,
    /// Friction on others of its kind.
    pub friction: Option<f64>,
    /// What the workshop says of it.
    pub notes: Option<String>,
    /// What a new scan says.
    pub measured: Option<Measured>,
}

impl Store {
    /// Changes a piece that was seen at a version.
    ///
    /// # Errors
    /// `Stale` when it was changed since, `Taken` when it is to be held but is sold or held,
    /// `Refused` for a value out of its rules, `Missing`, or when the database fails.
    pub async fn change_piece(
        &self,
        by: &By,
        tag: Tag,
        seen: i64,
        change: PieceChange,
    ) -> Result<Piece, StoreError> {
        let mut write = self.write(by).await?;
        change_one(&mut write, tag, seen, &change).await?;
        write.commit().await?;
        self.piece(tag).await
    }

    /// Changes many pieces at once or none of them; says how many really changed.
    ///
    /// # Errors
    /// As `change_piece`, of the first that can't be changed.
    pub async fn change_pieces(
        &self,
        by: &By,
        changes: Vec<(Tag, i64, PieceChange)>,
    ) -> Result<usize, StoreError> {
        let mut write = self.write(by).await?;
        let mut n_changed = 0;
        for (tag, seen, change) in changes {
            n_changed += usize::from(change_one(&mut write, tag, seen, &change).await?);
        }
        write.commit().await?;
        Ok(n_changed)
    }

    /// Gives a piece its rendered picture. No version: a picture is derived, not decided.
    ///
    /// # Errors
    /// `Missing`, or when the database fails.
    pub async fn set_piece_picture(
        &self,
        by: &By,
        tag: Tag,
        picture: &ObjectId,
    ) -> Result<(), StoreError> {
        let mut write = self.write(by).await?;
        let before = read::must_read(write.conn(), tag).await?;
        sqlx::query("UPDATE pieces SET picture_object = $2 WHERE tag = $1")
            .bind(tag.to_string())
            .bind(picture.hex())
            .execute(write.conn())
            .await?;
        finish(&mut write, tag, "drawn", &before).await?;
        write.commit().await
    }
}

/// Changes one piece; whether anything is different now.
async fn change_one(
    write: &mut Write,
    tag: Tag,
    seen: i64,
    change: &PieceChange,
) -> Result<bool, StoreError> {
    let before = read::must_read(write.conn(), tag).await?;
    stale(tag, seen, before.card.version)?;
    check(change)?;
    let mut new = before.clone();
    apply(&mut new, change)?;
    if let Some(new_scan) = &change.measured {
        measured::put(write, tag, new_scan).await?;
    }
    let is_measured = change.measured.is_some();
    if new == before && !is_measured {
        return Ok(false);
    }
    update(write, seen, &new).await?;
    if new.card.state == PieceState::Held && before.card.state != PieceState::Held {
        super::hold::mark(write, tag, before.card.state, None).await?;
    }
    grade::regrade(write.conn(), Some(tag)).await?;
    let deed = if is_measured { "measured" } else { "changed" };
    finish(write, tag, deed, &before).await?;
    Ok(true)
}

fn apply(piece: &mut Piece, change: &PieceChange) -> Result<(), StoreError> {
    let card = &mut piece.card;
    if let Some(state) = change.state
        && state != card.state
    {
        super::hold::may_become(card, state)?;
        card.state = state;
    }
    if let Some(place) = &change.place {
        card.place.clone_from(place);
    }
    if let Some(price) = change.price {
        card.price = price;
    }
    if let Some((mass_kg, certainty)) = change.mass_kg {
        (card.mass_kg, card.mass_certainty) = (mass_kg, certainty);
    }
    if let Some(material) = &change.material {
        card.material.clone_from(material);
    }
    piece.density_kg_m3 = change.density_kg_m3.unwrap_or(piece.density_kg_m3);
    piece.friction = change.friction.unwrap_or(piece.friction);
    if let Some(notes) = &change.notes {
        piece.notes.clone_from(notes);
    }
    Ok(())
}

async fn update(write: &mut Write, seen: i64, new: &Piece) -> Result<(), StoreError> {
    let at_ms = write.by().at_ms;
    let card = &new.card;
    let (minor, currency) = money::columns(card.price);
    let sql = "UPDATE pieces SET material = $3, state = $4, place = $5, mass_kg = $6, \
               mass_certainty = $7, price_minor = $8, price_currency = $9, density_kg_m3 = $10, \
               friction = $11, notes = $12, search = $13, changed_at_ms = $14, \
               version = version + 1 WHERE tag = $1 AND version = $2";
    let done = sqlx::query(sql)
        .bind(card.tag.to_string())
        .bind(seen)
        .bind(&card.material)
        .bind(card.state.word())
        .bind(&card.place)
        .bind(card.mass_kg)
        .bind(card.mass_certainty.word())
        .bind(minor)
        .bind(currency)
        .bind(new.density_kg_m3)
        .bind(new.friction)
        .bind(&new.notes)
        .bind(search_text(
            card.tag,
            &card.material,
            &card.place,
            &new.notes,
        ))
        .bind(at_ms)
        .execute(write.conn())
        .await?;
    if done.rows_affected() == 1 {
        return super::hold::clear_unless_held(write, card.tag).await;
    }
    let now = read::must_read(write.conn(), card.tag).await?;
    stale(card.tag, seen, now.card.version)
}

/// Appends the event of a change.
pub(super) async fn finish(
    write: &mut Write,
    tag: Tag,
    deed: &str,
    before: &Piece,
) -> Result<(), StoreError> {
    let after = read::must_read(write.conn(), tag).await?;
    write
        .change_event("piece.changed", deed, tag, before, &after)
        .await
}

pub(super) fn stale(tag: Tag, seen: i64, current: i64) -> Result<(), StoreError> {
    if seen == current {
        return Ok(());
    }
    Err(StoreError::Stale {
        noun: "piece",
        subject: tag.to_string(),
        current,
    })
}

fn check(change: &PieceChange) -> Result<(), StoreError> {
    if let Some((mass_kg, _)) = change.mass_kg {
        check_positive("/mass_kg", mass_kg)?;
    }
    if let Some(density_kg_m3) = change.density_kg_m3 {
        check_positive("/density_kg_m3", density_kg_m3)?;
    }
    if let Some(friction) = change.friction {
        check_positive("/friction", friction)?;
    }
    for (path, words) in [("/place", &change.place), ("/notes", &change.notes)] {
        text::check(path, words.as_deref().unwrap_or_default())?;
    }
    change.material.as_deref().map_or(Ok(()), check_material)
}

pub(super) fn check_positive(path: &'static str, value: f64) -> Result<(), StoreError> {
    if value.is_finite() && value > 0.0 {
        return Ok(());
    }
    Err(StoreError::Refused {
        path,
        reason: format!("{value} is no positive number"),
        hint: "give a number above zero",
    })
}

pub(super) fn check_material(material: &str) -> Result<(), StoreError> {
    if material.trim().is_empty() {
        return Err(StoreError::Refused {
            path: "/material",
            reason: "the material has no name".to_owned(),
            hint: "name the kind of stone or wood",
        });
    }
    text::check("/material", material)
}

/// What a search by words looks through.
pub(super) fn search_text(tag: Tag, material: &str, place: &str, notes: &str) -> String {
    format!("{tag}\n{material}\n{place}\n{notes}").to_lowercase()
}
