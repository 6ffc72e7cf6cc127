//! The independent engine comes to the verdicts that it should.

use mastwright_tests::peer::{CASES, spin};

#[test]
#[ignore = "needs the packages spin and gcc, and takes half a minute: run with `--ignored`"]
fn spin_finds_the_sound_controller_sound_and_catches_each_saboteur() {
    for case in &CASES {
        let found = spin::search(case.switches).unwrap_or_else(|why| panic!("{why}"));
        assert_eq!(found.holds, case.holds, "{}: {found:?}", case.name);
        assert_eq!(found.violated.is_none(), case.holds, "{}", case.name);
    }
}
