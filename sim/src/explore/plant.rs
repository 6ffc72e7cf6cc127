//! The abstract plant: where things are, in classes that a guard or a hazard tells apart.
//!
//! A class moves to a neighbour or stays, as it likes, wherever something drives it that
//! way: no speed, no mass, no exact time. What the plant does on its way, this one may do
//! as well; `docs/exploration.md` says why, and lists the few facts about the real plant
//! that are taken for granted.

use mastwright_core::axis::Way;
use mastwright_core::outputs::{DoorDrive, Drives, MastDrive, Motor};

use super::cases::{Cases, Several};
use super::trouble::Trouble;

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

/// A few possibilities, each with the cases in which it is one; without allocation.
#[derive(Clone, Copy, Debug)]
struct Few<T, const N: usize> {
    items: [(T, Cases); N],
    len: usize,
}

impl<T: Copy + PartialEq, const N: usize> Few<T, N> {
    /// What may be in all of these cases.
    fn one(item: T, cases: Cases) -> Self {
        Self {
            items: [(item, cases); N],
            len: 1,
        }
    }

    /// What may be besides, if there is a case of it.
    fn or(mut self, item: T, cases: Cases) -> Self {
        if cases.is_empty() {
            return self;
        }
        let known = self.items[..self.len].iter_mut();
        if let Some((_, of)) = known.into_iter().find(|(known, _)| *known == item) {
            *of |= cases;
        } else {
            self.items[self.len] = (item, cases);
            self.len += 1;
        }
        self
    }

    fn iter(&self) -> impl Iterator<Item = (T, Cases)> + '_ {
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

    /// Calls `next` with every plant that can follow within one tick under `drives`, and the
    /// cases in which it can.
    pub fn each_next(&self, drives: &Drives, broken: Several, mut next: impl FnMut(Self, Cases)) {
        let masts = self.masts(drives, broken);
        let doors = self.door_moves(drives, broken.all());
        let moved = self.blades(drives, broken);
        let buses = self.buses(drives, broken);
        let torque = matches!(drives.motor, Motor::Thrust(_)) && drives.motor_enable;
        for ((mast, mast_motion), cases) in masts.iter() {
            let anew = Few::one((Place::Window, Pace::Still), broken.all());
            let kept = keeps_blade(mast, mast_motion);
            let blades = if kept { moved } else { anew };
            for ((doors, door_motion), of) in doors.iter() {
                let cases = cases & of;
                for ((place, pace), of) in blades.iter() {
                    let cases = cases & of;
                    for ((volts, main), of) in buses.iter() {
                        let cases = cases & of;
                        if cases.is_empty() {
                            continue;
                        }
                        let plant = Self {
                            mast,
                            mast_motion,
                            doors,
                            door_motion,
                            place,
                            pace,
                            volts,
                            main,
                            torque,
                        };
                        next(plant, cases);
                    }
                }
            }
        }
    }

    fn masts(&self, drives: &Drives, broken: Several) -> Few<(Mast, Motion), 7> {
        let wanted = match drives.mast {
            MastDrive::Off => None,
            MastDrive::Extend(_) => Some(Side::Out),
            MastDrive::Retract(_) => Some(Side::In),
        };
        let all = broken.all();
        let here = self.mast;
        let mut few = match (wanted, self.mast_motion) {
            (Some(side), _) => driven_mast(here, side, broken),
            (None, Motion::Rest) => Few::one((here, Motion::Rest), all),
            (None, Motion::Driven(side) | Motion::Coasts(side)) => {
                let there = here.towards(side.way());
                if there == here {
                    Few::one((here, Motion::Rest), all)
                } else {
                    Few::one((here, Motion::Coasts(side)), all).or((there, Motion::Rest), all)
                }
            }
        };
        // The pin falls back in as soon as the drive that drew it is off.
        if let (Mast::Deployed, None, Motion::Driven(Side::In) | Motion::Coasts(Side::In)) =
            (here, wanted, self.mast_motion)
        {
            few = few.or((Mast::Locked, Motion::Rest), all);
        }
        // A drive that runs the wrong way coasts that way too.
        if let (None, Motion::Driven(side) | Motion::Coasts(side)) = (wanted, self.mast_motion) {
            let there = here.towards(side.way().opposite());
            few = few.or((there, Motion::Rest), broken.with(Trouble::MastReversed));
        }
        // A mast that nothing holds sinks by its weight, unless the pin is in; past the
        // upright, near its deployed end, it leans the other way.
        let free = broken.with(Trouble::SpindleFree);
        if here != Mast::Locked {
            few = few.or((here.towards(Way::In), Motion::Rest), free);
            if here >= Mast::Clear {
                few = few.or((here.towards(Way::Out), Motion::Rest), free);
            }
        }
        few
    }

    fn door_moves(&self, drives: &Drives, all: Cases) -> Few<(Doors, Motion), 4> {
        let wanted = match drives.doors {
            DoorDrive::Off => None,
            DoorDrive::Open => Some(Side::Out),
            DoorDrive::Close => Some(Side::In),
        };
        let here = self.doors;
        match (wanted, self.door_motion) {
            (Some(side), _) => {
                let motion = Motion::Driven(side);
                let stays = Few::one((here, motion), all);
                stays.or((here.towards(side.way()), motion), all)
            }
            (None, Motion::Rest) => Few::one((here, Motion::Rest), all),
            (None, Motion::Driven(side) | Motion::Coasts(side)) => {
                let coasts = Few::one((here, Motion::Coasts(side)), all);
                match (here, side) {
                    (Doors::Shut, Side::In) | (Doors::Open, Side::Out) => {
                        Few::one((here, Motion::Rest), all)
                    }
                    // Springs snap doors that are hardly open shut again.
                    (Doors::Shut, Side::Out) => coasts.or((Doors::Ajar, Motion::Coasts(side)), all),
                    (Doors::Ajar, Side::Out) => coasts
                        .or((Doors::Agape, Motion::Rest), all)
                        .or((Doors::Shut, Motion::Rest), all),
                    (Doors::Agape, Side::Out)
                    | (Doors::Ajar | Doors::Agape | Doors::Open, Side::In) => {
                        coasts.or((here.towards(side.way()), Motion::Rest), all)
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
    fn blades(&self, drives: &Drives, broken: Several) -> Few<(Place, Pace), 9> {
        let all = broken.all();
        let fed = self.main && self.volts != Volts::Dead;
        let turned = if drives.motor_enable && fed {
            all
        } else {
            broken.with(Trouble::BladeTurned)
        };
        let lowered = match self.mast_motion {
            Motion::Driven(Side::In) | Motion::Coasts(Side::In) => all,
            Motion::Driven(Side::Out) | Motion::Coasts(Side::Out) => {
                broken.with(Trouble::MastReversed)
            }
            Motion::Rest if matches!(drives.mast, MastDrive::Retract(_)) => all,
            Motion::Rest => Cases::empty(),
        };
        let held = if self.mast.in_bay() {
            all
        } else if self.place == Place::Window {
            lowered
        } else {
            Cases::empty()
        };
        // Where nothing holds it, it goes where wind and motor take it.
        let loose = all - (held - turned);
        let mut few = Few::one((self.place, self.pace), all)
            .or((self.place, Pace::Still), all)
            .or((self.place, Pace::Slow), all);
        for near in neighbours(self.place) {
            few = few
                .or((*near, Pace::Still), loose)
                .or((*near, Pace::Slow), loose);
        }
        if self.place == Place::Away {
            few = few.or((Place::Away, Pace::Fast), loose);
        }
        few
    }

    fn buses(&self, drives: &Drives, broken: Several) -> Few<(Volts, bool), 6> {
        let all = broken.all();
        let always = |so, trouble| if so { all } else { broken.with(trouble) };
        let bus = drives.bus;
        let packs = bus.packs.contains(&true);
        // What is broken may work now and then: it adds to what may be, and forbids nothing.
        let mut main = Few::<bool, 2>::one(self.main, all);
        if bus.main {
            main = main.or(true, all);
        }
        main = main.or(false, always(!bus.main, Trouble::MainStuckOpen));
        let through_main = self.main && packs;
        let precharges = bus.precharge && packs;
        let fed = through_main || precharges;
        let here = self.volts;
        let mut volts = Few::<Volts, 3>::one(here, all);
        if fed {
            volts = volts.or(here.up(), always(!bus.discharge, Trouble::DischargeOpen));
        }
        volts = volts.or(here.down(), always(!fed, Trouble::PacksOff));
        if !through_main {
            volts = volts.or(here.down(), broken.with(Trouble::PrechargeOpen));
        }
        let mut few: Option<Few<(Volts, bool), 6>> = None;
        for (main, one) in main.iter() {
            for (volts, other) in volts.iter() {
                let (item, cases) = ((volts, main), one & other);
                few = Some(few.map_or_else(|| Few::one(item, cases), |few| few.or(item, cases)));
            }
        }
        few.unwrap_or_else(|| Few::one((here, self.main), all))
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
fn driven_mast(here: Mast, side: Side, broken: Several) -> Few<(Mast, Motion), 7> {
    let motion = Motion::Driven(side);
    let reversed = here.towards(side.way().opposite());
    Few::one((here, motion), broken.all())
        .or((here.towards(side.way()), motion), broken.all())
        .or((reversed, motion), broken.with(Trouble::MastReversed))
}

const fn neighbours(place: Place) -> &'static [Place] {
    match place {
        Place::Window | Place::Away => &[Place::Near],
        Place::Near => &[Place::Window, Place::Away],
    }
}
