//! The table of signals, for people.

use std::fmt::Write;

use super::signal::{Kind, Signal};
use super::table::signals;

/// The table of every signal, in Markdown, group by group.
#[must_use]
pub fn page() -> String {
    let mut page = String::new();
    let all = signals();
    for group in all.chunk_by(|one, next| one.parts().0 == next.parts().0) {
        let name = group.first().map_or("", |signal| signal.parts().0);
        let _ = write!(
            page,
            "### {name}\n\n| signal | unit | type | what |\n|---|---|---|---|\n"
        );
        for signal in group {
            let _ = writeln!(page, "{}", row(signal));
        }
        page.push('\n');
    }
    page
}

fn row(signal: &Signal) -> String {
    let kind = match signal.kind() {
        Kind::Flag => "flag",
        Kind::Whole => "whole",
        Kind::Real => "real",
        Kind::Text => "text",
    };
    let unit = signal.unit().map_or("", |unit| unit.symbol());
    // A bar would end the field.
    let about = signal.about().replace('|', "\\|");
    format!("| `{}` | {unit} | {kind} | {about} |", signal.name())
}
