//! Real moments for the screen: scenarios flown to where something can be seen, with the
//! tape and the trends that led there.

use std::sync::LazyLock;

use mastwright_core::Sequencer;
use mastwright_sim::cockpit::screen::view::{Overlay, Session, Speed, Trends};
use mastwright_sim::cockpit::screen::{Areas, Theme, View, draw};
use mastwright_sim::flight::Begun;
use mastwright_sim::frame::Frame;
use mastwright_sim::report::timeline::{Entry, Timeline};
use mastwright_sim::scenario::Scenario;
use mastwright_sim::scenario::shipped::Shipped;
use mastwright_sim::world::World;
use ratatui::Terminal;
use ratatui::backend::TestBackend;
use ratatui::buffer::Buffer;

/// Ticks between two samples of a trend: 0.5 s.
const EVERY: u64 = 50;

/// Keys for the hint line, as a table of keys might give them.
static HINTS: LazyLock<Vec<(String, String)>> = LazyLock::new(|| {
    [
        ("space", "pause"),
        ("←/→", "rewind"),
        ("f", "faults"),
        ("t", "truth"),
        ("?", "help"),
    ]
    .map(|(keys, what)| (keys.to_owned(), what.to_owned()))
    .to_vec()
});

/// One moment of a scenario.
#[derive(Debug)]
pub struct Moment {
    scenario: Scenario,
    frame: Frame,
    tape: Vec<Entry>,
    motor: Vec<f32>,
    controller: Vec<f32>,
    packs: [Vec<f32>; 2],
    charge: [Vec<f32>; 2],
    bus: Vec<f32>,
    shaft: Vec<f32>,
}

impl Moment {
    /// Flies a shipped scenario until `seen` is true of a frame.
    ///
    /// # Panics
    /// When there is no such scenario, or the moment does not come.
    #[must_use]
    pub fn of(name: &str, seen: impl FnMut(&Frame) -> bool) -> Self {
        let shipped = Shipped::named(name).expect("a shipped scenario");
        let scenario = Scenario::parse(&shipped.file(), shipped.text).expect("it is in order");
        Self::flown(scenario, seen)
    }

    /// Flies any scenario until `seen` is true of a frame.
    ///
    /// # Panics
    /// When the moment does not come.
    #[must_use]
    pub fn flown(scenario: Scenario, mut seen: impl FnMut(&Frame) -> bool) -> Self {
        let mut world: World<Sequencer> = World::new(&scenario, scenario.seed);
        let mut timeline = Timeline::default();
        let mut moment = Self {
            frame: Frame::default(),
            tape: Vec::new(),
            motor: Vec::new(),
            controller: Vec::new(),
            packs: [Vec::new(), Vec::new()],
            charge: [Vec::new(), Vec::new()],
            bus: Vec::new(),
            shaft: Vec::new(),
            scenario,
        };
        for _ in 0..moment.scenario.ticks {
            let frame = world.step().clone();
            let begun = Begun {
                actions: world.started_actions(),
                faults: world.started_faults(),
            };
            timeline.see(&frame, begun, &moment.scenario, &mut moment.tape);
            if frame.tick.is_multiple_of(EVERY) {
                moment.sample(&frame);
            }
            if seen(&frame) {
                moment.frame = frame;
                return moment;
            }
        }
        panic!("the moment does not come in {}", moment.scenario.name);
    }

    #[expect(clippy::cast_possible_truncation, reason = "bars need no more")]
    fn sample(&mut self, frame: &Frame) {
        let truth = &frame.truth;
        self.motor.push(truth.motor_temperature as f32);
        self.controller.push(truth.controller_temperature as f32);
        for (index, pack) in truth.packs.iter().enumerate() {
            self.packs[index].push(pack.temperature as f32);
            self.charge[index].push(pack.charge as f32);
        }
        self.bus.push(truth.bus.voltage as f32);
        self.shaft
            .push((truth.propeller.speed * 60.0 / std::f64::consts::TAU) as f32);
    }

    /// The frame of that moment.
    #[must_use]
    pub const fn frame(&self) -> &Frame {
        &self.frame
    }

    /// The moment as a view, with colours and nothing over it.
    #[must_use]
    pub fn view(&self) -> View<'_> {
        View {
            frame: &self.frame,
            config: &self.scenario.config,
            trends: Trends {
                every: 0.5,
                motor: &self.motor,
                controller: &self.controller,
                packs: [&self.packs[0], &self.packs[1]],
                charge: [&self.charge[0], &self.charge[1]],
                bus: &self.bus,
                shaft: &self.shaft,
            },
            tape: &self.tape,
            session: Session {
                scenario: &self.scenario.name,
                speed: Speed::Times(1.0),
                earliest: 0,
                latest: self.frame.tick,
                end: Some(self.scenario.ticks),
                branch: 1,
                branched_at: None,
            },
            compare: false,
            trainee: false,
            lesson: None,
            caption: None,
            notice: None,
            overlay: Overlay::None,
            hints: &HINTS,
            theme: Theme::colour(),
        }
    }
}

/// Draws a view at a size.
///
/// # Panics
/// When the screen does.
#[must_use]
pub fn drawn(view: &View<'_>, (width, height): (u16, u16)) -> (Buffer, Areas) {
    let mut areas = Areas::default();
    let mut terminal = Terminal::new(TestBackend::new(width, height)).expect("a test terminal");
    terminal
        .draw(|frame| draw(frame, view, &mut areas))
        .expect("a test terminal takes it");
    (terminal.backend().buffer().clone(), areas)
}

/// The text of a picture, a line a row, without the blanks at its end.
#[must_use]
pub fn text(buffer: &Buffer) -> String {
    let width = usize::from(buffer.area.width.max(1));
    let rows = buffer.content().chunks(width).map(|row| {
        let row: String = row.iter().map(ratatui::buffer::Cell::symbol).collect();
        row.trim_end().to_owned()
    });
    rows.collect::<Vec<_>>().join("\n")
}
