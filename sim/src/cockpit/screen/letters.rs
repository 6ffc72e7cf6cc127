//! The picture in letters and punctuation only, for fonts without drawings.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

/// Replaces every sign that is not ASCII by one that is.
pub(super) fn only(buffer: &mut Buffer, area: Rect) {
    for position in area.intersection(buffer.area).positions() {
        let cell = &mut buffer[position];
        if let Some(sign) = cell.symbol().chars().next().filter(|sign| !sign.is_ascii()) {
            cell.set_char(letter(sign));
        }
    }
}

fn letter(sign: char) -> char {
    match sign {
        '─' | '━' | '╌' => '-',
        '│' | '╎' | '╪' => '|',
        '┌' | '┐' | '└' | '┘' => '+',
        '✓' => '+',
        '✗' | '×' => 'x',
        '▲' | '△' | '↑' => '^',
        '▼' | '↓' => 'v',
        '⇈' => 'A',
        '⇊' => 'V',
        '→' | '►' => '>',
        '◄' => '<',
        '◆' | '◇' => '!',
        '●' | '○' => 'o',
        '■' | '█' => '#',
        '≠' => '#',
        '…' => '~',
        '·' => '.',
        '°' => '\'',
        '‖' => '=',
        '▁' | '▂' => '_',
        '▃' | '▄' => '-',
        '▅' | '▆' => '=',
        '▇' => '#',
        _ => '?',
    }
}
