//! The program: parse the command line, open the house, run.

use std::process::ExitCode;

fn main() -> ExitCode {
    pourbook::cli::run()
}
