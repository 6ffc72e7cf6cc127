//! What is said to whoever sits there: the caption of a demonstration, the cue and hint of
//! a lesson, a notice of the program.

use ratatui::layout::Rect;
use ratatui::text::Line;

use super::pen::{Pen, below};
use super::theme::Tone;
use super::view::View;
use crate::report::layout::wrap;
use crate::report::number::number;

/// Rows wanted at a width; none when there is nothing to say.
#[must_use]
pub(super) fn rows(view: &View<'_>, width: u16) -> u16 {
    let width = usize::from(width.max(20));
    let lines = |text: Option<&str>| text.map_or(0, |text| wrap(text, width - 12).len());
    let lesson = view.lesson.unwrap_or_default();
    let all = lines(view.notice) + lines(view.caption) + lines(lesson.cue) + lines(lesson.hint);
    u16::try_from(all).unwrap_or(u16::MAX)
}

/// Draws it.
pub(super) fn draw(pen: &mut Pen<'_>, area: Rect, view: &View<'_>) {
    let mut rest = area;
    if let Some(text) = view.notice {
        rest = labelled(pen, rest, "notice", Tone::Strong, text);
    }
    if let Some(text) = view.caption {
        rest = labelled(pen, rest, "", Tone::Strong, text);
    }
    let Some(lesson) = view.lesson else { return };
    if let Some(text) = lesson.cue {
        let step = lesson.step.map_or_else(
            || "lesson".to_owned(),
            |(step, all)| format!("step {step}/{all}"),
        );
        let at = rest;
        rest = labelled(pen, rest, &step, Tone::Live, text);
        if let Some(left) = lesson.left {
            let line = Line::from(pen.span(Tone::Chosen, format!(" {} s left ", number(left, 0))));
            pen.right(at, 0, &line);
        }
    }
    if let Some(text) = lesson.hint {
        labelled(pen, rest, "hint", Tone::Plain, text);
    }
}

/// A label and a paragraph beside it; returns what is left below.
fn labelled(pen: &mut Pen<'_>, area: Rect, label: &str, tone: Tone, text: &str) -> Rect {
    pen.text(area, 0, Tone::Chosen, &format!(" {label:<9}"));
    let (_, beside) = super::pen::split(area, 10, 1);
    let used = pen.paragraph(beside, 0, tone, text);
    below(area, used)
}
