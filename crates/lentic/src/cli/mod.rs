//! What a person types: the commands, their options and their exit statuses.
//!
//! 0: done. 1: done, and the layout doesn't stand. 2: refused, nothing computed.

mod backup;
mod log;
mod method_list;
mod method_show;
mod plan;
mod serve;

use std::{
    io::{Read, Write},
    path::{Path, PathBuf},
    process::ExitCode,
};

use clap::{Parser, Subcommand, ValueEnum};
use method::MethodError;

use crate::{disk, disk::Disk, methods::registry};

#[derive(Parser)]
#[command(
    name = "lentic",
    version,
    about = "Layouts of real wood and stone for planted tanks: what stands, what it weighs, and the drawing to build on"
)]
struct Arguments {
    /// Serves the demo when absent
    #[command(subcommand)]
    command: Option<Command>,
}

#[derive(Subcommand)]
enum Command {
    /// Settle a layout file, reckon it, and write its drawings and pictures
    Plan(plan::PlanArguments),
    /// Serve the workshop to browsers
    Serve(serve::ServeArguments),
    /// Write everything into one file; the workshop may go on meanwhile
    Backup(backup::BackupArguments),
    /// Put back everything from one file; nothing is changed by a damaged one
    Restore(backup::BackupArguments),
    /// Print the description of the HTTP API (OpenAPI 3.1)
    Openapi,
    /// The computations, one by one
    #[command(subcommand)]
    Method(MethodCommand),
}

#[derive(Subcommand)]
enum MethodCommand {
    /// Names, one line each
    List,
    /// Purpose, schemas, equations, sources, limits and table of checks
    Show {
        /// The method's name, such as solid.measure
        name: String,
        /// How to print it
        #[arg(long, value_enum, default_value_t = ShowFormat::Text)]
        format: ShowFormat,
    },
    /// JSON in, JSON out
    Run {
        /// The method's name, such as solid.measure
        name: String,
        /// A file with the input; standard input when absent
        file: Option<PathBuf>,
    },
}

#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
enum ShowFormat {
    Text,
    Json,
    Markdown,
}

#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
enum PrintFormat {
    Text,
    Json,
}

/// Runs the program on the process's own arguments.
#[must_use]
pub fn main() -> ExitCode {
    let Some(command) = Arguments::parse().command else {
        return serve::run(&serve::ServeArguments::default());
    };
    match command {
        Command::Serve(arguments) => serve::run(&arguments),
        Command::Backup(arguments) => backup::backup(&arguments),
        Command::Restore(arguments) => backup::restore(&arguments),
        Command::Openapi => written(&format!("{:#}\n", server::openapi())),
        Command::Plan(arguments) => plan::run(&arguments),
        Command::Method(MethodCommand::List) => written(&method_list::text(&registry())),
        Command::Method(MethodCommand::Show { name, format }) => show(&name, format),
        Command::Method(MethodCommand::Run { name, file }) => run(&name, file.as_deref()),
    }
}

fn show(name: &str, format: ShowFormat) -> ExitCode {
    let registry = registry();
    let Some(method) = registry.get(name) else {
        return refused(&unknown_method(name));
    };
    match format {
        ShowFormat::Text => written(&method_show::text(method)),
        ShowFormat::Markdown => written(&method_show::markdown(method)),
        ShowFormat::Json => written(&format!("{:#}\n", method_show::json(method))),
    }
}

fn run(name: &str, file: Option<&Path>) -> ExitCode {
    let registry = registry();
    let Some(method) = registry.get(name) else {
        return refused(&unknown_method(name));
    };
    let files = Disk {
        base: PathBuf::new(),
    };
    match input(file).and_then(|text| method.run_text(&text, &files)) {
        Ok(output) => written(&format!("{output:#}\n")),
        Err(error) => refused(&error),
    }
}

fn input(file: Option<&Path>) -> Result<Vec<u8>, MethodError> {
    let read = match file {
        Some(path) => disk::read(path).map(|bytes| bytes.to_vec()),
        None => {
            let mut text = Vec::new();
            std::io::stdin()
                .take(disk::MOST_BYTES)
                .read_to_end(&mut text)
                .map(|_| text)
                .map_err(|error| error.to_string())
        }
    };
    read.map_err(|reason| {
        MethodError::new(
            "no_input",
            "",
            format!("the input can't be read: {reason}"),
            "name a file or pipe one JSON object into standard input",
        )
    })
}

fn unknown_method(name: &str) -> MethodError {
    MethodError::new(
        "unknown_method",
        "",
        format!("there is no method {name:?}"),
        "`lentic method list` names them all",
    )
}

/// Prints to standard output; a reader that has gone away is no fault.
fn written(text: &str) -> ExitCode {
    match std::io::stdout().lock().write_all(text.as_bytes()) {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) if error.kind() == std::io::ErrorKind::BrokenPipe => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("standard output: {error}");
            ExitCode::from(2)
        }
    }
}

fn refused(error: &MethodError) -> ExitCode {
    eprintln!("{}", error.to_json());
    ExitCode::from(2)
}
