//! What lies over the flight: help, the fault desk, a briefing, a debrief.

use ratatui::layout::{Margin, Rect};
use ratatui::text::Line;
use ratatui::widgets::{Block, BorderType, Widget};

use super::SAFETY;
use super::areas::{Areas, Target};
use super::pen::{Pen, below, split};
use super::theme::{Glyphs, Tone};
use super::view::{Debrief, Desk, DeskList, Help, Overlay, View};
use crate::report::CAUTION;
use crate::report::layout::wrap;

/// Draws it over the body of the screen.
pub(super) fn draw(pen: &mut Pen<'_>, area: Rect, view: &View<'_>, areas: &mut Areas) {
    if let Some((title, text)) = briefing(view) {
        let inner = frame(pen, area, title, areas);
        pages(pen, inner, &flowing(text), 0);
        return;
    }
    match &view.overlay {
        Overlay::None => {}
        Overlay::Help(shown) => help(pen, area, shown, areas),
        Overlay::Desk(_) if view.trainee => {
            let inner = frame(pen, area, "Fault desk", areas);
            pen.text(
                inner,
                0,
                Tone::Plain,
                "The trainer's screen has the fault desk.",
            );
        }
        Overlay::Desk(shown) => desk(pen, area, shown, areas),
        Overlay::Debrief(shown) => debrief(pen, area, shown, areas),
    }
}

/// A briefing waits to be read, unless something else was opened over it.
fn briefing<'a>(view: &View<'a>) -> Option<(&'a str, &'a str)> {
    match (view.overlay, view.lesson) {
        (Overlay::None, Some(lesson)) => lesson.briefing.map(|text| (lesson.title, text)),
        (Overlay::None | Overlay::Help(_) | Overlay::Desk(_) | Overlay::Debrief(_), _) => None,
    }
}

/// Paragraphs, each on a line of its own, so that they are broken where the screen ends
/// and not where the file did. Headings stay alone.
fn flowing(text: &str) -> String {
    let mut flowing = String::new();
    let mut joins = false;
    for line in text.lines().map(str::trim) {
        let alone = line.is_empty() || line.starts_with("# ");
        if !flowing.is_empty() {
            flowing.push(if joins && !alone { ' ' } else { '\n' });
        }
        flowing.push_str(line);
        joins = !alone;
    }
    flowing
}

/// A frame no larger than reading is comfortable; returns what is inside.
fn frame(pen: &mut Pen<'_>, area: Rect, title: &str, areas: &mut Areas) -> Rect {
    let width = area.width.min(110);
    let area = Rect {
        x: area.x + (area.width - width) / 2,
        width,
        ..area
    };
    pen.blank(area);
    let border = match pen.theme.glyphs {
        Glyphs::Braille | Glyphs::Blocks => BorderType::Plain,
        Glyphs::Ascii => BorderType::LightDoubleDashed,
    };
    Block::bordered()
        .border_type(border)
        .border_style(pen.style(Tone::Faint))
        .render(area, pen.buffer);
    // Nothing below a cover can be clicked through it.
    areas.clear();
    let close = Line::from(pen.span(Tone::Chosen, " close "));
    let edge = area.inner(Margin::new(2, 0));
    pen.text(edge, 0, Tone::Strong, &format!(" {title} "));
    pen.right(edge, 0, &close);
    areas.add(
        Rect {
            x: edge.right().saturating_sub(7).max(edge.x),
            width: 7.min(edge.width),
            height: edge.height.min(1),
            ..edge
        },
        Target::Close,
    );
    area.inner(Margin::new(2, 1))
}

fn help(pen: &mut Pen<'_>, area: Rect, help: &Help<'_>, areas: &mut Areas) {
    let inner = frame(pen, area, "Help", areas);
    pen.text(inner, 0, Tone::Strong, SAFETY);
    let body = below(inner, 2);
    // As many columns as fit without cutting what a key does.
    let widest = help.rows.iter().map(|(_, what)| what.chars().count()).max();
    let widest = u16::try_from(widest.unwrap_or(0)).unwrap_or(u16::MAX);
    let columns = (body.width / widest.saturating_add(13)).clamp(1, 3);
    // Keys with long names stand in line too where that leaves room for what they do.
    let longest = help.rows.iter().map(|(keys, _)| keys.chars().count()).max();
    let room = usize::from((body.width / columns).saturating_sub(widest.saturating_add(3)));
    let keys_width = longest.unwrap_or(0).min(room).max(10);
    let width = body.width / columns;
    let room = usize::from(body.height) * usize::from(columns);
    let rows = help.rows.iter().skip(help.scroll).take(room);
    for (index, (keys, what)) in rows.enumerate() {
        let index = u16::try_from(index).unwrap_or(u16::MAX);
        let height = body.height.max(1);
        let column = Rect {
            x: body.x + index / height * width,
            width: width.saturating_sub(2),
            ..body
        };
        let line = if keys.is_empty() {
            Line::from(pen.span(Tone::Strong, what.as_str()))
        } else {
            Line::from(vec![
                pen.span(Tone::Live, format!("{keys:>keys_width$} ")),
                pen.span(Tone::Plain, what.as_str()),
            ])
        };
        pen.line(column, index % height, &line);
    }
    let left = help.rows.len().saturating_sub(help.scroll + room);
    if left > 0 {
        let more = Line::from(pen.span(Tone::Strong, format!("… {left} more below")));
        pen.right(inner, 1, &more);
    }
}

fn desk(pen: &mut Pen<'_>, area: Rect, desk: &Desk<'_>, areas: &mut Areas) {
    let inner = frame(pen, area, "Fault desk", areas);
    let search = Line::from(vec![
        pen.span(Tone::Plain, "search "),
        pen.span(Tone::Chosen, format!(" {}_ ", desk.search)),
        pen.span(
            Tone::Plain,
            format!(" {} of {} faults", desk.rows.len(), desk.total),
        ),
    ]);
    pen.line(inner, 0, &search);
    let order = Line::from(vec![
        pen.span(Tone::Plain, "order  "),
        pen.span(Tone::Strong, desk.order),
    ]);
    pen.line(inner, 1, &order);
    let chosen = (desk.focus == DeskList::Matches).then(|| desk.rows.get(desk.selected));
    if let Some(row) = chosen.flatten() {
        let words = Rect {
            height: inner.height.min(4),
            ..inner
        };
        pen.paragraph(words, 2, Tone::Faint, row.words);
    }
    let body = below(inner, 4);
    let lower = (body.height / 3).clamp(3, 10).min(body.height);
    let upper = Rect {
        height: body.height - lower,
        ..body
    };
    matches(pen, upper, desk, areas);
    let (left, right) = split(
        below(body, upper.height),
        body.width.saturating_sub(2) / 2,
        2,
    );
    ordered(pen, left, desk, DeskList::Armed, areas);
    ordered(pen, right, desk, DeskList::Active, areas);
}

/// A window on a list that keeps the chosen row in sight.
fn window(chosen: usize, room: usize, all: usize) -> usize {
    let most = all.saturating_sub(room);
    chosen.saturating_sub(room / 2).min(most)
}

fn matches(pen: &mut Pen<'_>, area: Rect, desk: &Desk<'_>, areas: &mut Areas) {
    let chosen = (desk.focus == DeskList::Matches).then_some(desk.selected);
    let room = usize::from(area.height);
    let from = window(chosen.unwrap_or(0), room, desk.rows.len());
    let rows = desk.rows.iter().enumerate().skip(from).take(room);
    for (line, (index, row)) in (0..).zip(rows) {
        let (mark, tone) = chosen_mark(chosen == Some(index));
        let text = Line::from(vec![
            pen.span(tone, format!("{mark}{:<42}", row.name)),
            pen.span(Tone::Plain, format!(" {}", row.words)),
        ]);
        pen.line(area, line, &text);
        click(area, line, DeskList::Matches, index, areas);
    }
    if desk.rows.is_empty() {
        pen.text(
            area,
            0,
            Tone::Plain,
            "  no fault matches: shorten the search",
        );
    }
}

const fn chosen_mark(chosen: bool) -> (&'static str, Tone) {
    if chosen {
        ("► ", Tone::Chosen)
    } else {
        ("  ", Tone::Plain)
    }
}

fn click(area: Rect, line: u16, list: DeskList, index: usize, areas: &mut Areas) {
    let row = Rect {
        height: 1,
        ..below(area, line)
    };
    if line < area.height {
        areas.add(row, Target::DeskRow(list, index));
    }
}

fn ordered(pen: &mut Pen<'_>, area: Rect, desk: &Desk<'_>, list: DeskList, areas: &mut Areas) {
    let (title, rows) = match list {
        DeskList::Matches => return,
        DeskList::Armed => ("Armed", desk.armed),
        DeskList::Active => ("Active", desk.active),
    };
    let says = Line::from(pen.span(Tone::Plain, rows.len().to_string()));
    let body = pen.heading(area, title, Tone::Strong, &says);
    let chosen = (desk.focus == list).then_some(desk.selected);
    let room = usize::from(body.height);
    let from = window(chosen.unwrap_or(0), room, rows.len());
    for (line, (index, text)) in (0..).zip(rows.iter().enumerate().skip(from).take(room)) {
        let (mark, tone) = chosen_mark(chosen == Some(index));
        pen.text(body, line, tone, &format!("{mark}{text}"));
        click(body, line, list, index, areas);
    }
}

fn debrief(pen: &mut Pen<'_>, area: Rect, debrief: &Debrief<'_>, areas: &mut Areas) {
    let all = debrief.pages.len();
    let page = debrief.page.min(all.saturating_sub(1));
    let title = format!("{}, page {} of {}", debrief.title, page + 1, all.max(1));
    let inner = frame(pen, area, &title, areas);
    if let Some(text) = debrief.pages.get(page) {
        pages(pen, inner, text, debrief.scroll);
    }
}

/// Text with headings; the caution stands under it.
fn pages(pen: &mut Pen<'_>, area: Rect, text: &str, scroll: usize) {
    let caution = wrap(CAUTION, usize::from(area.width));
    let foot = u16::try_from(caution.len()).unwrap_or(u16::MAX);
    let body = Rect {
        height: area.height.saturating_sub(foot + 1),
        ..area
    };
    let lines: Vec<(Tone, String)> = text
        .lines()
        .flat_map(|line| tinted(line, usize::from(area.width)))
        .collect();
    for (row, (tone, line)) in (0..body.height).zip(lines.iter().skip(scroll)) {
        pen.text(body, row, *tone, line);
    }
    let left = lines
        .len()
        .saturating_sub(scroll + usize::from(body.height));
    if left > 0 {
        let more = Line::from(pen.span(Tone::Strong, format!(" … {left} more lines below ")));
        pen.right(area, body.height, &more);
    }
    for (row, line) in (body.height + 1..).zip(&caution) {
        pen.text(area, row, Tone::Faint, line);
    }
}

/// One line of text, wrapped, with the tone its beginning asks for.
fn tinted(line: &str, width: usize) -> Vec<(Tone, String)> {
    let (tone, text) = if let Some(heading) = line.strip_prefix("# ") {
        (Tone::Strong, heading.to_owned())
    } else if let Some(rest) = line.strip_prefix("yes ") {
        (Tone::Good, format!("✓ yes {rest}"))
    } else if let Some(rest) = line.strip_prefix("NO ") {
        (Tone::Strong, format!("✗ NO  {rest}"))
    } else {
        (Tone::Plain, line.to_owned())
    };
    if text.chars().count() <= width {
        return vec![(tone, text)];
    }
    wrap(&text, width)
        .into_iter()
        .map(|line| (tone, line))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_paragraph_flows_and_a_heading_stays_alone() {
        let text = "# What\none\ntwo\n\nthree\n  four\n";
        assert_eq!(flowing(text), "# What\none two\n\nthree four");
    }

    #[test]
    fn the_chosen_row_is_always_in_the_window() {
        for all in 0..20 {
            for room in 1..6 {
                for chosen in 0..all {
                    let from = window(chosen, room, all);
                    assert!(from <= chosen && chosen < from + room, "{chosen} of {all}");
                }
            }
        }
    }
}
