//! The readings each condition rests on, and what they say.
//!
//! It explains; it proves nothing. Whether a condition holds is read from the outputs,
//! where the controller tells it; a reading here only says where to look.

use mastwright_core::fault::Faults;
use mastwright_core::inputs::PackSensors;
use mastwright_core::interlock::Condition;
use mastwright_core::outputs::Motor;
use mastwright_core::signal::{Age, Signal};
use mastwright_core::units::{CentiDegrees, DeciCelsius, Milliamps, Millivolts, Permille, Rpm};
use mastwright_core::{Config, Fault, State, bus, doors, mast};

use super::number::{celsius, volts};
use crate::frame::Frame;
use crate::report::words;

/// How a reading bears on a condition.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Speaks {
    /// It supports the condition.
    For,
    /// It denies it.
    Against,
    /// It is too old, or its source is silent.
    Unheard,
}

/// One reading a condition rests on.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Witness {
    /// Which reading.
    pub name: &'static str,
    /// What it says.
    pub says: String,
    /// How that bears on the condition.
    pub speaks: Speaks,
}

impl Witness {
    fn new(name: &'static str, says: impl Into<String>, supports: bool) -> Self {
        Self {
            name,
            says: says.into(),
            speaks: if supports {
                Speaks::For
            } else {
                Speaks::Against
            },
        }
    }

    /// The reading in words.
    #[must_use]
    pub fn words(&self) -> String {
        format!("{} {}", self.name, self.says)
    }
}

/// Says why a signal proves nothing, or nothing if it is heard.
#[must_use]
pub fn unheard<T: Copy>(signal: &Signal<T>, limit: Age) -> Option<String> {
    if !signal.is_valid() {
        Some("silent".to_owned())
    } else if signal.age() > limit {
        let age = u32::from(signal.age().ticks()) * 10;
        let over = if signal.age() == Age::OLDEST {
            "over "
        } else {
            ""
        };
        Some(format!("stale {over}{age} ms"))
    } else {
        None
    }
}

/// Collects the readings of one condition.
struct Court<'a> {
    frame: &'a Frame,
    config: &'a Config,
    witnesses: Vec<Witness>,
}

impl Court<'_> {
    fn hear<T: Copy>(
        &mut self,
        name: &'static str,
        signal: &Signal<T>,
        says: impl FnOnce(T) -> String,
        supports: impl FnOnce(T) -> bool,
    ) {
        let witness = match unheard(signal, self.config.stale_after) {
            Some(says) => Witness {
                name,
                says,
                speaks: Speaks::Unheard,
            },
            None => Witness::new(name, says(signal.raw()), supports(signal.raw())),
        };
        self.witnesses.push(witness);
    }

    fn state(&mut self, name: &'static str, says: impl Into<String>, supports: bool) {
        self.witnesses.push(Witness::new(name, says, supports));
    }

    /// A switch and what it should say.
    fn switch(&mut self, name: &'static str, signal: &Signal<bool>, wanted: bool) {
        let says = |closed: bool| if closed { "closed" } else { "open" }.to_owned();
        self.hear(name, signal, says, |closed| closed == wanted);
    }

    fn position(&mut self, supports: impl FnOnce(Permille) -> bool) {
        let position = self.frame.inputs.mast.position;
        self.hear("mast position", &position, percent, supports);
    }

    fn stowed_switch(&mut self, wanted: bool) {
        let switch = self.frame.inputs.mast.stowed_switch;
        self.switch("stowed switch", &switch, wanted);
    }

    fn deployed_switch(&mut self) {
        let switch = self.frame.inputs.mast.deployed_switch;
        self.switch("deployed switch", &switch, true);
    }

    fn lock_switch(&mut self) {
        let switch = self.frame.inputs.mast.lock_switch;
        self.switch("lock switch", &switch, true);
    }

    fn mast(&mut self) {
        let mast = self.frame.inputs.mast;
        self.position(|_| true);
        let says = |closed: bool| if closed { "closed" } else { "open" }.to_owned();
        self.hear("stowed switch", &mast.stowed_switch, says, |_| true);
        self.hear("deployed switch", &mast.deployed_switch, says, |_| true);
        self.hear("lock switch", &mast.lock_switch, says, |_| true);
        self.hear("drive current", &mast.drive_current, amperes, |_| true);
    }

    fn doors(&mut self, open: bool) {
        let doors = self.frame.inputs.doors;
        self.switch("left open switch", &doors.left_open, open);
        self.switch("right open switch", &doors.right_open, open);
        self.switch("shut switch", &doors.shut, !open);
    }

    /// Both blade angle sources, each as its distance from the park angle.
    fn off_park(&mut self, window: CentiDegrees) {
        let sensors = self.frame.inputs.propeller;
        let says = |angle: CentiDegrees| format!("{:+.1}° off park", degrees(angle.off_park()));
        let near = |angle: CentiDegrees| angle.off_park().magnitude() <= window;
        self.hear("source A", &sensors.angle_a, says, near);
        self.hear("source B", &sensors.angle_b, says, near);
    }

    fn angles(&mut self) {
        let sensors = self.frame.inputs.propeller;
        let says = |angle: CentiDegrees| format!("{:.1}°", degrees(angle));
        let agree = sensors.angle_a.raw().apart(sensors.angle_b.raw()) <= self.config.blade_agree;
        self.hear("source A", &sensors.angle_a, says, |_| agree);
        self.hear("source B", &sensors.angle_b, says, |_| agree);
    }

    fn shaft(&mut self, most: Rpm) {
        let speed = self.frame.inputs.propeller.speed;
        let says = |speed: Rpm| format!("{} rpm", speed.get());
        self.hear("shaft", &speed, says, |speed| speed.magnitude() <= most);
    }

    fn latched(&mut self, forbidding: Faults) {
        for fault in self.frame.outputs.indications.faults & forbidding {
            self.state("latched:", words::fault(fault), false);
        }
    }

    fn bus_voltage(&mut self, supports: impl FnOnce(Millivolts) -> bool) {
        let voltage = self.frame.inputs.bus.voltage;
        self.hear("bus", &voltage, volts, supports);
    }

    fn bus_current(&mut self, most: Milliamps) {
        let current = self.frame.inputs.bus.current;
        let fits = |current: Milliamps| current.magnitude() <= most;
        self.hear("bus current", &current, amperes, fits);
    }

    fn main_contactor(&mut self, closed: bool) {
        let feedback = self.frame.inputs.bus.main_feedback;
        self.switch("main contactor", &feedback, closed);
    }

    fn pack(&mut self, name: &'static str, pack: PackSensors) {
        let config = self.config;
        let fits = |voltage| config.pack_min <= voltage && voltage <= config.pack_max;
        self.hear(name, &pack.voltage, volts, fits);
        let charged = |charge| charge > config.charge_empty;
        self.hear("charge", &pack.charge, percent, charged);
    }

    fn temperature(&mut self, name: &'static str, signal: Signal<DeciCelsius>, stop: DeciCelsius) {
        self.hear(name, &signal, celsius, |temperature| temperature < stop);
    }

    fn temperatures(&mut self) {
        let (inputs, config) = (self.frame.inputs, self.config);
        let [first, second] = inputs.packs;
        self.temperature("motor", inputs.thermal.motor, config.motor_stop);
        self.temperature(
            "controller",
            inputs.thermal.controller,
            config.controller_stop,
        );
        self.temperature("pack 1", first.temperature, config.pack_stop);
        self.temperature("pack 2", second.temperature, config.pack_stop);
    }

    fn throttle(&mut self, supports: impl Fn(Permille) -> bool) {
        let controls = self.frame.inputs.controls;
        self.hear("throttle A", &controls.throttle_a, percent, &supports);
        self.hear("throttle B", &controls.throttle_b, percent, &supports);
    }

    fn stop(&mut self) {
        let controls = self.frame.inputs.controls;
        let says = |thrown: bool| if thrown { "thrown" } else { "released" }.to_owned();
        self.hear("stop contact A", &controls.stop_a, says, |thrown| !thrown);
        self.hear("stop contact B", &controls.stop_b, says, |thrown| !thrown);
    }

    fn airspeed(&mut self) {
        let config = self.config;
        let says = |speed: mastwright_core::units::DeciMetresPerSecond| {
            format!("{:.1} m/s", f64::from(speed.get()) / 10.0)
        };
        let airspeed = self.frame.inputs.airspeed;
        let fits = |speed| speed <= config.mast_airspeed_max;
        self.hear("airspeed", &airspeed, says, fits);
    }

    fn auxiliary(&mut self) {
        let config = self.config;
        let inputs = self.frame.inputs;
        self.switch("charge request", &inputs.controls.aux_charge, true);
        let says = |voltage: Millivolts| format!("{:.1} V", f64::from(voltage.get()) / 1000.0);
        let wants = |voltage| voltage < config.aux_full;
        self.hear("auxiliary", &inputs.auxiliary, says, wants);
    }
}

/// The readings a condition rests on, in the tick shown. A condition that only waits for
/// time has none.
#[must_use]
pub fn witnesses(condition: Condition, frame: &Frame, config: &Config) -> Vec<Witness> {
    let mut court = Court {
        frame,
        config,
        witnesses: Vec::new(),
    };
    let c = &mut court;
    let [first, second] = frame.inputs.packs;
    match condition {
        Condition::MastConsistent => c.mast(),
        Condition::MastHealthy => c.latched(mast::FORBIDDING),
        Condition::MastStowed => {
            c.stowed_switch(true);
            c.position(|position| position <= config.mast_stowed_max);
        }
        Condition::MastClear => {
            c.position(|position| position >= config.mast_clear_min);
            c.stowed_switch(false);
        }
        Condition::MastDeployed => {
            c.deployed_switch();
            c.position(|position| position >= config.mast_deployed_min);
        }
        Condition::MastLocked => {
            c.lock_switch();
            c.deployed_switch();
            c.position(|position| position >= config.mast_deployed_min);
        }
        Condition::ExtendRested
        | Condition::RetractRested
        | Condition::OpenRested
        | Condition::CloseRested => {}
        Condition::DoorsOpen => c.doors(true),
        Condition::DoorsShut => c.doors(false),
        Condition::DoorsHealthy => c.latched(doors::FORBIDDING),
        Condition::BladeKnown => {
            c.off_park(CentiDegrees::MAX);
            c.shaft(Rpm::MAX);
        }
        Condition::BladeAgrees => c.angles(),
        Condition::BladeNearPark => c.off_park(config.hold_capture),
        Condition::BladeInPlace => c.off_park(config.park_window),
        Condition::ShaftSlow => c.shaft(config.shaft_slow),
        Condition::Parked => {
            c.off_park(config.park_window);
            c.shaft(config.shaft_still);
        }
        Condition::Restrained => c.state("crew", "has not confirmed it", false),
        Condition::TorqueOff => match frame.outputs.drives.motor {
            Motor::Thrust(share) => c.state("thrust", percent(share), false),
            Motor::Free | Motor::Short | Motor::Brake(_) | Motor::Creep(_) | Motor::Hold(_) => {
                c.state("thrust", "off", true);
            }
        },
        Condition::MotorObeys => {
            c.latched(Fault::MotorUnasked.into());
            c.bus_current(config.motor_idle_current);
        }
        Condition::BusDead => c.bus_voltage(|voltage| voltage < config.high_voltage),
        Condition::BusLive => {
            c.bus_voltage(|voltage| config.bus_min <= voltage && voltage <= config.bus_max);
            c.main_contactor(true);
        }
        Condition::Precharged => {
            c.bus_voltage(|voltage| {
                let packs = [first, second].map(|pack| pack.voltage.proven(config.stale_after));
                let best = packs.into_iter().flatten().max();
                best.is_some_and(|pack| voltage >= pack.share(config.precharge_share))
            });
        }
        Condition::InrushFaded => c.bus_current(config.inrush_max),
        Condition::MainOpen => c.main_contactor(false),
        Condition::MainClosed => c.main_contactor(true),
        Condition::BusHealthy => c.latched(bus::FORBIDDING),
        Condition::InsulationOk => {
            let says = |ohms: mastwright_core::units::KiloOhms| format!("{} kohm", ohms.get());
            let fits = |ohms| ohms >= config.insulation_min;
            c.hear("insulation", &frame.inputs.bus.insulation, says, fits);
        }
        Condition::Pack1Usable => c.pack("pack 1", first),
        Condition::Pack2Usable => c.pack("pack 2", second),
        Condition::CoolEnough => c.temperatures(),
        Condition::ThrottleProven => c.throttle(|_| true),
        Condition::ThrottleZero => c.throttle(|share| share <= config.throttle_zero),
        // The throttle arms only where thrust is awaited; elsewhere the state denies it.
        Condition::Armed => match frame.outputs.indications.state {
            State::Deployed | State::Armed | State::Thrust => {
                c.throttle(|share| share <= config.throttle_zero);
            }
            State::Waking
            | State::Resting
            | State::Stowed
            | State::DeployPower
            | State::DeployPark
            | State::DeployDoors
            | State::DeployMast
            | State::StowPower
            | State::StowBrake
            | State::StowPark
            | State::StowProve
            | State::StowMast
            | State::StowDoors
            | State::Jog
            | State::Halted(_)
            | State::Bench => c.state("state", frame.outputs.indications.state.name(), false),
        },
        Condition::StopReleased => c.stop(),
        Condition::AirspeedInRange => c.airspeed(),
        Condition::AuxWanted => c.auxiliary(),
        Condition::NotBench => c.switch("bench key", &frame.inputs.controls.bench_key, false),
        Condition::OnTime => c.state("board", on_time(frame), !frame.inputs.missed_deadline),
    }
    court.witnesses
}

const fn on_time(frame: &Frame) -> &'static str {
    if frame.inputs.missed_deadline {
        "missed a deadline"
    } else {
        "on time"
    }
}

/// A condition in a few positive words.
#[must_use]
pub const fn condition(condition: Condition) -> &'static str {
    match condition {
        Condition::MastConsistent => "mast sensors agree",
        Condition::MastHealthy => "no mast fault",
        Condition::MastStowed => "mast stowed",
        Condition::MastClear => "mast clear",
        Condition::MastDeployed => "mast deployed",
        Condition::MastLocked => "mast locked",
        Condition::ExtendRested
        | Condition::RetractRested
        | Condition::OpenRested
        | Condition::CloseRested => "dead time over",
        Condition::DoorsOpen => "doors open",
        Condition::DoorsShut => "doors shut",
        Condition::DoorsHealthy => "no door fault",
        Condition::BladeKnown => "blade angle and speed heard",
        Condition::BladeAgrees => "sources A and B agree",
        Condition::BladeNearPark => "blade near its park angle",
        Condition::BladeInPlace => "blade in its window",
        Condition::ShaftSlow => "shaft slow",
        Condition::Parked => "blade parked",
        Condition::Restrained => "restrained",
        Condition::TorqueOff => "thrust off",
        Condition::MotorObeys => "motor obeys",
        Condition::BusDead => "bus dead",
        Condition::BusLive => "bus live",
        Condition::Precharged => "bus pre-charged",
        Condition::InrushFaded => "pre-charge current faded",
        Condition::MainOpen => "main contactor open",
        Condition::MainClosed => "main contactor closed",
        Condition::BusHealthy => "no bus fault",
        Condition::InsulationOk => "insulation in order",
        Condition::Pack1Usable => "pack 1 ok",
        Condition::Pack2Usable => "pack 2 ok",
        Condition::CoolEnough => "cool enough",
        Condition::ThrottleProven => "throttle proven",
        Condition::ThrottleZero => "throttle at zero",
        Condition::Armed => "armed",
        Condition::StopReleased => "stop switch released",
        Condition::AirspeedInRange => "airspeed in range",
        Condition::AuxWanted => "charge wanted",
        Condition::NotBench => "not in Bench",
        Condition::OnTime => "ticks on time",
    }
}

fn percent(share: Permille) -> String {
    format!("{:.1} %", f64::from(share.get()) / 10.0)
}

fn degrees(angle: CentiDegrees) -> f64 {
    f64::from(angle.get()) / 100.0
}

fn amperes(current: Milliamps) -> String {
    format!("{:.1} A", f64::from(current.get()) / 1000.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_reading_that_is_too_old_says_how_old_and_a_silent_one_that_it_is_silent() {
        let limit = Age::new(10);
        assert_eq!(unheard(&Signal::aged(true, Age::new(10)), limit), None);
        let stale = unheard(&Signal::aged(true, Age::new(12)), limit);
        assert_eq!(stale.as_deref(), Some("stale 120 ms"));
        let oldest = unheard(&Signal::aged(true, Age::OLDEST), limit);
        assert_eq!(oldest.as_deref(), Some("stale over 2540 ms"));
        let silent = unheard(&Signal::<bool>::never(), limit);
        assert_eq!(silent.as_deref(), Some("silent"));
    }

    #[test]
    fn every_condition_but_those_of_time_and_latches_has_readings_to_show() {
        let (frame, config) = (Frame::default(), Config::default());
        for condition in enumset::EnumSet::<Condition>::all() {
            let waits = matches!(
                condition,
                Condition::ExtendRested
                    | Condition::RetractRested
                    | Condition::OpenRested
                    | Condition::CloseRested
                    | Condition::MastHealthy
                    | Condition::DoorsHealthy
                    | Condition::BusHealthy
            );
            let found = witnesses(condition, &frame, &config);
            assert_eq!(found.is_empty(), waits, "{condition:?}");
        }
    }
}
