//! How the abstract plant moves within one tick.

use mastwright_core::axis::Way;
use mastwright_core::outputs::{DoorDrive, Drives, MastDrive, Motor};

use super::{Doors, Mast, Motion, Pace, Place, Plant, Side, Volts, keeps_blade};
use crate::explore::cases::{Cases, Several};
use crate::explore::trouble::Trouble;

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

impl Plant {
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

    /// Blade and shaft, should it be remembered at the end of the step how they are. In the
    /// bay the detent keeps a blade that no motor turns, though it may swing in it; and while
    /// the mast is lowered, or coasts, past its clear position, the detent or the crew's hands
    /// keep one that is in its window. One that turns slowly is remembered as one that stands
    /// still: see [`Pace::Slow`].
    fn blades(&self, drives: &Drives, broken: Several) -> Few<(Place, Pace), 4> {
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
        let pace = match self.pace {
            Pace::Still | Pace::Slow => Pace::Still,
            Pace::Fast => Pace::Fast,
        };
        let mut few = Few::one((self.place, pace), all).or((self.place, Pace::Still), all);
        for near in neighbours(self.place) {
            few = few.or((*near, Pace::Still), loose);
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
