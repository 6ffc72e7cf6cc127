//! Bus, packs, temperatures and flight, as the controller is told them; what is not heard
//! says so in place of its number.

use mastwright_core::interlock::Condition;
use mastwright_core::outputs::Fans;
use mastwright_core::signal::Signal;
use mastwright_core::units::DeciCelsius;
use ratatui::layout::Rect;
use ratatui::text::{Line, Span};

use super::pen::{Pen, below};
use super::spark::{arrow, bars};
use super::theme::Tone;
use super::view::View;
use crate::report::number::number;
use crate::report::witness::unheard;

/// Columns of a row before its bars.
const FIGURES: u16 = 44;

/// Rows of bus and packs, heading included.
const POWER: u16 = 7;

/// One temperature and what is known of it.
struct Heat<'a> {
    name: &'static str,
    signal: Signal<DeciCelsius>,
    trend: &'a [f32],
    limits: [DeciCelsius; 3],
}

/// Draws all of it in five rows, for a small screen.
pub(super) fn short(pen: &mut Pen<'_>, area: Rect, view: &View<'_>) {
    let lines = [
        bus(pen, view),
        path(pen, view),
        packs(pen, view),
        heats_short(pen, view),
        air(pen, view),
    ];
    for (row, line) in (0..).zip(&lines) {
        pen.line(area, row, line);
    }
}

/// Draws bus and packs with how they came to be so.
pub(super) fn power(pen: &mut Pen<'_>, area: Rect, view: &View<'_>) {
    let body = pen.heading(area, "Power", Tone::Strong, &air(pen, view));
    let lines = [
        bus(pen, view),
        path(pen, view),
        pack(pen, view, 0),
        pack(pen, view, 1),
    ];
    for (row, line) in (0..).zip(&lines) {
        pen.line(body, row, line);
    }
    let trends = &view.trends;
    trend(pen, body, 0, view.trends.every, trends.bus, 20.0);
    trend(pen, body, 2, view.trends.every, trends.charge[0], 0.02);
    trend(pen, body, 3, view.trends.every, trends.charge[1], 0.02);
    pen.line(body, 4, &auxiliary(pen, view));
    if body.height > 5 {
        pen.line(body, 5, &shaft(pen, view));
        trend(pen, body, 5, view.trends.every, trends.shaft, 50.0);
    }
}

/// Draws temperatures with limits and how they came to be so.
pub(super) fn heat(pen: &mut Pen<'_>, area: Rect, view: &View<'_>) {
    let says = Line::from(vec![
        fans(pen, view),
        pen.span(Tone::Faint, ", bars: the last minute"),
    ]);
    let body = pen.heading(area, "Heat", Tone::Strong, &says);
    for (row, heat) in (0..).zip(&heats(view)) {
        let mut spans = vec![pen.span(Tone::Plain, format!("{:<11}", heat.name))];
        spans.extend(temperature(pen, heat, view, 5));
        let [hot, less, stop] = heat
            .limits
            .map(|limit| number(f64::from(limit.get()) / 10.0, 0));
        let limits = format!(" alert {hot} less {less} stop {stop}");
        spans.push(pen.span(Tone::Faint, limits));
        pen.line(body, row, &Line::from(spans));
        trend(pen, body, row, view.trends.every, heat.trend, 5.0);
    }
    if body.height > 4 {
        let bay = view.frame.truth.bay_heat.map(|heat| number(heat, 0));
        let text = format!("bay air at the heat detectors {} °C", bay.join(", "));
        pen.text(body, 4, Tone::Faint, &text);
    }
}

/// Bars right of the figures, where there is room.
fn trend(pen: &mut Pen<'_>, area: Rect, row: u16, every: f64, samples: &[f32], span: f32) {
    if area.width < FIGURES + 12 {
        return;
    }
    let place = Rect {
        x: area.x + FIGURES + 4,
        width: area.width - FIGURES - 4,
        ..area
    };
    let text = bars(samples, every, usize::from(place.width), span);
    pen.text(place, row, Tone::Good, &text);
}

/// A reading, or why there is none.
fn told<T: Copy>(
    pen: &Pen<'_>,
    view: &View<'_>,
    signal: &Signal<T>,
    words: impl FnOnce(T) -> String,
) -> Span<'static> {
    match unheard(signal, view.config.stale_after) {
        Some(why) => pen.span(Tone::Unheard, format!("✗{why}")),
        None => pen.span(Tone::Plain, words(signal.raw())),
    }
}

/// What the bus does, read from what is switched and proven.
#[must_use]
pub(super) fn stage(view: &View<'_>) -> &'static str {
    let outputs = &view.frame.outputs;
    let drive = &outputs.drives.bus;
    let proves = |condition| outputs.proven.contains(condition);
    if !view.frame.powered {
        "no supply"
    } else if drive.discharge {
        "draining"
    } else if drive.precharge && drive.main {
        "closing"
    } else if drive.precharge {
        "pre-charging"
    } else if proves(Condition::BusLive) {
        "live"
    } else if drive.main || drive.packs.contains(&true) {
        "opening"
    } else if proves(Condition::BusDead) {
        "dead"
    } else {
        "NOT dead"
    }
}

fn bus(pen: &Pen<'_>, view: &View<'_>) -> Line<'static> {
    let bus = &view.frame.inputs.bus;
    let decimal = |milli: i32| number(f64::from(milli) / 1000.0, 1);
    Line::from(vec![
        pen.span(Tone::Plain, "bus "),
        pen.span(Tone::Strong, stage(view)),
        pen.span(Tone::Plain, " "),
        told(pen, view, &bus.voltage, crate::report::number::volts),
        pen.span(Tone::Plain, " "),
        told(pen, view, &bus.current, |current| {
            format!("{} A", decimal(current.get()))
        }),
        pen.span(Tone::Plain, " insul. "),
        told(pen, view, &bus.insulation, |ohms| {
            format!("{} kohm", ohms.get())
        }),
    ])
}

/// What is switched on the way from the packs to the bus.
fn path(pen: &Pen<'_>, view: &View<'_>) -> Line<'static> {
    let drive = &view.frame.outputs.drives.bus;
    let joined = match drive.packs {
        [true, true] => "1+2",
        [true, false] => "1",
        [false, true] => "2",
        [false, false] => "none",
    };
    let mut spans = vec![
        pen.span(Tone::Plain, format!("packs joined: {joined}, main ")),
        told(pen, view, &view.frame.inputs.bus.main_feedback, |closed| {
            if closed { "closed" } else { "open" }.to_owned()
        }),
    ];
    for (on, words) in [
        (drive.precharge, ", pre-charge"),
        (drive.discharge, ", drain on"),
    ] {
        if on {
            spans.push(pen.span(Tone::Live, words));
        }
    }
    Line::from(spans)
}

fn charge_arrow(view: &View<'_>, pack: usize) -> &'static str {
    arrow(view.trends.charge[pack], view.trends.every, 20.0, 0.002)
}

fn packs(pen: &Pen<'_>, view: &View<'_>) -> Line<'static> {
    let mut spans = vec![pen.span(Tone::Plain, "packs ")];
    for (index, pack) in view.frame.inputs.packs.iter().enumerate() {
        if index > 0 {
            spans.push(pen.span(Tone::Faint, " │ "));
        }
        spans.push(told(pen, view, &pack.voltage, crate::report::number::volts));
        spans.push(pen.span(Tone::Plain, " "));
        spans.push(told(pen, view, &pack.charge, |charge| {
            crate::report::number::percent(f64::from(charge.get()) / 1000.0)
        }));
        spans.push(pen.span(Tone::Plain, charge_arrow(view, index)));
    }
    Line::from(spans)
}

fn pack(pen: &Pen<'_>, view: &View<'_>, index: usize) -> Line<'static> {
    let pack = &view.frame.inputs.packs[index];
    let joined = if view.frame.outputs.drives.bus.packs[index] {
        "joined"
    } else {
        "apart "
    };
    Line::from(vec![
        pen.span(Tone::Plain, format!("pack {} {joined} ", index + 1)),
        told(pen, view, &pack.voltage, crate::report::number::volts),
        pen.span(Tone::Plain, "  charge "),
        told(pen, view, &pack.charge, |charge| {
            crate::report::number::percent(f64::from(charge.get()) / 1000.0)
        }),
        pen.span(Tone::Plain, format!(" {}", charge_arrow(view, index))),
    ])
}

fn auxiliary(pen: &Pen<'_>, view: &View<'_>) -> Line<'static> {
    let charging = if view.frame.outputs.drives.aux_charger {
        "charging"
    } else {
        "not charging"
    };
    Line::from(vec![
        pen.span(Tone::Plain, "auxiliary "),
        told(pen, view, &view.frame.inputs.auxiliary, |voltage| {
            format!("{} V", number(f64::from(voltage.get()) / 1000.0, 1))
        }),
        pen.span(Tone::Plain, format!(", {charging}")),
    ])
}

fn shaft(pen: &Pen<'_>, view: &View<'_>) -> Line<'static> {
    Line::from(vec![
        pen.span(Tone::Plain, "shaft "),
        told(pen, view, &view.frame.inputs.propeller.speed, |speed| {
            format!("{} rpm", speed.get())
        }),
    ])
}

fn heats<'a>(view: &View<'a>) -> [Heat<'a>; 4] {
    let (inputs, config, trends) = (&view.frame.inputs, view.config, view.trends);
    let pack = [config.pack_hot, config.pack_derate, config.pack_stop];
    let heat = |name, signal, trend, limits| Heat {
        name,
        signal,
        trend,
        limits,
    };
    let motor = [config.motor_hot, config.motor_derate, config.motor_stop];
    let controller = [
        config.controller_hot,
        config.controller_derate,
        config.controller_stop,
    ];
    let thermal = &inputs.thermal;
    let [first, second] = &inputs.packs;
    [
        heat("motor", thermal.motor, trends.motor, motor),
        heat(
            "controller",
            thermal.controller,
            trends.controller,
            controller,
        ),
        heat("pack 1", first.temperature, trends.packs[0], pack),
        heat("pack 2", second.temperature, trends.packs[1], pack),
    ]
}

/// A temperature, where it goes, and in a word what limit it has passed.
fn temperature(
    pen: &Pen<'_>,
    heat: &Heat<'_>,
    view: &View<'_>,
    width: usize,
) -> Vec<Span<'static>> {
    let value = told(pen, view, &heat.signal, |temperature| {
        format!(
            "{:>width$}°",
            number(f64::from(temperature.get()) / 10.0, 0)
        )
    });
    let mut spans = vec![
        value,
        pen.span(
            Tone::Strong,
            arrow(heat.trend, view.trends.every, 10.0, 1.0),
        ),
    ];
    if let Some(word) = passed(heat, view) {
        spans.push(pen.span(Tone::Strong, word));
    }
    spans
}

fn passed(heat: &Heat<'_>, view: &View<'_>) -> Option<&'static str> {
    let now = heat.signal.proven(view.config.stale_after)?;
    let [hot, less, stop] = heat.limits;
    if now >= stop {
        Some(" STOP")
    } else if now >= less {
        Some(" LESS")
    } else if now >= hot {
        Some(" HOT")
    } else {
        None
    }
}

fn heats_short(pen: &Pen<'_>, view: &View<'_>) -> Line<'static> {
    let mut spans = Vec::new();
    let short = ["motor ", " ctrl ", " pack ", "/"];
    for (heat, name) in heats(view).iter().zip(short) {
        spans.push(pen.span(Tone::Plain, name));
        spans.extend(temperature(pen, heat, view, 0));
    }
    spans.push(pen.span(Tone::Plain, " "));
    spans.push(fans(pen, view));
    Line::from(spans)
}

fn fans(pen: &Pen<'_>, view: &View<'_>) -> Span<'static> {
    let wanted = view.frame.outputs.drives.fans == Fans::On;
    let turning = view.frame.inputs.thermal.fans_turning;
    match (wanted, turning.proven(view.config.stale_after)) {
        (true, Some(true)) => pen.span(Tone::Live, "fans on"),
        (true, Some(false)) => pen.span(Tone::Strong, "fans ✗on, still"),
        (false, Some(true)) => pen.span(Tone::Plain, "fans run down"),
        (false, Some(false)) => pen.span(Tone::Plain, "fans off"),
        (_, None) => pen.span(Tone::Unheard, "fans ✗silent"),
    }
}

fn air(pen: &Pen<'_>, view: &View<'_>) -> Line<'static> {
    let aircraft = &view.frame.truth.aircraft;
    let ground = if aircraft.on_ground { " ground" } else { "" };
    Line::from(vec![
        pen.span(Tone::Plain, "air "),
        told(pen, view, &view.frame.inputs.airspeed, |speed| {
            format!("{} m/s", number(f64::from(speed.get()) / 10.0, 1))
        }),
        pen.span(
            Tone::Plain,
            format!(
                ", height {} m, climb {} m/s{ground}",
                number(aircraft.height, 0),
                number(aircraft.climb, 1)
            ),
        ),
    ])
}

/// Draws power above heat.
pub(super) fn both(pen: &mut Pen<'_>, area: Rect, view: &View<'_>) {
    let upper = Rect {
        height: POWER.min(area.height),
        ..area
    };
    power(pen, upper, view);
    heat(pen, below(area, POWER), view);
}
