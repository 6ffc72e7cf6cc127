//! Truth and belief side by side: what the controller is told, what it makes of it, and
//! what is. A difference stands out by a sign and by style.

use mastwright_core::signal::Signal;
use ratatui::layout::Rect;
use ratatui::text::Line;

use super::front::off_park;
use super::pen::Pen;
use super::theme::Tone;
use super::view::View;
use crate::report::number::{number, rpm};
use crate::report::witness::unheard;
use crate::sensors::contacts;

/// One quantity: what is told, what is, and whether they differ.
struct Row {
    name: &'static str,
    told: String,
    is: String,
    differs: bool,
}

/// Columns of the name and of either value.
const NAME: usize = 18;
const VALUE: usize = 18;

/// Draws the panel.
pub(super) fn draw(pen: &mut Pen<'_>, area: Rect, view: &View<'_>) {
    if view.trainee {
        let none = Line::from(pen.span(Tone::Plain, "not on the trainee's screen"));
        pen.heading(area, "Told and true", Tone::Strong, &none);
        return;
    }
    let rows = rows(view);
    let differing = rows.iter().filter(|row| row.differs).count();
    let says = match differing {
        0 => pen.span(Tone::Good, "✓ all agree"),
        count => pen.span(Tone::Differs, format!("≠ {count} differ")),
    };
    let body = pen.heading(area, "Told and true", Tone::Strong, &Line::from(says));
    let title = format!("  {:<NAME$}{:<VALUE$} plant is", "", "controller told");
    pen.text(body, 0, Tone::Faint, &title);
    let room = body.height.saturating_sub(1);
    for (line, index) in (1..).zip(shown(&rows, room)) {
        let row = &rows[index];
        let (sign, tone) = if row.differs {
            ("≠ ", Tone::Differs)
        } else {
            ("  ", Tone::Plain)
        };
        let line_of = Line::from(vec![
            pen.span(tone, sign),
            pen.span(Tone::Plain, format!("{:<NAME$}", row.name)),
            pen.span(tone, format!("{:<VALUE$} ", row.told)),
            pen.span(Tone::Plain, row.is.as_str()),
        ]);
        pen.line(body, line, &line_of);
    }
}

/// The rows there is room for, in order; one that differs is never left out for one that
/// agrees.
fn shown(rows: &[Row], room: u16) -> Vec<usize> {
    let mut order: Vec<usize> = (0..rows.len()).collect();
    order.sort_by_key(|index| !rows[*index].differs);
    order.truncate(usize::from(room));
    order.sort_unstable();
    order
}

/// Compares readings with the truth.
struct Table<'v, 'a> {
    view: &'v View<'a>,
    rows: Vec<Row>,
}

impl Table<'_, '_> {
    /// A reading that is a number, against the truth in the same unit.
    fn number<T: Copy>(
        &mut self,
        name: &'static str,
        signal: &Signal<T>,
        reading: impl FnOnce(T) -> f64,
        truth: f64,
        (tolerance, decimals, unit): (f64, usize, &str),
    ) {
        let is = format!("{} {unit}", number(truth, decimals));
        let row = match unheard(signal, self.view.config.stale_after) {
            Some(why) => Row {
                name,
                told: why,
                is,
                differs: true,
            },
            None => {
                let told = reading(signal.raw());
                // Written so that what is no number differs from everything.
                let agrees = (told - truth).abs() <= tolerance;
                let told = format!("{} {unit}", number(told, decimals));
                Row {
                    name,
                    told,
                    is,
                    differs: !agrees,
                }
            }
        };
        self.rows.push(row);
    }

    fn switch(&mut self, name: &'static str, signal: &Signal<bool>, truth: bool, words: [&str; 2]) {
        let word = |on: bool| words[usize::from(on)].to_owned();
        let row = match unheard(signal, self.view.config.stale_after) {
            Some(why) => Row {
                name,
                told: why,
                is: word(truth),
                differs: true,
            },
            None => Row {
                name,
                told: word(signal.raw()),
                is: word(truth),
                differs: signal.raw() != truth,
            },
        };
        self.rows.push(row);
    }

    /// What the controller makes of it all: to take less for proven than is so is safe,
    /// and no difference; to take more is one.
    fn proven(&mut self, name: &'static str, believed: bool, truth: bool) {
        let told = if believed { "proven" } else { "not proven" };
        let is = if truth { "so" } else { "not so" };
        self.rows.push(Row {
            name,
            told: told.to_owned(),
            is: is.to_owned(),
            differs: believed && !truth,
        });
    }
}

fn rows(view: &View<'_>) -> Vec<Row> {
    let mut table = Table {
        view,
        rows: Vec::new(),
    };
    beliefs(&mut table);
    moving_parts(&mut table);
    electrics(&mut table);
    temperatures(&mut table);
    hands(&mut table);
    table.rows
}

fn beliefs(table: &mut Table<'_, '_>) {
    let (truth, lamps) = (table.view.frame.truth, table.view.frame.outputs.indications);
    let window = f64::from(table.view.config.park_window.get()) / 100.0 + 1.0;
    let parked =
        off_park(truth.propeller.angle).abs() <= window && truth.propeller.speed.abs() < 0.6;
    let dead = truth.bus.voltage < f64::from(table.view.config.high_voltage.get()) / 1000.0 + 1.0;
    let stowed = truth.mast.position < 0.02 && truth.doors < 0.02;
    table.proven("mast locked", lamps.mast_locked, truth.mast.locked);
    table.proven("blade parked", lamps.parked, parked);
    table.proven("stowed and shut", lamps.stowed, stowed);
    table.proven("bus dead", lamps.bus_dead, dead);
}

fn moving_parts(table: &mut Table<'_, '_>) {
    let (truth, inputs) = (table.view.frame.truth, table.view.frame.inputs);
    let switch = ["open", "closed"];
    let mast = contacts::mast(&truth.mast);
    let doors = contacts::doors(truth.doors);
    let percent = |share: mastwright_core::units::Permille| f64::from(share.get()) / 10.0;
    table.number(
        "mast travel",
        &inputs.mast.position,
        percent,
        truth.mast.position * 100.0,
        (1.5, 1, "%"),
    );
    table.switch(
        "  stowed switch",
        &inputs.mast.stowed_switch,
        mast.stowed_switch.raw(),
        switch,
    );
    table.switch(
        "  deployed switch",
        &inputs.mast.deployed_switch,
        mast.deployed_switch.raw(),
        switch,
    );
    table.switch(
        "  lock switch",
        &inputs.mast.lock_switch,
        mast.lock_switch.raw(),
        switch,
    );
    table.switch(
        "left door open",
        &inputs.doors.left_open,
        doors.left_open.raw(),
        switch,
    );
    table.switch(
        "right door open",
        &inputs.doors.right_open,
        doors.right_open.raw(),
        switch,
    );
    table.switch("doors shut", &inputs.doors.shut, doors.shut.raw(), switch);
    angle(table, "blade, source A", &inputs.propeller.angle_a);
    angle(table, "blade, source B", &inputs.propeller.angle_b);
    let speed = rpm(truth.propeller.speed);
    table.number(
        "shaft",
        &inputs.propeller.speed,
        |speed| f64::from(speed.get()),
        speed,
        (3.0 + speed.abs() * 0.01, 0, "rpm"),
    );
}

/// A blade angle, as its distance from park; a turning blade moves on between sampling
/// and now, and is compared only once it is slow.
fn angle(
    table: &mut Table<'_, '_>,
    name: &'static str,
    signal: &Signal<mastwright_core::units::CentiDegrees>,
) {
    let truth = table.view.frame.truth.propeller;
    let slow = truth.speed.abs() < 6.3;
    let tolerance = if slow { 1.5 + truth.speed.abs() } else { 180.0 };
    let off =
        |angle: mastwright_core::units::CentiDegrees| f64::from(angle.off_park().get()) / 100.0;
    table.number(
        name,
        signal,
        off,
        off_park(truth.angle),
        (tolerance, 1, "° off"),
    );
}

fn electrics(table: &mut Table<'_, '_>) {
    let (truth, inputs) = (table.view.frame.truth, table.view.frame.inputs);
    let volts = |voltage: mastwright_core::units::Millivolts| f64::from(voltage.get()) / 1000.0;
    let amperes = |current: mastwright_core::units::Milliamps| f64::from(current.get()) / 1000.0;
    let percent = |share: mastwright_core::units::Permille| f64::from(share.get()) / 10.0;
    table.number(
        "bus",
        &inputs.bus.voltage,
        volts,
        truth.bus.voltage,
        (3.0, 0, "V"),
    );
    table.number(
        "bus current",
        &inputs.bus.current,
        amperes,
        truth.bus.current,
        (1.5, 1, "A"),
    );
    table.switch(
        "main contactor",
        &inputs.bus.main_feedback,
        truth.bus.main_closed,
        ["open", "closed"],
    );
    table.number(
        "insulation",
        &inputs.bus.insulation,
        |ohms| f64::from(ohms.get()),
        (truth.bus.insulation / 1000.0).min(65_535.0),
        (20.0 + truth.bus.insulation.abs().min(1e9) * 3e-5, 0, "kohm"),
    );
    for (index, name) in ["pack 1", "pack 2"].into_iter().enumerate() {
        let (told, is) = (inputs.packs[index], truth.packs[index]);
        table.number(name, &told.voltage, volts, is.voltage, (6.0, 0, "V"));
        table.number(
            "  charge",
            &told.charge,
            percent,
            is.charge * 100.0,
            (1.0, 0, "%"),
        );
    }
    table.number(
        "auxiliary",
        &inputs.auxiliary,
        volts,
        truth.auxiliary,
        (0.2, 1, "V"),
    );
}

fn temperatures(table: &mut Table<'_, '_>) {
    let (truth, inputs) = (table.view.frame.truth, table.view.frame.inputs);
    let celsius =
        |temperature: mastwright_core::units::DeciCelsius| f64::from(temperature.get()) / 10.0;
    let rows = [
        ("motor", inputs.thermal.motor, truth.motor_temperature),
        (
            "controller",
            inputs.thermal.controller,
            truth.controller_temperature,
        ),
        (
            "pack 1 hottest",
            inputs.packs[0].temperature,
            truth.packs[0].temperature,
        ),
        (
            "pack 2 hottest",
            inputs.packs[1].temperature,
            truth.packs[1].temperature,
        ),
    ];
    for (name, signal, is) in rows {
        table.number(name, &signal, celsius, is, (2.0, 0, "°C"));
    }
    table.switch(
        "fans",
        &inputs.thermal.fans_turning,
        truth.fans_turning,
        ["still", "turn"],
    );
    let speed = |speed: mastwright_core::units::DeciMetresPerSecond| f64::from(speed.get()) / 10.0;
    table.number(
        "airspeed",
        &inputs.airspeed,
        speed,
        truth.aircraft.airspeed,
        (0.8, 1, "m/s"),
    );
}

fn hands(table: &mut Table<'_, '_>) {
    let (controls, told) = (table.view.frame.controls, table.view.frame.inputs.controls);
    let percent = |share: mastwright_core::units::Permille| f64::from(share.get()) / 10.0;
    let lever = controls.throttle * 100.0;
    table.number(
        "throttle A",
        &told.throttle_a,
        percent,
        lever,
        (1.5, 0, "%"),
    );
    table.number(
        "throttle B",
        &told.throttle_b,
        percent,
        lever,
        (1.5, 0, "%"),
    );
    let contacts = contacts::controls(&controls);
    let words = ["released", "thrown"];
    table.switch("stop contact A", &told.stop_a, controls.stop, words);
    table.switch("stop contact B", &told.stop_b, controls.stop, words);
    let switch = ["open", "closed"];
    table.switch(
        "selector deploy",
        &told.select_deploy,
        contacts.select_deploy.raw(),
        switch,
    );
    table.switch(
        "selector hold",
        &told.select_hold,
        contacts.select_hold.raw(),
        switch,
    );
    table.switch(
        "selector stow",
        &told.select_stow,
        contacts.select_stow.raw(),
        switch,
    );
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn where_room_is_short_what_differs_stays() {
        let row = |differs| Row {
            name: "",
            told: String::new(),
            is: String::new(),
            differs,
        };
        let rows = [row(false), row(true), row(false), row(true)];
        assert_eq!(shown(&rows, 2), [1, 3]);
        assert_eq!(shown(&rows, 3), [0, 1, 3]);
    }
}
