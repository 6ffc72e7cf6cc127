//! The report of a flight, in a browser: that it is whole in itself and shows what the
//! flight shows, on paper, on a phone and to a screen reader.

use std::path::Path;

use serde_json::{Value, json};

use super::browser::{self, Browser};
use super::{directory, mastwright, nothing_was_asked_for_and_nothing_went_wrong};

/// Least contrast of text, from WCAG 2.2, success criterion 1.4.3 (from memory).
const CONTRAST: f64 = 4.5;

#[test]
#[ignore = "needs Chromium and its driver; .ci/run runs it"]
fn the_report_tells_the_flight_and_can_be_read_printed_and_heard() {
    if !browser::is_there() {
        return;
    }
    let directory = directory("report");
    let (trace, page) = (directory.join("flight.mwt"), directory.join("flight.html"));
    let file = trace.display().to_string();
    let flight = ["run", "parking-sensor-fails", "--json", "--record", &file];
    let told: Value = serde_json::from_str(&mastwright(&flight)).expect("JSON");
    mastwright(&["report", &file]);
    let first = std::fs::read(&page).expect("a page");
    mastwright(&["report", &file]);
    let again = std::fs::read(&page).expect("a page");
    assert!(first == again, "the same trace gives the same page");

    let browser = Browser::start(&directory);
    browser.empty();
    browser.open(&page);
    it_tells_what_the_run_told(&browser, &told);
    it_explains_the_halt(&browser, &file);
    a_screen_reader_finds_its_way(&browser);
    no_script_is_needed(&browser);
    text_stands_out(&browser, "light");
    text_stands_out(&browser, "dark");
    it_fits_a_phone(&browser);
    it_can_be_printed(&browser);
    nothing_was_asked_for_and_nothing_went_wrong(&browser, &page);
    drop(browser);
    remove(&directory);
}

fn remove(directory: &Path) {
    std::fs::remove_dir_all(directory).expect("removed");
}

/// The texts of the cells of a table, row by row.
fn rows(browser: &Browser, table: &str) -> Vec<Vec<String>> {
    let rows = browser.run(&format!(
        "return [...document.querySelectorAll('{table} tbody tr')]
           .map(row => [...row.cells].map(cell => cell.textContent))"
    ));
    serde_json::from_value(rows).expect("rows of texts")
}

fn it_tells_what_the_run_told(browser: &Browser, told: &Value) {
    let entries = told["timeline"].as_array().expect("a timeline");
    let shown = rows(browser, "table.course");
    assert!(entries.len() > 20);
    assert_eq!(shown.len(), entries.len());
    for (row, entry) in shown.iter().zip(entries) {
        let time = entry["time"].as_f64().expect("a time");
        assert_eq!(row[0], format!("{time:.2}"));
        assert_eq!(row[3], entry["text"].as_str().expect("text"), "{row:?}");
    }
    let judged = rows(browser, "section[aria-labelledby=judged]");
    let verdict = ["hazards", "requirements"].map(|kind| told["verdict"][kind].clone());
    let verdict: Vec<&Value> = verdict
        .iter()
        .flat_map(|rows| rows.as_array().expect("rows"))
        .collect();
    assert_eq!(judged.len(), verdict.len());
    for (row, line) in judged.iter().zip(verdict) {
        let outcome = match line["outcome"].as_str().expect("an outcome") {
            "held" => "held",
            "broken" => "BROKEN",
            "not-exercised" => "not exercised",
            "judged-elsewhere" => "not in flight",
            other => panic!("{other}"),
        };
        let id = line["id"].as_str().expect("an id");
        assert_eq!((row[0].as_str(), row[1].as_str()), (id, outcome));
    }
    let summary = browser.text("return document.querySelector('#summary').parentNode.textContent");
    assert!(summary.contains("answers all"), "{summary}");
    let last = browser.text("return document.querySelector('footer').textContent");
    for caution in [
        browser.text("return document.body.firstElementChild.textContent"),
        last,
    ] {
        assert!(
            caution.contains("not certified, not airworthy"),
            "{caution}"
        );
    }
}

fn it_explains_the_halt(browser: &Browser, file: &str) {
    let explain = ["explain", file, "--why", "halted", "--json"];
    let told: Value = serde_json::from_str(&mastwright(&explain)).expect("JSON");
    let why = browser.text("return document.querySelector('#why').parentNode.textContent");
    for part in [&told["sentence"], &told["what"], &told["state"]] {
        let part = part.as_str().expect("text");
        assert!(why.contains(part), "{part} is not in {why}");
    }
    let needed = rows(browser, "section[aria-labelledby=why]");
    let lacking = needed.iter().filter(|row| row[1] == "NO").count();
    let clauses = told["clauses"].as_array().expect("clauses");
    assert_eq!(needed.len(), clauses.len());
    assert_eq!(
        lacking,
        clauses
            .iter()
            .filter(|clause| clause["holds"] == false)
            .count()
    );
    assert!(lacking > 0, "something was denied");
    let change = &told["otherwise"]["changes"][0]["set"][0]["signal"];
    assert!(why.contains(change.as_str().expect("a reading")), "{why}");
}

/// Headings without a gap, tables with captions and headers, a drawing with words, links
/// that lead somewhere.
fn a_screen_reader_finds_its_way(browser: &Browser) {
    let levels = browser
        .run("return [...document.querySelectorAll('h1,h2,h3,h4')].map(h => Number(h.tagName[1]))");
    let levels: Vec<u64> = serde_json::from_value(levels).expect("numbers");
    assert_eq!(levels.iter().filter(|level| **level == 1).count(), 1);
    assert!(
        levels.windows(2).all(|pair| pair[1] <= pair[0] + 1),
        "{levels:?}"
    );
    let without = browser.run(
        "return [...document.querySelectorAll('table')].filter(table =>
           !table.caption || !table.tHead ||
           [...table.querySelectorAll('th')].some(th => !th.scope)).length",
    );
    assert_eq!(without, 0, "tables without caption or headers");
    let drawing = browser.run(
        "const svg = document.querySelector('svg');
         const ids = svg.getAttribute('aria-labelledby').split(' ');
         return [svg.getAttribute('role'), ...ids.map(id =>
           document.getElementById(id).textContent.length > 20)];",
    );
    assert_eq!(drawing, json!(["img", true, true]));
    let drawn = browser.run(
        "return [...document.querySelectorAll('svg polyline')].filter(line =>
           line.getBoundingClientRect().width > 100).length",
    );
    assert!(
        drawn.as_u64().is_some_and(|drawn| drawn >= 5),
        "{drawn} lines"
    );
    let lost = browser.run(
        "return [...document.querySelectorAll('a[href]')].filter(a =>
           !document.getElementById(a.getAttribute('href').slice(1))).length",
    );
    assert_eq!(lost, 0, "links that lead nowhere");
    let page = "return [document.documentElement.lang, document.title.length > 10,
        document.querySelectorAll('main').length]";
    assert_eq!(browser.run(page), json!(["en", true, 1]));
}

fn no_script_is_needed(browser: &Browser) {
    let scripts = browser.run(
        "return document.querySelectorAll('script, iframe, object, link[rel=stylesheet]').length",
    );
    assert_eq!(scripts, 0);
    let folded = browser.run(
        "return [...document.querySelectorAll('main *')].filter(part =>
           part.hidden || part.tagName === 'DETAILS').length",
    );
    assert_eq!(
        folded, 0,
        "nothing is hidden that a script or a click would show"
    );
}

/// Measures every text against what is behind it.
fn text_stands_out(browser: &Browser, scheme: &str) {
    let features = json!([{"name": "prefers-color-scheme", "value": scheme}]);
    browser.command("Emulation.setEmulatedMedia", &json!({"features": features}));
    let least = browser.run(
        "const parse = text => text.match(/[\\d.]+/g).map(Number);
         const light = rgb => { const [r, g, b] = rgb.slice(0, 3).map(v => {
           v /= 255; return v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4; });
           return 0.2126 * r + 0.7152 * g + 0.0722 * b; };
         const behind = part => { for (; part; part = part.parentElement) {
           const color = parse(getComputedStyle(part).backgroundColor);
           if (color.length === 3 || color[3] > 0) return color; }
           return [255, 255, 255]; };
         let least = [99, ''];
         for (const part of document.querySelectorAll('body *')) {
           const own = [...part.childNodes].some(node => node.nodeType === 3 &&
             node.textContent.trim());
           if (!own || part.closest('svg')) continue;
           const pair = [light(parse(getComputedStyle(part).color)), light(behind(part))];
           const ratio = (Math.max(...pair) + 0.05) / (Math.min(...pair) + 0.05);
           if (ratio < least[0]) least = [ratio, part.outerHTML.slice(0, 80)]; }
         return least;",
    );
    let ratio = least[0].as_f64().expect("a ratio");
    assert!((CONTRAST..21.5).contains(&ratio), "{scheme}: {least}");
    browser.command("Emulation.setEmulatedMedia", &json!({"features": []}));
}

fn it_fits_a_phone(browser: &Browser) {
    let phone = json!({"width": 360, "height": 740, "deviceScaleFactor": 2, "mobile": true});
    browser.command("Emulation.setDeviceMetricsOverride", &phone);
    let widths = browser.run(
        "const scroller = document.querySelector('.scroll');
         return [document.documentElement.scrollWidth, innerWidth,
                 scroller.scrollWidth > scroller.clientWidth]",
    );
    assert_eq!(widths, json!([360, 360, true]), "only the plot is wider");
    browser.command("Emulation.clearDeviceMetricsOverride", &json!({}));
}

fn it_can_be_printed(browser: &Browser) {
    browser.command("Emulation.setEmulatedMedia", &json!({"media": "print"}));
    let hidden = "return [getComputedStyle(document.querySelector('nav')).display,
        getComputedStyle(document.querySelector('table.course')).display]";
    assert_eq!(browser.run(hidden), json!(["none", "table"]));
    browser.command("Emulation.setEmulatedMedia", &json!({"media": ""}));
    assert_eq!(browser.print(), "JVBERi0x", "a PDF");
}
