//! Checks against the outside world, as data that tests run and people read.
//!
//! The same file is run by a crate's tests and printed by `method show`, so that
//! the table on the screen can't drift from what is tested.

use serde::Deserialize;
use serde_json::Value;

use crate::{Files, Registry};

/// A file of cases in the form `lentic-cases 1`.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CaseFile {
    /// Always `lentic-cases 1`.
    pub format: String,
    /// What the file holds against what.
    pub title: String,
    /// The cases in order.
    pub cases: Vec<Case>,
}

/// One input and what must come out of it.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Case {
    /// A short name, unique in the file.
    pub id: String,
    /// The method to run.
    pub method: String,
    /// What is being checked, in words.
    pub what: String,
    /// The input, as a user would write it.
    pub input: Value,
    /// Figures that must come out.
    #[serde(default)]
    pub expect: Vec<Expect>,
    /// Where the method must refuse, instead of figures.
    #[serde(default)]
    pub refused: Option<String>,
    /// The published source, or `closed form`, or the library and its version.
    pub source: String,
}

/// One figure that must come out: |got − want| ≤ max(abs, rel·|want|).
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Expect {
    /// JSON pointer into the output.
    pub path: String,
    /// The value wanted: a number, a text, a boolean or null.
    pub want: Value,
    /// Relative tolerance.
    #[serde(default)]
    pub rel: f64,
    /// Absolute tolerance, in the unit of the key.
    #[serde(default)]
    pub abs: f64,
}

impl CaseFile {
    /// Reads a case file that was built in.
    ///
    /// # Errors
    /// When the text is not of the form.
    pub fn parse(text: &str) -> Result<Self, String> {
        let file: Self = serde_json::from_str(text).map_err(|error| error.to_string())?;
        if file.format == "lentic-cases 1" {
            Ok(file)
        } else {
            Err(format!("unknown format {:?}", file.format))
        }
    }

    /// Runs every case and returns one line for each that fails.
    #[must_use]
    pub fn failures(&self, registry: &Registry, files: &dyn Files) -> Vec<String> {
        self.cases
            .iter()
            .flat_map(|case| {
                case.failures(registry, files)
                    .into_iter()
                    .map(|line| format!("{}: {line}", case.id))
            })
            .collect()
    }
}

impl Case {
    fn failures(&self, registry: &Registry, files: &dyn Files) -> Vec<String> {
        let Some(method) = registry.get(&self.method) else {
            return vec![format!("no method {}", self.method)];
        };
        match (method.run_json(&self.input, files), &self.refused) {
            (Ok(output), None) if self.expect.is_empty() => {
                vec![format!("expects nothing, so it can't fail; got {output}")]
            }
            (Ok(output), None) => self
                .expect
                .iter()
                .filter_map(|expect| expect.failure(&output))
                .collect(),
            (Ok(_), Some(path)) => {
                vec![format!("should be refused at {path:?}, but gave a result")]
            }
            (Err(error), Some(path)) if error.path == *path => Vec::new(),
            (Err(error), _) => vec![format!("refused at {:?}: {error}", error.path)],
        }
    }
}

impl Expect {
    fn failure(&self, output: &Value) -> Option<String> {
        let got = output.pointer(&self.path);
        let holds = match (got, self.want.as_f64()) {
            (Some(got), Some(want)) => got
                .as_f64()
                .is_some_and(|got| (got - want).abs() <= self.abs.max(self.rel * want.abs())),
            (got, _) => got == Some(&self.want),
        };
        (!holds).then(|| {
            format!(
                "{} is {}, wanted {} (rel {}, abs {})",
                self.path,
                got.map_or("absent".to_owned(), ToString::to_string),
                self.want,
                self.rel,
                self.abs
            )
        })
    }
}
