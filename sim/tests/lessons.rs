//! Every shipped lesson can be flown as it teaches, and can be failed.

use mastwright_sim::flight::{Flight, Outcome as Judged, Verdict};
use mastwright_sim::frame::Frame;
use mastwright_sim::join;
use mastwright_sim::lesson::captions::Captions;
use mastwright_sim::lesson::debrief::{Became, Debrief};
use mastwright_sim::lesson::gesture::Gesture;
use mastwright_sim::lesson::progress::{Outcome, Progress};
use mastwright_sim::lesson::{self, Lesson, Whose};
use mastwright_sim::scenario::deed::Deed;
use mastwright_sim::scenario::{Action, Cue, Scenario, Start, ticks};

struct Flown {
    progress: Progress,
    verdict: Verdict,
    last: Frame,
    debrief: Debrief,
}

fn fly(lesson: &Lesson, scenario: &Scenario) -> Flown {
    let mut flight = join::take_off(scenario, scenario.seed);
    let mut progress = Progress::new(lesson);
    for _ in 0..scenario.ticks {
        flight.step();
        progress.observe(flight.frame(), flight.begun());
    }
    let verdict = flight.verdict();
    let last = flight.frame().clone();
    let debrief = Debrief::new(&progress, &verdict, &last, scenario.seed);
    Flown {
        progress,
        verdict,
        last,
        debrief,
    }
}

fn told(debrief: &Debrief) -> String {
    let mut text = Vec::new();
    debrief.text(&mut text).expect("memory can be written");
    String::from_utf8(text).expect("text")
}

fn lessons() -> Vec<Lesson> {
    let lessons = lesson::shipped().expect("shipped lessons in order");
    assert!(lessons.len() >= 8, "{}", lessons.len());
    lessons
}

/// A deed that makes a gesture, at a time in s.
fn deed_of(gesture: Gesture, at: f64) -> Action {
    let long = |lasting: u32| u64::from(lasting).max(30);
    let deed = match gesture {
        Gesture::Select(push, lasting) => Deed::Select {
            push,
            lasting: long(lasting),
        },
        Gesture::Above(_) => Deed::Throttle { to: 1.0, over: 0 },
        Gesture::Below(_) => Deed::Throttle { to: 0.0, over: 0 },
        Gesture::Stop(thrown) => Deed::Stop(thrown),
        Gesture::Acknowledge(lasting) => Deed::Acknowledge(long(lasting)),
        Gesture::BenchKey(on) => Deed::BenchKey(on),
        Gesture::HeatTest(lasting) => Deed::HeatTest(long(lasting)),
        Gesture::AuxCharge(on) => Deed::AuxCharge(on),
    };
    Action {
        cue: Cue {
            start: Start::At(ticks(at)),
            delay: 0,
        },
        deed,
        words: String::new(),
    }
}

#[test]
fn the_demonstration_of_every_lesson_does_all_it_teaches_in_time_and_breaks_nothing() {
    for lesson in lessons() {
        let flown = fly(&lesson, &lesson.scenario(Whose::Demonstration));
        let debrief = &flown.debrief;
        let score = debrief.score;
        assert_eq!(score.in_time, score.expected, "{}", told(debrief));
        assert!(score.expected > 0, "{}", lesson.name());
        assert_eq!(
            (
                score.slips,
                score.hints,
                score.hazards,
                score.requirements_broken,
                score.otherwise
            ),
            (0, 0, 0, 0, 0),
            "{}",
            told(debrief)
        );
        assert!(!debrief.expectations.is_empty(), "{}", lesson.name());
        for cue in 0..lesson.section().cues.len() {
            assert!(
                flown.progress.came(cue).is_some(),
                "{}: cue {cue}",
                lesson.name()
            );
        }
        assert!(!debrief.cut_short);
    }
}

#[test]
fn every_requirement_a_lesson_is_about_is_put_to_the_test_by_its_demonstration() {
    for lesson in lessons() {
        let flown = fly(&lesson, &lesson.scenario(Whose::Demonstration));
        for id in &lesson.section().requirements {
            assert!(
                flown.verdict.exercised().contains(&id.as_str()),
                "{}: {id}",
                lesson.name()
            );
        }
    }
}

#[test]
fn hands_that_do_nothing_miss_what_is_called_for_and_break_nothing() {
    for lesson in lessons() {
        let flown = fly(&lesson, &lesson.scenario(Whose::Trainee));
        let score = flown.debrief.score;
        assert!(score.missed > 0, "{}", told(&flown.debrief));
        assert_eq!(score.in_time, 0, "{}", told(&flown.debrief));
        assert_eq!(
            (score.slips, score.hazards),
            (0, 0),
            "{}",
            told(&flown.debrief)
        );
        assert!(flown.debrief.hands.is_empty(), "{}", told(&flown.debrief));
    }
}

#[test]
fn hands_that_are_slow_are_late() {
    for lesson in lessons() {
        let task = &lesson.section().tasks[0];
        let untouched = fly(&lesson, &lesson.scenario(Whose::Trainee));
        let called = untouched
            .progress
            .came(task.cue)
            .expect("called for without hands");
        let late = f64::from(called + task.within) / 100.0 + 1.0;
        let mut scenario = lesson.scenario(Whose::Trainee);
        scenario.actions.push(deed_of(task.gesture, late));
        let flown = fly(&lesson, &scenario);
        let seen = &flown.debrief.tasks[0];
        assert_eq!(seen.outcome, Became::Late, "{}", told(&flown.debrief));
        assert_eq!(seen.done, Some(late), "{}", lesson.name());
        if task.hint.is_some() {
            assert!(seen.hinted.is_some(), "{}", told(&flown.debrief));
        }
    }
}

#[test]
fn hands_that_do_what_is_to_be_avoided_are_told_of_it() {
    for lesson in lessons() {
        let avoid = &lesson.section().avoid;
        let wrong = avoid
            .iter()
            .find(|avoid| avoid.from.is_none())
            .unwrap_or_else(|| panic!("{}: nothing to avoid from the start on", lesson.name()));
        let mut scenario = lesson.scenario(Whose::Trainee);
        scenario.actions.push(deed_of(wrong.gesture, 0.6));
        let flown = fly(&lesson, &scenario);
        let slip = &flown.debrief.slips[0];
        assert_eq!(
            (slip.first, slip.times),
            (0.6, 1),
            "{}",
            told(&flown.debrief)
        );
        assert_eq!(slip.why, wrong.why);
        assert_eq!(flown.debrief.score.slips, 1);
    }
}

#[test]
fn a_push_before_its_cue_is_early_and_doing_it_again_mends_that() {
    let lesson = lesson::find("normal-cycle").expect("a shipped lesson");
    let task = lesson.section().tasks[0].gesture;
    let mut scenario = lesson.scenario(Whose::Trainee);
    scenario.actions.push(deed_of(task, 0.8));
    let flown = fly(&lesson, &scenario);
    assert_eq!(
        flown.progress.outcome(0),
        Outcome::Early(80),
        "{}",
        told(&flown.debrief)
    );
    assert_eq!(flown.debrief.tasks[0].reaction, None);
    scenario.actions.push(deed_of(task, 4.0));
    let flown = fly(&lesson, &scenario);
    assert_eq!(flown.progress.outcome(0), Outcome::InTime(400));
    assert_eq!(flown.debrief.tasks[0].reaction, Some(2.0));
}

#[test]
fn a_flight_that_ends_early_says_so_and_misses_nothing_that_had_time_left() {
    let lesson = lesson::find("normal-cycle").expect("a shipped lesson");
    let mut scenario = lesson.scenario(Whose::Trainee);
    scenario.ticks = 500;
    let flown = fly(&lesson, &scenario);
    assert!(flown.debrief.cut_short);
    assert_eq!(flown.debrief.flown, 4.99);
    assert_eq!(flown.debrief.tasks[0].outcome, Became::Open);
    assert_eq!(flown.debrief.tasks[1].outcome, Became::NotCalledFor);
    assert!(told(&flown.debrief).contains("cut short"));
}

#[test]
fn a_copy_of_the_progress_goes_on_as_the_original_does() {
    let lesson = lesson::find("drive-jams").expect("a shipped lesson");
    let scenario = lesson.scenario(Whose::Demonstration);
    let mut flight = join::take_off(&scenario, scenario.seed);
    let mut progress = Progress::new(&lesson);
    for _ in 0..3000 {
        flight.step();
        progress.observe(flight.frame(), flight.begun());
    }
    let (mut again, mut onward) = (flight.clone(), progress.clone());
    for _ in 3000..scenario.ticks {
        for (flight, progress) in [(&mut flight, &mut progress), (&mut again, &mut onward)] {
            flight.step();
            progress.observe(flight.frame(), flight.begun());
        }
    }
    let debrief = |progress: &Progress| {
        Debrief::new(progress, &flight.verdict(), flight.frame(), scenario.seed)
    };
    assert_eq!(debrief(&progress), debrief(&onward));
    assert_eq!(
        debrief(&progress).score.in_time,
        debrief(&progress).score.expected
    );
}

#[test]
fn without_the_scripts_hands_faults_and_surroundings_stay() {
    for lesson in lessons() {
        let script = lesson.scenario(Whose::Demonstration);
        let trainee = lesson.scenario(Whose::Trainee);
        assert_eq!(script.faults, trainee.faults);
        assert!(
            trainee
                .actions
                .iter()
                .all(|action| !action.deed.is_by_hand())
        );
        let surroundings = script
            .actions
            .iter()
            .filter(|action| !action.deed.is_by_hand());
        assert!(trainee.actions.iter().eq(surroundings));
        assert!(
            trainee.actions.len() < script.actions.len(),
            "{}",
            lesson.name()
        );
    }
}

#[test]
fn the_captions_of_every_demonstration_all_come_in_their_order() {
    for lesson in lessons() {
        let scenario = lesson.scenario(Whose::Demonstration);
        let mut flight = join::take_off(&scenario, scenario.seed);
        let mut captions = Captions::new(&lesson);
        let (mut come, mut still, mut ends) = (Vec::new(), 0, 0);
        for tick in 0..u32::try_from(scenario.ticks).expect("a short lesson") {
            flight.step();
            if let Some(comes) = captions.observe(flight.frame()) {
                assert_eq!(captions.up(tick), Some(comes.index));
                come.push(comes.index);
                still += comes.stand_still;
                ends = tick + captions.left(tick);
            }
        }
        let all: Vec<usize> = (0..lesson.section().captions.len()).collect();
        assert_eq!(come, all, "{}", lesson.name());
        assert!(come.len() >= 4, "{}", lesson.name());
        assert!(
            u64::from(ends) <= scenario.ticks,
            "{}: read to its end",
            lesson.name()
        );
        assert!(
            still <= 6000,
            "{}: stands still for {still} ticks",
            lesson.name()
        );
    }
}

#[test]
fn the_debrief_is_told_within_eighty_columns_with_its_caution() {
    for lesson in lessons() {
        for hands in [Whose::Demonstration, Whose::Trainee] {
            let flown = fly(&lesson, &lesson.scenario(hands));
            let text = told(&flown.debrief);
            let wide = text.lines().find(|line| line.chars().count() > 80);
            assert_eq!(wide, None);
            assert!(text.contains("Keep clear of propellers."), "{text}");
            assert!(flown.last.tick + 1 == lesson.scenario(hands).ticks);
        }
    }
}

#[test]
fn the_debrief_as_json_has_its_version_first_and_every_judgement() {
    let lesson = lesson::find("fans-failed").expect("a shipped lesson");
    let flown = fly(&lesson, &lesson.scenario(Whose::Demonstration));
    let json = flown.debrief.json().expect("a document");
    assert!(
        json.starts_with("{\n  \"mastwright_debrief\": 1,\n"),
        "{json}"
    );
    let document: serde_json::Value = serde_json::from_str(&json).expect("one document");
    assert_eq!(document["tasks"][2]["do"], "throttle below 3 %");
    assert_eq!(document["tasks"][2]["outcome"], "in-time");
    assert_eq!(document["score"]["expected"], 5);
    assert_eq!(document["hazards"].as_array().map(Vec::len), Some(8));
    let broken = flown
        .verdict
        .rows()
        .filter(|row| matches!(row.outcome, Judged::Broken { .. }));
    assert_eq!(broken.count(), 0);
}

#[test]
fn the_page_needs_nothing_else_and_escapes_what_a_lesson_says() {
    let text = include_str!("../../docs/lessons/normal-cycle.toml").replace(
        "Everybody is clear. Bring",
        "<script>alert(1)</script> Bring",
    );
    let scenario = Scenario::parse("mine.toml", &text).expect("a lesson");
    let lesson = Lesson::of(scenario).expect("a lesson");
    let flown = fly(&lesson, &lesson.scenario(Whose::Demonstration));
    let page = flown.debrief.page().expect("a page");
    assert!(!page.contains("<script"), "{page}");
    assert!(
        !page.contains("http://") && !page.contains("https://"),
        "{page}"
    );
    for part in [
        "<html lang=\"en\">",
        "Keep clear of propellers.",
        "name=\"viewport\"",
        "@media print",
        "<th scope=\"row\">HZ-1</th>",
        "&#60;script&#62;",
    ] {
        assert!(page.contains(part), "{part} is missing from\n{page}");
    }
}

#[test]
fn a_debrief_replaces_a_debrief_and_nothing_else() {
    let directory = std::env::temp_dir().join(format!("mastwright-debrief-{}", std::process::id()));
    std::fs::create_dir_all(&directory).expect("a directory");
    let lesson = lesson::find("normal-cycle").expect("a shipped lesson");
    let mut scenario = lesson.scenario(Whose::Trainee);
    scenario.ticks = 100;
    let debrief = fly(&lesson, &scenario).debrief;
    let (page, json) = (directory.join("a.html"), directory.join("a.json"));
    for _ in 0..2 {
        debrief.save_page(&page).expect("a page");
        debrief.save_json(&json).expect("a document");
    }
    assert_eq!(
        std::fs::read_to_string(&json).expect("kept"),
        debrief.json().expect("text")
    );
    let refused = debrief.save_json(&page).unwrap_err().to_string();
    assert!(refused.contains("is no debrief in JSON"), "{refused}");
    let refused = debrief.save_page(&json).unwrap_err().to_string();
    assert!(refused.contains("is no page of a debrief"), "{refused}");
    std::fs::remove_dir_all(&directory).expect("removed");
}

#[test]
fn a_lesson_is_found_by_name_or_refused_with_a_remedy() {
    assert_eq!(
        lesson::find("emergency-stow").expect("a lesson").name(),
        "emergency-stow"
    );
    let path = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../docs/lessons/drive-jams.toml"
    );
    assert_eq!(lesson::find(path).expect("a lesson").name(), "drive-jams");
    for (wanted, remedy) in [
        ("drive-jam", "did you mean `drive-jams`?"),
        ("door-jams", "docs/lesson-format.md"),
    ] {
        let report = lesson::find(wanted).expect_err(wanted);
        let help = report
            .help()
            .map(|help| help.to_string())
            .unwrap_or_default();
        assert!(help.contains(remedy), "{help}");
    }
}
