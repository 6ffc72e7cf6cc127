//! The screen: pictures of real moments at three sizes, in text and in style; and that it
//! draws at any size and from any figures.

use mastwright_core::signal::Signal;
use mastwright_core::units::{CentiDegrees, DeciCelsius, Millivolts, Permille, Rpm};
use mastwright_core::{Fault, Faults, Halt, State};
use mastwright_sim::cockpit::screen::view::{
    Debrief, Desk, DeskList, DeskRow, Help, Lesson, Overlay, Speed,
};
use mastwright_sim::cockpit::screen::{
    Areas, Glyphs, LEAST, SAFETY, Target, Theme, View, draw, picture,
};
use mastwright_sim::controls::Push;
use mastwright_sim::scenario::Scenario;
use mastwright_tests::screens::{Moment, drawn, text};
use proptest::prelude::*;
use ratatui::Terminal;
use ratatui::backend::TestBackend;
use ratatui::buffer::Buffer;
use ratatui::style::{Color, Modifier};

const SIZES: [(u16, u16); 3] = [(80, 24), (120, 40), (200, 60)];

fn lowering() -> Moment {
    Moment::of("emergency-stow", |frame| {
        frame.outputs.indications.state == State::StowMast && frame.truth.mast.position < 0.5
    })
}

fn full_power() -> Moment {
    Moment::of("emergency-stow", |frame| frame.tick == 1_300)
}

fn denied() -> Moment {
    Moment::of("parking-sensor-fails", |frame| {
        frame.outputs.indications.state == State::Halted(Halt::NotParked)
    })
}

/// Alerts of all three classes, one of them acknowledged.
fn alerted() -> Moment {
    let scenario = Scenario::parse(
        "three-classes.toml",
        r#"
title = "Alerts of three classes"
briefing = "Invented demonstration; no real aircraft, place or person."
length = 20
[start]
mast = "deployed"
height = 400
airspeed = 27
[[fault]]
at = 1.0
target = "sensor.airspeed"
kind = "dropout"
[[fault]]
at = 4.0
target = "sensor.propeller.angle-b"
kind = "dropout"
[[fault]]
at = 5.0
target = "sensor.mast.stowed-switch"
kind = "stuck-closed"
[[action]]
at = 3.0
do = "acknowledge"
"#,
    )
    .expect("in order");
    Moment::flown(scenario, |frame| frame.tick == 600)
}

/// Runs of cells that look alike, one line for each that is not plain.
fn styles(buffer: &Buffer) -> String {
    let width = usize::from(buffer.area.width.max(1));
    let mut out = String::new();
    for (row, cells) in buffer.content().chunks(width).enumerate() {
        let mut from = 0;
        while from < cells.len() {
            let look = |at: usize| (cells[at].fg, cells[at].bg, cells[at].modifier);
            let to = (from..cells.len())
                .find(|at| look(*at) != look(from))
                .unwrap_or(cells.len());
            let (fg, bg, modifier) = look(from);
            let words: String = cells[from..to].iter().map(|cell| cell.symbol()).collect();
            if look(from) != (Color::Reset, Color::Reset, Modifier::empty()) {
                assert_eq!(bg, Color::Reset, "no background colour is used");
                out.push_str(&format!("{row:>2} {fg}/{modifier:?}: {}\n", words.trim()));
            }
            from = to;
        }
    }
    out
}

fn snapshot(name: &str, view: &View<'_>) {
    for size in SIZES {
        let (buffer, _) = drawn(view, size);
        insta::assert_snapshot!(format!("{name}-{}x{}", size.0, size.1), text(&buffer));
    }
    let (buffer, _) = drawn(view, SIZES[0]);
    insta::assert_snapshot!(format!("{name}-styles"), styles(&buffer));
}

#[test]
fn a_mast_coming_down() {
    snapshot("lowering", &lowering().view());
}

#[test]
fn full_power_in_flight() {
    snapshot("full-power", &full_power().view());
}

#[test]
fn a_denial_is_spelled_out_with_the_signal_behind_it() {
    let moment = denied();
    let (buffer, _) = drawn(&moment.view(), LEAST);
    let text = text(&buffer);
    assert!(
        text.contains("will not stow: propeller not proven parked: source B stale"),
        "{text}"
    );
    assert!(text.contains("way out: "), "{text}");
    snapshot("denied", &moment.view());
}

#[test]
fn alerts_of_three_classes() {
    let moment = alerted();
    let faults = moment.frame().outputs.indications.faults;
    let wanted = Fault::AirspeedUnknown | Fault::BladeSensorLost | Fault::MastContradiction;
    assert!(faults.is_superset(wanted), "{faults:?}");
    snapshot("alerts", &moment.view());
}

#[test]
fn truth_beside_belief() {
    let moment = denied();
    let mut view = moment.view();
    view.compare = true;
    snapshot("compare", &view);
}

#[test]
fn help_over_the_flight() {
    let rows: Vec<(String, String)> = [
        ("", "Hands"),
        ("d", "select deploy"),
        ("s", "select stow"),
        ("x", "throw or release stop-and-stow"),
        ("", "Time"),
        ("space", "pause, go on"),
    ]
    .map(|(keys, what)| (keys.to_owned(), what.to_owned()))
    .to_vec();
    let moment = lowering();
    let mut view = moment.view();
    view.overlay = Overlay::Help(Help {
        rows: &rows,
        scroll: 0,
    });
    snapshot("help", &view);
    for size in SIZES {
        assert!(text(&drawn(&view, size).0).contains(SAFETY), "{size:?}");
    }
}

#[test]
fn the_fault_desk() {
    let rows = [
        (
            "sensor.propeller.angle-a/dropout",
            "the blade angle source A falls silent",
        ),
        (
            "sensor.propeller.angle-b/dropout",
            "the blade angle source B falls silent",
        ),
    ]
    .map(|(name, words)| DeskRow { name, words });
    let armed = ["mechanics.mast-jam when mast < 50 %".to_owned()];
    let active = ["sensor.airspeed/dropout".to_owned()];
    let moment = full_power();
    let mut view = moment.view();
    view.overlay = Overlay::Desk(Desk {
        search: "angle drop",
        rows: &rows,
        total: 180,
        order: "at once, until cleared",
        focus: DeskList::Matches,
        selected: 1,
        armed: &armed,
        active: &active,
    });
    snapshot("desk", &view);
    let (_, areas) = drawn(&view, SIZES[0]);
    let targets: Vec<Target> = areas.iter().map(|(_, target)| target).collect();
    assert!(targets.contains(&Target::DeskRow(DeskList::Matches, 1)));
    assert!(targets.contains(&Target::DeskRow(DeskList::Armed, 0)));
    assert!(targets.contains(&Target::Close));
    assert!(targets.contains(&Target::Stop), "the stop stays in reach");
}

#[test]
fn a_lesson_with_its_cue_and_hint() {
    let moment = full_power();
    let mut view = moment.view();
    view.lesson = Some(Lesson {
        title: "Emergency stow from full power",
        step: Some((2, 4)),
        briefing: None,
        cue: Some("Smoke is smelt. Stop the propeller and put the mast away."),
        left: Some(6.4),
        hint: Some("One guarded switch does both."),
    });
    snapshot("lesson", &view);
}

#[test]
fn a_briefing_and_a_debrief_are_pages_to_read() {
    let moment = full_power();
    let mut view = moment.view();
    view.lesson = Some(Lesson {
        title: "Emergency stow from full power",
        briefing: Some("# What you fly\nThe mast is out and the throttle open."),
        ..Lesson::default()
    });
    snapshot("briefing", &view);
    let pages = [
        "# What was done\nyes stop-and-stow thrown after 1.8 s (within 5 s)\n\
         NO throttle closed after 9.0 s (within 5 s)"
            .to_owned(),
        "# Why".to_owned(),
    ];
    view.overlay = Overlay::Debrief(Debrief {
        title: "Debrief",
        pages: &pages,
        page: 0,
        scroll: 0,
    });
    snapshot("debrief", &view);
}

#[test]
fn the_trainee_is_told_of_no_injected_fault() {
    let moment = denied();
    let mut view = moment.view();
    let told = |view: &View<'_>, size| text(&drawn(view, size).0);
    assert!(told(&view, SIZES[1]).contains("FAULT"));
    view.trainee = true;
    view.compare = true;
    for size in SIZES {
        let text = told(&view, size);
        assert!(
            !text.contains("FAULT") && !text.contains("dropout"),
            "{text}"
        );
        assert!(!text.contains('≠'), "{text}");
    }
    view.overlay = Overlay::Desk(Desk {
        search: "secret",
        ..Desk::default()
    });
    assert!(!told(&view, SIZES[0]).contains("secret"));
}

#[test]
fn without_colours_no_cell_has_one_and_the_text_is_the_same() {
    for moment in [lowering(), denied(), alerted()] {
        let mut view = moment.view();
        view.compare = true;
        let (coloured, _) = drawn(&view, SIZES[2]);
        view.theme = Theme::mono();
        let (mono, _) = drawn(&view, SIZES[2]);
        assert_eq!(
            text(&coloured),
            text(&mono),
            "colour carries no text of its own"
        );
        assert!(
            coloured
                .content()
                .iter()
                .any(|cell| cell.fg != Color::Reset)
        );
        for cell in mono.content() {
            assert_eq!((cell.fg, cell.bg), (Color::Reset, Color::Reset));
        }
    }
}

/// Colours of the row of alerts that says `word`.
fn colours_of(buffer: &Buffer, word: &str) -> Vec<Color> {
    let width = usize::from(buffer.area.width);
    let row = buffer
        .content()
        .chunks(width)
        .find(|row| {
            row.iter()
                .map(|cell| cell.symbol())
                .collect::<String>()
                .contains(word)
        })
        .unwrap_or_else(|| panic!("no row says {word}"));
    let right = &row[width / 2..];
    let mut colours: Vec<Color> = right.iter().map(|cell| cell.fg).collect();
    colours.dedup();
    colours
}

/// Red for a warning, amber for a caution, neither for an advisory: 14 CFR 23.1322 (1999)
/// and 25.1322 (seen), used as models.
#[test]
fn a_warning_is_red_a_caution_amber_and_an_advisory_neither() {
    let moment = alerted();
    let (buffer, _) = drawn(&moment.view(), LEAST);
    let amber = Color::Indexed(214);
    let warning = colours_of(&buffer, "WARNING!");
    assert!(warning.contains(&Color::Red) && !warning.contains(&amber));
    let caution = colours_of(&buffer, "CAUTION!");
    assert!(caution.contains(&amber) && !caution.contains(&Color::Red));
    let advisory = colours_of(&buffer, "advisory");
    assert!(!advisory.contains(&Color::Red) && !advisory.contains(&amber));
}

#[test]
fn red_and_amber_stand_for_alerts_and_for_nothing_else() {
    for (moment, compare) in [(lowering(), true), (denied(), true), (alerted(), false)] {
        let mut view = moment.view();
        view.compare = compare;
        for size in SIZES {
            let (buffer, _) = drawn(&view, size);
            let coloured = styles(&buffer);
            let alerting = coloured
                .lines()
                .filter(|line| line.contains(" Red/") || line.contains(" 214/"));
            for line in alerting {
                let words = line.rsplit(": ").next().unwrap_or_default();
                let class = ["WARNING", "CAUTION", "W", "C"];
                assert!(
                    class
                        .iter()
                        .any(|class| words.to_uppercase().contains(class)),
                    "{line}"
                );
            }
        }
    }
}

#[test]
fn letters_alone_can_draw_it_all() {
    let moment = denied();
    let mut view = moment.view();
    view.compare = true;
    view.theme = Theme::mono().with(Glyphs::Ascii);
    for size in SIZES {
        let (buffer, _) = drawn(&view, size);
        let text = text(&buffer);
        assert!(text.is_ascii(), "{text}");
        assert!(
            !text.contains('?') || text.matches('?').count() <= 3,
            "{text}"
        );
    }
    view.theme = Theme::colour().with(Glyphs::Blocks);
    let text = text(&drawn(&view, SIZES[2]).0);
    assert!(text.chars().any(|sign| "▀▄█".contains(sign)));
    assert!(
        !text
            .chars()
            .any(|sign| ('\u{2801}'..='\u{28ff}').contains(&sign))
    );
}

#[test]
fn too_small_a_screen_says_what_it_needs() {
    let moment = lowering();
    for size in [(79, 24), (80, 23), (40, 10)] {
        let text = text(&drawn(&moment.view(), size).0).replace('\n', " ");
        assert!(text.contains("80 columns by 24 rows"), "{size:?}: {text}");
    }
}

#[test]
fn every_control_can_be_clicked_at_the_least_size_and_the_time_line_says_how_far() {
    let moment = lowering();
    let (_, areas) = drawn(&moment.view(), LEAST);
    let wanted = [
        Target::Throttle,
        Target::Selector(Push::Deploy),
        Target::Selector(Push::Hold),
        Target::Selector(Push::Stow),
        Target::Stop,
        Target::Acknowledge,
        Target::HeatTest,
        Target::AuxCharge,
        Target::BenchKey,
        Target::TimeLine,
        Target::Pause,
    ];
    for target in wanted {
        let (area, _) = areas
            .iter()
            .find(|(_, found)| *found == target)
            .unwrap_or_else(|| panic!("{target:?} cannot be clicked"));
        let first = areas.hit(area.x, area.y).expect("its first column");
        assert_eq!(first.target, target);
        let last = areas
            .hit(area.right() - 1, area.y)
            .expect("its last column");
        assert!((last.along - 1.0).abs() < 1e-9 || area.width == 1);
    }
}

#[test]
fn the_place_on_the_time_line_is_seen_in_any_theme() {
    let moment = lowering();
    for theme in [Theme::colour(), Theme::mono()] {
        let view = View {
            theme,
            ..moment.view()
        };
        let (buffer, areas) = drawn(&view, LEAST);
        let (line, _) = areas
            .iter()
            .find(|(_, target)| *target == Target::TimeLine)
            .expect("a time line");
        let here: Vec<_> = line
            .positions()
            .map(|place| &buffer[place])
            .filter(|cell| cell.symbol() == "█")
            .collect();
        assert_eq!(here.len(), 1);
        // A reversed full block would be as dark as its ground.
        assert!(!here[0].modifier.contains(Modifier::REVERSED));
    }
}

#[test]
fn what_a_long_flight_has_forgotten_is_crossed_out_on_the_time_line() {
    let moment = lowering();
    let mut view = moment.view();
    let line = |view: &View<'_>| -> String {
        let (buffer, areas) = drawn(view, LEAST);
        let (line, _) = areas
            .iter()
            .find(|(_, target)| *target == Target::TimeLine)
            .expect("a time line");
        line.positions()
            .map(|place| buffer[place].symbol().to_owned())
            .collect()
    };
    assert!(!line(&view).contains('×'));
    view.session.earliest = view.frame.tick / 2;
    let crossed = line(&view);
    let last = crossed.rfind('×').expect("crosses where it is forgotten");
    let first = crossed.find('━').expect("what can be gone back to");
    assert!(last < first, "{crossed}");
}

#[test]
fn a_rewound_session_shows_nothing_of_what_lies_ahead() {
    let early = Moment::of("emergency-stow", |frame| frame.tick == 300);
    let late = lowering();
    let mut view = late.view();
    view.frame = early.frame();
    view.session.speed = Speed::Paused;
    let text = text(&drawn(&view, SIZES[1]).0);
    assert!(text.contains("later entries lie ahead"), "{text}");
    assert!(!text.contains("StowBrake"), "{text}");
}

#[test]
fn a_picture_is_a_drawing_with_every_word_and_colour_of_the_screen() {
    let moment = alerted();
    let (buffer, _) = drawn(&moment.view(), SIZES[1]);
    let drawing = picture::svg(&buffer, "Alerts of three classes");
    assert!(drawing.starts_with("<svg ") && drawing.ends_with("</svg>\n"));
    for words in [
        "WARNING!",
        "CAUTION!",
        "advisory",
        "stop-and-stow",
        "#ff5c57",
        "#ffb000",
    ] {
        assert!(drawing.contains(words), "{words}");
    }
    assert!(!drawing.contains("http") || drawing.matches("http").count() == 1);
}

fn a_view_of_extremes<'a>(moment: &'a Moment, frame: &'a mastwright_sim::frame::Frame) -> View<'a> {
    View {
        frame,
        ..moment.view()
    }
}

fn any_number() -> impl Strategy<Value = f64> {
    prop_oneof![
        Just(f64::NAN),
        Just(f64::INFINITY),
        Just(f64::NEG_INFINITY),
        Just(f64::MAX),
        Just(f64::MIN_POSITIVE),
        Just(0.0),
        -2.0..2.0,
        -1e6..1e6,
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, ..ProptestConfig::default() })]

    #[test]
    fn no_size_and_no_figures_stop_it_from_drawing(
        size in (0u16..=220, 0u16..=70),
        numbers in proptest::collection::vec(any_number(), 16),
        faults in any::<u64>(),
        state in proptest::sample::select(State::ALL.to_vec()),
        bits in any::<u16>(),
        raw in any::<(i32, i16)>(),
    ) {
        let moment = denied_once();
        let mut frame = moment.frame().clone();
        let [a, b, c, d, e, f, g, h, ..] = numbers[..] else { unreachable!() };
        frame.truth.mast.position = a;
        frame.truth.mast.speed = b;
        frame.truth.doors = c;
        frame.truth.propeller.angle = d;
        frame.truth.propeller.speed = e;
        frame.truth.bus.voltage = f;
        frame.truth.bus.insulation = g;
        frame.truth.aircraft.height = h;
        frame.controls.throttle = numbers[8];
        frame.truth.motor_temperature = numbers[9];
        frame.inputs.propeller.angle_a = Signal::fresh(CentiDegrees::new(raw.0));
        frame.inputs.propeller.speed = Signal::fresh(Rpm::new(raw.1));
        frame.inputs.bus.voltage = Signal::fresh(Millivolts::new(raw.0));
        frame.inputs.thermal.motor = Signal::fresh(DeciCelsius::new(raw.1));
        frame.inputs.mast.position = Signal::fresh(Permille::new(raw.1));
        frame.tick = if bits & 1 == 0 { u64::MAX } else { u64::from(bits) };
        frame.powered = bits & 2 == 0;
        frame.heat_warning = bits & 4 == 0;
        let lamps = &mut frame.outputs.indications;
        lamps.state = state;
        lamps.faults = Faults::from_u64_truncated(faults);
        lamps.sounding = Faults::from_u64_truncated(faults >> 1) & lamps.faults;
        let samples: Vec<f32> = numbers.iter().map(|number| *number as f32).collect();
        let mut view = a_view_of_extremes(moment, &frame);
        view.trends.motor = &samples;
        view.trends.bus = &samples;
        view.trends.every = numbers[10];
        view.compare = bits & 8 == 0;
        view.trainee = bits & 16 == 0;
        view.caption = (bits & 32 == 0).then_some("A long caption that needs more than one row of a small screen to be read in full, as captions do.");
        view.session.latest = if bits & 64 == 0 { 0 } else { u64::MAX };
        view.session.branched_at = (bits & 128 == 0).then_some(u64::MAX);
        view.overlay = match bits >> 8 & 3 {
            0 => Overlay::Help(Help::default()),
            1 => Overlay::Desk(Desk { selected: usize::MAX, ..Desk::default() }),
            2 => Overlay::Debrief(Debrief { page: usize::MAX - 1, scroll: usize::MAX / 2, ..Debrief::default() }),
            _ => Overlay::None,
        };
        view.theme = match bits >> 10 & 3 {
            0 => Theme::mono(),
            1 => Theme::mono().with(Glyphs::Ascii),
            2 => Theme::colour().with(Glyphs::Blocks),
            _ => Theme::colour(),
        };
        let mut areas = Areas::default();
        let mut terminal = Terminal::new(TestBackend::new(size.0, size.1)).expect("a terminal");
        terminal.draw(|target| draw(target, &view, &mut areas)).expect("drawn");
        for (area, _) in areas.iter() {
            prop_assert!(area.right() <= size.0 && area.bottom() <= size.1);
        }
    }
}

fn denied_once() -> &'static Moment {
    static DENIED: std::sync::LazyLock<Moment> = std::sync::LazyLock::new(denied);
    &DENIED
}
