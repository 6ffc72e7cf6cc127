//! Faults in time: breaks that come and go, and commands that come late.

use super::random::Random;
use crate::frame::TICK;

/// A duration in whole ticks, one at least.
pub(super) fn ticks(seconds: f64) -> u32 {
    ((seconds / TICK).round() as u32).max(1)
}

/// Breaks that come and go. The first begins at once; each break and each pause lasts
/// half a cycle on average, at random from a quarter to three quarters of it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Breaks {
    cycle: f64,
    left: u32,
    broken: bool,
    draw: u64,
}

impl Breaks {
    /// Breaks of the given mean cycle, s, beginning with a break.
    pub(super) fn new(cycle: f64, random: &mut Random) -> Self {
        let mut breaks = Self {
            cycle,
            left: 0,
            broken: false,
            draw: 0,
        };
        breaks.turn(random);
        breaks
    }

    /// True while the thing is broken.
    pub(super) const fn broken(&self) -> bool {
        self.broken
    }

    /// A random number that changes with every turn.
    pub(super) const fn draw(&self) -> u64 {
        self.draw
    }

    /// One tick passes.
    pub(super) fn tick(&mut self, random: &mut Random) {
        self.left -= 1;
        if self.left == 0 {
            self.turn(random);
        }
    }

    fn turn(&mut self, random: &mut Random) {
        self.broken = !self.broken;
        self.draw = random.next();
        self.left = ticks(self.cycle * (0.25 + 0.5 * random.unit()));
    }
}

/// Hands on what it is given a fixed number of calls later.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Delay<T> {
    length: usize,
    ring: Vec<T>,
    next: usize,
}

impl<T: Copy> Delay<T> {
    /// A delay of so many seconds.
    pub(super) fn new(seconds: f64) -> Self {
        let length = ticks(seconds) as usize;
        Self {
            length,
            ring: Vec::with_capacity(length),
            next: 0,
        }
    }

    /// Takes the newest and gives the one that is due; until one is due, the first.
    pub(super) fn pass(&mut self, newest: T) -> T {
        if self.ring.len() < self.length {
            self.ring.push(newest);
            return self.ring[0];
        }
        let due = std::mem::replace(&mut self.ring[self.next], newest);
        self.next = (self.next + 1) % self.length;
        due
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_delay_gives_the_first_until_one_is_due() {
        let mut delay = Delay::new(0.03);
        let given: Vec<u32> = (0..8).map(|n| delay.pass(n)).collect();
        assert_eq!(given, [0, 0, 0, 0, 1, 2, 3, 4]);
    }

    #[test]
    fn breaks_take_half_the_time_in_cycles_of_the_given_length() {
        let mut random = Random::new(3, 0);
        let mut breaks = Breaks::new(0.2, &mut random);
        assert!(breaks.broken(), "the first break begins at once");
        let (mut broken, mut turns) = (0, 0);
        for _ in 0..20_000 {
            let before = breaks.broken();
            breaks.tick(&mut random);
            broken += u32::from(breaks.broken());
            turns += u32::from(breaks.broken() != before);
        }
        assert!((9_000..11_000).contains(&broken), "{broken} ticks broken");
        assert!(
            (1_900..2_100).contains(&turns),
            "{turns} turns in 1000 cycles"
        );
    }
}
