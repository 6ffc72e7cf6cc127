//! Everything that may be read of an abstract world in one step: for a broken sensor every
//! reading that a guard tells from another in this state of the controller.
//!
//! A reading that no guard tells from one that is tried is left out, and so are the lies of
//! a sensor that nothing asks in this state: what is decided and stored is then the same.
//! That holds for the real controller; whoever explores one that was tampered with must see
//! to it that it asks no more.

use enumset::enum_set;
use mastwright_core::bus::Stage;
use mastwright_core::doors::Place;
use mastwright_core::signal::Signal;
use mastwright_core::units::{KiloOhms, Milliamps, Millivolts, Permille, Rpm};
use mastwright_core::{Faults, State, doors, mast};

use super::cases::{Cases, Several};
use super::hands::{Air, Hands};
use super::memory::Acknowledge;
use super::plant::{Blade, Mast, Motion, Pace, Place as BladePlace, Plant, Side, Volts};
use super::sense::{
    DRAWN, IDLE, LOADED, PARTLY, SURGE, Sensed, airspeed, angle, millivolts, rpm, sound,
};
use super::trouble::Trouble;

/// Which readings can count in a step of the controller.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Counts {
    /// The stage of the bus.
    stage: Stage,
    /// A step that begins so may drive the mast: whether the blade is proven parked.
    parked: bool,
    /// Where the blade is, and how fast it turns.
    blade: bool,
    /// The throttle.
    throttle: bool,
    /// The bench key.
    key: bool,
    /// The charge request.
    charge: bool,
    /// The airspeed.
    air: bool,
    /// A motion of the mast that is not as it should be.
    strange: bool,
    /// Doors found elsewhere than they were left.
    strayed: bool,
}

impl Counts {
    /// What counts in a step that begins in `state`, the bus in `stage`, with these faults
    /// latched. Nothing moves the mast in a step that begins stowed, waking or with the lock
    /// proven, whatever comes of it; elsewhere a stow that begins may press it on its lock.
    #[must_use]
    pub fn of(state: State, stage: Stage, latched: Faults, blade: Blade) -> Self {
        let parked = !matches!(
            state,
            State::Waking | State::Stowed | State::Deployed | State::Armed | State::Thrust
        );
        let at_rest = matches!(state, State::Resting | State::Stowed | State::Halted(_));
        Self {
            stage,
            parked,
            blade: parked || blade != Blade::Not,
            throttle: matches!(
                state,
                State::Waking | State::Deployed | State::Armed | State::Thrust
            ),
            key: at_rest || matches!(state, State::Waking | State::Bench),
            // Charging is served from the step on that leads to `Stowed`, and a push or a stop
            // moves in the very step.
            charge: at_rest || matches!(state, State::Waking | State::StowDoors | State::Jog),
            air: parked || at_rest || state == State::Waking,
            strange: latched.is_disjoint(mast::FORBIDDING),
            strayed: latched.is_disjoint(doors::FORBIDDING),
        }
    }

    /// How high a bus stands that is neither dead nor full.
    const fn height(self) -> bool {
        match self.stage {
            Stage::Draining | Stage::Closing | Stage::Live => true,
            Stage::Dead | Stage::Checking | Stage::Precharging | Stage::Opening => false,
        }
    }
}

/// Controls and the airspeed: what they may say depends on hands and air.
pub const OF_HANDS: Cases = enum_set!(
    Trouble::ThrottleA
        | Trouble::ThrottleB
        | Trouble::StopA
        | Trouble::StopB
        | Trouble::BenchKey
        | Trouble::AuxContact
        | Trouble::Airspeed
);
/// What may make a mast move, or seem to, otherwise than it is driven.
const STRANGE: Cases = enum_set!(
    Trouble::MastPosition | Trouble::MastStuck | Trouble::MastReversed | Trouble::SpindleFree
);
/// What may make doors seem elsewhere than they were left.
const STRAYED: Cases =
    enum_set!(Trouble::LeftOpen | Trouble::RightOpen | Trouble::ShutSwitch | Trouble::DoorsStuck);
/// What tells of the blade.
const BLADE: Cases = enum_set!(Trouble::AngleA | Trouble::AngleB | Trouble::ShaftSpeed);
/// What may jam the mast.
const JAMMED: Cases = enum_set!(Trouble::MastStuck | Trouble::MastReversed);

/// What is read of.
#[derive(Clone, Copy, Debug)]
pub struct Read<'a> {
    /// The plant.
    pub plant: &'a Plant,
    /// The hands.
    pub hands: &'a Hands,
    /// What is broken.
    pub broken: Several,
    /// What counts.
    pub counts: Counts,
}

/// Calls `each` with everything that may be read, controls and the airspeed as they are, and
/// the cases in which it may.
pub fn each(read: &Read<'_>, mut each: impl FnMut(&Sensed, Cases)) {
    let clears = read.hands.acknowledge == Acknowledge::Held;
    let read = &Read {
        counts: Counts {
            strange: read.counts.strange || clears,
            strayed: read.counts.strayed || clears,
            ..read.counts
        },
        ..*read
    };
    let low = read.broken.with(Trouble::InsulationLow);
    for (insulated, cases) in [(true, read.broken.all() - low), (false, low)] {
        let sensed = sound(read.plant, read.hands, insulated);
        when(cases, &sensed, &mut |sensed, cases| {
            loads(read, sensed, cases, &mut |told, cases| {
                let mut more = |told: &Sensed, cases: Cases| {
                    motions(read, told, cases, &mut |told, cases| {
                        rests(read, told, cases, &mut |told, cases| {
                            proofs(read, told, cases, &mut each);
                        });
                    });
                };
                more(told, cases);
                lies(!OF_HANDS, read, told, cases, &mut more);
            });
        });
    }
}

/// Calls `each` with everything that controls and the airspeed may say beside what they ought
/// to, and the cases in which they may.
pub fn of_hands(read: &Read<'_>, truth: &Sensed, mut each: impl FnMut(&Sensed, Cases)) {
    lies(OF_HANDS, read, truth, read.broken.all(), &mut each);
}

/// Calls `each` if there is a case of it.
fn when(cases: Cases, told: &Sensed, each: &mut impl FnMut(&Sensed, Cases)) {
    if !cases.is_empty() {
        each(told, cases);
    }
}

/// Drives that press on an end, or that are jammed, may draw much current, or not yet.
fn loads(read: &Read<'_>, told: &Sensed, cases: Cases, each: &mut impl FnMut(&Sensed, Cases)) {
    each(told, cases);
    let Read {
        plant,
        broken,
        counts,
        ..
    } = *read;
    if counts.height() && plant.volts == Volts::Part {
        let mut told = *told;
        told.inputs.bus.voltage = Signal::fresh(Millivolts::new(PARTLY[1]));
        each(&told, cases);
    }
    let driven = |motion: Motion| matches!(motion, Motion::Driven(_));
    if driven(plant.door_motion) {
        let shut = plant.doors == super::plant::Doors::Shut;
        let presses = shut && plant.door_motion == Motion::Driven(Side::In);
        let stuck = broken.with(Trouble::DoorsStuck);
        let mut told = *told;
        told.inputs.doors.drive_current = Signal::fresh(LOADED);
        when(if presses { cases } else { cases & stuck }, &told, each);
    }
    if driven(plant.mast_motion) {
        let mut told = *told;
        told.inputs.mast.drive_current = Signal::fresh(LOADED);
        when(cases & broken.with_any(JAMMED), &told, each);
    }
    if plant.main && counts.stage == Stage::Live {
        let mut told = *told;
        told.inputs.bus.current = Signal::fresh(DRAWN);
        when(cases & broken.with(Trouble::MotorDisobeys), &told, each);
    }
    if counts.parked || counts.blade || counts.throttle {
        let mut told = *told;
        told.inputs.missed_deadline = true;
        when(cases & broken.with(Trouble::LateTicks), &told, each);
    }
}

/// Everything but the truth that may be told where these sensors may lie.
fn lies(
    liars: Cases,
    read: &Read<'_>,
    told: &Sensed,
    cases: Cases,
    each: &mut impl FnMut(&Sensed, Cases),
) {
    let of_cases = |told: &Sensed, each: &mut dyn FnMut(&Sensed, Cases)| {
        for case in cases & liars {
            told_by(case, read, told, &mut |told| each(told, case.into()));
        }
    };
    of_cases(told, each);
    let common = read.broken.common();
    if liars.contains(common) {
        told_by(common, read, told, &mut |told| {
            each(told, cases);
            of_cases(told, each);
        });
    }
}

/// Everything that a broken sensor may say but the truth.
fn told_by(trouble: Trouble, read: &Read<'_>, told: &Sensed, each: &mut impl FnMut(&Sensed)) {
    let Read { plant, counts, .. } = *read;
    let inputs = &told.inputs;
    macro_rules! say {
        ($($field:ident).+ : $($value:expr),*) => {{
            let truth = inputs.$($field).+;
            for value in [$($value),*] {
                if value != truth.raw() {
                    let mut told = *told;
                    told.inputs.$($field).+ = Signal::fresh(value);
                    each(&told);
                }
            }
            let mut told = *told;
            told.inputs.$($field).+ = truth.invalidated();
            each(&told);
        }};
    }
    let driven = |motion: Motion| matches!(motion, Motion::Driven(_));
    match trouble {
        // Beside a switch that shows, the position stands at that end, nearly so, or
        // against it; beside none it is clear of the bay or not.
        Trouble::MastPosition => match plant.mast {
            Mast::Stowed => say!(mast.position: Permille::ZERO, NEARLY_STOWED, Permille::new(800)),
            Mast::Inside | Mast::Brink | Mast::Edge | Mast::Clear => {
                say!(mast.position: Permille::new(300), Permille::new(800));
            }
            Mast::Deployed | Mast::Locked => {
                say!(mast.position: Permille::new(300), NEARLY_DEPLOYED, Permille::FULL);
            }
        },
        Trouble::StowedSwitch => say!(mast.stowed_switch: false, true),
        Trouble::DeployedSwitch => say!(mast.deployed_switch: false, true),
        Trouble::LockSwitch => say!(mast.lock_switch: false, true),
        Trouble::MastCurrent if driven(plant.mast_motion) => say!(mast.drive_current: LOADED),
        Trouble::MastCurrent => say!(mast.drive_current: Milliamps::ZERO),
        Trouble::LeftOpen => say!(doors.left_open: false, true),
        Trouble::RightOpen => say!(doors.right_open: false, true),
        Trouble::ShutSwitch => say!(doors.shut: false, true),
        Trouble::DoorCurrent if driven(plant.door_motion) => {
            say!(doors.drive_current: Milliamps::ZERO, LOADED);
        }
        Trouble::DoorCurrent => say!(doors.drive_current: Milliamps::ZERO),
        Trouble::AngleA if counts.blade => {
            let [one, other] = angles(plant.place);
            say!(propeller.angle_a: one, other);
        }
        Trouble::AngleB if counts.blade => {
            let [one, other] = angles(plant.place);
            say!(propeller.angle_b: one, other);
        }
        // What is not heard is not slow, as what is fast.
        Trouble::ShaftSpeed if counts.blade => {
            say!(propeller.speed: Rpm::ZERO, rpm(Pace::Slow));
        }
        Trouble::BusVoltage => match counts.stage {
            Stage::Dead | Stage::Checking => say!(bus.voltage: millivolts(Volts::Dead), FULL),
            Stage::Precharging | Stage::Opening => {
                say!(bus.voltage: Millivolts::new(PARTLY[0]), FULL);
            }
            Stage::Draining => {
                let [low, high] = PARTLY.map(Millivolts::new);
                say!(bus.voltage: millivolts(Volts::Dead), low, high, FULL);
            }
            Stage::Closing | Stage::Live => {
                let [low, high] = PARTLY.map(Millivolts::new);
                say!(bus.voltage: low, high, FULL, ABOVE);
            }
        },
        // What is not heard has not faded.
        Trouble::BusCurrent => match counts.stage {
            Stage::Precharging => say!(bus.current: IDLE, SURGE),
            Stage::Opening | Stage::Live => say!(bus.current: IDLE, DRAWN),
            Stage::Draining | Stage::Dead | Stage::Checking | Stage::Closing => {}
        },
        Trouble::InsulationMonitor => match counts.stage {
            Stage::Checking | Stage::Precharging => say!(bus.insulation: KiloOhms::new(50)),
            Stage::Draining | Stage::Dead | Stage::Closing | Stage::Live | Stage::Opening => {}
        },
        Trouble::MainFeedback => say!(bus.main_feedback: false, true),
        Trouble::Pack1Voltage | Trouble::Pack2Voltage if counts.stage != Stage::Dead => {
            packs(trouble, told, each);
        }
        Trouble::ThrottleA if counts.throttle => {
            say!(controls.throttle_a: Permille::ZERO, Permille::new(600));
            barely_open(told, each);
        }
        Trouble::ThrottleB if counts.throttle => {
            say!(controls.throttle_b: Permille::ZERO, Permille::new(600));
            barely_open(told, each);
        }
        Trouble::StopA => say!(controls.stop_a: false, true),
        Trouble::StopB => say!(controls.stop_b: false, true),
        Trouble::BenchKey if counts.key => say!(controls.bench_key: false, true),
        Trouble::AuxContact if counts.charge => say!(controls.aux_charge: false, true),
        // What is not heard permits no more than fast air.
        Trouble::Airspeed if counts.air => {
            say!(airspeed: airspeed(Air::Calm), airspeed(Air::Within));
        }
        Trouble::AngleA
        | Trouble::AngleB
        | Trouble::ShaftSpeed
        | Trouble::Pack1Voltage
        | Trouble::Pack2Voltage
        | Trouble::ThrottleA
        | Trouble::ThrottleB
        | Trouble::BenchKey
        | Trouble::AuxContact
        | Trouble::Airspeed
        | Trouble::None
        // Read with the pushes of a step.
        | Trouble::SelectHold
        | Trouble::SelectDeploy
        | Trouble::SelectStow
        | Trouble::SelectorLingers
        | Trouble::MastStuck
        | Trouble::MastReversed
        | Trouble::SpindleFree
        | Trouble::DoorsStuck
        | Trouble::MotorDead
        | Trouble::MotorDisobeys
        | Trouble::BladeTurned
        | Trouble::MainWelded
        | Trouble::MainStuckOpen
        | Trouble::PrechargeOpen
        | Trouble::DischargeOpen
        | Trouble::PacksOff
        | Trouble::InsulationLow
        | Trouble::LateTicks
        | Trouble::PowerCut => {}
    }
}

/// Positions beside an end switch that prove nothing, and contradict nothing.
const NEARLY_STOWED: Permille = Permille::new(25);
const NEARLY_DEPLOYED: Permille = Permille::new(970);
/// A full bus, and one above its range.
const FULL: Millivolts = millivolts(Volts::Full);
const ABOVE: Millivolts = Millivolts::new(480_000);

/// Angles beside which a blade at this place shows one thing or another: of two sources the
/// one that stands further off decides.
fn angles(place: BladePlace) -> [mastwright_core::units::CentiDegrees; 2] {
    match place {
        BladePlace::Window => [BladePlace::Near, BladePlace::Away],
        BladePlace::Near => [BladePlace::Window, BladePlace::Away],
        BladePlace::Away => [BladePlace::Away, BladePlace::Window],
    }
    .map(angle)
}

/// Beside a lever that is almost closed a track that lies by a little agrees with it, and is
/// open.
fn barely_open(told: &Sensed, each: &mut impl FnMut(&Sensed)) {
    let tracks = [
        told.inputs.controls.throttle_a,
        told.inputs.controls.throttle_b,
    ];
    if tracks.iter().all(|track| track.raw() == Permille::ZERO) {
        for (a, b) in [(20, 50), (50, 20)] {
            let mut told = *told;
            told.inputs.controls.throttle_a = Signal::fresh(Permille::new(a));
            told.inputs.controls.throttle_b = Signal::fresh(Permille::new(b));
            each(&told);
        }
    }
}

/// A pack's voltage sensor says too little by a lot, or by a little, too much by a little, or
/// nothing, as one that says far too little.
fn packs(trouble: Trouble, told: &Sensed, each: &mut impl FnMut(&Sensed)) {
    let index = usize::from(trouble == Trouble::Pack2Voltage);
    let truth = told.inputs.packs[index].voltage;
    for said in [
        Signal::fresh(Millivolts::new(300_000)),
        Signal::fresh(Millivolts::new(380_000)),
        Signal::fresh(Millivolts::new(440_000)),
        truth.invalidated(),
    ] {
        let mut told = *told;
        told.inputs.packs[index].voltage = said;
        each(&told);
    }
}

/// A sound mast that is driven follows, one at rest rests; what is broken may make it, or
/// let it seem to, do otherwise.
fn motions(read: &Read<'_>, told: &Sensed, cases: Cases, each: &mut impl FnMut(&Sensed, Cases)) {
    each(told, cases);
    if read.counts.strange && told.inputs.mast.position.is_valid() {
        let strange = Sensed {
            strange: true,
            ..*told
        };
        when(cases & read.broken.with_any(STRANGE), &strange, each);
    }
}

/// Sound doors rest where they were left; what is broken may make it seem otherwise.
fn rests(read: &Read<'_>, told: &Sensed, cases: Cases, each: &mut impl FnMut(&Sensed, Cases)) {
    each(told, cases);
    if read.counts.strayed && read.plant.door_motion == Motion::Rest {
        let shut = told.inputs.doors.shut.raw();
        let strayed = Sensed {
            strayed_from: Some(if shut { Place::Open } else { Place::Shut }),
            ..*told
        };
        when(cases & read.broken.with_any(STRAYED), &strayed, each);
    }
}

/// A blade that is in its window, at rest or just beginning to move, may have been there
/// for the proof time, or not. One that keeps moving leaves the window before, unless a
/// source lies.
fn proofs(read: &Read<'_>, told: &Sensed, cases: Cases, each: &mut impl FnMut(&Sensed, Cases)) {
    each(told, cases);
    if read.counts.parked {
        let parked = Sensed {
            parked: true,
            ..*told
        };
        let lies = cases & read.broken.with_any(BLADE);
        let in_window = read.plant.place == BladePlace::Window;
        when(if in_window { cases } else { lies }, &parked, each);
    }
}
