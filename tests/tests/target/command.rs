//! The command by which people fly with the target in lock step.

use std::process::Command;

use mastwright_tests::target::images::top;

use super::{flight, ok, tools};

/// What `mastwright run` prints with these arguments.
fn run(arguments: &[&str]) -> String {
    let mut cargo = Command::new(env!("CARGO"));
    cargo
        .args(["run", "--quiet", "--locked", "-p", "mastwright-sim"])
        .args(if cfg!(debug_assertions) {
            &[][..]
        } else {
            &["--release"]
        })
        .args(["--", "run"])
        .args(arguments)
        .arg("--image")
        .arg(flight())
        .env("MASTWRIGHT_EMULATOR", &tools().emulator)
        .env("NO_COLOR", "1")
        .current_dir(top());
    let done = ok(cargo.output());
    let told = String::from_utf8_lossy(&done.stdout).into_owned();
    assert!(
        done.status.success(),
        "{told}{}",
        String::from_utf8_lossy(&done.stderr)
    );
    told
}

#[test]
#[ignore = "needs the emulator"]
fn a_flight_with_a_power_cut_is_equal_and_its_timeline_has_the_targets_words_at_their_ticks() {
    for via in ["emulator", "emulator:files"] {
        let told = run(&["brown-out-mid-move", "--on", via]);
        assert!(
            told.contains("  EQUAL: outputs and state in each of "),
            "{told}"
        );
        // Every change of state stands once from here and once from there, in one tick.
        let lines: Vec<&str> = told.lines().collect();
        let phases = |line: &&&str| line.contains(" s  PHASE ");
        let times: Vec<&str> = lines
            .iter()
            .filter(phases)
            .map(|line| &line[..10])
            .collect();
        assert!(times.len() > 5, "{told}");
        for time in times {
            let went = |line: &&str| line.starts_with(time) && line.contains("target    Went { ");
            assert!(lines.iter().any(went), "{time}: {told}");
        }
        let wakings = lines
            .iter()
            .filter(|line| line.ends_with("target    awake"));
        assert_eq!(wakings.count(), 2, "{told}");
    }
}
