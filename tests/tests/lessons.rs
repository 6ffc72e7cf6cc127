//! A debrief's numbers are those of the frames, and of the trace, whatever the hands do.
//!
//! Every number is reckoned here a second time, backwards from a whole flight that was
//! kept, where the lesson reckons it tick by tick and keeps next to nothing.

use mastwright_sim::controls::{Controls, Push};
use mastwright_sim::flight::{Flight, Outcome as Judged};
use mastwright_sim::frame::Frame;
use mastwright_sim::join;
use mastwright_sim::lesson::debrief::{Became, Debrief};
use mastwright_sim::lesson::gesture::Gesture;
use mastwright_sim::lesson::progress::Progress;
use mastwright_sim::lesson::section::Section;
use mastwright_sim::lesson::{self, Lesson, Whose};
use mastwright_sim::oracle::{self, Limits, Oracle};
use mastwright_sim::scenario::deed::Deed;
use mastwright_sim::scenario::script::Marks;
use mastwright_sim::scenario::{Action, Cue, Scenario, Start};
use mastwright_sim::trace::{Header, Recorded, Trace};
use mastwright_tests::draw::Draw;
use proptest::prelude::*;

/// The hands of the demonstration, some left out, most of them late, with others between.
fn random_hands(lesson: &Lesson, draw: &mut Draw) -> Scenario {
    let mut scenario = lesson.scenario(Whose::Demonstration);
    for action in &mut scenario.actions {
        if !action.deed.is_by_hand() {
            continue;
        }
        action.cue.delay += u64::from(draw.one(&[0_u32, 0, 200, 900, 2500]));
        if draw.chance(15) {
            action.deed = Deed::AuxCharge(false);
        }
    }
    let length = u32::try_from(scenario.ticks).expect("a short lesson");
    for _ in 0..draw.below(6) {
        let deed = any_deed(draw);
        let at = u64::from(draw.below(length / 2));
        scenario.actions.push(Action {
            cue: Cue {
                start: Start::At(at),
                delay: 0,
            },
            deed,
            words: String::new(),
        });
    }
    if draw.chance(25) {
        scenario.ticks = u64::from(draw.between(1, length));
    }
    scenario
}

fn any_deed(draw: &mut Draw) -> Deed {
    let lasting = u64::from(draw.one(&[1_u32, 20, 50, 250, 900]));
    match draw.below(9) {
        0 | 1 => Deed::Select {
            push: Push::Deploy,
            lasting,
        },
        2 | 3 => Deed::Select {
            push: Push::Stow,
            lasting,
        },
        4 => Deed::Throttle {
            to: draw.unit(),
            over: draw.one(&[0, 100]),
        },
        5 => Deed::Stop(draw.chance(60)),
        6 => Deed::Acknowledge(lasting),
        7 => Deed::HeatTest(lasting),
        _ => Deed::BenchKey(draw.chance(60)),
    }
}

/// A flight kept whole.
struct Kept<'a> {
    section: &'a Section,
    frames: Vec<Frame>,
    cues: Vec<Option<usize>>,
    /// How much later or sooner a gesture may show in the frames, s.
    slack: f64,
}

/// Ticks from the first to the last in which the hands stood so.
type Stretch = (usize, usize);

/// What a task came to: the outcome, and when the hands came to stand so.
type Came = (Became, Option<usize>);

impl Kept<'_> {
    fn is_same(&self, told: Option<f64>, reckoned: Option<f64>) -> bool {
        match (told, reckoned) {
            (Some(told), Some(reckoned)) => (told - reckoned).abs() <= self.slack,
            (None, None) => true,
            (_, _) => false,
        }
    }

    fn stretches(&self, gesture: Gesture, to: usize) -> Vec<Stretch> {
        let stands = |hands: &Controls| match gesture {
            Gesture::Select(push, _) => hands.selector == push,
            Gesture::Above(share) => hands.throttle > share,
            Gesture::Below(share) => hands.throttle < share,
            Gesture::Stop(thrown) => hands.stop == thrown,
            Gesture::Acknowledge(_) => hands.acknowledge,
            Gesture::BenchKey(on) => hands.bench_key == on,
            Gesture::HeatTest(_) => hands.heat_test,
            Gesture::AuxCharge(on) => hands.aux_charge == on,
        };
        let mut stretches: Vec<Stretch> = Vec::new();
        for (tick, frame) in self.frames.iter().enumerate().take(to + 1) {
            if stands(&frame.controls) {
                match stretches.last_mut() {
                    Some(last) if last.1 + 1 == tick => last.1 = tick,
                    Some(_) | None => stretches.push((tick, tick)),
                }
            }
        }
        let lasting = gesture.lasting() as usize;
        stretches.retain(|(from, to)| to - from + 1 >= lasting);
        stretches
    }

    /// The tick in which the hands came to stand so, if they do in tick `now`.
    fn standing(&self, gesture: Gesture, now: usize) -> Option<usize> {
        let stands = |frame: &Frame| gesture.is_made(&frame.controls);
        let before = self.frames[..=now].iter().rposition(|frame| !stands(frame));
        let began = before.map_or(0, |tick| tick + 1);
        (began <= now).then_some(began)
    }

    /// The tick of a cue, if it has come by `now`.
    fn called(&self, cue: usize, now: usize) -> Option<usize> {
        self.cues[cue].filter(|tick| *tick <= now)
    }

    /// What a task had come to by `now`.
    fn task(&self, index: usize, now: usize) -> Came {
        let task = &self.section.tasks[index];
        let called = self.called(task.cue, now);
        let stretches = self.stretches(task.gesture, now);
        if let Some(called) = called
            && let Some((began, _)) = stretches.iter().find(|(_, end)| *end >= called)
        {
            let became = if *began < called {
                Became::Early
            } else if *began <= called + task.within as usize {
                Became::InTime
            } else {
                Became::Late
            };
            return (became, Some(*began));
        }
        let lasting = task.gesture.lasting() as usize;
        let before = stretches.iter().rev().find(|(began, _)| {
            let full = began + lasting - 1;
            let uncalled = self.cues[task.cue].is_none_or(|called| full < called);
            !task.gesture.stays() && uncalled && self.all_settled(index, full)
        });
        match (before, called) {
            (Some((began, _)), _) => (Became::Early, Some(*began)),
            (None, None) => (Became::NotCalledFor, None),
            (None, Some(called)) if self.time_is_left(index, called, now) => (Became::Open, None),
            (None, Some(_)) => (Became::Missed, None),
        }
    }

    /// A task called for can still be done in time, or the hands are at it.
    fn time_is_left(&self, index: usize, called: usize, now: usize) -> bool {
        let task = &self.section.tasks[index];
        let due = called + task.within as usize;
        now <= due
            || self
                .standing(task.gesture, now)
                .is_some_and(|began| began <= due)
    }

    /// No task before this one was open, or done without its cue.
    fn all_settled(&self, index: usize, now: usize) -> bool {
        (0..index).all(|before| {
            let called = self.called(self.section.tasks[before].cue, now);
            called.is_some() && self.task(before, now).0 != Became::Open
        })
    }

    fn hinted(&self, index: usize) -> Option<usize> {
        let task = &self.section.tasks[index];
        let due = self.cues[task.cue]? + task.hint.as_ref()?.after as usize;
        let called = self.cues[task.cue]?;
        let lasting = task.gesture.lasting() as usize;
        let stretches = self.stretches(task.gesture, self.frames.len() - 1);
        let made = stretches.iter().find(|(_, end)| *end >= called);
        let made = made.map_or(self.frames.len(), |(began, _)| {
            called.max(began + lasting - 1)
        });
        (due..made).find(|tick| !task.gesture.is_made(&self.frames[*tick].controls))
    }

    /// First tick and count of what was to be avoided.
    fn slips(&self, index: usize) -> (Option<usize>, u32) {
        let avoid = &self.section.avoid[index];
        let lasting = avoid.gesture.lasting() as usize;
        let stretches = self.stretches(avoid.gesture, self.frames.len() - 1);
        let slips: Vec<Stretch> = stretches
            .into_iter()
            .filter(|(began, _)| {
                let full = began + lasting - 1;
                let from = avoid
                    .from
                    .is_none_or(|cue| self.called(cue, full).is_some());
                let until = avoid
                    .until
                    .is_some_and(|cue| self.called(cue, full).is_some());
                let at_rest = full == 0 && avoid.gesture.is_made(&Controls::default());
                from && !until && !at_rest
            })
            .collect();
        (slips.first().map(|slip| slip.0), slips.len() as u32)
    }
}

/// The tick in which each cue came.
fn cues(section: &Section, frames: &[Frame]) -> Vec<Option<usize>> {
    let mut cues = Vec::new();
    for cue in &section.cues {
        let delay = cue.begin.delay as usize;
        let come = match &cue.begin.start {
            Start::At(tick) => Some(*tick as usize),
            Start::When(moment) => {
                let mut moment = moment.clone();
                frames
                    .iter()
                    .position(|frame| moment.feed(frame, Marks::default()))
            }
        };
        cues.push(
            come.map(|tick| tick + delay)
                .filter(|tick| *tick < frames.len()),
        );
    }
    cues
}

fn seconds(tick: usize) -> f64 {
    tick as f64 / 100.0
}

/// How many ticks changed what `of` sees of the hands; they rest before the first.
fn changes(frames: &[Frame], of: impl Fn(&Controls) -> bool) -> usize {
    let mut last = false;
    frames
        .iter()
        .filter(|frame| std::mem::replace(&mut last, of(&frame.controls)) != of(&frame.controls))
        .count()
}

fn check(kept: &Kept<'_>, debrief: &Debrief) -> Result<(), TestCaseError> {
    let last = kept.frames.len() - 1;
    prop_assert_eq!(debrief.flown, seconds(last));
    let mut in_time = 0;
    for (index, task) in debrief.tasks.iter().enumerate() {
        let called = kept.cues[kept.section.tasks[index].cue];
        let (became, done) = kept.task(index, last);
        prop_assert_eq!(task.outcome, became, "task {}", index);
        let same = kept.is_same(task.done, done.map(seconds));
        prop_assert!(same, "task {index}: {:?}, {done:?}", task.done);
        let same = kept.is_same(task.called, called.map(seconds));
        prop_assert!(same, "task {index}: {:?}, {called:?}", task.called);
        let hinted = kept.hinted(index).map(seconds);
        prop_assert!(kept.is_same(task.hinted, hinted), "hint {index}");
        let reaction = match (called, done) {
            (Some(called), Some(done)) if done >= called => Some(seconds(done - called)),
            (_, _) => None,
        };
        prop_assert!(kept.is_same(task.reaction, reaction), "task {index}");
        in_time += u32::from(became == Became::InTime);
    }
    prop_assert_eq!(debrief.score.in_time, in_time);
    prop_assert_eq!(debrief.score.expected as usize, debrief.tasks.len());
    let mut slips = debrief.slips.iter();
    for (index, avoid) in kept.section.avoid.iter().enumerate() {
        if let (Some(first), times) = kept.slips(index) {
            let slip = slips.next().expect("a slip told");
            prop_assert_eq!(&slip.gesture, &avoid.words);
            prop_assert!(kept.is_same(Some(slip.first), Some(seconds(first))));
            prop_assert_eq!(slip.times, times);
        }
    }
    prop_assert!(slips.next().is_none(), "a slip that was none");
    check_hands(kept, debrief)?;
    let end = &kept.frames[last];
    // A trace keeps height to the millimetre and the mast's travel to a millionth.
    let height = debrief.end.height - end.truth.aircraft.height;
    let mast = debrief.end.mast - end.truth.mast.position * 100.0;
    prop_assert!(height.abs() < 0.001, "height: {height} m");
    prop_assert!(mast.abs() < 0.000_2, "mast: {mast} %");
    Ok(())
}

/// Every move is one of the frames, and every move of a switch or button is told.
fn check_hands(kept: &Kept<'_>, debrief: &Debrief) -> Result<(), TestCaseError> {
    let told = |word: &str| {
        let hands = debrief.hands.iter();
        hands.filter(|hand| hand.what.starts_with(word)).count()
    };
    prop_assert_eq!(debrief.hands_lost, 0);
    prop_assert_eq!(
        told("stop-and-stow"),
        changes(&kept.frames, |hands| hands.stop)
    );
    prop_assert_eq!(
        told("bench key"),
        changes(&kept.frames, |hands| hands.bench_key)
    );
    let presses = |of: fn(&Controls) -> bool| changes(&kept.frames, of).div_ceil(2);
    prop_assert_eq!(told("acknowledge"), presses(|hands| hands.acknowledge));
    prop_assert_eq!(told("heat test"), presses(|hands| hands.heat_test));
    let deploys = presses(|hands| hands.selector == Push::Deploy);
    prop_assert_eq!(told("selector to deploy"), deploys);
    let stows = presses(|hands| hands.selector == Push::Stow);
    prop_assert_eq!(told("selector to stow"), stows);
    Ok(())
}

/// The oracle's verdict on the frames kept, row by row: broken or not, and when.
fn check_verdict(frames: &[Frame], debrief: &Debrief) -> Result<(), TestCaseError> {
    let mut oracle = Oracle::new(&Limits::default());
    frames.iter().for_each(|frame| oracle.judge(frame));
    let verdict = oracle.finish();
    let rows = debrief.hazards.iter().chain(&debrief.requirements);
    let mut seen = 0;
    for row in rows {
        let judged = verdict.hazards.iter().chain(&verdict.requirements);
        let judged = judged
            .into_iter()
            .find(|one| one.id == row.id)
            .expect("the row");
        seen += 1;
        let same = match (&judged.outcome, &row.outcome) {
            (oracle::Outcome::Held { .. }, Judged::Held)
            | (oracle::Outcome::NotExercised, Judged::NotExercised)
            | (oracle::Outcome::ByTest { .. }, Judged::JudgedElsewhere { .. }) => true,
            (oracle::Outcome::Broken { first, .. }, Judged::Broken { at, .. }) => {
                (first.tick as f64 * 0.01 - at).abs() < 1e-9
            }
            (_, _) => false,
        };
        prop_assert!(same, "{}", row.id);
    }
    prop_assert!(seen > 8);
    Ok(())
}

fn fly(lesson: &Lesson, scenario: &Scenario) -> (Vec<Frame>, Debrief, usize) {
    follow(
        lesson,
        scenario,
        &mut join::take_off(scenario, scenario.seed),
    )
}

/// The same, recorded: the frames are those read back from the trace.
fn fly_recorded(lesson: &Lesson, scenario: &Scenario) -> (Vec<Frame>, Debrief, usize) {
    let folder = tempfile::tempdir().expect("a folder for files that pass");
    let path = folder.path().join("lesson.mwt");
    let header = Header::new(scenario, scenario.seed, "a test");
    let flight = join::take_off(scenario, scenario.seed);
    let mut flight = Recorded::new(flight, &path, &header).expect("a new file");
    let (_, debrief, faults) = follow(lesson, scenario, &mut flight);
    flight.finish().expect("it is kept");
    let trace = Trace::open(&path).expect("a trace");
    let ticks = trace.ticks().map(|tick| tick.expect("a whole trace").frame);
    (ticks.collect(), debrief, faults)
}

fn follow(
    lesson: &Lesson,
    scenario: &Scenario,
    flight: &mut impl Flight,
) -> (Vec<Frame>, Debrief, usize) {
    let mut progress = Progress::new(lesson);
    let (mut frames, mut faults) = (Vec::new(), 0);
    for _ in 0..scenario.ticks {
        flight.step();
        progress.observe(flight.frame(), flight.begun());
        faults += flight.begun().faults.iter().count();
        frames.push(flight.frame().clone());
    }
    let verdict = flight.verdict();
    let debrief = Debrief::new(&progress, &verdict, flight.frame(), scenario.seed);
    (frames, debrief, faults)
}

/// Flies a lesson under random hands and holds every number of its debrief to the flight.
fn hold(
    seed: u64,
    slack: f64,
    fly: fn(&Lesson, &Scenario) -> (Vec<Frame>, Debrief, usize),
) -> Result<(), TestCaseError> {
    let mut draw = Draw::new(seed);
    let lessons = lesson::shipped().expect("shipped lessons");
    let lesson = &lessons[draw.below(lessons.len() as u32) as usize];
    let scenario = random_hands(lesson, &mut draw);
    let (frames, debrief, faults) = fly(lesson, &scenario);
    let kept = Kept {
        section: lesson.section(),
        cues: cues(lesson.section(), &frames),
        frames,
        slack,
    };
    check(&kept, &debrief)?;
    check_verdict(&kept.frames, &debrief)?;
    prop_assert_eq!(debrief.faults.len(), faults);
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 96, ..ProptestConfig::default() })]

    #[test]
    fn the_numbers_of_a_debrief_are_those_of_the_frames(seed: u64) {
        hold(seed, 1e-9, fly)?;
    }
}

/// A trace keeps hands and truth in fine steps: what stands at a limit exactly may show one
/// tick sooner or later.
#[test]
fn the_numbers_of_a_debrief_are_those_of_its_trace() {
    for seed in 0..48 {
        let held = hold(seed, 0.010_001, fly_recorded);
        assert!(held.is_ok(), "seed {seed}: {held:?}");
    }
}

#[test]
fn random_hands_bring_about_every_outcome() {
    let lessons = lesson::shipped().expect("shipped lessons");
    let mut seen = [0_u32; 7];
    for seed in 0..120 {
        let mut draw = Draw::new(seed);
        let lesson = &lessons[draw.below(lessons.len() as u32) as usize];
        let scenario = random_hands(lesson, &mut draw);
        let (_, debrief, _) = fly(lesson, &scenario);
        let score = debrief.score;
        for (count, more) in seen.iter_mut().zip([
            score.in_time,
            score.early,
            score.late,
            score.missed,
            score.open,
            score.not_called_for,
            score.slips,
        ]) {
            *count += more;
        }
    }
    assert!(seen.iter().all(|count| *count > 0), "{seen:?}");
}
