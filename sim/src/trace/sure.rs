//! Making sure of a file while it is written.
//!
//! What is written lies in memory until the system is asked to put it where it outlives a
//! loss of power. Asked once, at the end, it takes as long as the file is large, and whoever
//! recorded waits for it. So it is asked for each stretch, by a thread of its own, which
//! sleeps meanwhile: little is left for the end.

use std::fs::File;
use std::io;
use std::sync::mpsc::{Receiver, SyncSender, TrySendError, sync_channel};
use std::thread::JoinHandle;

/// Bytes after which a stretch is made sure of: five minutes of flight.
const STRETCH: usize = 512 * 1024;

/// Makes sure of what has been written so far, now and then.
#[derive(Debug)]
pub(super) struct Sure {
    /// Bytes since it was asked for last.
    since: usize,
    /// None before the first stretch, and after it failed.
    helper: Option<Helper>,
}

#[derive(Debug)]
struct Helper {
    ask: SyncSender<()>,
    thread: JoinHandle<io::Result<()>>,
}

impl Sure {
    /// With nothing written.
    pub(super) const fn new() -> Self {
        Self {
            since: 0,
            helper: None,
        }
    }

    /// So many more bytes were written to `file`.
    ///
    /// # Errors
    /// When something written before could not be made sure of.
    pub(super) fn written(&mut self, file: &File, bytes: usize) -> io::Result<()> {
        self.since += bytes;
        if self.since < STRETCH {
            return Ok(());
        }
        let helper = match self.helper.take() {
            Some(helper) => helper,
            None => Helper::new(file.try_clone()?)?,
        };
        match helper.ask.try_send(()) {
            Ok(()) => self.since = 0,
            // It is still at the stretch before: asked again after the next bytes.
            Err(TrySendError::Full(())) => {}
            Err(TrySendError::Disconnected(())) => return helper.finish(),
        }
        self.helper = Some(helper);
        Ok(())
    }

    /// Waits for what was asked for.
    ///
    /// # Errors
    /// When it could not be made sure of.
    pub(super) fn finish(&mut self) -> io::Result<()> {
        self.helper.take().map_or(Ok(()), Helper::finish)
    }
}

impl Helper {
    fn new(file: File) -> io::Result<Self> {
        // One stretch can wait while another is made sure of.
        let (ask, asked) = sync_channel(1);
        let thread = std::thread::Builder::new().spawn(move || make_sure(&file, &asked))?;
        Ok(Self { ask, thread })
    }

    fn finish(self) -> io::Result<()> {
        drop(self.ask);
        match self.thread.join() {
            Ok(done) => done,
            Err(panic) => std::panic::resume_unwind(panic),
        }
    }
}

fn make_sure(file: &File, asked: &Receiver<()>) -> io::Result<()> {
    asked.iter().try_for_each(|()| file.sync_data())
}

#[cfg(all(test, target_os = "linux"))]
mod tests {
    use super::*;

    /// A file that can be written, and of which nothing can be made sure.
    fn unsure() -> File {
        let null = File::options().write(true).open("/dev/null");
        null.expect("it is everywhere")
    }

    #[test]
    fn below_a_stretch_nobody_is_asked() {
        let mut sure = Sure::new();
        sure.written(&unsure(), STRETCH - 1).expect("not asked");
        assert!(sure.helper.is_none());
        sure.finish().expect("not asked");
    }

    #[test]
    fn a_stretch_that_cannot_be_made_sure_of_is_told_at_the_end() {
        let mut sure = Sure::new();
        sure.written(&unsure(), STRETCH).expect("asked, not told");
        assert!(sure.finish().is_err());
        sure.finish().expect("told once");
    }

    #[test]
    fn a_stretch_that_cannot_be_made_sure_of_is_told_while_more_is_written() {
        let (mut sure, file) = (Sure::new(), unsure());
        let told = std::iter::repeat_with(|| sure.written(&file, STRETCH)).find(Result::is_err);
        assert!(told.is_some());
        assert!(sure.helper.is_none(), "the recording ends with it");
    }

    #[test]
    fn every_stretch_of_a_file_is_made_sure_of() {
        let file = tempfile::tempfile().expect("a file");
        let mut sure = Sure::new();
        for _ in 0..4 {
            sure.written(&file, STRETCH / 2).expect("sound");
        }
        assert!(sure.helper.is_some());
        sure.finish().expect("sound");
    }
}
