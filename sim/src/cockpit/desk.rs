//! A session: one scenario, the time that passes in it, and what a person orders.
//!
//! Without a clock and without a terminal: time is handed in, orders are method calls.

use std::time::Duration;

use super::speed::{Pacer, Speed};
use super::timeline::{Order, Point, Timeline};
use crate::controls::{Controls, Push};
use crate::faults::Fault;
use crate::flight::{Flight, Verdict};
use crate::frame::Frame;
use crate::lesson::debrief::Debrief;
use crate::lesson::{Lesson, Whose};
use crate::report::timeline::Entry;
use crate::report::{self, End, Report};
use crate::scenario::Scenario;
use crate::scenario::deed::Deed;

/// Most faults a person can give to one flight: each stays with it, active or not.
pub const MOST_FAULTS: usize = 256;
/// How long a tap pushes the selector or a button, ticks: 0.5 s, as in scenarios. A
/// terminal tells that a key went down and seldom that it came up.
const TAP: u64 = 50;
/// So long that it is for good: four hundred days.
const HELD: u64 = u32::MAX as u64;

/// A session.
#[derive(Clone, Debug)]
pub struct Desk {
    scenario: Scenario,
    seed: u64,
    lesson: Option<Lesson>,
    timeline: Timeline,
    running: bool,
    speed: Speed,
    pacer: Pacer,
}

impl Desk {
    /// A session of `scenario`, standing at its first tick.
    #[must_use]
    pub fn new(scenario: Scenario, seed: u64) -> Self {
        Self::begin(scenario, seed, None)
    }

    /// A session in which a trainee flies `lesson`, standing at its first tick.
    #[must_use]
    pub fn of_lesson(lesson: Lesson, seed: u64) -> Self {
        Self::begin(lesson.scenario(Whose::Trainee), seed, Some(lesson))
    }

    fn begin(scenario: Scenario, seed: u64, lesson: Option<Lesson>) -> Self {
        Self {
            timeline: Timeline::begin(&scenario, seed, lesson.as_ref()),
            scenario,
            seed,
            lesson,
            running: false,
            speed: Speed::default(),
            pacer: Pacer::default(),
        }
    }

    /// The scenario.
    #[must_use]
    pub const fn scenario(&self) -> &Scenario {
        &self.scenario
    }

    /// What is to be said of the lesson up to the tick shown, if one is flown.
    #[must_use]
    pub fn debrief(&self) -> Option<Debrief> {
        let progress = self.present().progress()?;
        Some(Debrief::new(
            progress,
            &self.verdict(),
            self.frame(),
            self.seed,
        ))
    }

    /// The seed it is flown with.
    #[must_use]
    pub const fn seed(&self) -> u64 {
        self.seed
    }

    /// The flight, back and forth.
    #[must_use]
    pub const fn timeline(&self) -> &Timeline {
        &self.timeline
    }

    /// Everything that holds at the tick shown.
    #[must_use]
    pub const fn present(&self) -> &Point {
        self.timeline.present()
    }

    /// The frame shown.
    #[must_use]
    pub const fn frame(&self) -> &Frame {
        self.timeline.frame()
    }

    /// The hands as they are on their way to be.
    #[must_use]
    pub fn hands(&self) -> Controls {
        self.present().world().hands()
    }

    /// The oracle's verdict up to the tick shown.
    #[must_use]
    pub fn verdict(&self) -> Verdict {
        self.present().flight().verdict()
    }

    /// Everything about the flight up to the tick shown, its timeline left out; `replay`
    /// is the command that begins it again.
    #[must_use]
    pub fn report(&self, replay: String) -> Report {
        let verdict = self.verdict();
        let present = self.present();
        let mut begun = present.begun();
        if self.is_taken() {
            // Left out on purpose, not for want of their moment.
            let actions = self.scenario.actions.iter().enumerate();
            actions
                .filter(|(_, action)| action.deed.is_by_hand())
                .for_each(|(index, _)| begun.actions.add(index));
        }
        Report {
            scenario: self.scenario.name.clone(),
            title: self.scenario.title.clone(),
            seed: self.seed,
            good: verdict.broken() == 0,
            replay,
            timeline: Vec::new(),
            never_began: report::never_began(&self.scenario, begun),
            end: End::of(present.frame()),
            verdict,
            expectations: Vec::new(),
            caution: report::CAUTION,
        }
    }

    /// Up to `count` entries of the tape, the last of them at or before the tick shown.
    #[must_use]
    pub fn entries(&self, count: usize) -> Vec<Entry> {
        let items = self.timeline.tape().until(self.timeline.now(), count);
        items.map(|item| item.entry(&self.scenario)).collect()
    }

    /// The last tick of the scenario; the flight may go on after it.
    #[must_use]
    pub const fn last_tick(&self) -> u64 {
        self.scenario.ticks.saturating_sub(1)
    }

    /// Time passes.
    #[must_use]
    pub const fn is_running(&self) -> bool {
        self.running
    }

    /// How fast, when it does.
    #[must_use]
    pub const fn speed(&self) -> Speed {
        self.speed
    }

    /// Lets time pass, or stops it.
    pub const fn set_running(&mut self, running: bool) {
        self.running = running;
        self.pacer.reset();
    }

    /// Sets how fast time passes.
    pub const fn set_speed(&mut self, speed: Speed) {
        self.speed = speed;
        self.pacer.reset();
    }

    /// Ticks to fly after `passed` on the clock; none while time stands still.
    pub fn due(&mut self, passed: Duration) -> u64 {
        if self.running {
            self.pacer.due(passed, self.speed)
        } else {
            0
        }
    }

    /// Time on the clock until a tick is due; none while time stands still.
    #[must_use]
    pub fn until_next(&self) -> Option<Duration> {
        self.running.then(|| self.pacer.until_next(self.speed))
    }

    /// Flies one tick.
    pub fn step(&mut self) -> &Frame {
        self.timeline.step()
    }

    /// Goes to a tick, or as near to it as was flown.
    pub fn seek(&mut self, tick: u64) {
        self.timeline.seek(tick);
    }

    /// Goes so many ticks forth, or back if negative. Forth ends where the flight does.
    pub fn seek_by(&mut self, ticks: i64) {
        self.seek(self.timeline.now().saturating_add_signed(ticks));
    }

    /// Exchanges this branch for the one left last; false when there is none.
    pub fn take_back(&mut self) -> bool {
        self.timeline.take_back()
    }

    /// Starts the scenario anew and forgets this flight.
    pub fn restart(&mut self) {
        self.timeline = Timeline::begin(&self.scenario, self.seed, self.lesson.as_ref());
        self.pacer.reset();
    }

    /// Does something with the controls, or to the flight.
    pub fn perform(&mut self, deed: Deed) {
        self.timeline.give(Order::Do(deed));
    }

    /// Moves the throttle lever at once to `to`, 0 to 1; elsewhere it stops at its ends.
    pub fn throttle(&mut self, to: f64) {
        // To whole permille, so that ten steps of a tenth are the whole way.
        let to = (to.clamp(0.0, 1.0) * 1000.0).round() / 1000.0;
        if (self.hands().throttle - to).abs() > f64::EPSILON || !self.is_taken() {
            self.perform(Deed::Throttle { to, over: 0 });
        }
    }

    /// Pushes the selector for half a second.
    pub fn tap(&mut self, push: Push) {
        self.perform(Deed::Select { push, lasting: TAP });
    }

    /// Pushes the selector and keeps it there; lets go if it is there.
    pub fn hold(&mut self, push: Push) {
        let push = if self.hands().selector == push {
            Push::Hold
        } else {
            push
        };
        self.perform(Deed::Select {
            push,
            lasting: HELD,
        });
    }

    /// Throws the guarded stop-and-stow switch, or puts it back.
    pub fn toggle_stop(&mut self) {
        self.perform(Deed::Stop(!self.hands().stop));
    }

    /// Turns the bench key.
    pub fn toggle_bench_key(&mut self) {
        self.perform(Deed::BenchKey(!self.hands().bench_key));
    }

    /// Requests auxiliary charging, or no longer.
    pub fn toggle_aux_charge(&mut self) {
        self.perform(Deed::AuxCharge(!self.hands().aux_charge));
    }

    /// Presses acknowledge for half a second.
    pub fn acknowledge(&mut self) {
        self.perform(Deed::Acknowledge(TAP));
    }

    /// Presses acknowledge until it is let go, or lets go: the crew confirms restraint so.
    pub fn hold_acknowledge(&mut self) {
        let lasting = if self.hands().acknowledge { 1 } else { HELD };
        self.perform(Deed::Acknowledge(lasting));
    }

    /// Presses the heat test for half a second.
    pub fn heat_test(&mut self) {
        self.perform(Deed::HeatTest(TAP));
    }

    /// A person has the controls.
    #[must_use]
    pub fn is_taken(&self) -> bool {
        self.present().world().is_taken()
    }

    /// Whether one more fault can be given.
    #[must_use]
    pub fn takes_faults(&self) -> bool {
        let world = self.present().world();
        world.faults_given() + self.present().armed().len() < MOST_FAULTS
    }

    /// Begins a fault in the next tick; false when the flight has had its fill of faults.
    pub fn inject(&mut self, fault: Fault) -> bool {
        let takes = self.takes_faults();
        if takes {
            self.timeline.give(Order::Inject(fault));
        }
        takes
    }

    /// Gives any other order.
    pub fn give(&mut self, order: Order) {
        self.timeline.give(order);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::shipped::Shipped;

    fn desk() -> Desk {
        let shipped = Shipped::named("emergency-stow").expect("shipped");
        let scenario = Scenario::parse(&shipped.file(), shipped.text).expect("it parses");
        Desk::new(scenario, 1)
    }

    fn fly(desk: &mut Desk, ticks: u64) {
        for _ in 0..ticks {
            desk.step();
        }
    }

    #[test]
    fn a_session_stands_still_until_it_is_let_go() {
        let mut desk = desk();
        assert_eq!(desk.due(Duration::from_secs(1)), 0);
        desk.set_running(true);
        assert_eq!(desk.due(Duration::from_secs(1)), 100);
    }

    #[test]
    fn the_lever_goes_by_tenths_and_stops_at_its_ends() {
        let mut desk = desk();
        for _ in 0..12 {
            desk.throttle(desk.hands().throttle + 0.1);
        }
        assert!((desk.hands().throttle - 1.0).abs() < 1e-12);
        desk.throttle(-3.0);
        assert!(desk.hands().throttle.abs() < 1e-12);
        assert!(desk.step().controls.throttle.abs() < 1e-12);
    }

    #[test]
    fn a_tap_springs_back_and_a_held_selector_stays_until_it_is_let_go() {
        let mut desk = desk();
        desk.tap(Push::Stow);
        fly(&mut desk, 1);
        assert_eq!(desk.frame().controls.selector, Push::Stow);
        fly(&mut desk, TAP);
        assert_eq!(desk.frame().controls.selector, Push::Hold);
        desk.hold(Push::Deploy);
        fly(&mut desk, 10 * TAP);
        assert_eq!(desk.frame().controls.selector, Push::Deploy);
        desk.hold(Push::Deploy);
        fly(&mut desk, 1);
        assert_eq!(desk.frame().controls.selector, Push::Hold);
    }

    #[test]
    fn the_switches_go_over_and_back() {
        let mut desk = desk();
        for _ in 0..2 {
            let was = desk.hands();
            desk.toggle_stop();
            desk.toggle_bench_key();
            desk.toggle_aux_charge();
            let now = desk.step().controls;
            assert_eq!(
                (now.stop, now.bench_key, now.aux_charge),
                (!was.stop, !was.bench_key, !was.aux_charge)
            );
        }
    }

    #[test]
    fn a_flight_flown_without_hands_is_that_of_the_scenario() {
        let mut desk = desk();
        let mut world = crate::world::World::new(desk.scenario(), 1);
        assert_eq!(world.step(), desk.frame());
        for _ in 0..desk.last_tick() {
            assert_eq!(world.step(), desk.step());
        }
    }

    #[test]
    fn a_flight_takes_only_so_many_faults() {
        let mut desk = desk();
        let entry = crate::faults::catalogue().next().expect("some fault");
        let taken = (0..2 * MOST_FAULTS)
            .filter(|_| desk.inject(entry.fault()))
            .count();
        assert!(taken <= MOST_FAULTS && !desk.takes_faults());
        desk.restart();
        assert!(desk.takes_faults());
    }
}
