//! Copies of the flight from which any tick is reached by stepping on.

use super::Point;

/// Ticks between two keyframes at first: 10 s, which a seek steps through in well under
/// a millisecond.
const EVERY: u64 = 1000;
/// Most keyframes: two hours at 10 s. When they are full every second one is dropped and
/// the distance doubled, so that after a day a seek still takes some milliseconds.
const MOST: usize = 720;

/// The flight at one tick, before the orders given at it, and how many came before.
#[derive(Clone, Debug)]
pub(super) struct Keyframe {
    pub(super) point: Point,
    pub(super) played: usize,
}

impl Keyframe {
    const fn tick(&self) -> u64 {
        self.point.frame().tick
    }
}

/// Keyframes, their ticks rising. Never empty once the first tick was seen.
#[derive(Clone, Debug)]
pub(super) struct Keyframes {
    kept: Vec<Keyframe>,
    every: u64,
}

impl Default for Keyframes {
    fn default() -> Self {
        Self {
            kept: Vec::new(),
            every: EVERY,
        }
    }
}

impl Keyframes {
    /// Keeps a copy if one is due at the tick of `point`.
    pub(super) fn see(&mut self, point: &Point, played: usize) {
        let tick = point.frame().tick;
        if !self.kept.is_empty() && !tick.is_multiple_of(self.every) {
            return;
        }
        if self.kept.len() == MOST {
            self.every *= 2;
            let (every, first) = (self.every, self.first());
            self.kept
                .retain(|kept| kept.tick() == first || kept.tick().is_multiple_of(every));
        }
        self.kept.push(Keyframe {
            point: point.clone(),
            played,
        });
    }

    /// The tick of the first.
    pub(super) fn first(&self) -> u64 {
        self.kept.first().map_or(0, Keyframe::tick)
    }

    /// The last one at or before `tick`, which is not before the first.
    pub(super) fn before(&self, tick: u64) -> &Keyframe {
        let after = self.kept.partition_point(|kept| kept.tick() <= tick);
        &self.kept[after.saturating_sub(1)]
    }

    /// Drops those after `tick`.
    pub(super) fn forget_after(&mut self, tick: u64) {
        self.kept.retain(|kept| kept.tick() <= tick);
    }

    /// Drops those that have played fewer than `played` orders, or all in favour of
    /// `present`; how many orders lie before the first that is left.
    pub(super) fn forget_before(&mut self, played: usize, present: &Point, now: usize) -> usize {
        self.kept.retain(|kept| kept.played >= played);
        if self.kept.is_empty() {
            self.kept.push(Keyframe {
                point: present.clone(),
                played: now,
            });
        }
        let dropped = self.kept[0].played;
        for kept in &mut self.kept {
            kept.played -= dropped;
        }
        dropped
    }

    /// Bytes held, without what the points have on the heap.
    pub(super) const fn bytes(&self) -> usize {
        self.kept.capacity() * size_of::<Keyframe>()
    }

    #[cfg(test)]
    pub(super) const fn len(&self) -> usize {
        self.kept.len()
    }
}
