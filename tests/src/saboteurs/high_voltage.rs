//! Saboteurs of the bus and what hangs on it: SR-04, SR-18, SR-19, SR-21, HZ-4, HZ-7.

use mastwright_core::outputs::Motor;
use mastwright_core::signal::Signal;
use mastwright_core::units::{KiloOhms, Milliamps, Millivolts};
use mastwright_core::{Fault, Inputs, Outputs};

use super::{Saboteur, Tamper, hide, remembers, scenes};

pub(super) const TABLE: &[Saboteur] = &[
    Saboteur::flown::<ClosesAtOnce>(
        "closes-at-once",
        "SR-04",
        "closes the main contactor together with the pre-charge relay",
        &scenes::FLIGHT,
    ),
    Saboteur::flown::<ClosesEarly>(
        "closes-early",
        "SR-04",
        "closes the main contactor at three quarters of pack voltage",
        &scenes::FLIGHT,
    ),
    Saboteur::flown::<ClosesAtOnce>(
        "closes-at-once",
        "HZ-4",
        "closes the main contactor together with the pre-charge relay",
        &scenes::FLIGHT,
    ),
    Saboteur::flown::<BlindToInsulation>(
        "blind-to-insulation",
        "SR-04",
        "takes the insulation for sound",
        &scenes::INSULATION,
    ),
    Saboteur::flown::<KeepsCharge>(
        "keeps-charge",
        "SR-18",
        "never discharges the bus, and hides that it stays live",
        &scenes::CHARGING,
    ),
    Saboteur::flown::<ShowsDead>(
        "shows-dead",
        "SR-18",
        "shows the bus dead, whatever it is",
        &scenes::FLIGHT,
    ),
    Saboteur::flown::<ShowsDead>(
        "shows-dead",
        "HZ-7",
        "shows the bus dead, whatever it is",
        &scenes::FLIGHT,
    ),
    Saboteur::flown::<ChargesUnderThrust>(
        "charges-under-thrust",
        "SR-19",
        "charges the auxiliary battery while the propeller propels",
        &scenes::CHARGING_FLIGHT,
    ),
    Saboteur::flown::<ChargesFromDeadBus>(
        "charges-from-dead-bus",
        "SR-19",
        "switches the charger on with the request, before the bus is live",
        &scenes::CHARGING,
    ),
    Saboteur::flown::<BlindToWeld>(
        "blind-to-weld",
        "SR-21",
        "takes the main contactor for open and the bus for dead when they ought to be",
        &scenes::WELD,
    ),
    Saboteur::flown::<PrechargesForEver>(
        "precharges-for-ever",
        "SR-21",
        "never lets go of the pre-charge relay",
        &scenes::FLIGHT,
    ),
    Saboteur::flown::<ClosesOnFault>(
        "closes-on-fault",
        "SR-21",
        "tries pre-charge again and again on a latched bus fault",
        &scenes::WELD,
    ),
];

/// Closes the main contactor as soon as pre-charge begins.
#[derive(Clone, Default)]
struct ClosesAtOnce;

impl Tamper for ClosesAtOnce {
    fn overrule(&mut self, _told: &Inputs, outputs: &mut Outputs) {
        outputs.drives.bus.main |= outputs.drives.bus.precharge;
    }
}

/// Reads a third more voltage, and no current, while it pre-charges.
#[derive(Clone, Default)]
struct ClosesEarly {
    precharging: bool,
}

impl Tamper for ClosesEarly {
    remembers!(precharging: bool);

    fn mislead(&mut self, inputs: &mut Inputs) {
        if self.precharging {
            let voltage = inputs.bus.voltage.raw().get();
            inputs.bus.voltage = Signal::fresh(Millivolts::new(voltage * 4 / 3));
            inputs.bus.current = Signal::fresh(Milliamps::ZERO);
        }
    }

    fn overrule(&mut self, _told: &Inputs, outputs: &mut Outputs) {
        self.precharging = outputs.drives.bus.precharge && !outputs.drives.bus.main;
    }
}

/// Reads good insulation, always.
#[derive(Clone, Default)]
struct BlindToInsulation;

impl Tamper for BlindToInsulation {
    fn mislead(&mut self, inputs: &mut Inputs) {
        inputs.bus.insulation = Signal::fresh(KiloOhms::new(5_000));
    }
}

/// Leaves the discharge relay open and the two faults that would tell it unsaid.
#[derive(Clone, Default)]
struct KeepsCharge;

impl Tamper for KeepsCharge {
    fn overrule(&mut self, _told: &Inputs, outputs: &mut Outputs) {
        outputs.drives.bus.discharge = false;
        hide(outputs, Fault::DischargeFailed | Fault::MainWelded);
    }
}

/// Shows a dead bus, always.
#[derive(Clone, Default)]
struct ShowsDead;

impl Tamper for ShowsDead {
    fn overrule(&mut self, _told: &Inputs, outputs: &mut Outputs) {
        outputs.indications.bus_dead = true;
    }
}

/// Charges whenever it propels.
#[derive(Clone, Default)]
struct ChargesUnderThrust;

impl Tamper for ChargesUnderThrust {
    fn overrule(&mut self, _told: &Inputs, outputs: &mut Outputs) {
        outputs.drives.aux_charger |= matches!(outputs.drives.motor, Motor::Thrust(_));
    }
}

/// Charges whenever the switch asks for it.
#[derive(Clone, Default)]
struct ChargesFromDeadBus;

impl Tamper for ChargesFromDeadBus {
    fn overrule(&mut self, told: &Inputs, outputs: &mut Outputs) {
        outputs.drives.aux_charger = told.controls.aux_charge.raw();
    }
}

/// Reads an open contactor and no voltage unless it commands otherwise.
#[derive(Clone, Default)]
struct BlindToWeld {
    closing: bool,
}

impl Tamper for BlindToWeld {
    remembers!(closing: bool);

    fn mislead(&mut self, inputs: &mut Inputs) {
        if !self.closing {
            inputs.bus.main_feedback = Signal::fresh(false);
            inputs.bus.voltage = Signal::fresh(Millivolts::ZERO);
        }
    }

    fn overrule(&mut self, _told: &Inputs, outputs: &mut Outputs) {
        self.closing = outputs.drives.bus.precharge || outputs.drives.bus.main;
    }
}

/// Keeps the pre-charge relay closed once it was closed.
#[derive(Clone, Default)]
struct PrechargesForEver {
    begun: bool,
}

impl Tamper for PrechargesForEver {
    remembers!(begun: bool);

    fn overrule(&mut self, _told: &Inputs, outputs: &mut Outputs) {
        self.begun |= outputs.drives.bus.precharge;
        outputs.drives.bus.precharge = self.begun;
    }
}

/// Pulses the pre-charge relay while a bus fault is latched.
#[derive(Clone, Default)]
struct ClosesOnFault {
    pulse: bool,
}

impl Tamper for ClosesOnFault {
    remembers!(pulse: bool);

    fn overrule(&mut self, _told: &Inputs, outputs: &mut Outputs) {
        let welded = outputs.indications.faults.contains(Fault::MainWelded);
        self.pulse = welded && !self.pulse;
        outputs.drives.bus.precharge |= self.pulse;
    }
}
