//! Lists of pieces: one page of cards, how many there are, and what they could be narrowed to.

use serde::Serialize;
use sqlx::{AssertSqlSafe, Row};
use workshop::PieceKind;

use super::{
    PieceCard, PieceFilter, PieceSort,
    card::CARD,
    filter::{Conditions, Field},
};
use crate::{Store, StoreError};

/// A page of a list.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PieceList {
    /// How many pieces the filter lets through.
    pub total: i64,
    /// The page.
    pub pieces: Vec<PieceCard>,
}

/// A value and how many pieces have it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Facet {
    /// The value.
    pub name: String,
    /// How many pieces have it.
    pub count: i64,
}

/// A material and how many pieces are of it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct MaterialFacet {
    /// The kind of stone or wood.
    pub name: String,
    /// Stone or wood.
    pub kind: PieceKind,
    /// How many pieces are of it.
    pub count: i64,
}

/// What a list could be narrowed to. Each field is counted under all other choices.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub struct Facets {
    /// By material.
    pub materials: Vec<MaterialFacet>,
    /// By place.
    pub places: Vec<Facet>,
    /// By state.
    pub states: Vec<Facet>,
    /// By grade.
    pub grades: Vec<Facet>,
}

impl Store {
    /// A page of the pieces that a filter lets through.
    ///
    /// # Errors
    /// When the database fails.
    pub async fn pieces(
        &self,
        filter: &PieceFilter,
        sort: PieceSort,
        descending: bool,
        offset: i64,
        limit: i64,
    ) -> Result<PieceList, StoreError> {
        let conditions = Conditions::of(filter, None);
        let count = format!("SELECT count(*) AS n FROM pieces p {}", conditions.sql());
        let row = conditions
            .bind(sqlx::query(AssertSqlSafe(count)))
            .fetch_one(self.pool())
            .await?;
        // The page is chosen by its keys alone; outlines are fetched for its rows only.
        let order = sort.order(descending);
        let (at_limit, at_offset) = (conditions.n_arguments() + 1, conditions.n_arguments() + 2);
        let page = format!(
            "SELECT {CARD} FROM (SELECT * FROM pieces p {} ORDER BY {order} \
             LIMIT ${at_limit} OFFSET ${at_offset}) p \
             JOIN piece_outlines o ON o.tag = p.tag ORDER BY {order}",
            conditions.sql()
        );
        let rows = conditions
            .bind(sqlx::query(AssertSqlSafe(page)))
            .bind(limit.max(0))
            .bind(offset.max(0))
            .fetch_all(self.pool())
            .await?;
        Ok(PieceList {
            total: row.try_get("n")?,
            pieces: rows
                .iter()
                .map(PieceCard::of_row)
                .collect::<Result<_, _>>()?,
        })
    }

    /// What the pieces that a filter lets through could be narrowed to.
    ///
    /// # Errors
    /// When the database fails.
    pub async fn facets(&self, filter: &PieceFilter) -> Result<Facets, StoreError> {
        Ok(Facets {
            materials: self.materials(filter).await?,
            places: self.facet(filter, Field::Place, "p.place").await?,
            states: self.facet(filter, Field::State, "p.state").await?,
            grades: self.facet(filter, Field::Grade, "p.grade").await?,
        })
    }

    async fn materials(&self, filter: &PieceFilter) -> Result<Vec<MaterialFacet>, StoreError> {
        let conditions = Conditions::of(filter, Some(Field::Material));
        let sql = format!(
            "SELECT p.material, p.kind, count(*) AS n FROM pieces p {} \
             GROUP BY p.material, p.kind ORDER BY p.material, p.kind",
            conditions.sql()
        );
        let query = conditions.bind(sqlx::query(AssertSqlSafe(sql)));
        let rows = query.fetch_all(self.pool()).await?;
        rows.iter()
            .map(|row| {
                Ok(MaterialFacet {
                    name: row.try_get("material")?,
                    kind: crate::kind::of_row("pieces", row.try_get("kind")?)?,
                    count: row.try_get("n")?,
                })
            })
            .collect()
    }

    async fn facet(
        &self,
        filter: &PieceFilter,
        field: Field,
        column: &str,
    ) -> Result<Vec<Facet>, StoreError> {
        let conditions = Conditions::of(filter, Some(field));
        let sql = format!(
            "SELECT {column} AS name, count(*) AS n FROM pieces p {} GROUP BY {column} \
             ORDER BY {column}",
            conditions.sql()
        );
        let query = conditions.bind(sqlx::query(AssertSqlSafe(sql)));
        let rows = query.fetch_all(self.pool()).await?;
        let mut facets = Vec::new();
        for row in &rows {
            // Pieces that no rule grades are in no facet.
            if let Some(name) = row.try_get("name")? {
                let count = row.try_get("n")?;
                facets.push(Facet { name, count });
            }
        }
        Ok(facets)
    }
}
