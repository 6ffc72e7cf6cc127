//! SPIN on the hand-written model: generate, compile, search, read what it says.

use std::ffi::OsStr;
use std::path::Path;
use std::process::Command;

/// The model.
pub const MODEL: &str = include_str!("../../promela/mast.pml");

/// What a search found.
#[derive(Clone, Debug, PartialEq)]
pub struct Searched {
    /// No assertion was violated, and the search was complete.
    pub holds: bool,
    /// The assertion that was violated first.
    pub violated: Option<String>,
    /// States stored.
    pub states: u64,
    /// Transitions.
    pub transitions: u64,
    /// Time, s.
    pub seconds: f64,
}

impl Searched {
    /// Transitions per second.
    #[must_use]
    pub fn rate(&self) -> f64 {
        self.transitions as f64 / self.seconds.max(0.01)
    }
}

/// Searches the model with these switches, depth first, every state kept whole.
///
/// # Errors
/// What could not be run, and what to do.
pub fn search(switches: &[&str]) -> Result<Searched, String> {
    let folder = tempfile::tempdir().map_err(|e| e.to_string())?;
    let folder = folder.path();
    std::fs::write(folder.join("mast.pml"), MODEL).map_err(|e| e.to_string())?;
    let defines = switches.iter().map(|switch| format!("-D{switch}"));
    let mut generate: Vec<String> = defines.collect();
    generate.extend(["-a".to_owned(), "mast.pml".to_owned()]);
    run(folder, "spin", &generate)?;
    run(folder, "gcc", &["-O2", "-DSAFETY", "-o", "pan", "pan.c"])?;
    let pan = folder.join("pan");
    let told = run(folder, &pan.to_string_lossy(), &["-n", "-m1000000"])?;
    read(&told)
}

/// Reads what the search printed.
///
/// # Errors
/// It cannot be understood: all of it.
pub fn read(told: &str) -> Result<Searched, String> {
    // The last word before `unit`, in the first line that has it.
    let number = |unit: &str| {
        let line = told.lines().find_map(|line| line.split_once(unit))?;
        line.0.split_whitespace().last()?.parse::<f64>().ok()
    };
    let errors = told.lines().find_map(|line| {
        let (_, count) = line.split_once("errors: ")?;
        count.trim().parse::<u64>().ok()
    });
    let violated = told.lines().find_map(|line| {
        let (_, rest) = line.split_once("assertion violated ")?;
        Some(rest.split(" (at depth").next().unwrap_or(rest).to_owned())
    });
    let complete =
        !told.contains("Search not completed") && !told.contains("max search depth too small");
    let parsed = (
        errors,
        number(" states, stored"),
        number(" transitions (="),
        number(" seconds"),
    );
    match parsed {
        (Some(errors), Some(states), Some(transitions), Some(seconds)) => Ok(Searched {
            holds: errors == 0 && complete,
            violated,
            states: states as u64,
            transitions: transitions as u64,
            seconds,
        }),
        _ => Err(format!("this is not what a search prints:\n{told}")),
    }
}

fn run<S: AsRef<OsStr>>(folder: &Path, program: &str, arguments: &[S]) -> Result<String, String> {
    let ran = Command::new(program)
        .args(arguments)
        .current_dir(folder)
        .output()
        .map_err(|e| format!("{program}: {e}; install the packages spin and gcc"))?;
    let told = String::from_utf8_lossy(&ran.stdout).into_owned();
    if ran.status.success() {
        Ok(told)
    } else {
        let errors = String::from_utf8_lossy(&ran.stderr);
        Err(format!("{program} failed:\n{told}{errors}"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const HOLDS: &str = "State-vector 28 byte, depth reached 107930, errors: 0
    11891 states, stored
  3763917 states, matched
  3775808 transitions (= stored+matched)
pan: elapsed time 3.07 seconds
pan: rate 3873.2899 states/second
";

    #[test]
    fn a_search_without_errors_is_read() {
        let read = read(HOLDS).expect("a search");
        assert!(read.holds);
        assert_eq!((read.states, read.transitions), (11_891, 3_775_808));
        assert_eq!(read.violated, None);
    }

    #[test]
    fn a_violated_assertion_is_read_and_does_not_hold() {
        let told = format!(
            "pan:1: assertion violated (mast==0) (at depth 12)\n{}",
            HOLDS.replace("errors: 0", "errors: 1")
        );
        let read = read(&told).expect("a search");
        assert!(!read.holds);
        assert_eq!(read.violated.as_deref(), Some("(mast==0)"));
    }

    #[test]
    fn a_search_that_was_cut_off_does_not_hold() {
        let cut = format!("error: max search depth too small\n{HOLDS}");
        assert!(!read(&cut).expect("a search").holds);
        assert!(read("no such thing").is_err());
    }
}
