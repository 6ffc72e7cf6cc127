//! What only the space as a whole can answer: how long a stow may take, and whether there
//! is a way out of every rest.

use std::io::{self, Write};

use serde::Serialize;

use super::super::bound;
use super::super::engine::{Ended, Found, Longest};
use super::super::explored::Explored;
use super::super::node::Node;
use super::super::space::Aircraft;
use super::super::way_out;
use super::summary::grouped;
use super::words;
use crate::report::paint::{Paint, Tone};

/// What the whole space answers.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Answers {
    /// The longest stow, ticks of 10 ms (SR-07); nothing if it has no bound.
    pub stow: Option<u64>,
    /// What the controller promises, in the same ticks.
    pub promised: u64,
    /// What a stow without a bound does, in words.
    pub endless: Option<String>,
    /// Rests that were looked at for a way out (SR-14), those alike but for what is broken
    /// counted once.
    pub rests: u64,
    /// How many of them have none.
    pub without: u64,
    /// One of these, in words.
    pub stuck: Option<String>,
}

impl Answers {
    /// Asks a space that was explored whole, its states kept; nothing is known of another.
    /// `tell` is told what is asked next.
    #[must_use]
    pub fn of<C: Explored>(
        space: &Aircraft<C>,
        found: &Found<Aircraft<C>>,
        threads: usize,
        tell: impl Fn(&'static str),
    ) -> Option<Self> {
        let reached = found.reached.as_ref()?;
        if found.ended != Ended::Whole {
            return None;
        }
        let node = |what: &str, node: &Node<C::Mind>| {
            let (controller, world) = space.open(node);
            let (real, _) = controller.memory();
            let state = real.state().name();
            format!("{what} {state}, {}", words::stands(&world.plant))
        };
        tell("asks the whole space for the longest stow");
        let (stow, endless) = match bound::stow(space, reached, threads) {
            Longest::Empty => (Some(0), None),
            Longest::Bounded { weight, .. } => (Some(weight), None),
            Longest::Unbounded { circle, .. } => {
                let first = circle.first().map(|state| node("goes round by", state));
                (None, first)
            }
            Longest::Stuck { state } => (None, Some(node("stays in", &state))),
        };
        tell("looks for a way out of every rest");
        let looked = way_out::look(space, reached, threads);
        Some(Self {
            stow,
            promised: bound::promised(space.config()),
            endless,
            rests: looked.rests,
            without: looked.stuck,
            stuck: looked.least.map(|state| node("in", &state)),
        })
    }

    /// True when every stow ends within what is promised, and every rest has a way out.
    #[must_use]
    pub fn are_good(&self) -> bool {
        self.stow.is_some_and(|stow| stow <= self.promised) && self.without == 0
    }

    /// Prints them.
    ///
    /// # Errors
    /// When `out` cannot be written.
    pub fn print(&self, out: &mut dyn Write, paint: Paint) -> io::Result<()> {
        let seconds = |ticks: u64| ticks as f64 / 100.0;
        let title = paint.tint(Tone::Strong, "Of the space as a whole");
        writeln!(out, "\n{title}")?;
        let promised = seconds(self.promised);
        let tone = |good| if good { Tone::Safe } else { Tone::Warning };
        let stow = match (self.stow, &self.endless) {
            (Some(ticks), _) => {
                let good = ticks <= self.promised;
                let longest = format!("{:.1} s", seconds(ticks));
                format!(
                    "{} of {promised:.1} s promised",
                    paint.tint(tone(good), &longest)
                )
            }
            (None, why) => {
                let why = why.as_deref().unwrap_or_default();
                paint.tint(Tone::Warning, &format!("NO BOUND: {why}"))
            }
        };
        writeln!(out, "  SR-07  longest stow           {stow}")?;
        let rests = grouped(self.rests);
        let ways = match &self.stuck {
            None => paint.tint(Tone::Safe, &format!("every one of {rests} rests has one")),
            Some(stuck) => {
                let without = grouped(self.without);
                paint.tint(
                    Tone::Warning,
                    &format!("{without} of {rests} HAVE NONE: {stuck}"),
                )
            }
        };
        writeln!(out, "  SR-14  a documented way out   {ways}")
    }
}
