//! The program `lentic`.

use std::process::ExitCode;

fn main() -> ExitCode {
    lentic::cli::main()
}
