//! The oracle: judges hazards in plant truth and every safety requirement that can be
//! judged while running, tick by tick, from frames alone.
//!
//! Responsibilities:
//! 1. Judge what *is* (truth), what the pilot's hands did, and what stands at the
//!    controller's pins. Inputs count only where a requirement speaks about what the
//!    controller was told (SR-11, SR-12, SR-16, the fans of SR-10, the push to stow of
//!    SR-07); indications only where it speaks about what is declared or shown (SR-07,
//!    SR-10, SR-12, SR-14, SR-18, SR-20, SR-21, a bus shown dead) or about the mode Bench
//!    (SR-02, SR-11, SR-24).
//! 2. Never look inside the controller, never ask one of its predicates: two parties
//!    who make the same mistake agree.
//! 3. Say how often each rule's condition was met: a rule never met shows nothing.
//!
//! Each rule is a small struct in the file of its subject and remembers only what it
//! needs. Its physical limits stand in [`Limits`] with unit and reason; times a
//! transient is allowed stand beside the rule.

mod alerts;
mod bus;
mod charging;
mod emergency;
mod envelope;
mod limits;
mod moment;
mod motion;
mod person;
mod propulsion;
mod signals;
mod table;
mod thermal;
mod told;
mod verdict;

#[cfg(test)]
mod handmade;

pub use limits::{AWAKE, Heat, Limits, REACTION, SECOND};
pub use table::{HAZARDS, Hazard, Judged, REQUIREMENTS, Requirement};
pub use verdict::{Breach, Judgement, Measured, Outcome, Verdict};

use crate::frame::Frame;
use moment::{Moment, Past};
use verdict::{Finding, Tally};

/// One rule: judges one hazard, or one requirement or a part of it.
trait Rule {
    /// The id of what it judges.
    const ID: &'static str;

    /// Judges one tick.
    fn judge(&mut self, now: &Moment<'_>) -> Finding;
}

/// A rule with its findings so far.
#[derive(Clone, Copy, Debug, Default)]
struct Watched<R> {
    rule: R,
    tally: Tally,
}

impl<R: Rule> Watched<R> {
    #[inline]
    fn judge(&mut self, now: &Moment<'_>) {
        let finding = self.rule.judge(now);
        self.tally.add(now.frame.tick, finding);
    }
}

macro_rules! rules {
    ($(#[$about:meta])* $rules:ident { $($name:ident: $rule:ty,)+ }) => {
        $(#[$about])*
        #[derive(Clone, Copy, Debug, Default)]
        struct $rules {
            $($name: Watched<$rule>,)+
        }

        impl $rules {
            #[inline]
            fn judge(&mut self, now: &Moment<'_>) {
                $(self.$name.judge(now);)+
            }

            /// True once any of them was broken.
            fn broken(&self) -> bool {
                $(self.$name.tally.is_broken())||+
            }

            /// What became of `id`, if a rule judges it.
            fn outcome(&self, id: &str) -> Option<Outcome> {
                [$((<$rule as Rule>::ID, &self.$name.tally),)+]
                    .into_iter()
                    .find(|(judged, _)| *judged == id)
                    .map(|(_, tally)| tally.outcome())
            }
        }
    };
}

rules! {
    /// What judges the hazards.
    HazardRules {
    blade_strike: motion::BladeStrike,
    unlocked_thrust: propulsion::UnlockedThrust,
    mast_against_doors: motion::MastAgainstDoors,
    inrush: bus::Inrush,
    overheat: thermal::Damage,
    person_near: person::PersonNear,
    shown_dead: bus::ShownDead,
    unbounded_wait: emergency::UnboundedWait,
    }
}

rules! {
    /// What judges the requirements.
    RequirementRules {
    thrust_when_locked: propulsion::ThrustWhenLocked,
    parked_below_clearance: motion::ParkedBelowClearance,
    dead_time: motion::DeadTime,
    closing_in_order: bus::ClosingInOrder,
    fresh_intention: emergency::FreshIntention,
    stop_ends_thrust: propulsion::StopEndsThrust,
    stow_ends: emergency::StowEnds,
    zero_before_thrust: propulsion::ZeroBeforeThrust,
    doors_before_mast: motion::DoorsBeforeMast,
    heat_alert: thermal::HeatAlert,
    stale_proves_nothing: signals::StaleProvesNothing,
    contradiction: told::Contradiction,
    drive_limits: motion::DriveLimits,
    halt_is_still: emergency::HaltIsStill,
    late_is_safe: told::LateIsSafe,
    discharge: bus::Discharge,
    charging: charging::Charging,
    alerts_stay: alerts::AlertsStay,
    bus_fault_known: bus::FaultBeforeClosing,
    heat_warning: alerts::HeatWarning,
    airspeed_range: envelope::AirspeedRange,
    bench_is_slow: envelope::BenchIsSlow,
    no_torque_unlocked: envelope::NoTorqueUnlocked,
    }
}

/// Judges frames, one after the other, from the power-up of the controller on: what the
/// pilot asked for before the first frame is not known and does not count.
#[derive(Clone, Debug)]
pub struct Oracle {
    limits: Limits,
    past: Past,
    clock: emergency::Clock,
    hazards: HazardRules,
    requirements: RequirementRules,
    frames: u64,
}

impl Oracle {
    /// An oracle that has seen nothing yet.
    #[must_use]
    pub fn new(limits: &Limits) -> Self {
        Self {
            limits: *limits,
            past: Past::new(),
            clock: emergency::Clock::default(),
            hazards: HazardRules::default(),
            requirements: RequirementRules::default(),
            frames: 0,
        }
    }

    /// Judges the next frame. Frames come in order, none left out.
    pub fn judge(&mut self, frame: &Frame) {
        self.frames += 1;
        self.past.advance(frame, &self.limits);
        let mut now = Moment::new(frame, &self.past, &self.limits);
        now.waiting = self.clock.feed(&now);
        self.hazards.judge(&now);
        self.requirements.judge(&now);
    }

    /// Judges the next frame for hazards alone, where only harm is asked after.
    pub fn judge_hazards(&mut self, frame: &Frame) {
        self.frames += 1;
        self.past.advance(frame, &self.limits);
        let mut now = Moment::new(frame, &self.past, &self.limits);
        now.waiting = self.clock.feed(&now);
        self.hazards.judge(&now);
    }

    /// True once any hazard has come about.
    #[must_use]
    pub fn harmed(&self) -> bool {
        self.hazards.broken()
    }

    /// True while neither a hazard nor a requirement has been broken.
    #[must_use]
    pub fn holds(&self) -> bool {
        !self.hazards.broken() && !self.requirements.broken()
    }

    /// True while a stop-and-stow has been asked for and has not ended.
    #[must_use]
    pub const fn emergency(&self) -> bool {
        self.clock.is_running()
    }

    /// The verdict over every frame so far.
    #[must_use]
    pub fn finish(&self) -> Verdict {
        let line = |id, elsewhere| Judgement {
            id,
            outcome: self
                .hazards
                .outcome(id)
                .or_else(|| self.requirements.outcome(id))
                .unwrap_or(Outcome::ByTest { place: elsewhere }),
        };
        Verdict {
            frames: self.frames,
            hazards: HAZARDS.iter().map(|hazard| line(hazard.id, "")).collect(),
            requirements: REQUIREMENTS
                .iter()
                .map(|requirement| line(requirement.id, requirement.judged.by_test()))
                .collect(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_hazard_has_a_rule_and_every_requirement_a_rule_or_a_test() {
        let rules = HazardRules::default();
        for hazard in HAZARDS {
            assert!(rules.outcome(hazard.id).is_some(), "{}", hazard.id);
        }
        let rules = RequirementRules::default();
        for requirement in REQUIREMENTS {
            assert_eq!(
                rules.outcome(requirement.id).is_some(),
                requirement.judged.at_run_time(),
                "{}",
                requirement.id
            );
        }
    }

    #[test]
    fn a_world_at_rest_breaks_nothing_and_exercises_no_drive() {
        let mut oracle = Oracle::new(&Limits::default());
        let mut frame = handmade::stowed();
        for tick in 0..1000 {
            frame.tick = tick;
            oracle.judge(&frame);
        }
        let verdict = oracle.finish();
        assert!(verdict.holds(), "{verdict}");
        assert_eq!(verdict.frames, 1000);
        assert_eq!(verdict.outcome("SR-01"), Some(&Outcome::NotExercised));
        assert_eq!(verdict.outcome("SR-03"), Some(&Outcome::NotExercised));
    }

    #[test]
    fn a_verdict_says_what_broke_when_and_by_how_much() {
        let mut oracle = Oracle::new(&Limits::default());
        let mut frame = handmade::half_out();
        frame.truth.propeller.angle = 45.0_f64.to_radians();
        for tick in 100..103 {
            frame.tick = tick;
            oracle.judge(&frame);
        }
        let verdict = oracle.finish();
        let broken: Vec<_> = verdict.broken().map(ToString::to_string).collect();
        assert_eq!(
            broken,
            [
                "HZ-1   BROKEN at 1.00 s: the blade was outside its sector inside the bay \
              (45.000 deg off park); 3 ticks in all"
            ]
        );
        assert!(verdict.to_string().contains(&broken[0]));
        let json = serde_json::to_value(&verdict).expect("a verdict serialises");
        assert_eq!(json["hazards"][0]["id"], "HZ-1");
        assert_eq!(
            json["hazards"][0]["outcome"]["broken"]["first"]["tick"],
            100
        );
        assert_eq!(json["requirements"][0]["outcome"], "not-exercised");
    }

    #[test]
    fn a_copied_oracle_judges_on_from_where_it_was_copied() {
        let mut oracle = Oracle::new(&Limits::default());
        oracle.judge(&handmade::stowed());
        let copy = oracle.clone();
        let mut hot = handmade::stowed();
        hot.truth.motor_temperature = 200.0;
        oracle.judge(&hot);
        assert!(!oracle.finish().holds());
        assert!(copy.finish().holds());
    }
}
