//! The exploration itself: level after level.

use std::sync::atomic::{AtomicU64, AtomicUsize, Ordering};
use std::sync::mpsc::{self, RecvTimeoutError};
use std::sync::{LockResult, Mutex, PoisonError};
use std::time::{Duration, Instant};

use rayon::slice::ParallelSliceMut;
use rayon::{ThreadPool, ThreadPoolBuilder};

use super::compact::{Compact, Missed};
use super::exact::Exact;
use super::found::{Cost, Ended, Found, Resumed};
use super::hash::{Hasher, SHARDS, shard};
use super::options::{Options, Progress, Store};
use super::reached::Reached;
use super::save::{Counters, File, Unusable};
use super::shard::Shard;
use super::space::{Space, Tally};
use super::variants::Variants;
use super::worker::{Level, PIECE, Piece, Worker, lock};

/// Progress is told no more often than this.
const TELL: Duration = Duration::from_millis(200);
/// A level of fewer entries is expanded faster by one thread than by waking others.
const ALONE: usize = 1024;

/// Explores a space. `progress` is called now and then, never more than five times a
/// second; what it is told is of the moment, and no part of the result.
///
/// # Errors
/// When the file to save to, or to resume from, cannot be used.
///
/// # Panics
/// When the space does, or when its states hash to almost the same numbers.
pub fn explore<S: Space>(
    space: &S,
    options: &Options<'_>,
    progress: &mut dyn FnMut(&Progress),
) -> Result<Found<S>, Unusable> {
    match options.store {
        Store::Exact => {
            Run::<S, Exact<S::State>>::new(space, options, Hasher::new(64, 0)).run(progress)
        }
        Store::Compact { bits, seed } => {
            let bits = bits.clamp(10, 64);
            let run = Run::<S, Compact<S::State>>::new(space, options, Hasher::new(bits, seed));
            let mut found = run.run(progress)?;
            found.missed = Some(Missed::of(found.states(), bits));
            Ok(found)
        }
    }
}

/// A pool of as many threads.
pub(in crate::explore) fn pool(threads: usize) -> ThreadPool {
    let pool = ThreadPoolBuilder::new().num_threads(threads).build();
    pool.expect("the system gives threads")
}

struct Run<'a, S: Space, D> {
    space: &'a S,
    options: &'a Options<'a>,
    hasher: Hasher,
    shards: Vec<Mutex<D>>,
    workers: Vec<Worker<S>>,
    pool: ThreadPool,
    levels: Vec<u64>,
    counters: Counters<S::Tally>,
    /// Transitions that a file told of.
    transitions_before: u64,
    begin: Instant,
    told: Instant,
}

impl<'a, S: Space, D: Shard<S::State>> Run<'a, S, D> {
    fn new(space: &'a S, options: &'a Options<'a>, hasher: Hasher) -> Self {
        let begin = Instant::now();
        Self {
            space,
            options,
            hasher,
            shards: (0..SHARDS).map(|_| Mutex::new(D::default())).collect(),
            workers: Vec::new(),
            pool: pool(options.workers()),
            levels: Vec::new(),
            counters: Counters::default(),
            transitions_before: 0,
            begin,
            told: begin,
        }
    }

    fn run(mut self, progress: &mut dyn FnMut(&Progress)) -> Result<Found<S>, Unusable> {
        let (mut file, resumed) = self.open()?;
        if self.levels.is_empty() {
            let mut initial = Vec::new();
            self.space.initial(&mut |state, variants| {
                if !variants.is_empty() {
                    initial.push((state, variants));
                }
            });
            self.begin_level(&initial);
            self.save(file.as_mut())?;
        }
        let ended = loop {
            if let Some(ended) = self.over() {
                break ended;
            }
            if let Some(ended) = self.expand_level(progress) {
                break ended;
            }
            self.save(file.as_mut())?;
        };
        Ok(self.finish(ended, resumed))
    }

    /// The file to save to, with what it already tells.
    fn open(&mut self) -> Result<(Option<File>, Option<Resumed>), Unusable> {
        let Some(save) = &self.options.save else {
            return Ok((None, None));
        };
        let of = format!("{}; {:?}", save.fingerprint, self.options.store);
        if !save.resume {
            return Ok((Some(File::create::<S::State>(&save.path, &of)?), None));
        }
        let (file, dropped) = File::resume(&save.path, &of, |counters, entries| {
            self.begin_level(entries);
            self.counters = counters;
        })?;
        self.transitions_before = self.counters.transitions;
        let resumed = Resumed {
            levels: self.levels.len(),
            states: self.levels.iter().sum(),
            dropped,
        };
        Ok((Some(file), Some(resumed)))
    }

    /// Completes a level of which all entries are given.
    fn begin_level(&mut self, entries: &[(S::State, Variants)]) {
        let mut by_shard: Vec<Vec<(S::State, Variants)>> = vec![Vec::new(); SHARDS];
        for entry in entries {
            by_shard[shard(self.hasher.hash(&entry.0))].push(*entry);
        }
        for (shard, entries) in self.shards.iter_mut().zip(&by_shard) {
            mut_of(shard).insert(&self.hasher, entries);
        }
        self.advance();
    }

    fn advance(&mut self) {
        let shards = self.shards.iter_mut();
        let pairs = shards.map(|shard| mut_of(shard).advance()).sum();
        if pairs > 0 {
            self.levels.push(pairs);
        }
    }

    fn save(&self, file: Option<&mut File>) -> Result<(), Unusable> {
        let Some(file) = file else {
            return Ok(());
        };
        let mut entries = Vec::new();
        for shard in &self.shards {
            let shard = lock(shard);
            shard.copy_entries(0..shard.entries(), &mut entries);
        }
        // The same bytes at any thread count.
        self.pool.install(|| entries.par_sort_unstable());
        file.append(&self.counters, &entries)
    }

    /// Whether nothing is left to expand, or nothing more is wanted.
    fn over(&mut self) -> Option<Ended> {
        let deepest = self.options.limits.depth.map(|most| most as usize);
        if self.entries() == 0 {
            Some(Ended::Whole)
        } else if self.options.stop.at(self.counters.broken.checks()) {
            Some(Ended::Broken)
        } else if deepest.is_some_and(|deepest| self.levels.len() > deepest) {
            Some(Ended::DepthLimit)
        } else {
            None
        }
    }

    /// How many entries the frontier has.
    fn entries(&mut self) -> usize {
        let shards = self.shards.iter_mut();
        shards.map(|shard| mut_of(shard).entries()).sum()
    }

    /// Expands the frontier; or says why it could not, and leaves all as it was.
    fn expand_level(&mut self, progress: &mut dyn FnMut(&Progress)) -> Option<Ended> {
        let pieces = self.pieces();
        self.employ(&pieces);
        let held: usize = self
            .shards
            .iter_mut()
            .map(|shard| mut_of(shard).bytes())
            .sum();
        let limits = &self.options.limits;
        let (states, space) = (self.levels.iter().sum(), self.space);
        let sum = Sum {
            begin: self.begin,
            level: self.levels.len() - 1,
            frontier: *self.levels.last()?,
            states,
            transitions: self.counters.transitions,
            before: self.transitions_before,
        };
        let level = Level {
            shards: &self.shards,
            hasher: &self.hasher,
            pieces: &pieces,
            next: AtomicUsize::new(0),
            added: AtomicU64::new(0),
            added_most: limits
                .states
                .map_or(u64::MAX, |most| most.saturating_sub(states)),
            bytes: AtomicU64::new(held as u64),
            bytes_most: limits.bytes.unwrap_or(u64::MAX),
            expanded: AtomicU64::new(0),
            transitions: AtomicU64::new(0),
            interrupt: self.options.interrupt,
        };
        if pieces
            .iter()
            .map(|piece| piece.entries.len())
            .sum::<usize>()
            < ALONE
        {
            self.workers[0].work(space, &level);
        } else {
            let told = &mut self.told;
            together(&self.pool, &mut self.workers, space, &level, || {
                *told = Instant::now();
                progress(&sum.with(&level));
            });
        }
        if self.told.elapsed() >= TELL {
            self.told = Instant::now();
            progress(&sum.with(&level));
        }
        let lost = level.why_lost();
        if lost.is_none() {
            self.count();
            self.advance();
        }
        lost
    }

    /// The frontier, cut into what a worker takes at once.
    fn pieces(&mut self) -> Vec<Piece> {
        let mut pieces = Vec::new();
        for (shard, held) in self.shards.iter_mut().enumerate() {
            let all = mut_of(held).entries();
            pieces.extend((0..all).step_by(PIECE).map(|begin| Piece {
                shard,
                entries: begin..all.min(begin + PIECE),
            }));
        }
        pieces
    }

    /// Sees to it that there are workers.
    fn employ(&mut self, pieces: &[Piece]) {
        if self.workers.is_empty()
            && let Some(piece) = pieces.first()
        {
            let mut some = Vec::new();
            mut_of(&mut self.shards[piece.shard]).copy_entries(piece.entries.clone(), &mut some);
            let workers = 0..self.options.workers();
            self.workers = workers.map(|_| Worker::new(some[0].0)).collect();
        }
    }

    /// Adds up what the workers counted in a level.
    fn count(&mut self) {
        let mut broken = [0; 64];
        for worker in &mut self.workers {
            let counts = worker.take_counts();
            self.counters.transitions += counts.transitions;
            self.counters.tally.merge(counts.tally);
            for (sum, count) in broken.iter_mut().zip(counts.broken) {
                *sum += count;
            }
        }
        let depth = u32::try_from(self.levels.len()).unwrap_or(u32::MAX);
        self.counters.broken.add(depth, &broken);
    }

    fn finish(self, ended: Ended, resumed: Option<Resumed>) -> Found<S> {
        let workers: usize = self.workers.iter().map(Worker::bytes).sum();
        let shards = self.shards.into_iter();
        let shards: Vec<D> = shards.map(|shard| unlocked(shard.into_inner())).collect();
        let bytes = workers + shards.iter().map(Shard::bytes).sum::<usize>();
        let levels: Option<_> = shards.into_iter().map(Shard::into_levels).collect();
        Found {
            ended,
            transitions: self.counters.transitions,
            broken: self.counters.broken,
            tally: self.counters.tally,
            missed: None,
            reached: levels.map(|shards| Reached::new(shards, self.levels.len(), self.hasher)),
            resumed,
            cost: Cost {
                threads: self.options.workers(),
                elapsed: self.begin.elapsed(),
                transitions: self.counters.transitions - self.transitions_before,
                bytes: bytes as u64,
            },
            levels: self.levels,
        }
    }
}

/// What was counted before a level, for the progress within it.
#[derive(Clone, Copy)]
struct Sum {
    begin: Instant,
    level: usize,
    frontier: u64,
    states: u64,
    transitions: u64,
    before: u64,
}

impl Sum {
    fn with<D>(&self, level: &Level<'_, D>) -> Progress {
        let transitions = self.transitions + level.transitions.load(Ordering::Relaxed);
        let elapsed = self.begin.elapsed();
        Progress {
            level: self.level,
            frontier: self.frontier,
            expanded: level.expanded.load(Ordering::Relaxed),
            states: self.states + level.added.load(Ordering::Relaxed),
            transitions,
            elapsed,
            rate: (transitions - self.before) as f64 / elapsed.as_secs_f64().max(1e-9),
        }
    }
}

/// All workers expand a level; `tell` is called now and then meanwhile.
fn together<S: Space, D: Shard<S::State>>(
    pool: &ThreadPool,
    workers: &mut [Worker<S>],
    space: &S,
    level: &Level<'_, D>,
    mut tell: impl FnMut(),
) {
    pool.in_place_scope(|scope| {
        // No message is sent: the channel closes when the last worker is done.
        let (working, done) = mpsc::channel::<()>();
        for worker in workers {
            let working = working.clone();
            scope.spawn(move |_| {
                worker.work(space, level);
                drop(working);
            });
        }
        drop(working);
        while done.recv_timeout(TELL) == Err(RecvTimeoutError::Timeout) {
            tell();
        }
    });
}

fn mut_of<D>(shard: &mut Mutex<D>) -> &mut D {
    unlocked(shard.get_mut())
}

/// What a lock guards, though a worker may have panicked with it: its panic is passed on
/// before anything is read.
fn unlocked<T>(guarded: LockResult<T>) -> T {
    guarded.unwrap_or_else(PoisonError::into_inner)
}
