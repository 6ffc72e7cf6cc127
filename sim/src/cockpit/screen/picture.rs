//! A picture of the screen as SVG: self-contained, for documents.
//!
//! Text stays text; braille, blocks and rules are drawn, since few fonts have them in the
//! right width.

use std::fmt::Write as _;

use ratatui::buffer::{Buffer, Cell};
use ratatui::style::{Color, Modifier};

/// Width and height of a cell, and the baseline of its text, units of the drawing.
const WIDE: f64 = 8.4;
const HIGH: f64 = 17.0;
const BASE: f64 = 13.0;
/// Paper and ink.
const PAPER: &str = "#12161c";
const INK: &str = "#dfe4ea";

/// How every drawing begins: by this it is known for one.
pub const BEGINNING: &str = "<svg id=\"mastwright-cockpit\" ";

/// The buffer as a drawing with a title.
#[must_use]
pub fn svg(buffer: &Buffer, title: &str) -> String {
    let (columns, rows) = (buffer.area.width, buffer.area.height);
    let (width, height) = (f64::from(columns) * WIDE, f64::from(rows) * HIGH);
    let mut out = String::new();
    put(
        &mut out,
        format_args!(
            "{BEGINNING}xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {width:.1} {height:.1}\" \
             width=\"{width:.0}\" height=\"{height:.0}\" role=\"img\" \
             font-family=\"DejaVu Sans Mono, Liberation Mono, Consolas, monospace\" \
             font-size=\"14\">\n<title>{}</title>\n\
             <rect width=\"100%\" height=\"100%\" fill=\"{PAPER}\"/>\n",
            escaped(title)
        ),
    );
    for row in 0..rows {
        let cells: Vec<&Cell> = (0..columns)
            .map(|column| &buffer[(buffer.area.x + column, buffer.area.y + row)])
            .collect();
        line(&mut out, &cells, f64::from(row) * HIGH);
    }
    out.push_str("</svg>\n");
    out
}

fn put(out: &mut String, text: std::fmt::Arguments<'_>) {
    out.write_fmt(text)
        .expect("writing to a string cannot fail");
}

/// How a cell looks: ink, paper, weight, underline.
#[derive(PartialEq)]
struct Look {
    ink: &'static str,
    paper: &'static str,
    modifier: Modifier,
}

impl Look {
    fn of(cell: &Cell) -> Self {
        let (ink, paper) = (hex(cell.fg, INK), hex(cell.bg, PAPER));
        let (ink, paper) = if cell.modifier.contains(Modifier::REVERSED) {
            (paper, ink)
        } else {
            (ink, paper)
        };
        Self {
            ink,
            paper,
            modifier: cell.modifier - Modifier::REVERSED,
        }
    }
}

/// One row, as runs of cells that look alike.
fn line(out: &mut String, cells: &[&Cell], top: f64) {
    let mut from = 0;
    while from < cells.len() {
        let look = Look::of(cells[from]);
        let run = cells[from..]
            .iter()
            .take_while(|cell| Look::of(cell) == look)
            .count();
        draw_run(out, &cells[from..from + run], from, top, &look);
        from += run;
    }
}

fn draw_run(out: &mut String, run: &[&Cell], from: usize, top: f64, look: &Look) {
    let left = column(from);
    if look.paper != PAPER {
        let width = column(run.len());
        rect(out, (left, top, width, HIGH), look.paper);
    }
    let mut text = String::new();
    for (index, cell) in run.iter().enumerate() {
        let sign = cell.symbol().chars().next().unwrap_or(' ');
        let drawn = drawn(out, sign, (column(from + index), top), look.ink);
        text.push_str(if drawn { " " } else { cell.symbol() });
    }
    let kept = text.trim_end();
    let lead = kept.len() - kept.trim_start().len();
    let kept = kept.trim_start();
    if kept.is_empty() {
        return;
    }
    let columns = kept.chars().count();
    let weight = if look.modifier.contains(Modifier::BOLD) {
        " font-weight=\"bold\""
    } else {
        ""
    };
    let under = if look.modifier.contains(Modifier::UNDERLINED) {
        " text-decoration=\"underline\""
    } else {
        ""
    };
    put(
        out,
        format_args!(
            "<text x=\"{:.1}\" y=\"{:.1}\" textLength=\"{:.1}\" fill=\"{}\"{weight}{under} \
             xml:space=\"preserve\">{}</text>\n",
            column(from + lead),
            top + BASE,
            column(columns),
            look.ink,
            escaped(kept)
        ),
    );
}

fn column(columns: usize) -> f64 {
    f64::from(u32::try_from(columns).unwrap_or(u32::MAX)) * WIDE
}

fn rect(out: &mut String, (x, y, width, height): (f64, f64, f64, f64), fill: &str) {
    put(
        out,
        format_args!(
            "<rect x=\"{x:.1}\" y=\"{y:.1}\" width=\"{width:.1}\" height=\"{height:.1}\" fill=\"{fill}\"/>\n"
        ),
    );
}

/// Draws a sign that fonts often lack; false if it is left to the font.
fn drawn(out: &mut String, sign: char, at: (f64, f64), ink: &str) -> bool {
    let (x, y) = at;
    match sign {
        '\u{2800}'..='\u{28ff}' => braille(out, u32::from(sign) - 0x2800, at, ink),
        '▁'..='█' => {
            let eighths = u8::try_from(u32::from(sign) - 0x2580).unwrap_or(8);
            let height = HIGH * f64::from(eighths) / 8.0;
            rect(out, (x, y + HIGH - height, WIDE + 0.1, height), ink);
        }
        '▀' => rect(out, (x, y, WIDE + 0.1, HIGH / 2.0), ink),
        '─' => rect(out, (x, y + HIGH / 2.0, WIDE + 0.1, 1.0), ink),
        '━' => rect(out, (x, y + HIGH / 2.0 - 1.0, WIDE + 0.1, 3.0), ink),
        '│' => rect(out, (x + WIDE / 2.0, y, 1.0, HIGH), ink),
        '┌' | '┐' | '└' | '┘' => corner(out, sign, at, ink),
        _ => return false,
    }
    true
}

fn corner(out: &mut String, sign: char, (x, y): (f64, f64), ink: &str) {
    let (middle, half) = (x + WIDE / 2.0, y + HIGH / 2.0);
    let across = if matches!(sign, '┌' | '└') {
        middle
    } else {
        x
    };
    let down = if matches!(sign, '┌' | '┐') {
        half
    } else {
        y
    };
    rect(out, (across, half, WIDE / 2.0 + 0.1, 1.0), ink);
    rect(out, (middle, down, 1.0, HIGH / 2.0), ink);
}

/// The eight dots of a braille sign, by bit.
fn braille(out: &mut String, bits: u32, (x, y): (f64, f64), ink: &str) {
    const PLACES: [(f64, f64); 8] = [
        (0.0, 0.0),
        (0.0, 1.0),
        (0.0, 2.0),
        (1.0, 0.0),
        (1.0, 1.0),
        (1.0, 2.0),
        (0.0, 3.0),
        (1.0, 3.0),
    ];
    for (bit, (across, down)) in PLACES.iter().enumerate() {
        if bits >> bit & 1 == 1 {
            let (cx, cy) = (
                x + WIDE * (0.25 + across * 0.5),
                y + HIGH * (0.125 + down * 0.25),
            );
            put(
                out,
                format_args!("<circle cx=\"{cx:.1}\" cy=\"{cy:.1}\" r=\"1.45\" fill=\"{ink}\"/>\n"),
            );
        }
    }
}

/// Only the colours the themes use are named; any other is drawn as plain ink.
fn hex(colour: Color, plain: &'static str) -> &'static str {
    match colour {
        Color::Red => "#ff5c57",
        Color::DarkGray => "#7d8794",
        Color::White => "#ffffff",
        Color::Cyan => "#5fd7d7",
        Color::LightBlue => "#7fb2ff",
        Color::LightMagenta => "#e69cff",
        Color::Indexed(214) => "#ffb000",
        Color::Reset
        | Color::Black
        | Color::Green
        | Color::Yellow
        | Color::Blue
        | Color::Magenta
        | Color::Gray
        | Color::LightRed
        | Color::LightGreen
        | Color::LightYellow
        | Color::LightCyan
        | Color::Rgb(..)
        | Color::Indexed(_) => plain,
    }
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;")
}

#[cfg(test)]
mod tests {
    use ratatui::style::Style;

    use super::*;
    use crate::cockpit::screen::theme::{Theme, Tone};

    #[test]
    fn every_colour_of_the_theme_has_its_own_ink() {
        let tones = [
            Tone::Faint,
            Tone::Warning,
            Tone::Caution,
            Tone::Advisory,
            Tone::Good,
            Tone::Live,
            Tone::Differs,
        ];
        let mut inks: Vec<&str> = tones
            .into_iter()
            .map(|tone| hex(Theme::colour().style(tone).fg.expect("a colour"), INK))
            .collect();
        assert!(!inks.contains(&INK), "a colour is drawn as plain ink");
        inks.sort_unstable();
        inks.dedup();
        assert_eq!(inks.len(), tones.len());
    }

    #[test]
    fn text_is_kept_and_escaped_and_a_reversed_run_swaps_ink_and_paper() {
        let mut buffer = Buffer::empty(ratatui::layout::Rect::new(0, 0, 12, 1));
        buffer.set_string(0, 0, "a<b&c", Style::new());
        buffer.set_string(6, 0, "W", Theme::colour().style(Tone::Warning));
        let drawing = svg(&buffer, "t<");
        assert!(drawing.contains("<title>t&lt;</title>"));
        assert!(drawing.contains(">a&lt;b&amp;c</text>"));
        let warning =
            format!("fill=\"{PAPER}\" font-weight=\"bold\" xml:space=\"preserve\">W</text>");
        assert!(drawing.contains(&warning), "{drawing}");
        assert!(drawing.contains("fill=\"#ff5c57\""));
    }

    #[test]
    fn braille_is_drawn_dot_by_dot() {
        let mut buffer = Buffer::empty(ratatui::layout::Rect::new(0, 0, 1, 1));
        buffer.set_string(0, 0, "⣿", Style::new());
        assert_eq!(svg(&buffer, "").matches("<circle").count(), 8);
    }
}
