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
        // Whether the mast comes down decides whether anything keeps the blade.
        let blades = [false, true].map(|down| self.blades(drives, down, broken));
        let came_down = self.mast_runs() == Some(Side::In);
        let buses = self.buses(drives, broken);
        let torque = matches!(drives.motor, Motor::Thrust(_)) && drives.motor_enable;
        for (mast, cases) in masts.iter() {
            let moved = Self {
                mast: mast.at,
                mast_motion: mast.motion,
                backwards: mast.backwards,
                torque,
                ..*self
            };
            let comes_down = came_down || moved.mast_runs() == Some(Side::In);
            let anew = Few::one((Place::Window, Pace::Still), broken.all());
            let kept = keeps_blade(moved.mast, moved.mast_motion);
            let blades = if kept {
                blades[usize::from(comes_down)]
            } else {
                anew
            };
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
                            doors,
                            door_motion,
                            place,
                            pace,
                            volts,
                            main,
                            ..moved
                        };
                        next(plant, cases);
                    }
                }
            }
        }
    }

    fn masts(&self, drives: &Drives, broken: Several) -> Few<MovedMast, 7> {
        let wanted = match drives.mast {
            MastDrive::Off => None,
            MastDrive::Extend(_) => Some(Side::Out),
            MastDrive::Retract(_) => Some(Side::In),
        };
        let all = broken.all();
        let here = self.mast;
        let mut few = match (wanted, self.mast_runs()) {
            (Some(side), _) => driven_mast(here, side, broken),
            (None, None) => Few::one(MovedMast::rests(here), all),
            // What coasts goes on the way it ran: it does not turn round.
            (None, Some(runs)) => {
                let there = here.towards(runs.way());
                if there == here {
                    Few::one(MovedMast::rests(here), all)
                } else {
                    let coasts = MovedMast {
                        at: here,
                        motion: self.mast_motion.let_go(),
                        backwards: self.backwards,
                    };
                    Few::one(coasts, all).or(MovedMast::rests(there), all)
                }
            }
        };
        // The pin falls back in as soon as the drive that drew it is off.
        if (here, wanted) == (Mast::Deployed, None) && self.mast_motion != Motion::Rest {
            few = few.or(MovedMast::rests(Mast::Locked), all);
        }
        // A mast that nothing holds sinks by its weight, unless the pin is in; past the
        // upright, near its deployed end, it leans the other way.
        let free = broken.with(Trouble::SpindleFree);
        if here != Mast::Locked {
            few = few.or(MovedMast::rests(here.towards(Way::In)), free);
            if here >= Mast::Clear {
                few = few.or(MovedMast::rests(here.towards(Way::Out)), free);
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
    /// the mast comes down past its clear position, driven or coasting, the detent or the crew's
    /// hands keep one that is in its window. One that turns slowly is remembered as one that
    /// stands still: see [`Pace::Slow`].
    fn blades(&self, drives: &Drives, comes_down: bool, broken: Several) -> Few<(Place, Pace), 4> {
        let all = broken.all();
        let fed = self.main && self.volts != Volts::Dead;
        let turned = if drives.motor_enable && fed {
            all
        } else {
            broken.with(Trouble::BladeTurned)
        };
        let kept = comes_down && self.place == Place::Window;
        let held = if self.mast.in_bay() || kept {
            all
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

/// Where a mast is after a tick, and how it runs.
#[derive(Clone, Copy, Debug, PartialEq)]
struct MovedMast {
    at: Mast,
    motion: Motion,
    backwards: bool,
}

impl MovedMast {
    const fn rests(at: Mast) -> Self {
        Self {
            at,
            motion: Motion::Rest,
            backwards: false,
        }
    }
}

/// A driven mast moves or not yet; whatever holds it up may let go now and then. A drive that
/// is reversed runs either way, and may change from one tick to the next.
fn driven_mast(here: Mast, side: Side, broken: Several) -> Few<MovedMast, 7> {
    let to = |at, backwards| MovedMast {
        at,
        motion: Motion::Driven(side),
        backwards,
    };
    let (there, back) = (
        here.towards(side.way()),
        here.towards(side.opposite().way()),
    );
    let reversed = broken.with(Trouble::MastReversed);
    Few::one(to(here, false), broken.all())
        .or(to(there, false), broken.all())
        .or(to(here, true), reversed)
        .or(to(back, true), reversed)
}

const fn neighbours(place: Place) -> &'static [Place] {
    match place {
        Place::Window | Place::Away => &[Place::Near],
        Place::Near => &[Place::Window, Place::Away],
    }
}

#[cfg(test)]
mod tests {
    use mastwright_core::outputs::Pace as Speed;

    use super::*;
    use crate::explore::trouble::Troubles;

    /// Where the mast may be after a tick, its drive reversed, and whether it ran backwards.
    fn after(from: Plant, drive: MastDrive) -> Vec<(Mast, bool)> {
        let drives = Drives {
            mast: drive,
            ..Drives::default()
        };
        let reversed = Several::one(Troubles::of(Trouble::MastReversed, Trouble::None));
        let mut found = Vec::new();
        from.each_next(&drives, reversed, |next, _| {
            found.push((next.mast, next.backwards));
        });
        found.sort_unstable();
        found.dedup();
        found
    }

    #[test]
    fn a_mast_whose_drive_is_reversed_runs_either_way_and_coasts_the_way_it_ran() {
        let rests = Plant {
            mast: Mast::Brink,
            doors: Doors::Open,
            ..Plant::default()
        };
        let out = MastDrive::Extend(Speed::Full);
        assert_eq!(
            after(rests, out),
            [
                (Mast::Inside, true),
                (Mast::Brink, false),
                (Mast::Brink, true),
                (Mast::Edge, false),
            ]
        );
        let ran = |backwards| Plant {
            mast_motion: Motion::Driven(Side::Out),
            backwards,
            ..rests
        };
        let forward = after(ran(false), MastDrive::Off);
        assert_eq!(forward, [(Mast::Brink, false), (Mast::Edge, false)]);
        let back = after(ran(true), MastDrive::Off);
        assert_eq!(back, [(Mast::Inside, false), (Mast::Brink, true)]);
        let unlatched = Plant {
            mast: Mast::Deployed,
            ..ran(true)
        };
        let pin = after(unlatched, MastDrive::Off);
        assert!(pin.contains(&(Mast::Locked, false)), "it falls back in");
    }
}
