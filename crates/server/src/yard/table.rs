//! The yard as a table: out for a spreadsheet, in again with what was changed there.

use std::collections::BTreeMap;

use axum::{Json, extract::State};
use futures_util::{StreamExt, TryStreamExt, stream};
use schemars::JsonSchema;
use serde::Serialize;
use store::{MassCertainty, PieceChange, PieceFilter, PieceSort, PieceState};
use workshop::{Currency, Money, Tag};

use super::change::{short, within};
use crate::{
    App,
    http::{
        Api, ApiError, Reply,
        body::Table,
        reply::{Csv, File},
    },
    people::{Who, routes::shop},
};

/// The columns, in order. Those marked true are read back.
const COLUMNS: [(&str, bool); 18] = [
    ("tag", false),
    ("kind", false),
    ("material", true),
    ("state", true),
    ("place", true),
    ("grade", false),
    ("long_mm", false),
    ("mid_mm", false),
    ("short_mm", false),
    ("width_mm", false),
    ("depth_mm", false),
    ("height_mm", false),
    ("mass_kg", true),
    ("mass_certainty", false),
    ("density_kg_m3", true),
    ("price", true),
    ("currency", false),
    ("notes", true),
];
/// Pieces that are read at once.
const PAGE: i64 = 2000;
/// Pieces that are asked for side by side.
const AT_ONCE: usize = 6;
/// Mistakes that are told at once.
const MOST_ERRORS: usize = 100;

/// What a table that was sent in did.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Taken {
    /// Pieces that are different now.
    pub changed: usize,
    /// Pieces that were so already.
    pub unchanged: usize,
    /// Mistakes; with any of them nothing was changed.
    pub errors: Vec<Mistake>,
}

/// A mistake in a table.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Mistake {
    /// The line of the file, from 1.
    pub line: u64,
    /// The column's name; empty for the whole line.
    pub column: String,
    /// What is wrong.
    pub message: String,
}

/// The routes.
#[must_use]
pub fn routes(api: Api) -> Api {
    api.get("/api/pieces.csv", out, "The yard as a table").post(
        "/api/pieces.csv",
        back,
        "Takes in material, state, place, mass, density, price and notes by tag; all or nothing",
    )
}

/// A text that no spreadsheet takes for a formula.
fn harmless(text: &str) -> String {
    if text.starts_with(['=', '+', '-', '@', '\t', '\r']) {
        format!("'{text}")
    } else {
        text.to_owned()
    }
}

/// The text as it was before [`harmless`].
fn meant(text: &str) -> &str {
    match text.strip_prefix('\'') {
        Some(rest) if rest.starts_with(['=', '+', '-', '@', '\t', '\r']) => rest,
        _ => text,
    }
}

/// A number as it is read back to the same value.
fn number(value: f64) -> String {
    let round = (value * 1e6).round() / 1e6;
    format!("{round}")
}

async fn every(app: &App) -> Result<Vec<store::Piece>, ApiError> {
    let mut all = Vec::new();
    let filter = PieceFilter::default();
    loop {
        let offset = all.len() as i64;
        let page = app
            .store
            .pieces(&filter, PieceSort::Tag, false, offset, PAGE)
            .await?;
        let n = page.pieces.len();
        let read = page
            .pieces
            .into_iter()
            .map(|card| app.store.piece(card.tag));
        let read: Vec<store::Piece> = stream::iter(read).buffered(AT_ONCE).try_collect().await?;
        all.extend(read);
        if n == 0 || all.len() as i64 >= page.total {
            return Ok(all);
        }
    }
}

async fn out(State(app): State<App>) -> Result<File<Csv>, ApiError> {
    let pieces = every(&app).await?;
    let bytes = app
        .crew
        .quick(move || written(&pieces))
        .await?
        .map_err(|error| ApiError::internal(&error))?;
    Ok(File::new(bytes).called("pieces.csv"))
}

fn written(pieces: &[store::Piece]) -> Result<Vec<u8>, Box<dyn std::error::Error + Send + Sync>> {
    let mut table = csv::Writer::from_writer(Vec::new());
    table.write_record(COLUMNS.map(|(name, _)| name))?;
    for piece in pieces {
        let card = &piece.card;
        let [long, mid, small] = card.size_mm.map(number);
        let [width, depth, height] = card.as_laid_mm.map(number);
        table.write_record([
            card.tag.to_string(),
            card.kind.word().to_owned(),
            harmless(&card.material),
            card.state.word().to_owned(),
            harmless(&card.place),
            harmless(card.grade.as_deref().unwrap_or_default()),
            long,
            mid,
            small,
            width,
            depth,
            height,
            number(card.mass_kg),
            card.mass_certainty.word().to_owned(),
            number(piece.density_kg_m3),
            card.price.map(|p| number(p.amount())).unwrap_or_default(),
            card.price
                .map(|p| p.currency.code().to_owned())
                .unwrap_or_default(),
            harmless(&piece.notes),
        ])?;
    }
    Ok(table.into_inner().map_err(|error| error.into_error())?)
}

async fn back(State(app): State<App>, who: Who, Table(text): Table) -> Reply<Taken> {
    let currency = shop(&app).await?.currency;
    let currency = Currency::new(&currency).map_err(|error| ApiError::internal(&error))?;
    let rows = rows(&text)?;
    let mut errors = Vec::new();
    let mut changes: Vec<(Tag, i64, PieceChange)> = Vec::new();
    let mut seen: BTreeMap<Tag, u64> = BTreeMap::new();
    for row in rows {
        if errors.len() >= MOST_ERRORS {
            break;
        }
        let tag = match row.tag() {
            Ok(tag) => tag,
            Err(mistake) => {
                errors.push(mistake);
                continue;
            }
        };
        if let Some(first) = seen.insert(tag, row.line) {
            errors.push(row.mistake("tag", format!("{tag} stands on line {first} already")));
            continue;
        }
        match app.store.piece(tag).await {
            Ok(piece) => match row.change(&piece, currency) {
                Ok(change) => changes.push((tag, piece.card.version, change)),
                Err(mut mistakes) => errors.append(&mut mistakes),
            },
            Err(store::StoreError::Missing { .. }) => {
                errors.push(row.mistake("tag", format!("there is no piece {tag}")));
            }
            Err(error) => return Err(error.into()),
        }
    }
    if !errors.is_empty() {
        errors.truncate(MOST_ERRORS);
        return Ok(Json(Taken {
            errors,
            ..Taken::default()
        }));
    }
    let n = changes.len();
    let changed = app.store.change_pieces(&who.by(), changes).await?;
    Ok(Json(Taken {
        changed,
        unchanged: n - changed,
        errors,
    }))
}

/// A line of a table with the names of its columns.
struct Row {
    line: u64,
    fields: BTreeMap<String, String>,
}

fn rows(text: &str) -> Result<Vec<Row>, ApiError> {
    let unread = |error: csv::Error| {
        ApiError::malformed(
            format!("the table can't be read: {error}"),
            "save it as CSV with commas",
        )
    };
    // A spreadsheet may write a mark for the order of bytes, and semicolons where commas are decimal.
    let text = text.trim_start_matches('\u{feff}');
    let first = text.lines().next().unwrap_or_default();
    let delimiter = if first.contains(';') && !first.contains(',') {
        b';'
    } else {
        b','
    };
    let mut table = csv::ReaderBuilder::new()
        .delimiter(delimiter)
        .trim(csv::Trim::All)
        .from_reader(text.as_bytes());
    let names: Vec<String> = table
        .headers()
        .map_err(unread)?
        .iter()
        .map(str::to_owned)
        .collect();
    if let Some(other) = names
        .iter()
        .find(|n| !COLUMNS.iter().any(|(name, _)| name == n))
    {
        let known = COLUMNS.map(|(name, _)| name).join(", ");
        let other: String = other.chars().take(40).collect();
        return Err(ApiError::malformed(
            format!("there is no column {other:?}"),
            format!("the columns are {known}"),
        ));
    }
    if !names.iter().any(|name| name == "tag") {
        return Err(ApiError::malformed(
            "there is no column tag",
            "start from the table that is given out",
        ));
    }
    table
        .records()
        .map(|record| {
            let record = record.map_err(unread)?;
            let line = record.position().map_or(0, csv::Position::line);
            let fields = names
                .iter()
                .cloned()
                .zip(record.iter().map(str::to_owned))
                .collect();
            Ok(Row { line, fields })
        })
        .collect()
}

impl Row {
    fn mistake(&self, column: &str, message: impl Into<String>) -> Mistake {
        Mistake {
            line: self.line,
            column: column.to_owned(),
            message: message.into(),
        }
    }

    fn tag(&self) -> Result<Tag, Mistake> {
        let text = self.fields.get("tag").map_or("", String::as_str);
        text.parse()
            .map_err(|error: workshop::WorkshopError| self.mistake("tag", error.to_string()))
    }

    /// What differs from the piece as it is.
    fn change(
        &self,
        piece: &store::Piece,
        currency: Currency,
    ) -> Result<PieceChange, Vec<Mistake>> {
        let mut mistakes = Vec::new();
        let mut change = PieceChange::default();
        for (column, is_read) in COLUMNS {
            let Some(text) = self.fields.get(column).filter(|_| is_read) else {
                continue;
            };
            if let Err(message) = apply(&mut change, column, meant(text), piece, currency) {
                mistakes.push(self.mistake(column, message));
            }
        }
        if mistakes.is_empty() {
            Ok(change)
        } else {
            Err(mistakes)
        }
    }
}

fn apply(
    change: &mut PieceChange,
    column: &str,
    text: &str,
    piece: &store::Piece,
    currency: Currency,
) -> Result<(), String> {
    let card = &piece.card;
    let told = |error: ApiError| error.told.message;
    match column {
        "material" if text != card.material => {
            short("", text, 200).map_err(told)?;
            if text.is_empty() {
                return Err("the material has no name".to_owned());
            }
            change.material = Some(text.to_owned());
        }
        "place" if text != card.place => {
            short("", text, 200).map_err(told)?;
            change.place = Some(text.to_owned());
        }
        "notes" if text != piece.notes.trim() => {
            short("", text, 10_000).map_err(told)?;
            change.notes = Some(text.to_owned());
        }
        "state" if text != card.state.word() => {
            let state = PieceState::from_word(text).ok_or_else(|| {
                let known: Vec<&str> = PieceState::ALL.iter().map(|s| s.word()).collect();
                format!("it is one of {}", known.join(", "))
            })?;
            change.state = Some(state);
        }
        "mass_kg" if text != number(card.mass_kg) => {
            let mass = within("", parsed(text)?, 0.0, 2000.0).map_err(told)?;
            change.mass_kg = Some((mass, MassCertainty::Measured));
        }
        "density_kg_m3" if text != number(piece.density_kg_m3) => {
            change.density_kg_m3 = Some(within("", parsed(text)?, 49.9, 20_000.0).map_err(told)?);
        }
        "price" => {
            let price = match text {
                "" => None,
                text => {
                    let amount = within("", parsed(text)?, -1e-9, 1e7).map_err(told)?;
                    let of = card.price.map_or(currency, |p| p.currency);
                    Some(Money::from_amount(amount, of).map_err(|error| error.to_string())?)
                }
            };
            if price != card.price {
                change.price = Some(price);
            }
        }
        _ => {}
    }
    Ok(())
}

fn parsed(text: &str) -> Result<f64, String> {
    text.parse::<f64>()
        .ok()
        .filter(|number| number.is_finite())
        .ok_or_else(|| {
            format!(
                "{:?} is no number; write a point before decimals",
                text.chars().take(20).collect::<String>()
            )
        })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_text_is_taken_for_a_formula_and_all_come_back() {
        for text in ["=1+1", "+1", "-1", "@A1", "shelf A", "'quoted", ""] {
            assert!(!harmless(text).starts_with(['=', '+', '-', '@']));
            assert_eq!(meant(&harmless(text)), text);
        }
    }

    #[test]
    fn a_table_of_semicolons_with_a_mark_is_read() {
        let rows = rows("\u{feff}tag;place\nS-0001;shelf A\n").expect("a table");
        assert_eq!(rows[0].fields["place"], "shelf A");
        assert_eq!(rows[0].line, 2);
    }

    #[test]
    fn an_unknown_column_is_named() {
        let error = rows("tag,colour\n").err().expect("refused");
        assert!(error.told.message.contains("colour"));
    }
}
