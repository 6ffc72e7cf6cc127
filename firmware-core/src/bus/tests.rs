//! Tests of the module above, by itself.

mod edges;
#[cfg(feature = "walk")]
mod heard;

use super::*;
use crate::signal::Signal;
use crate::units::{KiloOhms, Milliamps, Millivolts};

const PACK: Millivolts = Millivolts::new(400_000);

/// A bus that does what it is told, unless a test says otherwise.
struct Rig {
    bus: Bus,
    packs: Packs,
    config: Config,
    volts: i32,
    feedback: Option<bool>,
    kiloohms: u16,
    charges: bool,
    drains: bool,
    /// Current on the bus, mA, where it is not that of the pre-charge.
    load: i32,
    drive: BusDrive,
    asked: Option<Permission>,
    seen: Faults,
}

impl Rig {
    fn new() -> Self {
        let config = Config::default();
        Self {
            bus: Bus::unknown(&config),
            packs: Packs::default(),
            config,
            volts: 0,
            feedback: None,
            kiloohms: 1000,
            charges: true,
            drains: true,
            load: 0,
            drive: BusDrive::default(),
            asked: None,
            seen: Faults::empty(),
        }
    }

    fn live() -> Self {
        let mut rig = Self::new();
        rig.run(true, 300);
        assert_eq!(rig.bus.stage(), Stage::Live);
        rig
    }

    fn tick(&mut self, wanted: bool) {
        self.tick_towards(Some(wanted));
    }

    fn tick_towards(&mut self, wanted: Option<bool>) {
        let source = if self.drive.bus_is_fed() { 400 } else { 0 };
        match (self.drive.main, self.drive.precharge, self.drive.discharge) {
            (true, _, _) => self.volts = source,
            (false, true, _) if self.charges => self.volts += (source - self.volts) / 6,
            (false, _, true) if self.drains => self.volts -= self.volts / 20,
            (false, _, _) => {}
        }
        let amps = if self.drive.precharge {
            (400 - self.volts) * 20
        } else {
            self.load
        };
        let closed = self.feedback.unwrap_or(self.drive.main);
        let sensors = BusSensors {
            voltage: Signal::fresh(Millivolts::new(self.volts * 1000)),
            current: Signal::fresh(Milliamps::new(amps)),
            insulation: Signal::fresh(KiloOhms::new(self.kiloohms)),
            main_feedback: Signal::fresh(closed),
        };
        let shown = packs::Shown {
            candidates: [true, true],
            any_joined: self.packs.joined().contains(&true),
            reference: Some(PACK),
            joined: self.drive.bus_is_fed().then_some(PACK),
        };
        let mut proven = Condition::NotBench | Condition::Pack1Usable;
        if self.seen.is_disjoint(FORBIDDING) {
            proven |= Condition::BusHealthy;
        }
        let mut active = Faults::empty();
        let reading = self
            .bus
            .observe(&sensors, shown, &self.config, &mut proven, &mut active);
        let (drive, asked) = self.bus.step(
            wanted,
            &reading,
            &mut self.packs,
            &self.config,
            proven,
            &mut active,
        );
        self.drive = drive;
        self.asked = asked;
        self.seen |= active;
    }

    /// Runs until a stage is reached, which must be within ten seconds.
    fn until(&mut self, wanted: bool, stage: Stage) {
        for _ in 0..1_000 {
            if self.bus.stage() == stage {
                return;
            }
            self.tick(wanted);
        }
        panic!("{stage:?} not reached, but {:?}", self.bus.stage());
    }

    fn run(&mut self, wanted: bool, ticks: u32) {
        (0..ticks).for_each(|_| self.tick(wanted));
    }
}

impl BusDrive {
    fn bus_is_fed(self) -> bool {
        self.packs.contains(&true)
    }
}

#[test]
fn the_main_contactor_closes_only_onto_a_charged_bus() {
    let mut rig = Rig::new();
    for _ in 0..300 {
        let before = rig.volts;
        rig.tick(true);
        assert!(!rig.drive.main || before >= 380, "{before} V");
    }
    assert_eq!(rig.bus.stage(), Stage::Live);
    assert!(rig.seen.is_empty());
}

#[test]
fn a_live_bus_that_is_no_longer_wanted_is_drained_and_its_packs_let_go() {
    let mut rig = Rig::live();
    rig.run(false, 300);
    assert_eq!(rig.bus.stage(), Stage::Dead);
    assert_eq!(rig.drive, BusDrive::default());
    assert!(rig.volts < 60);
}

#[test]
fn a_bus_that_does_not_charge_is_given_up_and_told() {
    let mut rig = Rig::new();
    rig.charges = false;
    rig.run(true, 500);
    assert_eq!(rig.seen, Faults::only(Fault::PrechargeFailed));
    assert!(!rig.drive.precharge && !rig.drive.main);
}

#[test]
fn nothing_is_closed_while_insulation_is_low() {
    let mut rig = Rig::new();
    rig.kiloohms = 199;
    rig.run(true, 500);
    assert_eq!(rig.bus.stage(), Stage::Checking);
    assert_eq!(rig.seen, Faults::only(Fault::InsulationLow));
}

#[test]
fn a_contactor_that_does_not_show_closed_is_given_up_and_told() {
    let mut rig = Rig::new();
    rig.feedback = Some(false);
    rig.run(true, 400);
    assert!(rig.seen.contains(Fault::MainStuckOpen));
    assert!(!rig.drive.main);
}

#[test]
fn a_bus_that_stays_up_after_opening_shows_a_weld_even_if_the_contact_says_open() {
    let mut rig = Rig::live();
    rig.drains = false;
    rig.run(false, 400);
    assert!(rig.seen.contains(Fault::MainWelded));
    assert!(
        !rig.drive.bus_is_fed(),
        "packs kept on a bus that does not fall"
    );
}

#[test]
fn a_bus_that_falls_too_slowly_is_told_as_a_failed_discharge() {
    let mut rig = Rig::live();
    rig.drains = false;
    rig.run(false, 10);
    rig.volts = 200;
    rig.run(false, 400);
    assert!(rig.seen.contains(Fault::DischargeFailed));
}

#[test]
fn no_bus_is_dead_on_the_word_of_its_voltage_sensor_before_it_has_drained() {
    let mut rig = Rig::new();
    rig.run(false, 100);
    assert_eq!(rig.bus.stage(), Stage::Draining);
    rig.run(false, 50);
    assert_eq!(rig.bus.stage(), Stage::Dead);
}

#[test]
fn a_stage_that_a_flipped_bit_made_live_closes_nothing_onto_an_empty_bus() {
    let mut rig = Rig::new();
    rig.run(false, 200);
    rig.bus.stage = Stage::Live;
    for _ in 0..10 {
        rig.tick(true);
        assert!(!rig.drive.main);
    }
    assert!(rig.seen.contains(Fault::BusLost));
}
