//! Lots: pieces sold by size grade and mass, without tags.

use serde::Serialize;
use serde_json::Value;
use sqlx::{AnyConnection, AssertSqlSafe, Row, any::AnyRow};
use workshop::{Money, PieceKind};

use crate::{By, Store, StoreError, money, text, write::Write};

/// What a lot is.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LotFields {
    /// Stone or wood.
    pub kind: PieceKind,
    /// The kind of stone or wood.
    pub material: String,
    /// The size grade.
    pub grade: String,
    /// How much there is, kg.
    pub mass_kg: f64,
    /// What a kilogram costs.
    pub price_per_kg: Option<Money>,
    /// Where it lies.
    pub place: String,
}

/// A lot.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Lot {
    /// Its id.
    pub id: i64,
    /// What it is.
    #[serde(flatten)]
    pub fields: LotFields,
    /// Goes up with every change.
    pub version: i64,
}

const SELECT: &str = "SELECT id, kind, material, grade, mass_kg, price_minor, price_currency, \
                      place, version FROM lots";

impl Lot {
    fn of_row(row: &AnyRow) -> Result<Self, StoreError> {
        Ok(Self {
            id: row.try_get("id")?,
            fields: LotFields {
                kind: crate::kind::of_row("lots", row.try_get("kind")?)?,
                material: row.try_get("material")?,
                grade: row.try_get("grade")?,
                mass_kg: row.try_get("mass_kg")?,
                price_per_kg: money::of_row(row)?,
                place: row.try_get("place")?,
            },
            version: row.try_get("version")?,
        })
    }
}

impl Store {
    /// All lots.
    ///
    /// # Errors
    /// When the database fails.
    pub async fn lots(&self) -> Result<Vec<Lot>, StoreError> {
        let sql = AssertSqlSafe(format!("{SELECT} ORDER BY kind, material, grade, id"));
        let rows = sqlx::query(sql).fetch_all(self.pool()).await?;
        rows.iter().map(Lot::of_row).collect()
    }

    /// Adds a lot.
    ///
    /// # Errors
    /// `Refused` for a value out of its rules, or when the database fails.
    pub async fn add_lot(&self, by: &By, fields: LotFields) -> Result<Lot, StoreError> {
        check(&fields)?;
        let mut write = self.write(by).await?;
        let id = write.next("lot").await?;
        let lot = Lot {
            id,
            fields,
            version: 1,
        };
        put(&mut write, &lot).await?;
        let after = serde_json::to_value(&lot)?;
        write
            .event("lot.changed", "added", id, Value::Null, after)
            .await?;
        write.commit().await?;
        Ok(lot)
    }

    /// Changes a lot that was seen at a version; what was sold is simply less mass.
    ///
    /// # Errors
    /// `Stale`, `Missing`, `Refused` for a value out of its rules, or when the database fails.
    pub async fn change_lot(
        &self,
        by: &By,
        id: i64,
        seen: i64,
        fields: LotFields,
    ) -> Result<Lot, StoreError> {
        check(&fields)?;
        let mut write = self.write(by).await?;
        let before = seen_at(&mut write, id, seen).await?;
        let lot = Lot {
            id,
            fields,
            version: seen + 1,
        };
        put(&mut write, &lot).await?;
        write
            .change_event("lot.changed", "changed", id, &before, &lot)
            .await?;
        write.commit().await?;
        Ok(lot)
    }

    /// A lot.
    ///
    /// # Errors
    /// `Missing`, or when the database fails.
    pub async fn lot(&self, id: i64) -> Result<Lot, StoreError> {
        let mut connection = self.pool().acquire().await?;
        read(&mut connection, id).await
    }

    /// Removes a lot that was seen at a version.
    ///
    /// # Errors
    /// `Stale`, `Missing`, or when the database fails.
    pub async fn remove_lot(&self, by: &By, id: i64, seen: i64) -> Result<(), StoreError> {
        let mut write = self.write(by).await?;
        let before = seen_at(&mut write, id, seen).await?;
        sqlx::query("DELETE FROM lots WHERE id = $1")
            .bind(id)
            .execute(write.conn())
            .await?;
        let before = serde_json::to_value(&before)?;
        write
            .event("lot.changed", "removed", id, before, Value::Null)
            .await?;
        write.commit().await
    }
}

async fn read(connection: &mut AnyConnection, id: i64) -> Result<Lot, StoreError> {
    let sql = AssertSqlSafe(format!("{SELECT} WHERE id = $1"));
    let row = sqlx::query(sql).bind(id).fetch_optional(connection).await?;
    Lot::of_row(&row.ok_or_else(|| StoreError::missing("lot", id))?)
}

async fn seen_at(write: &mut Write, id: i64, seen: i64) -> Result<Lot, StoreError> {
    let lot = read(write.conn(), id).await?;
    if lot.version == seen {
        return Ok(lot);
    }
    Err(StoreError::Stale {
        noun: "lot",
        subject: id.to_string(),
        current: lot.version,
    })
}

async fn put(write: &mut Write, lot: &Lot) -> Result<(), StoreError> {
    let fields = &lot.fields;
    let (minor, currency) = money::columns(fields.price_per_kg);
    sqlx::query(
        "INSERT INTO lots (id, kind, material, grade, mass_kg, price_minor, price_currency, place, \
         version) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9) \
         ON CONFLICT (id) DO UPDATE SET kind = $2, material = $3, grade = $4, mass_kg = $5, \
         price_minor = $6, price_currency = $7, place = $8, version = $9",
    )
    .bind(lot.id)
    .bind(fields.kind.word())
    .bind(&fields.material)
    .bind(&fields.grade)
    .bind(fields.mass_kg)
    .bind(minor)
    .bind(currency)
    .bind(&fields.place)
    .bind(lot.version)
    .execute(write.conn())
    .await?;
    Ok(())
}

fn check(fields: &LotFields) -> Result<(), StoreError> {
    if !(fields.mass_kg.is_finite() && fields.mass_kg >= 0.0) {
        return Err(StoreError::Refused {
            path: "/mass_kg",
            reason: format!("{} kg is no mass", fields.mass_kg),
            hint: "give kilograms, not below zero",
        });
    }
    if fields.material.trim().is_empty() {
        return Err(StoreError::Refused {
            path: "/material",
            reason: "the material has no name".to_owned(),
            hint: "name the kind of stone or wood",
        });
    }
    text::check("/material", &fields.material)?;
    text::check("/grade", &fields.grade)?;
    text::check("/place", &fields.place)
}
