//! `lentic plan`: the main job from the command line.

use std::{io::IsTerminal, path::PathBuf, process::ExitCode};

use clap::{Args, ValueEnum};
use indicatif::{ProgressBar, ProgressStyle};
use serde_json::json;

use super::{PrintFormat, written};
use server::documents::{paper::Paper, units::Units};

use crate::plan::{self, Options, PlanError, Planned};

#[derive(Args)]
pub(super) struct PlanArguments {
    /// The layout file (TOML); docs/layout-file.md explains its keys
    file: PathBuf,
    /// Folder for the documents; made when absent
    #[arg(long)]
    out: PathBuf,
    /// What to print on standard output
    #[arg(long, value_enum, default_value_t = PrintFormat::Text)]
    format: PrintFormat,
    /// Paper of the setting-out sheet and the build sheet
    #[arg(long, value_enum, default_value_t = PaperName::A4)]
    paper: PaperName,
    /// Units on the documents
    #[arg(long, value_enum, default_value_t = UnitsName::Metric)]
    units: UnitsName,
    /// Date on the documents, such as 2026-05-04; today when absent
    #[arg(long)]
    date: Option<String>,
}

#[derive(Clone, Copy, ValueEnum)]
enum PaperName {
    A4,
    Letter,
    A3,
    /// One sheet as large as the drawing
    Sheet,
}

#[derive(Clone, Copy, ValueEnum)]
enum UnitsName {
    Metric,
    Us,
}

pub(super) fn run(arguments: &PlanArguments) -> ExitCode {
    let options = Options {
        paper: match arguments.paper {
            PaperName::A4 => Paper::A4,
            PaperName::Letter => Paper::Letter,
            PaperName::A3 => Paper::A3,
            PaperName::Sheet => Paper::Sheet,
        },
        units: match arguments.units {
            UnitsName::Metric => Units::Metric,
            UnitsName::Us => Units::Us,
        },
        date: arguments
            .date
            .clone()
            .unwrap_or_else(|| jiff::ZonedDateTime::now().date().to_string()),
    };
    let bar = progress_bar();
    let step = |what: &str| bar.set_message(what.to_owned());
    let planned = plan::plan(&arguments.file, &options, &step).and_then(|planned| {
        let files = planned.write(&arguments.out, &step)?;
        Ok((planned, files))
    });
    bar.finish_and_clear();
    match planned {
        Ok((planned, files)) => answer(&planned, &files, arguments.format),
        Err(error) => refuse(&error, arguments.format),
    }
}

/// A spinner on a terminal; nothing when standard error goes elsewhere.
fn progress_bar() -> ProgressBar {
    if !std::io::stderr().is_terminal() {
        return ProgressBar::hidden();
    }
    let bar = ProgressBar::new_spinner();
    if let Ok(style) = ProgressStyle::with_template("{spinner} {msg} ({elapsed})") {
        bar.set_style(style);
    }
    bar.enable_steady_tick(std::time::Duration::from_millis(120));
    bar
}

fn answer(planned: &Planned, files: &[String], format: PrintFormat) -> ExitCode {
    let text = match format {
        PrintFormat::Text => planned.text(files),
        PrintFormat::Json => format!("{:#}\n", planned.json()),
    };
    let printed = written(&text);
    if printed == ExitCode::SUCCESS && !planned.reckoning.does_stand() {
        return ExitCode::from(1);
    }
    printed
}

fn refuse(error: &PlanError, format: PrintFormat) -> ExitCode {
    match (error, format) {
        (PlanError::Refused(refusal), PrintFormat::Json) => {
            let object = json!({"error": {
                "code": refusal.error.code,
                "path": refusal.error.path,
                "message": refusal.error.message,
                "hint": refusal.error.hint,
                "file": refusal.file,
                "line": refusal.line,
            }});
            eprintln!("{object}");
        }
        _ => eprintln!("{error}"),
    }
    ExitCode::from(2)
}
