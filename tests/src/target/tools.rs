//! What builds and runs an image: found on this machine, or unpacked from packages.
//!
//! Two ways lead to a compiler for the target:
//!
//! 1. The Rust in use has the target installed. Then plain cargo does it.
//! 2. Debian packages hold another compiler and the sources of the library. They are
//!    unpacked into a folder, not installed: installing them can remove others.
//!
//! Nothing else is ever fetched, no component of a toolchain either. Whichever way was
//! taken is said.

use std::fs;
use std::os::unix::fs::PermissionsExt;
use std::path::{Path, PathBuf};
use std::process::Command;

/// The processor: a Cortex-M4 with a unit for single-precision floats.
pub const TRIPLE: &str = "thumbv7em-none-eabihf";

/// Why something cannot be used, and what to do.
pub type Problem = String;

/// How images are compiled.
#[derive(Clone, Debug)]
pub enum Compiler {
    /// The Rust in use has the target.
    Installed,
    /// Another compiler, which compiles the library's sources with the image.
    Unpacked {
        /// Starts the compiler.
        rustc: PathBuf,
        /// Starts its linter.
        clippy: PathBuf,
        /// Links.
        linker: PathBuf,
    },
}

/// Everything that is needed.
#[derive(Clone, Debug)]
pub struct Tools {
    /// Compiles.
    pub compiler: Compiler,
    /// Starts the emulator.
    pub emulator: PathBuf,
    /// Which ways were found, one line each.
    pub said: Vec<String>,
}

/// Finds everything, unpacking into `folder` what is missing.
///
/// # Errors
/// What is missing, and how to come by it.
pub fn find(folder: &Path) -> Result<Tools, Problem> {
    fs::create_dir_all(folder).map_err(|error| format!("{}: {error}", folder.display()))?;
    let mut said = Vec::new();
    let compiler = compiler(folder, &mut said)?;
    let emulator = emulator(folder, &mut said)?;
    Ok(Tools {
        compiler,
        emulator,
        said,
    })
}

fn compiler(folder: &Path, said: &mut Vec<String>) -> Result<Compiler, Problem> {
    let libraries = output("rustc", &["--print", "target-libdir", "--target", TRIPLE])?;
    if Path::new(libraries.trim()).is_dir() {
        said.push(format!("compiler: the Rust in use has {TRIPLE}"));
        return Ok(Compiler::Installed);
    }
    let packages = ["rustc-web", "rust-web-src", "rust-web-clippy"];
    let root = unpack(&folder.join("rust"), &packages).map_err(|problem| {
        format!(
            "no compiler for {TRIPLE}: {problem}\n\
             remedy: `rustup target add {TRIPLE}`, or a Debian that has the packages {}",
            packages.join(", ")
        )
    })?;
    let rustc = wrapper(&root, "usr/bin/rustc")?;
    let sysroot = output(&rustc, &["--print", "sysroot"])?;
    let sources = Path::new(sysroot.trim()).join("lib/rustlib/src/rust/library/Cargo.lock");
    if !sources.is_file() {
        return Err(format!(
            "{}: no sources of the library for {}; remove it and try again",
            sources.display(),
            rustc.display()
        ));
    }
    let version = output(&rustc, &["--version"])?;
    if !is_enough(&version) {
        return Err(format!(
            "{version} of Debian's packages is older than {OLDEST}, which the image needs\n\
             remedy: renew the list of packages by `apt-get update`, remove {}, try again; \
             or `rustup target add {TRIPLE}`",
            root.display()
        ));
    }
    said.push(format!(
        "compiler: {} of Debian's {}, as {TRIPLE} is not installed here",
        version.trim(),
        packages.join(", ")
    ));
    Ok(Compiler::Unpacked {
        rustc,
        clippy: wrapper(&root, "usr/bin/clippy-driver")?,
        linker: linker(said)?,
    })
}

/// The oldest Rust that compiles the images: that of the whole repository.
const OLDEST: &str = env!("CARGO_PKG_RUST_VERSION");

/// Whether a compiler that calls itself so is not older than [`OLDEST`].
fn is_enough(version: &str) -> bool {
    let numbers = |version: &str| -> Option<[u32; 2]> {
        let mut parts = version.split('.').map(|part| part.parse().ok());
        Some([parts.next()??, parts.next()??])
    };
    let said = version.split(' ').nth(1).and_then(numbers);
    said.is_some_and(|said| Some(said) >= numbers(OLDEST))
}

/// The linker that comes with the Rust in use, or one on the path.
fn linker(said: &mut Vec<String>) -> Result<PathBuf, Problem> {
    let sysroot = output("rustc", &["--print", "sysroot"])?;
    let libraries = Path::new(sysroot.trim()).join("lib/rustlib");
    let own = fs::read_dir(&libraries).into_iter().flatten().flatten();
    let mut own = own.map(|entry| entry.path().join("bin/rust-lld"));
    let (found, whence) = match own.find(|path| path.is_file()) {
        Some(found) => (found, "rust-lld of the Rust in use"),
        None => {
            let found = on_path("ld.lld");
            let found = found.ok_or("no linker: install Rust by rustup, or Debian's lld")?;
            (found, "ld.lld, found on the path")
        }
    };
    said.push(format!("linker: {whence}"));
    Ok(found)
}

fn emulator(folder: &Path, said: &mut Vec<String>) -> Result<PathBuf, Problem> {
    const NAME: &str = "qemu-system-arm";
    let (found, whence) = if let Some(found) = on_path(NAME) {
        (found, "found on the path")
    } else {
        let root = unpack(&folder.join("emulator"), &[NAME]).map_err(|problem| {
            format!("no emulator: {problem}\nremedy: install {NAME} as your system does it")
        })?;
        (
            wrapper(&root, "usr/bin/qemu-system-arm")?,
            "of Debian's package, unpacked",
        )
    };
    let version = output(&found, &["--version"])?;
    let version = version.lines().next().unwrap_or_default();
    said.push(format!("emulator: {version}, {whence}"));
    Ok(found)
}

fn on_path(name: &str) -> Option<PathBuf> {
    let path = std::env::var_os("PATH")?;
    std::env::split_paths(&path)
        .map(|folder| folder.join(name))
        .find(|file| file.is_file())
}

/// What a command prints.
fn output(program: impl AsRef<Path>, args: &[&str]) -> Result<String, Problem> {
    let program = program.as_ref();
    run(Command::new(program).args(args))
}

/// Runs a command to its end, and gives what it prints.
pub(super) fn run(command: &mut Command) -> Result<String, Problem> {
    let shown = format!("{command:?}");
    let done = command
        .output()
        .map_err(|error| format!("cannot start {shown}: {error}"))?;
    if done.status.success() {
        return Ok(String::from_utf8_lossy(&done.stdout).into_owned());
    }
    let told = String::from_utf8_lossy(&done.stderr);
    Err(format!("{shown} failed ({}):\n{told}", done.status))
}

/// Unpacks packages, and what they need that is not installed, into a folder. Done once.
fn unpack(root: &Path, packages: &[&str]) -> Result<PathBuf, Problem> {
    if root.is_dir() {
        return Ok(root.to_owned());
    }
    let needed = needed(packages)?;
    let making = root.with_extension("making");
    let _ = fs::remove_dir_all(&making);
    let debs = making.join("debs");
    fs::create_dir_all(&debs).map_err(|error| format!("{}: {error}", debs.display()))?;
    run(Command::new("apt-get")
        .args(["download", "-qq"])
        .args(&needed)
        .current_dir(&debs))?;
    for deb in fs::read_dir(&debs).into_iter().flatten().flatten() {
        // Of the compiler's sources only those of the library are used.
        let script = "dpkg-deb --fsys-tarfile \"$0\" | tar -x -C \"$1\" \
            --anchored --no-wildcards-match-slash \
            --exclude=./usr/share/doc --exclude=./usr/src/*/compiler \
            --exclude=./usr/src/*/src --exclude=./usr/src/*/tests";
        run(Command::new("sh")
            .args(["-euc", script])
            .args([deb.path(), making.clone()]))?;
    }
    let moved = fs::remove_dir_all(&debs).and_then(|()| fs::rename(&making, root));
    moved.map_err(|error| format!("{}: {error}", root.display()))?;
    Ok(root.to_owned())
}

/// What would have to be installed for these packages: themselves included.
fn needed(packages: &[&str]) -> Result<Vec<String>, Problem> {
    if on_path("apt-get").is_none() || on_path("dpkg-deb").is_none() {
        return Err("this is no Debian: there is no apt-get or no dpkg-deb".to_owned());
    }
    // A list of packages that is old, or none, leads to compilers too old or to files that
    // are gone. Only root may renew it; without, the list that is there is taken.
    let _ = run(Command::new("apt-get").args(["update", "-qq"]));
    let plan = run(Command::new("apt-get")
        .args(["--simulate", "install", "--no-install-recommends"])
        .args(packages))?;
    let needed: Vec<String> = plan
        .lines()
        .filter_map(|line| line.strip_prefix("Inst ")?.split(' ').next())
        .map(str::to_owned)
        .collect();
    Ok(if needed.is_empty() {
        packages.iter().map(|&package| package.to_owned()).collect()
    } else {
        needed
    })
}

/// Writes a script beside the unpacked program that starts it with its own libraries.
fn wrapper(root: &Path, program: &str) -> Result<PathBuf, Problem> {
    let root = fs::canonicalize(root).map_err(|error| format!("{}: {error}", root.display()))?;
    let program = root.join(program);
    if !program.is_file() {
        return Err(format!("{}: not in the package", program.display()));
    }
    let libraries = [
        "lib/x86_64-linux-gnu",
        "usr/lib/x86_64-linux-gnu",
        "lib/aarch64-linux-gnu",
        "usr/lib/aarch64-linux-gnu",
    ]
    .map(|folder| root.join(folder).display().to_string())
    .join(":");
    let script = root.join(program.file_name().unwrap_or_default());
    let text = format!(
        "#!/bin/sh\nLD_LIBRARY_PATH='{libraries}' exec '{}' \"$@\"\n",
        program.display()
    );
    let written = fs::write(&script, text)
        .and_then(|()| fs::set_permissions(&script, fs::Permissions::from_mode(0o755)));
    written.map_err(|error| format!("{}: {error}", script.display()))?;
    Ok(script)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_compiler_is_enough_from_the_oldest_version_on() {
        assert!(is_enough(&format!("rustc {OLDEST}.0 (abc 2026-01-01)")));
        assert!(is_enough("rustc 2.0.1"));
        assert!(!is_enough("rustc 1.85.0 (built from a source tarball)"));
        assert!(!is_enough("rustc"));
        assert!(!is_enough("no compiler at all"));
    }
}
