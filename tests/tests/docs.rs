//! The documents say what the program does: generated pages, transcripts, links.

use std::fs;
use std::path::{Path, PathBuf};

use mastwright_sim::diagram;
use mastwright_sim::flight::Flight;
use mastwright_sim::join;
use mastwright_sim::lesson::debrief::Debrief;
use mastwright_sim::lesson::progress::Progress;
use mastwright_sim::lesson::{self, Lesson, Whose};
use mastwright_sim::permits;
use mastwright_sim::report::paint::Paint;
use mastwright_sim::report::{self, text};
use mastwright_sim::scenario::Scenario;
use mastwright_sim::scenario::shipped::{SHIPPED, Shipped};

/// Stands in a transcript where lines are left out.
const LEFT_OUT: &str = "[...]";

fn top() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

fn read(name: &str) -> String {
    let path = top().join(name);
    fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

/// Every document, by its path from the top.
fn documents() -> Vec<String> {
    let pages = fs::read_dir(top().join("docs")).expect("the documents");
    let mut names: Vec<String> = pages
        .map(|page| page.expect("an entry").file_name())
        .filter_map(|name| name.into_string().ok())
        .filter(|name| name.ends_with(".md"))
        .map(|name| format!("docs/{name}"))
        .collect();
    names.extend(["README.md".to_owned(), "DEVELOPERS.md".to_owned()]);
    names.sort();
    names
}

#[test]
fn the_page_of_states_is_made_from_the_controllers_own_table() {
    assert_eq!(
        read("docs/states.md"),
        diagram::page(),
        "renew it: cargo run --release -- list states --page > docs/states.md"
    );
}

#[test]
fn the_page_of_permissions_is_made_from_the_controllers_own_predicates() {
    assert_eq!(
        read("docs/permits.md"),
        permits::page::whole(),
        "renew it: cargo run --release -- permits --page > docs/permits.md"
    );
}

#[test]
fn every_shipped_scenario_stands_in_the_user_guide() {
    let guide = read("docs/running.md");
    for shipped in SHIPPED {
        let link = format!("[{0}](scenarios/{0}.toml)", shipped.name);
        assert!(guide.contains(&link), "docs/running.md lacks {link}");
    }
}

#[test]
fn every_shipped_lesson_stands_in_the_trainers_guide_with_its_level() {
    let guide = read("docs/trainer-guide.md");
    for lesson in lesson::shipped().expect("shipped lessons") {
        let shipped = Shipped::named(lesson.name()).expect("a shipped lesson");
        let path = shipped.file();
        let link = path.strip_prefix("docs/").expect("a document");
        let row = format!(
            "| [{}]({link}) | {} |",
            lesson.name(),
            lesson.section().level
        );
        assert!(guide.contains(&row), "docs/trainer-guide.md lacks {row}");
    }
}

/// What `mastwright run` prints of a shipped scenario.
fn printed(shipped: &Shipped) -> String {
    let scenario = Scenario::parse(&shipped.file(), shipped.text).expect("a shipped scenario");
    let mut out = Vec::new();
    let paint = Paint::default();
    text::heading(&mut out, &scenario, scenario.seed, paint).expect("memory can be written");
    let mut flight = join::take_off(&scenario, scenario.seed);
    let report = report::fly(&scenario, scenario.seed, "", &mut flight, |entry| {
        text::entry(&mut out, entry, paint).expect("memory can be written");
    });
    text::conclusion(&mut out, &report, paint).expect("memory can be written");
    String::from_utf8(out).expect("text")
}

/// The blocks of `document` that show a command and what it prints.
fn transcripts(document: &str) -> Vec<(&'static Shipped, Vec<&str>)> {
    let blocks = document.split("```text\n$ ").skip(1);
    blocks
        .map(|block| {
            let block = block.split("\n```").next().expect("a block");
            let (command, lines) = block.split_once('\n').expect("a command and its lines");
            let shipped = match command.split_once(" run ").map(|(_, rest)| rest) {
                None | Some("--release") => &SHIPPED[0],
                Some(rest) => rest
                    .split_whitespace()
                    .last()
                    .and_then(Shipped::named)
                    .unwrap_or_else(|| panic!("`{command}` runs no shipped scenario")),
            };
            (shipped, lines.lines().collect())
        })
        .collect()
}

/// The first line of `shown` that the program does not print there: after the line
/// before it, at once unless the mark says that lines are left out.
fn untrue<'a>(shown: &[&'a str], printed: &str) -> Option<&'a str> {
    let mut rest = printed.lines();
    let mut gap = true;
    for line in shown {
        if line.trim() == LEFT_OUT {
            gap = true;
            continue;
        }
        let found = if gap {
            rest.any(|printed| printed == *line)
        } else {
            rest.next() == Some(line)
        };
        if !found {
            return Some(line);
        }
        gap = false;
    }
    None
}

#[test]
fn the_transcripts_show_what_the_program_prints() {
    for name in ["README.md", "docs/running.md"] {
        let document = read(name);
        let transcripts = transcripts(&document);
        assert!(!transcripts.is_empty(), "{name} shows no run");
        for (shipped, shown) in transcripts {
            assert!(shown.len() > 10, "{name} shows next to nothing of a run");
            let printed = printed(shipped);
            if let Some(line) = untrue(&shown, &printed) {
                panic!(
                    "{name}, run of {}: not printed there: {line:?}",
                    shipped.name
                );
            }
        }
    }
}

#[test]
fn a_line_left_out_without_a_mark_or_out_of_order_is_found() {
    let printed = "one\ntwo\nthree\n";
    assert_eq!(untrue(&["one", "two"], printed), None);
    assert_eq!(untrue(&["one", LEFT_OUT, "three"], printed), None);
    assert_eq!(untrue(&["one", "three"], printed), Some("three"));
    assert_eq!(untrue(&["two", LEFT_OUT, "one"], printed), Some("one"));
}

#[test]
fn the_example_of_the_scenario_format_ends_as_it_expects() {
    let document = read("docs/scenario-format.md");
    let example = document.split("```toml\n").nth(1).expect("an example");
    let example = example.split("```").next().expect("its end");
    let scenario = Scenario::parse("example.toml", example)
        .unwrap_or_else(|problem| panic!("the example is refused: {problem}"));
    let mut flight = join::take_off(&scenario, scenario.seed);
    let report = report::fly(&scenario, scenario.seed, "", &mut flight, |_| {});
    assert!(report.good, "{:#?}", report.expectations);
    assert!(report.never_began.is_empty(), "{:?}", report.never_began);
    assert!(!report.expectations.is_empty());
}

#[test]
fn the_example_of_the_lesson_format_does_all_it_teaches_in_time() {
    let document = read("docs/lesson-format.md");
    let example = document.split("```toml\n").nth(1).expect("an example");
    let example = example.split("```").next().expect("its end");
    let scenario = Scenario::parse("example.toml", example)
        .unwrap_or_else(|problem| panic!("the example is refused: {problem}"));
    let lesson = Lesson::of(scenario).expect("a lesson");
    let scenario = lesson.scenario(Whose::Demonstration);
    let mut flight = join::take_off(&scenario, scenario.seed);
    let mut progress = Progress::new(&lesson);
    for _ in 0..scenario.ticks {
        flight.step();
        progress.observe(flight.frame(), flight.begun());
    }
    let debrief = Debrief::new(&progress, &flight.verdict(), flight.frame(), 1);
    let score = debrief.score;
    assert_eq!(
        (score.in_time, score.otherwise),
        (score.expected, 0),
        "{debrief:#?}"
    );
    let json = serde_json::to_value(&debrief).expect("a document");
    for field in json.as_object().expect("fields").keys() {
        assert!(
            document.contains(&format!("`{field}`")),
            "{field} is not described"
        );
    }
    for field in json["score"].as_object().expect("counts").keys() {
        assert!(
            document.contains(&format!("`{field}`")),
            "{field} is not described"
        );
    }
}

/// The text outside fenced blocks.
fn prose(document: &str) -> String {
    document.split("```").step_by(2).collect()
}

/// The places that the relative links of `document` name.
fn links(document: &str) -> Vec<String> {
    let prose = prose(document);
    prose
        .split("](")
        .skip(1)
        .filter_map(|rest| rest.split_once(')'))
        .map(|(target, _)| target.to_owned())
        .filter(|target| !target.contains("://"))
        .collect()
}

/// The names under which the headings of `document` can be linked.
fn headings(document: &str) -> Vec<String> {
    let prose = prose(document);
    prose
        .lines()
        .filter_map(|line| {
            line.trim_start_matches('#')
                .strip_prefix(' ')
                .filter(|_| line.starts_with('#'))
        })
        .map(|heading| {
            heading
                .to_lowercase()
                .chars()
                .filter(|c| c.is_alphanumeric() || " -_".contains(*c))
                .map(|c| if c == ' ' { '-' } else { c })
                .collect()
        })
        .collect()
}

#[test]
fn every_relative_link_leads_somewhere() {
    let mut followed = 0;
    for name in documents() {
        let document = read(&name);
        for link in links(&document) {
            let (file, heading) = link.split_once('#').unwrap_or((&link, ""));
            let here = top().join(&name);
            let target = if file.is_empty() {
                here
            } else {
                here.with_file_name(file)
            };
            assert!(target.exists(), "{name}: {link} leads nowhere");
            if !heading.is_empty() {
                let there = fs::read_to_string(&target).expect("a document");
                assert!(
                    headings(&there).iter().any(|known| known == heading),
                    "{name}: {link} names no heading"
                );
            }
            followed += 1;
        }
    }
    assert!(followed > SHIPPED.len(), "only {followed} links were found");
}

#[test]
fn a_heading_is_linked_by_its_words_in_small_letters() {
    let document = "# One\n```\n# not this\n```\n## `[start]`: what, then\n";
    assert_eq!(headings(document), ["one", "start-what-then"]);
}

#[test]
fn the_code_of_the_guide_is_that_of_the_example_which_is_compiled() {
    let guide = read("docs/bring-your-own-board.md");
    let example = read("tests/target/src/bin/example.rs");
    let blocks: Vec<&str> = guide
        .split("```rust\n")
        .skip(1)
        .filter_map(|block| block.split("```").next())
        .collect();
    assert!(blocks.len() > 3, "the guide shows no code");
    for block in blocks {
        assert!(example.contains(block), "not in the example:\n{block}");
    }
}
