//! The screen: one picture of one [`view::View`].

pub mod areas;
pub mod theme;
pub mod view;

pub use areas::{Areas, Hit, Target};
pub use theme::Theme;
pub use view::View;

/// Draws one picture and records in `areas` where it can be clicked.
pub fn draw(frame: &mut ratatui::Frame<'_>, view: &View<'_>, areas: &mut Areas) {
    areas.clear();
    let text = format!("{} {:.2} s", view.session.scenario, view.frame.seconds());
    frame.render_widget(text, frame.area());
}
