//! Says which sources the program is built from, so that a trace can name its build.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

fn main() -> io::Result<()> {
    let mut files = Vec::new();
    for folder in ["src", "../firmware-core/src"] {
        println!("cargo:rerun-if-changed={folder}");
        gather(Path::new(folder), &mut files)?;
    }
    files.sort();
    let mut sum = Fnv::new();
    for file in files {
        let name = file.to_string_lossy().replace('\\', "/");
        sum.add(name.as_bytes());
        sum.add(&fs::read(&file)?);
    }
    println!("cargo:rustc-env=MASTWRIGHT_SOURCES={:016x}", sum.0);
    Ok(())
}

/// Every source file below `folder`.
fn gather(folder: &Path, files: &mut Vec<PathBuf>) -> io::Result<()> {
    for entry in fs::read_dir(folder)? {
        let path = entry?.path();
        if path.is_dir() {
            gather(&path, files)?;
        } else if path.extension().is_some_and(|ending| ending == "rs") {
            files.push(path);
        }
    }
    Ok(())
}

/// FNV-1a, 64 bits, its constants from memory: enough to tell builds apart.
struct Fnv(u64);

impl Fnv {
    const fn new() -> Self {
        Self(0xcbf2_9ce4_8422_2325)
    }

    fn add(&mut self, bytes: &[u8]) {
        for byte in bytes {
            self.0 = (self.0 ^ u64::from(*byte)).wrapping_mul(0x0000_0100_0000_01b3);
        }
    }
}
