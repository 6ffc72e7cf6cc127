//! The command `mastwright`.

use std::process::ExitCode;

fn main() -> ExitCode {
    mastwright_sim::cli::main()
}
