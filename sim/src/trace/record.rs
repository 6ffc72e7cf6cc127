//! Recording: what a flight pays for being kept.
//!
//! In the tick itself what holds is copied, and nothing else: first into a few places that stay
//! in this processor's nearest cache, from there a few ticks at once into room that mostly was made
//! beforehand. To write each tick where another processor has just read would take three times as
//! long, since each line is fetched back from there first; a long copy fetches none. Full batches
//! go to a thread of their own, which reduces, packs and writes them. That thread looks for them
//! from time to time: to be woken for each would cost the flight more than to copy it. The flight
//! waits for it only when it is far behind.

use std::path::Path;
use std::sync::mpsc::{Receiver, SyncSender, TryRecvError, sync_channel};
use std::thread::JoinHandle;
use std::time::Duration;

use mastwright_core::outputs::Outputs;

use super::BLOCK;
use super::encode::Encoder;
use super::header::Header;
use super::sample::Sample;
use super::tick::{Mark, Note, Noted};
use super::write::{Kept, NotKept, Writer};
use crate::flight::{Begun, Flight, Verdict};
use crate::frame::Frame;
use crate::join::Judged;
use crate::world::World;

/// Ticks copied at once, 45 kB: much more does not stay in the nearest cache, and a copy below some
/// 8 kB is not a long one.
const BURST: usize = 64;
/// Ticks handed over at once.
const BATCH: usize = 2 * BURST;
/// Empty batches kept for the flight: enough to fly on while the packing thread sleeps, and few
/// enough to stay near the processors.
const BATCHES: usize = 12;
/// Full batches at most, 23 MB and their lists. The packing thread falls behind by milliseconds
/// when it is woken late, or on the flight's own processor; the flight takes new room then. If it
/// waited, both could go on in turns on one processor for a long time.
const MOST: usize = 256;
/// How long the packing thread sleeps when it finds nothing, at first; twice as long each
/// time, up to the longest, so that a flight at the pace of a clock costs next to nothing.
const NAP: Duration = Duration::from_micros(40);
const LONGEST_NAP: Duration = Duration::from_millis(20);

/// What is handed over at once.
#[derive(Debug)]
struct Batch {
    samples: Vec<Sample>,
    used: usize,
    /// Outputs whose lists are not empty, each with its tick, in order.
    listing: Vec<(u64, Outputs)>,
    /// Tick and mark, in order.
    marks: Vec<(u32, Mark)>,
    notes: Vec<Note>,
    /// Nothing follows: the recording came to its end.
    last: bool,
}

impl Batch {
    fn new() -> Self {
        Self {
            samples: vec![Sample::default(); BATCH],
            used: 0,
            listing: Vec::with_capacity(BATCH),
            marks: Vec::with_capacity(BATCH),
            notes: Vec::new(),
            last: false,
        }
    }

    fn clear(&mut self) {
        self.used = 0;
        self.listing.clear();
        self.marks.clear();
        self.notes.clear();
    }
}

/// Records a flight into a file.
#[derive(Debug)]
pub struct Recorder {
    /// The ticks that are not in the batch yet.
    burst: Vec<Sample>,
    gathered: usize,
    batch: Batch,
    /// None once it has ended.
    full: Option<SyncSender<Batch>>,
    empty: Receiver<Batch>,
    packer: JoinHandle<Result<Kept, NotKept>>,
    /// The packer ended before its time: nothing more is recorded.
    lost: bool,
    /// Faults the world had been given by the tick before, and those that acted.
    given: usize,
    active: Vec<usize>,
}

impl Recorder {
    /// Begins the trace that is to stand at `path`.
    ///
    /// While it is recorded the file is called `path` with `.part` added; it takes its
    /// place, over a trace that was there before, when it is whole. If the program ends
    /// before, the part can be read as far as it was written.
    ///
    /// # Errors
    /// When there is something else than a trace at `path`, or it cannot be written.
    pub fn create(path: &Path, header: &Header) -> Result<Self, NotKept> {
        let writer = Writer::create(path, header)?;
        let given = header.scenario.faults;
        let (full, to_pack) = sync_channel(MOST);
        let (back, empty) = sync_channel(BATCHES);
        let packer = std::thread::spawn(move || {
            // All but the first are made here: to touch new memory takes longer than to
            // copy into it.
            for _ in 1..BATCHES {
                // It has room for all of them.
                let _ = back.send(Batch::new());
            }
            pack(writer, &to_pack, &back)
        });
        Ok(Self {
            burst: vec![Sample::default(); BURST],
            gathered: 0,
            batch: Batch::new(),
            full: Some(full),
            empty,
            packer,
            lost: false,
            given,
            active: Vec::new(),
        })
    }

    /// Takes the tick that `world` has just flown, and what the scenario began in it.
    /// Ticks are taken without a gap, from the first on.
    #[inline]
    pub fn tick(&mut self, world: &World, begun: Begun) {
        let frame = world.frame();
        self.burst[self.gathered].take(frame, world.controller());
        self.gathered += 1;
        let outputs = &frame.outputs;
        if !(outputs.denials.is_empty() && outputs.events.is_empty()) {
            self.batch.listing.push((frame.tick, outputs.clone()));
        }
        self.mark(world, begun);
        if self.gathered == BURST {
            self.gather();
            if self.batch.used == BATCH {
                self.hand_over();
            }
        }
    }

    /// Copies the burst into the batch, which always has room for it.
    fn gather(&mut self) {
        let Self {
            burst,
            gathered,
            batch,
            ..
        } = self;
        let to = batch.used + *gathered;
        batch.samples[batch.used..to].copy_from_slice(&burst[..*gathered]);
        batch.used = to;
        *gathered = 0;
    }

    /// Notes something.
    pub fn note(&mut self, note: Note) {
        self.batch.notes.push(note);
    }

    /// Ends the trace: nothing more is taken. It is put in its place meanwhile.
    pub fn end(&mut self) {
        self.gather();
        self.batch.last = true;
        self.hand_over();
        self.full = None;
        self.packer.thread().unpark();
    }

    /// Ends the trace, if it has not ended, and waits until it is in its place.
    ///
    /// # Errors
    /// When it could not be written; what was written until then can be read.
    pub fn finish(mut self) -> Result<Kept, NotKept> {
        self.end();
        // What room is ours is given back while the last is written.
        drop((self.burst, self.batch, self.empty));
        match self.packer.join() {
            Ok(kept) => kept,
            Err(panic) => std::panic::resume_unwind(panic),
        }
    }

    fn hand_over(&mut self) {
        let Some(to_pack) = self.full.as_ref().filter(|_| !self.lost) else {
            self.batch.clear();
            return;
        };
        let empty = self.empty.try_recv().unwrap_or_else(|_| Batch::new());
        let full = std::mem::replace(&mut self.batch, empty);
        self.lost = to_pack.send(full).is_err();
    }

    /// Marks what began and ended in the tick.
    #[inline]
    fn mark(&mut self, world: &World, begun: Begun) {
        let given = world.faults_known();
        let acting = acting(world);
        let quiet = begun == Begun::default()
            && world.flips().is_empty()
            && given == self.given
            && acting.eq(self.active.iter().copied());
        if !quiet {
            self.mark_changes(world, begun, given);
        }
    }

    #[cold]
    fn mark_changes(&mut self, world: &World, begun: Begun, given: usize) {
        let tick = number(world.frame().tick);
        let marks = &mut self.batch.marks;
        let mut add = |mark| marks.push((tick, mark));
        begun
            .actions
            .iter()
            .for_each(|index| add(Mark::ActionBegan(number(index))));
        let now: Vec<usize> = acting(world).collect();
        let ordered: Vec<usize> = begun.faults.iter().chain(self.given..given).collect();
        let other = now
            .iter()
            .copied()
            .filter(|index| !self.active.contains(index) && !ordered.contains(index));
        let began: Vec<usize> = ordered.iter().copied().chain(other).collect();
        began
            .iter()
            .for_each(|index| add(Mark::FaultBegan(number(*index))));
        let acted = self.active.iter().chain(&began);
        let mut ended: Vec<usize> = acted
            .copied()
            .filter(|index| !now.contains(index))
            .collect();
        ended.sort_unstable();
        ended.dedup();
        ended
            .into_iter()
            .for_each(|index| add(Mark::FaultEnded(number(index))));
        world
            .flips()
            .iter()
            .for_each(|bit| add(Mark::BitFlipped(*bit)));
        for index in self.given..given {
            if let Some(fault) = world.fault(index) {
                self.batch.notes.push(Note {
                    tick,
                    noted: Noted::Fault {
                        number: number(index),
                        fault: *fault,
                    },
                });
            }
        }
        self.given = given;
        self.active = now;
    }
}

/// The faults that act in the latest tick; not those given since.
fn acting(world: &World) -> impl Iterator<Item = usize> {
    let known = world.faults_known();
    let active = world.active_faults().map(|(index, _)| index);
    active.filter(move |index| *index < known)
}

fn number<T: TryInto<u32>>(count: T) -> u32 {
    // Two hours are 720 000 ticks.
    count.try_into().unwrap_or(u32::MAX)
}

/// Packs and writes whatever is handed over, until nothing more will be. A recording
/// that is dropped before its end stays a part.
fn pack(
    mut writer: Writer,
    full: &Receiver<Batch>,
    back: &SyncSender<Batch>,
) -> Result<Kept, NotKept> {
    let mut encoder = Encoder::new();
    let mut ended = false;
    while let Some(mut batch) = next(full) {
        let mut listing = batch.listing.drain(..).peekable();
        let mut marks = batch.marks.iter().peekable();
        for sample in &mut batch.samples[..batch.used] {
            let listed = listing.next_if(|(tick, _)| *tick == sample.tick);
            encoder.tick(sample, listed.map(|(_, outputs)| outputs));
            let tick = number(sample.tick);
            while let Some((_, mark)) = marks.next_if(|(at, _)| *at == tick) {
                encoder.mark(tick, *mark);
            }
            if encoder.len() == BLOCK {
                writer.block(&encoder.block(), BLOCK)?;
            }
        }
        debug_assert!(listing.next().is_none() && marks.next().is_none());
        drop(listing);
        for note in &batch.notes {
            writer.note(note)?;
        }
        ended = batch.last;
        batch.clear();
        // With enough of them there, or when the recording has ended, nobody needs it.
        let _ = back.try_send(batch);
    }
    let rest = encoder.len();
    if rest > 0 {
        writer.block(&encoder.block(), rest)?;
    }
    if ended {
        writer.finish()
    } else {
        Err(writer.broken_off())
    }
}

/// The next batch, as soon as there is one; none when there will be none any more.
fn next(full: &Receiver<Batch>) -> Option<Batch> {
    let mut nap = NAP;
    loop {
        match full.try_recv() {
            Ok(batch) => return Some(batch),
            Err(TryRecvError::Disconnected) => return None,
            Err(TryRecvError::Empty) => {
                std::thread::park_timeout(nap);
                nap = (2 * nap).min(LONGEST_NAP);
            }
        }
    }
}

/// A flight, recorded if that is asked for: it is flown by the same code in either case.
#[derive(Debug)]
pub struct Recorded {
    flight: Box<Judged>,
    recorder: Option<Recorder>,
}

impl Recorded {
    /// Records `flight`, which has not flown its first tick, into `path`.
    ///
    /// # Errors
    /// As [`Recorder::create`].
    pub fn new(flight: Judged, path: &Path, header: &Header) -> Result<Self, NotKept> {
        let recorder = Recorder::create(path, header)?;
        Ok(Self {
            recorder: Some(recorder),
            ..Self::only_flown(flight)
        })
    }

    /// Does not record `flight`.
    #[must_use]
    pub fn only_flown(flight: Judged) -> Self {
        Self {
            flight: Box::new(flight),
            recorder: None,
        }
    }

    /// The world that is flown.
    #[must_use]
    pub const fn world(&self) -> &World {
        self.flight.world()
    }

    /// Notes something of this tick, in words, if it is recorded.
    pub fn remark(&mut self, tick: u64, words: String) {
        if let Some(recorder) = &mut self.recorder {
            recorder.note(Note {
                tick: number(tick),
                noted: Noted::Remark { words },
            });
        }
    }

    /// Ends the trace, if there is one.
    ///
    /// # Errors
    /// As [`Recorder::finish`].
    pub fn finish(self) -> Result<Option<Kept>, NotKept> {
        self.recorder.map(Recorder::finish).transpose()
    }
}

impl Flight for Recorded {
    fn step(&mut self) {
        self.flight.step();
        if let Some(recorder) = &mut self.recorder {
            recorder.tick(self.flight.world(), self.flight.begun());
        }
    }

    fn frame(&self) -> &Frame {
        self.flight.frame()
    }

    fn begun(&self) -> Begun {
        self.flight.begun()
    }

    fn verdict(&self) -> Verdict {
        self.flight.verdict()
    }

    /// The file is put in its place while the flight is told of.
    fn landed(&mut self) {
        self.flight.landed();
        if let Some(recorder) = &mut self.recorder {
            recorder.end();
        }
    }
}
