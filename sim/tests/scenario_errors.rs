//! What is wrong with a scenario is shown with its place and a remedy.

use mastwright_sim::scenario::Scenario;
use mastwright_sim::scenario::problem::Problem;

const HEAD: &str = "title = \"t\"\nbriefing = \"Invented.\"\nlength = 60\n";

fn refused(body: &str) -> (Problem, String) {
    let text = format!("{HEAD}{body}");
    let problem = Scenario::parse("wrong.toml", &text).expect_err(body);
    (problem, text)
}

/// Checks that `body` is refused at `place` with `message` and a remedy with `remedy`.
#[track_caller]
fn points_at(body: &str, place: &str, message: &str, remedy: &str) {
    let (problem, text) = refused(body);
    let at = &text[problem.offset()..];
    assert!(
        at.starts_with(place),
        "{problem}: points at {at:?}, not at {place:?}"
    );
    assert!(problem.to_string().contains(message), "{problem}");
    assert!(problem.remedy().contains(remedy), "{}", problem.remedy());
}

#[test]
fn a_misspelt_key_is_refused_with_the_one_meant() {
    points_at(
        "sed = 3\n",
        "sed",
        "`sed` is not a key",
        "did you mean `seed`?",
    );
    points_at(
        "[start]\nhieght = 3\n",
        "hieght",
        "`hieght` is not a key",
        "did you mean `height`?",
    );
    points_at(
        "[[action]]\nat = 1\ndo = \"stop on\"\nuntil = 3\n",
        "until",
        "`until` is not a key",
        "known are: at, when, after, do",
    );
}

#[test]
fn a_moment_that_cannot_be_understood_is_pointed_at_inside_its_sentence() {
    points_at(
        "[[action]]\nwhen = \"mast passes 40 V while stowing\"\ndo = \"stop on\"\n",
        "V while",
        "`V` makes no sense here",
        "expected `%`",
    );
    points_at(
        "[[fault]]\nwhen = \"state is Flying\"\ntarget = \"sensor.airspeed\"\nkind = \"stuck\"\n",
        "Flying\"",
        "this moment cannot be understood",
        "StowMast",
    );
    points_at(
        "[[action]]\nwhen = \"mast <\"\ndo = \"stop on\"\n",
        "\"\ndo",
        "it ends too early",
        "expected a number",
    );
}

#[test]
fn an_action_that_cannot_be_understood_is_pointed_at() {
    points_at(
        "[[action]]\nat = 1\ndo = \"throttle to 120 %\"\n",
        "120",
        "`120` makes no sense here",
        "from 0 to 100 %",
    );
}

#[test]
fn a_time_that_cannot_be_is_refused() {
    points_at(
        "[[action]]\nat = -1.0\ndo = \"stop on\"\n",
        "-1.0",
        "`at` is -1",
        "from 0",
    );
    points_at(
        "[[action]]\nat = 60\ndo = \"stop on\"\n",
        "60\ndo",
        "after the scenario",
        "longer",
    );
    points_at(
        "[[action]]\nat = 1\nafter = nan\ndo = \"stop on\"\n",
        "nan",
        "`after` is NaN",
        "from 0",
    );
    points_at(
        "[[action]]\ndo = \"stop on\"\n",
        "\"stop on\"",
        "nothing says when",
        "add `at",
    );
    points_at(
        "[[action]]\nat = 1\nwhen = \"stowing\"\ndo = \"stop on\"\n",
        "\"stowing\"",
        "both `at` and `when`",
        "one of them",
    );
}

#[test]
fn waiting_for_an_action_that_is_not_there_is_refused() {
    points_at(
        "[[action]]\nwhen = \"action 2 is done\"\ndo = \"stop on\"\n",
        "\"action 2",
        "there is no action 2",
        "count the [[action]] tables",
    );
}

#[test]
fn a_setting_is_refused_by_name_with_its_range() {
    points_at(
        "[settings]\nprecharge_share = 700\n",
        "700",
        "`precharge_share` is 700 permille",
        "from 900 to 990 permille",
    );
    points_at(
        "[settings]\nprecharge_shar = 950\n",
        "precharge_shar",
        "is not a setting",
        "did you mean `precharge_share`?",
    );
    points_at(
        "[settings]\npark_window = 800\nhold_capture = 700\n",
        "[settings]",
        "park_window must not exceed hold_capture",
        "change one",
    );
}

#[test]
fn an_expectation_of_something_unknown_is_refused() {
    points_at(
        "[expect]\nends_in = [\"Stoved\"]\n",
        "\"Stoved\"",
        "no state",
        "`Stowed`",
    );
    points_at(
        "[expect]\nraises = [\"MotorHott\"]\n",
        "\"MotorHott\"",
        "no fault",
        "`MotorHot`",
    );
    points_at(
        "[expect]\nhalt = \"Parked\"\n",
        "\"Parked\"",
        "no halt reason",
        "`NotParked`",
    );
    points_at(
        "[expect]\nexercises = [\"SR-99\"]\n",
        "\"SR-99\"",
        "no requirement",
        "SR-06",
    );
}

#[test]
fn expectations_that_contradict_each_other_are_refused() {
    points_at(
        "[expect]\nraises = [\"MotorHot\"]\nnever_raises = [\"MotorHot\"]\n",
        "\"MotorHot\"]\n",
        "both expected and forbidden",
        "take it out",
    );
    points_at(
        "[expect]\nends_in = [\"Stowed\"]\nhalt = \"Doors\"\n",
        "\"Doors\"",
        "`ends_in` does not allow it",
        "leave `ends_in` out",
    );
}

#[test]
fn a_start_that_cannot_be_is_refused() {
    points_at(
        "[start]\nmast = 40\ndoors = \"shut\"\n",
        "\"shut\"",
        "doors that are not open",
        "leave `doors` out",
    );
    points_at("[start]\nheight = 300\n", "300", "would fall", "`airspeed`");
    points_at(
        "[start]\nmast = \"half\"\n",
        "\"half\"",
        "half",
        "docs/scenario-format.md",
    );
    points_at(
        "[start]\ncharge = [95, 120]\n",
        "[95",
        "0 to 100 %",
        "in percent",
    );
    points_at(
        "[start]\nairspeed = 200\n",
        "200",
        "`airspeed` is 200",
        "0 to 80 m/s",
    );
}

#[test]
fn what_is_not_toml_or_not_whole_is_refused() {
    points_at("[start\n", "\n", "", "TOML");
    let problem = Scenario::parse("wrong.toml", "title = \"t\"\n").expect_err("no briefing");
    assert!(
        problem.to_string().contains("missing field `briefing`"),
        "{problem}"
    );
    let problem = Scenario::parse("wrong.toml", "").expect_err("an empty file");
    assert!(
        problem.to_string().contains("missing field `title`"),
        "{problem}"
    );
    points_at("seed = -4\n", "-4", "cannot be negative", "whole number");
}

#[test]
fn sixty_four_actions_are_accepted_and_one_more_is_refused() {
    let action = "[[action]]\nat = 1\ndo = \"stop on\"\n";
    let most = format!("{HEAD}{}", action.repeat(64));
    assert_eq!(
        Scenario::parse("most.toml", &most)
            .expect("64 actions")
            .actions
            .len(),
        64
    );
    points_at(
        &action.repeat(65),
        "\"stop on\"",
        "more than 64 actions",
        "split",
    );
}

#[test]
fn a_change_of_the_aircraft_that_cannot_be_is_refused() {
    points_at(
        "[plant.aircraft]\nmass = 9000.0\n",
        "9000.0",
        "aircraft.mass is 9000",
        "from 100 to 2000 kg",
    );
    points_at(
        "[plant.aircraft]\nwings = 3\n",
        "wings",
        "`wings` is not a key",
        "mass",
    );
    points_at(
        "[plant.initial]\nmast = 1.0\n",
        "[plant.initial]",
        "not set",
        "[start]",
    );
}
