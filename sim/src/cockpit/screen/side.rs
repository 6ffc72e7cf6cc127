//! Fuselage, mast, doors and blade from the side, moving as the plant does.
//!
//! Travel, opening and blade angle are those of the truth; the mast swings through the
//! angle of the default aircraft. Outline and lengths are drawn for this picture.

use core::f64::consts::PI;

use mastwright_core::outputs::MastDrive;
use ratatui::layout::Rect;
use ratatui::style::Color;
use ratatui::symbols::Marker;
use ratatui::text::Line;
use ratatui::widgets::Widget;
use ratatui::widgets::canvas::{self, Canvas, Circle, Context, Points};

use super::pen::Pen;
use super::theme::{Glyphs, Theme, Tone};
use super::view::View;
use crate::plant::mast::MastSetup;
use crate::plant::truth::Truth;
use crate::report::number::{percent, within};

/// What must be seen, m: from, to.
const ACROSS: (f64, f64) = (-2.75, 4.55);
const UP: (f64, f64) = (-0.72, 2.25);
/// The mast's hinge, its length and the blade's radius, m.
const HINGE: (f64, f64) = (0.0, 0.16);
const MAST: f64 = 1.2;
const BLADE: f64 = 0.8;
/// Length of the bay aft of the hinge, m.
const BAY: f64 = 2.1;
/// Above this shaft speed the blade is a blur, rad/s (about 60 rpm).
pub(super) const BLUR: f64 = 6.3;

/// Outline of the fuselage, nose first, over the top and back along the bottom, m.
const FUSELAGE: &[(f64, f64)] = &[
    (-2.65, 0.02),
    (-2.45, 0.2),
    (-2.05, 0.36),
    (-1.65, 0.55),
    (-1.2, 0.64),
    (-0.75, 0.6),
    (-0.3, 0.42),
    (-0.05, 0.36),
];
const AFT: &[(f64, f64)] = &[
    (2.15, 0.3),
    (3.0, 0.24),
    (3.75, 0.2),
    (4.0, 1.05),
    (4.4, 1.05),
    (4.42, 0.1),
    (3.2, 0.0),
    (2.0, -0.16),
    (0.8, -0.34),
    (-0.6, -0.42),
    (-1.7, -0.34),
    (-2.4, -0.14),
    (-2.65, 0.02),
];
const CANOPY: &[(f64, f64)] = &[(-2.05, 0.36), (-1.4, 0.3), (-0.6, 0.36), (-0.3, 0.42)];

/// Draws the panel.
pub(super) fn draw(pen: &mut Pen<'_>, area: Rect, view: &View<'_>) {
    let says = says(pen, view);
    let body = pen.heading(area, "Mast", Tone::Strong, &says);
    if body.is_empty() {
        return;
    }
    let (x, y) = bounds(body, ACROSS, UP);
    let (theme, truth, frame) = (pen.theme, &view.frame.truth, view.frame);
    let clear = f64::from(view.config.mast_clear_min.get()) / 1000.0;
    let driven = frame.powered && frame.outputs.drives.mast != MastDrive::Off;
    Canvas::default()
        .marker(marker(theme))
        .x_bounds(x)
        .y_bounds(y)
        .paint(|context| {
            paint_aircraft(context, theme, truth);
            context.layer();
            paint_path(context, theme, clear);
            context.layer();
            paint_doors(context, theme, truth);
            paint_mast(context, theme, truth, driven);
            context.layer();
            paint_blade(context, theme, truth);
        })
        .render(body, pen.buffer);
}

/// Where the mast is and what it does, in words.
fn says<'a>(pen: &Pen<'_>, view: &View<'_>) -> Line<'a> {
    let truth = &view.frame.truth;
    let mast = &truth.mast;
    let (sign, doing, tone) = if mast.speed > 0.002 {
        ("▲", "rising", Tone::Live)
    } else if mast.speed < -0.002 {
        ("▼", "coming down", Tone::Live)
    } else if mast.locked {
        ("■", "up and locked", Tone::Good)
    } else if mast.position < 0.008 {
        ("■", "stowed", Tone::Good)
    } else {
        ("■", "stands, NOT locked", Tone::Strong)
    };
    let doors = if truth.door_speed > 0.002 {
        "opening"
    } else if truth.door_speed < -0.002 {
        "closing"
    } else if truth.doors > 0.985 {
        "open"
    } else if truth.doors < 0.01 {
        "shut"
    } else {
        "half way"
    };
    Line::from(vec![
        pen.span(tone, format!("{sign} {} {doing}", percent(mast.position))),
        pen.span(
            Tone::Plain,
            format!(", doors {} {doors}", percent(truth.doors)),
        ),
    ])
}

/// The characters a drawing is made of.
#[must_use]
pub(super) const fn marker(theme: Theme) -> Marker {
    match theme.glyphs {
        Glyphs::Braille => Marker::Braille,
        Glyphs::Blocks => Marker::HalfBlock,
        Glyphs::Ascii => Marker::Custom('*'),
    }
}

/// The colour of a tone, for drawings.
#[must_use]
pub(super) fn colour(theme: Theme, tone: Tone) -> Color {
    theme.style(tone).fg.unwrap_or(Color::Reset)
}

/// Bounds that show a range whole and keep its proportions; a cell is twice as high as
/// it is wide.
#[must_use]
pub(super) fn bounds(area: Rect, across: (f64, f64), up: (f64, f64)) -> ([f64; 2], [f64; 2]) {
    let cells = (
        f64::from(area.width.max(1)),
        f64::from(area.height.max(1)) * 2.0,
    );
    let (width, height) = (across.1 - across.0, up.1 - up.0);
    let scale = (width / cells.0).max(height / cells.1);
    let (wide, high) = (scale * cells.0, scale * cells.1);
    let left = f64::midpoint(across.0, across.1) - wide / 2.0;
    let bottom = f64::midpoint(up.0, up.1) - high / 2.0;
    ([left, left + wide], [bottom, bottom + high])
}

/// Draws a line.
pub(super) fn stroke(context: &mut Context<'_>, from: (f64, f64), to: (f64, f64), colour: Color) {
    context.draw(&canvas::Line::new(from.0, from.1, to.0, to.1, colour));
}

fn outline(context: &mut Context<'_>, points: &[(f64, f64)], colour: Color) {
    for pair in points.windows(2) {
        stroke(context, pair[0], pair[1], colour);
    }
}

/// Draws dots along a line, `step` apart.
pub(super) fn dots(
    context: &mut Context<'_>,
    from: (f64, f64),
    to: (f64, f64),
    step: f64,
    colour: Color,
) {
    let length = (to.0 - from.0).hypot(to.1 - from.1);
    let mut coords = Vec::new();
    let mut along = 0.0;
    while along <= length && coords.len() < 400 {
        let share = along / length.max(1e-9);
        coords.push((
            from.0 + (to.0 - from.0) * share,
            from.1 + (to.1 - from.1) * share,
        ));
        along += step;
    }
    let coords = &coords;
    context.draw(&Points {
        coords,
        color: colour,
    });
}

fn paint_aircraft(context: &mut Context<'_>, theme: Theme, truth: &Truth) {
    let plain = colour(theme, Tone::Plain);
    let faint = colour(theme, Tone::Faint);
    outline(context, FUSELAGE, plain);
    outline(context, AFT, plain);
    outline(context, CANOPY, faint);
    context.draw(&Circle {
        x: -0.75,
        y: -0.45,
        radius: 0.13,
        color: faint,
    });
    if truth.aircraft.on_ground {
        dots(context, (ACROSS.0, -0.62), (ACROSS.1, -0.62), 0.16, faint);
    }
}

/// The way of the mast's head, and where the blade clears the bay.
fn paint_path(context: &mut Context<'_>, theme: Theme, clear: f64) {
    let faint = colour(theme, Tone::Faint);
    let whole = MastSetup::default().angle_deployed;
    let steps = 16;
    let arc: Vec<(f64, f64)> = (0..=steps)
        .map(|step| out(whole * f64::from(step) / f64::from(steps), MAST))
        .collect();
    context.draw(&Points {
        coords: &arc,
        color: faint,
    });
    let angle = whole * within(clear, 0.0, 1.0);
    dots(
        context,
        out(angle, MAST * 0.9),
        out(angle, MAST + BLADE),
        0.1,
        faint,
    );
    let (x, y) = out(angle, MAST + BLADE + 0.08);
    let mut style = theme.style(Tone::Faint);
    style.bg = None;
    context.print(x, y, Line::styled("clear", style));
}

/// The place at a distance from the hinge, for a mast at this angle.
fn out(angle: f64, distance: f64) -> (f64, f64) {
    (
        HINGE.0 + distance * angle.cos(),
        HINGE.1 + distance * angle.sin(),
    )
}

fn paint_doors(context: &mut Context<'_>, theme: Theme, truth: &Truth) {
    let moving = truth.door_speed.abs() > 0.002;
    let tone = if moving { Tone::Live } else { Tone::Plain };
    let colour = colour(theme, tone);
    let (from, to, top) = (0.05, BAY, 0.34);
    let rise = 0.34 * (within(truth.doors, 0.0, 1.0) * 0.55 * PI).sin();
    stroke(context, (from, top + rise), (to, top - 0.03 + rise), colour);
    if rise > 0.05 {
        stroke(context, (from, top), (from, top + rise), colour);
        stroke(context, (to, top - 0.03), (to, top - 0.03 + rise), colour);
    }
}

fn paint_mast(context: &mut Context<'_>, theme: Theme, truth: &Truth, driven: bool) {
    let moving = truth.mast.speed.abs() > 0.002;
    let tone = if moving || driven {
        Tone::Live
    } else {
        Tone::Plain
    };
    let colour = colour(theme, tone);
    let angle = mast_angle(truth);
    let (sine, cosine) = angle.sin_cos();
    let head = out(angle, MAST);
    for side in [-0.035, 0.035] {
        let aside = |place: (f64, f64)| (place.0 - sine * side, place.1 + cosine * side);
        stroke(context, aside(HINGE), aside(head), colour);
    }
    // The motor, across the mast.
    for along in [-0.06, 0.06] {
        let place = out(angle, MAST + along);
        let across = |side: f64| (place.0 - sine * side, place.1 + cosine * side);
        stroke(context, across(-0.14), across(0.14), colour);
    }
}

fn mast_angle(truth: &Truth) -> f64 {
    within(truth.mast.position, 0.0, 1.0) * MastSetup::default().angle_deployed
}

/// The blade turns in the plane across the picture: its length along the mast is what is
/// seen of it.
fn paint_blade(context: &mut Context<'_>, theme: Theme, truth: &Truth) {
    let angle = mast_angle(truth);
    let propeller = &truth.propeller;
    let (sine, cosine) = angle.sin_cos();
    let ahead = 0.17;
    let at = |distance: f64| {
        let place = out(angle, MAST + distance);
        (place.0 - sine * ahead, place.1 + cosine * ahead)
    };
    if propeller.speed.abs() > BLUR {
        let colour = colour(theme, Tone::Live);
        dots(context, at(-BLADE), at(BLADE), 0.09, colour);
        return;
    }
    let seen = BLADE * within(propeller.angle, 0.0, 7.0).cos().abs();
    stroke(
        context,
        at(-seen),
        at(seen.max(0.04)),
        colour(theme, Tone::Plain),
    );
}
