//! The chain of permissions: what is asked for now, and each thing it needs with its
//! state in words and sign.

use ratatui::layout::Rect;
use ratatui::text::Line;

use super::pen::{Pen, sign};
use super::theme::Tone;
use crate::report::why::{Row, Why};
use crate::report::witness::{Speaks, Witness};
use crate::report::words;

/// Columns of a row before its readings, where both fit.
const WORDS: usize = 27;
/// From this width on the readings stand beside the conditions.
const WIDE: u16 = 54;

/// Draws the panel.
pub(super) fn draw(pen: &mut Pen<'_>, area: Rect, why: &Why) {
    let (answer, tone) = match (why.permitted(), why.denied) {
        (true, _) => ("✓ yes", Tone::Good),
        (false, true) => ("✗ NO, asked for and denied", Tone::Strong),
        (false, false) => ("✗ NO, not yet", Tone::Strong),
    };
    let title = format!("May: {}?", words::permission(why.permission));
    let says = Line::from(pen.span(tone, answer));
    let body = pen.heading(area, &title, Tone::Strong, &says);
    for (row, index) in (0..body.height).zip(shown(&why.rows, body.height)) {
        let line = line(pen, &why.rows[index], body.width);
        pen.line(body, row, &line);
    }
    let used = u16::try_from(why.rows.len()).unwrap_or(u16::MAX);
    if !why.also.is_empty() && used < body.height {
        let also: Vec<&str> = why.also.iter().copied().map(words::permission).collect();
        let text = format!("also denied: {}", also.join(", "));
        pen.paragraph(super::pen::below(body, used), 0, Tone::Plain, &text);
    }
}

/// The rows there is room for, in the order of the table; what does not hold is never
/// left out for what does.
fn shown(rows: &[Row], room: u16) -> Vec<usize> {
    let mut order: Vec<usize> = (0..rows.len()).collect();
    order.sort_by_key(|index| rows[*index].holds);
    order.truncate(usize::from(room));
    order.sort_unstable();
    order
}

fn line(pen: &Pen<'_>, row: &Row, width: u16) -> Line<'static> {
    let (mark, tone) = sign(row.holds);
    let words = if row.holds { Tone::Plain } else { Tone::Strong };
    if width < WIDE {
        return Line::from(vec![
            pen.span(tone, mark),
            pen.span(words, row.words.clone()),
        ]);
    }
    let text = if row.words.chars().count() > WORDS {
        let cut: String = row.words.chars().take(WORDS - 1).collect();
        format!("{cut}… ")
    } else {
        format!("{:<WORDS$} ", row.words)
    };
    let mut spans = vec![pen.span(tone, mark), pen.span(words, text)];
    // What is not heard, then what denies: that is looked for first.
    let mut witnesses: Vec<&Witness> = row.witnesses.iter().collect();
    witnesses.sort_by_key(|witness| match witness.speaks {
        Speaks::Unheard => 0,
        Speaks::Against => 1,
        Speaks::For => 2,
    });
    for (index, witness) in witnesses.into_iter().enumerate() {
        if index > 0 {
            spans.push(pen.span(Tone::Faint, ", "));
        }
        spans.push(said(pen, witness, row.holds));
    }
    Line::from(spans)
}

/// A reading; where it stands against the condition a sign says so.
fn said(pen: &Pen<'_>, witness: &Witness, holds: bool) -> ratatui::text::Span<'static> {
    match witness.speaks {
        Speaks::For => pen.span(Tone::Faint, witness.words()),
        Speaks::Against if holds => pen.span(Tone::Faint, witness.words()),
        Speaks::Against => pen.span(Tone::Strong, format!("✗ {}", witness.words())),
        Speaks::Unheard => pen.span(Tone::Unheard, format!("✗ {}", witness.words())),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn where_room_is_short_what_does_not_hold_stays() {
        let row = |holds| Row {
            words: String::new(),
            holds,
            witnesses: Vec::new(),
        };
        let rows = [row(true), row(true), row(false), row(true), row(false)];
        assert_eq!(shown(&rows, 3), [0, 2, 4]);
        assert_eq!(shown(&rows, 9), [0, 1, 2, 3, 4]);
        assert!(shown(&rows, 0).is_empty());
    }
}
