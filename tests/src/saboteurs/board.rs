//! SR-16 on the board: the check that a late tick leaves everything off, and a board
//! that carries on.

#[path = "../../../firmware-core/tests/board_mock/rig.rs"]
#[expect(dead_code, reason = "the rig serves the board's own tests too")]
mod rig;

use mastwright_core::board::Switches;
use mastwright_core::outputs::Motor;

use super::{Saboteur, Trial};
use rig::{Bench, Clock, commanding, everything};

pub(super) const TABLE: &[Saboteur] = &[Saboteur {
    name: "never-looks-at-the-clock",
    breaks: "SR-16",
    does: "carries a tick's commands out however late it is",
    trial: Trial::Checked {
        by: "a late tick on mock pins",
        honest: || late_tick_is_safe(Clock::late_after_outputs),
        saboteur: || late_tick_is_safe(Clock::on_time),
    },
}];

/// After a late tick no switch is on, the motor gives no torque, and the watchdog has
/// not been fed. `as_seen` is the late clock as the board sees it.
fn late_tick_is_safe(as_seen: fn() -> Clock) -> Result<(), String> {
    let bench = Bench::default();
    let mut board = bench.board();
    board.tick_with(&mut Clock::on_time(), commanding(everything()));
    if bench.with(|state| state.high).is_empty() {
        return Err("a tick in time switches nothing on: the check shows nothing".to_owned());
    }
    bench.done();
    board.tick_with(&mut as_seen(), commanding(everything()));
    let high = bench.with(|state| state.high);
    if high != Switches::empty() {
        return Err(format!("after a late tick these switches are on: {high:?}"));
    }
    if bench.with(|state| state.motor) != Motor::Short {
        return Err("after a late tick the motor is commanded".to_owned());
    }
    if bench.was_fed() {
        return Err("after a late tick the watchdog is fed".to_owned());
    }
    Ok(())
}
