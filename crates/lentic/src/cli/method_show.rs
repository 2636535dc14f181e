//! One method, shown whole: purpose, inputs, outputs, relations, limits, checks.

use std::fmt::Write as _;

use method::Registered;
use serde_json::{Value, json};
use server::methods::{
    checks::{self, Check},
    page,
};

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
    section(&mut out, "Checks", &lines(&checks::of(method), Check::line));
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
    for check in checks::of(method) {
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
    json!(page(method))
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
