//! The terminal around a session.
//!
//! Responsibilities:
//! 1. Take the terminal (raw mode, alternate screen, mouse) and give it back as it was:
//!    at the end, on an error, on a panic, on SIGINT, SIGTERM and SIGHUP. End when it goes
//!    away, whatever the session is at.
//! 2. Hand events and time to the [`App`], and draw when it has changed, at most thirty
//!    times a second. A key shows within one such frame.
//!
//! This is the only place of the cockpit's screen that reads a clock.

use std::io::{self, ErrorKind, Stdout, Write, stdout};
use std::sync::Arc;
use std::sync::Once;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use crossterm::cursor::{Hide, Show};
use crossterm::event::{self, DisableMouseCapture, EnableMouseCapture};
use crossterm::execute;
use crossterm::terminal::{
    Clear, ClearType, EnterAlternateScreen, LeaveAlternateScreen, disable_raw_mode, enable_raw_mode,
};
use ratatui::Terminal;
use ratatui::backend::CrosstermBackend;

use super::app::App;

/// Time between two pictures at the least: thirty a second.
const FRAME: Duration = Duration::from_millis(33);
/// Longest wait for a key: how late a signal may be seen.
const IDLE: Duration = Duration::from_millis(200);
/// How long after a signal the program may take to end by itself, and then to give the
/// terminal back. A terminal that is gone can keep it in a read or write for ever.
const GRACE: Duration = Duration::from_millis(500);
/// The exit code after a signal, as shells give it after SIGINT.
pub const INTERRUPTED: u8 = 130;

/// This process has the terminal and has to give it back.
static TAKEN: AtomicBool = AtomicBool::new(false);

/// How a session ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ended {
    /// The person left.
    Left,
    /// A signal asked for it.
    Interrupted,
}

/// Set when a signal asks the program to end.
#[derive(Clone, Debug, Default)]
pub struct Interrupt(Arc<AtomicBool>);

impl Interrupt {
    /// Listens to SIGINT, SIGTERM and SIGHUP from now on.
    #[must_use]
    pub fn listen() -> Self {
        let asked = Self::default();
        let flag = Arc::clone(&asked.0);
        // Without a handler a signal ends the process at once; only the terminal would
        // be left as it is.
        let _ = ctrlc::set_handler(move || end(&flag));
        asked
    }

    /// From now on the program ends when its terminal goes away, as if a signal had said so:
    /// whoever started it may ignore SIGHUP. Watched beside the session, which may not see
    /// it: the library never comes back from a read of a terminal that goes away in it.
    #[cfg(unix)]
    pub fn end_with_terminal(&self) {
        use rustix::event::{PollFd, PollFlags, poll};
        use rustix::io::Errno;
        let flag = Arc::clone(&self.0);
        std::thread::spawn(move || {
            let terminal = io::stdin();
            // Nothing is waited for but that it goes away, which is always told.
            let mut asked = [PollFd::new(&terminal, PollFlags::empty())];
            while poll(&mut asked, None) == Err(Errno::INTR) {}
            if is_gone(asked[0].revents()) {
                end(&flag);
            }
        });
    }

    /// Likewise; here the library says so.
    #[cfg(not(unix))]
    pub fn end_with_terminal(&self) {}

    /// Whether the program was asked to end.
    #[must_use]
    pub fn is_asked(&self) -> bool {
        self.0.load(Ordering::Relaxed)
    }
}

/// Asks the program to end, and ends it if it does not.
fn end(asked: &AtomicBool) {
    asked.store(true, Ordering::Relaxed);
    std::thread::sleep(GRACE);
    // Apart: whoever is stuck may be so while it writes, and hold the output.
    std::thread::spawn(restore);
    std::thread::sleep(GRACE);
    std::process::exit(i32::from(INTERRUPTED));
}

/// The terminal, taken. Given back when dropped.
#[derive(Debug)]
struct Taken;

impl Taken {
    fn take() -> io::Result<Self> {
        restore_on_panic();
        // From here on dropping gives back whatever part has been taken.
        let taken = Self;
        TAKEN.store(true, Ordering::SeqCst);
        enable_raw_mode()?;
        execute!(
            stdout(),
            EnterAlternateScreen,
            Clear(ClearType::All),
            EnableMouseCapture,
            Hide
        )?;
        Ok(taken)
    }
}

impl Drop for Taken {
    fn drop(&mut self) {
        restore();
    }
}

/// Gives the terminal back, once. There is nobody to tell when it does not take it.
fn restore() {
    if !TAKEN.swap(false, Ordering::SeqCst) {
        return;
    }
    let _ = disable_raw_mode();
    let _ = leave(&mut stdout());
}

fn leave(out: &mut impl Write) -> io::Result<()> {
    execute!(out, DisableMouseCapture, LeaveAlternateScreen, Show)
}

/// Has a panic give the terminal back before it is told, so that it can be read.
fn restore_on_panic() {
    static HOOKED: Once = Once::new();
    HOOKED.call_once(|| {
        let told = std::panic::take_hook();
        std::panic::set_hook(Box::new(move |panic| {
            restore();
            told(panic);
        }));
    });
}

/// The terminal a session is drawn on.
pub type Screen = Terminal<CrosstermBackend<Stdout>>;

/// Takes this process's terminal for as long as `act` uses it.
///
/// # Errors
/// When the terminal cannot be taken, and those of `act`.
pub fn with_terminal<T>(act: impl FnOnce(&mut Screen) -> io::Result<T>) -> io::Result<T> {
    let _taken = Taken::take()?;
    // Cleared when it was taken: the library's own way of clearing asks where the cursor is,
    // and a terminal that does not answer would be none.
    let mut terminal = Terminal::new(CrosstermBackend::new(stdout()))?;
    act(&mut terminal)
}

/// Flies `app` in this process's terminal until the person leaves or a signal comes;
/// `beside` is called several times a second, between events.
///
/// # Errors
/// When the terminal cannot be taken, read or written.
pub fn run(
    app: &mut App,
    interrupt: &Interrupt,
    beside: &mut dyn FnMut(&mut App),
) -> io::Result<Ended> {
    interrupt.end_with_terminal();
    match with_terminal(|terminal| fly(app, interrupt, beside, terminal)) {
        // A terminal that went away with its window: what SIGHUP would have said.
        Err(error) if interrupt.is_asked() || error.kind() == ErrorKind::BrokenPipe => {
            Ok(Ended::Interrupted)
        }
        other => other,
    }
}

fn fly(
    app: &mut App,
    interrupt: &Interrupt,
    beside: &mut dyn FnMut(&mut App),
    terminal: &mut Screen,
) -> io::Result<Ended> {
    let mut last = Instant::now();
    terminal.draw(|frame| app.draw(frame))?;
    let mut drawn = last;
    loop {
        listen(app, wait(app, drawn.elapsed()))?;
        let now = Instant::now();
        app.advance(now - last);
        last = now;
        beside(app);
        if interrupt.is_asked() {
            return Ok(Ended::Interrupted);
        }
        if app.is_over() {
            return Ok(Ended::Left);
        }
        if app.is_changed() && drawn.elapsed() >= FRAME {
            terminal.draw(|frame| app.draw(frame))?;
            drawn = Instant::now();
        }
    }
}

/// How long to wait for an event, `since` the last picture.
fn wait(app: &App, since: Duration) -> Duration {
    let frame = FRAME.saturating_sub(since);
    if app.is_changed() {
        return frame;
    }
    app.until_next()
        .map_or(IDLE, |next| next.max(frame))
        .min(IDLE)
}

/// Hands every event that comes within `wait`, and those right behind it, to `app`.
fn listen(app: &mut App, mut wait: Duration) -> io::Result<()> {
    // Bounded, so that a flood of events cannot keep the picture from being drawn.
    for _ in 0..256 {
        // Asked first: from a terminal that is gone the library reads nothing for ever.
        speaks(Duration::ZERO)?;
        let there = match event::poll(Duration::ZERO) {
            Err(error) if error.kind() == ErrorKind::Interrupted => return Ok(()),
            other => other?,
        };
        if there {
            app.handle(&event::read()?);
        } else if wait.is_zero() || !speaks(wait)? {
            return Ok(());
        }
        wait = Duration::ZERO;
    }
    Ok(())
}

/// What is told of a terminal that is not there any more.
#[cfg(unix)]
fn is_gone(told: rustix::event::PollFlags) -> bool {
    use rustix::event::PollFlags;
    told.intersects(PollFlags::HUP | PollFlags::ERR | PollFlags::NVAL)
}

/// Waits so long for the terminal to say something, or for a signal.
///
/// # Errors
/// The terminal is gone, though no signal said so: whoever started this may ignore SIGHUP.
#[cfg(unix)]
fn speaks(wait: Duration) -> io::Result<bool> {
    use rustix::event::{PollFd, PollFlags, Timespec, poll};
    let terminal = io::stdin();
    let mut asked = [PollFd::new(&terminal, PollFlags::IN)];
    let wait = Timespec::try_from(wait).map_err(io::Error::other)?;
    match poll(&mut asked, Some(&wait)) {
        Ok(_) => {}
        Err(rustix::io::Errno::INTR) => return Ok(true),
        Err(error) => return Err(error.into()),
    }
    let said = asked[0].revents();
    if is_gone(said) {
        return Err(io::Error::new(
            ErrorKind::BrokenPipe,
            "the terminal is gone",
        ));
    }
    Ok(said.contains(PollFlags::IN))
}

/// Likewise; here the library waits for events itself.
#[cfg(not(unix))]
fn speaks(wait: Duration) -> io::Result<bool> {
    event::poll(wait)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn leaving_shows_the_cursor_frees_the_mouse_and_brings_the_old_screen_back() {
        let mut out = Vec::new();
        leave(&mut out).expect("memory takes everything");
        let text = String::from_utf8(out).expect("control sequences are ASCII");
        for (sequence, what) in [
            ("\x1b[?1049l", "the old screen"),
            ("\x1b[?1000l", "the mouse"),
            ("\x1b[?25h", "the cursor"),
        ] {
            assert!(text.contains(sequence), "{what}: {text:?}");
        }
    }
}
