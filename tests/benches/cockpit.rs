//! How fast a session answers: rewinding, and from a key to a picture.
//!
//! `cargo bench -p mastwright-tests --bench cockpit`. The budgets: a seek across an hour
//! of flight in under 100 ms; a key and the picture it changes, at 200x60, well within a
//! frame of 33 ms.

use divan::{Bencher, black_box};
use mastwright_sim::cockpit::app::{App, Options};
use mastwright_sim::cockpit::desk::Desk;
use mastwright_sim::cockpit::timeline::Timeline;
use mastwright_sim::scenario::Scenario;
use mastwright_sim::scenario::shipped::Shipped;
use ratatui::Terminal;
use ratatui::backend::TestBackend;
use ratatui::crossterm::event::{Event, KeyCode, KeyEvent, KeyModifiers};

/// Ticks in an hour.
const HOUR: u64 = 360_000;

fn main() {
    divan::main();
}

fn scenario(name: &str) -> Scenario {
    let shipped = Shipped::named(name).expect("a shipped scenario");
    Scenario::parse(&shipped.file(), shipped.text).expect("shipped scenarios parse")
}

fn hours(count: u64) -> Timeline {
    let mut flight = Timeline::new(&scenario("normal-flight"), 1);
    for _ in 0..count * HOUR {
        flight.step();
    }
    flight
}

/// From the end of so many hours to just before a keyframe near their start, and back:
/// the longest way for a seek.
#[divan::bench(args = [1, 8])]
fn seek_across_hours_and_back(bencher: Bencher<'_, '_>, count: u64) {
    let mut flight = hours(count);
    let end = flight.end();
    bencher.bench_local(|| {
        flight.seek(black_box(15_999));
        flight.seek(black_box(end));
    });
}

#[divan::bench]
fn key_to_picture_at_200x60(bencher: Bencher<'_, '_>) {
    let mut desk = Desk::new(scenario("emergency-stow"), 1);
    for _ in 0..3000 {
        desk.step();
    }
    let mut app = App::new(desk, Options::default());
    let mut terminal = Terminal::new(TestBackend::new(200, 60)).expect("a backend");
    let key = |code| Event::Key(KeyEvent::new(code, KeyModifiers::NONE));
    app.handle(&key(KeyCode::Enter));
    bencher.bench_local(|| {
        app.handle(black_box(&key(KeyCode::Up)));
        terminal.draw(|frame| app.draw(frame)).expect("a picture");
    });
}
