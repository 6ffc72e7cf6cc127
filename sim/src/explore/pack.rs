//! The world of a node as bits.

use super::plant::{Doors, Mast, Motion, Pace, Place, Plant, Side, Volts};
use super::space::World;
use super::trouble::{Trouble, Troubles};
use super::watch::{Asked, Stop, Watch};

/// Bits that are put one after another, and taken again in the same order.
struct Bits {
    bits: u64,
    at: u32,
}

impl Bits {
    fn put(&mut self, value: u8, width: u32) {
        self.bits |= u64::from(value) << self.at;
        self.at += width;
    }

    fn take(&mut self, width: u32) -> u8 {
        let value = (self.bits >> self.at) & ((1 << width) - 1);
        self.at += width;
        value.to_le_bytes()[0]
    }

    fn flag(&mut self) -> bool {
        self.take(1) == 1
    }
}

const fn motion_number(motion: Motion) -> u8 {
    match motion {
        Motion::Rest => 0,
        Motion::Driven(Side::Out) => 1,
        Motion::Driven(Side::In) => 2,
        Motion::Coasts(Side::Out) => 3,
        Motion::Coasts(Side::In) => 4,
    }
}

const MOTIONS: [Motion; 8] = [
    Motion::Rest,
    Motion::Driven(Side::Out),
    Motion::Driven(Side::In),
    Motion::Coasts(Side::Out),
    Motion::Coasts(Side::In),
    Motion::Rest,
    Motion::Rest,
    Motion::Rest,
];
const PLACES: [Place; 4] = [Place::Window, Place::Near, Place::Away, Place::Away];
const PACES: [Pace; 4] = [Pace::Still, Pace::Slow, Pace::Fast, Pace::Fast];
const MASTS: [Mast; 8] = [
    Mast::Stowed,
    Mast::Inside,
    Mast::Brink,
    Mast::Edge,
    Mast::Clear,
    Mast::Deployed,
    Mast::Locked,
    Mast::Locked,
];
const DOORS: [Doors; 4] = Doors::ALL;
const VOLTS: [Volts; 4] = [Volts::Dead, Volts::Part, Volts::Full, Volts::Full];
const ASKED: [Asked; 8] = [
    Asked::Nothing,
    Asked::Centred,
    Asked::Released,
    Asked::Ready,
    Asked::Given,
    Asked::Given,
    Asked::Given,
    Asked::Given,
];
const STOPS: [Stop; 4] = [Stop::Free, Stop::Thrown, Stop::Released, Stop::Opposed];

impl Watch {
    /// Its memory as a number.
    #[must_use]
    pub fn pack(&self) -> u32 {
        let mut bits = Bits { bits: 0, at: 0 };
        self.put(&mut bits);
        u32::try_from(bits.bits).expect("a dozen bits")
    }

    fn put(&self, bits: &mut Bits) {
        bits.put(self.asked as u8, 3);
        bits.put(self.stop as u8, 2);
        bits.put(self.closed.into(), 1);
        bits.put(self.restrained.into(), 1);
    }

    fn take(bits: &mut Bits) -> Self {
        Self {
            asked: ASKED[usize::from(bits.take(3))],
            stop: STOPS[usize::from(bits.take(2))],
            closed: bits.flag(),
            restrained: bits.flag(),
        }
    }
}

impl World {
    /// The world as bits, 39 of them.
    #[must_use]
    pub fn pack(&self) -> u128 {
        let mut bits = Bits { bits: 0, at: 0 };
        let plant = &self.plant;
        bits.put(plant.mast as u8, 3);
        bits.put(motion_number(plant.mast_motion), 3);
        bits.put(plant.backwards.into(), 1);
        bits.put(plant.doors as u8, 2);
        bits.put(motion_number(plant.door_motion), 3);
        bits.put(plant.place as u8, 2);
        bits.put(plant.pace as u8, 2);
        bits.put(plant.volts as u8, 2);
        bits.put(plant.main.into(), 1);
        bits.put(plant.torque.into(), 1);
        self.watch.put(&mut bits);
        for trouble in self.troubles.both() {
            bits.put(trouble.number(), 6);
        }
        u128::from(bits.bits)
    }

    /// The world of bits that [`World::pack`] gave.
    #[must_use]
    pub fn unpack(bits: u128) -> Self {
        let mut bits = Bits {
            bits: u64::try_from(bits).expect("39 bits"),
            at: 0,
        };
        let plant = Plant {
            mast: MASTS[usize::from(bits.take(3))],
            mast_motion: MOTIONS[usize::from(bits.take(3))],
            backwards: bits.flag(),
            doors: DOORS[usize::from(bits.take(2))],
            door_motion: MOTIONS[usize::from(bits.take(3))],
            place: PLACES[usize::from(bits.take(2))],
            pace: PACES[usize::from(bits.take(2))],
            volts: VOLTS[usize::from(bits.take(2))],
            main: bits.flag(),
            torque: bits.flag(),
        };
        let watch = Watch::take(&mut bits);
        let [one, other] = [bits.take(6), bits.take(6)].map(Trouble::numbered);
        Self {
            plant,
            watch,
            troubles: Troubles::of(one, other),
        }
    }
}
