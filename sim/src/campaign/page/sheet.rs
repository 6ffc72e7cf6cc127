//! The page's template and what is filled into it.

use askama::Template;

use super::file::BEGINNING;
use super::grid::{Block, Count};
use super::timeline::Drawing;
use super::{Heading, Page, Refused, signs};
use crate::campaign::accepted::ACCEPTED;
use crate::campaign::record::{End, Outcome, Record};
use crate::campaign::summary::Faultless;
use crate::faults::Target;
use crate::oracle::{HAZARDS, REQUIREMENTS};
use crate::report::CAUTION;

const STYLE: &str = include_str!("../../../templates/matrix.css");
const SCRIPT: &str = include_str!("../../../templates/matrix.js");

/// An outcome in the summary, the legend and the filter.
struct Kind {
    place: usize,
    letter: char,
    name: &'static str,
    meaning: &'static str,
    cells: u64,
}

/// Accepted harm.
struct Accepted {
    title: String,
    cells: u64,
    reason: &'static str,
    crew: &'static str,
}

/// A phase: its place in the columns of the data, and its name.
struct Phase {
    place: i32,
    name: String,
}

/// What the script reads beside the cells.
#[derive(serde::Serialize)]
struct About<'a> {
    replay: &'a str,
    outcomes: Vec<&'static str>,
    letters: Vec<char>,
    ends: Vec<&'static str>,
    titles: Vec<(&'static str, &'static str)>,
    meanings: Vec<(String, &'static str)>,
    cells: &'a super::Cells,
}

#[derive(Template)]
#[template(path = "matrix.html")]
struct Sheet<'a> {
    beginning: &'static str,
    caution: &'static str,
    style: &'static str,
    script: &'static str,
    replay: &'a str,
    heading: Vec<(&'a str, &'a str)>,
    partial: Option<u64>,
    cells: u64,
    kinds: Vec<Kind>,
    told: u64,
    threatened: u64,
    averted: u64,
    unaccepted: u64,
    missions: usize,
    spurious: &'a [String],
    accepted: Vec<Accepted>,
    phases: Vec<Phase>,
    blocks: Vec<Block>,
    page: &'a Page,
    frozen: String,
    blind: String,
    drawings: Vec<Drawing>,
    data: String,
}

impl Sheet<'_> {
    /// The place of a target in the data.
    fn target(&self, name: &str) -> i32 {
        self.page.cells.target(name).unwrap_or(-1)
    }

    /// The class that colours a field by its worst outcome.
    fn class(count: &Count) -> String {
        count
            .worst()
            .map_or("none".to_owned(), |(place, _)| format!("o{place}"))
    }

    /// The command that flies a cell again.
    fn command(&self, record: &Record) -> String {
        format!("{} {}", self.replay, record.cell)
    }
}

/// Fills the template.
pub(super) fn render(
    page: &Page,
    heading: &Heading,
    faultless: &Faultless,
    drawings: Vec<Drawing>,
) -> Result<String, Refused> {
    let replay = match heading.seed() {
        1 => "mastwright matrix --cell".to_owned(),
        seed => format!("mastwright matrix --seed {seed} --cell"),
    };
    let summary = &page.summary;
    let phases = page.grid.phases();
    let sheet = Sheet {
        beginning: BEGINNING,
        caution: CAUTION,
        style: STYLE,
        script: SCRIPT,
        replay: &replay,
        heading: heading.words(),
        partial: heading
            .planned()
            .filter(|planned| *planned != summary.cells),
        cells: summary.cells,
        kinds: kinds(page),
        told: summary.told,
        threatened: summary.threatened,
        averted: summary.averted,
        unaccepted: summary.unaccepted,
        missions: faultless.missions,
        spurious: &faultless.spurious,
        accepted: accepted(page),
        phases: phases
            .into_iter()
            .map(|name| Phase {
                place: page.cells.phase(&name).unwrap_or(-1),
                name,
            })
            .collect(),
        blocks: page.grid.blocks(),
        frozen: page
            .frozen
            .plot("frozen", "Reaction and harm, outputs frozen at the onset")?,
        blind: page.blind.plot(
            "blind",
            "Reaction and harm, the mission's outputs continued",
        )?,
        drawings,
        data: data(page, &replay),
        page,
    };
    Ok(sheet.render()?)
}

fn kinds(page: &Page) -> Vec<Kind> {
    let kinds = Outcome::ALL.iter().enumerate();
    kinds
        .map(|(place, outcome)| Kind {
            place,
            letter: signs::letter(*outcome),
            name: outcome.name(),
            meaning: signs::meaning(*outcome),
            cells: page.summary.count(*outcome),
        })
        .collect()
}

fn accepted(page: &Page) -> Vec<Accepted> {
    let counts = page
        .summary
        .accepted
        .iter()
        .copied()
        .chain(std::iter::repeat(0));
    ACCEPTED
        .iter()
        .zip(counts)
        .map(|(accepted, cells)| Accepted {
            title: format!(
                "{} by {} {}",
                accepted.hazard, accepted.target, accepted.kind
            ),
            cells,
            reason: accepted.reason,
            crew: accepted.crew,
        })
        .collect()
}

/// The cells for the script, as JSON that may stand inside an HTML page.
fn data(page: &Page, replay: &str) -> String {
    let hazards = HAZARDS.iter().map(|hazard| (hazard.id, hazard.title));
    let requirements = REQUIREMENTS
        .iter()
        .map(|required| (required.id, required.title));
    let about = About {
        replay,
        outcomes: Outcome::ALL.iter().map(|outcome| outcome.name()).collect(),
        letters: Outcome::ALL
            .iter()
            .map(|outcome| signs::letter(*outcome))
            .collect(),
        ends: End::ALL.iter().map(|end| end.name()).collect(),
        titles: hazards.chain(requirements).collect(),
        meanings: Target::all()
            .filter(|target| page.cells.target(&target.to_string()).is_some())
            .map(|target| (target.to_string(), target.meaning()))
            .collect(),
        cells: &page.cells,
    };
    let json = serde_json::to_string(&about);
    debug_assert!(json.is_ok(), "numbers and texts");
    json.unwrap_or_default().replace('<', "\\u003c")
}
