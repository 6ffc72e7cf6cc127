//! The blade from the front, against the sector in which it fits its bay: where both
//! sources say it stands, where it stands, and whether it is proven parked.

use core::f64::consts::{PI, TAU};

use mastwright_core::signal::Signal;
use mastwright_core::units::CentiDegrees;
use ratatui::layout::Rect;
use ratatui::style::Color;
use ratatui::text::{Line, Span};
use ratatui::widgets::Widget;
use ratatui::widgets::canvas::{Canvas, Circle, Context};

use super::pen::{Pen, below, sign, split};
use super::side::{BLUR, bounds, colour, dots, marker, stroke};
use super::theme::{Theme, Tone};
use super::view::View;
use crate::report::number::{cells, number, rpm, within};
use crate::report::witness::unheard;

/// Draws the panel: disc on the left, scales on the right.
pub(super) fn draw(pen: &mut Pen<'_>, area: Rect, view: &View<'_>) {
    let parked = view.frame.powered && view.frame.outputs.indications.parked;
    let says = if parked {
        pen.span(Tone::Good, "✓ yes proven parked")
    } else {
        pen.span(Tone::Strong, "✗ NO  not proven parked")
    };
    let body = pen.heading(area, "Blade", Tone::Strong, &Line::from(says));
    // The disc is round: twice as many columns as rows, letters beside it.
    let disc = (body.height * 2 + 2).min(body.width / 2);
    let (left, right) = split(body, disc, 1);
    if left.width >= 6 && left.height >= 3 {
        disc_of(pen, left, view);
    }
    scales(pen, right, view);
}

fn disc_of(pen: &mut Pen<'_>, area: Rect, view: &View<'_>) {
    let (x, y) = bounds(area, (-1.3, 1.3), (-1.3, 1.3));
    let theme = pen.theme;
    let truth = &view.frame.truth;
    let sensors = &view.frame.inputs.propeller;
    let limit = view.config.stale_after;
    let window = f64::from(view.config.park_window.get()) / 18_000.0 * PI;
    let angle_of = |signal: &Signal<CentiDegrees>| {
        signal
            .proven(limit)
            .map(|angle| f64::from(angle.get()) / 18_000.0 * PI)
    };
    let (a, b) = (angle_of(&sensors.angle_a), angle_of(&sensors.angle_b));
    // What is hidden from the trainee is where the blade truly stands: he sees what he
    // is told.
    let shown = if view.trainee {
        a.or(b)
    } else {
        Some(within(truth.propeller.angle, 0.0, TAU))
    };
    let fast = truth.propeller.speed.abs() > BLUR;
    Canvas::default()
        .marker(marker(theme))
        .x_bounds(x)
        .y_bounds(y)
        .paint(|context| {
            paint_sector(context, theme, window);
            context.layer();
            match shown {
                Some(_) if fast => paint_blur(context, theme),
                Some(angle) => paint_blade(context, angle, colour(theme, Tone::Plain)),
                None => {}
            }
            if !fast {
                letter(context, theme, a, 1.22, "A");
                letter(context, theme, b, 1.22, "B");
            }
        })
        .render(area, pen.buffer);
}

/// A place at an angle from the mast and a share of the radius.
fn at(angle: f64, radius: f64) -> (f64, f64) {
    (angle.sin() * radius, angle.cos() * radius)
}

fn paint_sector(context: &mut Context<'_>, theme: Theme, window: f64) {
    let faint = colour(theme, Tone::Faint);
    context.draw(&Circle {
        x: 0.0,
        y: 0.0,
        radius: 1.0,
        color: faint,
    });
    let good = colour(theme, Tone::Good);
    for end in [0.0, PI] {
        for side in [-1.0, 1.0] {
            let edge = end + side * window.max(0.05);
            stroke(context, at(edge, 0.72), at(edge, 1.12), good);
        }
    }
}

fn paint_blade(context: &mut Context<'_>, angle: f64, colour: Color) {
    for aside in [-0.05, 0.0, 0.05] {
        stroke(
            context,
            at(angle + PI + aside, 0.94),
            at(angle - aside, 0.94),
            colour,
        );
    }
}

/// A turning blade: spokes of dots.
fn paint_blur(context: &mut Context<'_>, theme: Theme) {
    let live = colour(theme, Tone::Live);
    for spoke in 0..12 {
        let angle = f64::from(spoke) * PI / 6.0;
        dots(context, at(angle, 0.2), at(angle, 0.9), 0.17, live);
    }
}

/// A source's letter, at the end of the blade it speaks of that is nearer to the top.
fn letter(
    context: &mut Context<'_>,
    theme: Theme,
    angle: Option<f64>,
    radius: f64,
    text: &'static str,
) {
    let Some(angle) = angle else { return };
    // A stands at the upper end, B at the lower one, so that neither hides the other.
    let upper = if angle.cos() >= 0.0 {
        angle
    } else {
        angle + PI
    };
    let end = if text == "A" { upper } else { upper + PI };
    let (x, y) = at(end, radius);
    context.print(x, y, Line::styled(text, theme.style(Tone::Strong)));
}

/// Distance from the park angle, for each source and in truth, on scales of their own.
fn scales(pen: &mut Pen<'_>, area: Rect, view: &View<'_>) {
    let sensors = view.frame.inputs.propeller;
    let limit = view.config.stale_after;
    let shaft = match unheard(&sensors.speed, limit) {
        Some(why) => pen.span(Tone::Unheard, format!("speed {why}")),
        None => pen.span(Tone::Plain, format!("{} rpm", sensors.speed.raw().get())),
    };
    let turning = view.frame.truth.propeller.speed.abs() > 0.35;
    let moves = if turning { "turns " } else { "stands " };
    let tone = if turning { Tone::Live } else { Tone::Plain };
    let line = Line::from(vec![pen.span(tone, format!("shaft {moves}")), shaft]);
    pen.line(area, 0, &line);
    source(pen, area, 1, "A", &sensors.angle_a, view);
    source(pen, area, 2, "B", &sensors.angle_b, view);
    if view.trainee {
        return;
    }
    let degrees = off_park(view.frame.truth.propeller.angle);
    scale(pen, area, 3, "is", degrees, view);
    if area.height > 6 {
        words(pen, below(area, 5), view);
    }
}

/// What the parking proof rests on, in words, where there is room.
fn words(pen: &mut Pen<'_>, area: Rect, view: &View<'_>) {
    use mastwright_core::interlock::Condition;
    let proven = view.frame.outputs.proven;
    let speed = rpm(view.frame.truth.propeller.speed);
    let rows = [
        (Condition::BladeKnown, "heard"),
        (Condition::BladeAgrees, "sources agree"),
        (Condition::ShaftSlow, "shaft slow"),
        (Condition::BladeNearPark, "near park"),
        (Condition::BladeInPlace, "in its window"),
        (Condition::Parked, "proven parked"),
    ];
    for (row, (condition, text)) in (0..).zip(rows) {
        let (mark, tone) = sign(view.frame.powered && proven.contains(condition));
        let line = Line::from(vec![pen.span(tone, mark), pen.span(Tone::Plain, text)]);
        pen.line(area, row, &line);
    }
    pen.text(
        area,
        7,
        Tone::Faint,
        &format!("shaft is {} rpm", number(speed, 1)),
    );
}

fn source(
    pen: &mut Pen<'_>,
    area: Rect,
    row: u16,
    name: &str,
    signal: &Signal<CentiDegrees>,
    view: &View<'_>,
) {
    match unheard(signal, view.config.stale_after) {
        Some(why) => {
            let line = Line::from(vec![
                pen.span(Tone::Plain, format!("{name:<3}")),
                pen.span(Tone::Unheard, format!("✗ {why}")),
            ]);
            pen.line(area, row, &line);
        }
        None => {
            let degrees = f64::from(signal.raw().off_park().get()) / 100.0;
            scale(pen, area, row, name, degrees, view);
        }
    }
}

/// One scale: name, degrees off park, and where that lies against the park window.
fn scale(pen: &mut Pen<'_>, area: Rect, row: u16, name: &str, degrees: f64, view: &View<'_>) {
    let window = f64::from(view.config.park_window.get()) / 100.0;
    let span = window * 3.0;
    let text = format!("{name:<3}{:>6}° ", signed(degrees));
    let width = ruler_width(area.width);
    let line = Line::from(vec![
        pen.span(Tone::Plain, text),
        Span::styled(
            ruler(width, degrees / span, window / span),
            pen.style(Tone::Plain),
        ),
    ]);
    pen.line(area, row, &line);
}

/// Columns of a ruler beside its name and number; odd, so that it has a middle.
fn ruler_width(area: u16) -> u16 {
    let free = area.saturating_sub(11).min(31);
    if free.is_multiple_of(2) {
        free.saturating_sub(1)
    } else {
        free
    }
}

fn signed(value: f64) -> String {
    let text = number(value, 1);
    if value > 0.04 {
        format!("+{text}")
    } else {
        text
    }
}

/// `····[··▲··]····`: a mark at a place between -1 and 1, and brackets at the window.
fn ruler(width: u16, place: f64, window: f64) -> String {
    let last = width.saturating_sub(1);
    let column = |place: f64| cells(f64::midpoint(place, 1.0), last);
    let mark = column(place);
    let (from, to) = (column(-window), column(window));
    (0..width)
        .map(|at| match at {
            at if at == mark && place < -1.0 => '◄',
            at if at == mark && place > 1.0 => '►',
            at if at == mark => '▲',
            at if at == from => '[',
            at if at == to => ']',
            _ => '·',
        })
        .collect()
}

/// Degrees from the nearest park angle, for an angle in rad.
#[must_use]
pub(super) fn off_park(angle: f64) -> f64 {
    let half = within(angle, -1e6, 1e6).rem_euclid(PI);
    let off = if half > PI / 2.0 { half - PI } else { half };
    off.to_degrees()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_ends_of_the_blade_count_as_parked() {
        assert!(off_park(0.0).abs() < 1e-9);
        assert!(off_park(PI).abs() < 1e-9);
        assert!((off_park(PI - 0.1) + 0.1_f64.to_degrees()).abs() < 1e-9);
        assert!((off_park(0.1) - 0.1_f64.to_degrees()).abs() < 1e-9);
    }

    #[test]
    fn a_scale_shows_the_window_and_what_lies_beyond_its_ends() {
        assert_eq!(ruler(13, 0.0, 0.34), "····[·▲·]····");
        assert_eq!(ruler(13, 4.0, 0.34), "····[···]···►");
        assert_eq!(ruler(13, f64::NAN, 0.34), "▲···[···]····");
    }
}
