//! Signals of what the controller was told: each reading with its age.

use mastwright_core::inputs::Inputs;
use mastwright_core::units::{
    CentiDegrees, DeciCelsius, DeciMetresPerSecond, KiloOhms, Milliamps, Millivolts, Permille, Rpm,
};

use super::super::signal::{Signal, Unit};

/// What a reading can carry.
trait Measured: Copy + 'static {
    /// Its signal.
    fn signal(name: &str, about: &'static str, get: fn(&Inputs) -> Self) -> Signal;
}

impl Measured for bool {
    fn signal(name: &str, about: &'static str, get: fn(&Inputs) -> Self) -> Signal {
        Signal::flag(name, about, move |tick| get(&tick.frame.inputs))
    }
}

macro_rules! measured {
    ($($of:ident => $unit:ident / $scale:literal),+ $(,)?) => {$(
        impl Measured for $of {
            fn signal(name: &str, about: &'static str, get: fn(&Inputs) -> Self) -> Signal {
                Signal::real(name, Unit::$unit, about, move |tick| {
                    f64::from(get(&tick.frame.inputs).get()) / $scale
                })
            }
        }
    )+};
}

measured!(
    Permille => Percent / 10.0,
    CentiDegrees => Degree / 100.0,
    DeciCelsius => Celsius / 10.0,
    DeciMetresPerSecond => MetrePerSecond / 10.0,
    KiloOhms => KiloOhm / 1.0,
    Milliamps => Ampere / 1000.0,
    Millivolts => Volt / 1000.0,
    Rpm => Rpm / 1.0,
);

macro_rules! readings {
    ($($name:literal: $($field:ident).+ $([$index:literal] . $part:ident)? => $about:literal,)+) => {
        vec![$(
            Measured::signal(concat!("inputs.", $name), $about, |inputs: &Inputs| {
                inputs.$($field).+$([$index].$part)?.raw()
            }),
            Signal::whole(
                concat!("inputs.", $name, "_age"),
                Some(Unit::Millisecond),
                "Its age, to 2540; none when its source declares it unsound",
                |tick| {
                    let signal = tick.frame.inputs.$($field).+$([$index].$part)?;
                    signal.is_valid().then(|| u32::from(signal.age().ticks()) * 10)
                },
            ),
        )+]
    };
}

/// The signals, in the order of [`Inputs`].
pub(super) fn signals() -> Vec<Signal> {
    let mut all = readings!(
        "controls.throttle_a": controls.throttle_a => "Throttle lever, first track",
        "controls.throttle_b": controls.throttle_b => "Throttle lever, second track",
        "controls.select_hold": controls.select_hold => "Selector's contact for hold",
        "controls.select_deploy": controls.select_deploy => "Selector's contact for deploy",
        "controls.select_stow": controls.select_stow => "Selector's contact for stow",
        "controls.stop_a": controls.stop_a => "Stop switch, first contact; true when thrown",
        "controls.stop_b": controls.stop_b => "Stop switch, second contact; true when thrown",
        "controls.bench_key": controls.bench_key => "Bench key on",
        "controls.acknowledge": controls.acknowledge => "Acknowledge, contact of the pressed button",
        "controls.acknowledge_rest": controls.acknowledge_rest => "Acknowledge, contact of the released button",
        "controls.aux_charge": controls.aux_charge => "Auxiliary charge, contact for on",
        "controls.aux_charge_off": controls.aux_charge_off => "Auxiliary charge, contact for off",
        "mast.position": mast.position => "Mast travel, 0 stowed to 100 deployed",
        "mast.stowed_switch": mast.stowed_switch => "End switch at the stowed end",
        "mast.deployed_switch": mast.deployed_switch => "End switch at the deployed end",
        "mast.lock_switch": mast.lock_switch => "The latch pin has engaged",
        "mast.drive_current": mast.drive_current => "Current of the mast drive, without sign",
        "doors.left_open": doors.left_open => "Left door fully open",
        "doors.right_open": doors.right_open => "Right door fully open",
        "doors.shut": doors.shut => "Both doors shut",
        "doors.drive_current": doors.drive_current => "Current of the door drive, without sign",
        "propeller.angle_a": propeller.angle_a => "Source A: rotor angle, in the motor",
        "propeller.angle_b": propeller.angle_b => "Source B: blade angle, at the hub",
        "propeller.speed": propeller.speed => "Shaft speed",
        "bus.voltage": bus.voltage => "Voltage across the bus capacitor",
        "bus.current": bus.current => "Current into the bus",
        "bus.insulation": bus.insulation => "Insulation resistance to the airframe",
        "bus.main_feedback": bus.main_feedback => "Auxiliary contact of the main contactor",
        "pack_1.voltage": packs[0].voltage => "Voltage of pack 1",
        "pack_1.temperature": packs[0].temperature => "Hottest cell of pack 1",
        "pack_1.charge": packs[0].charge => "State of charge of pack 1",
        "pack_2.voltage": packs[1].voltage => "Voltage of pack 2",
        "pack_2.temperature": packs[1].temperature => "Hottest cell of pack 2",
        "pack_2.charge": packs[1].charge => "State of charge of pack 2",
        "thermal.motor": thermal.motor => "Motor windings",
        "thermal.controller": thermal.controller => "Heat sink of the motor controller",
        "thermal.fans_turning": thermal.fans_turning => "The cooling fans turn",
        "auxiliary": auxiliary => "Auxiliary battery",
        "airspeed": airspeed => "Airspeed",
    );
    all.push(Signal::flag(
        "inputs.missed_deadline",
        "The board missed the deadline of the previous tick",
        |tick| tick.frame.inputs.missed_deadline,
    ));
    all
}
