//! Lists of pieces: filtered, sorted, counted.

use axum::{Json, extract::State};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use store::{Facet, PieceFilter, PieceSort};

use super::card::{KindWord, PieceCard};
use crate::{
    App,
    http::{Api, ApiError, Params, Reply},
    people::routes::shop,
};

/// Pieces on a page when nothing is said.
const USUAL: i64 = 200;
/// Pieces on a page at most.
const MOST: i64 = 5000;

/// What a list is narrowed to. Several materials, states, places or grades are joined by `|`.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
pub struct PieceQuery {
    /// Stone or wood.
    kind: Option<KindWord>,
    /// Any of these materials.
    material: Option<String>,
    /// Any of these states.
    state: Option<String>,
    /// Any of these places.
    place: Option<String>,
    /// Any of these grades.
    grade: Option<String>,
    /// Words that all occur in tag, material, place or notes.
    text: Option<String>,
    /// Longest side at least.
    long_min_mm: Option<f64>,
    /// Longest side at most.
    long_max_mm: Option<f64>,
    /// Mass at least.
    mass_min_kg: Option<f64>,
    /// Mass at most.
    mass_max_kg: Option<f64>,
    /// Price at least, in the shop's currency.
    price_min: Option<f64>,
    /// Price at most, in the shop's currency.
    price_max: Option<f64>,
    /// What it is sorted by; `tag` when absent.
    sort: Option<SortWord>,
    /// Whether the order is turned round.
    descending: Option<bool>,
    /// Pieces to leave out at the start.
    offset: Option<i64>,
    /// Pieces to list, at most 5000; 200 when absent.
    limit: Option<i64>,
}

/// What a list is sorted by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum SortWord {
    /// Stone before wood, by number.
    Tag,
    /// Longest side, the longest first.
    Long,
    /// Mass, the heaviest first.
    Mass,
    /// Price, the dearest first.
    Price,
    /// When it was taken in, the newest first.
    Newest,
}

/// A page of pieces, and what the list could be narrowed to.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct PiecePage {
    /// How many pieces the filter lets through.
    pub total: i64,
    /// The page.
    pub pieces: Vec<PieceCard>,
    /// What the list could be narrowed to.
    pub facets: FacetsView,
}

/// What a list could be narrowed to; each counted under all other choices.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct FacetsView {
    /// By material.
    pub materials: Vec<MaterialFacetCount>,
    /// By place.
    pub places: Vec<FacetCount>,
    /// By state.
    pub states: Vec<FacetCount>,
    /// By grade.
    pub grades: Vec<FacetCount>,
}

/// A value and how many pieces have it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct FacetCount {
    /// The value.
    pub name: String,
    /// How many pieces have it.
    pub count: i64,
}

/// A material and how many pieces are of it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct MaterialFacetCount {
    /// Its name.
    pub name: String,
    /// Stone or wood.
    pub kind: KindWord,
    /// How many pieces are of it.
    pub count: i64,
}

/// The routes.
#[must_use]
pub fn routes(api: Api) -> Api {
    api.get("/api/pieces", list, "Pieces: filtered, sorted, counted")
}

fn several(text: Option<&str>) -> Vec<String> {
    text.into_iter()
        .flat_map(|text| text.split('|'))
        .filter(|part| !part.is_empty())
        .map(str::to_owned)
        .collect()
}

/// States by their words.
///
/// # Errors
/// At the query's key when one is none.
pub fn states(words: &[String]) -> Result<Vec<store::PieceState>, ApiError> {
    words
        .iter()
        .map(|word| {
            store::PieceState::from_word(word).ok_or_else(|| {
                let known: Vec<&str> = store::PieceState::ALL.iter().map(|s| s.word()).collect();
                ApiError::refused(
                    "/state",
                    format!(
                        "{:?} is no state",
                        word.chars().take(20).collect::<String>()
                    ),
                    format!("one of {}", known.join(", ")),
                )
            })
        })
        .collect()
}

fn minor(amount: Option<f64>, currency: &str) -> Option<i64> {
    let digits = workshop::Currency::new(currency).map_or(2, |c| c.minor_digits());
    amount
        .filter(|amount| amount.is_finite())
        .map(|amount| (amount * 10f64.powi(digits as i32)).round() as i64)
}

async fn list(State(app): State<App>, Params(asked): Params<PieceQuery>) -> Reply<PiecePage> {
    let limit = asked.limit.unwrap_or(USUAL);
    if !(0..=MOST).contains(&limit) {
        let message = format!("{limit} is no number of pieces from 0 to {MOST}");
        return Err(ApiError::refused("/limit", message, "read page by page"));
    }
    let currency = shop(&app).await?.currency;
    let filter = PieceFilter {
        kind: asked.kind.map(Into::into),
        materials: several(asked.material.as_deref()),
        states: states(&several(asked.state.as_deref()))?,
        places: several(asked.place.as_deref()),
        grades: several(asked.grade.as_deref()),
        text: asked.text.unwrap_or_default().chars().take(200).collect(),
        long_min_mm: asked.long_min_mm,
        long_max_mm: asked.long_max_mm,
        mass_min_kg: asked.mass_min_kg,
        mass_max_kg: asked.mass_max_kg,
        price_min_minor: minor(asked.price_min, &currency),
        price_max_minor: minor(asked.price_max, &currency),
        ..PieceFilter::default()
    };
    // What is large or new is looked for first; tags count up.
    let (sort, usual) = match asked.sort.unwrap_or(SortWord::Tag) {
        SortWord::Tag => (PieceSort::Tag, false),
        SortWord::Long => (PieceSort::Long, true),
        SortWord::Mass => (PieceSort::Mass, true),
        SortWord::Price => (PieceSort::Price, true),
        SortWord::Newest => (PieceSort::Received, true),
    };
    let descending = usual != asked.descending.unwrap_or(false);
    let offset = asked.offset.unwrap_or(0).max(0);
    let (page, facets) = tokio::try_join!(
        app.store.pieces(&filter, sort, descending, offset, limit),
        app.store.facets(&filter),
    )?;
    let counts = |facets: Vec<Facet>| {
        facets
            .into_iter()
            .map(|f| FacetCount {
                name: f.name,
                count: f.count,
            })
            .collect()
    };
    Ok(Json(PiecePage {
        total: page.total,
        pieces: page.pieces.into_iter().map(Into::into).collect(),
        facets: FacetsView {
            materials: facets
                .materials
                .into_iter()
                .map(|m| MaterialFacetCount {
                    name: m.name,
                    kind: m.kind.into(),
                    count: m.count,
                })
                .collect(),
            places: counts(facets.places),
            states: counts(facets.states),
            grades: counts(facets.grades),
        },
    }))
}
