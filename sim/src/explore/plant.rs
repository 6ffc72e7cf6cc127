//! The abstract plant: where things are, in classes that a guard or a hazard tells apart.
//!
//! A class moves to a neighbour or stays, as it likes, wherever something drives it that
//! way: no speed, no exact time, and of mass only that what coasts goes on the way it ran.
//! What the plant does on its way, this one may do as well; `docs/exploration.md` says why,
//! and lists the few facts about the real plant that are taken for granted.

mod moves;

use mastwright_core::axis::Way;

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

    /// The other one.
    #[must_use]
    pub const fn opposite(self) -> Self {
        match self {
            Self::Out => Self::In,
            Self::In => Self::Out,
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
    /// It turns slowly enough to be parked. Where the blade is remembered this is taken for
    /// standing still: what is read of a shaft that turns slowly comes to what is read of one
    /// that stands still, its parking proof not complete.
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
    /// How it is driven, or was.
    pub mast_motion: Motion,
    /// While it was driven last it ran the other way: its drive is reversed.
    pub backwards: bool,
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

impl Motion {
    /// No longer driven.
    #[must_use]
    pub const fn let_go(self) -> Self {
        match self {
            Self::Rest => Self::Rest,
            Self::Driven(side) | Self::Coasts(side) => Self::Coasts(side),
        }
    }

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
        self.backwards &= self.mast_motion != Motion::Rest;
        if !keeps_blade(self.mast, self.mast_motion) {
            (self.place, self.pace) = (Place::Window, Pace::Still);
        }
        self
    }

    /// Where the mast runs, or coasts, in truth.
    #[must_use]
    pub const fn mast_runs(&self) -> Option<Side> {
        match (self.mast_motion, self.backwards) {
            (Motion::Rest, _) => None,
            (Motion::Driven(side) | Motion::Coasts(side), false) => Some(side),
            (Motion::Driven(side) | Motion::Coasts(side), true) => Some(side.opposite()),
        }
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
