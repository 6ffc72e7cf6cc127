//! What the target has counted: `tests/target/src/meter.rs` says what is told.

use std::collections::BTreeMap;
use std::io::{self, Read};

/// Figures of some ticks.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Counts {
    /// Ticks stepped.
    pub ticks: u64,
    /// Of these, ticks in which the board's own sampling came to the very readings that
    /// the link had brought.
    pub sampled: u64,
    /// Deepest stack of a step, bytes.
    pub stack_of_step: u32,
    /// Deepest stack of all since the start, bytes.
    pub stack: u32,
    /// Counts of the 25 MHz clock from the latest feed to the watchdog's bark; zero if it
    /// never barked.
    pub barked_after: u32,
    /// How many steps took how many instructions.
    pub steps: BTreeMap<u32, u64>,
}

impl Counts {
    /// Reads them as the target tells them.
    ///
    /// # Errors
    /// The line broke, or fell silent.
    pub fn read(mut from: impl Read) -> io::Result<Self> {
        let mut figure = || {
            let mut bytes = [0; 4];
            from.read_exact(&mut bytes)
                .map(|()| u32::from_le_bytes(bytes))
        };
        let mut counts = Self {
            ticks: figure()?.into(),
            sampled: figure()?.into(),
            stack_of_step: figure()?,
            stack: figure()?,
            barked_after: figure()?,
            steps: BTreeMap::new(),
        };
        for _ in 0..figure()? {
            counts.steps.insert(figure()?, figure()?.into());
        }
        Ok(counts)
    }

    /// Takes in the figures of other ticks.
    pub fn add(&mut self, other: &Self) {
        self.ticks += other.ticks;
        self.sampled += other.sampled;
        self.stack_of_step = self.stack_of_step.max(other.stack_of_step);
        self.stack = self.stack.max(other.stack);
        self.barked_after = self.barked_after.max(other.barked_after);
        for (&instructions, &count) in &other.steps {
            *self.steps.entry(instructions).or_default() += count;
        }
    }

    /// The most instructions a step took.
    #[must_use]
    pub fn worst(&self) -> u32 {
        self.steps.keys().next_back().copied().unwrap_or(0)
    }

    /// Half of the steps took so many instructions, or fewer.
    #[must_use]
    pub fn median(&self) -> u32 {
        let mut left = self.ticks.div_ceil(2);
        for (&instructions, &count) in &self.steps {
            left = left.saturating_sub(count);
            if left == 0 {
                return instructions;
            }
        }
        0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn told(figures: &[u32]) -> Counts {
        let bytes: Vec<u8> = figures.iter().flat_map(|each| each.to_le_bytes()).collect();
        Counts::read(&*bytes).expect("whole")
    }

    #[test]
    fn the_median_and_the_worst_are_those_of_all_steps() {
        let mut counts = told(&[3, 3, 100, 900, 0, 2, 10, 2, 70, 1]);
        assert_eq!((counts.median(), counts.worst()), (10, 70));
        counts.add(&told(&[4, 0, 200, 800, 0, 2, 50, 3, 71, 1]));
        assert_eq!((counts.ticks, counts.sampled), (7, 3));
        assert_eq!((counts.median(), counts.worst()), (50, 71));
        assert_eq!((counts.stack_of_step, counts.stack), (200, 900));
    }

    #[test]
    fn figures_cut_short_are_none() {
        assert!(Counts::read(&[1, 0, 0][..]).is_err());
    }
}
