//! What a key, a click or the passing of time does.
//!
//! Headless: events and time are handed in, pictures are drawn into whatever frame is
//! given. The same events and times give the same session.

mod act;
#[cfg(unix)]
mod beside;
mod demo;
mod pages;
mod picture;
mod trainee;

use std::time::Duration;

use crossterm::event::{Event, KeyEvent, KeyEventKind, MouseButton, MouseEvent, MouseEventKind};

use super::desk::Desk;
use super::faults::FaultDesk;
use super::keys::{self, Action, Chord, Hand, Keys, Place, Text, Time, View};
use super::screen::areas::{Areas, Hit, Target};
use super::screen::theme::Theme;
use super::timeline::Trends;
use crate::controls::Push;
use demo::Demo;

/// How long a notice stands.
const NOTICE: Duration = Duration::from_secs(6);

/// How a session begins and looks.
#[derive(Clone, Debug)]
pub struct Options {
    /// The keys in force.
    pub keys: Keys,
    /// Colours and signs.
    pub theme: Theme,
    /// It plays itself, with captions.
    pub demo: bool,
}

impl Default for Options {
    fn default() -> Self {
        Self {
            keys: Keys::default(),
            theme: Theme::colour(),
            demo: false,
        }
    }
}

/// What lies over the flight.
#[derive(Clone, Debug, PartialEq)]
enum Over {
    Nothing,
    Briefing,
    Help {
        scroll: usize,
    },
    Desk,
    Debrief {
        pages: Vec<String>,
        page: usize,
        scroll: usize,
    },
}

/// A session with its keys and its picture.
#[derive(Clone, Debug)]
pub struct App {
    desk: Desk,
    keys: Keys,
    theme: Theme,
    faults: FaultDesk,
    demo: Option<Demo>,
    over: Over,
    compare: bool,
    trainee: bool,
    /// Somebody else lets the faults in: they stay hidden.
    locked: bool,
    notice: Option<(String, Duration)>,
    /// What the next press of the same key confirms.
    confirm: Option<Action>,
    areas: Areas,
    changed: bool,
    over_and_out: bool,
}

impl App {
    /// A session of `desk`: the briefing lies over it, or it plays itself.
    #[must_use]
    pub fn new(mut desk: Desk, options: Options) -> Self {
        let demo = options.demo.then(|| Demo::of(desk.scenario()));
        desk.set_running(demo.is_some());
        Self {
            over: if demo.is_some() {
                Over::Nothing
            } else {
                Over::Briefing
            },
            desk,
            keys: options.keys,
            theme: options.theme,
            faults: FaultDesk::default(),
            demo,
            compare: false,
            trainee: false,
            locked: false,
            notice: None,
            confirm: None,
            areas: Areas::default(),
            changed: true,
            over_and_out: false,
        }
    }

    /// The session.
    #[must_use]
    pub const fn desk(&self) -> &Desk {
        &self.desk
    }

    /// The person has left.
    #[must_use]
    pub const fn is_over(&self) -> bool {
        self.over_and_out
    }

    /// The picture is no longer what there is to see.
    #[must_use]
    pub const fn is_changed(&self) -> bool {
        self.changed
    }

    /// Time until something happens by itself; none while nothing will.
    #[must_use]
    pub fn until_next(&self) -> Option<Duration> {
        let notice = self.notice.as_ref().map(|(_, left)| *left);
        [self.desk.until_next(), notice].into_iter().flatten().min()
    }

    /// Says something for a while.
    pub fn say(&mut self, text: impl Into<String>) {
        self.notice = Some((text.into(), NOTICE));
        self.changed = true;
    }

    /// Time passes.
    pub fn advance(&mut self, passed: Duration) {
        if let Some((_, left)) = &mut self.notice {
            *left = left.saturating_sub(passed);
            if left.is_zero() {
                self.notice = None;
                self.changed = true;
            }
        }
        if self.demo.is_some() {
            self.play(passed);
        } else {
            for _ in 0..self.desk.due(passed) {
                self.desk.step();
                self.changed = true;
                if self.lesson_ends() {
                    return self.debrief();
                }
            }
        }
        self.faults.settle(&self.desk);
    }

    /// This is the last tick of a lesson, seen for the first time.
    fn lesson_ends(&self) -> bool {
        let now = self.desk.timeline().now();
        self.desk.present().progress().is_some()
            && now == self.desk.last_tick()
            && now == self.desk.timeline().end()
    }

    /// A key, a click, another size.
    pub fn handle(&mut self, event: &Event) {
        match event {
            Event::Key(key) => self.press(key),
            Event::Mouse(mouse) => self.point(*mouse),
            Event::Resize(..) | Event::FocusGained => self.changed = true,
            Event::FocusLost | Event::Paste(_) => {}
        }
    }

    fn place(&self) -> Place {
        match self.over {
            Over::Nothing => Place::Flight,
            Over::Desk => Place::Desk,
            Over::Briefing | Over::Help { .. } | Over::Debrief { .. } => Place::Text,
        }
    }

    fn press(&mut self, key: &KeyEvent) {
        if key.kind == KeyEventKind::Release {
            return;
        }
        self.changed = true;
        let chord = Chord::of(key);
        let action = self.keys.action(self.place(), chord);
        let confirmed = self.confirm.take().filter(|asked| action == Some(*asked));
        match (action, chord.typed()) {
            (Some(action), _) => self.act(action, confirmed.is_some()),
            (None, Some(letter)) if self.over == Over::Desk => self.faults.type_letter(letter),
            (None, _) => self.say(format!(
                "{chord} does nothing here; {} shows the keys",
                self.keys
                    .shown(Action::View(View::Help))
                    .unwrap_or_default()
            )),
        }
    }

    fn point(&mut self, mouse: MouseEvent) {
        let pressed = match mouse.kind {
            MouseEventKind::Down(MouseButton::Left) => true,
            MouseEventKind::Drag(MouseButton::Left) => false,
            MouseEventKind::ScrollUp => return self.wheel(true),
            MouseEventKind::ScrollDown => return self.wheel(false),
            MouseEventKind::Down(_)
            | MouseEventKind::Up(_)
            | MouseEventKind::Drag(_)
            | MouseEventKind::Moved
            | MouseEventKind::ScrollLeft
            | MouseEventKind::ScrollRight => return,
        };
        let Some(hit) = self.areas.hit(mouse.column, mouse.row) else {
            return;
        };
        self.changed = true;
        self.confirm = None;
        if let Some(action) = self.clicked(hit, pressed) {
            self.act(action, false);
        }
    }

    /// What a click asks for, if it has not been done at once. A drag (not `pressed`)
    /// moves what can be moved and presses nothing.
    fn clicked(&mut self, hit: Hit, pressed: bool) -> Option<Action> {
        let action = match hit.target {
            Target::Throttle => {
                self.leave_demo();
                self.desk.throttle(hit.along);
                return None;
            }
            Target::TimeLine => {
                self.seek_along(hit.along);
                return None;
            }
            Target::DeskRow(list, row) if self.faults.chosen() != (list, row) => {
                self.faults.choose(list, row);
                return None;
            }
            Target::DeskRow(..) => Action::Desk(keys::Desk::Choose),
            Target::Selector(Push::Deploy) => Action::Hand(Hand::HoldDeploy),
            Target::Selector(Push::Stow) => Action::Hand(Hand::HoldStow),
            Target::Selector(Push::Hold) => Action::Hand(Hand::Release),
            Target::Stop => Action::Hand(Hand::Stop),
            Target::Acknowledge => Action::Hand(Hand::Acknowledge),
            Target::HeatTest => Action::Hand(Hand::HeatTest),
            Target::AuxCharge => Action::Hand(Hand::AuxCharge),
            Target::BenchKey => Action::Hand(Hand::BenchKey),
            Target::Pause => Action::Time(Time::Pause),
            Target::Close => Action::Text(Text::CloseText),
        };
        pressed.then_some(action)
    }

    /// Whoever takes the controls ends the demonstration.
    fn leave_demo(&mut self) {
        if self.demo.take().is_some() {
            self.say("the demonstration is left: the controls are yours");
        }
    }

    fn wheel(&mut self, up: bool) {
        let action = match (self.place(), up) {
            (Place::Flight, true) => Action::Hand(Hand::ThrottleUp),
            (Place::Flight, false) => Action::Hand(Hand::ThrottleDown),
            (Place::Desk, true) => Action::Desk(keys::Desk::RowUp),
            (Place::Desk, false) => Action::Desk(keys::Desk::RowDown),
            (Place::Text, true) => Action::Text(Text::LineUp),
            (Place::Text, false) => Action::Text(Text::LineDown),
        };
        self.changed = true;
        self.act(action, false);
    }

    fn seek_along(&mut self, along: f64) {
        // The line reaches to the end of the scenario, or of the flight if that is later.
        let whole = self.desk.last_tick().max(self.desk.timeline().end());
        #[expect(
            clippy::cast_precision_loss,
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "ticks stay far below 2^52; the share lies from 0 to 1"
        )]
        let tick = (whole as f64 * along.clamp(0.0, 1.0)).round() as u64;
        self.desk.set_running(false);
        self.desk.seek(tick);
    }

    /// How figures went.
    fn trends(&self) -> &Trends {
        self.desk.timeline().trends()
    }
}

#[cfg(test)]
mod tests;
