//! Builds the images of `tests/target`.

use std::path::{Path, PathBuf};
use std::process::Command;

use super::tools::{Compiler, Problem, TRIPLE, Tools, run};

/// An image, by the name of its program.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Image {
    /// Start-up and nothing else.
    Bare,
    /// `Sequencer::step` and nothing else; does not link if it can panic.
    Step,
    /// Everything of the controller's crate; does not link if it can panic.
    Whole,
    /// The controller on its board, behind the link.
    Flight,
    /// The example of the guide for a board of one's own.
    Example,
}

impl Image {
    /// The name of its program.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Bare => "bare",
            Self::Step => "step",
            Self::Whole => "whole",
            Self::Flight => "flight",
            Self::Example => "example",
        }
    }

    /// The features it is built with.
    const fn features(self) -> &'static str {
        match self {
            Self::Bare | Self::Step | Self::Whole | Self::Example => "",
            Self::Flight => "flight",
        }
    }
}

/// The top of the repository.
#[must_use]
pub fn top() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

/// Where everything that is unpacked or built for the target goes.
#[must_use]
pub fn folder() -> PathBuf {
    std::env::var_os("CARGO_TARGET_DIR")
        .map_or_else(|| top().join("target"), PathBuf::from)
        .join("on-target")
}

/// The folder of all builds, the linter's included: what they have in common, the library
/// before all, is compiled once.
const BUILDS: &str = "images";

/// Builds an image with these features besides its own, and tells where it is.
///
/// # Errors
/// What the compiler or the linker says.
pub fn build(tools: &Tools, image: Image, features: &[&str]) -> Result<PathBuf, Problem> {
    let folder = folder().join(BUILDS);
    let mut cargo = cargo(tools, "build", &folder);
    cargo.args(["--bin", image.name()]).args([
        "--features",
        &[&[image.features()], features].concat().join(","),
    ]);
    run(&mut cargo)?;
    Ok(folder.join(TRIPLE).join("release").join(image.name()))
}

/// Has the linter read every image of the crate; what it warns of is an error.
///
/// # Errors
/// What it warns of.
pub fn lint(tools: &Tools) -> Result<(), Problem> {
    let folder = folder().join(BUILDS);
    let what = match &tools.compiler {
        Compiler::Installed => "clippy",
        Compiler::Unpacked { .. } => "check",
    };
    let mut cargo = cargo(tools, what, &folder);
    cargo.args(["--features", "flight"]);
    // What `-- -D warnings` after `cargo clippy` comes to.
    cargo.env("CLIPPY_ARGS", "-Dwarnings__CLIPPY_HACKERY__");
    if let Compiler::Unpacked { clippy, .. } = &tools.compiler {
        cargo.env("RUSTC_WORKSPACE_WRAPPER", clippy);
    }
    run(&mut cargo).map(drop)
}

/// Cargo, ready to do `what` with the crate of the images.
fn cargo(tools: &Tools, what: &str, folder: &Path) -> Command {
    let mut cargo = Command::new("cargo");
    cargo
        .args([what, "--release", "--locked", "--quiet"])
        .args(["--target", TRIPLE])
        .arg("--target-dir")
        .arg(folder)
        .current_dir(top().join("tests/target"))
        // What is set for the host's compiler is not meant for this one.
        .env_remove("RUSTFLAGS")
        .env_remove("CARGO_ENCODED_RUSTFLAGS")
        .env("DEFMT_LOG", "info");
    let mut flags = vec!["-Ctarget-cpu=cortex-m4"];
    match &tools.compiler {
        Compiler::Installed => {}
        Compiler::Unpacked { rustc, linker, .. } => {
            cargo
                .args(["--config", "unstable.build-std=[\"core\"]"])
                .env("RUSTC", rustc)
                .env("RUSTC_BOOTSTRAP", "1")
                .env("CARGO_TARGET_THUMBV7EM_NONE_EABIHF_LINKER", linker);
            // It changes nothing that is loaded.
            flags.push("-Zemit-stack-sizes");
        }
    }
    cargo.env(
        "CARGO_TARGET_THUMBV7EM_NONE_EABIHF_RUSTFLAGS",
        flags.join(" "),
    );
    cargo
}
