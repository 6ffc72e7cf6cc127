//! From the session to a picture of it.

use ratatui::Frame;

use super::{App, Over};
use crate::cockpit::keys::{self, Action, Place, Text};
use crate::cockpit::screen::view::{
    Debrief, Desk, DeskRow, Help, Lesson, Overlay, Session, Speed, Trends, View,
};
use crate::cockpit::screen::{self, Areas};
use crate::cockpit::timeline::Series;
use crate::lesson::progress::{Outcome, Progress};

/// Entries of the tape given to a picture: more than any screen has lines.
const ENTRIES: usize = 200;
/// Samples of a trend given to a picture: two minutes at 0.2 s.
const SAMPLES: usize = 600;

impl App {
    /// Draws the session and remembers where it can be clicked.
    pub fn draw(&mut self, frame: &mut Frame<'_>) {
        self.changed = false;
        let mut areas = std::mem::take(&mut self.areas);
        self.draw_into(frame, &mut areas);
        self.areas = areas;
    }

    fn draw_into(&self, frame: &mut Frame<'_>, areas: &mut Areas) {
        let tape = self.desk.entries(ENTRIES);
        let hints = self.hints();
        let help = self.keys.help();
        let rows: Vec<DeskRow<'_>> = self.desk_rows();
        let order = self.faults.order();
        let (armed, active) = self.faults_in_words();
        let (focus, selected) = self.faults.chosen();
        let overlay = match &self.over {
            Over::Nothing | Over::Briefing => Overlay::None,
            Over::Help { scroll } => Overlay::Help(Help {
                rows: &help,
                scroll: *scroll,
            }),
            Over::Desk => Overlay::Desk(Desk {
                search: self.faults.search(),
                rows: &rows,
                total: self.faults.total(),
                order: &order,
                focus,
                selected,
                armed: &armed,
                active: &active,
            }),
            Over::Debrief {
                pages,
                page,
                scroll,
            } => Overlay::Debrief(Debrief {
                title: &self.desk.scenario().title,
                pages,
                page: *page,
                scroll: *scroll,
            }),
        };
        let view = View {
            frame: self.desk.frame(),
            config: &self.desk.scenario().config,
            trends: self.trends_shown(),
            tape: &tape,
            session: self.session(),
            compare: self.compare,
            trainee: self.trainee,
            lesson: self.lesson(),
            caption: self.demo.as_ref().and_then(super::Demo::caption),
            notice: self.notice.as_ref().map(|(text, _)| text.as_str()),
            overlay,
            hints: &hints,
            theme: self.theme,
        };
        screen::draw(frame, &view, areas);
    }

    /// The keys worth knowing now.
    fn hints(&self) -> Vec<(String, String)> {
        if self.over == Over::Briefing {
            return self.begins().into_iter().collect();
        }
        let place = self.place();
        let rows = self.keys.rows();
        let mut rows: Vec<_> = rows
            .filter(|(row, chords)| {
                row.place == place && !row.hint.is_empty() && !chords.is_empty()
            })
            .collect();
        // Where there is too little room for all, help is the one not to be missed.
        rows.sort_by_key(|(row, _)| row.action != Action::View(keys::View::Help));
        rows.iter()
            .map(|(row, chords)| (chords[0].to_string(), row.hint.to_owned()))
            .collect()
    }

    /// The one thing to know under the briefing. Of several keys Enter is looked for first.
    fn begins(&self) -> Option<(String, String)> {
        let close = Action::Text(Text::CloseText);
        let (_, chords) = self.keys.rows().find(|(row, _)| row.action == close)?;
        let mut keys = chords.iter().map(ToString::to_string);
        let first = keys.clone().next()?;
        let key = keys.find(|key| key == "Enter").unwrap_or(first);
        Some((key, "begin".to_owned()))
    }

    fn desk_rows(&self) -> Vec<DeskRow<'_>> {
        if self.place() != Place::Desk {
            return Vec::new();
        }
        let matches = self.faults.matches();
        matches
            .map(|listed| DeskRow {
                name: &listed.name,
                words: &listed.words,
            })
            .collect()
    }

    /// The armed and the active faults.
    fn faults_in_words(&self) -> (Vec<String>, Vec<String>) {
        let present = self.desk.present();
        let armed = present.armed().iter();
        let armed = armed.map(|armed| format!("{}, when {}", armed.fault, armed.when));
        let active = present.world().active_faults();
        let active = active.map(|(_, fault)| fault.to_string());
        (armed.collect(), active.collect())
    }

    fn session(&self) -> Session<'_> {
        let timeline = self.desk.timeline();
        let (branch, branched_at) = timeline.branch();
        Session {
            scenario: &self.desk.scenario().name,
            speed: if self.desk.is_running() {
                Speed::Times(self.desk.speed().times())
            } else {
                Speed::Paused
            },
            earliest: timeline.earliest(),
            latest: timeline.end(),
            end: Some(self.desk.last_tick()),
            branch,
            branched_at,
        }
    }

    /// The lesson under way; under the briefing every scenario is shown as one.
    fn lesson(&self) -> Option<Lesson<'_>> {
        let scenario = self.desk.scenario();
        let title = scenario.title.as_str();
        let briefs = self.over == Over::Briefing;
        let Some(progress) = self.desk.present().progress() else {
            return briefs.then_some(Lesson {
                title,
                briefing: Some(&scenario.briefing),
                ..Lesson::default()
            });
        };
        let section = progress.lesson().section();
        let open = (0..section.tasks.len()).find(|task| progress.outcome(*task) == Outcome::Open);
        let cue = progress.cue().and_then(|(cue, _)| section.cues.get(cue));
        Some(Lesson {
            title,
            step: open.map(|task| (task + 1, section.tasks.len())),
            briefing: briefs.then_some(&section.briefing),
            cue: cue.map(|cue| cue.say.as_str()),
            left: open.and_then(|task| left(progress, task)),
            hint: progress.hint(),
        })
    }

    fn trends_shown(&self) -> Trends<'_> {
        let now = self.desk.timeline().now();
        let latest = |series| {
            let samples = self.trends().until(series, now);
            &samples[samples.len().saturating_sub(SAMPLES)..]
        };
        Trends {
            every: self.trends().every(),
            motor: latest(Series::Motor),
            controller: latest(Series::Controller),
            packs: [latest(Series::Pack1), latest(Series::Pack2)],
            charge: [latest(Series::Charge1), latest(Series::Charge2)],
            bus: latest(Series::Bus),
            shaft: latest(Series::Shaft),
        }
    }
}

/// Time left for a task that is called for, s.
fn left(progress: &Progress, task: usize) -> Option<f64> {
    let asked = progress.lesson().section().tasks.get(task)?;
    let due = progress.came(asked.cue)?.saturating_add(asked.within);
    Some(f64::from(due.saturating_sub(progress.tick())) * crate::frame::TICK)
}
