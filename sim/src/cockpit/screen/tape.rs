//! The tape: what happened, the latest last.

use ratatui::layout::Rect;
use ratatui::text::Line;

use super::pen::Pen;
use super::theme::Tone;
use super::view::View;
use crate::report::number::number;
use crate::report::timeline::{Entry, Kind};

/// Draws the panel, with a heading where it is high enough.
pub(super) fn draw(pen: &mut Pen<'_>, area: Rect, view: &View<'_>) {
    let later = visible(view).filter(|entry| is_later(entry, view)).count();
    let body = if area.height > 3 {
        let says = if later > 0 {
            format!("{later} later entries lie ahead")
        } else {
            String::new()
        };
        let says = Line::from(pen.span(Tone::Plain, says));
        pen.heading(area, "Tape", Tone::Strong, &says)
    } else {
        area
    };
    let seen = visible(view)
        .rev()
        .skip(later)
        .take(usize::from(body.height));
    let entries: Vec<&Entry> = seen.collect();
    for (row, entry) in (0..).zip(entries.into_iter().rev()) {
        let (label, tone) = label(entry.kind);
        let text = if entry.kind == Kind::Phase {
            Tone::Strong
        } else {
            Tone::Plain
        };
        let line = Line::from(vec![
            pen.span(Tone::Faint, format!("{:>7} ", number(entry.time, 2))),
            pen.span(tone, format!("{label:<8}")),
            pen.span(Tone::Plain, " "),
            pen.span(text, entry.text.as_str()),
        ]);
        pen.line(body, row, &line);
    }
}

/// What may be shown on this screen: the trainee is not told of injected faults.
pub(super) fn visible<'a>(view: &View<'a>) -> impl DoubleEndedIterator<Item = &'a Entry> {
    let trainee = view.trainee;
    view.tape
        .iter()
        .filter(move |entry| !(trainee && entry.kind == Kind::Fault))
}

/// An entry of after the tick shown: the session was rewound.
#[must_use]
pub(super) fn is_later(entry: &Entry, view: &View<'_>) -> bool {
    entry.time > view.frame.seconds() + 1e-6
}

const fn label(kind: Kind) -> (&'static str, Tone) {
    match kind {
        Kind::Pilot => ("pilot", Tone::Plain),
        Kind::Fault => ("FAULT", Tone::Strong),
        Kind::Supply => ("SUPPLY", Tone::Strong),
        Kind::Asked => ("asked", Tone::Live),
        Kind::Phase => ("PHASE", Tone::Strong),
        Kind::Bus => ("bus", Tone::Plain),
        Kind::Drive => ("drive", Tone::Plain),
        Kind::Denied => ("denied", Tone::Strong),
        Kind::Warning => ("WARNING", Tone::Warning),
        Kind::Caution => ("CAUTION", Tone::Caution),
        Kind::Advisory => ("ADVISORY", Tone::Advisory),
        Kind::Crew => ("crew", Tone::Plain),
        Kind::Heat => ("HEAT", Tone::Warning),
        Kind::Target => ("target", Tone::Plain),
    }
}
