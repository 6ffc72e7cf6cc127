//! The page of the fault matrix, in a browser: that it is whole in itself, shows what the
//! table holds, can be used by keyboard, and that its commands fly the cells again. The
//! report of a flight stands beside it.

#[path = "page/browser.rs"]
mod browser;
#[path = "page/flight.rs"]
mod flight;

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::Command;

use browser::{Browser, DOWN, ENTER, ESCAPE, HOME, LEFT, RIGHT};
use serde_json::Value;

const OUTCOMES: [&str; 5] = ["harm", "broken", "detected", "undetected", "no-effect"];

/// What `mastwright` prints with these words after its name, in this very build.
fn mastwright(words: &[&str]) -> String {
    let run = ["run", "--quiet", "--locked", "-p", "mastwright-sim", "--"];
    let done = Command::new(env!("CARGO"))
        .args(run)
        .args(words)
        .output()
        .expect("cargo runs");
    let code = done.status.code();
    assert!(
        matches!(code, Some(0 | 1)),
        "mastwright {words:?}: {code:?} {}",
        String::from_utf8_lossy(&done.stderr)
    );
    String::from_utf8(done.stdout).expect("text")
}

fn directory(name: &str) -> PathBuf {
    let path = std::env::temp_dir().join(format!("mastwright-{name}-{}", std::process::id()));
    let _ = std::fs::remove_dir_all(&path);
    std::fs::create_dir_all(&path).expect("a directory for temporary files");
    path
}

/// One line of the table: column by name.
type Line = BTreeMap<String, String>;

fn lines(table: &Path) -> Vec<Line> {
    let mut reader = csv::ReaderBuilder::new()
        .comment(Some(b'#'))
        .from_path(table)
        .expect("a table");
    reader
        .deserialize()
        .map(|line| line.expect("a line"))
        .collect()
}

/// Counts by outcome of each target and phase.
type Fields = BTreeMap<(String, String), [u64; 5]>;

fn expected<'a>(lines: impl IntoIterator<Item = &'a Line>) -> Fields {
    let mut fields = Fields::new();
    for line in lines {
        let place = (line["target"].clone(), line["phase"].clone());
        let outcome = OUTCOMES.iter().position(|name| *name == line["outcome"]);
        fields.entry(place).or_default()[outcome.expect("an outcome")] += 1;
    }
    fields
}

/// The fields that the page shows and that are not empty, by what a reader of the screen
/// is told: family and row header, column header, text.
fn shown(browser: &Browser) -> Fields {
    let rows = browser.run(
        "const grid = document.getElementById('grid');
         const heads = [...grid.tHead.rows[0].cells].map(cell => cell.textContent);
         return [...grid.tBodies].filter(body => !body.hidden).flatMap(body =>
           [...body.rows].slice(1).filter(row => !row.hidden).flatMap(row =>
             [...row.cells].slice(1).map((field, at) => [
               body.dataset.family, row.cells[0].textContent, heads[at + 1],
               field.querySelector('.sr').textContent])));",
    );
    let mut fields = Fields::new();
    for row in rows.as_array().expect("rows") {
        let text = |at: usize| row[at].as_str().expect("text");
        let (family, own) = (text(0), text(1));
        // A heat detector is a sensor with a name of its own.
        let target = if family == own || own.starts_with("detector.") {
            own.to_owned()
        } else {
            format!("{family}.{own}")
        };
        if text(3) == "no cells" {
            continue;
        }
        let field = fields.entry((target, text(2).to_owned())).or_default();
        let counts = text(3).split_once("; ").expect("counts").1;
        let (counts, all) = counts.rsplit_once(" of ").expect("a sum");
        for count in counts.split(", ") {
            let (name, n) = count.rsplit_once(' ').expect("name and number");
            let place = OUTCOMES.iter().position(|outcome| *outcome == name);
            field[place.expect("an outcome")] = n.parse().expect("a number");
        }
        let all: u64 = all.trim_end_matches(" cells").parse().expect("a number");
        assert_eq!(field.iter().sum::<u64>(), all, "{row}");
    }
    fields
}

fn says_count(browser: &Browser, left: usize, all: usize) {
    let told = browser.text("return document.getElementById('count').textContent");
    assert_eq!(told, format!("{left} of {all} cells"));
}

fn filter(browser: &Browser, text: &str) {
    browser.run(&format!(
        "const field = document.getElementById('fault');
         field.value = '{text}';
         field.dispatchEvent(new Event('input', {{ bubbles: true }}));"
    ));
}

fn show_all(browser: &Browser) {
    browser.run("document.querySelector('button[type=reset]').click()");
    // The form is put back first, then the page counts again.
    for _ in 0..100 {
        let count = browser.text("return document.getElementById('count').textContent");
        let (left, all) = count.split_once(" of ").expect("a count");
        if all.starts_with(left) {
            return;
        }
        std::thread::sleep(std::time::Duration::from_millis(20));
    }
    panic!("the filter does not go away");
}

#[test]
#[ignore = "needs Chromium and its driver; .ci/run runs it"]
fn the_page_shows_the_table_asks_for_nothing_and_its_commands_fly_the_cells() {
    if !browser::is_there() {
        return;
    }
    let directory = directory("matrix");
    let (table, page) = (directory.join("table.csv"), directory.join("page.html"));
    let (to, file) = (table.display().to_string(), page.display().to_string());
    // A mission on the ground with every state of deploying and stowing, under every fault.
    let only = ["matrix", "--only", "ground-cycle@"];
    mastwright(&[&only[..], &["--out", &to, "--page", &file]].concat());
    let again = directory.join("again.html");
    mastwright(&["matrix", "page", &to, "-o", &again.display().to_string()]);
    let bytes = std::fs::read(&page).expect("a page");
    assert!(
        bytes == std::fs::read(&again).expect("a page"),
        "the page of the table differs from the page of the run"
    );

    let lines = lines(&table);
    assert!(
        lines.len() > 500,
        "{} cells are too few to show much",
        lines.len()
    );
    let browser = Browser::start(&directory);
    browser.empty();
    browser.open(&page);
    counts_are_those_of_the_table(&browser, &lines);
    filters_count_again(&browser, &lines);
    families_fold(&browser);
    let command = a_field_opens_by_keyboard(&browser, &lines);
    flies_again(&command, &lines);
    margins_are_sorted(&browser, &lines);
    nothing_was_asked_for_and_nothing_went_wrong(&browser, &page);
    the_network_is_forbidden_and_the_log_tells(&browser);
    drop(browser);
    std::fs::remove_dir_all(&directory).expect("removed");
}

fn counts_are_those_of_the_table(browser: &Browser, lines: &[Line]) {
    says_count(browser, lines.len(), lines.len());
    assert_eq!(shown(browser), expected(lines));
    let cards = browser
        .run("return [...document.querySelectorAll('.cards b')].map(b => Number(b.textContent))");
    let count = |outcome: &str| {
        lines
            .iter()
            .filter(|line| line["outcome"] == outcome)
            .count()
    };
    let counts: Vec<usize> = std::iter::once(lines.len())
        .chain(OUTCOMES.map(count))
        .collect();
    assert_eq!(cards, serde_json::json!(counts));
    let caution = browser.text("return document.body.firstElementChild.textContent");
    assert!(
        caution.contains("not certified, not airworthy"),
        "{caution}"
    );
}

fn filters_count_again(browser: &Browser, lines: &[Line]) {
    filter(browser, "Mast-Jam/");
    let left: Vec<&Line> = lines
        .iter()
        .filter(|line| line["cell"].contains("/mechanics.mast-jam/"))
        .collect();
    says_count(browser, left.len(), lines.len());
    assert!(!left.is_empty() && left.len() < lines.len());
    assert_eq!(shown(browser), expected(left.iter().copied()));

    browser.run("document.querySelector('[name=outcome][value=\"4\"]').click()");
    let effect = |line: &&&Line| line["outcome"] != "no-effect";
    let left: Vec<&Line> = left.iter().filter(effect).copied().collect();
    says_count(browser, left.len(), lines.len());
    assert_eq!(shown(browser), expected(left.iter().copied()));

    browser.run(
        "const phase = document.getElementById('phase');
         phase.selectedIndex = [...phase.options].findIndex(o => o.text === 'StowMast');
         phase.dispatchEvent(new Event('input', { bubbles: true }));",
    );
    let left: Vec<&Line> = left
        .into_iter()
        .filter(|line| line["phase"] == "StowMast")
        .collect();
    assert_eq!(shown(browser), expected(left.iter().copied()));
    show_all(browser);
    assert_eq!(shown(browser), expected(lines));
}

fn families_fold(browser: &Browser) {
    let rows = || {
        let rows = "return [...document.querySelectorAll('#grid tbody tr')]\
                    .filter(row => row.getClientRects().length).length";
        browser.run(rows).as_u64().expect("a number")
    };
    let first = "const first = document.querySelector('#grid tbody');";
    let of_first = browser.run(&format!("{first} return first.rows.length - 1"));
    let before = rows();
    browser.run("document.querySelector('#grid tbody button').focus()");
    browser.press(&[ENTER]);
    assert_eq!(
        Some(before - rows()),
        of_first.as_u64(),
        "its rows are gone"
    );
    let expanded = format!("{first} return first.querySelector('button').ariaExpanded");
    assert_eq!(browser.text(&expanded), "false");
    browser.press(&[ENTER]);
    assert_eq!(rows(), before);
    browser.run("document.getElementById('fold').click()");
    let families = browser.run("return document.querySelectorAll('#grid tbody').length");
    assert_eq!(Some(rows()), families.as_u64(), "only families are left");
    browser.run("document.getElementById('fold').click()");
    assert_eq!(rows(), before);
}

/// Goes to a field by arrow keys, opens it, and reads what it lists; a command of it.
fn a_field_opens_by_keyboard(browser: &Browser, lines: &[Line]) -> String {
    browser.run("document.querySelector('#grid [tabindex=\"0\"]').focus()");
    browser.press(&[HOME, DOWN, RIGHT, RIGHT, RIGHT, LEFT]);
    let at = browser.run(
        "const field = document.activeElement;
         return [field.parentNode.rowIndex, field.cellIndex,
                 field.parentNode.cells[0].textContent,
                 document.getElementById('grid').rows[0].cells[field.cellIndex].textContent,
                 document.querySelectorAll('#grid [tabindex=\"0\"]').length]",
    );
    assert_eq!((&at[0], &at[1]), (&Value::from(2), &Value::from(2)), "{at}");
    assert_eq!(at[4], 1, "one stop of the tabulator in the whole map");
    let target = format!("sensor.{}", at[2].as_str().expect("a name"));
    let phase = at[3].as_str().expect("a phase");
    browser.press(&[ENTER]);
    assert_eq!(
        browser.run("return document.getElementById('cells').open"),
        true
    );
    let heading = browser.text("return document.getElementById('cells-h').textContent");
    assert_eq!(heading, format!("{target}, in {phase}"));
    let listed = browser
        .run("return [...document.querySelectorAll('#list code')].map(code => code.textContent)");
    let mut listed: Vec<&str> = listed
        .as_array()
        .expect("commands")
        .iter()
        .map(|command| command.as_str().expect("text"))
        .collect();
    let first = listed.first().copied().expect("a cell").to_owned();
    let of_field = |line: &&Line| line["target"] == target && line["phase"] == phase;
    let mut cells: Vec<String> = lines
        .iter()
        .filter(of_field)
        .map(|line| format!("mastwright matrix --cell {}", line["cell"]))
        .collect();
    listed.sort_unstable();
    cells.sort_unstable();
    assert_eq!(listed, cells);
    browser.press(&[ESCAPE]);
    assert_eq!(
        browser.run("return document.getElementById('cells').open"),
        false
    );
    let back = browser.run("return document.activeElement.cellIndex");
    assert_eq!(back, 2, "the focus is back at the field");
    first
}

/// Runs the command as it stands and compares every column with the table's.
fn flies_again(command: &str, lines: &[Line]) {
    let mut words = command.split(' ');
    assert_eq!(words.next(), Some("mastwright"));
    let words: Vec<&str> = words.collect();
    let told = mastwright(&words);
    let name = words.last().expect("a cell");
    let line = lines
        .iter()
        .find(|line| line["cell"] == *name)
        .expect("of the table");
    let (_, columns) = told.split_once("This cell\n").expect("the cell's columns");
    let columns: BTreeMap<&str, &str> = columns
        .lines()
        .filter_map(|line| line.trim().split_once(' '))
        .map(|(column, value)| (column, value.trim()))
        .collect();
    for column in [
        "cell",
        "outcome",
        "hazards",
        "requirements",
        "detected_by",
        "final_state",
    ] {
        let found = columns.get(column).copied().unwrap_or_default();
        assert_eq!(found, line[column], "{column} of {name}");
    }
}

fn margins_are_sorted(browser: &Browser, lines: &[Line]) {
    let shown = browser.run(
        "return [...document.querySelectorAll('#least tbody tr')]
           .map(row => Math.round(100 * Number(row.cells[0].textContent)))",
    );
    let ticks = |text: &str| -> Option<i64> { text.replace('.', "").parse().ok() };
    let margin =
        |line: &Line| Some(ticks(&line["frozen_harm_after"])? - ticks(&line["reacted_after"])?);
    let mut margins: Vec<i64> = lines.iter().filter_map(margin).collect();
    margins.sort_unstable();
    assert!(!margins.is_empty());
    let told = browser.text("return document.getElementById('margin-count').textContent");
    assert_eq!(told, format!("{} cells with a margin", margins.len()));
    margins.truncate(50);
    assert_eq!(shown, serde_json::json!(margins));
    let drawn = browser.run("return document.querySelectorAll('#worst svg').length");
    assert!(
        drawn.as_u64().is_some_and(|drawn| drawn > 0),
        "no worst cell is drawn"
    );
}

/// The addresses asked for since this was last looked at.
fn asked(browser: &Browser) -> Vec<String> {
    let messages = browser.log("performance").into_iter().map(|entry| {
        let text = entry["message"].as_str().expect("a message");
        serde_json::from_str::<Value>(text).expect("JSON")["message"].take()
    });
    messages
        .filter(|message| message["method"] == "Network.requestWillBeSent")
        .map(|message| {
            let url = message["params"]["request"]["url"].as_str();
            url.expect("an address").to_owned()
        })
        .collect()
}

fn nothing_was_asked_for_and_nothing_went_wrong(browser: &Browser, page: &Path) {
    assert_eq!(browser.log("browser"), Vec::<Value>::new());
    let mut asked = asked(browser);
    asked.retain(|url| !url.starts_with("data:"));
    assert_eq!(asked, [format!("file://{}", page.display())]);
}

/// Shows that a fault of the page would be seen, and that the page forbids the network.
fn the_network_is_forbidden_and_the_log_tells(browser: &Browser) {
    browser.run("return fetch('http://127.0.0.1:9/').catch(() => 'refused')");
    let told = browser.log("browser");
    let refused = told.iter().any(|entry| {
        let message = entry["message"].as_str();
        message.is_some_and(|message| message.contains("Content Security Policy"))
    });
    assert!(refused, "{told:?}");
    assert_eq!(
        asked(browser),
        Vec::<String>::new(),
        "refused before it is sent"
    );
}
