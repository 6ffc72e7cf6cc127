//! What two settings must be to one another, each within its own range already.

use super::Settings;

/// The first rule between settings that `s` breaks.
pub(super) fn broken(s: &Settings) -> Option<&'static str> {
    let rules: [(bool, &'static str); 18] = [
        (
            s.park_window <= s.hold_capture,
            "park_window must not exceed hold_capture",
        ),
        (
            s.shaft_still < s.creep_speed,
            "creep_speed must exceed shaft_still, or creeping would count as standing",
        ),
        (
            s.creep_speed < s.shaft_slow,
            "shaft_slow must exceed creep_speed, or creeping would end parking",
        ),
        (
            s.mast_clear_min < s.mast_deployed_min,
            "mast_clear_min must lie below mast_deployed_min",
        ),
        (
            s.mast_time <= s.mast_stage_time,
            "mast_time must not exceed mast_stage_time",
        ),
        (
            s.door_time <= s.door_stage_time,
            "door_time must not exceed door_stage_time",
        ),
        (
            s.mast_airspeed_max <= s.deployed_airspeed_max,
            "mast_airspeed_max must not exceed deployed_airspeed_max",
        ),
        (s.fans_off < s.fans_on, "fans_off must lie below fans_on"),
        (
            s.motor_hot <= s.motor_derate && s.motor_derate < s.motor_stop,
            "motor_hot, motor_derate, motor_stop must rise",
        ),
        (
            s.controller_hot <= s.controller_derate && s.controller_derate < s.controller_stop,
            "controller_hot, controller_derate, controller_stop must rise",
        ),
        (
            s.pack_hot <= s.pack_derate && s.pack_derate < s.pack_stop,
            "pack_hot, pack_derate, pack_stop must rise",
        ),
        (
            s.aux_low < s.aux_resume && s.aux_resume < s.aux_full,
            "aux_low, aux_resume, aux_full must rise",
        ),
        (
            s.door_press < s.overload_after,
            "door_press must lie below overload_after, or pressing the doors shut would be an overload",
        ),
        (
            s.lock_proof < s.overload_after,
            "lock_proof must lie below overload_after, or running into the stop would be an overload",
        ),
        (
            s.main_close_min < s.main_close_time,
            "main_close_min must lie below main_close_time",
        ),
        (
            s.drain_min < s.discharge_time,
            "drain_min must lie below discharge_time",
        ),
        (
            s.charge_empty < s.charge_reserve,
            "charge_empty must lie below charge_reserve",
        ),
        (
            s.bus_min <= s.pack_min && s.pack_max <= s.bus_max,
            "pack_min..pack_max must lie within bus_min..bus_max",
        ),
    ];
    rules
        .iter()
        .find_map(|(holds, rule)| (!holds).then_some(*rule))
}
