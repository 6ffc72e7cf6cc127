use crossterm::event::{KeyCode, KeyModifiers};
use ratatui::Terminal;
use ratatui::backend::TestBackend;

use super::*;
use crate::cockpit::speed::Speed;
use crate::scenario::Scenario;
use crate::scenario::shipped::Shipped;

fn app(name: &str, demo: bool) -> App {
    let shipped = Shipped::named(name).expect("shipped");
    let scenario = Scenario::parse(&shipped.file(), shipped.text).expect("it parses");
    let options = Options {
        demo,
        ..Options::default()
    };
    App::new(Desk::new(scenario, 1), options)
}

fn press(app: &mut App, keys: &[KeyCode]) {
    for code in keys {
        app.handle(&Event::Key(KeyEvent::new(*code, KeyModifiers::NONE)));
    }
}

fn letters(app: &mut App, text: &str) {
    text.chars()
        .for_each(|letter| press(app, &[KeyCode::Char(letter)]));
}

fn seconds(app: &mut App, count: u32) {
    for _ in 0..count * 40 {
        app.advance(Duration::from_millis(25));
    }
}

#[test]
fn the_briefing_is_read_before_time_passes() {
    let mut app = app("emergency-stow", false);
    seconds(&mut app, 2);
    assert_eq!(app.desk().frame().tick, 0);
    press(&mut app, &[KeyCode::Enter]);
    seconds(&mut app, 2);
    assert_eq!(app.desk().frame().tick, 200);
}

#[test]
fn an_emergency_stow_is_flown_by_keys_rewound_and_flown_otherwise() {
    let mut app = app("emergency-stow", false);
    press(&mut app, &[KeyCode::Enter]);
    seconds(&mut app, 8);
    letters(&mut app, "x0");
    seconds(&mut app, 60);
    assert!(app.desk().frame().outputs.indications.stowed);
    letters(&mut app, " ");
    press(&mut app, &[KeyCode::Home]);
    assert!(app.desk().frame().tick == 0 && app.desk().timeline().end() > 6000);
    press(&mut app, &[KeyCode::End, KeyCode::PageUp, KeyCode::Left]);
    let there = app.desk().timeline().end() - 1100;
    assert_eq!(app.desk().frame().tick, there);
    letters(&mut app, "d");
    assert_eq!(app.desk().timeline().branch(), (2, Some(there)));
    letters(&mut app, "o");
    assert_eq!(app.desk().timeline().branch().0, 1);
}

#[test]
fn leaving_is_asked_about_once_and_leaving_at_once_is_not() {
    let mut one = app("normal-flight", false);
    press(&mut one, &[KeyCode::Enter]);
    letters(&mut one, "q");
    assert!(!one.is_over());
    letters(&mut one, "aq");
    assert!(!one.is_over(), "another key takes it back");
    letters(&mut one, "q");
    assert!(one.is_over());
    let mut other = app("normal-flight", false);
    let leave = KeyEvent::new(KeyCode::Char('c'), KeyModifiers::CONTROL);
    other.handle(&Event::Key(leave));
    assert!(other.is_over(), "even under the briefing");
}

#[test]
fn in_the_fault_desk_letters_search_and_do_nothing_else() {
    let mut app = app("normal-flight", false);
    press(&mut app, &[KeyCode::Enter]);
    letters(&mut app, "fmast-jam");
    assert!(!app.desk().is_taken());
    press(&mut app, &[KeyCode::Enter, KeyCode::Esc]);
    seconds(&mut app, 1);
    assert_eq!(app.desk().present().world().active_faults().count(), 1);
    letters(&mut app, "F");
    seconds(&mut app, 1);
    assert_eq!(app.desk().present().world().active_faults().count(), 0);
}

#[test]
fn a_click_does_what_the_picture_offers_there() {
    let mut app = app("normal-flight", false);
    press(&mut app, &[KeyCode::Enter]);
    app.areas
        .add(ratatui::layout::Rect::new(0, 0, 11, 1), Target::Throttle);
    app.areas
        .add(ratatui::layout::Rect::new(0, 1, 5, 1), Target::Stop);
    let mut click = |column, row| {
        app.handle(&Event::Mouse(MouseEvent {
            kind: MouseEventKind::Down(MouseButton::Left),
            column,
            row,
            modifiers: KeyModifiers::NONE,
        }));
        app.desk().hands()
    };
    assert!((click(5, 0).throttle - 0.5).abs() < 1e-12);
    assert!(click(2, 1).stop);
    assert!(click(40, 20).stop, "nothing there");
}

#[test]
fn a_click_on_the_time_line_goes_to_that_share_of_the_flight() {
    let mut app = app("emergency-stow", false);
    press(&mut app, &[KeyCode::Enter]);
    seconds(&mut app, 10);
    let mut terminal = Terminal::new(TestBackend::new(120, 40)).expect("memory");
    terminal.draw(|frame| app.draw(frame)).expect("memory");
    let (line, _) = app
        .areas
        .iter()
        .find(|(_, target)| *target == Target::TimeLine)
        .expect("a time line");
    let mut go = |kind, column| {
        app.handle(&Event::Mouse(MouseEvent {
            kind,
            column,
            row: line.y,
            modifiers: KeyModifiers::NONE,
        }));
        app.desk().frame().tick
    };
    let down = MouseEventKind::Down(MouseButton::Left);
    let drag = MouseEventKind::Drag(MouseButton::Left);
    assert_eq!(go(down, line.x), 0);
    // A cell of the line is a share of the whole scenario, of which 10 s were flown.
    let far = go(drag, line.x + 3);
    assert!(far > 0 && far < 1_000, "{far}");
    assert_eq!(go(down, line.right() - 1), 1_000, "no further than flown");
}

#[test]
fn a_lesson_is_briefed_cued_flown_and_debriefed() {
    let lesson = crate::lesson::find("emergency-stow").expect("shipped");
    let mut app = App::new(Desk::of_lesson(lesson, 1), Options::default());
    press(&mut app, &[KeyCode::Enter]);
    seconds(&mut app, 1);
    letters(&mut app, "d");
    while app.over == Over::Nothing {
        app.advance(Duration::from_millis(500));
    }
    let Over::Debrief { pages, .. } = &app.over else {
        panic!("{:?}", app.over);
    };
    assert!(pages[0].contains("deploy"), "{}", pages[0]);
    let debrief = app.desk().debrief().expect("of the lesson");
    assert!(!debrief.hands.is_empty(), "the push was seen");
    press(&mut app, &[KeyCode::Esc, KeyCode::Home]);
    assert_eq!(app.desk().present().progress().expect("followed").tick(), 0);
}

/// The captions of a demonstration that has played itself to its debrief.
fn captions_of(name: &str) -> Vec<String> {
    let mut app = app(name, true);
    let mut captions = Vec::new();
    for _ in 0..12_000 {
        app.advance(Duration::from_millis(50));
        if let Some(caption) = app.demo.as_ref().and_then(Demo::caption)
            && captions.last().map(String::as_str) != Some(caption)
        {
            captions.push(caption.to_owned());
        }
    }
    assert!(matches!(app.over, Over::Debrief { .. }), "{:?}", app.over);
    captions
}

#[test]
fn the_demonstration_plays_itself_in_its_own_words_and_ends_in_the_debrief() {
    let captions = captions_of("emergency-stow");
    let says = |words: &str| captions.iter().position(|text| text.contains(words));
    let thrown = says("switch is thrown");
    assert!(
        thrown.is_some() && thrown < says("Stowed, in bounded time"),
        "{captions:#?}"
    );
}

#[test]
fn a_demonstration_without_words_of_its_own_tells_what_happens() {
    let captions = captions_of("mast-jams");
    let says = |words: &str| captions.iter().any(|text| text.contains(words));
    assert!(says("The pilot: ") && says("It fails: "), "{captions:#?}");
    assert!(says("lowering the mast"), "{captions:#?}");
}

#[test]
fn a_person_who_takes_the_controls_ends_the_demonstration() {
    let mut app = app("emergency-stow", true);
    seconds(&mut app, 2);
    letters(&mut app, "x");
    assert!(app.demo.is_none() && app.desk().hands().stop);
}

#[test]
fn the_speed_goes_up_and_down_its_ladder() {
    let mut app = app("normal-flight", false);
    press(&mut app, &[KeyCode::Enter]);
    letters(&mut app, "+");
    assert_eq!(app.desk().speed(), Speed::Fast);
    letters(&mut app, "---");
    assert_eq!(app.desk().speed(), Speed::Slow);
}

#[test]
fn a_picture_is_drawn_at_any_size_under_anything_that_lies_over_it() {
    let mut app = app("emergency-stow", false);
    for key in ["", "\n", "?", "\n", "f", "\x1b", "r"] {
        match key {
            "\n" => press(&mut app, &[KeyCode::Enter]),
            "\x1b" => press(&mut app, &[KeyCode::Esc]),
            other => letters(&mut app, other),
        }
        seconds(&mut app, 1);
        for (width, height) in [(1, 1), (20, 5), (80, 24), (120, 40), (200, 60)] {
            let mut terminal = Terminal::new(TestBackend::new(width, height)).expect("a backend");
            terminal.draw(|frame| app.draw(frame)).expect("a picture");
            assert!(!app.is_changed());
        }
    }
}

#[test]
fn while_nothing_moves_nothing_is_to_be_drawn() {
    let mut app = app("normal-flight", false);
    let mut terminal = Terminal::new(TestBackend::new(80, 24)).expect("a backend");
    terminal.draw(|frame| app.draw(frame)).expect("a picture");
    seconds(&mut app, 10);
    assert!(!app.is_changed() && app.until_next().is_none());
}
