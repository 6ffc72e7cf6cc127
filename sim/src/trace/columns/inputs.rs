//! The columns of what the controller was told.

use mastwright_core::inputs::{Inputs, PackSensors};

use super::{Visitor, flag, signal};

macro_rules! signals {
    ($to:ident, $of:expr, $prefix:literal: $($field:ident $(.$part:ident)* => $name:literal),+ $(,)?) => {$(
        signal(
            $to,
            [concat!($prefix, $name), concat!($prefix, $name, ".age")],
            &mut $of.$field$(.$part)*,
        );
    )+};
}

#[inline]
pub(super) fn inputs<V: Visitor>(to: &mut V, inputs: &mut Inputs) {
    signals!(to, inputs.controls, "in.controls.":
        throttle_a => "throttle a",
        throttle_b => "throttle b",
        select_hold => "select hold",
        select_deploy => "select deploy",
        select_stow => "select stow",
        stop_a => "stop a",
        stop_b => "stop b",
        bench_key => "bench key",
        acknowledge => "acknowledge",
        acknowledge_rest => "acknowledge rest",
        aux_charge => "aux charge",
        aux_charge_off => "aux charge off",
    );
    signals!(to, inputs.mast, "in.mast.":
        position => "position",
        stowed_switch => "stowed switch",
        deployed_switch => "deployed switch",
        lock_switch => "lock switch",
        drive_current => "drive current",
    );
    signals!(to, inputs.doors, "in.doors.":
        left_open => "left open",
        right_open => "right open",
        shut => "shut",
        drive_current => "drive current",
    );
    signals!(to, inputs, "in.":
        propeller.angle_a => "propeller.angle a",
        propeller.angle_b => "propeller.angle b",
        propeller.speed => "propeller.speed",
        bus.voltage => "bus.voltage",
        bus.current => "bus.current",
        bus.insulation => "bus.insulation",
        bus.main_feedback => "bus.main feedback",
        thermal.motor => "thermal.motor",
        thermal.controller => "thermal.controller",
        thermal.fans_turning => "thermal.fans turning",
        auxiliary => "auxiliary",
        airspeed => "airspeed",
    );
    let [one, two]: &mut [PackSensors; 2] = &mut inputs.packs;
    signals!(to, one, "in.pack 1.":
        voltage => "voltage",
        temperature => "temperature",
        charge => "charge",
    );
    signals!(to, two, "in.pack 2.":
        voltage => "voltage",
        temperature => "temperature",
        charge => "charge",
    );
    flag(to, "in.missed deadline", &mut inputs.missed_deadline);
}
