//! The table of checks behind a method, as people read it.

use method::{Case, Registered};
use schemars::JsonSchema;
use serde::Serialize;

/// One figure of one case.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Check {
    /// The case.
    pub what: String,
    /// The figure's key.
    pub figure: String,
    /// What is wanted.
    pub want: String,
    /// How near it must come.
    pub tolerance: String,
    /// Where the wanted value is from.
    pub source: String,
}

impl Check {
    /// In a line.
    #[must_use]
    pub fn line(&self) -> String {
        format!(
            "{}: {} = {} ({}) [{}]",
            self.what, self.figure, self.want, self.tolerance, self.source
        )
    }
}

/// Every check of a method; a case file that can't be read is told as one.
#[must_use]
pub fn of(method: &Registered) -> Vec<Check> {
    let found = method.case_files().and_then(|mut files| {
        files.extend(method.reference_tables()?);
        Ok(files)
    });
    match found {
        Ok(files) => files
            .iter()
            .flat_map(|file| &file.cases)
            .flat_map(rows)
            .collect(),
        Err(reason) => vec![Check {
            what: "case file".to_owned(),
            figure: String::new(),
            want: reason,
            tolerance: String::new(),
            source: String::new(),
        }],
    }
}

fn rows(case: &Case) -> Vec<Check> {
    let row = |figure: &str, want: String, tolerance: String| Check {
        what: case.what.clone(),
        figure: figure.to_owned(),
        want,
        tolerance,
        source: case.source.clone(),
    };
    let refusal = case
        .refused
        .iter()
        .map(|path| row(path, "refused".to_owned(), "exact".to_owned()));
    let figures = case.expect.iter().map(|e| {
        let tolerance = match (e.rel > 0.0, e.abs > 0.0) {
            (true, true) => format!("{} % or {}", percent(e.rel), e.abs),
            (true, false) => format!("{} %", percent(e.rel)),
            (false, true) => format!("± {}", e.abs),
            (false, false) => "exact".to_owned(),
        };
        row(&e.path, e.want.to_string(), tolerance)
    });
    refusal.chain(figures).collect()
}

fn percent(fraction: f64) -> f64 {
    (fraction * 1e8).round() / 1e6
}
