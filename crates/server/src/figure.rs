//! Figures as a screen reads them: a number, its words, and where it comes from.

use method::{Certainty, Figure as Known};
use schemars::JsonSchema;
use serde::Serialize;

/// A number that explains itself.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Figure {
    /// A stable word for programs.
    pub key: String,
    /// What it is, for a person.
    pub label: String,
    /// The value in `unit`; null when it can't be known.
    pub value: Option<f64>,
    /// The unit, such as `L`, `kg`, `deg`; empty for a plain number.
    pub unit: String,
    /// How it is known.
    pub certainty: Certainty,
    /// By which relation, from what.
    pub relation: String,
    /// Author, title, year, or `common practice, no source`.
    pub source: String,
}

impl Figure {
    /// A figure of the reckoning with its words.
    #[must_use]
    pub fn of(key: &str, label: impl Into<String>, known: &Known) -> Self {
        Self {
            key: key.to_owned(),
            label: label.into(),
            value: Some(known.value).filter(|v| v.is_finite()),
            unit: known.unit.clone(),
            certainty: known.certainty,
            relation: known.relation.clone(),
            source: known.source.clone(),
        }
    }
}

/// How much a caution or a finding matters.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, serde::Deserialize, JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum Severity {
    /// Good to know.
    Note,
    /// Look before relying on it.
    Warning,
    /// Someone or something can come to harm.
    Danger,
}

impl From<method::Severity> for Severity {
    fn from(severity: method::Severity) -> Self {
        match severity {
            method::Severity::Note => Self::Note,
            method::Severity::Caution => Self::Warning,
            method::Severity::Danger => Self::Danger,
        }
    }
}

/// What a result must say beside itself.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, serde::Deserialize, JsonSchema)]
pub struct Caution {
    /// A stable word for programs.
    pub code: String,
    /// How much it matters.
    pub severity: Severity,
    /// The words for a person.
    pub text: String,
}

impl From<&method::Caution> for Caution {
    fn from(caution: &method::Caution) -> Self {
        Self {
            code: caution.code.clone(),
            severity: caution.severity.into(),
            text: caution.text.clone(),
        }
    }
}

/// A sum of money.
#[derive(Debug, Clone, PartialEq, Serialize, serde::Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Money {
    /// In whole and parts of the currency.
    pub amount: f64,
    /// ISO 4217 code.
    pub currency: String,
}

impl From<workshop::Money> for Money {
    fn from(money: workshop::Money) -> Self {
        Self {
            amount: money.amount(),
            currency: money.currency.code().to_owned(),
        }
    }
}

impl Money {
    /// Whole minor units of a known currency.
    ///
    /// # Errors
    /// When it is no sum of the currency, or negative.
    pub fn kept(&self) -> Result<workshop::Money, workshop::WorkshopError> {
        let currency = workshop::Currency::new(&self.currency)?;
        if self.amount < 0.0 {
            return Err(workshop::WorkshopError::Money {
                reason: "a price is not negative".to_owned(),
            });
        }
        workshop::Money::from_amount(self.amount, currency)
    }
}
