//! Size grades: the owner's rules, and each piece's grade by them.

use serde::Serialize;
use serde_json::json;
use sqlx::{AnyConnection, Row, any::AnyRow};
use workshop::{PieceKind, Tag};

use crate::{By, Store, StoreError, text, word::words};

words! {
    /// What a grade goes by.
    GradeMeasure in "grade_rules" {
        /// The longest side, mm.
        LongMm = "long_mm",
        /// The mass, kg.
        MassKg = "mass_kg",
    }
}

/// One rule: pieces of a kind whose measure is in a range have a grade.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct GradeRule {
    /// Stone or wood.
    pub kind: PieceKind,
    /// The grade's name.
    pub name: String,
    /// What it goes by.
    pub measure: GradeMeasure,
    /// At least this; `None` for no least.
    pub from: Option<f64>,
    /// Less than this; `None` for no most.
    pub below: Option<f64>,
}

/// All rules. The first that a piece meets is its grade.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Grades {
    /// Goes up with every change.
    pub version: i64,
    /// The rules, in order.
    pub rules: Vec<GradeRule>,
}

const VERSION: &str = "grades";
/// What is kept for a range without a lower end.
const NO_LEAST: f64 = f64::MIN;
/// What is kept for a range without an upper end.
const NO_MOST: f64 = f64::MAX;

impl GradeRule {
    fn of_row(row: &AnyRow) -> Result<Self, StoreError> {
        Ok(Self {
            kind: crate::kind::of_row("grade_rules", row.try_get("kind")?)?,
            name: row.try_get("name")?,
            measure: GradeMeasure::of_row(row.try_get("measure")?)?,
            from: Some(row.try_get("at_least")?).filter(|v| *v != NO_LEAST),
            below: Some(row.try_get("below")?).filter(|v| *v != NO_MOST),
        })
    }
}

impl Store {
    /// The owner's rules.
    ///
    /// # Errors
    /// When the database fails.
    pub async fn grades(&self) -> Result<Grades, StoreError> {
        let mut connection = self.pool().acquire().await?;
        read(&mut connection).await
    }

    /// Sets all rules, and every piece's grade by them.
    ///
    /// # Errors
    /// `Stale`, `Refused` for a rule that no piece can meet, or when the database fails.
    pub async fn set_grades(
        &self,
        by: &By,
        seen: i64,
        rules: &[GradeRule],
    ) -> Result<Grades, StoreError> {
        rules.iter().try_for_each(check)?;
        let mut write = self.write(by).await?;
        let before = read(write.conn()).await?;
        if before.version != seen {
            return Err(StoreError::Stale {
                noun: "grades",
                subject: "all".to_owned(),
                current: before.version,
            });
        }
        sqlx::query("DELETE FROM grade_rules")
            .execute(write.conn())
            .await?;
        for (position, rule) in (1i64..).zip(rules) {
            sqlx::query(
                "INSERT INTO grade_rules (position, kind, name, measure, at_least, below) \
                 VALUES ($1, $2, $3, $4, $5, $6)",
            )
            .bind(position)
            .bind(rule.kind.word())
            .bind(&rule.name)
            .bind(rule.measure.word())
            .bind(rule.from.unwrap_or(NO_LEAST))
            .bind(rule.below.unwrap_or(NO_MOST))
            .execute(write.conn())
            .await?;
        }
        write.next(VERSION).await?;
        regrade(write.conn(), None).await?;
        let after = read(write.conn()).await?;
        write
            .event(
                "grades.changed",
                "changed",
                "all",
                json!({ "rules": before.rules }),
                json!({ "rules": after.rules }),
            )
            .await?;
        write.commit().await?;
        Ok(after)
    }
}

async fn read(connection: &mut AnyConnection) -> Result<Grades, StoreError> {
    let version = sqlx::query_scalar("SELECT last FROM counters WHERE name = $1")
        .bind(VERSION)
        .fetch_optional(&mut *connection)
        .await?;
    let sql = "SELECT kind, name, measure, at_least, below FROM grade_rules ORDER BY position";
    let rows = sqlx::query(sql).fetch_all(&mut *connection).await?;
    Ok(Grades {
        version: version.unwrap_or(0),
        rules: rows
            .iter()
            .map(GradeRule::of_row)
            .collect::<Result<_, _>>()?,
    })
}

/// Gives one piece, or every piece, its grade by the rules.
pub(crate) async fn regrade(
    connection: &mut AnyConnection,
    tag: Option<Tag>,
) -> Result<(), StoreError> {
    const SET: &str = "UPDATE pieces SET grade = (SELECT r.name FROM grade_rules r \
         WHERE r.kind = pieces.kind \
         AND r.at_least <= \
             CASE r.measure WHEN 'long_mm' THEN pieces.long_mm ELSE pieces.mass_kg END \
         AND r.below > \
             CASE r.measure WHEN 'long_mm' THEN pieces.long_mm ELSE pieces.mass_kg END \
         ORDER BY r.position LIMIT 1)";
    match tag {
        None => {
            sqlx::query(SET).execute(connection).await?;
        }
        Some(tag) => {
            let sql = sqlx::AssertSqlSafe(format!("{SET} WHERE tag = $1"));
            let query = sqlx::query(sql).bind(tag.to_string());
            query.execute(connection).await?;
        }
    }
    Ok(())
}

fn check(rule: &GradeRule) -> Result<(), StoreError> {
    let finite = [rule.from, rule.below]
        .into_iter()
        .flatten()
        .all(f64::is_finite);
    let empty = matches!((rule.from, rule.below), (Some(from), Some(below)) if from >= below);
    if !finite || empty || rule.name.trim().is_empty() {
        return Err(StoreError::Refused {
            path: "/rules",
            reason: format!("no piece can be of the grade {:?}", rule.name),
            hint: "give the grade a name and a range that isn't empty",
        });
    }
    text::check("/rules", &rule.name)
}
