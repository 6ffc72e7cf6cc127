//! A picture of a session, taken without a terminal: for documents.
//!
//! The session is the one a person would have: keys are pressed, time passes, and what
//! the screen then shows is drawn. The same steps give the same picture.

use std::str::FromStr;
use std::time::Duration;

use crossterm::event::Event;
use ratatui::Terminal;
use ratatui::backend::TestBackend;

use super::app::App;
use super::keys::Chord;
use super::screen::{self, picture};
use crate::frame::TICK;

/// Most columns and rows of a picture.
pub const MOST: (u16, u16) = (400, 120);
/// Time on the clock that passes at once while a picture is flown to: one tick.
const PASSES: Duration = Duration::from_millis(10);

/// What is done on the way to a picture.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Step {
    /// A key is pressed.
    Press(Chord),
    /// Time passes up to this moment of the scenario, s.
    FlyTo(f64),
}

/// What is no step.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoStep {
    /// No moment.
    #[error("`@{0}` is no moment: write `@` and seconds, such as `@12.5`")]
    Moment(String),
    /// No key.
    #[error("{0}: write one character, a name such as Enter or PageUp, or `@12.5` to fly on")]
    Key(#[from] super::keys::NoSuchKey),
}

impl FromStr for Step {
    type Err = NoStep;

    fn from_str(text: &str) -> Result<Self, NoStep> {
        match text.strip_prefix('@') {
            Some(moment) if !moment.is_empty() => {
                let seconds = moment.parse().ok();
                seconds
                    .filter(|seconds: &f64| seconds.is_finite() && *seconds >= 0.0)
                    .map(Self::FlyTo)
                    .ok_or_else(|| NoStep::Moment(moment.to_owned()))
            }
            Some(_) | None => Ok(Self::Press(text.parse()?)),
        }
    }
}

/// Columns and rows of a picture.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Size {
    columns: u16,
    rows: u16,
}

impl FromStr for Size {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let (least, most) = (screen::LEAST, MOST);
        let size = text.split_once('x').and_then(|(columns, rows)| {
            let (columns, rows) = (columns.parse().ok()?, rows.parse().ok()?);
            let fits = (least.0..=most.0).contains(&columns) && (least.1..=most.1).contains(&rows);
            fits.then_some(Self { columns, rows })
        });
        size.ok_or_else(|| {
            format!(
                "write COLUMNSxROWS, from {}x{} to {}x{}",
                least.0, least.1, most.0, most.1
            )
        })
    }
}

/// Why no picture could be taken.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum NotTaken {
    /// Time does not pass.
    #[error("time stands still at {at:.2} s, so {wanted:.2} s is not reached")]
    Stands {
        /// The moment come to, s.
        at: f64,
        /// The moment wanted, s.
        wanted: f64,
    },
    /// The scenario is over by then.
    #[error("the scenario ends at {end:.2} s, before {wanted:.2} s")]
    Ended {
        /// Its last moment, s.
        end: f64,
        /// The moment wanted, s.
        wanted: f64,
    },
}

/// Takes `steps` in `app` one after the other.
///
/// # Errors
/// When a moment cannot be reached.
pub fn take(app: &mut App, steps: &[Step]) -> Result<(), NotTaken> {
    for step in steps {
        match *step {
            Step::Press(chord) => app.handle(&Event::Key(chord.event())),
            Step::FlyTo(wanted) => fly_to(app, wanted)?,
        }
    }
    Ok(())
}

fn fly_to(app: &mut App, wanted: f64) -> Result<(), NotTaken> {
    #[expect(clippy::cast_precision_loss, reason = "ticks stay far below 2^52")]
    let end = app.desk().last_tick() as f64 * TICK;
    // The tick nearest to the moment.
    let wanted_by = wanted - TICK / 2.0;
    if wanted_by > end {
        return Err(NotTaken::Ended { end, wanted });
    }
    while app.desk().frame().seconds() < wanted_by {
        if !app.desk().is_running() {
            let at = app.desk().frame().seconds();
            return Err(NotTaken::Stands { at, wanted });
        }
        app.advance(PASSES);
    }
    Ok(())
}

/// What `app` shows now, as a drawing with a title.
#[must_use]
pub fn svg(app: &mut App, size: Size, title: &str) -> String {
    let Ok(mut terminal) = Terminal::new(TestBackend::new(size.columns, size.rows));
    let Ok(_) = terminal.draw(|frame| app.draw(frame));
    picture::svg(terminal.backend().buffer(), title)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cockpit::app::Options;
    use crate::cockpit::desk::Desk;
    use crate::scenario::Scenario;
    use crate::scenario::shipped::Shipped;

    fn app() -> App {
        let shipped = Shipped::named("emergency-stow").expect("shipped");
        let scenario = Scenario::parse(&shipped.file(), shipped.text).expect("it parses");
        App::new(Desk::new(scenario, 1), Options::default())
    }

    fn steps(text: &str) -> Vec<Step> {
        text.split_whitespace()
            .map(|word| word.parse().expect("a step"))
            .collect()
    }

    #[test]
    fn keys_are_pressed_and_time_passes_in_the_order_written() {
        let mut app = app();
        take(&mut app, &steps("Enter @2 x @2.5")).expect("taken");
        assert_eq!(app.desk().frame().tick, 250);
        assert!(app.desk().frame().controls.stop);
    }

    #[test]
    fn a_moment_that_does_not_come_is_refused() {
        let stands = take(&mut app(), &steps("@2")).expect_err("under the briefing");
        assert!(matches!(stands, NotTaken::Stands { .. }), "{stands}");
        let ended = take(&mut app(), &steps("Enter @2000")).expect_err("too late");
        assert!(matches!(ended, NotTaken::Ended { .. }), "{ended}");
    }

    #[test]
    fn what_is_no_step_and_no_size_is_refused_with_a_remedy() {
        for text in ["@soon", "@-1", "@inf", "Entr"] {
            let refused = text.parse::<Step>().expect_err(text).to_string();
            assert!(refused.contains("write"), "{refused}");
        }
        for text in ["", "80", "79x24", "80x23", "401x24", "80x24x2", "-80x24"] {
            assert!(text.parse::<Size>().is_err(), "{text}");
        }
        assert_eq!("@".parse(), Ok(Step::Press("@".parse().expect("a key"))));
    }

    #[test]
    fn the_same_steps_give_the_same_picture() {
        let [one, other] = [(); 2].map(|()| {
            let mut app = app();
            take(&mut app, &steps("Enter @3 v")).expect("taken");
            svg(&mut app, "120x40".parse().expect("a size"), "title")
        });
        assert!(one == other && one.contains("<title>title</title>"));
    }
}
