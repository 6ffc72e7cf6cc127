//! The flight, back and forth.
//!
//! Responsibilities:
//! 1. Step the judged world and log what a person ordered, by tick.
//! 2. Go to any tick that was flown: the nearest keyframe before it is restored and
//!    stepped on, with the same orders; the frames are the same, bit for bit.
//! 3. Branch: a new order in the past drops what came after. The last future dropped is
//!    kept as orders alone and can be taken back.
//! 4. Stay bounded, however long it is left running: keyframes and trends are thinned,
//!    the tape forgets its oldest entries, a full log of orders forgets its older half.
//!
//! Terms: *now* is the tick shown; the *end* is the latest tick flown on this branch; an
//! order given at a tick takes effect in the next.

mod keyframes;
mod order;
mod point;
mod record;
mod tape;
mod trends;

pub use order::Order;
pub use point::{Armed, Point};
pub use tape::{Happened, Item, Tape};
pub use trends::{SERIES, Series, Trends};

use crate::frame::Frame;
use crate::lesson::Lesson;
use crate::scenario::Scenario;
use keyframes::Keyframes;

/// Most orders in the log; a person who holds down a key for an hour stays below.
const MOST_ORDERS: usize = 100_000;

/// An order and the tick after which it was given.
#[derive(Clone, Debug, PartialEq)]
struct Given {
    at: u64,
    order: Order,
    /// It stands on the tape.
    told: bool,
}

/// A future that was left.
#[derive(Clone, Debug)]
struct Branch {
    number: u32,
    /// The tick at which it was left, and how many orders had been played by then.
    at: u64,
    played: usize,
    /// Its orders from there on, and its end.
    orders: Vec<Given>,
    end: u64,
    branched_at: Option<u64>,
}

/// A flight that can be rewound.
#[derive(Clone, Debug)]
pub struct Timeline {
    present: Point,
    /// Orders that the present has played.
    played: usize,
    orders: Vec<Given>,
    /// Orders whose items stand on the tape.
    taped: usize,
    end: u64,
    keyframes: Keyframes,
    tape: Tape,
    trends: Trends,
    branch: u32,
    branches: u32,
    branched_at: Option<u64>,
    left: Option<Branch>,
}

impl Timeline {
    /// A flight of `scenario`, its first tick flown.
    #[must_use]
    pub fn new(scenario: &Scenario, seed: u64) -> Self {
        Self::begin(scenario, seed, None)
    }

    /// Likewise; `lesson` is followed if it is given.
    #[must_use]
    pub fn begin(scenario: &Scenario, seed: u64, lesson: Option<&Lesson>) -> Self {
        let mut tape = Tape::default();
        let mut trends = Trends::default();
        let mut present = Point::new(scenario, seed, lesson);
        present.step(&mut |item| tape.push(item));
        trends.see(present.frame());
        let mut keyframes = Keyframes::default();
        keyframes.see(&present, 0);
        Self {
            present,
            played: 0,
            orders: Vec::new(),
            taped: 0,
            end: 0,
            keyframes,
            tape,
            trends,
            branch: 1,
            branches: 1,
            branched_at: None,
            left: None,
        }
    }

    /// The tick shown.
    #[must_use]
    pub const fn now(&self) -> u64 {
        self.present.frame().tick
    }

    /// The latest tick flown on this branch.
    #[must_use]
    pub const fn end(&self) -> u64 {
        self.end
    }

    /// The earliest tick that can be gone back to: the first, unless a full log of
    /// orders forgot it.
    #[must_use]
    pub fn earliest(&self) -> u64 {
        self.keyframes.first()
    }

    /// The frame shown.
    #[must_use]
    pub const fn frame(&self) -> &Frame {
        self.present.frame()
    }

    /// Everything that holds at the tick shown.
    #[must_use]
    pub const fn present(&self) -> &Point {
        &self.present
    }

    /// What happened on this branch, up to its end.
    #[must_use]
    pub const fn tape(&self) -> &Tape {
        &self.tape
    }

    /// How figures went on this branch, up to its end.
    #[must_use]
    pub const fn trends(&self) -> &Trends {
        &self.trends
    }

    /// Number of this branch, from 1, and the tick at which it left the one before.
    #[must_use]
    pub const fn branch(&self) -> (u32, Option<u64>) {
        (self.branch, self.branched_at)
    }

    /// Moves on by one tick: through what was flown, or beyond its end.
    pub fn step(&mut self) -> &Frame {
        self.play_orders(usize::MAX);
        let known = self.now() < self.end;
        let tape = &mut self.tape;
        self.present.step(&mut |item| {
            if !known {
                tape.push(item);
            }
        });
        if !known {
            self.end = self.now();
            self.trends.see(self.present.frame());
            self.keyframes.see(&self.present, self.played);
        }
        self.present.frame()
    }

    /// Orders something from the next tick on. In the past, what was flown after is left.
    pub fn give(&mut self, order: Order) {
        if self.now() < self.end || self.played < self.orders.len() {
            self.leave();
        }
        if self.orders.len() == MOST_ORDERS {
            self.forget();
        }
        self.orders.push(Given {
            at: self.now(),
            order,
            told: false,
        });
        self.play_orders(usize::MAX);
    }

    /// Goes to `tick`, or as near to it as was flown.
    pub fn seek(&mut self, tick: u64) {
        let tick = tick.clamp(self.earliest(), self.end);
        let keyframe = self.keyframes.before(tick);
        if self.now() > tick || self.now() < keyframe.point.frame().tick {
            self.present = keyframe.point.clone();
            self.played = keyframe.played;
        }
        while self.now() < tick {
            self.step();
        }
        if tick == self.end {
            self.play_orders(usize::MAX);
        }
    }

    /// Exchanges this branch for the one left last; false when there is none.
    pub fn take_back(&mut self) -> bool {
        let Some(left) = self.left.take() else {
            return false;
        };
        let shown = self.now();
        self.restore(left.at, left.played);
        self.leave();
        self.branches -= 1;
        self.branch = left.number;
        self.branched_at = left.branched_at;
        self.orders.extend(left.orders);
        while self.now() < left.end {
            self.step();
        }
        self.play_orders(usize::MAX);
        self.seek(shown);
        true
    }

    /// Goes to `tick` with exactly `played` orders behind it.
    fn restore(&mut self, tick: u64, played: usize) {
        let keyframe = self.keyframes.before(tick);
        self.present = keyframe.point.clone();
        self.played = keyframe.played;
        while self.now() < tick {
            self.step();
        }
        self.play_orders(played);
    }

    /// Lets the present obey the orders given at its tick, up to the log's `limit`th.
    fn play_orders(&mut self, limit: usize) {
        let now = self.now();
        while self.played < limit
            && let Some(given) = self.orders.get_mut(self.played)
            && given.at == now
        {
            let happened = self.present.obey(&given.order);
            self.played += 1;
            if self.played > self.taped {
                self.taped = self.played;
                given.told = happened.is_some();
                if let Some(happened) = happened {
                    self.tape.push(self.present.item(now + 1, happened));
                }
            }
        }
    }

    /// Leaves what was flown after now, and keeps its orders.
    fn leave(&mut self) {
        let now = self.now();
        self.left = Some(Branch {
            number: self.branch,
            at: now,
            played: self.played,
            orders: self.orders.split_off(self.played),
            end: self.end,
            branched_at: self.branched_at,
        });
        self.branches += 1;
        self.branch = self.branches;
        self.branched_at = Some(now);
        self.taped = self.played;
        self.end = now;
        self.tape.forget_after(now, self.told_at(now));
        self.trends.forget_after(now);
        self.keyframes.forget_after(now);
    }

    /// How many of the orders played were given at `tick` and stand on the tape.
    fn told_at(&self, tick: u64) -> usize {
        let played = self.orders[..self.played].iter().rev();
        let given = played.take_while(|given| given.at == tick);
        given.filter(|given| given.told).count()
    }

    /// Forgets the older half of the orders, and what lies before them.
    fn forget(&mut self) {
        let dropped =
            self.keyframes
                .forget_before(self.orders.len() / 2, &self.present, self.played);
        self.orders.drain(..dropped);
        self.played -= dropped;
        self.taped -= dropped;
        self.left = None;
    }

    /// Bytes held, what the points themselves have on the heap left out.
    #[must_use]
    pub fn bytes(&self) -> usize {
        self.keyframes.bytes()
            + self.tape.bytes()
            + self.trends.bytes()
            + self.orders.capacity() * size_of::<Given>()
    }
}

#[cfg(test)]
mod tests;
