//! The words of the demonstration, each in its time.
//!
//! A caption comes at its moment. When the one before it has not been up for its
//! reading time, the world should stand still that long first: then everything can be
//! read, and nothing is missed meanwhile.

use super::Lesson;
use super::progress::Waits;
use crate::frame::Frame;

/// Captions that wait for their moments. Plain data: a copy goes on as the original does.
#[derive(Clone, Debug)]
pub struct Captions {
    waits: Waits,
    reading: Vec<u32>,
    up: Option<Up>,
}

/// A caption that is up.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Up {
    index: usize,
    since: u32,
}

/// A caption that comes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Comes {
    /// Which, by its index in the lesson.
    pub index: usize,
    /// Ticks for which the world should stand still first, so that the one before can be
    /// read.
    pub stand_still: u32,
}

impl Captions {
    /// Those of `lesson`, before its first tick.
    #[must_use]
    pub fn new(lesson: &Lesson) -> Self {
        let captions = &lesson.section().captions;
        Self {
            waits: Waits::new(captions.iter().map(|caption| &caption.begin)),
            reading: captions.iter().map(|caption| caption.reading).collect(),
            up: None,
        }
    }

    /// Sees one frame; the caption that comes in it. Of several in one tick the last in
    /// the file comes.
    pub fn observe(&mut self, frame: &Frame) -> Option<Comes> {
        let tick = super::progress::tick_of(frame);
        self.waits.feed(frame, tick);
        let index = (0..self.reading.len())
            .rev()
            .find(|index| self.waits.came(*index) == Some(tick))?;
        let stand_still = self.up.map_or(0, |up| {
            self.reading[up.index].saturating_sub(tick - up.since)
        });
        self.up = Some(Up { index, since: tick });
        Some(Comes { index, stand_still })
    }

    /// The caption that is up in `tick`; none when its reading time is over.
    #[must_use]
    pub fn up(&self, tick: u32) -> Option<usize> {
        let up = self.up?;
        (tick.saturating_sub(up.since) < self.reading[up.index]).then_some(up.index)
    }

    /// Ticks until what is up can have been read; 0: the demonstration may end.
    #[must_use]
    pub fn left(&self, tick: u32) -> u32 {
        self.up.map_or(0, |up| {
            self.reading[up.index].saturating_sub(tick.saturating_sub(up.since))
        })
    }
}
