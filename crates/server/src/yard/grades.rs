//! Size grades by the owner's rules.

use axum::{Json, extract::State};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use store::{GradeMeasure, GradeRule};

use super::{card::KindWord, change::short};
use crate::{
    App,
    http::{Api, ApiError, Body, Reply},
    people::Who,
};

/// Rules at most.
const MOST: usize = 100;

/// All rules; the first that a piece meets is its grade.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct GradesView {
    /// Goes up with every change.
    pub version: i64,
    /// The rules, in order.
    pub rules: Vec<RuleView>,
}

/// Pieces of a kind whose measure is in a range have a grade.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct RuleView {
    /// Stone or wood.
    pub kind: KindWord,
    /// The grade's name.
    pub name: String,
    /// What it goes by.
    pub measure: MeasureWord,
    /// At least this; null for no least.
    #[serde(default)]
    pub from: Option<f64>,
    /// Less than this; null for no most.
    #[serde(default)]
    pub below: Option<f64>,
}

/// What a grade goes by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum MeasureWord {
    /// The longest side, mm.
    LongMm,
    /// The mass, kg.
    MassKg,
}

impl From<store::Grades> for GradesView {
    fn from(grades: store::Grades) -> Self {
        let rule = |rule: GradeRule| RuleView {
            kind: rule.kind.into(),
            name: rule.name,
            measure: match rule.measure {
                GradeMeasure::LongMm => MeasureWord::LongMm,
                GradeMeasure::MassKg => MeasureWord::MassKg,
            },
            from: rule.from,
            below: rule.below,
        };
        Self {
            version: grades.version,
            rules: grades.rules.into_iter().map(rule).collect(),
        }
    }
}

impl From<RuleView> for GradeRule {
    fn from(rule: RuleView) -> Self {
        Self {
            kind: rule.kind.into(),
            name: rule.name,
            measure: match rule.measure {
                MeasureWord::LongMm => GradeMeasure::LongMm,
                MeasureWord::MassKg => GradeMeasure::MassKg,
            },
            from: rule.from,
            below: rule.below,
        }
    }
}

/// The routes.
#[must_use]
pub fn routes(api: Api) -> Api {
    api.get("/api/grades", get, "Size grades by the owner's rules")
        .put(
            "/api/grades",
            put,
            "Sets all rules and every piece's grade by them",
        )
}

async fn get(State(app): State<App>) -> Reply<GradesView> {
    Ok(Json(app.store.grades().await?.into()))
}

async fn put(State(app): State<App>, who: Who, Body(asked): Body<GradesView>) -> Reply<GradesView> {
    if asked.rules.len() > MOST {
        let message = format!("{} rules are too many: at most {MOST}", asked.rules.len());
        return Err(ApiError::refused("/rules", message, "join some"));
    }
    for (i, rule) in asked.rules.iter().enumerate() {
        short(&format!("/rules/{i}/name"), &rule.name, 60)?;
    }
    let rules: Vec<GradeRule> = asked.rules.into_iter().map(Into::into).collect();
    let grades = app
        .store
        .set_grades(&who.by(), asked.version, &rules)
        .await?;
    Ok(Json(grades.into()))
}
