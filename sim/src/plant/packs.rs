//! The battery packs: open-circuit voltage over charge, a series resistance, one RC
//! branch, coulomb counting.
//!
//! Source: one-RC equivalent circuit (textbook; reproduced with an independent battery
//! package, see the checks from outside). Cell figures are invented, of a common
//! nickel-rich lithium cell's shape.

use serde::{Deserialize, Serialize};

use super::truth::PACKS;

/// Points of the open-circuit voltage table, at equal steps of charge from 0 to 1.
pub const OCV_POINTS: usize = 11;

/// Charge below empty at which a pack gives no voltage any more.
const COLLAPSED: f64 = -0.02;

/// One pack of cells in series.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct PackSetup {
    /// Cells in series.
    pub cells: f64,
    /// Open-circuit voltage of a cell at charge 0, 0.1 ... 1, V.
    pub ocv: [f64; OCV_POINTS],
    /// Capacity, Ah.
    pub capacity: f64,
    /// Series resistance of a cell, ohm.
    pub r0: f64,
    /// Resistance of a cell's RC branch, ohm.
    pub r1: f64,
    /// Time constant of the RC branch, s.
    pub tau: f64,
    /// Heat capacity of the pack, J/K.
    pub heat_capacity: f64,
    /// Thermal resistance to ambient, K/W.
    pub thermal_resistance: f64,
}

impl Default for PackSetup {
    /// 25 kg, about 4.2 kWh, 400 V nominal.
    fn default() -> Self {
        Self {
            cells: 108.0,
            ocv: [
                3.00, 3.45, 3.55, 3.61, 3.65, 3.70, 3.79, 3.88, 3.97, 4.07, 4.18,
            ],
            capacity: 10.5,
            r0: 3.0e-3,
            r1: 1.5e-3,
            tau: 30.0,
            heat_capacity: 25_000.0,
            thermal_resistance: 0.15,
        }
    }
}

impl PackSetup {
    /// Open-circuit voltage of the pack at a charge, V; below empty it collapses.
    #[must_use]
    pub fn open_circuit(&self, charge: f64) -> f64 {
        if charge < 0.0 {
            return self.ocv[0] * (1.0 - charge / COLLAPSED).max(0.0) * self.cells;
        }
        let place = charge.clamp(0.0, 1.0) * (OCV_POINTS - 1) as f64;
        let index = (place as usize).min(OCV_POINTS - 2);
        let (low, high) = (self.ocv[index], self.ocv[index + 1]);
        (low + (high - low) * (place - index as f64)) * self.cells
    }

    /// Series resistance of the pack, ohm.
    #[must_use]
    pub fn resistance(&self) -> f64 {
        self.r0 * self.cells
    }

    /// Energy from full to empty at no load, J.
    #[must_use]
    pub fn energy(&self) -> f64 {
        let step = self.capacity * 3_600.0 / (OCV_POINTS - 1) as f64;
        let trapezoids: f64 = self.ocv.windows(2).map(|w| 0.5 * (w[0] + w[1])).sum();
        trapezoids * step * self.cells
    }
}

/// One pack's electrical state.
#[derive(Clone, Copy, Debug)]
pub struct Pack {
    setup: PackSetup,
    charge: f64,
    /// Voltage across the RC branch, V; positive under discharge.
    branch: f64,
    /// Voltage behind the series resistance, V; kept, for it is asked for often.
    inner: f64,
    resistance: f64,
    /// Resistance, that of the RC branch too, as a multiple of a new pack's.
    aged: f64,
    current: f64,
    /// Share of the way to its end value the RC branch goes in one step.
    branch_step: f64,
    charge_step: f64,
}

impl Pack {
    /// A rested pack at a charge, to be stepped by `dt` s.
    #[must_use]
    pub fn new(setup: PackSetup, charge: f64, dt: f64) -> Self {
        Self {
            setup,
            charge,
            branch: 0.0,
            inner: setup.open_circuit(charge),
            resistance: setup.resistance(),
            aged: 1.0,
            current: 0.0,
            branch_step: 1.0 - (-dt / setup.tau).exp(),
            charge_step: dt / (setup.capacity * 3_600.0),
        }
    }

    /// Voltage behind the series resistance, V.
    #[must_use]
    pub const fn inner(&self) -> f64 {
        self.inner
    }

    /// Terminal voltage at the present current, V.
    #[must_use]
    pub fn terminal(&self) -> f64 {
        self.inner - self.current * self.resistance
    }

    /// Gives the pack the resistance of its age: `added` is what age has added, as a share
    /// of a new pack's.
    pub fn age(&mut self, added: f64) {
        self.aged = 1.0 + added;
        self.resistance = self.setup.resistance() * self.aged;
    }

    /// Moves on by one step with a current out of the pack, A, held through it.
    pub fn step(&mut self, current: f64) {
        let end = current * self.setup.r1 * self.setup.cells * self.aged;
        self.branch += (end - self.branch) * self.branch_step;
        self.charge = (self.charge - current * self.charge_step).clamp(COLLAPSED, 1.0);
        self.inner = self.setup.open_circuit(self.charge) - self.branch;
        self.current = current;
    }

    /// State of charge, 0 to 1.
    #[must_use]
    pub const fn charge(&self) -> f64 {
        self.charge.max(0.0)
    }

    /// Current out of the pack, A.
    #[must_use]
    pub const fn current(&self) -> f64 {
        self.current
    }

    /// Heat made inside the pack at present, W.
    #[must_use]
    pub fn heat(&self) -> f64 {
        let series = self.current * self.current * self.resistance;
        series + self.current * self.branch
    }
}

/// Two packs on one node, as the node sees them: a voltage behind a resistance.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Source {
    /// Open voltage of the joined packs, V; 0 when none is joined.
    pub voltage: f64,
    /// Resistance, ohm; 0 when none is joined.
    pub resistance: f64,
}

/// Joins the connected packs (Thevenin's theorem).
#[must_use]
pub fn join(packs: &[Pack; PACKS], connected: [bool; PACKS]) -> Source {
    let inner = packs[0].inner();
    match connected {
        [false, false] => Source::default(),
        [true, false] => alone(&packs[0]),
        [false, true] => alone(&packs[1]),
        [true, true] => {
            let [a, b] = [0, 1].map(|i: usize| packs[i].resistance);
            let share = a / (a + b);
            Source {
                voltage: inner + (packs[1].inner() - inner) * share,
                resistance: share * b,
            }
        }
    }
}

fn alone(pack: &Pack) -> Source {
    Source {
        voltage: pack.inner,
        resistance: pack.resistance,
    }
}

/// Current of each pack, A, when their node feeds `total` A.
#[must_use]
pub fn share(
    packs: &[Pack; PACKS],
    connected: [bool; PACKS],
    source: Source,
    total: f64,
) -> [f64; PACKS] {
    match connected {
        [false, false] => [0.0, 0.0],
        [true, false] => [total, 0.0],
        [false, true] => [0.0, total],
        [true, true] => {
            let node = source.voltage - total * source.resistance;
            let first = (packs[0].inner() - node) / packs[0].resistance;
            [first, total - first]
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pack(charge: f64) -> Pack {
        Pack::new(PackSetup::default(), charge, 0.01)
    }

    #[test]
    fn a_pack_holds_about_4_2_kwh_at_about_400_v() {
        let setup = PackSetup::default();
        let kwh = setup.energy() / 3.6e6;
        assert!((kwh - 4.2).abs() < 0.1, "{kwh}");
        assert!((setup.open_circuit(0.5) - 400.0).abs() < 5.0);
    }

    #[test]
    fn equal_packs_share_alike_and_unequal_ones_exchange_current() {
        let both = [true, true];
        let equal = [pack(0.8), pack(0.8)];
        let currents = share(&equal, both, join(&equal, both), 50.0);
        assert!((currents[0] - 25.0).abs() < 1e-9 && (currents[1] - 25.0).abs() < 1e-9);
        let unequal = [pack(0.9), pack(0.7)];
        let currents = share(&unequal, both, join(&unequal, both), 0.0);
        assert!(currents[0] > 10.0 && (currents[0] + currents[1]).abs() < 1e-9);
    }

    #[test]
    fn one_pack_alone_sags_twice_as_far() {
        let packs = [pack(0.8), pack(0.8)];
        let both = join(&packs, [true, true]).resistance;
        let one = join(&packs, [true, false]).resistance;
        assert!((one - 2.0 * both).abs() < 1e-12);
        assert_eq!(join(&packs, [false, false]), Source::default());
    }

    #[test]
    fn an_empty_pack_collapses_instead_of_giving_on() {
        let mut pack = pack(0.01);
        for _ in 0..12_000 {
            pack.step(20.0);
        }
        assert!(pack.terminal() < 10.0 && pack.charge().abs() < 1e-12);
    }

    #[test]
    fn an_aged_pack_sags_further_at_once_and_later() {
        let (mut new, mut aged) = (pack(0.8), pack(0.8));
        aged.age(2.0);
        let open = new.terminal();
        for step in 0..6_000 {
            new.step(20.0);
            aged.step(20.0);
            if step == 0 || step == 5_999 {
                let [fell, further] = [&new, &aged].map(|pack| open - pack.terminal());
                assert!(further > 2.5 * fell, "{further} V, a new one {fell} V");
            }
        }
    }

    #[test]
    fn charge_is_counted_in_coulombs() {
        let mut pack = pack(1.0);
        for _ in 0..36_000 {
            pack.step(10.5);
        }
        assert!((pack.charge() - 0.9).abs() < 1e-9);
    }
}
