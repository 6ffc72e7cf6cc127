use super::*;
use crate::scenario::Scenario;
use crate::scenario::shipped::Shipped;

fn told(lines: &[&str]) -> String {
    let shipped = Shipped::named("emergency-stow").expect("shipped");
    let scenario = Scenario::parse(&shipped.file(), shipped.text).expect("it parses");
    told_of(Desk::new(scenario, 1), lines)
}

fn told_of(desk: Desk, lines: &[&str]) -> String {
    let mut out = Vec::new();
    let mut plain = Plain::new(desk, &mut out, Paint::default(), true).expect("memory");
    for line in lines {
        plain.line(line).expect("memory takes everything");
    }
    plain.close().expect("memory takes everything");
    for _ in 0..100 {
        plain.advance(Duration::from_millis(10)).expect("memory");
    }
    assert!(plain.is_over());
    String::from_utf8(out).expect("text")
}

#[test]
fn without_commands_it_tells_what_a_run_of_the_scenario_tells() {
    let shipped = Shipped::named("emergency-stow").expect("shipped");
    let scenario = Scenario::parse(&shipped.file(), shipped.text).expect("it parses");
    let mut run = Vec::new();
    let mut world = crate::join::take_off(&scenario, 1);
    crate::report::fly(&scenario, 1, "", &mut world, |entry| {
        text::entry(&mut run, entry, Paint::default()).expect("memory");
    });
    let run = String::from_utf8(run).expect("text");
    assert!(run.lines().count() > 20 && told(&[]).contains(&run));
}

#[test]
fn commands_wait_for_their_time_to_the_tick() {
    let text = told(&["wait 3", "throttle 20", "wait 2.5", "stop"]);
    assert!(
        text.contains("3.01 s  pilot     throttle to 20 %"),
        "{text}"
    );
    assert!(text.contains("5.51 s  pilot     stop on"), "{text}");
    assert!(text.contains("Stowed: mast in its bay"), "{text}");
}

#[test]
fn a_flight_is_rewound_and_flown_otherwise_and_the_other_branch_taken_back() {
    let text = told(&[
        "wait 20",
        "stop",
        "wait 5",
        "back 6",
        "throttle 50",
        "other",
        "quit",
    ]);
    assert!(
        text.contains("19.00 s  - here again; flown up to 25.00 s"),
        "{text}"
    );
    assert!(text.contains("this is branch 1 again"), "{text}");
}

#[test]
fn a_fault_is_found_injected_listed_and_ended() {
    let text = told(&[
        "find mast-jam",
        "inject mechanics.mast-jam acts",
        "wait 1",
        "active",
        "clear",
        "wait 1",
        "active",
        "verdict",
        "why",
        "quit",
    ]);
    assert!(text.contains("FAULT     mechanics.mast-jam acts"), "{text}");
    assert!(text.contains("every active fault ended"), "{text}");
    assert!(text.contains("no fault is active"), "{text}");
}

#[test]
fn a_command_that_is_not_understood_is_pointed_at_and_nothing_is_lost() {
    let text = told(&["stpo", "wait 1", "state", "quit"]);
    assert!(text.contains("not done: stpo\n          ^^^^\n"), "{text}");
    assert!(text.contains("remedy: did you mean `stop`?"), "{text}");
    assert!(text.contains("1.00 s  - "), "{text}");
}

#[test]
fn no_line_is_wider_than_80_columns() {
    let text = told(&[
        "help",
        "find temperature",
        "inject nothing at all",
        "state",
        "quit",
    ]);
    for line in text.lines() {
        assert!(line.chars().count() <= COLUMNS, "{line}");
    }
}

#[test]
fn a_lesson_is_told_with_briefing_cues_and_hints_as_they_come_and_debrief() {
    let lesson = crate::lesson::find("emergency-stow").expect("shipped");
    let desk = Desk::of_lesson(lesson.clone(), 1);
    let desk_briefing = desk.scenario().briefing.clone();
    let text = told_of(desk, &[]);
    let squeezed = text.split_whitespace().collect::<Vec<_>>().join(" ");
    let place = |what: &str| {
        let what = what.split_whitespace().collect::<Vec<_>>().join(" ");
        squeezed
            .find(&what)
            .unwrap_or_else(|| panic!("{what}: {text}"))
    };
    let section = lesson.section();
    let briefing = place(&section.briefing);
    let hint = section.tasks.iter().find_map(|task| task.hint.as_ref());
    let cue = place(&format!("cue: {}", section.cues[0].say));
    let hint = place(&format!("hint: {}", hint.expect("it has hints").say));
    let debrief = place("Debrief: ");
    let demonstrated = &desk_briefing
        .split_whitespace()
        .collect::<Vec<_>>()
        .join(" ");
    assert!(!squeezed.contains(demonstrated), "{text}");
    assert!(briefing < cue && cue < hint && hint < debrief, "{text}");
    assert!(text.lines().all(|line| line.chars().count() <= COLUMNS));
}

#[test]
fn a_fault_is_armed_and_begins_when_its_moment_comes() {
    let text = told(&[
        "arm mechanics.mast-jam acts when height > 1 m",
        "armed",
        "wait 1",
        "armed",
        "quit",
    ]);
    assert!(text.contains("1. mechanics.mast-jam acts"), "{text}");
    assert!(text.contains("FAULT     mechanics.mast-jam acts"), "{text}");
    assert!(text.contains("no fault is armed"), "{text}");
}
