//! One method, shown whole: purpose, inputs, outputs, relations, limits, checks.

use std::fmt::Write as _;

use method::{Case, Registered};
use serde_json::{Value, json};

/// For a terminal.
pub(super) fn text(method: &Registered) -> String {
    let mut out = format!("{}\n{}\n", method.name, method.purpose);
    section(
        &mut out,
        "Input (JSON Schema)",
        &pretty(&method.input_schema()),
    );
    section(
        &mut out,
        "Bounds",
        &lines(method.bounds, |b| {
            format!("{}: {} ({})", b.path, b.range(), b.words)
        }),
    );
    section(
        &mut out,
        "Output (JSON Schema)",
        &pretty(&method.output_schema()),
    );
    section(
        &mut out,
        "Relations",
        &lines(method.equations, |e| {
            format!("{}: {} [{}]", e.quantity, e.relation, e.source)
        }),
    );
    section(
        &mut out,
        "Limits",
        &lines(method.limits, |limit| (*limit).to_owned()),
    );
    section(&mut out, "Checks", &lines(&checks(method), Check::line));
    out
}

/// For the handbook.
pub(super) fn markdown(method: &Registered) -> String {
    let mut out = format!("# {}\n\n{}\n", method.name, method.purpose);
    out.push_str("\nThis page is printed by `lentic method show --format markdown`; a test holds it current.\n");
    let _ = write!(
        out,
        "\n## Relations\n\n| quantity | relation | source |\n|---|---|---|\n"
    );
    for e in method.equations {
        let _ = writeln!(
            out,
            "| {} | {} | {} |",
            cell(e.quantity),
            cell(e.relation),
            cell(e.source)
        );
    }
    let _ = write!(
        out,
        "\n## Bounds of the input\n\n| value | range | what |\n|---|---|---|\n"
    );
    for b in method.bounds {
        let _ = writeln!(out, "| `{}` | {} | {} |", b.path, b.range(), cell(b.words));
    }
    out.push_str("\n## Limits\n\n");
    for limit in method.limits {
        let _ = writeln!(out, "- {limit}");
    }
    out.push_str("\n## Checks\n\nEvery row is run by the tests.\n\n| case | figure | wanted | tolerance | source |\n|---|---|---|---|---|\n");
    for check in checks(method) {
        let _ = writeln!(
            out,
            "| {} | `{}` | {} | {} | {} |",
            cell(&check.what),
            check.figure,
            cell(&check.want),
            check.tolerance,
            cell(&check.source)
        );
    }
    let _ = write!(
        out,
        "\n## Input\n\n```json\n{}\n```\n",
        pretty(&method.input_schema())
    );
    let _ = write!(
        out,
        "\n## Output\n\n```json\n{}\n```\n",
        pretty(&method.output_schema())
    );
    out
}

/// For a program.
pub(super) fn json(method: &Registered) -> Value {
    json!({
        "name": method.name,
        "purpose": method.purpose,
        "input_schema": method.input_schema(),
        "output_schema": method.output_schema(),
        "bounds": method.bounds,
        "equations": method.equations,
        "limits": method.limits,
        "checks": checks(method).iter().map(Check::json).collect::<Vec<_>>(),
    })
}

/// One figure of one case, as people read it.
struct Check {
    what: String,
    figure: String,
    want: String,
    tolerance: String,
    source: String,
}

impl Check {
    fn line(&self) -> String {
        format!(
            "{}: {} = {} ({}) [{}]",
            self.what, self.figure, self.want, self.tolerance, self.source
        )
    }

    fn json(&self) -> Value {
        json!({"what": self.what, "figure": self.figure, "want": self.want, "tolerance": self.tolerance, "source": self.source})
    }
}

fn checks(method: &Registered) -> Vec<Check> {
    let found = method.case_files().and_then(|mut files| {
        files.extend(method.reference_tables()?);
        Ok(files)
    });
    let files = match found {
        Ok(files) => files,
        Err(reason) => {
            return vec![Check {
                what: "case file".to_owned(),
                figure: String::new(),
                want: reason,
                tolerance: String::new(),
                source: String::new(),
            }];
        }
    };
    files
        .iter()
        .flat_map(|file| &file.cases)
        .flat_map(rows)
        .collect()
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

fn section(out: &mut String, title: &str, body: &str) {
    let _ = write!(out, "\n{title}\n{body}");
    if !body.ends_with('\n') {
        out.push('\n');
    }
}

fn lines<T>(items: &[T], line: impl Fn(&T) -> String) -> String {
    items
        .iter()
        .map(|item| format!("  {}\n", line(item)))
        .collect()
}

fn pretty(value: &Value) -> String {
    format!("{value:#}")
}

fn cell(text: &str) -> String {
    text.replace('|', "\\|").replace('\n', " ")
}
