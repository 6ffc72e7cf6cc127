//! The sequencer's states as a page with a diagram, made from its own table.

use std::fmt::Write as _;

use mastwright_core::State;
use mastwright_core::state::Halt;

use crate::report::words::meaning;

/// The page `docs/states.md`: diagram, table of ways out, reasons of a safe halt.
#[must_use]
pub fn page() -> String {
    let mut page = String::from(
        "# States of the sequencer\n\n\
         Bench and training tool; not certified, not airworthy. Local codes, the flight manual\n\
         and licensed practice come first, before any way out named here. Keep clear of\n\
         propellers: a motor that is off is not a propeller that is stopped.\n\n\
         Made from the controller's own table by `mastwright list states --page`; a test\n\
         fails when this file differs. Why each state is entered stands in the doc of\n\
         `State`, in `firmware-core/src/state.rs`.\n\n\
         ```mermaid\nstateDiagram-v2\n    [*] --> Waking\n",
    );
    for state in State::ALL {
        // Several ways to one state are one arrow.
        let mut drawn: Vec<&str> = Vec::new();
        for to in state.ways_out().iter().map(|way| way.to.name()) {
            if !drawn.contains(&to) {
                drawn.push(to);
                line(&mut page, format_args!("    {} --> {to}", state.name()));
            }
        }
    }
    page.push_str("```\n\n## In words\n\n| state | what goes on |\n|---|---|\n");
    for state in State::ALL {
        let row = format_args!("| {} | {} |", state.name(), meaning(state));
        line(&mut page, row);
    }
    page.push_str(
        "\n## Ways out\n\nConsidered in this order; the first that applies is taken.\n\n\
         | from | to | when |\n|---|---|---|\n",
    );
    for state in State::ALL {
        for way in state.ways_out() {
            let row = format_args!("| {} | {} | {} |", state.name(), way.to.name(), way.when);
            line(&mut page, row);
        }
    }
    page.push_str("\n## Safe halts\n\n| reason | in words | way out |\n|---|---|---|\n");
    for halt in Halt::ALL {
        let row = format_args!("| {halt:?} | {} | {} |", halt.words(), halt.way_out());
        line(&mut page, row);
    }
    page
}

fn line(page: &mut String, text: std::fmt::Arguments<'_>) {
    writeln!(page, "{text}").expect("writing to a string cannot fail");
}
