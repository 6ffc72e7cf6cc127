//! The controller on the processor it is meant for. These tests build images and run an
//! emulator, and so stand apart: `cargo test -p mastwright-tests --test target -- --ignored`
//! runs them all, and finds or unpacks what it needs, or says what is missing.

#![cfg(unix)]

#[path = "target/command.rs"]
mod command;
#[path = "target/crash.rs"]
mod crash;
#[path = "target/cuts.rs"]
mod cuts;
#[path = "target/steps.rs"]
mod steps;

use std::path::PathBuf;
use std::sync::OnceLock;

use mastwright_sim::link::Via;
use mastwright_tests::target::emulator::Emulator;
use mastwright_tests::target::images::{self, Image};
use mastwright_tests::target::tools::{self, Tools};

/// Everything that is needed, found once.
fn tools() -> &'static Tools {
    static TOOLS: OnceLock<Tools> = OnceLock::new();
    TOOLS.get_or_init(|| {
        let tools = tools::find(&images::folder()).unwrap_or_else(|problem| panic!("{problem}"));
        for said in &tools.said {
            println!("{said}");
        }
        tools
    })
}

/// The image that flies, built once.
fn flight() -> PathBuf {
    static FLIGHT: OnceLock<PathBuf> = OnceLock::new();
    FLIGHT
        .get_or_init(|| {
            images::build(tools(), Image::Flight, &[]).unwrap_or_else(|problem| panic!("{problem}"))
        })
        .clone()
}

/// A board of its own for each test, reached over its serial port.
fn emulator() -> Emulator {
    reached(Via::Port)
}

/// The same, reached this way.
fn reached(via: Via) -> Emulator {
    ok(Emulator::start(tools(), &flight(), via))
}

/// What `done` gives, or its problem as the reason to fail.
fn ok<T>(done: Result<T, impl std::fmt::Display>) -> T {
    done.unwrap_or_else(|problem| panic!("{problem}"))
}
