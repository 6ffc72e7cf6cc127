//! How long one picture of the screen takes: under 5 ms at 200 by 60.

use divan::Bencher;
use mastwright_core::State;
use mastwright_sim::cockpit::screen::{Areas, draw};
use mastwright_tests::screens::Moment;
use ratatui::Terminal;
use ratatui::backend::TestBackend;

fn main() {
    divan::main();
}

/// A mast coming down, with truth and belief side by side.
#[divan::bench(args = [(80, 24), (120, 40), (200, 60)])]
fn picture(bencher: Bencher<'_, '_>, size: (u16, u16)) {
    let moment = Moment::of("emergency-stow", |frame| {
        frame.outputs.indications.state == State::StowMast && frame.truth.mast.position < 0.5
    });
    let mut view = moment.view();
    view.compare = true;
    let backend = TestBackend::new(size.0, size.1);
    let mut terminal = Terminal::new(backend).expect("a test terminal");
    let mut areas = Areas::default();
    bencher.bench_local(|| {
        terminal
            .draw(|frame| draw(frame, &view, &mut areas))
            .map(|_| ())
            .expect("a test terminal takes it");
    });
}
