//! SR-14: the check that a safe halt has a way out, and a controller that stays in it.

use mastwright_core::signal::Signal;
use mastwright_core::{Inputs, Outputs, Sequencer, State};
use mastwright_sim::scenario::Scenario;
use mastwright_sim::world::{Controller, World};

use super::flown::Sabotaged;
use super::{Saboteur, Tamper, Trial, scenes};

pub(super) const TABLE: &[Saboteur] = &[Saboteur {
    name: "stays-halted",
    breaks: "SR-14",
    does: "hears no control in a safe halt",
    trial: Trial::Checked {
        by: scenes::WAY_OUT.name,
        honest: has_way_out::<Sequencer>,
        saboteur: has_way_out::<Sabotaged<StaysHalted>>,
    },
}];

/// A mast at or below this travel, 0 to 1, is stowed in truth.
const STOWED: f64 = 0.03;

/// A mast that halted half way on a fault that has gone is stowed once the pilot follows
/// the documented way: hold acknowledge to clear, then ask again.
///
/// # Errors
/// It was never halted, or where it ended.
pub fn has_way_out<C: Controller>() -> Result<(), String> {
    let scenario: Scenario = scenes::WAY_OUT.read()?;
    let mut world = World::<C>::with(&scenario, scenario.seed);
    let mut halted = false;
    for _ in 0..scenario.ticks {
        let frame = world.step();
        halted |= frame.outputs.indications.state.halt().is_some();
    }
    let end = world.frame();
    let state = end.outputs.indications.state;
    if !halted {
        Err("nothing halted: the check shows nothing".to_owned())
    } else if state == State::Stowed && end.truth.mast.position < STOWED {
        Ok(())
    } else {
        Err(format!("the way out leads to {state:?}"))
    }
}

/// Reads a centred selector and released buttons while halted.
#[derive(Clone, Default)]
struct StaysHalted {
    halted: bool,
}

impl Tamper for StaysHalted {
    fn mislead(&mut self, inputs: &mut Inputs) {
        if self.halted {
            inputs.controls.select_hold = Signal::fresh(true);
            inputs.controls.select_deploy = Signal::fresh(false);
            inputs.controls.select_stow = Signal::fresh(false);
            inputs.controls.acknowledge = Signal::fresh(false);
            inputs.controls.acknowledge_rest = Signal::fresh(true);
        }
    }

    fn overrule(&mut self, _told: &Inputs, outputs: &mut Outputs) {
        self.halted |= outputs.indications.state.halt().is_some();
    }
}
