//! What the controller is told of an abstract world: for each class one reading, and for
//! a broken sensor every reading that a guard tells from another.

use mastwright_core::Inputs;
use mastwright_core::command::Selector;
use mastwright_core::doors::Place;
use mastwright_core::inputs::{
    BusSensors, Controls, DoorSensors, MastSensors, PackSensors, PropellerSensors, ThermalSensors,
};
use mastwright_core::signal::Signal;
use mastwright_core::units::{
    CentiDegrees, DeciCelsius, DeciMetresPerSecond, KiloOhms, Milliamps, Millivolts, Permille, Rpm,
};

use super::hands::{Air, Hands, Heat, Push};
use super::memory::Acknowledge;
use super::plant::{Doors, Mast, Motion, Pace, Place as BladePlace, Plant, Side, Volts};
use super::trouble::{Trouble, Troubles};

/// What is read in one step.
#[derive(Clone, Copy, Debug)]
pub struct Sensed {
    /// The readings.
    pub inputs: Inputs,
    /// The mast's motion is judged in this step, and is not as it should be.
    pub strange: bool,
    /// Where the doors were left, if they are found elsewhere in this step.
    pub strayed_from: Option<Place>,
    /// The blade has been parked for its proof time.
    pub parked: bool,
    /// What counted of the selector before, where that is not remembered.
    pub counted: Option<Selector>,
    /// What the selector reads and settles on.
    pub selector: Selector,
}

const PACK: Millivolts = Millivolts::new(400_000);
const IDLE: Milliamps = Milliamps::new(100);
const LOADED: Milliamps = Milliamps::new(40_000);
const DRAWN: Milliamps = Milliamps::new(100_000);
const SURGE: Milliamps = Milliamps::new(4_000);
const RUNNING: Milliamps = Milliamps::new(8_000);

/// Readings of a bus that is neither dead nor full: below and above what it takes to be
/// in use, and to be taken for fed.
const PARTLY: [i32; 2] = [150_000, 330_000];

const fn permille(mast: Mast) -> Permille {
    Permille::new(match mast {
        Mast::Stowed => 0,
        Mast::Inside => 300,
        Mast::Brink => 612,
        Mast::Edge => 637,
        Mast::Clear => 800,
        Mast::Deployed => 990,
        Mast::Locked => 1000,
    })
}

const fn angle(place: BladePlace) -> CentiDegrees {
    CentiDegrees::new(match place {
        BladePlace::Window => 0,
        BladePlace::Near => 650,
        BladePlace::Away => 4_500,
    })
}

const fn rpm(pace: Pace) -> Rpm {
    Rpm::new(match pace {
        Pace::Still => 0,
        Pace::Slow => 20,
        Pace::Fast => 1_000,
    })
}

const fn millivolts(volts: Volts) -> Millivolts {
    Millivolts::new(match volts {
        Volts::Dead => 0,
        Volts::Part => PARTLY[0],
        Volts::Full => 400_000,
    })
}

/// Calls `each` with everything that may be read of `plant` and `hands`.
pub fn each(plant: &Plant, hands: &Hands, troubles: Troubles, mut each: impl FnMut(&Sensed)) {
    let [one, other] = troubles.both();
    let sensed = sound(plant, hands, troubles);
    loads(plant, troubles, &sensed, &mut |loaded| {
        lies(one, loaded, &mut |told| {
            lies(other, told, &mut |told| {
                motions(troubles, told, &mut |told| {
                    rests(plant, troubles, told, &mut |told| {
                        proofs(plant, told, &mut each);
                    });
                });
            });
        });
    });
}

/// What sound sensors read.
#[must_use]
pub fn sound(plant: &Plant, hands: &Hands, troubles: Troubles) -> Sensed {
    let position = permille(plant.mast);
    let pack = PackSensors {
        voltage: Signal::fresh(PACK),
        temperature: Signal::fresh(DeciCelsius::new(200)),
        charge: Signal::fresh(Permille::new(800)),
    };
    let inputs = Inputs {
        controls: controls(hands),
        mast: MastSensors {
            position: Signal::fresh(position),
            stowed_switch: Signal::fresh(plant.mast == Mast::Stowed),
            deployed_switch: Signal::fresh(plant.mast >= Mast::Deployed),
            lock_switch: Signal::fresh(plant.mast == Mast::Locked),
            drive_current: Signal::fresh(match plant.mast_motion {
                Motion::Driven(_) => RUNNING,
                Motion::Rest | Motion::Coasts(_) => Milliamps::ZERO,
            }),
        },
        doors: DoorSensors {
            left_open: Signal::fresh(plant.doors == Doors::Open),
            right_open: Signal::fresh(plant.doors == Doors::Open),
            shut: Signal::fresh(plant.doors == Doors::Shut),
            drive_current: Signal::fresh(match plant.door_motion {
                Motion::Driven(_) => RUNNING,
                Motion::Rest | Motion::Coasts(_) => Milliamps::ZERO,
            }),
        },
        propeller: PropellerSensors {
            angle_a: Signal::fresh(angle(plant.place)),
            angle_b: Signal::fresh(angle(plant.place)),
            speed: Signal::fresh(rpm(plant.pace)),
        },
        bus: BusSensors {
            voltage: Signal::fresh(millivolts(plant.volts)),
            current: Signal::fresh(bus_current(plant)),
            insulation: Signal::fresh(KiloOhms::new(if troubles.has(Trouble::InsulationLow) {
                50
            } else {
                1_000
            })),
            main_feedback: Signal::fresh(plant.main),
        },
        packs: [pack, pack],
        thermal: ThermalSensors {
            motor: Signal::fresh(DeciCelsius::new(match hands.heat {
                Heat::Cool => 300,
                Heat::Hot => 1_225,
                Heat::TooHot => 1_350,
            })),
            controller: Signal::fresh(DeciCelsius::new(300)),
            fans_turning: Signal::fresh(true),
        },
        auxiliary: Signal::fresh(Millivolts::new(12_500)),
        airspeed: Signal::fresh(airspeed(hands.air)),
        missed_deadline: false,
    };
    Sensed {
        inputs,
        strange: false,
        strayed_from: None,
        parked: false,
        counted: None,
        selector: hands.selector.selector(),
    }
}

const fn airspeed(air: Air) -> DeciMetresPerSecond {
    DeciMetresPerSecond::new(match air {
        Air::Calm => 0,
        Air::Within => 200,
        Air::Fast => 350,
    })
}

fn bus_current(plant: &Plant) -> Milliamps {
    if plant.main && plant.torque {
        DRAWN
    } else if plant.volts == Volts::Full {
        IDLE
    } else {
        SURGE
    }
}

fn controls(hands: &Hands) -> Controls {
    let throttle = Signal::fresh(Permille::new(if hands.throttle { 600 } else { 0 }));
    let pressed = hands.acknowledge != Acknowledge::Up;
    Controls {
        throttle_a: throttle,
        throttle_b: throttle,
        select_hold: Signal::fresh(hands.selector == Push::Hold),
        select_deploy: Signal::fresh(hands.selector == Push::Deploy),
        select_stow: Signal::fresh(hands.selector == Push::Stow),
        stop_a: Signal::fresh(hands.stop),
        stop_b: Signal::fresh(hands.stop),
        bench_key: Signal::fresh(hands.key),
        acknowledge: Signal::fresh(pressed),
        acknowledge_rest: Signal::fresh(!pressed),
        aux_charge: Signal::fresh(hands.aux),
        aux_charge_off: Signal::fresh(!hands.aux),
    }
}

/// Drives that press on an end, or that are jammed, may draw much current, or not yet.
fn loads(plant: &Plant, troubles: Troubles, told: &Sensed, each: &mut impl FnMut(&Sensed)) {
    each(told);
    if plant.volts == Volts::Part {
        let mut told = *told;
        told.inputs.bus.voltage = Signal::fresh(Millivolts::new(PARTLY[1]));
        each(&told);
    }
    let driven = |motion: Motion| matches!(motion, Motion::Driven(_));
    let presses = plant.doors == Doors::Shut && plant.door_motion == Motion::Driven(Side::In);
    let doors = presses || (troubles.has(Trouble::DoorsStuck) && driven(plant.door_motion));
    let jammed = troubles.has(Trouble::MastStuck) || troubles.has(Trouble::MastReversed);
    if doors {
        let mut told = *told;
        told.inputs.doors.drive_current = Signal::fresh(LOADED);
        each(&told);
    }
    if jammed && driven(plant.mast_motion) {
        let mut told = *told;
        told.inputs.mast.drive_current = Signal::fresh(LOADED);
        each(&told);
    }
    if troubles.has(Trouble::MotorDisobeys) && plant.main {
        let mut told = *told;
        told.inputs.bus.current = Signal::fresh(DRAWN);
        each(&told);
    }
    if troubles.has(Trouble::LateTicks) {
        let mut told = *told;
        told.inputs.missed_deadline = true;
        each(&told);
    }
}

/// Everything that a broken sensor may say, the truth among it.
fn lies(trouble: Trouble, told: &Sensed, each: &mut impl FnMut(&Sensed)) {
    each(told);
    let inputs = &told.inputs;
    macro_rules! say {
        ($($field:ident).+ : $($value:expr),+) => {{
            let truth = inputs.$($field).+;
            for value in [$($value),+] {
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
    let masts = Mast::ALL.map(permille);
    let places = [BladePlace::Window, BladePlace::Near, BladePlace::Away].map(angle);
    let volts = Volts::ALL.map(millivolts);
    match trouble {
        Trouble::MastPosition => {
            say!(mast.position: masts[0], masts[1], masts[4], masts[6]);
        }
        Trouble::StowedSwitch => say!(mast.stowed_switch: false, true),
        Trouble::DeployedSwitch => say!(mast.deployed_switch: false, true),
        Trouble::LockSwitch => say!(mast.lock_switch: false, true),
        Trouble::MastCurrent => say!(mast.drive_current: Milliamps::ZERO, LOADED),
        Trouble::LeftOpen => say!(doors.left_open: false, true),
        Trouble::RightOpen => say!(doors.right_open: false, true),
        Trouble::ShutSwitch => say!(doors.shut: false, true),
        Trouble::DoorCurrent => say!(doors.drive_current: Milliamps::ZERO, LOADED),
        Trouble::AngleA => say!(propeller.angle_a: places[0], places[1], places[2]),
        Trouble::AngleB => say!(propeller.angle_b: places[0], places[1], places[2]),
        Trouble::ShaftSpeed => {
            say!(propeller.speed: Rpm::ZERO, rpm(Pace::Slow), rpm(Pace::Fast));
        }
        Trouble::BusVoltage => {
            say!(bus.voltage: volts[0], volts[1], Millivolts::new(PARTLY[1]), volts[2])
        }
        Trouble::BusCurrent => say!(bus.current: IDLE, SURGE, DRAWN),
        Trouble::InsulationMonitor => {
            say!(bus.insulation: KiloOhms::new(50), KiloOhms::new(1_000));
        }
        Trouble::MainFeedback => say!(bus.main_feedback: false, true),
        Trouble::Pack1Voltage | Trouble::Pack2Voltage => {
            packs(trouble, told, each);
        }
        Trouble::ThrottleA => say!(controls.throttle_a: Permille::ZERO, Permille::new(600)),
        Trouble::ThrottleB => say!(controls.throttle_b: Permille::ZERO, Permille::new(600)),
        Trouble::SelectHold => say!(controls.select_hold: false, true),
        Trouble::SelectDeploy => say!(controls.select_deploy: false, true),
        Trouble::SelectStow => say!(controls.select_stow: false, true),
        Trouble::StopA => say!(controls.stop_a: false, true),
        Trouble::StopB => say!(controls.stop_b: false, true),
        Trouble::BenchKey => say!(controls.bench_key: false, true),
        Trouble::AuxContact => say!(controls.aux_charge: false, true),
        Trouble::Airspeed => {
            say!(airspeed: airspeed(Air::Calm), airspeed(Air::Within), airspeed(Air::Fast));
        }
        Trouble::None
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

/// A pack's voltage sensor says too little, too much by a little, or nothing.
fn packs(trouble: Trouble, told: &Sensed, each: &mut impl FnMut(&Sensed)) {
    let index = usize::from(trouble == Trouble::Pack2Voltage);
    let truth = told.inputs.packs[index].voltage;
    for said in [
        Signal::fresh(Millivolts::new(250_000)),
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
fn motions(troubles: Troubles, told: &Sensed, each: &mut impl FnMut(&Sensed)) {
    each(told);
    let strange = [
        Trouble::MastPosition,
        Trouble::MastStuck,
        Trouble::MastReversed,
        Trouble::SpindleFree,
    ]
    .iter()
    .any(|&trouble| troubles.has(trouble));
    if strange {
        each(&Sensed {
            strange: true,
            ..*told
        });
    }
}

/// Sound doors rest where they were left; what is broken may make it seem otherwise.
fn rests(plant: &Plant, troubles: Troubles, told: &Sensed, each: &mut impl FnMut(&Sensed)) {
    each(told);
    let doubtful = [
        Trouble::LeftOpen,
        Trouble::RightOpen,
        Trouble::ShutSwitch,
        Trouble::DoorsStuck,
    ]
    .iter()
    .any(|&trouble| troubles.has(trouble));
    if doubtful && plant.door_motion == Motion::Rest {
        let shut = told.inputs.doors.shut.raw();
        each(&Sensed {
            strayed_from: Some(if shut { Place::Open } else { Place::Shut }),
            ..*told
        });
    }
}

/// A blade that is in its window, at rest or just beginning to move, may have been there
/// for the proof time, or not. One that keeps moving leaves the window before.
fn proofs(plant: &Plant, told: &Sensed, each: &mut impl FnMut(&Sensed)) {
    each(told);
    if plant.place == BladePlace::Window {
        each(&Sensed {
            parked: true,
            ..*told
        });
    }
}
