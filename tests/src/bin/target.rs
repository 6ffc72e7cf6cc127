//! The controller on its target.
//!
//! `cargo run --release -p mastwright-tests --bin target -- WHAT`, where WHAT is
//!
//! - `prepare`: finds compiler and emulator, says which, and builds the image that flies;
//! - `figures`: weighs the images, flies in lock step, renews the figures of
//!   `docs/target.md`, and fails when one is out of its limit.

use std::process::ExitCode;

use mastwright_tests::target::figures::{self, Figures, Limits};
use mastwright_tests::target::images::{self, Image, top};
use mastwright_tests::target::tools::{self, Problem, Tools};

fn main() -> ExitCode {
    let what = std::env::args().nth(1).unwrap_or_default();
    let done = match what.as_str() {
        "prepare" => prepare(),
        "figures" => renew(),
        _ => Err("say what: `prepare` or `figures`".to_owned()),
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(problem) => {
            eprintln!("{problem}");
            ExitCode::from(2)
        }
    }
}

/// Finds the tools and says which.
fn found() -> Result<Tools, Problem> {
    let tools = tools::find(&images::folder())?;
    for said in &tools.said {
        println!("{said}");
    }
    Ok(tools)
}

fn prepare() -> Result<(), Problem> {
    let tools = found()?;
    let image = images::build(&tools, Image::Flight, &[])?;
    println!("image: {}", image.display());
    println!("MASTWRIGHT_EMULATOR={}", tools.emulator.display());
    println!("MASTWRIGHT_IMAGE={}", image.display());
    Ok(())
}

fn renew() -> Result<(), Problem> {
    let limits = Limits::read()?;
    let figures = Figures::take(&found()?)?;
    let page = figures.page(&limits);
    println!("\n{page}");
    figures::renew(&top().join("docs/target.md"), &page)?;
    let beyond = figures.beyond(&limits);
    if beyond.is_empty() {
        Ok(())
    } else {
        Err(format!("out of limits:\n{}", beyond.join("\n")))
    }
}
