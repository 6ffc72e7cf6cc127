//! Writing into the picture: every piece is clipped to its area, and what is cut off ends
//! in a sign that something is missing.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;
use ratatui::text::{Line, Span};

use super::theme::{Theme, Tone};
use crate::report::layout::wrap;

/// Writes into one picture.
pub(super) struct Pen<'a> {
    /// The picture.
    pub(super) buffer: &'a mut Buffer,
    /// How it looks.
    pub(super) theme: Theme,
}

impl std::fmt::Debug for Pen<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Pen")
            .field("theme", &self.theme)
            .finish_non_exhaustive()
    }
}

impl Pen<'_> {
    /// The style of a tone.
    #[must_use]
    pub(super) fn style(&self, tone: Tone) -> Style {
        self.theme.style(tone)
    }

    /// A piece of text in its tone.
    #[must_use]
    pub(super) fn span<'t>(
        &self,
        tone: Tone,
        text: impl Into<std::borrow::Cow<'t, str>>,
    ) -> Span<'t> {
        Span::styled(text, self.style(tone))
    }

    /// Writes one line into a row of an area, if the area has that row. Returns where it
    /// ends.
    pub(super) fn line(&mut self, area: Rect, row: u16, line: &Line<'_>) -> u16 {
        let area = area.intersection(self.buffer.area);
        if row >= area.height || area.width == 0 {
            return area.x;
        }
        let y = area.y + row;
        // What stood there before must not shine through a tone that has no colour.
        let width = u16::try_from(line.width())
            .unwrap_or(u16::MAX)
            .min(area.width);
        let written = Rect {
            y,
            width,
            height: 1,
            ..area
        };
        self.buffer.set_style(written, Style::reset());
        let (end, _) = self.buffer.set_line(area.x, y, line, area.width);
        if line.width() > usize::from(area.width) {
            self.buffer[(area.right() - 1, y)].set_symbol("…");
        }
        end
    }

    /// Writes plain text of one tone.
    pub(super) fn text(&mut self, area: Rect, row: u16, tone: Tone, text: &str) -> u16 {
        let line = Line::from(self.span(tone, text));
        self.line(area, row, &line)
    }

    /// Writes a line that ends at the right edge of the area.
    pub(super) fn right(&mut self, area: Rect, row: u16, line: &Line<'_>) {
        let width = u16::try_from(line.width())
            .unwrap_or(u16::MAX)
            .min(area.width);
        let place = Rect {
            x: area.right() - width,
            width,
            ..area
        };
        self.line(place, row, line);
    }

    /// Writes a paragraph from a row on; returns the row after it.
    pub(super) fn paragraph(&mut self, area: Rect, row: u16, tone: Tone, text: &str) -> u16 {
        let mut next = row;
        for line in wrap(text, usize::from(area.width)) {
            self.text(area, next, tone, &line);
            next = next.saturating_add(1);
        }
        next
    }

    /// Writes a heading over the first row of an area and returns what is left below.
    pub(super) fn heading(&mut self, area: Rect, title: &str, tone: Tone, says: &Line<'_>) -> Rect {
        let after = |end: u16| Rect {
            x: end.min(area.right()),
            width: area.right().saturating_sub(end),
            ..area
        };
        let mut end = self.text(area, 0, tone, &format!("{title} "));
        if says.width() > 0 {
            end = self.line(after(end), 0, says).saturating_add(1);
        }
        let rule = after(end);
        self.text(rule, 0, Tone::Faint, &"─".repeat(usize::from(rule.width)));
        below(area, 1)
    }

    /// Makes an area blank.
    pub(super) fn blank(&mut self, area: Rect) {
        let area = area.intersection(self.buffer.area);
        for position in area.positions() {
            self.buffer[position].reset();
        }
    }
}

/// What is left of an area below its first rows.
#[must_use]
pub(super) fn below(area: Rect, rows: u16) -> Rect {
    let rows = rows.min(area.height);
    Rect {
        y: area.y + rows,
        height: area.height - rows,
        ..area
    }
}

/// The first columns of an area, and what is left right of them and a gap.
#[must_use]
pub(super) fn split(area: Rect, columns: u16, gap: u16) -> (Rect, Rect) {
    let left = columns.min(area.width);
    let skipped = left.saturating_add(gap).min(area.width);
    let right = Rect {
        x: area.x + skipped,
        width: area.width - skipped,
        ..area
    };
    (
        Rect {
            width: left,
            ..area
        },
        right,
    )
}

/// `yes` or `NO` with its sign: never told by colour alone.
#[must_use]
pub(super) const fn sign(holds: bool) -> (&'static str, Tone) {
    if holds {
        ("✓ yes ", Tone::Good)
    } else {
        ("✗ NO  ", Tone::Strong)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn written(width: u16, text: &str) -> String {
        let area = Rect::new(0, 0, width, 1);
        let mut buffer = Buffer::empty(area);
        let mut pen = Pen {
            buffer: &mut buffer,
            theme: Theme::mono(),
        };
        pen.text(area, 0, Tone::Plain, text);
        buffer
            .content()
            .iter()
            .map(ratatui::buffer::Cell::symbol)
            .collect()
    }

    #[test]
    fn a_line_that_does_not_fit_ends_in_a_sign_and_one_that_fits_does_not() {
        assert_eq!(written(5, "parked"), "park…");
        assert_eq!(written(6, "parked"), "parked");
    }

    #[test]
    fn a_row_outside_its_area_is_not_written() {
        let area = Rect::new(0, 0, 4, 2);
        let mut buffer = Buffer::empty(area);
        let mut pen = Pen {
            buffer: &mut buffer,
            theme: Theme::mono(),
        };
        pen.text(Rect::new(0, 0, 4, 1), 1, Tone::Plain, "no");
        pen.text(Rect::new(3, 1, 90, 90), 0, Tone::Plain, "cut");
        let all: String = buffer
            .content()
            .iter()
            .map(ratatui::buffer::Cell::symbol)
            .collect();
        assert_eq!(all, "       …");
    }
}
