//! A scenario being played: what the pilot's hands do in each tick, and which faults
//! begin in it.
//!
//! The script sees the frame before; what it answers holds for the next. It is plain
//! data, so a copy of it plays on exactly as the original does.

use super::deed::Deed;
use super::moment::Moment;
use super::{Cue, Scenario, Start};
use crate::controls::{Controls, Push};
use crate::frame::Frame;

/// Most actions, and most faults, of one scenario.
pub const CUES: usize = 64;

/// A set of cues, by their index in the scenario.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct Marks(u64);

impl Marks {
    /// Adds one; `index` is below [`CUES`].
    pub fn add(&mut self, index: usize) {
        debug_assert!(index < CUES, "the check of a scenario limits its cues");
        self.0 |= 1 << (index % CUES);
    }

    /// Takes one out.
    fn remove(&mut self, index: usize) {
        self.0 &= !(1 << (index % CUES));
    }

    /// Whether it is in the set.
    #[must_use]
    pub const fn contains(self, index: usize) -> bool {
        index < CUES && self.0 >> index & 1 == 1
    }

    /// Whether there is none.
    #[must_use]
    pub const fn is_empty(self) -> bool {
        self.0 == 0
    }

    /// The indices in the set, rising.
    pub fn iter(self) -> impl Iterator<Item = usize> {
        let mut left = self.0;
        std::iter::from_fn(move || {
            let index = left.trailing_zeros() as usize;
            left &= left.wrapping_sub(1);
            (index < CUES).then_some(index)
        })
    }

    /// The set of the first `count`.
    fn first(count: usize) -> Self {
        let mut marks = Self::default();
        (0..count.min(CUES)).for_each(|index| marks.add(index));
        marks
    }
}

/// What the script sets for one tick.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stage {
    /// The pilot's hands.
    pub controls: Controls,
    /// Airspeed the pilot flies, m/s.
    pub target_airspeed: f64,
    /// A person is declared near mast and blade.
    pub person_near: bool,
    /// The controller has its supply.
    pub powered: bool,
}

/// A number on its way to another.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Ramp {
    to: f64,
    step: f64,
}

impl Ramp {
    fn new(from: f64, to: f64, ticks: u64) -> Self {
        #[expect(clippy::cast_precision_loss, reason = "ticks stay far below 2^52")]
        let step = if ticks == 0 {
            f64::INFINITY
        } else {
            (to - from).abs() / ticks as f64
        };
        Self { to, step }
    }

    fn from(self, now: f64) -> f64 {
        now + (self.to - now).clamp(-self.step, self.step)
    }
}

#[derive(Clone, Debug, PartialEq)]
enum Wait {
    Moment { moment: Moment, delay: u64 },
    Until(u64),
}

/// Cues that wait, and which of them have come.
#[derive(Clone, Debug, PartialEq)]
struct Cues {
    waits: Vec<Wait>,
    waiting: Marks,
    come: Marks,
}

impl Cues {
    fn new<'a>(cues: impl Iterator<Item = &'a Cue>) -> Self {
        let waits: Vec<Wait> = cues
            .map(|cue| match &cue.start {
                Start::At(tick) => Wait::Until(tick + cue.delay),
                Start::When(moment) => Wait::Moment {
                    moment: moment.clone(),
                    delay: cue.delay,
                },
            })
            .collect();
        let waiting = Marks::first(waits.len());
        Self {
            waits,
            waiting,
            come: Marks::default(),
        }
    }

    /// Finds the cues whose time is `tick`, given the frame before it (none: first).
    fn feed(&mut self, tick: u64, before: Option<&Frame>, done: Marks) {
        self.come = Marks::default();
        for index in self.waiting.iter() {
            if let (Wait::Moment { moment, delay }, Some(frame)) = (&mut self.waits[index], before)
                && moment.feed(frame, done)
            {
                self.waits[index] = Wait::Until(tick + *delay);
            }
            if let Wait::Until(due) = self.waits[index]
                && due <= tick
            {
                self.waiting.remove(index);
                self.come.add(index);
            }
        }
    }
}

/// A scenario being played.
#[derive(Clone, Debug, PartialEq)]
pub struct Script {
    tick: u64,
    stage: Stage,
    actions: Cues,
    faults: Cues,
    deeds: Vec<Deed>,
    /// Tick at which each action is over, once it has begun.
    ends: Vec<u64>,
    begun: Marks,
    done: Marks,
    throttle: Option<Ramp>,
    airspeed: Option<Ramp>,
    selector_until: u64,
    acknowledge_until: u64,
    heat_test_until: u64,
    power_back: Option<u64>,
    /// A person has the controls: what the scenario's pilot would do with them is left out.
    taken: bool,
}

impl Script {
    /// A script at the start of its scenario.
    #[must_use]
    pub fn new(scenario: &Scenario) -> Self {
        Self {
            tick: 0,
            stage: Stage {
                controls: Controls::default(),
                target_airspeed: scenario.setup.initial.airspeed,
                person_near: false,
                powered: true,
            },
            actions: Cues::new(scenario.actions.iter().map(|action| &action.cue)),
            faults: Cues::new(scenario.faults.iter().map(|fault| &fault.cue)),
            deeds: scenario.actions.iter().map(|action| action.deed).collect(),
            ends: vec![0; scenario.actions.len()],
            begun: Marks::default(),
            done: Marks::default(),
            throttle: None,
            airspeed: None,
            selector_until: 0,
            acknowledge_until: 0,
            heat_test_until: 0,
            power_back: None,
            taken: false,
        }
    }

    /// A person does `deed` in the next tick. With the first deed of the hands the person
    /// has the controls: levers and switches stay as they are, what was held is let go,
    /// and the scenario goes on with all but its pilot's hands.
    pub fn take(&mut self, deed: Deed) {
        if deed.is_by_hand() && !self.taken {
            self.taken = true;
            self.throttle = None;
            self.selector_until = self.tick;
            self.acknowledge_until = self.tick;
            self.heat_test_until = self.tick;
            self.spring_back();
        }
        self.begin(deed);
    }

    /// Whether a person has the controls.
    #[must_use]
    pub const fn is_taken(&self) -> bool {
        self.taken
    }

    /// The hands as they are on their way to be: the lever where it is moved to.
    #[must_use]
    pub fn hands(&self) -> Controls {
        Controls {
            throttle: self
                .throttle
                .map_or(self.stage.controls.throttle, |ramp| ramp.to),
            ..self.stage.controls
        }
    }

    /// What holds in the next tick, given the frame of the one before; before the
    /// first tick there is none, and no condition has come.
    pub fn advance(&mut self, before: Option<&Frame>) -> &Stage {
        let tick = self.tick;
        for index in self.begun.iter() {
            if self.ends[index] <= tick {
                self.begun.remove(index);
                self.done.add(index);
            }
        }
        self.spring_back();
        self.actions.feed(tick, before, self.done);
        self.faults.feed(tick, before, self.done);
        for index in self.actions.come.iter() {
            let deed = self.deeds[index];
            self.ends[index] = tick + deed.lasting();
            self.begun.add(index);
            if !(self.taken && deed.is_by_hand()) {
                self.begin(deed);
            }
        }
        self.move_levers();
        self.tick += 1;
        &self.stage
    }

    /// The actions that began in the tick last advanced to, by index in the scenario.
    #[must_use]
    pub fn started_actions(&self) -> Marks {
        let mut started = self.actions.come;
        if self.taken {
            let left_out = |index: &usize| self.deeds[*index].is_by_hand();
            let come = self.actions.come;
            come.iter()
                .filter(left_out)
                .for_each(|index| started.remove(index));
        }
        started
    }

    /// The faults that begin in the tick last advanced to, by index in the scenario.
    #[must_use]
    pub const fn started_faults(&self) -> Marks {
        self.faults.come
    }

    /// Lets go of what was held until now.
    fn spring_back(&mut self) {
        let tick = self.tick;
        if self.selector_until <= tick {
            self.stage.controls.selector = Push::Hold;
        }
        self.stage.controls.acknowledge = tick < self.acknowledge_until;
        self.stage.controls.heat_test = tick < self.heat_test_until;
        if self.power_back.is_some_and(|back| back <= tick) {
            self.stage.powered = true;
            self.power_back = None;
        }
    }

    fn begin(&mut self, deed: Deed) {
        let tick = self.tick;
        let controls = &mut self.stage.controls;
        match deed {
            Deed::Select { push, lasting } => {
                controls.selector = push;
                self.selector_until = tick + lasting;
            }
            Deed::Throttle { to, over } => {
                self.throttle = Some(Ramp::new(controls.throttle, to, over));
            }
            Deed::Stop(thrown) => controls.stop = thrown,
            Deed::Acknowledge(lasting) => {
                controls.acknowledge = true;
                self.acknowledge_until = tick + lasting;
            }
            Deed::BenchKey(on) => controls.bench_key = on,
            Deed::HeatTest(lasting) => {
                controls.heat_test = true;
                self.heat_test_until = tick + lasting;
            }
            Deed::AuxCharge(on) => controls.aux_charge = on,
            Deed::Airspeed { to, over } => {
                self.airspeed = Some(Ramp::new(self.stage.target_airspeed, to, over));
            }
            Deed::Person(near) => self.stage.person_near = near,
            Deed::PowerOn => {
                self.stage.powered = true;
                self.power_back = None;
            }
            Deed::PowerOff(lasting) => {
                self.stage.powered = false;
                self.power_back = lasting.map(|lasting| tick + lasting);
            }
        }
    }

    fn move_levers(&mut self) {
        let throttle = &mut self.stage.controls.throttle;
        if let Some(ramp) = self.throttle {
            *throttle = ramp.from(*throttle);
        }
        if let Some(ramp) = self.airspeed {
            self.stage.target_airspeed = ramp.from(self.stage.target_airspeed);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn script(body: &str) -> Script {
        let text = format!("title = \"t\"\nbriefing = \"Invented.\"\nlength = 60\n{body}");
        Script::new(&Scenario::parse("test.toml", &text).expect("a good scenario"))
    }

    fn stages(script: &mut Script, ticks: u64) -> Vec<Stage> {
        (0..ticks)
            .map(|_| *script.advance(Some(&Frame::default())))
            .collect()
    }

    #[test]
    fn the_selector_springs_back_after_its_push() {
        let mut script = script("[[action]]\nat = 0.02\ndo = \"select stow for 0.03 s\"\n");
        let pushes: Vec<bool> = stages(&mut script, 7)
            .iter()
            .map(|s| s.controls.selector == Push::Stow)
            .collect();
        assert_eq!(pushes, [false, false, true, true, true, false, false]);
    }

    #[test]
    fn a_throttle_ramp_arrives_exactly_and_stays() {
        let mut script = script("[[action]]\nat = 0\ndo = \"throttle to 80 % over 0.04 s\"\n");
        let last = stages(&mut script, 6);
        let throttle: Vec<f64> = last.iter().map(|s| s.controls.throttle).collect();
        assert!((throttle[0] - 0.2).abs() < 1e-12, "{throttle:?}");
        assert!(
            (throttle[3] - 0.8).abs() < 1e-12 && throttle[5] == throttle[4],
            "{throttle:?}"
        );
    }

    #[test]
    fn a_brown_out_ends_by_itself() {
        let mut script = script("[[action]]\nat = 0.01\ndo = \"power off for 0.02 s\"\n");
        let powered: Vec<bool> = stages(&mut script, 5).iter().map(|s| s.powered).collect();
        assert_eq!(powered, [true, false, false, true, true]);
    }

    #[test]
    fn a_moment_starts_a_fault_once_after_its_delay() {
        let mut script = script(
            "[[action]]\nat = 5\ndo = \"stop on\"\n\
             [[fault]]\nwhen = \"mast > 40 %\"\nafter = 0.02\n\
             target = \"mechanics.mast-jam\"\n",
        );
        let mut up = Frame::default();
        up.truth.mast.position = 0.5;
        let started: Vec<bool> = (0..6)
            .map(|_| {
                script.advance(Some(&up));
                script.started_faults().contains(0)
            })
            .collect();
        assert_eq!(started, [false, false, true, false, false, false]);
    }

    #[test]
    fn an_action_can_wait_until_another_is_over() {
        let mut script = script(
            "[[action]]\nat = 0\ndo = \"throttle to 50 % over 0.03 s\"\n\
             [[action]]\nwhen = \"action 1 is done\"\ndo = \"stop on\"\n",
        );
        let stop: Vec<bool> = stages(&mut script, 5)
            .iter()
            .map(|s| s.controls.stop)
            .collect();
        assert_eq!(stop, [false, false, false, true, true]);
    }

    #[test]
    fn a_person_who_takes_the_controls_keeps_them_and_the_scenario_goes_on_around() {
        let mut script = script(
            "[[action]]\nat = 0\ndo = \"throttle to 100 % over 0.1 s\"\n\
             [[action]]\nat = 0.06\ndo = \"stop on\"\n\
             [[action]]\nat = 0.06\ndo = \"person near\"\n",
        );
        stages(&mut script, 4);
        script.take(Deed::Select {
            push: Push::Stow,
            lasting: 2,
        });
        let after = stages(&mut script, 4);
        assert!(
            after
                .iter()
                .all(|s| (s.controls.throttle - 0.4).abs() < 1e-12),
            "the lever stays where it was let go"
        );
        assert!(after.iter().all(|s| !s.controls.stop), "not the person's");
        assert!(after[3].person_near, "not a deed of the hands");
        let pushed: Vec<bool> = after
            .iter()
            .map(|s| s.controls.selector == Push::Stow)
            .collect();
        assert_eq!(pushed, [true, true, false, false]);
    }

    #[test]
    fn a_copy_plays_on_exactly_as_the_original() {
        let mut one = script(
            "[[action]]\nat = 0.02\ndo = \"airspeed to 30 m/s over 0.05 s\"\n\
             [[action]]\nwhen = \"time > 0.03 s\"\ndo = \"select deploy for 0.02 s\"\n",
        );
        stages(&mut one, 3);
        let mut other = one.clone();
        assert_eq!(stages(&mut one, 10), stages(&mut other, 10));
        assert_eq!(one, other);
    }
}
