//! A bench rig: the simplest mast, doors, blade and bus that answer the drives. It
//! knows no physics; it moves what is driven, so that the sequencer has something to see.

use crate::fault::Fault;
use crate::inputs::Inputs;
use crate::interlock::{Condition, Permission};
use crate::outputs::{DoorDrive, Event, MastDrive, Motor, Outputs, Pace};
use crate::signal::Signal;
use crate::units::{
    CentiDegrees, DeciCelsius, DeciMetresPerSecond, KiloOhms, Milliamps, Millivolts, Permille, Rpm,
};
use crate::{Config, Faults, Sequencer, State};

pub(super) struct Rig {
    pub(super) sequencer: Sequencer,
    pub(super) config: Config,
    pub(super) inputs: Inputs,
    pub(super) outputs: Outputs,
    pub(super) events: std::vec::Vec<Event>,
    /// Mast travel in hundredths of a permille; a whole move takes 10 s.
    mast: i32,
    /// Door opening in permille; a whole move takes 2 s.
    doors: i32,
    /// Blade angle in hundredths of a degree, and shaft speed in rpm.
    pub(super) angle: i32,
    pub(super) speed: i32,
    bus: i32,
    /// What a test breaks.
    pub(super) broken: Broken,
}

/// What does not answer its drive.
#[derive(Default)]
pub(super) struct Broken {
    pub(super) mast: bool,
    pub(super) doors: bool,
    pub(super) bus: bool,
    /// The wind turns the blade, whatever is done about it.
    pub(super) blade: bool,
    /// Current on the bus beyond that of the pre-charge, mA.
    pub(super) load: i32,
}

pub(super) const MAST: i32 = 100_000;
const DOORS: i32 = 1000;

impl Rig {
    /// Stowed on the ground, everything healthy, the wake time just over.
    pub(super) fn stowed() -> Self {
        let mut rig = Self::unwoken(0, 0);
        rig.run(60);
        assert_eq!(rig.sequencer.state(), State::Stowed);
        rig
    }

    /// The controller has not yet had a tick.
    pub(super) fn unwoken(mast: i32, doors: i32) -> Self {
        let config = Config::default();
        let mut rig = Self {
            sequencer: Sequencer::wake(Faults::empty(), &config),
            config,
            inputs: healthy(),
            outputs: Outputs::default(),
            events: std::vec::Vec::new(),
            mast,
            doors,
            angle: 0,
            speed: 0,
            bus: 0,
            broken: Broken::default(),
        };
        rig.sense();
        rig
    }

    /// At full thrust.
    pub(super) fn thrusting() -> Self {
        let mut rig = Self::stowed();
        rig.deploy();
        rig.until(State::Armed, 3000);
        rig.throttle(1000);
        rig.until(State::Thrust, 10);
        rig.run(200);
        rig
    }

    pub(super) fn tick(&mut self) {
        self.outputs = self.sequencer.step(&self.inputs, &self.config);
        self.events.extend(self.outputs.events.iter().copied());
        assert_eq!(self.outputs.events_lost, 0);
        self.answer();
        self.sense();
    }

    pub(super) fn run(&mut self, ticks: u32) {
        (0..ticks).for_each(|_| self.tick());
    }

    /// Runs until a state is reached; how long it took, in ticks.
    pub(super) fn until(&mut self, state: State, limit: u32) -> u32 {
        for ticks in 0..limit {
            if self.sequencer.state() == state {
                return ticks;
            }
            self.tick();
        }
        panic!(
            "{state:?} not reached in {limit} ticks, but {:?}; denied: {:?}; faults: {:?}",
            self.sequencer.state(),
            self.outputs.denials,
            self.outputs.indications.faults
        );
    }

    /// Runs as long as something holds, which must end within a minute.
    pub(super) fn run_while(&mut self, mut holds: impl FnMut(&Self) -> bool) {
        for _ in 0..6_000 {
            if !holds(self) {
                return;
            }
            self.tick();
        }
        panic!("it never ended in {:?}", self.sequencer.state());
    }

    pub(super) fn select(&mut self, hold: bool, deploy: bool, stow: bool) {
        self.inputs.controls.select_hold = Signal::fresh(hold);
        self.inputs.controls.select_deploy = Signal::fresh(deploy);
        self.inputs.controls.select_stow = Signal::fresh(stow);
    }

    pub(super) fn release(&mut self) {
        self.select(true, false, false);
        self.run(5);
    }

    pub(super) fn deploy(&mut self) {
        self.select(false, true, false);
        self.run(5);
        self.release();
    }

    pub(super) fn stow(&mut self) {
        self.select(false, false, true);
        self.run(5);
        self.release();
    }

    pub(super) fn stop(&mut self, thrown: bool) {
        self.inputs.controls.stop_a = Signal::fresh(thrown);
        self.inputs.controls.stop_b = Signal::fresh(thrown);
    }

    pub(super) fn throttle(&mut self, permille: i16) {
        self.inputs.controls.throttle_a = Signal::fresh(Permille::new(permille));
        self.inputs.controls.throttle_b = Signal::fresh(Permille::new(permille));
    }

    pub(super) fn press_acknowledge(&mut self, down: bool) {
        self.inputs.controls.acknowledge = Signal::fresh(down);
        self.inputs.controls.acknowledge_rest = Signal::fresh(!down);
    }

    pub(super) fn acknowledge(&mut self, ticks: u32) {
        self.press_acknowledge(true);
        self.run(ticks);
        self.press_acknowledge(false);
        self.run(5);
    }

    /// Armed, the throttle at zero.
    pub(super) fn armed() -> Self {
        let mut rig = Self::stowed();
        rig.deploy();
        rig.until(State::Armed, 3000);
        rig
    }

    /// In a state on the way out.
    pub(super) fn deploying(state: State) -> Self {
        let mut rig = Self::stowed();
        rig.deploy();
        rig.until(state, 3000);
        rig
    }

    /// In a state on the way in, the mast up at first.
    pub(super) fn stowing(state: State) -> Self {
        let mut rig = Self::thrusting();
        rig.stow();
        rig.until(state, 3000);
        rig
    }

    /// The mast half way up, deploying.
    pub(super) fn half_way() -> Self {
        let mut rig = Self::deploying(State::DeployMast);
        rig.run_while(|rig| rig.position() < 400);
        rig
    }

    /// The mast is found here, in permille, whatever drove it.
    pub(super) fn lower_to(&mut self, position: i32) {
        self.mast = position * 100;
        self.sense();
    }

    pub(super) fn airspeed(&mut self, decimetres: i16) {
        self.inputs.airspeed = Signal::fresh(DeciMetresPerSecond::new(decimetres));
    }

    pub(super) fn proves(&self, condition: Condition) -> bool {
        self.outputs.proven.contains(condition)
    }

    pub(super) fn shows(&self, fault: Fault) -> bool {
        self.outputs.indications.faults.contains(fault)
    }

    /// Torque on the blade was asked for, and denied.
    pub(super) fn asks_for_torque(&self) -> bool {
        self.outputs.denials.iter().any(|denial| {
            matches!(
                denial.permission,
                Permission::BrakeBlade | Permission::TurnBlade | Permission::HoldBlade
            )
        })
    }

    pub(super) fn state(&self) -> State {
        self.sequencer.state()
    }

    pub(super) fn thrust(&self) -> bool {
        matches!(self.outputs.drives.motor, Motor::Thrust(_))
    }

    pub(super) fn position(&self) -> i32 {
        self.mast / 100
    }

    /// Moves what is driven.
    fn answer(&mut self) {
        let drives = self.outputs.drives;
        let pace = |pace| match pace {
            Pace::Full => 100,
            Pace::Slow => 25,
        };
        if drives.mast_power && !self.broken.mast {
            self.mast += match drives.mast {
                MastDrive::Off => 0,
                MastDrive::Extend(at) => pace(at),
                MastDrive::Retract(at) => -pace(at),
            };
        }
        if drives.door_power && !self.broken.doors {
            self.doors += match drives.doors {
                DoorDrive::Off => 0,
                DoorDrive::Open => 5,
                DoorDrive::Close => -5,
            };
        }
        self.mast = self.mast.clamp(0, MAST);
        self.doors = self.doors.clamp(0, DOORS);
        match drives.motor {
            _ if self.broken.blade => {}
            Motor::Free => {}
            Motor::Thrust(_) => self.speed = 2000,
            Motor::Short | Motor::Brake(_) => self.speed = (self.speed - 20).max(0),
            Motor::Creep(rpm) => self.speed = i32::from(rpm.get()),
            Motor::Hold(_) => {
                self.speed = 0;
                self.angle -= CentiDegrees::new(self.angle).off_park().get() / 4;
            }
        }
        // 1 rpm turns 6 degrees a second: 6 hundredths of a degree in a tick.
        self.angle = (self.angle + self.speed * 6).rem_euclid(36_000);
        let source = 400_000;
        self.bus = match (drives.bus.main, drives.bus.precharge, drives.bus.discharge) {
            _ if self.broken.bus => 0,
            (true, _, _) => source,
            (false, true, _) => self.bus + (source - self.bus) / 6,
            (false, false, true) => self.bus - self.bus / 50,
            (false, false, false) => self.bus,
        };
    }

    /// Shows the sensors what has become of it. A reading set invalid stays so.
    fn sense(&mut self) {
        let position = self.position();
        let mast = &mut self.inputs.mast;
        show(
            &mut mast.position,
            Permille::new(i16::try_from(position).unwrap()),
        );
        show(&mut mast.stowed_switch, position < 8);
        show(&mut mast.deployed_switch, position > 992);
        show(&mut mast.lock_switch, position >= 1000);
        let doors = &mut self.inputs.doors;
        show(&mut doors.left_open, self.doors > 985);
        show(&mut doors.right_open, self.doors > 985);
        show(&mut doors.shut, self.doors < 10);
        let pressing = self.doors == 0 && self.outputs.drives.doors == DoorDrive::Close;
        let amps = if pressing { 25_000 } else { 5_000 };
        show(&mut doors.drive_current, Milliamps::new(amps));
        let propeller = &mut self.inputs.propeller;
        show(&mut propeller.angle_a, CentiDegrees::new(self.angle));
        show(&mut propeller.angle_b, CentiDegrees::new(self.angle));
        show(
            &mut propeller.speed,
            Rpm::new(i16::try_from(self.speed).unwrap()),
        );
        let bus = &mut self.inputs.bus;
        show(&mut bus.voltage, Millivolts::new(self.bus));
        let charging = (400_000 - self.bus) / 50;
        let precharge = self.outputs.drives.bus.precharge && !self.outputs.drives.bus.main;
        show(
            &mut bus.current,
            Milliamps::new(if precharge {
                charging
            } else {
                self.broken.load
            }),
        );
        show(&mut bus.main_feedback, self.outputs.drives.bus.main);
    }
}

fn show<T: Copy>(signal: &mut Signal<T>, value: T) {
    if signal.is_valid() {
        *signal = Signal::fresh(value);
    }
}

/// Inputs of a healthy system at rest.
fn healthy() -> Inputs {
    let mut inputs = Inputs::default();
    let controls = &mut inputs.controls;
    controls.throttle_a = Signal::fresh(Permille::ZERO);
    controls.throttle_b = Signal::fresh(Permille::ZERO);
    controls.select_hold = Signal::fresh(true);
    controls.acknowledge_rest = Signal::fresh(true);
    controls.aux_charge_off = Signal::fresh(true);
    for contact in [
        &mut controls.select_deploy,
        &mut controls.select_stow,
        &mut controls.stop_a,
        &mut controls.stop_b,
        &mut controls.bench_key,
        &mut controls.acknowledge,
        &mut controls.aux_charge,
        &mut inputs.mast.stowed_switch,
        &mut inputs.mast.deployed_switch,
        &mut inputs.mast.lock_switch,
        &mut inputs.doors.left_open,
        &mut inputs.doors.right_open,
        &mut inputs.doors.shut,
        &mut inputs.bus.main_feedback,
    ] {
        *contact = Signal::fresh(false);
    }
    inputs.mast.position = Signal::fresh(Permille::ZERO);
    inputs.mast.drive_current = Signal::fresh(Milliamps::ZERO);
    inputs.doors.drive_current = Signal::fresh(Milliamps::ZERO);
    inputs.propeller.angle_a = Signal::fresh(CentiDegrees::ZERO);
    inputs.propeller.angle_b = Signal::fresh(CentiDegrees::ZERO);
    inputs.propeller.speed = Signal::fresh(Rpm::ZERO);
    inputs.bus.voltage = Signal::fresh(Millivolts::ZERO);
    inputs.bus.current = Signal::fresh(Milliamps::ZERO);
    inputs.bus.insulation = Signal::fresh(KiloOhms::new(2000));
    for pack in &mut inputs.packs {
        pack.voltage = Signal::fresh(Millivolts::new(400_000));
        pack.temperature = Signal::fresh(DeciCelsius::new(250));
        pack.charge = Signal::fresh(Permille::new(900));
    }
    inputs.thermal.motor = Signal::fresh(DeciCelsius::new(250));
    inputs.thermal.controller = Signal::fresh(DeciCelsius::new(250));
    inputs.thermal.fans_turning = Signal::fresh(true);
    inputs.auxiliary = Signal::fresh(Millivolts::new(12_800));
    inputs.airspeed = Signal::fresh(DeciMetresPerSecond::ZERO);
    inputs
}
