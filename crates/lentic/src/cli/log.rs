//! What the program writes down about its work, on standard error.

use std::io::IsTerminal;

use clap::{Args, ValueEnum};
use tracing_subscriber::{EnvFilter, fmt};

#[derive(Args, Default)]
pub(super) struct LogArguments {
    /// What to log, such as info or server=debug; LENTIC_LOG when absent, else info
    #[arg(long = "log")]
    filter: Option<String>,
    /// How log lines are written
    #[arg(long = "log-format", value_enum, default_value_t)]
    format: LogFormat,
}

#[derive(Clone, Copy, Default, PartialEq, Eq, ValueEnum)]
enum LogFormat {
    #[default]
    Text,
    Json,
}

/// Begins to log.
pub(super) fn begin(arguments: &LogArguments) {
    let named = arguments
        .filter
        .clone()
        .or_else(|| std::env::var("LENTIC_LOG").ok())
        .unwrap_or_else(|| "info,sqlx=warn".to_owned());
    let filter = EnvFilter::try_new(&named).unwrap_or_else(|error| {
        eprintln!("--log {named:?} is no filter ({error}); info is logged");
        EnvFilter::new("info")
    });
    let lines = fmt()
        .with_env_filter(filter)
        .with_writer(std::io::stderr)
        .with_ansi(std::io::stderr().is_terminal());
    // A second beginning in one process would only be a test's.
    let _ = match arguments.format {
        LogFormat::Text => lines.with_target(false).try_init(),
        LogFormat::Json => lines.json().try_init(),
    };
}
