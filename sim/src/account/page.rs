//! The account as one HTML page, which needs nothing else: no network, no file, no
//! script.

use std::path::Path;

use askama::Template;
use mastwright_core::fault::Class;

use super::{Account, plot};
use crate::explain::{Clause, Explanation};
use crate::flight::{Outcome, Row};
use crate::frame::TICK;
use crate::keep::{self, Kind};
use crate::report::number::{counted, number};
use crate::report::witness::Speaks;
use crate::report::{CAUTION, text, words};
use crate::trace::Build;

const PAGE: Kind = Kind {
    name: "page of `mastwright report`",
    beginning: "<!doctype html>\n<!-- mastwright report: page -->\n",
};

const STYLE: &str = concat!(
    include_str!("../../templates/debrief.css"),
    include_str!("../../templates/report.css")
);

/// Why a page is not made.
#[derive(Debug, thiserror::Error)]
pub enum NotMade {
    /// The file cannot be written, or is something else.
    #[error(transparent)]
    File(#[from] keep::Refused),
    /// The template could not be filled.
    #[error("the page cannot be made: {0}")]
    Template(#[from] askama::Error),
}

struct Event<'a> {
    at: String,
    phase: &'a str,
    kind: &'static str,
    what: &'a str,
}

struct Judged<'a> {
    id: &'a str,
    became: &'static str,
    broken: bool,
    text: String,
}

struct Alert {
    class: &'static str,
    words: &'static str,
    from: String,
    to: String,
}

struct Measured {
    name: &'static str,
    unit: &'static str,
    values: [String; 4],
}

struct Needed<'a> {
    clause: &'a Clause,
    since: String,
    against: Vec<String>,
}

#[derive(Template)]
#[template(path = "report.html")]
struct Sheet<'a> {
    beginning: &'static str,
    style: &'static str,
    caution: &'static str,
    title: &'a str,
    briefing: Vec<String>,
    facts: Vec<(&'static str, String)>,
    damage: Vec<String>,
    summary: Vec<String>,
    plot: String,
    events: Vec<Event<'a>>,
    alerts: Vec<Alert>,
    faults: Vec<(String, String)>,
    measured: Vec<Measured>,
    judged: [(&'static str, Vec<Judged<'a>>); 2],
    expectations: Vec<(String, Option<String>)>,
    about: &'static str,
    explanation: &'a Explanation,
    explained_at: String,
    needed: Vec<Needed<'a>>,
    headline: String,
    changes: Vec<String>,
    more: usize,
    footnotes: Vec<String>,
    commands: Vec<(String, &'static str)>,
}

impl Account<'_> {
    /// The page. `commands` show the flight again, each with what it is for.
    ///
    /// # Errors
    /// When the template cannot be filled.
    pub fn page(&self, commands: Vec<(String, &'static str)>) -> Result<String, NotMade> {
        let header = self.trace.header();
        let explanation = &self.explanation;
        let otherwise = &explanation.otherwise;
        let sheet = Sheet {
            beginning: PAGE.beginning,
            style: STYLE,
            caution: CAUTION,
            title: &header.scenario.title,
            briefing: self.briefing(),
            facts: self.facts(),
            damage: self
                .trace
                .damage()
                .iter()
                .map(ToString::to_string)
                .collect(),
            summary: self.summary(),
            plot: plot::draw(self)?,
            events: self.events(),
            alerts: self.alerts(),
            faults: self.injected(),
            measured: self.measured(),
            judged: [
                ("Hazards", self.verdict.hazards.iter().map(judged).collect()),
                (
                    "Safety requirements",
                    self.verdict.requirements.iter().map(judged).collect(),
                ),
            ],
            expectations: self
                .expectations
                .iter()
                .map(|found| (found.expected.clone(), found.instead.clone()))
                .collect(),
            about: self.about,
            explanation,
            explained_at: format!("{:.2}", explanation.time),
            needed: explanation
                .clauses
                .iter()
                .map(|clause| needed(clause, explanation.let_happen))
                .collect(),
            headline: otherwise.headline(),
            changes: otherwise
                .changes
                .iter()
                .map(|change| change.words())
                .collect(),
            more: otherwise.more,
            footnotes: otherwise.footnotes(),
            commands,
        };
        Ok(sheet.render()?)
    }

    /// Writes the page to `path`, in the place of an older one.
    ///
    /// # Errors
    /// When it cannot be made or written, or something else is there.
    pub fn write(&self, path: &Path, commands: Vec<(String, &'static str)>) -> Result<(), NotMade> {
        PAGE.check(path)?;
        Ok(PAGE.write(path, &self.page(commands)?)?)
    }

    fn briefing(&self) -> Vec<String> {
        let scenario = self.trace.header().scenario();
        let briefing = scenario
            .map(|scenario| scenario.briefing)
            .unwrap_or_default();
        briefing.split("\n\n").map(str::to_owned).collect()
    }

    fn facts(&self) -> Vec<(&'static str, String)> {
        let header = self.trace.header();
        vec![
            ("Scenario", header.scenario.name.clone()),
            ("Seed", header.seed.to_string()),
            ("Length", format!("{:.2} s", seconds(self.trace.len()))),
            ("Flown by", header.by.clone()),
            ("Recorded by", header.build.to_string()),
            ("Page by", Build::this().to_string()),
        ]
    }

    /// The flight in a few sentences.
    fn summary(&self) -> Vec<String> {
        let ended = format!(
            "At the end, {:.2} s: state {}.",
            self.end.time,
            self.end.words()
        );
        vec![
            ended,
            self.verdict_in_words(),
            self.alerts_in_words(),
            self.replay_in_words(),
        ]
    }

    fn verdict_in_words(&self) -> String {
        let exercised = self.verdict.exercised().len();
        let broken: Vec<&str> = self
            .verdict
            .rows()
            .filter(|row| matches!(row.outcome, Outcome::Broken { .. }))
            .map(|row| row.id.as_str())
            .collect();
        let judged_up_to = self.judged_up_to.as_ref();
        let up_to = judged_up_to.map_or_else(String::new, |(ticks, why)| {
            let (up_to, why) = (seconds(*ticks), why.what());
            format!(" Judged up to {up_to:.2} s only: {why}, and what judges needs every tick.")
        });
        if broken.is_empty() {
            format!(
                "Of the hazards and requirements {exercised} were put to the test, and every one \
                 of them held.{up_to}"
            )
        } else {
            format!(
                "BROKEN: {}. {exercised} hazards and requirements were put to the test.{up_to}",
                broken.join(", ")
            )
        }
    }

    fn alerts_in_words(&self) -> String {
        let count = |class: Class| {
            let of = self
                .alerts
                .iter()
                .filter(|alert| alert.fault.class() == class);
            of.count() as u64
        };
        format!(
            "Injected faults: {}. Alerts: {}, {}, {}.",
            self.faults.len(),
            counted(count(Class::Warning), "warning"),
            counted(count(Class::Caution), "caution"),
            match count(Class::Advisory) {
                1 => "1 advisory".to_owned(),
                count => format!("{count} advisories"),
            }
        )
    }

    fn replay_in_words(&self) -> String {
        let ticks = self.replayed.ticks;
        let who = "The controller of the build that made this page answers";
        let what = match (&self.replayed.difference, &self.replayed.broken_off) {
            (Some(difference), _) => {
                let frame = &difference.recorded.frame;
                format!(
                    "{who} OTHERWISE than recorded: {ticks} ticks are the same, tick {} ({:.2} s) \
                     differs, and what comes after it was not compared.",
                    frame.tick,
                    frame.seconds()
                )
            }
            (None, Some(why)) => format!(
                "{who} {ticks} ticks as recorded; then {}, and what follows was not compared.",
                why.what()
            ),
            (None, None) => format!("{who} all {ticks} ticks as recorded."),
        };
        let missing = &self.replayed.missing_settings;
        if missing.is_empty() {
            what
        } else {
            let missing = missing.join(", ");
            format!("{what} The trace does not have these settings, which are as today: {missing}.")
        }
    }

    fn events(&self) -> Vec<Event<'_>> {
        let events = self.timeline.iter().map(|entry| Event {
            at: format!("{:.2}", entry.time),
            phase: entry.phase,
            kind: text::label(entry.kind).0,
            what: &entry.text,
        });
        events.collect()
    }

    fn alerts(&self) -> Vec<Alert> {
        let alerts = self.alerts.iter().map(|alert| Alert {
            class: words::class(alert.fault.class()),
            words: words::fault(alert.fault),
            from: format!("{:.2}", seconds(alert.during.from)),
            to: self.until(alert.during.to),
        });
        alerts.collect()
    }

    fn injected(&self) -> Vec<(String, String)> {
        let faults = self.faults.iter().map(|fault| {
            let from = seconds(fault.during.from);
            let until = self.until(fault.during.to);
            (format!("{from:.2}"), format!("{}, to {until}", fault.words))
        });
        faults.collect()
    }

    fn until(&self, tick: u64) -> String {
        if tick >= self.trace.len() {
            "the end".to_owned()
        } else {
            format!("{:.2} s", seconds(tick))
        }
    }

    fn measured(&self) -> Vec<Measured> {
        let measured = self.measured.iter().map(|measured| Measured {
            name: measured.name,
            unit: measured.unit,
            values: [
                measured.first,
                measured.least,
                measured.greatest,
                measured.last,
            ]
            .map(|value| number(value, 1)),
        });
        measured.collect()
    }
}

#[expect(clippy::cast_precision_loss, reason = "ticks stay far below 2^52")]
fn seconds(ticks: u64) -> f64 {
    ticks as f64 * TICK
}

fn judged(row: &Row) -> Judged<'_> {
    let (became, text) = match &row.outcome {
        Outcome::Held => ("held", row.title.clone()),
        Outcome::NotExercised => ("not exercised", row.title.clone()),
        Outcome::JudgedElsewhere { by } => (
            "not in flight",
            format!("{} (judged by tests: {by})", row.title),
        ),
        Outcome::Broken { at, why } => {
            ("BROKEN", format!("At {at:.2} s: {why}. {}", row.statement))
        }
    };
    Judged {
        id: &row.id,
        became,
        broken: matches!(row.outcome, Outcome::Broken { .. }),
        text,
    }
}

/// A clause with the readings behind it, unless it holds and that is not what is asked.
fn needed(clause: &Clause, let_happen: bool) -> Needed<'_> {
    let since = if clause.since > 0.0 {
        format!("since {:.2} s", clause.since)
    } else {
        "from the start".to_owned()
    };
    let readings = clause
        .readings
        .iter()
        .filter(|_| !clause.holds || let_happen);
    let against = readings.map(|reading| {
        let sign = match reading.speaks {
            Speaks::For => "for it",
            Speaks::Against => "against it",
            Speaks::Unheard => "unheard",
        };
        let since = reading.since.filter(|since| *since > 0.0);
        let since = since.map_or_else(String::new, |since| format!(", so since {since:.2} s"));
        format!("{sign}: {}{since}", reading.words)
    });
    Needed {
        clause,
        since,
        against: against.collect(),
    }
}
