//! Saboteurs of proof and of what is told: SR-07, SR-11, SR-12, SR-16, SR-20, HZ-8.

use mastwright_core::signal::Signal;
use mastwright_core::units::Permille;
use mastwright_core::{Fault, Faults, Inputs, Outputs, State};

use super::{Saboteur, Tamper, hide, remembers, scenes};

pub(super) const TABLE: &[Saboteur] = &[
    Saboteur::flown::<WaitsForEver>(
        "waits-for-ever",
        "SR-07",
        "goes on waiting for a parking proof that never comes, and declares no halt",
        &scenes::NOT_PARKED,
    ),
    Saboteur::flown::<WaitsForEver>(
        "waits-for-ever",
        "HZ-8",
        "goes on waiting for a parking proof that never comes, and declares no halt",
        &scenes::NOT_PARKED,
    ),
    Saboteur::flown::<IgnoresStow>(
        "ignores-stow",
        "SR-07",
        "hears no Stow while it propels",
        &scenes::STOW_UNDER_THRUST,
    ),
    Saboteur::flown::<ShowsStowed>(
        "shows-stowed",
        "SR-07",
        "shows the mast stowed as soon as it comes down",
        &scenes::EMERGENCY,
    ),
    Saboteur::flown::<BelievesStale>(
        "believes-stale",
        "SR-11",
        "takes every last sample for a fresh and valid one",
        &scenes::STALE,
    ),
    Saboteur::flown::<BelievesStale>(
        "believes-stale",
        "SR-11",
        "takes every last sample for a fresh and valid one",
        &scenes::STALE_LOCK,
    ),
    Saboteur::flown::<TrustsOneTrack>(
        "trusts-one-track",
        "SR-11",
        "follows one throttle track and ignores that the other contradicts it",
        &scenes::TRACKS,
    ),
    Saboteur::flown::<TrustsPosition>(
        "trusts-position",
        "SR-12",
        "believes the position sensor against any switch, and says nothing",
        &scenes::CONTRADICTION,
    ),
    Saboteur::flown::<HidesContradiction>(
        "hides-contradiction",
        "SR-12",
        "halts on contradictory mast sensors, and does not say why",
        &scenes::CONTRADICTION,
    ),
    Saboteur::flown::<NeverLate>(
        "never-late",
        "SR-16",
        "ignores that a tick was late",
        &scenes::LATE,
    ),
    Saboteur::flown::<ForgetsOnPress>(
        "forgets-on-press",
        "SR-20",
        "hides a fault on a short press of acknowledge",
        &scenes::ALERT,
    ),
    Saboteur::flown::<ForgetsInTime>(
        "forgets-in-time",
        "SR-20",
        "drops a fault by itself two seconds after it was first shown",
        &scenes::ALERT,
    ),
    Saboteur::flown::<NeverSounds>(
        "never-sounds",
        "SR-20",
        "shows its faults and sounds none",
        &scenes::ALERT,
    ),
];

/// Shows parking going on where a safe halt should be declared.
#[derive(Clone, Default)]
struct WaitsForEver;

impl Tamper for WaitsForEver {
    fn overrule(&mut self, _told: &Inputs, outputs: &mut Outputs) {
        if outputs.indications.state.halt().is_some() {
            outputs.indications.state = State::StowPark;
        }
    }
}

/// Reads a centred selector while it propels.
#[derive(Clone, Default)]
struct IgnoresStow {
    propels: bool,
}

impl Tamper for IgnoresStow {
    remembers!(propels: bool);

    fn mislead(&mut self, inputs: &mut Inputs) {
        if self.propels {
            inputs.controls.select_hold = Signal::fresh(true);
            inputs.controls.select_stow = Signal::fresh(false);
        }
    }

    fn overrule(&mut self, _told: &Inputs, outputs: &mut Outputs) {
        self.propels = outputs.indications.state == State::Thrust;
    }
}

/// Shows the end of the stow before it is reached.
#[derive(Clone, Default)]
struct ShowsStowed;

impl Tamper for ShowsStowed {
    fn overrule(&mut self, _told: &Inputs, outputs: &mut Outputs) {
        outputs.indications.stowed |= outputs.indications.state == State::StowMast;
    }
}

/// Renews every sample on which motion or thrust rests.
#[derive(Clone, Default)]
struct BelievesStale;

impl Tamper for BelievesStale {
    fn mislead(&mut self, inputs: &mut Inputs) {
        renew(&mut inputs.mast.position);
        renew(&mut inputs.mast.stowed_switch);
        renew(&mut inputs.mast.deployed_switch);
        renew(&mut inputs.mast.lock_switch);
        renew(&mut inputs.doors.left_open);
        renew(&mut inputs.doors.right_open);
        renew(&mut inputs.propeller.angle_a);
        renew(&mut inputs.propeller.angle_b);
        renew(&mut inputs.propeller.speed);
    }
}

fn renew<T: Copy>(signal: &mut Signal<T>) {
    *signal = Signal::fresh(signal.raw());
}

/// Takes the first throttle track for both.
#[derive(Clone, Default)]
struct TrustsOneTrack;

impl Tamper for TrustsOneTrack {
    fn mislead(&mut self, inputs: &mut Inputs) {
        inputs.controls.throttle_b = inputs.controls.throttle_a;
    }
}

/// Makes the switches say what the position sensor says.
#[derive(Clone, Default)]
struct TrustsPosition;

impl Tamper for TrustsPosition {
    fn mislead(&mut self, inputs: &mut Inputs) {
        let mast = &mut inputs.mast;
        let position = mast.position.raw();
        let out = position >= Permille::new(985);
        mast.stowed_switch = Signal::fresh(position <= Permille::new(15));
        mast.deployed_switch = Signal::fresh(out);
        mast.lock_switch = Signal::fresh(out && mast.lock_switch.raw());
    }
}

/// Leaves the two faults of the mast's sensors unsaid.
#[derive(Clone, Default)]
struct HidesContradiction;

impl Tamper for HidesContradiction {
    fn overrule(&mut self, _told: &Inputs, outputs: &mut Outputs) {
        hide(outputs, Fault::MastContradiction | Fault::MastSensorLost);
    }
}

/// Takes every tick for one in time.
#[derive(Clone, Default)]
struct NeverLate;

impl Tamper for NeverLate {
    fn mislead(&mut self, inputs: &mut Inputs) {
        inputs.missed_deadline = false;
    }
}

/// Hides every fault shown when acknowledge goes down.
#[derive(Clone, Default)]
struct ForgetsOnPress {
    hidden: Faults,
}

impl Tamper for ForgetsOnPress {
    fn overrule(&mut self, told: &Inputs, outputs: &mut Outputs) {
        if told.controls.acknowledge.raw() {
            self.hidden |= outputs.indications.faults;
        }
        hide(outputs, self.hidden);
    }
}

/// Shows any fault for two seconds only.
#[derive(Clone, Default)]
struct ForgetsInTime {
    shown: u8,
}

impl Tamper for ForgetsInTime {
    fn overrule(&mut self, _told: &Inputs, outputs: &mut Outputs) {
        if !outputs.indications.faults.is_empty() {
            self.shown = self.shown.saturating_add(1);
        }
        if self.shown > 200 {
            hide(outputs, Faults::all());
        }
    }
}

/// Is mute.
#[derive(Clone, Default)]
struct NeverSounds;

impl Tamper for NeverSounds {
    fn overrule(&mut self, _told: &Inputs, outputs: &mut Outputs) {
        outputs.indications.sounding = Faults::empty();
    }
}
