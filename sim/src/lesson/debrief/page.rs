//! The debrief as one HTML page to print, which needs nothing else: no network, no
//! file, no script.

use askama::Template;

use super::{Debrief, Refused, words};
use crate::keep::Kind;

pub(super) const PAGE: Kind = Kind {
    name: "page of a debrief",
    beginning: "<!doctype html>\n<!-- mastwright debrief: page -->\n",
};

const STYLE: &str = include_str!("../../../templates/debrief.css");

struct Task<'a> {
    sign: &'static str,
    good: bool,
    became: String,
    task: &'a super::Task,
}

struct Judged<'a> {
    id: &'a str,
    became: &'static str,
    text: String,
}

struct Event<'a> {
    at: String,
    kind: &'static str,
    what: &'a str,
}

#[derive(Template)]
#[template(path = "debrief.html")]
struct Sheet<'a> {
    beginning: &'static str,
    style: &'static str,
    debrief: &'a Debrief,
    flown: String,
    score: Vec<String>,
    reading: &'static str,
    tasks: Vec<Task<'a>>,
    slips: Vec<(String, &'a super::Slip)>,
    events: Vec<Event<'a>>,
    end: String,
    judged: [(&'static str, Vec<Judged<'a>>); 2],
}

impl Debrief {
    /// The page to print.
    ///
    /// # Errors
    /// When the template cannot be filled.
    pub fn page(&self) -> Result<String, Refused> {
        let events = self.events().into_iter().map(|(at, kind, what)| Event {
            at: format!("{at:.2}"),
            kind,
            what,
        });
        let slips = self.slips.iter();
        let sheet = Sheet {
            beginning: PAGE.beginning,
            style: STYLE,
            debrief: self,
            flown: format!("{:.2}", self.flown),
            score: words::score(&self.score),
            reading: words::READING,
            tasks: self.tasks.iter().map(task).collect(),
            slips: slips
                .map(|slip| (format!("{:.2}", slip.first), slip))
                .collect(),
            events: events.collect(),
            end: self.end_words(),
            judged: [
                ("Hazards", self.hazards.iter().map(judged).collect()),
                (
                    "Safety requirements touched",
                    self.requirements.iter().map(judged).collect(),
                ),
            ],
        };
        Ok(sheet.render()?)
    }
}

fn task(task: &super::Task) -> Task<'_> {
    Task {
        sign: words::sign(task.outcome),
        good: task.outcome == super::Became::InTime,
        became: words::became(task),
        task,
    }
}

fn judged(row: &crate::flight::Row) -> Judged<'_> {
    let (became, text) = words::judged(row);
    Judged {
        id: &row.id,
        became,
        text,
    }
}
