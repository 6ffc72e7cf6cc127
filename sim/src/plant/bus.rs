//! The high-voltage bus: packs behind their contactors, a main contactor with a
//! pre-charge path around it, a capacitor with a discharge path across it.
//!
//! Source: V(1 - exp(-t/RC)) and exponential decay (closed formulae). While the main
//! contactor is open the capacitor moves by the exact exponential of its linear paths,
//! with factors worked out once; a power load takes energy from it. While it is closed
//! the capacitor follows the packs within a millisecond and the bus is solved as a
//! voltage behind a resistance.

use mastwright_core::outputs::BusDrive;
use serde::{Deserialize, Serialize};

use super::contactor::Contactor;
use super::defects::Defects;
use super::packs::{self, Pack};
use super::truth::{BusTruth, PACKS};

/// The bus.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct BusSetup {
    /// Capacitor, F.
    pub capacitance: f64,
    /// Pre-charge resistor, ohm.
    pub precharge: f64,
    /// Discharge resistor, ohm.
    pub discharge: f64,
    /// Current of the idle motor controller at 400 V, A; taken as a resistance.
    pub idle_current: f64,
    /// Wiring and contacts between packs and capacitor, ohm.
    pub wiring: f64,
    /// Voltage to which regeneration can lift a capacitor cut off from the packs, V.
    pub regeneration_max: f64,
    /// Healthy insulation resistance, ohm.
    pub insulation: f64,
}

impl Default for BusSetup {
    fn default() -> Self {
        Self {
            capacitance: 1.0e-3,
            precharge: 50.0,
            discharge: 500.0,
            idle_current: 0.2,
            wiring: 0.02,
            regeneration_max: 470.0,
            insulation: 2.0e6,
        }
    }
}

/// Voltage at which the idle current is given, V.
const IDLE_AT: f64 = 400.0;
/// A bus below this counts as empty, V.
const NOTHING: f64 = 1e-6;

/// One way the open bus can be connected, with its step worked out.
#[derive(Clone, Copy, Debug)]
struct Path {
    /// End voltage for each volt of the packs.
    gain: f64,
    /// Share of the way to the end voltage gone in one step.
    share: f64,
}

/// The capacitor and the paths to it.
#[derive(Clone, Copy, Debug)]
pub struct Capacitor {
    setup: BusSetup,
    /// Indexed by pre-charge (1) and discharge (2) closed.
    paths: [Path; 4],
    step: f64,
    voltage: f64,
}

impl Capacitor {
    /// A capacitor at a voltage, to be stepped by `dt` s.
    #[must_use]
    pub fn new(setup: BusSetup, voltage: f64, dt: f64) -> Self {
        let paths = [0, 1, 2, 3].map(|bits: usize| {
            let charge = if bits & 1 == 0 {
                0.0
            } else {
                1.0 / setup.precharge
            };
            let drain = if bits & 2 == 0 {
                0.0
            } else {
                1.0 / setup.discharge
            };
            let total = charge + drain + setup.idle_current / IDLE_AT;
            Path {
                gain: if total > 0.0 { charge / total } else { 0.0 },
                share: 1.0 - (-dt * total / setup.capacitance).exp(),
            }
        });
        Self {
            setup,
            paths,
            step: dt,
            voltage,
        }
    }

    /// Voltage, V.
    #[must_use]
    pub const fn voltage(&self) -> f64 {
        self.voltage
    }

    /// Moves on by one step with the main contactor open: a source of `source` V
    /// through the pre-charge path, the discharge path, and a load of `power` W.
    pub fn relax(&mut self, source: f64, precharge: bool, discharge: bool, power: f64) {
        let path = self.paths[usize::from(precharge) + 2 * usize::from(discharge)];
        self.voltage += (source * path.gain - self.voltage) * path.share;
        if power != 0.0 {
            let taken = 2.0 * power * self.step / self.setup.capacitance;
            let lifted = (self.voltage * self.voltage - taken).max(0.0).sqrt();
            // Regeneration fades within a tick when nothing but the capacitor takes it.
            let ceiling = self.setup.regeneration_max.max(self.voltage);
            self.voltage = lifted.min(ceiling);
        }
        // An endless decay would end in numbers the processor is slow with.
        if self.voltage < NOTHING {
            self.voltage = 0.0;
        }
    }

    /// Follows a source of `source` V behind `resistance` ohm, main contactor closed.
    /// Returns the current into the bus, A.
    fn follow(&mut self, source: f64, resistance: f64, discharge: bool, power: f64) -> f64 {
        let drain = if discharge {
            1.0 / self.setup.discharge
        } else {
            0.0
        };
        let conductance = drain + self.setup.idle_current / IDLE_AT;
        // The voltage of the step before, but never so low that the load runs away: the
        // packs can give their greatest power at half their open voltage.
        let load = power / self.voltage.max(0.5 * source);
        let current = load + conductance * self.voltage;
        self.voltage = (source - current * resistance).max(0.0);
        current
    }
}

/// The bus with its contactors.
#[derive(Clone, Copy, Debug)]
pub struct Bus {
    setup: BusSetup,
    capacitor: Capacitor,
    packs: [Contactor; PACKS],
    precharge: Contactor,
    main: Contactor,
    discharge: Contactor,
    connected: [bool; PACKS],
    /// The packs fed the capacitor through the main contactor in the step before.
    fed: bool,
}

impl Bus {
    /// A bus with every contactor open and its capacitor at a voltage, stepped by `dt` s.
    #[must_use]
    pub fn new(setup: BusSetup, voltage: f64, dt: f64) -> Self {
        Self {
            setup,
            capacitor: Capacitor::new(setup, voltage, dt),
            packs: [Contactor::default(); PACKS],
            precharge: Contactor::default(),
            main: Contactor::default(),
            discharge: Contactor::default(),
            connected: [false; PACKS],
            fed: false,
        }
    }

    /// The same bus already live: packs joined and the main contactor closed.
    #[must_use]
    pub fn live(self, voltage: f64) -> Self {
        Self {
            capacitor: Capacitor {
                voltage,
                ..self.capacitor
            },
            packs: [Contactor::new(true); PACKS],
            main: Contactor::new(true),
            connected: [true; PACKS],
            fed: true,
            ..self
        }
    }

    /// Voltage across the capacitor, V.
    #[must_use]
    pub const fn voltage(&self) -> f64 {
        self.capacitor.voltage
    }

    /// Which packs are joined to the node.
    #[must_use]
    pub const fn connected(&self) -> [bool; PACKS] {
        self.connected
    }

    /// Moves on by one step under a load, W, and moves the packs with it.
    pub fn step(
        &mut self,
        drive: &BusDrive,
        defects: &Defects,
        power: f64,
        packs: &mut [Pack; PACKS],
    ) -> BusTruth {
        self.switch(drive, defects);
        let source = packs::join(packs, self.connected);
        let live = source.resistance > 0.0;
        let fed = live && self.main.closed();
        let precharge = live && self.precharge.closed() && !defects.precharge_open;
        let discharge = self.discharge.closed() && !defects.discharge_open;
        let resistance = source.resistance + self.setup.wiring;
        let short_of = (source.voltage - self.capacitor.voltage).abs();
        let mut inrush = 0.0;
        let mut current = 0.0;
        if fed {
            if !self.fed {
                inrush = short_of / resistance;
            }
            current = self
                .capacitor
                .follow(source.voltage, resistance, discharge, power);
        } else {
            self.capacitor
                .relax(source.voltage, precharge, discharge, power);
            if precharge {
                inrush = short_of / self.setup.precharge;
                current = (source.voltage - self.capacitor.voltage) / self.setup.precharge;
            }
        }
        self.fed = fed;
        let currents = packs::share(packs, self.connected, source, current);
        packs[0].step(currents[0]);
        packs[1].step(currents[1]);
        BusTruth {
            voltage: self.capacitor.voltage,
            current,
            source: source.voltage - current * source.resistance,
            main_closed: self.main.closed(),
            inrush,
            insulation: defects.insulation_ohm.unwrap_or(self.setup.insulation),
        }
    }

    fn switch(&mut self, drive: &BusDrive, defects: &Defects) {
        for i in 0..PACKS {
            self.packs[i].step(drive.packs[i], defects.pack_contactor_welded[i]);
            self.connected[i] = self.packs[i].closed() && !defects.pack_dropout[i];
        }
        self.precharge.step(drive.precharge, false);
        self.main.step(drive.main, defects.main_welded);
        self.discharge.step(drive.discharge, false);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plant::packs::PackSetup;

    const JOINED: BusDrive = BusDrive {
        packs: [true, true],
        precharge: false,
        main: false,
        discharge: false,
    };

    fn packs() -> [Pack; PACKS] {
        [Pack::new(PackSetup::default(), 0.9, 0.01); PACKS]
    }

    fn run(bus: &mut Bus, drive: BusDrive, defects: &Defects, power: f64, ticks: u32) -> BusTruth {
        let mut packs = packs();
        let mut worst = 0.0_f64;
        let mut last = BusTruth::default();
        for _ in 0..ticks {
            last = bus.step(&drive, defects, power, &mut packs);
            worst = worst.max(last.inrush);
        }
        BusTruth {
            inrush: worst,
            ..last
        }
    }

    fn bus() -> Bus {
        Bus::new(BusSetup::default(), 0.0, 0.01)
    }

    #[test]
    fn pre_charge_reaches_95_percent_with_a_small_current() {
        let drive = BusDrive {
            precharge: true,
            ..JOINED
        };
        let truth = run(&mut bus(), drive, &Defects::default(), 0.0, 50);
        assert!(truth.voltage > 0.95 * truth.source);
        assert!(truth.inrush < 10.0 && truth.current < 0.9);
    }

    #[test]
    fn the_main_contactor_onto_an_empty_capacitor_draws_a_great_inrush() {
        let drive = BusDrive {
            main: true,
            ..JOINED
        };
        let truth = run(&mut bus(), drive, &Defects::default(), 0.0, 5);
        assert!(truth.inrush > 1_000.0);
        assert!(truth.main_closed && truth.voltage > 400.0);
    }

    #[test]
    fn a_discharged_bus_is_dead_in_time_and_an_open_path_is_late() {
        let drive = BusDrive {
            packs: [false; 2],
            discharge: true,
            ..JOINED
        };
        let mut healthy = bus().live(430.0);
        assert!(run(&mut healthy, drive, &Defects::default(), 0.0, 150).voltage < 60.0);
        let open = Defects {
            discharge_open: true,
            ..Defects::default()
        };
        let mut broken = bus().live(430.0);
        assert!(run(&mut broken, drive, &open, 0.0, 300).voltage > 60.0);
    }

    #[test]
    fn a_loaded_bus_sags_and_a_dropped_pack_is_no_longer_joined() {
        let drive = BusDrive {
            main: true,
            ..JOINED
        };
        let calm = Defects::default();
        let idle = run(&mut bus().live(430.0), drive, &calm, 0.0, 10);
        let loaded = run(&mut bus().live(430.0), drive, &calm, 22_000.0, 10);
        assert!(loaded.voltage < idle.voltage - 5.0 && loaded.current > 50.0);
        let dropped = Defects {
            pack_dropout: [true, false],
            ..calm
        };
        let mut one = bus().live(430.0);
        let halved = run(&mut one, drive, &dropped, 22_000.0, 10);
        assert_eq!(one.connected(), [false, true]);
        assert!(halved.voltage < loaded.voltage - 5.0);
        let both = Defects {
            pack_dropout: [true, true],
            ..calm
        };
        let none = run(&mut one, drive, &both, 22_000.0, 10);
        assert!(none.voltage < 1.0 && none.source.abs() < 1e-9);
    }

    #[test]
    fn a_welded_main_contactor_stays_closed() {
        let welded = Defects {
            main_welded: true,
            ..Defects::default()
        };
        let mut bus = bus().live(430.0);
        assert!(run(&mut bus, BusDrive::default(), &welded, 0.0, 100).main_closed);
    }
}
