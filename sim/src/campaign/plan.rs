//! Plans: which cells there are, in a fixed order, and how each is flown.

use std::hash::{Hash, Hasher};

use mastwright_core::State;
use rayon::prelude::*;

use super::base::Base;
use super::cell::{Cell, Ordered};
use super::margin::{self, Tolerance};
use super::mission::MISSIONS;
use super::moment::{Moment, moments};
use super::record::Record;
use super::run::{self, Flown};
use super::variant::{BITS, bit_flip, variants};
use crate::faults::{Fault, Kind, catalogue};
use crate::rng::Rng;
use crate::scenario::Scenario;
use crate::scenario::problem::Problem;
use crate::world::Controller;

/// Moments in each state unless more are asked for.
pub const INSTANTS: u64 = 3;

/// Which cells a plan has.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sweep {
    /// Every fault alone, at every moment.
    Singles,
    /// Every two entries of the catalogue together at least once (a covering of
    /// strength two), at moments drawn by the seed.
    Pairs,
    /// So many threes, entries and moments drawn by the seed.
    Triples(u64),
}

impl Sweep {
    fn words(self) -> String {
        match self {
            Self::Singles => "singles".to_owned(),
            Self::Pairs => "pairs".to_owned(),
            Self::Triples(count) => format!("triples:{count}"),
        }
    }
}

/// What is asked for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Order {
    /// Which cells.
    pub sweep: Sweep,
    /// Seed of everything random.
    pub seed: u64,
    /// Moments in each state.
    pub instants: u64,
    /// Fly every variant of a fault at every moment, not at one of each state.
    pub all_variants: bool,
    /// Only cells whose name or phase contains this.
    pub only: Option<String>,
    /// Measure margins.
    pub margins: bool,
}

impl Default for Order {
    fn default() -> Self {
        Self {
            sweep: Sweep::Singles,
            seed: 1,
            instants: INSTANTS,
            all_variants: false,
            only: None,
            margins: true,
        }
    }
}

/// A list of cells and the flown missions they start from.
#[derive(Clone, Debug)]
pub struct Plan<C> {
    order: Order,
    bases: Vec<Base<C>>,
    /// For each moment of each mission: how long the world stays unharmed unasked.
    tolerances: Vec<Vec<Tolerance>>,
    entries: Vec<Fault>,
    /// Numbers of the cells, among all there could be, that `only` leaves.
    chosen: Vec<u32>,
    singles: Vec<Single>,
}

/// A single fault at a moment.
#[derive(Clone, Copy, Debug)]
struct Single {
    mission: u16,
    moment: u32,
    fault: Fault,
}

/// The base missions as they are shipped.
///
/// # Errors
/// What is wrong with one of their files.
pub fn missions() -> Result<Vec<Scenario>, Problem> {
    MISSIONS.iter().map(|mission| mission.scenario()).collect()
}

impl<C: Controller + Send + Sync> Plan<C> {
    /// Flies the `missions` (in the order of [`MISSIONS`]) and lists the cells.
    #[must_use]
    pub fn new(order: Order, missions: Vec<Scenario>) -> Self {
        let bases: Vec<Base<C>> = missions
            .into_par_iter()
            .map(|mission| Base::fly(mission, order.seed))
            .collect();
        let states: Vec<Vec<State>> = bases.iter().map(Base::states).collect();
        let bases: Vec<Base<C>> = bases
            .into_par_iter()
            .zip(moments(&states, order.instants))
            .map(|(base, moments)| base.with_moments(moments))
            .collect();
        let tolerances = if order.margins {
            bases.par_iter().map(unasked).collect()
        } else {
            Vec::new()
        };
        let mut plan = Self {
            bases,
            tolerances,
            entries: catalogue().map(|entry| entry.fault()).collect(),
            chosen: Vec::new(),
            singles: Vec::new(),
            order,
        };
        if plan.order.sweep == Sweep::Singles {
            plan.singles = plan.list_singles();
        }
        plan.chosen = plan.choose();
        plan
    }

    fn list_singles(&self) -> Vec<Single> {
        let variants = variants();
        let all = self.order.all_variants;
        let mut singles = Vec::new();
        for (mission, base) in (0_u16..).zip(&self.bases) {
            for (moment, at) in (0_u32..).zip(&base.moments) {
                let mut add = |fault| {
                    singles.push(Single {
                        mission,
                        moment,
                        fault,
                    });
                };
                for variant in variants.iter().filter(|v| v.plain || at.full || all) {
                    if variant.fault.kind() == Kind::BitFlip {
                        let place = u64::from(mission) << 32 | u64::from(moment);
                        let mut rng = drawn(self.order.seed, place);
                        (0..BITS).for_each(|_| add(bit_flip(rng.bits())));
                    } else {
                        add(variant.fault);
                    }
                }
            }
        }
        singles
    }

    fn choose(&self) -> Vec<u32> {
        let all = match self.order.sweep {
            Sweep::Singles => self.singles.len() as u64,
            Sweep::Pairs => triangle(self.entries.len() as u64),
            Sweep::Triples(count) => count,
        };
        let all = u32::try_from(all).unwrap_or(u32::MAX);
        let Some(only) = &self.order.only else {
            return (0..all).collect();
        };
        let chosen = |number: &u32| {
            let cell = self.numbered(u64::from(*number));
            let phase = self.bases[cell.mission].place(cell.onset()).0.name();
            cell.to_string().contains(only) || phase.contains(only)
        };
        (0..all).into_par_iter().filter(chosen).collect()
    }

    /// How many cells there are.
    #[must_use]
    pub const fn len(&self) -> usize {
        self.chosen.len()
    }

    /// True when there is none.
    #[must_use]
    pub const fn is_empty(&self) -> bool {
        self.chosen.is_empty()
    }

    /// The missions, flown without faults.
    #[must_use]
    pub fn bases(&self) -> &[Base<C>] {
        &self.bases
    }

    /// What was asked for.
    #[must_use]
    pub const fn order(&self) -> &Order {
        &self.order
    }

    /// Cell number `index`.
    #[must_use]
    pub fn cell(&self, index: usize) -> Cell {
        self.numbered(u64::from(self.chosen[index]))
    }

    fn numbered(&self, number: u64) -> Cell {
        match self.order.sweep {
            Sweep::Singles => {
                let single = self.singles[number as usize];
                let mission = usize::from(single.mission);
                let tick = self.bases[mission].moments[single.moment as usize].tick;
                Cell::single(mission, tick, single.fault)
            }
            Sweep::Pairs => self.drawn(&pair(number, self.entries.len() as u64), number),
            Sweep::Triples(_) => {
                let mut rng = drawn(!self.order.seed, number);
                let entries = self.entries.len() as u64;
                let three = [0; 3].map(|_: u64| rng.bits() % entries);
                self.drawn(&three, number)
            }
        }
    }

    /// A cell of these entries in a mission, at moments and in an order drawn for it.
    fn drawn(&self, entries: &[u64], number: u64) -> Cell {
        let mut rng = drawn(self.order.seed, number);
        let mission = (rng.bits() % self.bases.len() as u64) as usize;
        let moments = &self.bases[mission].moments;
        let mut faults: Vec<Ordered> = entries
            .iter()
            .map(|entry| {
                let fault = self.entries[*entry as usize];
                let moment = &moments[(rng.bits() % moments.len() as u64) as usize];
                Ordered {
                    tick: moment.tick,
                    fault: if fault.kind() == Kind::BitFlip {
                        bit_flip(rng.bits())
                    } else {
                        fault
                    },
                }
            })
            .collect();
        faults.sort_by_key(|ordered| ordered.tick);
        Cell { mission, faults }
    }

    /// Flies cell number `index`.
    #[must_use]
    pub fn fly(&self, index: usize) -> Record {
        let cell = self.cell(index);
        let single = cell.faults.len() == 1;
        let tolerance = self.tolerances.get(cell.mission).filter(|_| single);
        let tolerance = tolerance.map(|known| {
            let moments = &self.bases[cell.mission].moments;
            let at = moments.iter().position(|m: &Moment| m.tick == cell.onset());
            known[at.expect("cells of a plan begin at its moments")]
        });
        run::fly(&self.bases[cell.mission], &cell, tolerance).record
    }

    /// A number that differs when the cells, or what the controller does in the missions
    /// without faults, differ.
    #[must_use]
    pub fn fingerprint(&self) -> u64 {
        let mut hasher = Fnv::default();
        env!("CARGO_PKG_VERSION").hash(&mut hasher);
        self.len().hash(&mut hasher);
        if !self.is_empty() {
            self.cell(self.len() - 1).to_string().hash(&mut hasher);
        }
        for base in &self.bases {
            for done in base.tape() {
                done.drives.hash(&mut hasher);
                done.indications.hash(&mut hasher);
            }
        }
        hasher.finish()
    }

    /// The plan in one line, as it heads its table.
    #[must_use]
    pub fn heading(&self) -> String {
        format!(
            "sweep={} seed={} instants={} variants={} margins={} cells={} build={}-{:016x} only={}",
            self.order.sweep.words(),
            self.order.seed,
            self.order.instants,
            if self.order.all_variants {
                "all"
            } else {
                "some"
            },
            if self.order.margins { "yes" } else { "no" },
            self.len(),
            env!("CARGO_PKG_VERSION"),
            self.fingerprint(),
            self.order
                .only
                .as_deref()
                .unwrap_or_default()
                .escape_debug(),
        )
    }
}

/// Flies any cell, its moment one of a plan's or not.
#[must_use]
pub fn fly_alone<C: Controller>(base: &Base<C>, cell: &Cell) -> Flown {
    let start = base.at(cell.onset());
    let tolerance = (cell.faults.len() == 1).then(|| margin::tolerance(base, &start, None));
    run::fly(base, cell, tolerance)
}

fn unasked<C: Controller + Send + Sync>(base: &Base<C>) -> Vec<Tolerance> {
    base.moments
        .par_iter()
        .map(|moment| margin::tolerance(base, &base.at(moment.tick), None))
        .collect()
}

/// Random numbers of place number `place` under `seed`.
fn drawn(seed: u64, place: u64) -> Rng {
    let mut rng = Rng::new(seed);
    let mixed = rng.bits() ^ place;
    Rng::new(Rng::new(mixed).bits())
}

/// How many twos `n` things make.
const fn triangle(n: u64) -> u64 {
    n * n.saturating_sub(1) / 2
}

/// Two number `number` of `n` things: (0,1), (0,2), (1,2), (0,3)...
fn pair(number: u64, n: u64) -> [u64; 2] {
    let (mut low, mut high) = (1, n);
    while low + 1 < high {
        let middle = u64::midpoint(low, high);
        if triangle(middle) <= number {
            low = middle;
        } else {
            high = middle;
        }
    }
    [number - triangle(low), low]
}

/// FNV-1a: a hash that is the same wherever the same build runs.
struct Fnv(u64);

impl Default for Fnv {
    fn default() -> Self {
        Self(0xcbf2_9ce4_8422_2325)
    }
}

impl Hasher for Fnv {
    fn finish(&self) -> u64 {
        self.0
    }

    fn write(&mut self, bytes: &[u8]) {
        for byte in bytes {
            self.0 = (self.0 ^ u64::from(*byte)).wrapping_mul(0x0100_0000_01b3);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_two_of_n_things_come_once() {
        let n = 23;
        let mut found: Vec<[u64; 2]> = (0..triangle(n)).map(|number| pair(number, n)).collect();
        assert!(found.iter().all(|[low, high]| low < high && *high < n));
        found.sort_unstable();
        found.dedup();
        assert_eq!(found.len() as u64, triangle(n));
    }

    #[test]
    fn neighbouring_places_and_seeds_draw_differently() {
        let first = |seed, place| drawn(seed, place).bits();
        assert_eq!(first(1, 2), first(1, 2));
        assert_ne!(first(1, 2), first(1, 3));
        assert_ne!(first(1, 2), first(2, 2));
        assert_ne!(first(1, 2), first(2, 1));
    }
}
