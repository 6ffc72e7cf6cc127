//! A trainer and a trainee over a real socket, in one process.

use std::fs::{self, Permissions};
use std::io::Write;
use std::os::unix::fs::PermissionsExt;
use std::os::unix::net::{UnixListener, UnixStream};
use std::path::{Path, PathBuf};
use std::time::Duration;

use crossterm::event::{Event, KeyCode, KeyEvent, KeyModifiers};
use ratatui::Terminal;
use ratatui::backend::TestBackend;
use tempfile::TempDir;

use super::*;
use crate::cockpit::app::{App, Options};
use crate::cockpit::plain::Plain;
use crate::report::paint::Paint;
use crate::scenario::Scenario;
use crate::scenario::shipped::Shipped;

const JAM: &str = "mechanics.mast-jam acts";

fn folder() -> (TempDir, PathBuf) {
    let folder = tempfile::tempdir().expect("a folder for files that pass");
    let path = folder.path().join("own").join("trainer.sock");
    (folder, path)
}

fn desk() -> Desk {
    let shipped = Shipped::named("normal-flight").expect("shipped");
    let scenario = Scenario::parse(&shipped.file(), shipped.text).expect("it parses");
    Desk::new(scenario, 1)
}

fn lesson() -> Desk {
    let lesson = crate::lesson::find("emergency-stow").expect("shipped");
    Desk::of_lesson(lesson, 1)
}

fn trainee(desk: Desk) -> App {
    let mut app = App::new(desk, Options::default());
    app.hide_faults();
    app.handle(&Event::Key(KeyEvent::new(
        KeyCode::Enter,
        KeyModifiers::NONE,
    )));
    app
}

/// A trainer at work with a trainee's session.
struct Pair {
    post: Post,
    call: Call,
    ear: Ear,
}

impl Pair {
    fn meet(path: &Path, app: &mut dyn Trainee) -> Self {
        let mut post = Post::open(path).expect("the place is free");
        let call = Call::connect(path).expect("it listens");
        let mut ear = call.ear().expect("a second hold");
        post.attend(app);
        assert!(matches!(ear.hear(), Some(Ok(Word::Welcome { .. }))));
        Self { post, call, ear }
    }

    fn order(&mut self, app: &mut dyn Trainee, order: &str) -> Word {
        self.call.order(order).expect("it listens");
        self.answer(app)
    }

    fn answer(&mut self, app: &mut dyn Trainee) -> Word {
        self.post.attend(app);
        let heard = self.ear.hear().expect("it is there");
        heard.expect("it speaks the same version")
    }
}

fn lines(word: Word) -> Vec<String> {
    let Word::Done { lines, .. } = word else {
        panic!("not obeyed: {word:?}");
    };
    lines
}

fn why(word: Word) -> String {
    let Word::Refused { why, remedy } = word else {
        panic!("not refused: {word:?}");
    };
    assert!(!remedy.is_empty());
    why
}

fn seconds(app: &mut App, count: u32) {
    for _ in 0..count * 10 {
        app.advance(Duration::from_millis(100));
    }
}

fn screen(app: &mut App) -> String {
    let mut terminal = Terminal::new(TestBackend::new(160, 50)).expect("memory");
    terminal.draw(|frame| app.draw(frame)).expect("memory");
    terminal.backend().to_string()
}

fn mode(path: &Path) -> u32 {
    let found = fs::symlink_metadata(path).expect("it is there");
    found.permissions().mode() & 0o7777
}

#[test]
fn folder_and_socket_are_their_owners_alone_and_the_socket_goes_in_the_end() {
    let (_folder, path) = folder();
    let post = Post::open(&path).expect("the place is free");
    assert_eq!(mode(path.parent().expect("a folder")), 0o700);
    assert_eq!(mode(&path), 0o600);
    drop(post);
    assert!(!path.exists());
}

#[test]
fn a_folder_open_to_others_is_refused_by_both() {
    let (_folder, path) = folder();
    let own = path.parent().expect("a folder");
    fs::create_dir(own).expect("a folder");
    let listener = UnixListener::bind(&path).expect("a socket");
    fs::set_permissions(own, Permissions::from_mode(0o755)).expect("ours");
    for refused in [Post::open(&path).err(), Call::connect(&path).err()] {
        let refused = refused.expect("refused");
        assert!(refused.why.contains("open to others (mode 0755)"));
        assert!(refused.remedy.contains("chmod 700"));
    }
    drop(listener);
}

#[test]
fn a_stale_socket_is_replaced_and_what_is_none_is_kept() {
    let (_folder, path) = folder();
    drop(Post::open(&path).expect("the place is free"));
    drop(UnixListener::bind(&path).expect("a socket"));
    fs::set_permissions(&path, Permissions::from_mode(0o600)).expect("ours");
    let gone = Call::connect(&path).expect_err("nobody listens");
    assert!(gone.why.contains("is gone"), "{gone}");
    drop(Post::open(&path).expect("the stale one is replaced"));
    let missing = Call::connect(&path).expect_err("nobody listens");
    assert!(missing.why.contains("no trainee's session"), "{missing}");

    fs::write(&path, "a diary").expect("ours");
    let refused = Post::open(&path).expect_err("that is no socket");
    assert!(refused.why.contains("is no socket"), "{refused}");
    assert_eq!(fs::read_to_string(&path).expect("kept"), "a diary");
}

#[test]
fn a_second_session_at_the_same_place_is_refused_and_the_first_listens_on() {
    let (_folder, path) = folder();
    let mut app = trainee(desk());
    let mut first = Post::open(&path).expect("the place is free");
    let refused = Post::open(&path).expect_err("taken");
    assert!(refused.why.contains("listens"), "{refused}");
    // Whoever looked whether anybody listens has left again.
    first.attend(&mut app);
    first.attend(&mut app);
    assert!(path.exists() && !first.has_trainer());
}

#[test]
fn a_fault_arrives_is_hidden_from_the_trainee_and_named_in_the_debrief_after_the_end() {
    let (_folder, path) = folder();
    let mut app = trainee(lesson());
    let mut pair = Pair::meet(&path, &mut app);
    seconds(&mut app, 2);
    let said = lines(pair.order(&mut app, &format!("inject {JAM}")));
    assert!(said[0].starts_with(&format!("injected: {JAM}")), "{said:?}");
    seconds(&mut app, 1);
    assert_eq!(app.desk().present().world().active_faults().count(), 1);
    for key in ['f', 'r', 'T', 'F'] {
        let key = KeyEvent::new(KeyCode::Char(key), KeyModifiers::NONE);
        app.handle(&Event::Key(key));
        assert!(
            !screen(&mut app).contains("mast-jam"),
            "{}",
            screen(&mut app)
        );
    }
    assert_eq!(app.desk().present().world().active_faults().count(), 1);

    lines(pair.order(&mut app, "speed fastest"));
    seconds(&mut app, 10);
    assert_eq!(app.desk().frame().tick, app.desk().last_tick());
    let debrief = app.desk().debrief().expect("a lesson");
    let named = debrief.notes.iter().find(|note| note.what.contains(JAM));
    assert!(
        named.is_some_and(|note| (note.at - 2.0).abs() < 0.1),
        "{:?}",
        debrief.notes
    );
    let mut text = Vec::new();
    debrief.text(&mut text).expect("memory");
    assert!(String::from_utf8_lossy(&text).contains(JAM));
}

#[test]
fn orders_stand_in_the_flights_log_so_that_a_rewind_knows_them() {
    let (_folder, path) = folder();
    let mut app = trainee(lesson());
    let mut pair = Pair::meet(&path, &mut app);
    seconds(&mut app, 2);
    lines(pair.order(&mut app, &format!("inject {JAM} for 30 s")));
    seconds(&mut app, 2);
    lines(pair.order(&mut app, "pause"));
    lines(pair.order(&mut app, "back 3"));
    assert_eq!(app.desk().frame().tick, 100);
    assert_eq!(
        lines(pair.order(&mut app, "active")),
        ["no fault is active"]
    );
    lines(pair.order(&mut app, "forward 3"));
    let active = lines(pair.order(&mut app, "active"));
    assert!(active.len() == 1 && active[0].contains(JAM), "{active:?}");
    let notes = app.desk().debrief().expect("a lesson").notes;
    assert_eq!(notes.len(), 1, "{notes:?}");
    lines(pair.order(&mut app, "clear 1"));
    app.handle(&Event::FocusGained);
    lines(pair.order(&mut app, "go"));
    seconds(&mut app, 1);
    assert_eq!(
        lines(pair.order(&mut app, "active")),
        ["no fault is active"]
    );
}

#[test]
fn a_fault_is_armed_listed_dropped_and_armed_again_until_its_moment() {
    let (_folder, path) = folder();
    let mut app = trainee(lesson());
    let mut pair = Pair::meet(&path, &mut app);
    let arm = format!("arm {JAM} when height > 1 m");
    lines(pair.order(&mut app, &arm));
    let armed = lines(pair.order(&mut app, "armed"));
    assert!(armed[0].contains("when height > 1 m"), "{armed:?}");
    lines(pair.order(&mut app, "disarm 1"));
    assert_eq!(lines(pair.order(&mut app, "armed")), ["no fault is armed"]);
    assert!(why(pair.order(&mut app, "disarm 1")).contains("number 1"));
    lines(pair.order(&mut app, &arm));
    seconds(&mut app, 1);
    let active = lines(pair.order(&mut app, "active"));
    assert!(active[0].contains(JAM), "{active:?}");
    let notes = app.desk().debrief().expect("a lesson").notes;
    assert!(notes.iter().any(|note| note.what.contains(JAM)));
}

#[test]
fn garbled_and_foreign_lines_are_refused_and_the_next_order_is_obeyed() {
    let (_folder, path) = folder();
    let mut app = trainee(desk());
    let mut pair = Pair::meet(&path, &mut app);
    let before = app.desk().frame().clone();
    let mut stream = UnixStream::connect(&path).expect("it listens");
    stream.write_all(b"not even asked\n").expect("it listens");
    let raw = |pair: &mut Pair, app: &mut App, bytes: &[u8]| {
        pair.call.write_raw(bytes);
        why(pair.answer(app))
    };
    for (bytes, said) in [
        (&b"inject everything\n"[..], "none of this program's"),
        (b"\xff\xfe\n", "no text"),
        (b"{\"mastwright_trainer\":7}\n", "version 7"),
        (b"{\"mastwright_trainer\":1,\"order\":3}\n", "none of this"),
    ] {
        let why = raw(&mut pair, &mut app, bytes);
        assert!(why.contains(said), "{why}");
    }
    for (order, said) in [
        ("inject nothing at all", "nothing"),
        ("throttle 100", "the controls are the trainee's"),
        ("restart", "only the trainee"),
        ("quit", "no order"),
        ("", "no order"),
    ] {
        let why = why(pair.order(&mut app, order));
        assert!(why.contains(said), "{order}: {why}");
    }
    assert_eq!(*app.desk().frame(), before);
    assert!(lines(pair.order(&mut app, "state"))[0].contains("mast"));
}

#[test]
fn a_line_without_end_is_refused_and_takes_no_more_room() {
    let (_folder, path) = folder();
    let mut app = trainee(desk());
    let mut pair = Pair::meet(&path, &mut app);
    for _ in 0..20 {
        pair.call.write_raw(&[b'x'; 8192]);
        pair.post.attend(&mut app);
    }
    pair.call.write_raw(b"\n");
    assert!(why(pair.answer(&mut app)).contains("more than 65536 bytes"));
    assert!(!lines(pair.order(&mut app, "state")).is_empty());
}

#[test]
fn a_second_trainer_is_told_so_and_the_first_stays() {
    let (_folder, path) = folder();
    let mut app = trainee(desk());
    let mut pair = Pair::meet(&path, &mut app);
    let second = Call::connect(&path).expect("it listens");
    pair.post.attend(&mut app);
    let mut ear = second.ear().expect("a second hold");
    assert_eq!(ear.hear(), Some(Ok(Word::Engaged)));
    assert_eq!(ear.hear(), None);
    assert!(!lines(pair.order(&mut app, "state")).is_empty());
}

#[test]
fn a_trainer_who_leaves_changes_nothing_and_another_may_come() {
    let (_folder, path) = folder();
    let mut app = trainee(desk());
    let Pair {
        mut post,
        mut call,
        ear,
    } = Pair::meet(&path, &mut app);
    call.order(&format!("inject {JAM}")).expect("it listens");
    drop((call, ear));
    post.attend(&mut app);
    post.attend(&mut app);
    assert!(!post.has_trainer());
    assert_eq!(app.desk().present().world().active_faults().count(), 1);
    let call = Call::connect(&path).expect("it listens");
    post.attend(&mut app);
    let mut ear = call.ear().expect("a second hold");
    assert!(matches!(ear.hear(), Some(Ok(Word::Welcome { .. }))));
}

#[test]
fn a_session_that_ends_tells_the_trainer() {
    let (_folder, path) = folder();
    let mut app = trainee(desk());
    let mut pair = Pair::meet(&path, &mut app);
    drop(pair.post);
    assert!(matches!(pair.ear.hear(), Some(Ok(Word::Over { .. }))));
    assert_eq!(pair.ear.hear(), None);
}

#[test]
fn line_by_line_the_fault_is_hidden_too_and_told_at_the_end() {
    let (_folder, path) = folder();
    let mut out = Vec::new();
    let mut plain = Plain::of_trainee(desk(), &mut out, Paint::default()).expect("memory");
    let mut pair = Pair::meet(&path, &mut plain);
    lines(pair.order(&mut plain, &format!("inject {JAM}")));
    lines(pair.order(&mut plain, "speed fast"));
    plain.advance(Duration::from_secs(1)).expect("memory");
    plain.line("active").expect("memory");
    plain.line(&format!("inject {JAM}")).expect("memory");
    plain.line("quit").expect("memory");
    drop(plain);
    let text = String::from_utf8(out).expect("text");
    let (flown, end) = text
        .split_once("Faults that were hidden")
        .expect("they are told");
    assert!(!flown.contains("mast-jam"), "{flown}");
    assert_eq!(flown.matches("the faults are the trainer's").count(), 2);
    assert!(flown.contains("the trainer: speed: fast"), "{flown}");
    assert!(end.contains(JAM), "{end}");
}

#[test]
fn the_prompt_sends_orders_and_answers_what_needs_no_session() {
    let mut out = Vec::new();
    let mut prompt = Prompt::new(&mut out);
    let mut typed = |line: &str| prompt.typed(line).expect("memory");
    assert_eq!(typed(" pause "), Next::Send("pause".to_owned()));
    assert_eq!(typed("quit"), Next::Leave);
    for line in ["find mast-jam", "help", "stow", "injct", "", "watch on"] {
        assert_eq!(typed(line), Next::Nothing, "{line}");
    }
    assert!(prompt.is_watching());
    let text = String::from_utf8(out).expect("text");
    for said in [
        JAM,
        "watch on|off",
        "the controls are",
        "did you mean `inject`",
    ] {
        assert!(text.contains(said), "{said}: {text}");
    }
}
