//! The exploration of the real controller, as far as it goes in a test.

use mastwright_core::{Config, Inputs, Outputs, Sequencer};
use mastwright_sim::explore::checks::CHECKS;
use mastwright_sim::explore::engine::{
    self, Ended, Found, Limits, Options, Space as _, Stop, Variants, explore, shortest,
};
use mastwright_sim::explore::explored::{Explored, NoMind};
use mastwright_sim::explore::report::answers::Answers;
use mastwright_sim::explore::report::retrace::retrace;
use mastwright_sim::explore::report::steer::steer;
use mastwright_sim::explore::report::story::Story;
use mastwright_sim::explore::report::unreached::undocumented;
use mastwright_sim::explore::space::Aircraft;
use mastwright_sim::explore::tally::Tally;
use mastwright_sim::explore::trouble::Trouble;
use mastwright_sim::scenario::Scenario;
use mastwright_tests::wrong;

type Space = Aircraft<Sequencer>;

/// How far the test goes.
const DEPTH: u32 = 9;
/// Checks that are known to be broken as far as the test goes. The aim is none.
const OPEN: &[&str] = &[];
/// States and transitions with nothing broken, as the document tells them. Whoever tries fewer
/// hands or readings must come to as many.
const WHOLE: (u64, u64) = (195_880, 7_412_484);
/// Checks that only something broken puts to the test.
const NEEDS_A_FAULT: &[&str] = &["SR-11", "SR-12", "SR-13", "SR-16"];

fn space(among: &[Trouble]) -> Space {
    Aircraft::new(&Config::default(), among.len().min(1), among.to_vec())
}

fn explored(space: &Space, threads: usize, depth: u32) -> Found<Space> {
    let options = Options {
        threads,
        limits: Limits {
            depth: Some(depth),
            ..Limits::default()
        },
        ..Options::default()
    };
    explore(space, &options, &mut |_| {}).expect("no file is used")
}

#[test]
fn two_threads_find_what_one_finds() {
    let space = space(&[]);
    let one = explored(&space, 1, DEPTH);
    let two = explored(&space, 2, DEPTH);
    assert_eq!(one.ended, Ended::DepthLimit);
    assert_eq!(one.levels, two.levels);
    assert_eq!(one.transitions, two.transitions);
    assert_eq!(one.broken, two.broken);
    assert_eq!(one.tally, two.tally);
}

#[test]
fn with_nothing_broken_the_whole_space_breaks_no_check_and_tests_all_that_need_no_fault() {
    let found = explored(&space(&[]), 2, u32::MAX);
    assert_eq!(found.ended, Ended::Whole);
    assert_eq!((found.states(), found.transitions), WHOLE);
    let untested = CHECKS.iter().zip(&found.tally.tested);
    let untested = untested.filter(|(_, tested)| **tested == 0);
    let untested: Vec<&str> = untested.map(|(check, _)| check.id).collect();
    assert_eq!(untested, NEEDS_A_FAULT);
    let broken = found.broken.iter().map(|(bit, _)| CHECKS[bit as usize].id);
    let broken: Vec<&str> = broken.collect();
    assert_eq!(broken, OPEN);
    assert_eq!(undocumented(&found.tally), [] as [&str; 0]);
}

/// Troubles whose space is small, and what each of them breaks: an airspeed that reads low
/// lets the mast move in air that is too fast, and no second source tells (see the document).
const CHEAP: &[(Trouble, &[&str])] = &[
    (Trouble::ThrottleA, &[]),
    (Trouble::AuxContact, &[]),
    (Trouble::Airspeed, &["SR-23"]),
];

#[test]
fn with_one_of_the_cheap_troubles_the_whole_space_breaks_exactly_what_is_known() {
    let among: Vec<Trouble> = CHEAP.iter().map(|(trouble, _)| *trouble).collect();
    let found = explored(&space(&among), 2, u32::MAX);
    assert_eq!(found.ended, Ended::Whole);
    for (trouble, known) in CHEAP {
        let share = found.tally.of(*trouble);
        let checks = (0..).zip(CHECKS);
        let broken = checks.filter(|(bit, _): &(u32, _)| share.broken >> bit & 1 == 1);
        let broken: Vec<&str> = broken.map(|(_, check)| check.id).collect();
        assert_eq!(broken, *known, "{trouble}");
        assert!(share.states > found.tally.of(Trouble::None).states / 2);
    }
}

#[test]
fn with_nothing_broken_every_stow_ends_in_its_time_and_every_rest_has_a_way_out() {
    let space = space(&[]);
    let found = explored(&space, 2, u32::MAX);
    let answers = Answers::of(&space, &found, 2, |_| {}).expect("it was explored whole");
    assert_eq!(answers.stow, Some(answers.promised));
    assert_eq!(answers.endless, None);
    assert_eq!(answers.stuck, None);
    assert!(answers.rests > 10_000);
}

/// Sensors and drives of each kind: of the plant, of the hands, and what moves or holds.
const MIXED: &[Trouble] = &[
    Trouble::MastPosition,
    Trouble::LeftOpen,
    Trouble::BusVoltage,
    Trouble::StopA,
    Trouble::SelectStow,
    Trouble::Airspeed,
    Trouble::MastReversed,
    Trouble::DischargeOpen,
    Trouble::InsulationLow,
    Trouble::PowerCut,
];
/// How far they are followed.
const MIXED_DEPTH: u32 = 3;

#[test]
fn cases_explored_together_come_to_what_each_comes_to_alone() {
    let together = explored(&space(MIXED), 2, MIXED_DEPTH);
    for &trouble in MIXED {
        let alone = explored(&space(&[trouble]), 2, MIXED_DEPTH);
        let (share, of) = (alone.tally.of(trouble), together.tally.of(trouble));
        assert!(share.transitions > 1_000, "{trouble}: {share:?}");
        assert_eq!(share, of, "{trouble}");
        let sound = together.tally.of(Trouble::None);
        assert_eq!(alone.tally.of(Trouble::None).states, sound.states);
    }
}

/// The real controller, which does not say what its readings come to: each is tried.
#[derive(Clone)]
struct Silent(Sequencer);

impl Explored for Silent {
    type Mind = NoMind;

    fn recall(real: Sequencer, _mind: NoMind) -> Self {
        Self(real)
    }

    fn memory(&self) -> (Sequencer, NoMind) {
        (self.0, NoMind)
    }

    fn step(&mut self, inputs: &Inputs, config: &Config) -> Outputs {
        self.0.step(inputs, config)
    }
}

#[test]
fn readings_of_which_one_is_tried_come_to_what_all_of_them_come_to() {
    // With a speed that lies far enough for a lock that is proven in the very tick.
    for (among, depth) in [(MIXED, MIXED_DEPTH), (&[Trouble::ShaftSpeed], 10)] {
        let all = Aircraft::<Silent>::new(&Config::default(), 1, among.to_vec());
        let options = Options {
            threads: 2,
            limits: Limits {
                depth: Some(depth),
                ..Limits::default()
            },
            ..Options::default()
        };
        let all = explore(&all, &options, &mut |_| {}).expect("no file is used");
        let one = explored(&space(among), 2, depth);
        assert_eq!(one.levels, all.levels);
        assert_eq!(one.transitions, all.transitions);
        assert_eq!(one.broken.checks(), all.broken.checks());
        assert!(one.tally.steps < all.tally.steps);
    }
}

/// What `docs/exploration.md` tells of two troubles at once; and the contact is seen to be
/// believed, without which they would explore nothing.
#[test]
fn a_contact_of_a_selector_that_lingers_stands_alone_and_is_believed() {
    let both = vec![Trouble::SelectHold, Trouble::SelectorLingers];
    let broken = |faults| {
        let space: Space = Aircraft::new(&Config::default(), faults, both.clone());
        let found = explored(&space, 2, 5);
        let broken = found.broken.iter().map(|(bit, _)| CHECKS[bit as usize].id);
        broken.collect::<Vec<&str>>()
    };
    assert_eq!(broken(1), [""; 0]);
    assert_eq!(broken(2), ["SR-05"]);
}

/// The least number of transitions by which controller number `N` breaks its check.
fn caught<const N: usize>() -> u32 {
    let wrong = wrong::ALL[N];
    let check = CHECKS.iter().position(|check| check.id == wrong.breaks);
    let check = u32::try_from(check.expect("a check there is")).expect("a small number");
    let among = wrong.trouble.into_iter().collect::<Vec<_>>();
    let space: Aircraft<wrong::Number<N>> =
        Aircraft::new(&Config::default(), among.len().min(1), among);
    let options = Options {
        stop: Stop::Any(1 << check),
        ..Options::default()
    };
    let found = explore(&space, &options, &mut |_| {}).expect("no file is used");
    let broken = found.broken.get(check);
    broken
        .unwrap_or_else(|| panic!("{}: {} is not broken", wrong.name, wrong.breaks))
        .depth
}

#[test]
fn a_wrong_controller_breaks_its_check_in_a_few_steps() {
    let depths = [
        caught::<0>(),
        caught::<1>(),
        caught::<2>(),
        caught::<3>(),
        caught::<4>(),
        caught::<5>(),
        caught::<6>(),
        caught::<7>(),
        caught::<8>(),
        caught::<9>(),
        caught::<10>(),
        caught::<11>(),
        caught::<12>(),
        caught::<13>(),
        caught::<14>(),
        caught::<15>(),
    ];
    for (wrong, depth) in wrong::ALL.iter().zip(depths) {
        assert!((1..=DEPTH).contains(&depth), "{}: {depth}", wrong.name);
    }
}

/// Both broke checks of the bus in eight transitions, before the main contactor had its time
/// to close and a bus needed a pack to be live.
#[test]
fn a_contact_or_a_pack_that_lies_while_the_bus_is_closed_breaks_nothing() {
    let found = explored(
        &space(&[Trouble::MainFeedback, Trouble::Pack1Voltage]),
        2,
        8,
    );
    let broken = found.broken.iter();
    let broken: Vec<&str> = broken.map(|(check, _)| CHECKS[check as usize].id).collect();
    assert_eq!(broken, [""; 0]);
    for id in ["SR-04", "SR-19", "HZ-4"] {
        let check = CHECKS.iter().position(|check| check.id == id);
        let tested = found.tally.tested[check.expect("a check there is")];
        assert!(tested > 0, "{id}");
    }
}

/// A space that does not know where to look for a path.
struct Unknowing(Aircraft<Sequencer>);

impl engine::Space for Unknowing {
    type State = <Aircraft<Sequencer> as engine::Space>::State;
    type Tally = Tally;

    fn initial(&self, found: &mut impl FnMut(Self::State, Variants)) {
        self.0.initial(found);
    }

    fn expand(
        &self,
        node: &Self::State,
        of: Variants,
        tally: &mut Tally,
        found: &mut impl FnMut(Self::State, Variants, u64),
    ) {
        self.0.expand(node, of, tally, found);
    }
}

#[test]
fn a_story_is_looked_for_only_where_it_can_be() {
    let among = [
        Trouble::Airspeed,
        Trouble::SpindleFree,
        Trouble::MastReversed,
    ];
    let options = Options {
        limits: Limits {
            depth: Some(5),
            ..Limits::default()
        },
        stop: Stop::Never,
        ..Options::default()
    };
    let knowing = Aircraft::<Sequencer>::new(&Config::default(), 1, among.to_vec());
    let unknowing = Unknowing(knowing.clone());
    let found = explore(&knowing, &options, &mut |_| {}).expect("no file is used");
    let same = explore(&unknowing, &options, &mut |_| {}).expect("no file is used");
    let broken: Vec<u32> = found.broken.iter().map(|(check, _)| check).collect();
    let ids: Vec<&str> = broken
        .iter()
        .map(|&check| CHECKS[check as usize].id)
        .collect();
    assert_eq!(ids, ["SR-23", "HZ-1"]);
    for check in broken {
        let cases = knowing.breaking(&found.tally, check);
        assert!((1..=2).contains(&cases.len()), "{cases:?}");
        let path = shortest(&knowing, &found, check, 2).expect("it is broken");
        assert_eq!(shortest(&unknowing, &same, check, 2), Some(path));
    }
}

#[test]
fn every_counterexample_can_be_told_and_steered() {
    let space = space(&[Trouble::BladeTurned]);
    let found = explored(&space, 2, 3);
    let hazard = CHECKS.iter().position(|check| check.id == "HZ-1");
    let hazard = u32::try_from(hazard.expect("a check of the blade")).expect("a small number");
    let path = shortest(&space, &found, hazard, 2).expect("a blade turned by hand strikes");
    let (begin, legs) = retrace(&space, &path, hazard).expect("each step can be told");
    assert_eq!(legs.len(), path.len());
    let story = Story::of(hazard, &begin, &legs);
    let breaks = story
        .steps
        .iter()
        .flatten()
        .find(|line| line.who == "breaks");
    assert_eq!(breaks.map(|line| line.what.as_str()), Some("blade-turned"));
    let text = steer(story.id, &begin, &legs).text;
    let scenario = Scenario::parse("story.toml", &text).expect("a scenario in order");
    assert_eq!(scenario.faults.len(), 1);
}
