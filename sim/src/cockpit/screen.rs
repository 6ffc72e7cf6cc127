//! The screen: one picture of one [`View`].
//!
//! Responsibilities:
//! 1. Show first what must be seen first: what the mast does, whether the blade is safe,
//!    what is denied and why, what alerts.
//! 2. Say in words and signs whatever a colour says.
//! 3. Draw at any size and from any figures without failing; where there is too little
//!    room, say how much is needed.
//!
//! It keeps nothing between two pictures and decides nothing. The layout is drawn for
//! this job.

mod alerts;
pub mod areas;
mod belief;
mod chain;
mod cover;
mod figures;
mod foot;
mod front;
mod head;
mod letters;
mod message;
mod pen;
pub mod picture;
mod plan;
mod side;
mod spark;
mod tape;
pub mod theme;
pub mod view;

use ratatui::layout::Rect;

pub use areas::{Areas, Hit, Target};
pub use theme::{Glyphs, Theme};
pub use view::View;

use crate::report::why::Why;
use pen::Pen;
use plan::Plan;
use theme::Tone;

/// Always to be read in the help.
pub const SAFETY: &str = "bench and training tool - not certified - keep clear of propellers";
/// Columns and rows at which everything essential can be read.
pub const LEAST: (u16, u16) = (80, 24);

/// Draws one picture and records in `areas` where it can be clicked.
pub fn draw(frame: &mut ratatui::Frame<'_>, view: &View<'_>, areas: &mut Areas) {
    areas.clear();
    let area = frame.area();
    let mut pen = Pen {
        buffer: frame.buffer_mut(),
        theme: view.theme,
    };
    let why = Why::of(view.frame, view.config);
    let head = head::rows(view, &why, area.width);
    let said = message::rows(view, area.width);
    match Plan::of(area, head, said, view.compare) {
        Some(plan) => panels(&mut pen, &plan, view, &why, areas),
        None => too_small(&mut pen, area),
    }
    if view.theme.glyphs == Glyphs::Ascii {
        letters::only(frame.buffer_mut(), area);
    }
}

fn panels(pen: &mut Pen<'_>, plan: &Plan, view: &View<'_>, why: &Why, areas: &mut Areas) {
    head::draw(pen, plan.head, view, why);
    if !plan.side.is_empty() {
        side::draw(pen, plan.side, view);
        front::draw(pen, plan.front, view);
    }
    figures::short(pen, plan.short, view);
    if !plan.figures.is_empty() {
        figures::both(pen, plan.figures, view);
    }
    alerts::draw(pen, plan.alerts, view, areas);
    if !plan.chain.is_empty() {
        chain::draw(pen, plan.chain, why);
    }
    if !plan.compare.is_empty() && (view.compare || !view.trainee) {
        belief::draw(pen, plan.compare, view);
    }
    tape::draw(pen, plan.tape, view);
    message::draw(pen, plan.message, view);
    // What lies over the flight covers its drawings, never the controls.
    cover::draw(pen, plan.body, view, areas);
    foot::hands(pen, plan.hands, view, areas);
    foot::time_line(pen, plan.time_line, view, areas);
    foot::hints(pen, plan.hints, view);
}

/// Says what size is needed.
fn too_small(pen: &mut Pen<'_>, area: Rect) {
    let (width, height) = LEAST;
    let text = format!(
        "Too small: the cockpit needs {width} columns by {height} rows; here are {} by {}. \
         Enlarge the window or use a smaller font.",
        area.width, area.height
    );
    pen.paragraph(area, 0, Tone::Plain, &text);
}
