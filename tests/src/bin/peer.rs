//! Puts the same questions to SPIN and to the exploration, and shows both side by side.
//!
//! `cargo run --release -p mastwright-tests --bin peer [-- STATES]`: STATES is the most that
//! one exploration may find, 20 million unless given. SPIN and gcc must be installed.
//! Ends with 1 when the verdicts differ.

use std::process::ExitCode;

use mastwright_tests::peer::{CASES, spin};

fn main() -> ExitCode {
    let most = match std::env::args().nth(1).map(|text| text.parse::<u64>()) {
        None => 20_000_000,
        Some(Ok(most)) if most > 0 => most,
        Some(_) => {
            eprintln!("the most states of one exploration must be a number above zero");
            return ExitCode::from(2);
        }
    };
    println!("| question | engine | verdict | states | transitions | time | transitions/s |");
    println!("|---|---|---|---|---|---|---|");
    let mut agree = true;
    for case in &CASES {
        let peer = match spin::search(case.switches) {
            Ok(peer) => peer,
            Err(why) => {
                eprintln!("{why}");
                return ExitCode::from(2);
            }
        };
        let verdict = match (&peer.violated, peer.holds) {
            (Some(assertion), _) => format!("broken: `{assertion}`"),
            (None, true) => "holds".to_owned(),
            (None, false) => "search not complete".to_owned(),
        };
        row(
            case.name,
            "SPIN",
            &verdict,
            (peer.states, peer.transitions),
            (peer.seconds, peer.rate()),
        );
        let ours = (case.ours)(case, most);
        let verdict = match ours.holds {
            Some(true) => "holds".to_owned(),
            Some(false) => {
                let broken = ours
                    .broken
                    .iter()
                    .map(|(id, depth)| format!("{id} at {depth}"));
                format!("broken: {}", broken.collect::<Vec<_>>().join(", "))
            }
            None => "holds so far, not whole".to_owned(),
        };
        row(
            case.name,
            "ours",
            &verdict,
            (ours.states, ours.transitions),
            (ours.seconds, ours.rate),
        );
        agree &= peer.holds == case.holds && ours.holds == Some(case.holds);
    }
    if agree {
        ExitCode::SUCCESS
    } else {
        eprintln!("the verdicts are not all as they should be");
        ExitCode::FAILURE
    }
}

fn row(
    case: &str,
    engine: &str,
    verdict: &str,
    (states, transitions): (u64, u64),
    (seconds, rate): (f64, f64),
) {
    println!(
        "| {case} | {engine} | {verdict} | {states} | {transitions} | {seconds:.2} s | {rate:.2e} |"
    );
}
