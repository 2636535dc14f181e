//! Taking in: a new piece gets its tag and its row.

use serde_json::Value;
use workshop::{Money, PieceKind, Tag};

use super::{MassCertainty, Measured, Piece, PieceState, change, measured, photograph, read};
use crate::{By, Store, StoreError, grade, money, text, write::Write};

/// A piece to be taken in.
#[derive(Debug, Clone, PartialEq)]
pub struct TakeIn {
    /// Stone or wood.
    pub kind: PieceKind,
    /// A tag that the piece carries already; `None` for the next free number.
    pub tag: Option<Tag>,
    /// The kind of stone or wood.
    pub material: String,
    /// Whether it can be had: in preparation, ready or on display.
    pub state: PieceState,
    /// Where it lies.
    pub place: String,
    /// Density of its material, kg/m³.
    pub density_kg_m3: f64,
    /// Friction on others of its kind.
    pub friction: f64,
    /// Mass, kg.
    pub mass_kg: f64,
    /// How the mass is known.
    pub mass_certainty: MassCertainty,
    /// What it costs.
    pub price: Option<Money>,
    /// What the workshop says of it.
    pub notes: String,
    /// What follows from its scan.
    pub measured: Measured,
    /// Uploads that become its photographs.
    pub photographs: Vec<i64>,
}

impl Store {
    /// Takes in a piece. A number is claimed and the row written at once or not at all.
    ///
    /// # Errors
    /// `Exists` when the tag is another piece's, `Refused` for a value out of its rules,
    /// `Missing` for an upload that isn't there, or when the database fails.
    pub async fn take_in(&self, by: &By, piece: TakeIn) -> Result<Piece, StoreError> {
        let mut write = self.write(by).await?;
        let tag = take_in_one(&mut write, piece).await?;
        let mut taken = read::must_read(write.conn(), tag).await?;
        taken.photographs = photograph::of_piece(write.conn(), tag).await?;
        write.commit().await?;
        Ok(taken)
    }

    /// Takes in many pieces at once or none of them.
    ///
    /// # Errors
    /// As `take_in`.
    pub async fn take_in_all(&self, by: &By, pieces: Vec<TakeIn>) -> Result<Vec<Tag>, StoreError> {
        let mut write = self.write(by).await?;
        let mut tags = Vec::with_capacity(pieces.len());
        for piece in pieces {
            tags.push(take_in_one(&mut write, piece).await?);
        }
        write.commit().await?;
        Ok(tags)
    }
}

async fn take_in_one(write: &mut Write, piece: TakeIn) -> Result<Tag, StoreError> {
    check(&piece)?;
    let tag = claim_tag(write, &piece).await?;
    insert(write, tag, &piece).await?;
    measured::put(write, tag, &piece.measured).await?;
    grade::regrade(write.conn(), Some(tag)).await?;
    for upload in &piece.photographs {
        photograph::add(write, tag, *upload).await?;
    }
    let taken = read::must_read(write.conn(), tag).await?;
    let after = serde_json::to_value(&taken)?;
    write
        .event("piece.changed", "taken in", tag, Value::Null, after)
        .await?;
    Ok(tag)
}

fn check(piece: &TakeIn) -> Result<(), StoreError> {
    if matches!(piece.state, PieceState::Held | PieceState::Sold) {
        return Err(StoreError::Refused {
            path: "/state",
            reason: format!("a new piece can't be {}", piece.state.word()),
            hint: "take it in first, then hold or sell it",
        });
    }
    if piece.tag.is_some_and(|tag| tag.kind() != piece.kind) {
        return Err(StoreError::Refused {
            path: "/tag",
            reason: "the tag's letter belongs to the other kind".to_owned(),
            hint: "S- is for stone, W- for wood",
        });
    }
    change::check_positive("/mass_kg", piece.mass_kg)?;
    change::check_positive("/density_kg_m3", piece.density_kg_m3)?;
    change::check_positive("/friction", piece.friction)?;
    text::check("/place", &piece.place)?;
    text::check("/notes", &piece.notes)?;
    change::check_material(&piece.material)
}

/// The tag that the piece carries, or the next number of its kind that none carries.
async fn claim_tag(write: &mut Write, piece: &TakeIn) -> Result<Tag, StoreError> {
    let counter = piece.kind.word();
    if let Some(tag) = piece.tag {
        // The counter never falls behind a number that is in use.
        let sql = "INSERT INTO counters (name, last) VALUES ($1, $2) ON CONFLICT (name) \
                   DO UPDATE SET last = CASE WHEN counters.last < $2 THEN $2 ELSE counters.last END";
        sqlx::query(sql)
            .bind(counter)
            .bind(i64::from(tag.number()))
            .execute(write.conn())
            .await?;
        return Ok(tag);
    }
    let number = write.next(counter).await?;
    let number = u32::try_from(number).map_err(|_| StoreError::Refused {
        path: "/tag",
        reason: "there are no more numbers".to_owned(),
        hint: "give the piece a tag",
    })?;
    Ok(Tag::new(piece.kind, number)?)
}

async fn insert(write: &mut Write, tag: Tag, piece: &TakeIn) -> Result<(), StoreError> {
    let at_ms = write.by().at_ms;
    let (minor, currency) = money::columns(piece.price);
    // The measured columns are filled by `measured::put` in the same transaction.
    let sql = "INSERT INTO pieces (tag, kind, number, material, state, place, long_mm, mid_mm, \
               short_mm, laid_width_mm, laid_depth_mm, laid_height_mm, mass_kg, mass_certainty, \
               density_kg_m3, friction, price_minor, price_currency, colour, notes, search, \
               received_at_ms, changed_at_ms, version) \
               VALUES ($1, $2, $3, $4, $5, $6, 0, 0, 0, 0, 0, 0, $7, $8, $9, $10, $11, $12, '', \
               $13, $14, $15, $15, 1)";
    sqlx::query(sql)
        .bind(tag.to_string())
        .bind(piece.kind.word())
        .bind(i64::from(tag.number()))
        .bind(&piece.material)
        .bind(piece.state.word())
        .bind(&piece.place)
        .bind(piece.mass_kg)
        .bind(piece.mass_certainty.word())
        .bind(piece.density_kg_m3)
        .bind(piece.friction)
        .bind(minor)
        .bind(currency)
        .bind(&piece.notes)
        .bind(change::search_text(
            tag,
            &piece.material,
            &piece.place,
            &piece.notes,
        ))
        .bind(at_ms)
        .execute(write.conn())
        .await
        .map_err(|error| StoreError::unique(error, "piece", tag))?;
    Ok(())
}
