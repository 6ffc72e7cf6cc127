//! The top: state, transitions, nothing else.
//!
//! Responsibilities:
//! 1. Turn intentions and proofs into the next [`State`] (`transitions`).
//! 2. Ask, for each state, what is to be driven, and let the interlock decide
//!    (`commands`).
//! 3. Tell what happened.
//!
//! Order of one tick: read and judge every signal; take at most one transition; ask
//! for drives; emit events. Time comes in as ticks: one call is 10 ms.

#[cfg(feature = "walk")]
mod asked;
mod commands;
mod transitions;

use crate::bus::{self, Bus};
use crate::command::{Intention, Mode, Pilot, Said};
use crate::config::Config;
use crate::doors::{self, Doors};
use crate::fault::{Fault, Faults, Latch};
use crate::inputs::Inputs;
use crate::interlock::{Condition, Conditions};
use crate::mast::{self, Mast};
use crate::outputs::{Event, Outputs};
use crate::packs::Packs;
use crate::propeller::Propeller;
use crate::state::{Halt, State};
use crate::thermal::Thermal;
use crate::timer::{Countdown, Sustained};
use crate::units::{Permille, Ticks};

#[cfg(feature = "walk")]
pub use asked::{Asks, Sense, Turn};

/// The whole controller.
///
/// Small, `Copy + Eq + Hash`, integers and enums only: it can be kept, compared,
/// rewound and explored.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Sequencer {
    state: State,
    /// Time left in the present state, where it has a limit.
    left: Countdown,
    /// Time left of the crew's confirmation of restraint (Bench).
    restraint: Countdown,
    /// How long mast and doors have not been proven stowed, where they rest so.
    settling: Sustained,
    /// The previous tick commanded propulsive torque.
    propelled: bool,
    /// The motor was commanded to turn the blade slowly or to hold it, since it was slow.
    gripped: bool,
    motor_unasked: Sustained,
    motor_runaway: Sustained,
    /// Airspeed was above the range for moving mast and doors, and is not yet well below.
    too_fast: bool,
    airspeed_unknown: Sustained,
    pilot: Pilot,
    mast: Mast,
    doors: Doors,
    propeller: Propeller,
    bus: Bus,
    packs: Packs,
    thermal: Thermal,
    latch: Latch,
}

/// What one tick's readings come to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
struct Seen {
    said: Said,
    proven: Conditions,
    active: Faults,
    bus: bus::Reading,
    /// Share of rated thrust that temperatures allow.
    thrust_limit: Permille,
    /// Airspeed is proven low enough for Bench.
    slow_air: bool,
    /// The mast's lock shows, and is still to be proven by driving against it.
    lock_to_prove: bool,
}

impl Sequencer {
    /// A controller that has just been given power, in [`State::Waking`], which is the
    /// default. `retained` are the faults latched before power was lost: a reset must not
    /// clear what nobody cleared on purpose.
    #[must_use]
    pub fn wake(retained: Faults, config: &Config) -> Self {
        Self {
            left: Countdown::of(config.wake_time.ticks()),
            bus: Bus::unknown(config),
            latch: Latch::holding(retained),
            ..Self::default()
        }
    }

    /// One tick of 10 ms: from everything read to everything commanded and told.
    ///
    /// Total: any inputs in any order give outputs, without panic or overflow (SR-15).
    pub fn step(&mut self, inputs: &Inputs, config: &Config) -> Outputs {
        self.left.tick();
        let seen = self.read(inputs, config);
        self.act(seen, inputs, config)
    }

    /// What a tick makes of what was read in it.
    fn act(&mut self, mut seen: Seen, inputs: &Inputs, config: &Config) -> Outputs {
        let mut outputs = Outputs::default();
        let stage = self.bus.stage();
        self.serve_acknowledge(&seen, &mut outputs);
        self.take_transition(&mut seen, config, &mut outputs);
        self.command(inputs, &mut seen, config, &mut outputs);

        if self.bus.stage() != stage {
            outputs.emit(Event::Bus(self.bus.stage()));
        }
        for fault in self.latch.latch(seen.active) {
            outputs.emit(Event::Latched(fault));
        }
        self.indicate(&seen, &mut outputs);
        outputs.proven = seen.proven;
        outputs
    }

    /// Where the sequencer stands.
    #[must_use]
    pub const fn state(&self) -> State {
        self.state
    }

    /// The faults that must outlive a loss of power.
    #[must_use]
    pub const fn latched(&self) -> Faults {
        self.latch.latched()
    }

    /// The mode of control.
    #[must_use]
    pub const fn mode(&self) -> Mode {
        match self.state {
            State::Jog => Mode::Jog,
            State::Bench => Mode::Bench,
            State::Waking
            | State::Resting
            | State::Stowed
            | State::DeployPower
            | State::DeployPark
            | State::DeployDoors
            | State::DeployMast
            | State::Deployed
            | State::Armed
            | State::Thrust
            | State::StowPower
            | State::StowBrake
            | State::StowPark
            | State::StowProve
            | State::StowMast
            | State::StowDoors
            | State::Halted(_) => Mode::Sequenced,
        }
    }

    fn read(&mut self, inputs: &Inputs, config: &Config) -> Seen {
        let mut proven = Conditions::empty();
        let mut active = Faults::empty();
        let said = self
            .pilot
            .read(&inputs.controls, config, &mut proven, &mut active);
        let lock_to_prove = self
            .mast
            .observe(&inputs.mast, config, &mut proven, &mut active);
        self.doors
            .observe(&inputs.doors, config, &mut proven, &mut active);
        self.propeller
            .observe(&inputs.propeller, config, &mut proven, &mut active);
        let packs = self
            .packs
            .observe(inputs, said.aux_charge, config, &mut proven, &mut active);
        let bus = self
            .bus
            .observe(&inputs.bus, packs, config, &mut proven, &mut active);
        let heat_limit = self
            .thermal
            .observe(inputs, config, &mut proven, &mut active);
        let slow_air = self.read_airspeed(inputs, config, &mut proven, &mut active);
        self.judge_motor(&bus, config, proven, &mut active);
        if inputs.missed_deadline {
            active |= Fault::DeadlineMissed;
        } else {
            proven |= Condition::OnTime;
        }
        self.judge_latch(active, &mut proven);
        Seen {
            said,
            proven,
            active,
            bus,
            thrust_limit: heat_limit.min(self.packs.thrust_limit(config)),
            slow_air,
            lock_to_prove,
        }
    }

    fn read_airspeed(
        &mut self,
        inputs: &Inputs,
        config: &Config,
        proven: &mut Conditions,
        active: &mut Faults,
    ) -> bool {
        let airspeed = inputs.airspeed.proven(config.stale_after);
        // Once out of range it must fall well below, or drives would chatter at the edge.
        if let Some(airspeed) = airspeed {
            let back = config.mast_airspeed_max.minus(config.mast_airspeed_band);
            self.too_fast =
                airspeed > config.mast_airspeed_max || (self.too_fast && airspeed > back);
            if !self.too_fast {
                *proven |= Condition::AirspeedInRange;
            }
        }
        let out = !proven.contains(Condition::MastStowed);
        if out && airspeed.is_some_and(|airspeed| airspeed > config.deployed_airspeed_max) {
            *active |= Fault::Overspeed;
        }
        if self
            .airspeed_unknown
            .feed(airspeed.is_none(), config.fault_after.ticks())
        {
            *active |= Fault::AirspeedUnknown;
        }
        airspeed.is_some_and(|airspeed| airspeed <= config.bench_airspeed_max)
    }

    /// A motor that is not asked to propel, and still draws current, disobeys; so does
    /// one that is to turn the blade slowly or hold it, and spins it.
    fn judge_motor(
        &mut self,
        bus: &bus::Reading,
        config: &Config,
        proven: Conditions,
        active: &mut Faults,
    ) {
        let draws = bus.draws_more_than(config.motor_idle_current);
        let precharging = self.bus.stage() != bus::Stage::Live;
        let unasked = self.motor_unasked.feed(
            draws && !self.propelled && !precharging,
            config.fault_after.ticks(),
        );
        // A blade that was slow, and runs away while it is turned or held, has a motor
        // that disobeys or a wind that overcomes it; to let go is right for both.
        let ran_away = self.motor_runaway.feed(
            self.gripped && !proven.contains(Condition::ShaftSlow),
            config.debounce.ticks(),
        );
        if unasked || ran_away {
            *active |= Fault::MotorUnasked;
        }
    }

    /// Faults latched before, and those active now.
    fn standing(&self, active: Faults) -> Faults {
        self.latch.latched() | active
    }

    /// What the faults latched so far, and those active now, leave healthy.
    fn judge_latch(&self, active: Faults, proven: &mut Conditions) {
        let standing = self.standing(active);
        let free_of = |faults: Faults| standing.is_disjoint(faults);
        *proven |= Condition::MastHealthy.when(free_of(mast::FORBIDDING))
            | Condition::DoorsHealthy.when(free_of(doors::FORBIDDING))
            | Condition::BusHealthy.when(free_of(bus::FORBIDDING))
            | Condition::MotorObeys.when(free_of(Fault::MotorUnasked.into()));
    }

    fn serve_acknowledge(&mut self, seen: &Seen, outputs: &mut Outputs) {
        if seen.said.acknowledged {
            self.latch.acknowledge();
            outputs.emit(Event::Acknowledged);
        }
        if seen.said.clearing {
            for fault in self.latch.clear(seen.active) {
                outputs.emit(Event::Cleared(fault));
            }
        }
    }

    fn take_transition(&mut self, seen: &mut Seen, config: &Config, outputs: &mut Outputs) {
        if let Some(intention) = seen.said.intention {
            outputs.emit(Event::Intended(intention));
        }
        let next = self.next(seen, config);
        if let Some(halt) = next.halt()
            && next != self.state
        {
            seen.active |= self.fault_of(halt);
        }
        let stays = next == self.state;
        if !stays {
            outputs.emit(Event::Went {
                from: self.state,
                to: next,
            });
            self.enter(next, config);
        } else if let Some(intention) = seen.said.intention
            && self.ignores(intention)
        {
            outputs.emit(Event::Ignored(intention));
        }
        self.serve_restraint(stays, seen, config, outputs);
    }

    /// True when an intention that took the sequencer nowhere is without effect: it is
    /// not what is being done already, nor what a held selector does by hand.
    fn ignores(&self, intention: Intention) -> bool {
        let by_hand = matches!(self.state, State::Jog | State::Bench);
        let under_way = match intention {
            Intention::Deploy => self.state.is_deploying(),
            Intention::Stow | Intention::StopAndStow => self.state.is_stowing(),
        };
        !by_hand && !under_way
    }

    fn enter(&mut self, state: State, config: &Config) {
        self.state = state;
        self.settling.restart();
        if matches!(state, State::Jog | State::Halted(_) | State::Resting) {
            self.pilot.demand_fresh_push();
        }
        self.left = Countdown::of(time_limit(state, config));
    }

    /// The crew confirms restraint by a press of acknowledge, in Bench, with the mast at
    /// rest; another press, the stop switch, the key or time withdraws it. The press that
    /// enters Bench is not one: whoever makes it has not been shown Bench yet.
    fn serve_restraint(
        &mut self,
        stays: bool,
        seen: &mut Seen,
        config: &Config,
        outputs: &mut Outputs,
    ) {
        let confirmed = !self.restraint.is_over();
        self.restraint.tick();
        let bench = self.state == State::Bench;
        if !bench || seen.said.stop || !seen.said.bench_key {
            self.restraint = Countdown::default();
        } else if stays && seen.said.acknowledged && !self.mast.is_driven() {
            self.restraint = if confirmed {
                Countdown::default()
            } else {
                Countdown::of(config.restraint_time.ticks())
            };
        }
        let confirmed_now = !self.restraint.is_over();
        if confirmed_now {
            seen.proven |= Condition::Restrained;
        }
        if !bench {
            seen.proven |= Condition::NotBench;
        }
        match (confirmed, confirmed_now) {
            (false, true) => outputs.emit(Event::RestraintConfirmed),
            (true, false) => outputs.emit(Event::RestraintEnded),
            (true, true) | (false, false) => {}
        }
    }

    fn indicate(&self, seen: &Seen, outputs: &mut Outputs) {
        let proves = |condition| seen.proven.contains(condition);
        let lamps = &mut outputs.indications;
        lamps.state = self.state;
        lamps.mode = self.mode();
        lamps.mast_locked = proves(Condition::MastLocked);
        lamps.stowed = self.state == State::Stowed
            && proves(Condition::MastStowed)
            && proves(Condition::DoorsShut);
        lamps.parked = proves(Condition::Parked);
        lamps.armed = matches!(self.state, State::Armed | State::Thrust);
        lamps.bus_dead = proves(Condition::BusDead) && self.bus.stage() == bus::Stage::Dead;
        lamps.faults = self.latch.latched();
        lamps.sounding = self.latch.sounding();
    }
}

#[cfg(feature = "walk")]
impl Sequencer {
    /// The stage of the bus.
    #[must_use]
    pub const fn bus_stage(&self) -> bus::Stage {
        self.bus.stage()
    }

    /// How long it may stay in a state, in ticks; zero where time does not matter.
    #[must_use]
    pub fn time_limit(state: State, config: &Config) -> Ticks {
        time_limit(state, config)
    }

    /// The packs that are joined.
    #[must_use]
    pub const fn joined(&self) -> [bool; crate::inputs::PACKS] {
        self.packs.joined()
    }

    /// The blade was turned slowly or held.
    #[must_use]
    pub const fn grips(&self) -> bool {
        self.gripped
    }

    /// Leads a visitor through everything that decides.
    pub fn walk(&mut self, visitor: &mut impl crate::walk::Visitor, config: &Config) {
        use crate::walk::{Flag, Timer};
        visitor.state(&mut self.state);
        visitor.countdown(Timer::State, &mut self.left);
        visitor.countdown(Timer::Restraint, &mut self.restraint);
        let after = config.fault_after.ticks();
        visitor.sustained(Timer::Settling, &mut self.settling, after);
        visitor.flag(Flag::Propelled, &mut self.propelled);
        visitor.flag(Flag::Gripped, &mut self.gripped);
        visitor.sustained(Timer::MotorUnasked, &mut self.motor_unasked, after);
        let ran_away = config.debounce.ticks();
        visitor.sustained(Timer::MotorRunaway, &mut self.motor_runaway, ran_away);
        visitor.hysteresis(&mut self.too_fast);
        self.pilot.walk(visitor, config);
        self.mast.walk(visitor, config);
        self.doors.walk(visitor, config);
        self.propeller.walk(visitor, config);
        self.bus.walk(visitor, config);
        self.packs.walk(visitor, config);
        self.latch.walk(visitor);
    }
}

/// How long a state may last before it is overdue; zero where time does not matter.
fn time_limit(state: State, config: &Config) -> Ticks {
    match state {
        State::Waking => config.wake_time,
        State::DeployPower | State::StowPower => config.power_time,
        State::StowBrake => config.brake_time,
        State::DeployPark | State::StowPark => config.park_time,
        State::StowProve => config.stand_proof,
        State::DeployMast | State::StowMast => config.mast_stage_time,
        State::DeployDoors | State::StowDoors => config.door_stage_time,
        State::Jog => config.jog_idle,
        State::Resting
        | State::Stowed
        | State::Deployed
        | State::Armed
        | State::Thrust
        | State::Halted(_)
        | State::Bench => crate::units::Millis::ZERO,
    }
    .ticks()
}

#[cfg(test)]
mod tests;
