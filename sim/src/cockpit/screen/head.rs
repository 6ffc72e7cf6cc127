//! The first rows: what the controller does, and in one sentence why the thing now asked
//! for happens or does not.

use mastwright_core::{Mode, State};
use ratatui::layout::Rect;
use ratatui::text::Line;

use super::pen::{Pen, below};
use super::theme::Tone;
use super::view::View;
use crate::report::layout::wrap;
use crate::report::why::Why;
use crate::report::words;

/// Rows it takes at least.
const LEAST: u16 = 3;

/// Rows it takes: the state, and two for the sentence; in a halt as many as its way out needs
/// below the sentence.
pub(super) fn rows(view: &View<'_>, why: &Why, width: u16) -> u16 {
    let rows = |text: &str| wrap(text, usize::from(width)).len();
    let out = way_out(view).map_or(0, |text| rows(&told(why)) + rows(&text));
    u16::try_from(1 + out).map_or(LEAST, |rows| rows.max(LEAST))
}

/// How the present halt is left, if it is one.
fn way_out(view: &View<'_>) -> Option<String> {
    let state = view.frame.outputs.indications.state;
    if let (State::Halted(halt), true) = (state, view.frame.powered) {
        Some(format!("way out: {}", halt.way_out()))
    } else {
        None
    }
}

/// Draws it.
pub(super) fn draw(pen: &mut Pen<'_>, area: Rect, view: &View<'_>, why: &Why) {
    let state = view.frame.outputs.indications.state;
    let (name, meaning) = if view.frame.powered {
        (state.name(), meaning(state))
    } else {
        (
            "no supply",
            "the controller is dead; outputs rest at their safe values",
        )
    };
    let mode = match view.frame.outputs.indications.mode {
        Mode::Sequenced => "",
        Mode::Jog => " JOG by hand",
        Mode::Bench => " BENCH",
    };
    let person = if view.frame.truth.person_near {
        " PERSON NEAR"
    } else {
        ""
    };
    let line = Line::from(vec![
        pen.span(Tone::Chosen, format!(" {name} ")),
        pen.span(Tone::Strong, format!("{mode}{person} ")),
        pen.span(Tone::Plain, meaning),
    ]);
    let end = pen.line(area, 0, &line);
    let whose = if view.trainee { " · trainee" } else { "" };
    let right = Line::from(pen.span(Tone::Faint, format!(" {}{whose}", view.session.scenario)));
    let free = area.right().saturating_sub(end);
    if usize::from(free) >= right.width() {
        pen.right(area, 0, &right);
    }
    sentence(pen, below(area, 1), view, why);
}

/// The sentence, then how a halt is left.
fn sentence(pen: &mut Pen<'_>, area: Rect, view: &View<'_>, why: &Why) {
    let tone = if why.permitted() {
        Tone::Good
    } else {
        Tone::Strong
    };
    let next = pen.paragraph(area, 0, tone, &told(why));
    if let Some(text) = way_out(view) {
        pen.paragraph(area, next, Tone::Plain, &text);
    }
}

/// The sentence, with its sign.
fn told(why: &Why) -> String {
    let sign = if why.permitted() { "✓" } else { "✗" };
    format!("{sign} {}", why.sentence)
}

fn meaning(state: State) -> &'static str {
    if let State::Halted(halt) = state {
        halt.words()
    } else {
        words::meaning(state)
    }
}
