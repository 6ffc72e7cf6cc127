//! What sound sensors tell the controller of an abstract world: for each class one reading.

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
use super::plant::{Doors, Mast, Motion, Pace, Place as BladePlace, Plant, Volts};

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
pub(super) const IDLE: Milliamps = Milliamps::new(100);
pub(super) const LOADED: Milliamps = Milliamps::new(40_000);
pub(super) const DRAWN: Milliamps = Milliamps::new(100_000);
pub(super) const SURGE: Milliamps = Milliamps::new(4_000);
const RUNNING: Milliamps = Milliamps::new(8_000);

/// Readings of a bus that is neither dead nor full: below and above what it takes to be
/// in use, and to be taken for fed.
pub(super) const PARTLY: [i32; 2] = [150_000, 330_000];

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

pub(super) const fn angle(place: BladePlace) -> CentiDegrees {
    CentiDegrees::new(match place {
        BladePlace::Window => 0,
        BladePlace::Near => 650,
        BladePlace::Away => 4_500,
    })
}

pub(super) const fn rpm(pace: Pace) -> Rpm {
    Rpm::new(match pace {
        Pace::Still => 0,
        Pace::Slow => 20,
        Pace::Fast => 1_000,
    })
}

pub(super) const fn millivolts(volts: Volts) -> Millivolts {
    Millivolts::new(match volts {
        Volts::Dead => 0,
        Volts::Part => PARTLY[0],
        Volts::Full => 400_000,
    })
}

/// What sound sensors read; `insulated`: the bus is, in truth.
#[must_use]
pub fn sound(plant: &Plant, hands: &Hands, insulated: bool) -> Sensed {
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
            insulation: Signal::fresh(KiloOhms::new(if insulated { 1_000 } else { 50 })),
            main_feedback: Signal::fresh(plant.main),
        },
        packs: [pack, pack],
        thermal: ThermalSensors {
            motor: Signal::fresh(heat(hands.heat)),
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

/// The same readings of everything but the hands, the air and the heat.
#[must_use]
pub fn under(sensed: &Sensed, hands: &Hands) -> Sensed {
    let mut sensed = *sensed;
    sensed.inputs.controls = controls(hands);
    sensed.inputs.airspeed = Signal::fresh(airspeed(hands.air));
    sensed.inputs.thermal.motor = Signal::fresh(heat(hands.heat));
    sensed.selector = hands.selector.selector();
    sensed
}

const fn heat(heat: Heat) -> DeciCelsius {
    DeciCelsius::new(match heat {
        Heat::Cool => 300,
        Heat::Hot => 1_225,
        Heat::TooHot => 1_350,
    })
}

pub(super) const fn airspeed(air: Air) -> DeciMetresPerSecond {
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
