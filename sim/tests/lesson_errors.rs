//! What is wrong with a lesson is shown with its place and a remedy.

use mastwright_sim::scenario::Scenario;

const HEAD: &str = "title = \"t\"\nbriefing = \"Invented.\"\nlength = 60\n";
const LESSON: &str = "[lesson]\nlevel = 2\nbriefing = \"b\"\nobjectives = [\"o\"]\n\
    requirements = [\"SR-06\"]\n[[lesson.cue]]\nname = \"go\"\nat = 1\nsay = \"Go.\"\n\
    [[lesson.task]]\ndo = \"stop on\"\ncue = \"go\"\nwithin = 4\nright = \"r\"\nwhy = \"w\"\n";

/// Checks that a good lesson, `from` replaced by `to`, is refused at `place` with
/// `message` and a remedy with `remedy`.
#[track_caller]
fn points_at(from: &str, to: &str, place: &str, message: &str, remedy: &str) {
    assert!(LESSON.contains(from), "{from:?} is not in the good lesson");
    refused(
        &format!("{HEAD}{}", LESSON.replacen(from, to, 1)),
        place,
        message,
        remedy,
    );
}

#[track_caller]
fn refused(text: &str, place: &str, message: &str, remedy: &str) {
    let problem = Scenario::parse("wrong.toml", text).expect_err(text);
    let at = &text[problem.offset()..];
    assert!(
        at.starts_with(place),
        "{problem}: points at {at:?}, not at {place:?}"
    );
    assert!(problem.to_string().contains(message), "{problem}");
    assert!(problem.remedy().contains(remedy), "{}", problem.remedy());
}

#[test]
fn the_lesson_that_these_tests_spoil_is_in_order() {
    let scenario = Scenario::parse("good.toml", &format!("{HEAD}{LESSON}")).expect("in order");
    assert_eq!(scenario.lesson.expect("a lesson").tasks.len(), 1);
}

#[test]
fn a_misspelt_key_is_refused_with_the_one_meant() {
    points_at(
        "level",
        "levle",
        "levle",
        "`levle` is not a key",
        "did you mean `level`?",
    );
    points_at(
        "within",
        "withn",
        "withn",
        "`withn` is not a key",
        "did you mean `within`?",
    );
    points_at(
        "[[lesson.task]]",
        "[[lesson.tsk]]",
        "tsk",
        "`tsk` is not a key",
        "`task`?",
    );
}

#[test]
fn a_missing_key_is_named_with_the_page_that_describes_it() {
    points_at(
        "within = 4\n",
        "",
        "",
        "missing field `within`",
        "docs/lesson-format.md",
    );
}

#[test]
fn a_level_is_a_whole_number_from_one_to_five() {
    points_at(
        "level = 2",
        "level = 2.5",
        "2.5",
        "`level` is 2.5",
        "from 1 to 5",
    );
    points_at("level = 2", "level = 6", "6", "`level` is 6", "from 1 to 5");
}

#[test]
fn a_cue_that_does_not_exist_is_refused_with_the_nearest_and_all() {
    points_at(
        "cue = \"go\"",
        "cue = \"goo\"",
        "\"goo\"",
        "is called `goo`",
        "did you mean `go`?",
    );
}

#[test]
fn two_cues_of_one_name_are_refused() {
    let second = "[[lesson.cue]]\nname = \"go\" # again\nat = 2\nsay = \"Go.\"\n[[lesson.task]]";
    points_at(
        "[[lesson.task]]",
        second,
        "\"go\" # again",
        "called `go` already",
        "its own",
    );
}

#[test]
fn a_gesture_that_cannot_be_understood_is_pointed_at_with_those_that_can() {
    points_at(
        "stop on",
        "stop it",
        "it\"",
        "`it` makes no sense here",
        "`on` or `off`",
    );
    points_at(
        "stop on",
        "throttle to 4 %",
        "throttle to",
        "this gesture",
        "throttle above N %",
    );
}

#[test]
fn a_hint_needs_words_and_a_time_that_still_helps() {
    let alone = "within = 4\nhint = \"h\"";
    points_at(
        "within = 4",
        alone,
        "\"h\"",
        "both its words and its time",
        "hint_after",
    );
    let late = "within = 4\nhint = \"h\"\nhint_after = 4";
    points_at(
        "within = 4",
        late,
        "4\nright",
        "too late to follow it",
        "shorter than `within`",
    );
}

#[test]
fn a_requirement_that_is_not_judged_in_a_run_is_refused() {
    points_at("SR-06", "SR-60", "\"SR-60\"", "SR-60", "SR-06");
}

#[test]
fn objectives_that_are_missing_or_empty_are_refused() {
    points_at(
        "[\"o\"]",
        "[]",
        "[]",
        "from 1 to 6 objectives",
        "one sentence each",
    );
    points_at("[\"o\"]", "[\" \"]", "\" \"", "says nothing", "say what");
}

#[test]
fn no_cue_waits_for_an_action_of_the_script() {
    let waits = "when = \"action 1 is done\"\nsay";
    let remedy = "say it by what can be seen";
    points_at("at = 1\nsay", waits, "\"action 1", "in a lesson", remedy);
}

#[test]
fn a_fault_of_a_lesson_waits_for_no_action() {
    let fault = "[[action]]\nat = 1\ndo = \"stop on\"\n[[fault]]\n\
        when = \"action 1 is done\"\ntarget = \"mechanics.main-weld\"\n";
    let remedy = "say it by what can be seen";
    refused(
        &format!("{HEAD}{fault}{LESSON}"),
        "\"action 1",
        "in a lesson",
        remedy,
    );
    Scenario::parse("good.toml", &format!("{HEAD}{fault}")).expect("no lesson, no rule");
}

#[test]
fn surroundings_of_a_lesson_wait_for_no_action_and_its_own_hands_may() {
    let action = |deed: &str| {
        format!(
            "[[action]]\nat = 1\ndo = \"stop on\"\n[[action]]\nwhen = \"action 1 is done\"\n\
             do = \"{deed}\"\n"
        )
    };
    Scenario::parse(
        "good.toml",
        &format!("{HEAD}{}{LESSON}", action("stop off")),
    )
    .expect("its own hands may wait");
    let text = format!("{HEAD}{}{LESSON}", action("power off for 1 s"));
    refused(
        &text,
        "\"action 1",
        "in a lesson",
        "say it by what can be seen",
    );
}

#[test]
fn too_many_of_a_kind_are_refused() {
    let captions = "[[lesson.caption]]\nat = 1\nsay = \"s\"\n".repeat(33);
    refused(
        &format!("{HEAD}{LESSON}{captions}"),
        "\"s\"",
        "more than 32 captions",
        "in two",
    );
}
