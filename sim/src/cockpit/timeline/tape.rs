//! What happened, in order, not yet in words.

use std::collections::VecDeque;

use crate::faults::Fault;
use crate::frame::TICK;
use crate::report::timeline::{Entry, Kind, What};
use crate::scenario::Scenario;
use crate::scenario::deed::Deed;

/// Most items kept; the oldest are forgotten first.
const MOST: usize = 50_000;

/// One thing that happened.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Item {
    /// When, in ticks since the start.
    pub tick: u64,
    /// State of the controller then.
    pub phase: &'static str,
    /// What.
    pub happened: Happened,
}

/// The things that happen: of themselves, or because a person ordered them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Happened {
    /// Seen in the flight.
    Seen(What),
    /// A person did this.
    Did(Deed),
    /// A fault was injected.
    Injected(Fault),
    /// A fault waits for its moment.
    Armed(Fault),
    /// A fault was ended.
    Cleared(Fault),
    /// Every fault was ended.
    ClearedAll,
}

impl Item {
    /// It in words; `scenario` names its actions and faults.
    #[must_use]
    pub fn entry(&self, scenario: &Scenario) -> Entry {
        let (kind, text) = match &self.happened {
            Happened::Seen(what) => (what.kind(), what.words(scenario)),
            Happened::Did(deed) => (Kind::Pilot, deed.to_string()),
            Happened::Injected(fault) => (
                Kind::Fault,
                format!("{fault}. {}", fault.entry().sentence()),
            ),
            Happened::Armed(fault) => (Kind::Fault, format!("armed: {fault}")),
            Happened::Cleared(fault) => (Kind::Fault, format!("ended: {fault}")),
            Happened::ClearedAll => (Kind::Fault, "every active fault ended".to_owned()),
        };
        #[expect(clippy::cast_precision_loss, reason = "ticks stay far below 2^52")]
        let time = self.tick as f64 * TICK;
        Entry {
            time,
            phase: self.phase,
            kind,
            text,
        }
    }
}

/// What happened on a branch, in order.
#[derive(Clone, Debug, Default)]
pub struct Tape {
    items: VecDeque<Item>,
    forgotten: u64,
}

impl Tape {
    pub(super) fn push(&mut self, item: Item) {
        if self.items.len() == MOST {
            self.items.pop_front();
            self.forgotten += 1;
        }
        self.items.push_back(item);
    }

    /// Drops what happened after `tick`, but for the first `orders` items given at it: an
    /// order shows in the tick after.
    pub(super) fn forget_after(&mut self, tick: u64, orders: usize) {
        let after = self.items.partition_point(|item| item.tick <= tick);
        let ordered = self.items.range(after..).take(orders);
        let kept = ordered
            .take_while(|item| item.tick == tick + 1 && !matches!(item.happened, Happened::Seen(_)))
            .count();
        self.items.truncate(after + kept);
    }

    /// Every item, in order.
    pub fn items(&self) -> impl DoubleEndedIterator<Item = &Item> + ExactSizeIterator {
        self.items.iter()
    }

    /// Up to `count` items, the last of them the last at or before `tick`.
    pub fn until(&self, tick: u64, count: usize) -> impl Iterator<Item = &Item> {
        let end = self.items.partition_point(|item| item.tick <= tick);
        self.items.range(end.saturating_sub(count)..end)
    }

    /// The items of one tick, in order.
    pub fn at(&self, tick: u64) -> impl Iterator<Item = &Item> {
        let start = self.items.partition_point(|item| item.tick < tick);
        let end = self.items.partition_point(|item| item.tick <= tick);
        self.items.range(start..end)
    }

    /// How many old items were forgotten.
    #[must_use]
    pub const fn forgotten(&self) -> u64 {
        self.forgotten
    }

    /// Bytes held.
    pub(super) fn bytes(&self) -> usize {
        self.items.capacity() * size_of::<Item>()
    }
}
