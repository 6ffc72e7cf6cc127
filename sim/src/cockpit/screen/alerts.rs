//! Alerts: the most urgent first, each with its class in a word and a sign, and whether
//! it sounds or was acknowledged.
//!
//! Classes and colours as in 14 CFR 25.1322(a)-(c) and 23.1322 (1999), used as models
//! (read): red warning, amber caution, an advisory neither. A word says the same.

use mastwright_core::fault::Class;
use ratatui::layout::Rect;
use ratatui::style::Modifier;
use ratatui::text::{Line, Span};

use super::areas::{Areas, Target};
use super::pen::Pen;
use super::theme::Tone;
use super::view::View;
use crate::report::layout::wrap;
use crate::report::words;

/// Columns of sign and class.
const SIGN: usize = 11;

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
    let lines = lines(pen, view, body);
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

/// The alerts in order: heat warning, then by class, those that sound first. Long ones
/// have two rows where there is room.
fn lines(pen: &Pen<'_>, view: &View<'_>, area: Rect) -> Vec<Line<'static>> {
    let alerts = alerts(view);
    let words = usize::from(area.width).saturating_sub(SIGN);
    let wrapped: Vec<Vec<String>> = alerts.iter().map(|alert| wrap(alert.text, words)).collect();
    let all: usize = wrapped.iter().map(Vec::len).sum();
    let mut lines = Vec::new();
    for (alert, rows) in alerts.iter().zip(wrapped) {
        if all > usize::from(area.height) {
            lines.push(line(pen, alert, alert.text.to_owned()));
            continue;
        }
        let mut rows = rows.into_iter();
        lines.push(line(pen, alert, rows.next().unwrap_or_default()));
        lines.extend(rows.map(|row| Line::from(format!("{:SIGN$}{row}", ""))));
    }
    lines
}

/// One alert.
struct Alert {
    class: Class,
    sounding: bool,
    text: &'static str,
}

fn alerts(view: &View<'_>) -> Vec<Alert> {
    let mut alerts = Vec::new();
    if view.frame.heat_warning {
        alerts.push(Alert {
            class: Class::Warning,
            sounding: true,
            text: "heat in the bay (its own unit)",
        });
    }
    if !view.frame.powered {
        return alerts;
    }
    let lamps = &view.frame.outputs.indications;
    let latched = lamps.faults.iter().map(|fault| Alert {
        class: fault.class(),
        sounding: lamps.sounding.contains(fault),
        text: words::fault(fault),
    });
    alerts.extend(latched);
    alerts.sort_by_key(|alert| std::cmp::Reverse((alert.class, alert.sounding)));
    alerts
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

fn line(pen: &Pen<'_>, alert: &Alert, text: String) -> Line<'static> {
    let style = pen.style(tone(alert.class));
    let style = if alert.sounding {
        style
    } else {
        style.remove_modifier(Modifier::REVERSED)
    };
    Line::from(vec![
        Span::styled(mark(alert.class, alert.sounding), style),
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
