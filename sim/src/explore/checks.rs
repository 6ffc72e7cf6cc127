//! Every requirement and hazard that one step can show, judged from outside the controller:
//! by the abstract plant and the hands where that can be; `docs/exploration.md` names those
//! that read what the controller shows.

use mastwright_core::bus::Stage;
use mastwright_core::outputs::{DoorDrive, Event, MastDrive, Motor, Pace as Speed};
use mastwright_core::walk::{DECISIVE, Timer, Timers};
use mastwright_core::{Fault, Faults, Outputs, State};

use super::hands::{Air, Hands, Heat, Push};
use super::memory::Acknowledge;
use super::plant::{Doors, Mast, Motion, Pace, Place, Plant, Side, Volts};
use super::told::Told;
use super::watch::{Asked, Stop, Watch};

/// What one step shows.
#[derive(Clone, Copy, Debug)]
pub struct Step<'a> {
    /// The plant at its beginning.
    pub plant: &'a Plant,
    /// The observer at its beginning.
    pub watch: &'a Watch,
    /// The bus is insulated, in truth.
    pub insulated: bool,
    /// What came from outside.
    pub hands: &'a Hands,
    /// What the controller was told.
    pub told: Told,
    /// The state it showed before.
    pub before: State,
    /// The stage of the bus that it told last.
    pub stage: Stage,
    /// The decisive faults it showed before.
    pub latched: Faults,
    /// The timers that ran out in the step.
    pub ran_out: Timers,
    /// What it answered.
    pub outputs: &'a Outputs,
}

/// What one check finds in one step.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Found {
    /// The step does not concern it.
    Nothing,
    /// It was put to the test, and held.
    Held,
    /// It was broken.
    Broken,
}

/// A requirement or hazard, as far as one step can show it.
#[derive(Clone, Copy)]
pub struct Check {
    /// Its id.
    pub id: &'static str,
    /// What is checked, in words.
    pub what: &'static str,
    /// Judges one step.
    pub judge: fn(&Step<'_>) -> Found,
}

/// When `concerned`, `holds` must be so.
const fn when(concerned: bool, holds: bool) -> Found {
    match (concerned, holds) {
        (false, _) => Found::Nothing,
        (true, true) => Found::Held,
        (true, false) => Found::Broken,
    }
}

impl Step<'_> {
    fn propels(&self) -> bool {
        Watch::propels(self.outputs)
    }

    fn mast_driven(&self) -> bool {
        self.outputs.drives.mast != MastDrive::Off
    }

    fn doors_driven(&self) -> bool {
        self.outputs.drives.doors != DoorDrive::Off
    }

    fn enabled(&self) -> bool {
        self.outputs.drives.motor_enable
    }

    fn shown(&self) -> State {
        self.outputs.indications.state
    }

    /// The bus is told to go to this stage.
    fn begins(&self, stage: Stage) -> bool {
        self.outputs.events.contains(&Event::Bus(stage))
    }

    /// The main contactor is commanded, and was not in the step before.
    fn commands_main(&self) -> bool {
        let before = matches!(self.stage, Stage::Closing | Stage::Live | Stage::Opening);
        self.outputs.drives.bus.main && !before
    }

    /// The pre-charge relay is commanded, and was not in the step before.
    fn commands_precharge(&self) -> bool {
        let before = matches!(self.stage, Stage::Precharging | Stage::Closing);
        self.outputs.drives.bus.precharge && !before
    }

    fn away_from_sector(&self) -> bool {
        self.plant.place == Place::Away || self.plant.pace == Pace::Fast
    }
}

/// A table of checks, and [`judge_each`], which calls each by name: so the compiler sees all of
/// them at once, where millions of steps a second are judged.
macro_rules! checks {
    ($(Check { id: $id:literal, what: $what:literal, judge: $judge:expr $(,)? }),+ $(,)?) => {
        /// Every check, hazards last.
        pub const CHECKS: &[Check] = &[$(Check { id: $id, what: $what, judge: $judge }),+];

        /// Calls `found` with what each check finds in a step, in their order.
        #[inline]
        pub fn judge_each(step: &Step<'_>, mut found: impl FnMut(Found)) {
            $({
                let judge: fn(&Step<'_>) -> Found = $judge;
                found(judge(step));
            })+
        }
    };
}

checks![
    Check {
        id: "SR-01",
        what: "thrust only while the pin is engaged",
        judge: |step| when(step.propels(), step.plant.mast == Mast::Locked),
    },
    Check {
        id: "SR-02",
        what: "the mast is driven in the bay only with the blade in its sector and slow; in Bench only after acknowledge was pressed there",
        judge: |step| {
            let in_bay = step.plant.mast.in_bay() && step.mast_driven();
            let pressed = step.hands.acknowledge == Acknowledge::Pressed;
            let confirmed = step.watch.restrained || (pressed && step.before == State::Bench);
            let bench = step.shown() == State::Bench;
            when(in_bay, !step.away_from_sector() && (!bench || confirmed))
        },
    },
    Check {
        id: "SR-03",
        what: "a drive is not reversed before what it drove has come to rest",
        judge: |step| {
            let reversed = |motion: Motion, out: bool, into: bool| match motion {
                Motion::Driven(Side::Out) | Motion::Coasts(Side::Out) => when(true, !into),
                Motion::Driven(Side::In) | Motion::Coasts(Side::In) => when(true, !out),
                Motion::Rest => Found::Nothing,
            };
            let mast = step.outputs.drives.mast;
            let doors = step.outputs.drives.doors;
            worst(
                reversed(
                    step.plant.mast_motion,
                    matches!(mast, MastDrive::Extend(_)),
                    matches!(mast, MastDrive::Retract(_)),
                ),
                reversed(
                    step.plant.door_motion,
                    doors == DoorDrive::Open,
                    doors == DoorDrive::Close,
                ),
            )
        },
    },
    Check {
        id: "SR-04",
        what: "main contactor commanded only onto a pre-charged, insulated bus; pre-charge only with insulation in order",
        judge: |step| {
            let bus = step.outputs.drives.bus;
            let closing = bus.main && !step.plant.main;
            let begins = step.commands_main() || step.begins(Stage::Precharging);
            worst(
                when(closing, step.plant.volts == Volts::Full),
                when(begins, step.insulated),
            )
        },
    },
    Check {
        id: "SR-05",
        what: "no drive acts and no bus is made live before a fresh push (or a charge request, for the bus)",
        judge: |step| {
            let asked = step.watch.asked_now(step.hands) == Asked::Given;
            let moves = step.mast_driven() || step.doors_driven() || step.enabled();
            let lives = step.begins(Stage::Precharging) || step.begins(Stage::Closing);
            worst(
                when(!asked, !moves),
                when(!asked && !step.hands.aux, !lives),
            )
        },
    },
    Check {
        id: "SR-06",
        what: "no thrust from the throw of the stop on, until released and asked for anew",
        judge: |step| {
            let barred = matches!(step.watch.stop, Stop::Thrown | Stop::Released);
            let forbidden = step.hands.stop || barred;
            when(forbidden, !step.propels())
        },
    },
    Check {
        id: "SR-07",
        what: "a stop is answered at once, by stowing or a safe halt; no stage of a stow outlasts its time; what is shown stowed is",
        judge: |step| {
            let before = matches!(step.watch.stop, Stop::Thrown | Stop::Opposed);
            // Whoever pushes to deploy takes over.
            let served = !matches!(step.before, State::Waking | State::Bench)
                && step.hands.selector != Push::Deploy;
            let shown = step.shown();
            let answered = shown.is_stowing() || matches!(shown, State::Stowed | State::Halted(_));
            let over = step.before.is_stowing() && step.ran_out.contains(Timer::State);
            let stowed = step.plant.mast == Mast::Stowed;
            let ends = worst(
                when(over, shown != step.before),
                when(step.outputs.indications.stowed, stowed),
            );
            worst(when(step.hands.stop && !before && served, answered), ends)
        },
    },
    Check {
        id: "SR-08",
        what: "thrust only when the throttle was seen closed since the mast locked",
        judge: |step| when(step.propels(), step.watch.closed),
    },
    Check {
        id: "SR-09",
        what: "the mast is driven only between open doors; doors close only behind a stowed mast",
        judge: |step| {
            let closes = step.outputs.drives.doors == DoorDrive::Close;
            worst(
                when(step.mast_driven(), step.plant.doors == Doors::Open),
                when(closes, step.plant.mast == Mast::Stowed),
            )
        },
    },
    Check {
        id: "SR-10",
        what: "a hot part is told, thrust is reduced, and ends before damage",
        judge: |step| {
            let told = step
                .outputs
                .indications
                .faults
                .contains(mastwright_core::Fault::MotorHot);
            match step.hands.heat {
                Heat::Cool => Found::Nothing,
                Heat::Hot => when(
                    true,
                    told && !matches!(step.outputs.drives.motor, Motor::Thrust(share) if share.get() > 500),
                ),
                Heat::TooHot => when(true, told && !step.propels()),
            }
        },
    },
    Check {
        id: "SR-11",
        what: "what is not heard permits no mast drive, no door drive and no thrust",
        judge: |step| {
            let told = step.told;
            let in_bay = step.plant.mast.in_bay() && step.shown() != State::Bench;
            worst(
                when(
                    !told.mast || !told.doors || (in_bay && !told.blade),
                    !step.mast_driven(),
                ),
                when(!told.mast || !told.throttle, !step.propels()),
            )
        },
    },
    Check {
        id: "SR-12",
        what: "both end switches at once, or a switch against the position, stop the mast and are told",
        judge: |step| {
            let told = step
                .outputs
                .indications
                .faults
                .contains(Fault::MastContradiction);
            worst(
                when(step.told.contradicts, !step.mast_driven()),
                when(step.ran_out.contains(Timer::MastContradicted), told),
            )
        },
    },
    Check {
        id: "SR-13",
        what: "a drive whose longest run or overload time has run out is off",
        judge: |step| {
            let driven = |motion| matches!(motion, Motion::Driven(_));
            let mast =
                step.ran_out.contains(Timer::MastRun) || step.ran_out.contains(Timer::MastOverload);
            let doors =
                step.ran_out.contains(Timer::DoorRun) || step.ran_out.contains(Timer::DoorOverload);
            worst(
                when(mast && driven(step.plant.mast_motion), !step.mast_driven()),
                when(
                    doors && driven(step.plant.door_motion),
                    !step.doors_driven(),
                ),
            )
        },
    },
    Check {
        id: "SR-14",
        what: "in a safe halt mast and doors stand still",
        judge: |step| {
            when(
                matches!(step.shown(), State::Halted(_)),
                !step.mast_driven() && !step.doors_driven(),
            )
        },
    },
    Check {
        id: "SR-16",
        what: "a late tick is followed by fail-safe outputs",
        judge: |step| {
            let idle = !step.mast_driven() && !step.doors_driven() && !step.enabled();
            when(step.told.late, idle)
        },
    },
    Check {
        id: "SR-18",
        what: "the bus is shown dead only while it is; one that does not fall in its time is told",
        judge: |step| {
            use mastwright_core::Fault::{DischargeFailed, MainWelded};
            let told = step.outputs.indications.faults.contains(DischargeFailed)
                || step.outputs.indications.faults.contains(MainWelded);
            // The time of draining, not that of the stage before it.
            let late = step.ran_out.contains(Timer::BusStage)
                && !step.begins(Stage::Draining)
                && !step.outputs.drives.bus.main
                && !step.outputs.drives.bus.precharge
                && step.plant.volts != Volts::Dead;
            worst(
                when(
                    step.outputs.indications.bus_dead,
                    step.plant.volts == Volts::Dead,
                ),
                when(late, told),
            )
        },
    },
    Check {
        id: "SR-19",
        what: "charging only without thrust, from a live and healthy bus with a pack connected",
        judge: |step| {
            let live = step.plant.main && step.plant.volts == Volts::Full;
            let healthy = step
                .outputs
                .indications
                .faults
                .is_disjoint(mastwright_core::bus::FORBIDDING);
            let pack = step.outputs.drives.bus.packs.contains(&true);
            when(
                step.outputs.drives.aux_charger,
                !step.propels() && live && healthy && pack,
            )
        },
    },
    Check {
        id: "SR-20",
        what: "a latched fault stays shown until acknowledge is held; a new one sounds",
        judge: |step| {
            let shown = step.outputs.indications.faults;
            let cleared = step.hands.acknowledge == Acknowledge::Held;
            let new: Faults = step
                .outputs
                .events
                .iter()
                .filter_map(|event| match event {
                    Event::Latched(fault) => Some(*fault),
                    Event::Went { .. }
                    | Event::Intended(_)
                    | Event::Ignored(_)
                    | Event::Cleared(_)
                    | Event::Bus(_)
                    | Event::Acknowledged
                    | Event::RestraintConfirmed
                    | Event::RestraintEnded => None,
                })
                .collect();
            worst(
                when(
                    !step.latched.is_empty() && !cleared,
                    step.latched.is_subset(shown),
                ),
                when(
                    !new.is_empty(),
                    new.is_subset(step.outputs.indications.sounding) && new.is_subset(shown),
                ),
            )
        },
    },
    Check {
        id: "SR-21",
        what: "nothing is pre-charged or closed onto a latched bus fault, nor onto contacts that touch unasked",
        judge: |step| {
            let latched = !(step.latched & step.outputs.indications.faults)
                .is_disjoint(mastwright_core::bus::FORBIDDING);
            // While a pre-charge begins the contacts are not commanded.
            let welded = step.plant.main && step.plant.volts == Volts::Dead;
            let precharges = step.commands_precharge();
            let begins = precharges || step.commands_main();
            worst(when(begins, !latched), when(precharges, !welded))
        },
    },
    Check {
        id: "SR-23",
        what: "mast and doors are driven only within their airspeed",
        judge: |step| {
            let driven = step.mast_driven() || step.doors_driven();
            when(
                step.hands.air == Air::Fast || driven,
                !driven || step.hands.air != Air::Fast,
            )
        },
    },
    Check {
        id: "SR-24",
        what: "in Bench the mast moves slowly and only while the selector is held, and the motor has no torque",
        judge: |step| {
            let slow = !matches!(
                step.outputs.drives.mast,
                MastDrive::Extend(Speed::Full) | MastDrive::Retract(Speed::Full)
            );
            let by_hand = !step.mast_driven() || step.hands.selector != Push::Hold;
            when(
                step.shown() == State::Bench,
                slow && by_hand && !step.enabled(),
            )
        },
    },
    Check {
        id: "SR-25",
        what: "the motor is enabled only while the pin is engaged",
        judge: |step| when(step.enabled(), step.plant.mast == Mast::Locked),
    },
    Check {
        id: "HZ-1",
        what: "the blade is in its sector wherever the mast is in the bay",
        judge: |step| when(step.plant.mast.in_bay(), !step.away_from_sector()),
    },
    Check {
        id: "HZ-3",
        what: "doors are out of the way wherever the mast is out",
        judge: |step| {
            when(
                step.plant.mast != Mast::Stowed,
                step.plant.doors >= Doors::Agape,
            )
        },
    },
    Check {
        id: "HZ-4",
        what: "the main contactor touches only onto a bus that is nearly full",
        judge: |step| {
            let touches = step.outputs.drives.bus.main && !step.plant.main;
            when(touches, step.plant.volts == Volts::Full)
        },
    },
];

/// The worse of two findings.
const fn worst(one: Found, other: Found) -> Found {
    match (one, other) {
        (Found::Broken, _) | (_, Found::Broken) => Found::Broken,
        (Found::Held, _) | (_, Found::Held) => Found::Held,
        (Found::Nothing, Found::Nothing) => Found::Nothing,
    }
}

impl Watch {
    /// What has been asked for, this step's hands included.
    #[must_use]
    pub fn asked_now(&self, hands: &Hands) -> Asked {
        let centred = matches!(self.asked, Asked::Centred | Asked::Ready);
        let released = matches!(self.asked, Asked::Released | Asked::Ready);
        let fresh = (hands.selector != Push::Hold && centred) || (hands.stop && released);
        if fresh { Asked::Given } else { self.asked }
    }
}

/// Keeps only the faults that decide.
#[must_use]
pub fn decisive(faults: Faults) -> Faults {
    DECISIVE
        .into_iter()
        .fold(Faults::empty(), |kept, set| kept | (faults & set))
}
