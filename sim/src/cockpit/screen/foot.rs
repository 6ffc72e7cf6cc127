//! The last rows: the pilot's hands, the time line, and the keys worth knowing now.

use ratatui::layout::Rect;
use ratatui::text::Line;

use super::areas::{Areas, Target};
use super::pen::Pen;
use super::tape::visible;
use super::theme::Tone;
use super::view::{Speed, View};
use crate::controls::Push;
use crate::report::number::{cells, clock, number, percent, within};
use crate::report::timeline::Kind;

/// Columns of the throttle's slot.
const SLOT: u16 = 8;
/// From this width on the controls have their full names.
const WIDE: u16 = 96;

/// Draws where the pilot's controls stand; each can be clicked.
pub(super) fn hands(pen: &mut Pen<'_>, area: Rect, view: &View<'_>, areas: &mut Areas) {
    let controls = &view.frame.controls;
    let mut row = Row { pen, area, areas };
    row.say(Tone::Plain, "throttle ");
    let throttle = within(controls.throttle, 0.0, 1.0);
    let lever = cells(throttle, SLOT - 1);
    let slot: String = (0..SLOT)
        .map(|at| {
            if at == lever {
                '█'
            } else if at < lever {
                '━'
            } else {
                '─'
            }
        })
        .collect();
    row.click(Tone::Strong, &slot, Target::Throttle);
    row.say(Tone::Plain, &format!("{:>6} ", percent(throttle)));
    for (push, name) in [
        (Push::Deploy, "deploy"),
        (Push::Hold, "hold"),
        (Push::Stow, "stow"),
    ] {
        let here = controls.selector == push;
        row.toggle(here, name, Target::Selector(push));
    }
    let stop = if controls.stop {
        "STOP THROWN"
    } else {
        "stop-and-stow"
    };
    row.toggle(controls.stop, stop, Target::Stop);
    let [ack, test, aux, key] = if area.width >= WIDE {
        ["acknowledge", "heat test", "aux charge", "bench key"]
    } else {
        ["ack", "test", "aux", "key"]
    };
    row.toggle(controls.acknowledge, ack, Target::Acknowledge);
    row.toggle(controls.heat_test, test, Target::HeatTest);
    row.toggle(controls.aux_charge, aux, Target::AuxCharge);
    row.toggle(controls.bench_key, key, Target::BenchKey);
}

/// Writes one thing after another.
struct Row<'p, 'b, 'a> {
    pen: &'p mut Pen<'b>,
    area: Rect,
    areas: &'a mut Areas,
}

impl Row<'_, '_, '_> {
    fn say(&mut self, tone: Tone, text: &str) -> Rect {
        let end = self.pen.text(self.area, 0, tone, text);
        let written = Rect {
            width: end.saturating_sub(self.area.x),
            height: self.area.height.min(1),
            ..self.area
        };
        self.area.width = self.area.right().saturating_sub(end);
        self.area.x = end;
        written
    }

    fn click(&mut self, tone: Tone, text: &str, target: Target) {
        let written = self.say(tone, text);
        self.areas.add(written, target);
    }

    /// A control that is on stands in brackets, one that is off does not.
    fn toggle(&mut self, on: bool, name: &str, target: Target) {
        if on {
            self.click(Tone::Chosen, &format!("[{name}]"), target);
        } else {
            self.click(Tone::Plain, &format!(" {name} "), target);
        }
    }
}

/// Draws where the tick shown lies between start and end, and what happened when.
pub(super) fn time_line(pen: &mut Pen<'_>, area: Rect, view: &View<'_>, areas: &mut Areas) {
    let session = &view.session;
    let speed = match session.speed {
        Speed::Paused => "‖ paused".to_owned(),
        Speed::Times(times) => format!(
            "► {}x",
            number(times, 2).trim_end_matches('0').trim_end_matches('.')
        ),
    };
    let left = format!("{speed:<9} {} ", clock(view.frame.tick));
    let end = pen.text(area, 0, Tone::Strong, &left);
    areas.add(
        Rect {
            width: 9.min(area.width),
            height: area.height.min(1),
            ..area
        },
        Target::Pause,
    );
    let branch = match session.branched_at {
        Some(tick) => format!(" branch {} from {}", session.branch, clock(tick)),
        None => String::new(),
    };
    let whole = whole(view);
    let right = format!(" {}{branch}", clock(whole));
    let right_width = u16::try_from(right.chars().count()).unwrap_or(u16::MAX);
    let place = Rect {
        x: end,
        width: area.right().saturating_sub(end.saturating_add(right_width)),
        height: area.height.min(1),
        ..area
    };
    pen.right(area, 0, &Line::from(pen.span(Tone::Plain, right)));
    areas.add(place, Target::TimeLine);
    slot(pen, place, view, whole);
}

/// The last tick the time line reaches to.
#[must_use]
pub(super) fn whole(view: &View<'_>) -> u64 {
    let session = &view.session;
    let latest = session.latest.max(view.frame.tick);
    session.end.unwrap_or(latest).max(latest)
}

fn slot(pen: &mut Pen<'_>, area: Rect, view: &View<'_>, whole: u64) {
    if area.width < 3 {
        return;
    }
    #[expect(clippy::cast_precision_loss, reason = "ticks stay far below 2^52")]
    let share = |tick: u64| tick as f64 / (whole.max(1)) as f64;
    let last = area.width - 1;
    let recorded = cells(share(view.session.latest), last);
    let forgotten = cells(share(view.session.earliest), last);
    let line: String = (0..area.width)
        .map(|at| match at {
            _ if at < forgotten => '×',
            _ if at <= recorded => '━',
            _ => '·',
        })
        .collect();
    pen.text(area, 0, Tone::Faint, &line);
    for entry in visible(view) {
        let Some((mark, tone)) = mark(entry.kind) else {
            continue;
        };
        #[expect(clippy::cast_precision_loss, reason = "ticks stay far below 2^52")]
        let at = cells(entry.time * 100.0 / whole.max(1) as f64, last);
        point(pen, area, at, tone, mark);
    }
    point(
        pen,
        area,
        cells(share(view.frame.tick), last),
        Tone::Strong,
        "█",
    );
}

fn point(pen: &mut Pen<'_>, area: Rect, at: u16, tone: Tone, text: &str) {
    let place = Rect {
        x: area.x + at,
        width: 1,
        ..area
    };
    pen.text(place, 0, tone, text);
}

/// What is marked on the time line, by a letter.
const fn mark(kind: Kind) -> Option<(&'static str, Tone)> {
    match kind {
        Kind::Warning | Kind::Heat => Some(("W", Tone::Warning)),
        Kind::Caution => Some(("C", Tone::Caution)),
        Kind::Fault => Some(("F", Tone::Strong)),
        Kind::Supply => Some(("S", Tone::Strong)),
        Kind::Phase => Some(("╪", Tone::Plain)),
        Kind::Pilot
        | Kind::Asked
        | Kind::Bus
        | Kind::Drive
        | Kind::Denied
        | Kind::Advisory
        | Kind::Crew
        | Kind::Target => None,
    }
}

/// Draws the keys worth knowing now.
pub(super) fn hints(pen: &mut Pen<'_>, area: Rect, view: &View<'_>) {
    let mut rest = area;
    for (keys, what) in view.hints {
        let line = Line::from(vec![
            pen.span(Tone::Chosen, format!(" {keys} ")),
            pen.span(Tone::Plain, format!(" {what}  ")),
        ]);
        let width = u16::try_from(line.width()).unwrap_or(u16::MAX);
        if width > rest.width.saturating_add(2) {
            break;
        }
        let end = pen.line(rest, 0, &line);
        rest.width = area.right().saturating_sub(end);
        rest.x = end;
    }
}
