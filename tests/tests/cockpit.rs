//! The cockpit under whatever a person does: no panic, and the same flight again.

use std::time::Duration;

use mastwright_sim::cockpit::app::{App, Options};
use mastwright_sim::cockpit::desk::Desk;
use mastwright_sim::cockpit::keys::Keys;
use mastwright_sim::cockpit::timeline::{Order, Timeline};
use mastwright_sim::controls::Push;
use mastwright_sim::faults::catalogue;
use mastwright_sim::frame::Frame;
use mastwright_sim::scenario::Scenario;
use mastwright_sim::scenario::deed::Deed;
use mastwright_sim::scenario::shipped::{SHIPPED, Shipped};
use proptest::collection::vec;
use proptest::prelude::*;
use ratatui::Terminal;
use ratatui::backend::TestBackend;
use ratatui::crossterm::event::{
    Event, KeyCode, KeyEvent, KeyModifiers, MouseButton, MouseEvent, MouseEventKind,
};

fn scenario(name: &str) -> Scenario {
    let shipped = Shipped::named(name).expect("a shipped scenario");
    Scenario::parse(&shipped.file(), shipped.text).expect("shipped scenarios parse")
}

fn any_scenario() -> impl Strategy<Value = Scenario> {
    (0..SHIPPED.len()).prop_map(|index| scenario(SHIPPED[index].name))
}

/// What can come to a session.
#[derive(Clone, Debug)]
enum Comes {
    Key(KeyCode, KeyModifiers),
    Mouse(MouseEventKind, u16, u16),
    Resize(u16, u16),
    Time(u64),
}

fn keys() -> impl Strategy<Value = KeyCode> {
    let named = prop::sample::select(vec![
        KeyCode::Enter,
        KeyCode::Esc,
        KeyCode::Tab,
        KeyCode::BackTab,
        KeyCode::Backspace,
        KeyCode::Delete,
        KeyCode::Insert,
        KeyCode::Up,
        KeyCode::Down,
        KeyCode::Left,
        KeyCode::Right,
        KeyCode::Home,
        KeyCode::End,
        KeyCode::PageUp,
        KeyCode::PageDown,
        KeyCode::F(1),
        KeyCode::Null,
        KeyCode::CapsLock,
    ]);
    prop_oneof![
        3 => named,
        4 => prop::char::range(' ', '~').prop_map(KeyCode::Char),
        1 => any::<char>().prop_map(KeyCode::Char),
    ]
}

fn comes() -> impl Strategy<Value = Comes> {
    let modifiers = prop_oneof![
        8 => Just(KeyModifiers::NONE),
        1 => Just(KeyModifiers::SHIFT),
        1 => Just(KeyModifiers::ALT),
    ];
    let mouse = prop::sample::select(vec![
        MouseEventKind::Down(MouseButton::Left),
        MouseEventKind::Down(MouseButton::Right),
        MouseEventKind::Up(MouseButton::Left),
        MouseEventKind::Drag(MouseButton::Left),
        MouseEventKind::Moved,
        MouseEventKind::ScrollUp,
        MouseEventKind::ScrollDown,
        MouseEventKind::ScrollLeft,
    ]);
    prop_oneof![
        8 => (keys(), modifiers).prop_map(|(key, modifiers)| Comes::Key(key, modifiers)),
        3 => (mouse, 0..220_u16, 0..70_u16).prop_map(|(kind, x, y)| Comes::Mouse(kind, x, y)),
        1 => (1..220_u16, 1..70_u16).prop_map(|(width, height)| Comes::Resize(width, height)),
        4 => (0..1500_u64).prop_map(Comes::Time),
    ]
}

/// What can come to a timeline.
#[derive(Clone, Debug)]
enum Step {
    On(u16),
    Order(Order),
    Seek(u32),
    TakeBack,
}

fn orders() -> impl Strategy<Value = Order> {
    let entries: Vec<_> = catalogue().collect();
    let deed = prop_oneof![
        (0.0..=1.0).prop_map(|to| Deed::Throttle { to, over: 0 }),
        (
            prop::sample::select(vec![Push::Hold, Push::Deploy, Push::Stow]),
            1..300_u64
        )
            .prop_map(|(push, lasting)| Deed::Select { push, lasting }),
        any::<bool>().prop_map(Deed::Stop),
        (1..100_u64).prop_map(Deed::Acknowledge),
        any::<bool>().prop_map(Deed::BenchKey),
        (1..50_u64).prop_map(|lasting| Deed::PowerOff(Some(lasting))),
    ];
    prop_oneof![
        6 => deed.prop_map(Order::Do),
        2 => (0..entries.len()).prop_map(move |index| Order::Inject(entries[index].fault())),
        1 => (0..6_usize).prop_map(Order::Clear),
        1 => Just(Order::ClearAll),
    ]
}

fn steps() -> impl Strategy<Value = Step> {
    prop_oneof![
        4 => (1..900_u16).prop_map(Step::On),
        4 => orders().prop_map(Step::Order),
        2 => (0..12_000_u32).prop_map(Step::Seek),
        1 => Just(Step::TakeBack),
    ]
}

/// Every frame of the branch that is flown, by tick.
struct Seen(Vec<Frame>);

impl Seen {
    fn see(&mut self, frame: &Frame) {
        let tick = usize::try_from(frame.tick).expect("a short flight");
        if let Some(before) = self.0.get(tick) {
            assert_eq!(before, frame, "tick {tick} came out otherwise");
        } else {
            assert_eq!(tick, self.0.len(), "a tick was left out");
            self.0.push(frame.clone());
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(96))]

    #[test]
    fn no_sequence_of_keys_clicks_sizes_and_times_panics(
        scenario in any_scenario(),
        demo: bool,
        all in vec(comes(), 1..80),
    ) {
        let options = Options { demo, ..Options::default() };
        let mut app = App::new(Desk::new(scenario, 3), options);
        let mut terminal = Terminal::new(TestBackend::new(80, 24)).expect("a backend");
        for one in all {
            match one {
                Comes::Key(key, modifiers) => app.handle(&Event::Key(KeyEvent::new(key, modifiers))),
                Comes::Mouse(kind, column, row) => app.handle(&Event::Mouse(MouseEvent {
                    kind,
                    column,
                    row,
                    modifiers: KeyModifiers::NONE,
                })),
                Comes::Resize(width, height) => {
                    terminal = Terminal::new(TestBackend::new(width, height)).expect("a backend");
                    app.handle(&Event::Resize(width, height));
                }
                Comes::Time(millis) => app.advance(Duration::from_millis(millis)),
            }
            terminal.draw(|frame| app.draw(frame)).expect("a picture");
        }
        prop_assert!(app.desk().timeline().now() <= app.desk().timeline().end());
    }

    #[test]
    fn however_it_is_rewound_a_branch_flies_the_same_frames(
        scenario in any_scenario(),
        all in vec(steps(), 1..40),
    ) {
        let mut flight = Timeline::new(&scenario, 5);
        let mut seen = Seen(vec![flight.frame().clone()]);
        for step in all {
            match step {
                Step::On(ticks) => for _ in 0..ticks {
                    seen.see(flight.step());
                },
                Step::Order(order) => {
                    let branch = flight.branch();
                    flight.give(order);
                    if flight.branch() != branch {
                        seen.0.truncate(usize::try_from(flight.now()).expect("short") + 1);
                    }
                }
                Step::Seek(tick) => {
                    flight.seek(u64::from(tick));
                    seen.see(flight.frame());
                }
                Step::TakeBack => if flight.take_back() {
                    // Another branch: its frames are its own, and are seen twice.
                    let (shown, end) = (flight.now(), flight.end());
                    flight.seek(0);
                    seen = Seen(vec![flight.frame().clone()]);
                    while flight.now() < end {
                        seen.see(flight.step());
                    }
                    flight.seek(shown);
                    seen.see(flight.frame());
                },
            }
        }
    }
}

/// Resident memory of this process, bytes.
#[cfg(target_os = "linux")]
fn resident() -> u64 {
    let status = std::fs::read_to_string("/proc/self/status").expect("Linux tells it");
    let line = status.lines().find(|line| line.starts_with("VmRSS:"));
    let kib = line.and_then(|line| line.split_whitespace().nth(1));
    kib.and_then(|kib| kib.parse::<u64>().ok())
        .expect("a number")
        * 1024
}

#[cfg(target_os = "linux")]
#[test]
fn an_hour_of_flight_with_busy_hands_grows_the_process_by_less_than_200_mib() {
    let before = resident();
    let mut desk = Desk::new(scenario("normal-flight"), 1);
    for tick in 0..360_000_u32 {
        if tick % 50 == 0 {
            desk.throttle(f64::from(tick / 50 % 11) / 10.0);
        }
        desk.step();
    }
    let grown = resident().saturating_sub(before);
    println!("an hour grows the process by {} KiB", grown / 1024);
    assert!(grown < 200 << 20, "{grown} bytes");
    assert!(desk.timeline().bytes() > 0);
}

#[test]
fn the_same_orders_at_the_same_ticks_give_the_same_session() {
    let fly = || {
        let mut desk = Desk::new(scenario("emergency-stow"), 9);
        for tick in 0..3000 {
            if tick == 700 {
                desk.toggle_stop();
            }
            desk.step();
        }
        (desk.frame().clone(), desk.verdict(), desk.entries(1000))
    };
    assert_eq!(fly(), fly());
}

#[test]
fn the_page_of_keys_holds_the_table_of_keys() {
    const MARK: &str = "--test cockpit -->\n";
    let file = concat!(env!("CARGO_MANIFEST_DIR"), "/../docs/cockpit-keys.md");
    let page = std::fs::read_to_string(file).expect("the page of keys");
    let start = page.find(MARK).expect("the mark") + MARK.len();
    let mut table = String::new();
    let mut heading = "";
    for (row, chords) in Keys::default().rows() {
        if row.heading != heading {
            heading = row.heading;
            table += &format!("\n### {heading}\n\n| action | keys | mouse | what it does |\n");
            table += "|---|---|---|---|\n";
        }
        let keys: Vec<String> = chords.iter().map(|chord| format!("`{chord}`")).collect();
        table += &format!(
            "| `{}` | {} | {} | {} |\n",
            row.name,
            keys.join(" "),
            row.mouse,
            row.help
        );
    }
    let wanted = format!("{}{table}", &page[..start]);
    if std::env::var_os("MASTWRIGHT_RENEW").is_some() {
        std::fs::write(file, &wanted).expect("the page can be written");
        return;
    }
    assert_eq!(
        page, wanted,
        "renew it: MASTWRIGHT_RENEW=1 cargo test --test cockpit"
    );
}
