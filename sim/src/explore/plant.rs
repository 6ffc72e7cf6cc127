//! The abstract plant: where things are, in classes that a guard or a hazard tells apart.
//!
//! A class moves to a neighbour or stays, as it likes, wherever something drives it that
//! way: no speed, no mass, no exact time. What the plant does on its way, this one may do
//! as well; `docs/exploration.md` says why, and lists the few facts about the real plant
//! that are taken for granted.

use mastwright_core::axis::Way;
use mastwright_core::outputs::{DoorDrive, Drives, MastDrive, Motor};

use super::trouble::{Trouble, Troubles};

/// Where the mast is, from stowed to locked.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Mast {
    /// At its stowed end.
    #[default]
    Stowed,
    /// Off its end; the blade is between the walls of the bay.
    Inside,
    /// The blade is out of the bay, by less than half of the margin.
    Brink,
    /// The blade is out of the bay, by more than half of the margin.
    Edge,
    /// The blade is clear of the bay with its margin.
    Clear,
    /// At its deployed end, the pin not engaged.
    Deployed,
    /// At its deployed end, the pin engaged.
    Locked,
}

impl Mast {
    /// Every class, from stowed to locked.
    pub const ALL: [Self; 7] = [
        Self::Stowed,
        Self::Inside,
        Self::Brink,
        Self::Edge,
        Self::Clear,
        Self::Deployed,
        Self::Locked,
    ];

    /// The next class that way; the same at an end.
    #[must_use]
    pub const fn towards(self, way: Way) -> Self {
        match (self, way) {
            (Self::Stowed, Way::In) => Self::Stowed,
            (Self::Stowed, Way::Out) | (Self::Brink, Way::In) => Self::Inside,
            (Self::Inside, Way::In) => Self::Stowed,
            (Self::Inside, Way::Out) | (Self::Edge, Way::In) => Self::Brink,
            (Self::Brink, Way::Out) | (Self::Clear, Way::In) => Self::Edge,
            (Self::Edge, Way::Out) | (Self::Deployed, Way::In) => Self::Clear,
            (Self::Clear, Way::Out) | (Self::Locked, Way::In) => Self::Deployed,
            (Self::Deployed | Self::Locked, Way::Out) => Self::Locked,
        }
    }

    /// True when the blade stands between the walls of the bay.
    #[must_use]
    pub const fn in_bay(self) -> bool {
        match self {
            Self::Stowed | Self::Inside => true,
            Self::Brink | Self::Edge | Self::Clear | Self::Deployed | Self::Locked => false,
        }
    }
}

/// Where the doors are.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Doors {
    /// Shut.
    #[default]
    Shut,
    /// Neither shut nor open.
    Ajar,
    /// Off their open switches by a hair, out of the way of the mast.
    Agape,
    /// Both fully open.
    Open,
}

impl Doors {
    /// Every class, from shut to open.
    pub const ALL: [Self; 4] = [Self::Shut, Self::Ajar, Self::Agape, Self::Open];

    /// The next class that way; the same at an end.
    #[must_use]
    pub const fn towards(self, way: Way) -> Self {
        match (self, way) {
            (Self::Shut | Self::Ajar, Way::In) => Self::Shut,
            (Self::Agape, Way::In) | (Self::Shut, Way::Out) => Self::Ajar,
            (Self::Open, Way::In) | (Self::Ajar, Way::Out) => Self::Agape,
            (Self::Agape | Self::Open, Way::Out) => Self::Open,
        }
    }
}

/// How an axis moves.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Motion {
    /// It rests.
    #[default]
    Rest,
    /// It was driven that way in the last step.
    Driven(Side),
    /// It was driven that way, is no longer, and may coast over one boundary of classes
    /// while the dead time of its drive lasts.
    Coasts(Side),
}

/// A way that can be ordered and packed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Side {
    /// Out of the bay.
    Out,
    /// Into it.
    In,
}

impl Side {
    /// The same as the controller writes it.
    #[must_use]
    pub const fn way(self) -> Way {
        match self {
            Self::Out => Way::Out,
            Self::In => Way::In,
        }
    }
}

/// How far the blade is off its park angle.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Place {
    /// Within the park window.
    #[default]
    Window,
    /// Outside it, within the sector that clears the walls, near enough to be held.
    Near,
    /// Elsewhere.
    Away,
}

/// How fast the shaft turns.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Pace {
    /// It stands still.
    #[default]
    Still,
    /// It turns slowly enough to be parked.
    Slow,
    /// It spins; its place is then [`Place::Away`].
    Fast,
}

/// What of the blade can matter in a step, where it is chosen anew.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Blade {
    /// Nothing.
    Not,
    /// Whether it is in its window.
    Place,
    /// Place and pace.
    All,
}

/// The voltage of the bus.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Volts {
    /// Below the high-voltage limit.
    #[default]
    Dead,
    /// High voltage, but below the share at which it counts as pre-charged.
    Part,
    /// Pre-charged or more.
    Full,
}

impl Volts {
    /// Every class, from dead to full.
    pub const ALL: [Self; 3] = [Self::Dead, Self::Part, Self::Full];

    const fn up(self) -> Self {
        match self {
            Self::Dead => Self::Part,
            Self::Part | Self::Full => Self::Full,
        }
    }

    const fn down(self) -> Self {
        match self {
            Self::Dead | Self::Part => Self::Dead,
            Self::Full => Self::Part,
        }
    }
}

/// The plant.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Plant {
    /// The mast.
    pub mast: Mast,
    /// How it moves.
    pub mast_motion: Motion,
    /// The doors.
    pub doors: Doors,
    /// How they move.
    pub door_motion: Motion,
    /// Where the blade is, where [`keeps_blade`]; elsewhere chosen anew in each step.
    pub place: Place,
    /// How fast it turns; the same.
    pub pace: Pace,
    /// The bus.
    pub volts: Volts,
    /// The contacts of the main contactor touch.
    pub main: bool,
    /// The motor was commanded to propel in the last step.
    pub torque: bool,
}

/// A few possibilities, without allocation.
#[derive(Clone, Copy, Debug)]
pub struct Few<T, const N: usize> {
    items: [T; N],
    len: usize,
}

impl<T: Copy + PartialEq, const N: usize> Few<T, N> {
    fn one(item: T) -> Self {
        Self {
            items: [item; N],
            len: 1,
        }
    }

    fn or(mut self, item: T) -> Self {
        if !self.iter().any(|known| known == item) {
            self.items[self.len] = item;
            self.len += 1;
        }
        self
    }

    /// The possibilities.
    pub fn iter(&self) -> impl Iterator<Item = T> + '_ {
        self.items[..self.len].iter().copied()
    }
}

impl Motion {
    /// At rest, if it is not driven.
    #[must_use]
    pub const fn rested(self) -> Self {
        match self {
            Self::Rest | Self::Coasts(_) => Self::Rest,
            Self::Driven(side) => Self::Driven(side),
        }
    }
}

impl Plant {
    /// The same with the mast at rest, its dead time over.
    #[must_use]
    pub fn mast_rested(mut self) -> Self {
        self.mast_motion = self.mast_motion.rested();
        if !keeps_blade(self.mast, self.mast_motion) {
            (self.place, self.pace) = (Place::Window, Pace::Still);
        }
        self
    }

    /// True when neither mast nor doors are driven or coast.
    #[must_use]
    pub fn rests(&self) -> bool {
        (self.mast_motion, self.door_motion) == (Motion::Rest, Motion::Rest)
    }

    /// True when such a plant can be found at power-up: doors open wherever the mast is
    /// out, the blade at rest clear of the walls, nothing driven.
    #[must_use]
    pub fn is_possible(&self) -> bool {
        let doors = self.mast == Mast::Stowed || self.doors == Doors::Open;
        doors && self.place != Place::Away && self.pace == Pace::Still
    }

    /// Calls `next` with every plant that can follow within one tick under `drives`.
    pub fn each_next(&self, drives: &Drives, troubles: Troubles, mut next: impl FnMut(Self)) {
        let masts = self.masts(drives, troubles);
        let doors = self.door_moves(drives);
        let blades = self.blades(drives, troubles);
        let buses = self.buses(drives, troubles);
        let torque = matches!(drives.motor, Motor::Thrust(_)) && drives.motor_enable;
        for (mast, mast_motion) in masts.iter() {
            for (doors, door_motion) in doors.iter() {
                let here = Few::one((Place::Window, Pace::Still));
                let kept = keeps_blade(mast, mast_motion);
                let blades = if kept { blades } else { here };
                for (place, pace) in blades.iter() {
                    for (volts, main) in buses.iter() {
                        next(Self {
                            mast,
                            mast_motion,
                            doors,
                            door_motion,
                            place,
                            pace,
                            volts,
                            main,
                            torque,
                        });
                    }
                }
            }
        }
    }

    fn masts(&self, drives: &Drives, troubles: Troubles) -> Few<(Mast, Motion), 7> {
        let wanted = match drives.mast {
            MastDrive::Off => None,
            MastDrive::Extend(_) => Some(Side::Out),
            MastDrive::Retract(_) => Some(Side::In),
        };
        let here = self.mast;
        let mut few = match (wanted, self.mast_motion) {
            (Some(side), _) => driven_mast(here, side, troubles),
            (None, Motion::Rest) => Few::one((here, Motion::Rest)),
            (None, Motion::Driven(side) | Motion::Coasts(side)) => {
                let there = here.towards(side.way());
                if there == here {
                    Few::one((here, Motion::Rest))
                } else {
                    Few::one((here, Motion::Coasts(side))).or((there, Motion::Rest))
                }
            }
        };
        // The pin falls back in as soon as the drive that drew it is off.
        if let (Mast::Deployed, None, Motion::Driven(Side::In) | Motion::Coasts(Side::In)) =
            (here, wanted, self.mast_motion)
        {
            few = few.or((Mast::Locked, Motion::Rest));
        }
        // A drive that runs the wrong way coasts that way too.
        if let (None, Motion::Driven(side) | Motion::Coasts(side), true) = (
            wanted,
            self.mast_motion,
            troubles.has(Trouble::MastReversed),
        ) {
            few = few.or((here.towards(side.way().opposite()), Motion::Rest));
        }
        // A mast that nothing holds sinks by its weight, unless the pin is in; past the
        // upright, near its deployed end, it leans the other way.
        if troubles.has(Trouble::SpindleFree) && here != Mast::Locked {
            few = few.or((here.towards(Way::In), Motion::Rest));
            if here >= Mast::Clear {
                few = few.or((here.towards(Way::Out), Motion::Rest));
            }
        }
        few
    }

    fn door_moves(&self, drives: &Drives) -> Few<(Doors, Motion), 4> {
        let wanted = match drives.doors {
            DoorDrive::Off => None,
            DoorDrive::Open => Some(Side::Out),
            DoorDrive::Close => Some(Side::In),
        };
        let here = self.doors;
        match (wanted, self.door_motion) {
            (Some(side), _) => {
                let motion = Motion::Driven(side);
                let stays = Few::one((here, motion));
                stays.or((here.towards(side.way()), motion))
            }
            (None, Motion::Rest) => Few::one((here, Motion::Rest)),
            (None, Motion::Driven(side) | Motion::Coasts(side)) => {
                let coasts = Motion::Coasts(side);
                match (here, side) {
                    (Doors::Shut, Side::In) | (Doors::Open, Side::Out) => {
                        Few::one((here, Motion::Rest))
                    }
                    // Springs snap doors that are hardly open shut again.
                    (Doors::Shut, Side::Out) => Few::one((here, coasts)).or((Doors::Ajar, coasts)),
                    (Doors::Ajar, Side::Out) => Few::one((here, coasts))
                        .or((Doors::Agape, Motion::Rest))
                        .or((Doors::Shut, Motion::Rest)),
                    (Doors::Agape, Side::Out)
                    | (Doors::Ajar | Doors::Agape | Doors::Open, Side::In) => {
                        Few::one((here, coasts)).or((here.towards(side.way()), Motion::Rest))
                    }
                }
            }
        }
    }

    /// Calls `each` with this plant, the blade wherever it may be where that is not
    /// remembered.
    pub fn each_blade(&self, matters: Blade, mut each: impl FnMut(&Self)) {
        if keeps_blade(self.mast, self.mast_motion) {
            each(self);
            return;
        }
        let blades = match matters {
            Blade::Not => &[(Place::Window, Pace::Still)][..],
            Blade::Place => &[(Place::Window, Pace::Still), (Place::Away, Pace::Slow)],
            Blade::All => &[
                (Place::Window, Pace::Still),
                (Place::Near, Pace::Slow),
                (Place::Away, Pace::Slow),
                (Place::Away, Pace::Fast),
            ],
        };
        for &(place, pace) in blades {
            each(&Self {
                place,
                pace,
                ..*self
            });
        }
    }

    /// Blade and shaft, should it be remembered at the end of the step how they are. In the
    /// bay the detent keeps a blade that no motor turns, though it may swing in it; and while
    /// the mast is lowered, or coasts, past its clear position, the detent or the crew's hands
    /// keep one that is in its window.
    fn blades(&self, drives: &Drives, troubles: Troubles) -> Few<(Place, Pace), 9> {
        let fed = self.main && self.volts != Volts::Dead;
        let turned = (drives.motor_enable && fed) || troubles.has(Trouble::BladeTurned);
        let here = Few::one((self.place, self.pace));
        let swings = here
            .or((self.place, Pace::Still))
            .or((self.place, Pace::Slow));
        if self.mast.in_bay() && !turned {
            return swings;
        }
        let reversed = troubles.has(Trouble::MastReversed);
        let lowered = match self.mast_motion {
            Motion::Driven(side) | Motion::Coasts(side) => side == Side::In || reversed,
            Motion::Rest => matches!(drives.mast, MastDrive::Retract(_)),
        };
        if lowered && self.place == Place::Window && !turned {
            return swings;
        }
        let mut few = swings;
        for near in neighbours(self.place).iter() {
            few = few.or((near, Pace::Still)).or((near, Pace::Slow));
        }
        if self.place == Place::Away {
            few = few.or((Place::Away, Pace::Fast));
        }
        few
    }

    fn buses(&self, drives: &Drives, troubles: Troubles) -> Few<(Volts, bool), 6> {
        let bus = drives.bus;
        let packs = bus.packs.contains(&true);
        let mut main = Few::<bool, 2>::one(self.main);
        // What is broken may work now and then: it adds to what may be, and forbids nothing.
        if bus.main {
            main = main.or(true);
        }
        let falls = troubles.has(Trouble::MainStuckOpen);
        if falls || !bus.main {
            main = main.or(false);
        }
        let through_main = self.main && packs;
        let precharges = bus.precharge && packs;
        let fed = through_main || precharges;
        let starved = troubles.has(Trouble::PacksOff)
            || (troubles.has(Trouble::PrechargeOpen) && !through_main);
        let here = self.volts;
        let mut volts = Few::<Volts, 3>::one(here);
        if fed && (!bus.discharge || troubles.has(Trouble::DischargeOpen)) {
            volts = volts.or(here.up());
        }
        if !fed || starved {
            volts = volts.or(here.down());
        }
        let mut few: Option<Few<(Volts, bool), 6>> = None;
        for main in main.iter() {
            for volts in volts.iter() {
                let item = (volts, main);
                few = Some(few.map_or_else(|| Few::one(item), |few| few.or(item)));
            }
        }
        few.unwrap_or_else(|| Few::one((here, self.main)))
    }
}

/// True where it is remembered how the blade stands: in the bay, and so near to it that a
/// mast which moves may coast in. Elsewhere wind and motor do with it what they like, and
/// it is chosen anew in each step.
#[must_use]
pub const fn keeps_blade(mast: Mast, motion: Motion) -> bool {
    match mast {
        Mast::Stowed | Mast::Inside => true,
        Mast::Brink => !matches!(motion, Motion::Rest),
        Mast::Edge | Mast::Clear | Mast::Deployed | Mast::Locked => false,
    }
}

/// A driven mast moves or not yet; whatever holds it up may let go now and then.
fn driven_mast(here: Mast, side: Side, troubles: Troubles) -> Few<(Mast, Motion), 7> {
    let motion = Motion::Driven(side);
    let reversed = match side {
        Side::Out => Side::In,
        Side::In => Side::Out,
    };
    let few = Few::one((here, motion)).or((here.towards(side.way()), motion));
    if troubles.has(Trouble::MastReversed) {
        few.or((here.towards(reversed.way()), motion))
    } else {
        few
    }
}

fn neighbours(place: Place) -> Few<Place, 2> {
    match place {
        Place::Window | Place::Away => Few::one(Place::Near),
        Place::Near => Few::one(Place::Window).or(Place::Away),
    }
}
