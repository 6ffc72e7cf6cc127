//! Alerts: the most urgent first, each with its class in a word and a sign, and whether
//! it sounds or was acknowledged.
//!
//! Classes and colours as in 14 CFR 25.1322(a)-(c) and 23.1322 (1999), used as models
//! (read): red warning, amber caution, an advisory neither. A word says the same.

use mastwright_core::Fault;
use mastwright_core::fault::Class;
use ratatui::layout::Rect;
use ratatui::text::Line;

use super::areas::{Areas, Target};
use super::pen::Pen;
use super::theme::Tone;
use super::view::View;
use crate::report::words;

/// Draws the panel; a click on it acknowledges.
pub(super) fn draw(pen: &mut Pen<'_>, area: Rect, view: &View<'_>, areas: &mut Areas) {
    areas.add(area, Target::Acknowledge);
    let lamps = &view.frame.outputs.indications;
    let silenced = (lamps.faults - lamps.sounding).len();
    let says = match (lamps.sounding.len(), silenced) {
        _ if !view.frame.powered => "no supply: none can show".to_owned(),
        (0, 0) => "none".to_owned(),
        (sound, silent) => format!("{sound} sound, {silent} acknowledged"),
    };
    let says = Line::from(pen.span(Tone::Plain, says));
    let body = pen.heading(area, "Alerts", Tone::Strong, &says);
    let lines = lines(pen, view);
    let room = usize::from(body.height);
    let shown = if lines.len() > room {
        room.saturating_sub(1)
    } else {
        lines.len()
    };
    for (row, line) in (0..).zip(&lines[..shown]) {
        pen.line(body, row, line);
    }
    if shown < lines.len() {
        let more = format!("… {} more, less urgent", lines.len() - shown);
        let row = u16::try_from(shown).unwrap_or(u16::MAX);
        pen.text(body, row, Tone::Plain, &more);
    }
}

/// The alerts in order: heat warning, then by class, those that sound first.
fn lines(pen: &Pen<'_>, view: &View<'_>) -> Vec<Line<'static>> {
    let mut lines = Vec::new();
    if view.frame.heat_warning {
        lines.push(line(
            pen,
            Class::Warning,
            true,
            "heat in the bay (its own unit)",
        ));
    }
    if !view.frame.powered {
        return lines;
    }
    let lamps = &view.frame.outputs.indications;
    let mut faults: Vec<Fault> = lamps.faults.iter().collect();
    faults.sort_by_key(|fault| {
        let sounding = lamps.sounding.contains(*fault);
        std::cmp::Reverse((fault.class(), sounding))
    });
    let all = faults.into_iter().map(|fault| {
        let sounding = lamps.sounding.contains(fault);
        line(pen, fault.class(), sounding, words::fault(fault))
    });
    lines.extend(all);
    lines
}

/// Sign and word of a class; one that sounds is written large and calls out.
#[must_use]
pub(super) const fn mark(class: Class, sounding: bool) -> &'static str {
    match (class, sounding) {
        (Class::Warning, true) => "▲ WARNING! ",
        (Class::Warning, false) => "△ warning  ",
        (Class::Caution, true) => "◆ CAUTION! ",
        (Class::Caution, false) => "◇ caution  ",
        (Class::Advisory, true) => "● ADVISORY ",
        (Class::Advisory, false) => "○ advisory ",
    }
}

/// The tone of a class.
#[must_use]
pub(super) const fn tone(class: Class) -> Tone {
    match class {
        Class::Warning => Tone::Warning,
        Class::Caution => Tone::Caution,
        Class::Advisory => Tone::Advisory,
    }
}

fn line(pen: &Pen<'_>, class: Class, sounding: bool, text: &'static str) -> Line<'static> {
    let style = pen.style(tone(class));
    let style = if sounding {
        style
    } else {
        style.remove_modifier(ratatui::style::Modifier::REVERSED)
    };
    Line::from(vec![
        ratatui::text::Span::styled(mark(class, sounding), style),
        pen.span(Tone::Plain, text),
    ])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_class_is_told_by_its_word_and_its_sign_and_so_is_whether_it_sounds() {
        let mut seen = std::collections::BTreeSet::new();
        let mut signs = std::collections::BTreeSet::new();
        for class in [Class::Warning, Class::Caution, Class::Advisory] {
            for sounding in [true, false] {
                let text = mark(class, sounding);
                assert!(text.to_uppercase().contains(words::class(class)));
                seen.insert(text);
                signs.insert(text.chars().next());
            }
        }
        assert_eq!((seen.len(), signs.len()), (6, 6));
    }
}
